//! A line as a request: JSON as it stands, or a row of a table under the names of its columns.
//!
//! In a table an empty cell leaves its key out. A cell that is a number, `true`, `false`, `null`, a
//! list `[…]` or a table `{…}` is read as JSON reads it, any other as text; so are ids and names,
//! whatever they look like. A line is a row: cells that go on in the next line are not read.

use super::path::{self, Step};
use saltwright_fertilizers::document::{MAX_ID, Node, Value};
use saltwright_fertilizers::grid::{separator, unguarded};
use saltwright_fertilizers::{Fault, Faults, Problem};
use saltwright_recipes::Library;
use saltwright_solver::job::{Answer, Id, Outcome, answer, answer_node};
use saltwright_solver::refusal::Refusal;

/// Keys whose cells are text, also where they hold digits alone.
const TEXTS: [&str; 2] = ["id", "name"];

/// How requests are written.
pub enum Asked {
    /// Each line a JSON document.
    Json,
    /// Each line a row under these columns.
    Table(Head),
}

impl Asked {
    /// What stands between the cells of a row.
    pub const fn separator(&self) -> Option<u8> {
        match self {
            Self::Json => None,
            Self::Table(head) => Some(head.separator),
        }
    }

    /// Answers one line.
    pub fn answer(&self, line: &str, library: &Library) -> Answer {
        match self {
            Self::Json => answer(line.trim_start_matches('\u{feff}'), library),
            Self::Table(head) => head.answer(line, library),
        }
    }
}

/// The refusal of a line that cannot be read.
pub fn refused(field: &str, problem: Problem) -> Answer {
    Answer {
        job: None,
        id: Id::None,
        outcome: Outcome::Refused(Refusal::of(field, problem)),
    }
}

/// The columns of a table of requests.
#[derive(Debug)]
pub struct Head {
    separator: u8,
    /// As they are named.
    names: Vec<String>,
    request: Branch,
}

/// Where the parts of a request stand in a row.
#[derive(Debug)]
enum Branch {
    Cell(usize),
    Table(Vec<(String, Branch)>),
    List(Vec<Branch>),
}

/// A fault of a row, and the column it lies in.
type Misread<'a> = (&'a str, Problem);

impl Head {
    /// Reads the line of column heads. Columns without a head are ignored.
    pub fn read(line: &str, file: &str) -> Result<Self, Vec<Fault>> {
        let line = line.trim_start_matches('\u{feff}');
        let separator = separator(line);
        let mut faults = Faults::in_file(file);
        let names = match split(line, separator) {
            Ok(names) => names,
            Err(problem) => {
                faults.add(Some(1), "", problem);
                Vec::new()
            }
        };
        let mut request = Branch::Table(Vec::new());
        for (position, name) in names
            .iter()
            .enumerate()
            .filter(|(_, name)| !name.is_empty())
        {
            let grown = path::read(name).and_then(|steps| request.grow(&steps, position, name));
            if let Err(problem) = grown {
                faults.add(Some(1), "", problem);
            }
        }
        if faults.is_empty() && names.iter().all(String::is_empty) {
            let what = "the line of column heads";
            let mend = "Name a part of the request in each, like id, job, recipe, water.";
            faults.add(Some(1), "", Problem::Empty { what, mend });
        }
        faults.finish(Some(Self {
            separator,
            names,
            request,
        }))
    }

    /// Answers a row. One that cannot be read keeps its job and id, where it has them.
    fn answer(&self, line: &str, library: &Library) -> Answer {
        let cells = match split(line, self.separator) {
            Ok(cells) => cells,
            Err(problem) => return refused("", problem),
        };
        match self.request(&cells) {
            Ok(node) => answer_node(&node, library),
            Err((field, problem)) => {
                let text = |name: &str| {
                    let column = self.names.iter().position(|known| known == name);
                    let cell = cells.get(column?).filter(|cell| !cell.is_empty());
                    cell.map(|cell| unguarded(cell).to_owned())
                };
                Answer {
                    job: text("job").filter(|job| job.len() <= MAX_ID),
                    id: text("id").map_or(Id::None, Id::Text),
                    ..refused(field, problem)
                }
            }
        }
    }

    /// The request of a row.
    fn request(&self, cells: &[String]) -> Result<Node, Misread<'_>> {
        let width = self.names.len();
        if cells.iter().skip(width).any(|cell| !cell.is_empty()) {
            let reason = format!("{} cells stand under {width} column heads", cells.len());
            let mend = "Put cells that hold the separator in quotes.";
            return Err(("", Problem::Unreadable { reason, mend }));
        }
        let request = self.node(&self.request, "", cells)?;
        Ok(request.unwrap_or_else(|| Value::Table(Vec::new()).into()))
    }

    /// What a row holds of this branch, which is called `key` where it hangs.
    fn node<'a>(
        &'a self,
        branch: &'a Branch,
        key: &str,
        cells: &[String],
    ) -> Result<Option<Node>, Misread<'a>> {
        match branch {
            Branch::Cell(position) => match cells.get(*position) {
                Some(cell) if !cell.is_empty() => typed(cell, key)
                    .map(Some)
                    .map_err(|problem| (self.names[*position].as_str(), problem)),
                _ => Ok(None),
            },
            Branch::Table(entries) => {
                let mut table = Vec::new();
                for (key, branch) in entries {
                    if let Some(node) = self.node(branch, key, cells)? {
                        table.push((key.clone(), node));
                    }
                }
                Ok((!table.is_empty()).then(|| Value::Table(table).into()))
            }
            Branch::List(items) => {
                let mut list = Vec::new();
                for (place, branch) in items.iter().enumerate() {
                    if let Some(node) = self.node(branch, key, cells)? {
                        // What stands behind an item that is empty keeps its place.
                        list.resize(place, Value::Null.into());
                        list.push(node);
                    }
                }
                Ok((!list.is_empty()).then(|| Value::List(list).into()))
            }
        }
    }
}

impl Branch {
    /// Hangs a column in its place.
    fn grow(&mut self, steps: &[Step], position: usize, name: &str) -> Result<(), Problem> {
        let Some((step, rest)) = steps.split_first() else {
            return Err(contradiction(name));
        };
        let fresh = match rest.first() {
            None => Self::Cell(position),
            Some(Step::Key(_)) => Self::Table(Vec::new()),
            Some(Step::Item(_)) => Self::List(Vec::new()),
        };
        let (branch, is_new) = match (self, step) {
            (Self::Table(entries), Step::Key(key)) => {
                let known = entries.iter().position(|(seen, _)| seen == key);
                if known.is_none() {
                    entries.push((key.clone(), fresh));
                }
                let at = known.unwrap_or(entries.len() - 1);
                (&mut entries[at].1, known.is_none())
            }
            (Self::List(items), Step::Item(item)) => {
                if *item > items.len() {
                    return Err(gap(name, items.len()));
                }
                let is_new = *item == items.len();
                if is_new {
                    items.push(fresh);
                }
                (&mut items[*item], is_new)
            }
            _ => return Err(contradiction(name)),
        };
        match rest {
            [] if is_new => Ok(()),
            [] => Err(contradiction(name)),
            _ => branch.grow(rest, position, name),
        }
    }
}

/// The cells of a line, without the blanks around them.
fn split(line: &str, separator: u8) -> Result<Vec<String>, Problem> {
    if line.bytes().filter(|byte| *byte == b'"').count() % 2 == 1 {
        return Err(Problem::Unreadable {
            reason: "a quote is opened in this line and not closed".into(),
            mend: "Close it; a cell cannot go on in the next line.",
        });
    }
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .buffer_capacity(line.len().max(1))
        .from_reader(line.as_bytes());
    let mut cells = csv::StringRecord::new();
    match reader.read_record(&mut cells) {
        Ok(_) => Ok(cells.iter().map(str::to_owned).collect()),
        Err(_) => Err(Problem::Unreadable {
            reason: "this row cannot be read".into(),
            mend: "Save the sheet as CSV in UTF-8.",
        }),
    }
}

/// A cell as the value that it looks like.
fn typed(cell: &str, key: &str) -> Result<Node, Problem> {
    let cell = unguarded(cell);
    if TEXTS.contains(&key) {
        return Ok(Node::text(cell));
    }
    let looks_like_number =
        |text: &str| text.bytes().all(|byte| b"0123456789.+-eE".contains(&byte));
    match cell {
        "true" => Ok(Value::Bool(true).into()),
        "false" => Ok(Value::Bool(false).into()),
        "null" => Ok(Value::Null.into()),
        _ if cell.starts_with(['[', '{']) => Node::from_json(cell),
        _ => match cell.parse::<f64>() {
            Ok(number) if number.is_finite() && looks_like_number(cell) => Ok(Node::number(number)),
            _ => Ok(Node::text(cell)),
        },
    }
}

fn contradiction(name: &str) -> Problem {
    Problem::Contradiction {
        what: format!("the column \"{name}\" and another one name the same part of the request"),
        mend: "Keep one of the two.".into(),
    }
}

fn gap(name: &str, next: usize) -> Problem {
    Problem::Contradiction {
        what: format!("the column \"{name}\" leaves out the item [{next}] before it"),
        mend: "Count items from [0], each with a column, in order.".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn request(head: &str, row: &str) -> Node {
        let head = Head::read(head, "asked.csv").expect("a head");
        let cells = split(row, head.separator).expect("cells");
        head.request(&cells).expect("a row")
    }

    #[track_caller]
    fn asks(head: &str, row: &str, json: &str) {
        assert_eq!(request(head, row), Node::from_json(json).expect("JSON"));
    }

    #[test]
    fn a_row_asks_what_json_asks() {
        asks(
            "job,id,recipe.aims.K.min,recipe.aims.K.max,recipe.aims.Ca,water,simplest,acid",
            "formulate,7,190,230.5,,well,true,null",
            r#"{"job": "formulate", "id": "7", "recipe": {"aims": {"K": {"min": 190, "max": 230.5}}},
                "water": "well", "simplest": true, "acid": null}"#,
        );
        asks(
            "mix[0].id,mix[0].g_per_l,mix[1].id,mix[1].g_per_l,fertilizers",
            r#"urea,0.1,007,1e-2,"[""urea"", {""id"": ""007""}]""#,
            r#"{"mix": [{"id": "urea", "g_per_l": 0.1}, {"id": "007", "g_per_l": 0.01}],
                "fertilizers": ["urea", {"id": "007"}]}"#,
        );
        // What a spreadsheet makes of it elsewhere.
        asks(
            "\u{feff}job;strength;",
            " predict ; 0,9 ;\r",
            r#"{"job": "predict", "strength": "0,9"}"#,
        );
        // Texts that a table of ours marks as such.
        asks("id,name", "'=1+1,'tis", r#"{"id": "=1+1", "name": "'tis"}"#);
        asks(
            "job,strength",
            "inf,nan",
            r#"{"job": "inf", "strength": "nan"}"#,
        );
    }

    #[test]
    fn empty_items_at_the_end_are_no_items() {
        let head = "mix[0].id,mix[1].id,mix[2].id";
        asks(head, "a,,", r#"{"mix": [{"id": "a"}]}"#);
        asks(head, ",,c", r#"{"mix": [null, null, {"id": "c"}]}"#);
        asks(head, ",,", "{}");
    }

    #[test]
    fn a_row_that_cannot_be_read_names_its_column() {
        let head = Head::read("job,recipe", "asked.csv").expect("a head");
        for (row, column, words) in [
            ("formulate,{\"\"a\"\": 1", "recipe", "not readable JSON"),
            ("formulate,x,y", "", "3 cells stand under 2 column heads"),
        ] {
            let cells = split(row, head.separator).expect("cells");
            let (at, problem) = head.request(&cells).expect_err("a fault");
            assert_eq!(at, column, "{row}");
            assert!(problem.to_string().contains(words), "{row}: {problem}");
        }
    }

    #[test]
    fn columns_that_do_not_go_together_are_refused() {
        for (head, words) in [
            ("id,id", "the same part"),
            ("prices,prices.urea", "the same part"),
            ("prices.urea,prices", "the same part"),
            ("mix.urea,mix[0].id", "the same part"),
            ("mix[1].id", "leaves out the item [0]"),
            ("mix[0].id,mix[4000000000].id", "leaves out the item [1]"),
            ("a..b", "names no part"),
            (",,", "is empty"),
            ("\"id", "not closed"),
        ] {
            let faults = Head::read(head, "asked.csv").expect_err(head);
            assert!(
                faults[0].to_string().contains(words),
                "{head}: {}",
                faults[0]
            );
            assert!(
                faults[0].to_string().starts_with("asked.csv:1"),
                "{}",
                faults[0]
            );
        }
    }
}
