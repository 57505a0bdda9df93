//! An answer as a line: JSON as it stands, or a row of a table.
//!
//! A column names a part of the report, as the request names its own: `ec.predicted_ms_cm`. An item
//! of a list is named by its place, `mix[0].g_per_l`, or by what it is about, `mix.urea.g_per_l`,
//! `nutrients.K.delivered`. A list or table in a cell is JSON. What an answer does not hold leaves its
//! cell empty, so a refusal is a row whose columns `refusal.…` are filled.

use super::path::{self, Step};
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::grid::guarded;
use saltwright_fertilizers::{Fault, Faults, Nutrient, Problem};
use saltwright_recipes::Library;
use saltwright_solver::job::Answer;
use serde_json::Value;
use std::io;

/// What an item of a list is about, by the first of these that it has.
const NAMING: [&str; 11] = [
    "id", "nutrient", "ion", "solid", "stage", "name", "scale", "what", "kind", "figure", "stock",
];

/// How answers are written.
pub enum Told {
    /// Each a JSON document.
    Json,
    /// Each a row under these columns.
    Table(Vec<Column>),
}

/// A column of a table of answers.
pub struct Column {
    name: String,
    steps: Vec<Step>,
}

impl Told {
    /// A table with these columns, or with the usual ones.
    pub fn table(names: &[String], library: &Library) -> Result<Self, Vec<Fault>> {
        let mut faults = Faults::default();
        let names = if names.is_empty() {
            usual(library)
        } else {
            names.to_vec()
        };
        let mut columns = Vec::new();
        for name in names {
            match path::read(&name).and_then(|steps| known(&steps).map(|()| steps)) {
                Ok(steps) => columns.push(Column { name, steps }),
                Err(problem) => faults.add(None, "--columns", problem),
            }
        }
        faults.finish(Some(Self::Table(columns)))
    }

    /// The line of column heads that a table opens with.
    pub fn head(&self) -> io::Result<Vec<u8>> {
        match self {
            Self::Json => Ok(Vec::new()),
            Self::Table(columns) => row(columns.iter().map(|column| column.name.as_str())),
        }
    }

    /// Writes a line.
    pub fn write(&self, answer: &Answer, out: &mut Vec<u8>) -> io::Result<()> {
        match self {
            Self::Json => {
                serde_json::to_writer(&mut *out, answer)?;
                out.push(b'\n');
            }
            Self::Table(columns) => {
                let answer = serde_json::to_value(answer)?;
                let cells = columns.iter().map(|column| cell(&answer, &column.steps));
                out.extend(row(cells)?);
            }
        }
        Ok(())
    }
}

/// What became of each request, the figures of a solution, grams of the common shelf, the whole mix.
fn usual(library: &Library) -> Vec<String> {
    let mut names: Vec<String> = [
        "job",
        "id",
        "refusal.kind",
        "refusal.where",
        "refusal.what",
        "refusal.mend",
        "outcome",
        "strength",
        "cost_per_m3",
        "ec.predicted_ms_cm",
        "ec.low_ms_cm",
        "ec.high_ms_cm",
        "ec.verdict",
        "ph.closed",
        "ph.open",
    ]
    .map(str::to_owned)
    .to_vec();
    names.extend(Nutrient::ALL.map(|nutrient| format!("nutrients.{}.delivered", nutrient.key())));
    let common = library.fertilizers.iter().filter(|row| row.common);
    names.extend(common.map(|row| format!("mix.{}.g_per_l", row.id)));
    names.push("mix".to_owned());
    names
}

/// A line of cells.
fn row<T: AsRef<[u8]>>(cells: impl Iterator<Item = T>) -> io::Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(cells)?;
    writer.into_inner().map_err(csv::IntoInnerError::into_error)
}

/// What stands at the end of these steps.
fn cell(answer: &Value, steps: &[Step]) -> String {
    let mut at = answer;
    for step in steps {
        let next = match (at, step) {
            (Value::Object(entries), Step::Key(key)) => entries.get(key),
            (Value::Array(items), Step::Item(item)) => items.get(*item),
            (Value::Array(items), Step::Key(key)) => items.iter().find(|item| is_about(item, key)),
            _ => None,
        };
        match next {
            Some(next) => at = next,
            None => return String::new(),
        }
    }
    match at {
        Value::Null => String::new(),
        // A line of the output is an answer, whatever was typed into an id.
        Value::String(text) => guarded(&text.replace(['\r', '\n'], " ")).into_owned(),
        other => other.to_string(),
    }
}

fn is_about(item: &Value, name: &str) -> bool {
    let naming = NAMING.iter().find_map(|key| item.get(key));
    naming.and_then(Value::as_str) == Some(name)
}

/// Whether answers can have such a part, by the description of their types.
fn known(steps: &[Step]) -> Result<(), Problem> {
    let schema = schemars::schema_for!(Answer).to_value();
    let mut at = vec![&schema];
    for step in steps {
        at = at
            .into_iter()
            .flat_map(|part| meant(&schema, part))
            .collect();
        let next: Vec<&Value> = match step {
            Step::Key(key) => at
                .iter()
                .flat_map(|part| {
                    let entry = part.get("properties").and_then(|known| known.get(key));
                    [entry, part.get("additionalProperties"), part.get("items")]
                })
                .flatten()
                .collect(),
            Step::Item(_) => at.iter().filter_map(|part| part.get("items")).collect(),
        };
        if next.is_empty() {
            let names = at
                .iter()
                .filter_map(|part| part.get("properties")?.as_object());
            return Err(unknown(
                step,
                names.flat_map(|known| known.keys()).map(String::as_str),
            ));
        }
        at = next;
    }
    Ok(())
}

fn unknown<'a>(step: &Step, names: impl Iterator<Item = &'a str>) -> Problem {
    let name = match step {
        Step::Key(key) => key.clone(),
        Step::Item(item) => format!("[{item}]"),
    };
    Problem::Unknown {
        kind: "part of a report",
        nearest: nearest(&name, names),
        name,
    }
}

/// The schemas that a part may follow: itself, what it refers to, and its alternatives.
fn meant<'a>(schema: &'a Value, part: &'a Value) -> Vec<&'a Value> {
    let referred = part
        .get("$ref")
        .and_then(Value::as_str)
        .and_then(|name| schema.pointer(name.trim_start_matches('#')));
    let several = ["anyOf", "oneOf", "allOf"]
        .into_iter()
        .filter_map(|key| part.get(key)?.as_array())
        .flatten();
    let further = referred.into_iter().chain(several);
    std::iter::once(part)
        .chain(further.flat_map(|part| meant(schema, part)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use saltwright_solver::job::answer;
    use serde_json::json;

    fn names(names: &[&str]) -> Vec<String> {
        names.iter().map(|name| (*name).to_owned()).collect()
    }

    fn told(columns: &[&str], request: &str) -> String {
        let library = Library::shipped().expect("what is shipped");
        let told =
            Told::table(&names(columns), &library).unwrap_or_else(|faults| panic!("{faults:?}"));
        let mut out = Vec::new();
        told.write(&answer(request, &library), &mut out)
            .expect("written");
        String::from_utf8(out).expect("UTF-8")
    }

    const PREDICT: &str = r#"{"job": "predict", "id": "a\nb, c", "mix": [
        {"id": "urea", "g_per_l": 0.1}, {"id": "potassium-nitrate", "g_per_l": 0.5}]}"#;

    #[test]
    fn parts_are_found_by_name_and_by_place() {
        let columns = [
            "id",
            "mix[1].id",
            "mix.urea.g_per_l",
            "mix[2].id",
            "mix.boric-acid.g_per_l",
            "nutrients.urea-N.water",
            "refusal.what",
        ];
        let row = told(&columns, PREDICT);
        assert_eq!(row, "\"a b, c\",potassium-nitrate,0.1,,,0.0,\n");
    }

    /// A spreadsheet runs what looks like a formula; a figure below zero stays a figure.
    #[test]
    fn no_text_of_a_request_becomes_a_formula() {
        for id in [
            "=1+1",
            "+cmd|' /C calc'!A0",
            "-1+1",
            "@SUM(A1)",
            "\t=1",
            "＝1",
            "'=1",
        ] {
            let request = json!({"job": "predict", "id": id,
                "mix": [{"id": "urea", "g_per_l": 0.1}]});
            let row = told(&["id", "ph.open"], &request.to_string());
            let (cell, _) = row.rsplit_once(',').expect("two cells");
            assert_eq!(cell, format!("'{id}"));
        }
        let request = r#"{"job": "predict", "=cmd": 1, "mix": []}"#;
        assert_eq!(told(&["refusal.where"], request), "'=cmd\n");
        let request = r#"{"job": "predict", "id": -1.5, "mix": [{"id": "urea", "g_per_l": 0.1}]}"#;
        assert_eq!(told(&["id"], request), "-1.5\n");
    }

    #[test]
    fn figures_stand_in_a_row_as_in_json() {
        let columns = ["ec.predicted_ms_cm", "nutrients.K.delivered", "ph.closed"];
        let library = Library::shipped().expect("what is shipped");
        let json = serde_json::to_value(answer(PREDICT, &library)).expect("JSON");
        let row = told(&columns, PREDICT);
        let cells: Vec<&str> = row.trim().split(',').collect();
        let potassium = json["nutrients"]
            .as_array()
            .expect("rows")
            .iter()
            .find(|row| row["nutrient"] == "K");
        assert_eq!(cells[0], json["ec"]["predicted_ms_cm"].to_string());
        assert_eq!(
            cells[1],
            potassium.expect("potassium")["delivered"].to_string()
        );
        assert_eq!(cells[2], json["ph"]["closed"].to_string());
    }

    #[test]
    fn a_refusal_is_a_row() {
        let row = told(
            &["job", "refusal.kind", "refusal.where", "outcome"],
            r#"{"job": "formulate"}"#,
        );
        assert_eq!(row, "formulate,empty,recipe,\n");
    }

    #[test]
    fn every_usual_column_exists() {
        let library = Library::shipped().expect("what is shipped");
        let Ok(Told::Table(columns)) = Told::table(&[], &library) else {
            panic!("the usual columns are refused");
        };
        assert!(columns.len() > 50, "{}", columns.len());
    }

    #[test]
    fn a_column_that_no_report_has_is_refused() {
        let library = Library::shipped().expect("what is shipped");
        for (column, words) in [
            ("ec.predicted_ms", "Did you mean \"predicted_ms_cm\"?"),
            ("outcom", "Did you mean \"outcome\"?"),
            ("ec[0]", "no part of a report called \"[0]\""),
            ("id.x", "no part of a report called \"x\""),
            ("a..b", "names no part"),
        ] {
            let Err(faults) = Told::table(&names(&[column]), &library) else {
                panic!("{column} is taken");
            };
            assert!(faults[0].to_string().contains(words), "{}", faults[0]);
        }
    }
}
