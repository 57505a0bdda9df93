//! Markup in every field of every page, and in the names of one's own lists: it comes back as text.

use super::everywhere::{names, with_choice};
use super::*;

/// What would break out of an attribute and load something, were it not written as text.
const EVIL: &str = "\"'><img src=x onerror=alert(1)>&lt;";

fn is_calm(page: &Document) -> bool {
    page.media != Media::Html
        || !["<img src=x", "\"'>", "&lt;\""]
            .iter()
            .any(|raw| page.text.contains(raw))
}

#[test]
fn markup_in_any_field_of_any_page_is_text() {
    let mut tried = 0;
    for page in PAGES {
        let path = page.path();
        let opened = get(path, &[]).text;
        if !opened.contains("<form") {
            continue;
        }
        for field in names(&opened) {
            let mut fields = vec![(field.as_str(), EVIL)];
            fields.extend(with_choice(&field));
            let answer = get(path, &fields);
            assert!(answer.status < 500 && is_calm(&answer), "{path} {field}");
            tried += 1;
        }
        assert!(is_calm(&get(path, &[(EVIL, EVIL)])), "{path}");
    }
    assert!(tried > 100, "{tried} fields");
    assert!(is_calm(&get(EVIL, &[])));
}

#[test]
fn markup_in_the_names_of_own_lists_is_text() {
    let named = |rest: &str| {
        let text = format!("name = '''{EVIL}'''\nsource = '''{EVIL}'''\nnote = '''{EVIL}'''\n");
        text + rest
    };
    let recipe = named("[aims]\nNO3-N = 120\nK = 180\nCa = 80\n");
    let water = named("alkalinity_meq_l = 1\n[holds]\nCa = 20\n");
    let quoted = EVIL.replace('"', "\"\"");
    let table = format!(
        "id,name,formula,density_g_per_ml,note\n\"{quoted}\",\"{quoted}\",KNO3,,\"{quoted}\"\n\
         \"c{quoted}\",\"{quoted}\",Ca(NO3)2,,\nmine,\"{quoted}\",MgSO4,,\n"
    );
    let mix = "mine 0.5\npotassium-nitrate 0.4";
    let all = [
        ("recipe", "own"),
        ("own-recipe", recipe.as_str()),
        ("water", "own"),
        ("own-water", water.as_str()),
        ("own-fertilizers", table.as_str()),
        ("mix", mix),
        ("show", "mine"),
        ("batch", EVIL),
        ("name", EVIL),
        ("currency", "<b>"),
    ];
    let mut shown = 0;
    for page in PAGES {
        let path = page.path();
        let opened = get(path, &[]).text;
        if !opened.contains("<form") {
            continue;
        }
        let known = names(&opened);
        let fields: Vec<_> = all
            .into_iter()
            .filter(|(field, _)| known.iter().any(|name| name == field))
            .collect();
        let answer = get(path, &fields);
        assert!(answer.status < 500 && is_calm(&answer), "{path}");
        shown += answer.text.matches("&lt;img src=x").count();
    }
    assert!(shown > 20, "the names were shown {shown} times");
}

#[test]
fn a_formula_in_a_name_is_a_text_in_a_table() {
    let table = "id,name,formula\nmine,=cmd|'calc'!A0,KNO3\nyours,+1 spoon,Ca(NO3)2\n";
    let recipe = "[aims]\nNO3-N = 120\nK = 180\nCa = 80\n";
    let fields = [
        ("recipe", "own"),
        ("own-recipe", recipe),
        ("own-fertilizers", table),
    ];
    let file = get("formulate.csv", &fields).text;
    assert!(file.contains(",'=cmd|'calc'!A0,"), "{file}");
    assert!(file.contains(",'+1 spoon,"), "{file}");
}
