//! Every field of every page with something in it that it cannot be: refused beside it, in words
//! that know no command line.

use super::daily::beside;
use super::*;

/// Nothing that any field takes for a figure, a name or a list.
const BROKEN: [&str; 6] = ["?", "-1", "1e99", "a=b=c", "K = x\n=\n..", "{\"x\": [1"];

/// Free text, which takes anything.
const FREE: [&str; 4] = ["batch", "name", "currency", "find"];

/// The names of the fields of a page, in order, each once.
pub(super) fn names(page: &str) -> Vec<String> {
    let (_, form) = page.split_once("<form").expect("a form");
    let (form, _) = form.split_once("</form>").expect("its end");
    let mut names: Vec<String> = Vec::new();
    for rest in form.split(" name=\"").skip(1) {
        let name = rest.split('"').next().expect("its end").to_owned();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// The choice beside a field that lets it count.
pub(super) fn with_choice(field: &str) -> Option<(&'static str, &'static str)> {
    match field {
        "own-recipe" => Some(("recipe", "own")),
        "own-water" => Some(("water", "own")),
        "blend" => Some(("water", "blend")),
        "own-prices" => Some(("prices", "own")),
        "own-bags" => Some(("bags", "own")),
        "own-stocks" => Some(("stocks", "own")),
        "own-readings" => Some(("readings", "")),
        "share" => Some(("with", "rain-barrel")),
        _ => None,
    }
}

/// True where words name an option of the command line.
fn names_an_option(words: &str) -> bool {
    let options = words.split("--").skip(1);
    options
        .into_iter()
        .any(|rest| rest.starts_with(|c: char| c.is_ascii_lowercase()))
}

#[test]
fn no_refusal_on_a_page_speaks_of_options() {
    for page in PAGES {
        let Page::Job(job) = page else { continue };
        let opened = get(page.path(), &[]).text;
        for field in names(&opened) {
            let is_list = opened.contains(&format!("<textarea id=\"{field}\""));
            let choice = with_choice(&field);
            let mut refused = false;
            for broken in BROKEN {
                let opening = job.opening.iter().copied();
                let mut fields: Query<'_> = opening
                    .filter(|(name, _)| *name != field && choice.is_none_or(|c| c.0 != *name))
                    .collect();
                fields.extend(choice.filter(|(_, value)| !value.is_empty()));
                fields.push((&field, broken));
                let answer = get(page.path(), &fields);
                if answer.status == 200 {
                    continue;
                }
                assert_eq!(answer.status, 422, "{} {field}", page.path());
                let (_, main) = answer.text.split_once("<main").expect("a main part");
                let said = read(&answer.text);
                assert!(
                    !names_an_option(main),
                    "{} {field}={broken:?}: {said}",
                    page.path()
                );
                let said = beside(&answer.text, &field);
                // Keys of a request stand in lists that are pasted, and nowhere else.
                assert!(
                    is_list || !said.contains('_'),
                    "{} {field}: {said}",
                    page.path()
                );
                refused |= said.contains("<li>");
            }
            assert!(
                refused || FREE.contains(&field.as_str()),
                "{}: nothing is said beside {field}",
                page.path()
            );
        }
    }
}
