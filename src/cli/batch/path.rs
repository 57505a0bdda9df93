//! How a column names a part of a request or a report: `recipe.aims.K.min`, `mix[0].g_per_l`.
//!
//! The same writing that refusals use for where a fault lies.

use saltwright_fertilizers::Problem;
use saltwright_fertilizers::document::MAX_DEPTH;
use saltwright_fertilizers::units::shorten;

/// One step down a tree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// To the entry of that name.
    Key(String),
    /// To the item of a list, counted from 0.
    Item(usize),
}

/// The steps that a column names; at least one.
pub fn read(text: &str) -> Result<Vec<Step>, Problem> {
    let mut steps = Vec::new();
    for part in text.split('.') {
        let (key, items) = part
            .split_once('[')
            .map_or((part, None), |(key, items)| (key, Some(items)));
        let key = key.trim();
        if key.is_empty() {
            return Err(unreadable(text));
        }
        steps.push(Step::Key(key.to_owned()));
        if let Some(items) = items {
            for item in items.split('[') {
                let number = item.trim_end().strip_suffix(']').map(str::parse);
                let Some(Ok(number)) = number else {
                    return Err(unreadable(text));
                };
                steps.push(Step::Item(number));
            }
        }
    }
    if steps.len() > MAX_DEPTH {
        let (things, most) = ("steps in a column", MAX_DEPTH);
        let count = steps.len();
        return Err(Problem::TooMany {
            things,
            count,
            most,
        });
    }
    Ok(steps)
}

fn unreadable(text: &str) -> Problem {
    Problem::Unreadable {
        reason: format!("\"{}\" names no part of a request or report", shorten(text)),
        mend: "Write names with dots between, like recipe.aims.K or mix[0].g_per_l.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_numbers_are_steps() {
        let key = |name: &str| Step::Key(name.to_owned());
        assert_eq!(read("id"), Ok(vec![key("id")]));
        assert_eq!(
            read("stock.tanks[1].mix[0].id"),
            Ok(vec![
                key("stock"),
                key("tanks"),
                Step::Item(1),
                key("mix"),
                Step::Item(0),
                key("id")
            ])
        );
        assert_eq!(
            read("a[0][12]"),
            Ok(vec![key("a"), Step::Item(0), Step::Item(12)])
        );
    }

    #[test]
    fn what_names_nothing_is_refused() {
        for text in [
            "", ".", "a.", "a..b", "[0]", "a[", "a[x]", "a[0", "a[-1]", "a[0]b",
        ] {
            assert!(
                matches!(read(text), Err(Problem::Unreadable { .. })),
                "{text}"
            );
        }
        assert!(matches!(
            read(&["a"; 33].join(".")),
            Err(Problem::TooMany { .. })
        ));
    }
}
