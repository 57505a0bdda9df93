//! One's own lists, pasted into the form.

use super::*;

#[test]
fn one_s_own_lists_are_checked_shown_and_used() {
    let recipe = "name = \"Mine\"\n[aims]\nK = 200\nCa = 90\n";
    let checked = get("recipes", &[("own-recipe", recipe)]);
    assert_eq!(checked.status, 200);
    for said in ["<h2>Mine</h2>", "200.0", "Formulate with it"] {
        assert!(checked.text.contains(said), "{said}");
    }
    let used = get("formulate", &[("recipe", "own"), ("own-recipe", recipe)]);
    assert_eq!(used.status, 200);
    assert!(read(&used.text).contains("Mine in pure water"));
    let table =
        "id;formula;NO3-N;K;Ca;tank\nmy-nitrate;KNO3;13,5;38;;either\nmy-calcium;;15,5;;19;A\n";
    let fields = [
        ("recipe", "own"),
        ("own-recipe", recipe),
        ("own-fertilizers", table),
    ];
    let used = get("formulate", &fields);
    assert!(read(&used.text).contains("my-nitrate"), "{}", used.text);
    // The text to start from is one that is read.
    for id in [
        "hoagland-2",
        "barry-1996-range",
        "sonneveld-straver-lettuce-from-memory",
    ] {
        let shown = get("recipes", &[("show", id)]).text;
        let (_, text) = shown.split_once("<textarea").expect("a text");
        let (_, text) = text.split_once('>').expect("its start");
        let (text, _) = text.split_once("</textarea>").expect("its end");
        let text = text
            .replace("&quot;", "\"")
            .replace("&amp;", "&")
            .replace("&lt;", "<");
        let status = get("recipes", &[("own-recipe", text.as_str())]).status;
        assert_eq!(status, 200, "{id}: {text}");
        let page = get(
            "formulate",
            &[("recipe", "own"), ("own-recipe", text.as_str())],
        );
        let shipped = get("formulate", &[("recipe", id)]);
        let strip = |page: &Document| {
            let text = read(&page.text);
            let from = text.find("What to weigh").expect("amounts");
            text[from..text.find(" proof ").expect("a proof")].to_owned()
        };
        assert_eq!(strip(&page), strip(&shipped), "{id}");
    }
}
