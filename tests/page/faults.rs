//! A fault stands beside the field that it is in, and what is pasted is never markup.

use super::*;

/// A field of the main job, what is typed into it, and what is said of that.
const FAULTY: [(&str, &str, &str); 16] = [
    ("tank", "abc", "is not a number"),
    ("tank", "1e12", "more than the limit"),
    ("tank", "3 buckets", "unit"),
    ("strength", "-1", "below zero"),
    ("ec", "650 ppm", "unit"),
    ("ratio", "5000", "more than the limit"),
    ("residual", "x", "not a number"),
    ("aim-K", "300..200", "above the maximum"),
    ("aim-K", "much", "not a number"),
    ("only", "urea, uria", "Did you mean \"urea\""),
    ("at-most", "urea 20 g", "litres"),
    ("already", "uria 1", "Did you mean \"urea\""),
    ("measure", "uk", "no choice called"),
    ("off-scale", "lots", "not a number"),
    ("off-water", "120 %", "more than all of it"),
    ("sure", "often", "no way to be sure"),
];

/// Other questions with one fault: the page, its fields, the faulty one and what is said of it.
#[rustfmt::skip]
fn faulty() -> Vec<(&'static str, Query<'static>, &'static str, &'static str)> {
    let own = |text| vec![("recipe", "own"), ("own-recipe", text)];
    let prices = [("prices", "own"), ("own-prices", "id,price_per_kg\nuria,1\n")];
    let tanks = |more: &[(&'static str, &'static str)]| [&[TWO_SALTS], more].concat();
    let bag = |more: &[(&'static str, &'static str)]| {
        // A later field of the same name would be refused as one too many.
        let stands = more.iter().any(|(name, _)| *name == "label");
        let label = (!stands).then_some(("label", "15-5-15"));
        label.into_iter().chain(more.iter().copied()).collect::<Query<'_>>()
    };
    let cheaper = |more: &[(&'static str, &'static str)]| {
        let asked = [("recipe", "hoagland-2"), ("prices", "demo")];
        asked.into_iter().chain(more.iter().copied()).collect::<Query<'_>>()
    };
    let table = "id,formula,K\na,KNO3,20\na,KNO4x,\nb,,abc\n";
    vec![
        ("formulate", question(&[("tank", "1"), ("tank", "2")]), "tank", "stands here twice"),
        ("formulate", vec![("recipe", "own")], "own-recipe", "is empty"),
        ("formulate", vec![("recipe", ""), ("tank", "100 L")], "recipe", "the recipe is empty"),
        ("refill", vec![("recipe", ""), ("readings", "demo")], "recipe", "the recipe is empty"),
        ("formulate", own("[aims]\nK = 200\nCaa = 90\n"), "own-recipe", "line 3, aims.Caa"),
        ("formulate", question(&prices), "own-prices", "line 2"),
        ("predict", vec![("mix", "uria 0.5")], "mix", "Did you mean \"urea\""),
        ("predict", vec![("mix", "urea")], "mix", "has no value"),
        ("stock", vec![("tanks", "2")], "mix", "is empty"),
        ("stock", tanks(&[("ratio", "10000")]), "ratio", "more than the limit"),
        ("stock", tanks(&[("ratio", "0")]), "ratio", "less than the limit"),
        ("stock", tanks(&[("tanks", "0")]), "tanks", "no choice called"),
        ("stock", tanks(&[("coldest", "80")]), "coldest", "more than the limit"),
        ("stock", tanks(&[("coldest", "-5")]), "coldest", "below zero"),
        ("stock", tanks(&[("coldest", "25"), ("hottest", "5")]), "coldest", "Swap the two"),
        ("stock", tanks(&[("volume", "20 L; much")]), "volume", "not a number"),
        ("stock", tanks(&[("volume", "1e12")]), "volume", "more than the limit"),
        ("stock", tanks(&[("paper", "weigh")]), "volume", "for a tank"),
        ("stock", tanks(&[("volume", "20"), ("weighed", "urea 9 g")]), "weighed", ">urea: "),
        ("stock", tanks(&[("weighed", "urea 9 g")]), "weighed", "how many litres"),
        ("stock", tanks(&[("margin", "7")]), "margin", "more than the limit"),
        ("substitute", vec![("recipe", "hoagland-2")], "prices", "is empty"),
        ("substitute", cheaper(&[("now", "uria 1")]), "now", "Did you mean \"urea\""),
        ("substitute", cheaper(&[("now", "urea")]), "now", "has no value"),
        ("substitute", cheaper(&[("now", "urea 0")]), "now", "is empty"),
        ("substitute", cheaper(&[("now", "urea 1"), ("at-hand", "urea")]), "at-hand", "not both"),
        ("substitute", cheaper(&[("at-hand", "uria")]), "at-hand", "Did you mean \"urea\""),
        ("substitute", cheaper(&[("keep", "aims")]), "keep", "no choice called"),
        ("substitute", cheaper(&[("currency", "pieces of eight, old")]), "currency", "16"),
        ("label", vec![("dose", "1 g/L")], "label", "is empty"),
        ("label", bag(&[("label", "15-5-15 + 4Caa")]), "label", "Did you mean \"Ca\""),
        ("label", vec![("label", "N 60\nK2O 60")], "label", "100"),
        ("label", vec![("label", "N much")], "label", "not a number"),
        ("label", vec![("label", "15-5")], "label", "grade"),
        ("label", bag(&[("convention", "mars")]), "convention", "no choice called"),
        ("label", bag(&[("ingredients", "urea, uria")]), "ingredients", ">uria: "),
        ("label", bag(&[("reads", "1.4")]), "dissolve", "the dose that was dissolved is empty"),
        ("label", bag(&[("dissolve", "5 mL/gal")]), "dissolve", "further down"),
        ("label", bag(&[("dissolve", "1 g"), ("reads", "650 ppm")]), "reads", "unit"),
        ("label", bag(&[("found", "Zn 0.1")]), "found", "does not promise it"),
        ("label", bag(&[("values", "Nn 1")]), "values", "Did you mean"),
        ("label", bag(&[("tank", "20 L")]), "tank", "without a recipe"),
        ("label", bag(&[("dose", "0")]), "dose", "less than the limit"),
        ("label", bag(&[("recipe", "hoagland-2"), ("water", "wel")]), "water", "no choice called"),
        ("recipes", vec![("own-recipe", "[aims]\nK = 200\nMg = lots\n")], "own-recipe", "line 3"),
        ("waters", vec![("own-water", "[holds]\nCa = -3\n")], "own-water", "line 2"),
        ("fertilizers", vec![("own-fertilizers", table)], "own-fertilizers", "line 4"),
    ]
}

/// A field is asked, answered and refused beside itself.
#[test]
fn every_fault_stands_beside_its_field() {
    let main_job = FAULTY.iter().map(|(field, typed, said)| {
        let fields = question(&[(*field, *typed)]);
        ("formulate", fields, *field, *said)
    });
    for (path, fields, field, said) in main_job.chain(faulty()) {
        let document = get(path, &fields);
        assert_eq!(document.status, 422, "{path} {fields:?}");
        let slot = format!("id=\"{field}-fault\">");
        let (_, beside) = document
            .text
            .split_once(&slot)
            .unwrap_or_else(|| panic!("{fields:?}"));
        let (beside, _) = beside.split_once("</ul>").expect("its end");
        let beside = beside.replace("&quot;", "\"");
        assert!(beside.contains(said), "{fields:?}: {beside}");
        let tied = format!("{field}-fault\" aria-invalid=\"true\"");
        assert!(document.text.contains(&tied), "{fields:?}");
    }
}

#[test]
fn what_is_wrong_stands_beside_its_field() {
    for (path, fields, field, says) in [
        (
            "purchase",
            question(&[("season", "-3"), ("bags", "demo")]),
            "season",
            "below zero",
        ),
        (
            "purchase",
            question(&[("season", "5 m3"), ("bags", "own")]),
            "own-bags",
            "is empty",
        ),
        (
            "purchase",
            question(&[
                ("season", "5 m3"),
                ("bags", "own"),
                ("own-bags", "id,bag_kg,price_per_bag\nuria,25,3"),
            ]),
            "own-bags",
            "urea",
        ),
        ("purchase", question(&[("bags", "demo")]), "season", "empty"),
        (
            "correct",
            question(&[("reading", "650 ppm"), ("tank", "9 L")]),
            "reading",
            "on the 500 scale",
        ),
        (
            "correct",
            question(&[("reading", "1.4"), ("ph", "0.5"), ("tank", "9 L")]),
            "ph",
            "pH meter",
        ),
        (
            "correct",
            question(&[("reading", "1.4"), ("level", "10 L"), ("tank", "9 L")]),
            "level",
            "above",
        ),
        (
            "correct",
            question(&[("reading", "1.4"), ("tank", "9 L"), ("stocks", "own")]),
            "own-stocks",
            "is empty",
        ),
        (
            "correct",
            question(&[("reading", "1.4"), ("tank", "9 L"), ("bottle-ml", "5 mL")]),
            "bottle-after",
            "All four",
        ),
        (
            "correct",
            question(&[("reading", "1.4"), ("tank", "9 L"), ("ph-band", "7..6")]),
            "ph-band",
            "above",
        ),
        ("refill", question(&[]), "own-readings", "is empty"),
        (
            "refill",
            question(&[("own-readings", "at,litres,ec_ms_cm\n1,9,1.4\nx,9,1.4")]),
            "own-readings",
            "no moment",
        ),
        ("meter", vec![("checks", "1.413")], "checks", "has no"),
        ("meter", vec![("reading", "1 bar")], "reading", "not known"),
    ] {
        let page = get(path, &fields);
        assert_eq!(page.status, 422, "{path} {fields:?}");
        let mark = format!("id=\"{field}-fault\"");
        let (_, beside) = page.text.split_once(mark.as_str()).expect(field);
        let (beside, _) = beside.split_once("</ul>").expect("its end");
        assert!(beside.contains(says), "{path} {field}: {beside}");
    }
}

#[test]
fn a_field_that_is_not_there_is_refused_by_name() {
    for path in ["formulate", "predict", "recipes", "crops"] {
        let document = get(path, &[("watr", "rain-barrel"), ("mesure", "us")]);
        assert_eq!(document.status, 422, "{path}");
        assert!(document.text.contains("no field called"), "{path}");
        assert!(
            document.text.contains("Did you mean &quot;measure&quot;"),
            "{path}"
        );
    }
}

#[test]
fn the_line_that_is_wrong_is_shown() {
    let text = "[aims]\nK = 200\nCaa = 90 # calcium\n";
    let page = get("recipes", &[("own-recipe", text)]).text;
    assert!(page.contains("<code>Caa = 90 # calcium</code>"), "{page}");
}

#[test]
fn what_is_pasted_is_never_markup() {
    let evil = "<script>alert(1)</script>\"'&";
    let recipe = format!("name = '{}'\n[aims]\nK = 200\n", evil.replace('\'', ""));
    for (path, field, value) in [
        ("formulate", "tank", evil),
        ("formulate", "recipe", evil),
        ("formulate", evil, evil),
        ("recipes", "show", evil),
        ("recipes", "find", evil),
        ("recipes", "own-recipe", recipe.as_str()),
        ("predict", "mix", evil),
        ("fertilizers", "own-fertilizers", evil),
    ] {
        let page = get(path, &[(field, value)]).text;
        assert!(!page.contains("<script>alert"), "{path} {field}");
    }
}
