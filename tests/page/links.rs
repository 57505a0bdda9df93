//! An address is the question; links and buttons take it on to other pages and other forms.

use super::*;

/// An address is the question: blanks are left out, and a form that is short becomes an address.
#[test]
fn questions_have_one_plain_address() {
    let asked = |method, fields: Fields| {
        let (base, path) = ("/".to_owned(), "formulate".to_owned());
        let asked = Asked {
            method,
            base,
            path,
            fields,
        };
        SITE.with(|site| site.answer(&asked))
    };
    let blank = Fields::read(b"recipe=hoagland-2&tank=&aim-K=");
    let moved = asked(Method::Get, blank.clone());
    assert_eq!(
        (moved.status, moved.location.as_deref()),
        (303, Some("/formulate?recipe=hoagland-2"))
    );
    assert_eq!(
        asked(Method::Post, blank).location.as_deref(),
        Some("/formulate?recipe=hoagland-2")
    );
    assert_eq!(
        asked(Method::Get, Fields::read(b"recipe=hoagland-2")).status,
        200
    );
    let long =
        format!("name = \"{}\"\n[aims]\nK = 200\n", "x".repeat(3900)) + &"# more\n".repeat(600);
    let fields = [("recipe", "own"), ("own-recipe", long.as_str())];
    let answered = ask(Method::Post, "formulate", &fields);
    assert_eq!(answered.status, 200);
    assert!(answered.text.contains("too long for an address"));
}

#[test]
fn links_keep_how_figures_are_shown() {
    let page = get(
        "formulate",
        &question(&[("measure", "us"), ("units", "meq")]),
    )
    .text;
    for path in ["predict", "recipes", "how"] {
        assert!(
            page.contains(&format!("href=\"/{path}?measure=us&amp;units=meq\"")),
            "{path}"
        );
    }
    assert!(page.contains("Tank<span class=\"unit\"> US gal</span>"));
    let shared = Asked {
        method: Method::Get,
        base: "/token/".into(),
        path: String::new(),
        fields: Fields::default(),
    };
    let page = SITE.with(|site| site.answer(&shared)).text;
    let links = page.matches("href=\"/").count() + page.matches("src=\"/").count();
    let inside = page.matches("href=\"/token/").count() + page.matches("src=\"/token/").count();
    assert!(links > 8 && links == inside, "{links} {inside}");
}

#[test]
fn the_same_answer_for_a_spreadsheet_and_a_program() {
    let fields = question(&[("tank", "120 L"), ("prices", "demo")]);
    let json = get("formulate.json", &fields);
    assert_eq!((json.status, json.media), (200, Media::Json));
    let report: Value = serde_json::from_str(&json.text).expect("JSON");
    let arguments = [
        "--tank",
        "120 L",
        "--prices",
        "recipes/data/demo/prices.csv",
        "--json",
    ];
    let typed: Value = serde_json::from_str(&stdout(&run(&with(&arguments)))).expect("JSON");
    for key in ["mix", "nutrients", "ec", "cost_per_m3", "cautions"] {
        assert_eq!(report[key], typed[key], "{key}");
    }
    let mix = get("formulate.csv", &fields);
    assert_eq!(mix.file.as_deref(), Some("formulate.csv"));
    assert!(mix.text.starts_with("id,name,g_per_l") && mix.text.lines().count() > 8);
    assert!(
        get("formulate-nutrients.csv", &fields)
            .text
            .starts_with("nutrient,aim")
    );
    assert!(
        get("fertilizers.csv", &[])
            .text
            .starts_with("id,name,formula")
    );
    let refused = get("formulate.json", &[("recipe", "hoagland-9")]);
    assert_eq!((refused.status, refused.media), (422, Media::Problem));
}

#[test]
fn a_mix_can_be_taken_on_to_predict() {
    let page = get("formulate", &question(&[])).text;
    let (_, link) = page.split_once("href=\"/predict?mix=").expect("a link");
    let (query, _) = link.split_once('"').expect("its end");
    let query = format!("mix={}", query.replace("&amp;", "&"));
    let asked = Asked {
        method: Method::Get,
        base: "/".into(),
        path: "predict".into(),
        fields: Fields::read(query.as_bytes()),
    };
    let shown = SITE.with(|site| site.answer(&asked));
    assert_eq!(shown.status, 200);
    let text = read(&shown.text);
    assert!(text.contains("calcium-nitrate-fertilizer") && text.contains("in Larch Hollow spring"));
    // As weighed: within what rounding to three digits costs.
    assert!(
        text.contains("K 1.20 210.") || text.contains("K 1.20 209."),
        "{text}"
    );
}

#[test]
fn a_formulation_is_taken_on_to_stock_tanks() {
    let page = get("formulate", &question(&[("ratio", "128")])).text;
    let (_, link) = page.split_once("href=\"/stock?mix=").expect("a link");
    let (query, _) = link.split_once('"').expect("its end");
    let query = format!("mix={}", query.replace("&amp;", "&"));
    let fields = Fields::read(query.as_bytes());
    assert_eq!(fields.get("ratio"), Some("128"));
    let mix = fields.get("mix").expect("a mix").to_owned();
    let asked = Asked {
        method: Method::Get,
        base: "/".into(),
        path: "stock".into(),
        fields,
    };
    let shown = SITE.with(|site| site.answer(&asked));
    assert_eq!(shown.status, 200);
    let text = read(&shown.text);
    assert!(
        text.contains("1:128, made with Larch Hollow spring"),
        "{text}"
    );
    // The masses are those of the formulation, to more digits than are shown.
    let report: Value =
        serde_json::from_str(&get("formulate.json", &question(&[])).text).expect("JSON");
    for row in report["mix"].as_array().expect("a mix") {
        let id = row["id"].as_str().expect("an id");
        let line = mix
            .lines()
            .find(|line| line.starts_with(id))
            .expect("its line");
        let typed = line.split(' ').nth(1).expect("an amount");
        let typed: f64 = typed.parse().expect("a number");
        let meant = row["ml_per_l"].as_f64().or(row["g_per_l"].as_f64());
        let meant = meant.expect("an amount");
        assert!((typed - meant).abs() <= 5e-6 * meant, "{line}: {meant}");
    }
}

/// Stocks go from their page to the tank that they correct: what is poured is what the stocks hold,
/// and the reading is asked for.
#[test]
fn stocks_are_taken_on_to_a_correction() {
    let asked = [TWO_SALTS, ("ratio", "100"), ("water", "rain-barrel")];
    let page = get("stock", &asked).text;
    let (_, link) = page.split_once("href=\"/correct?").expect("a link");
    let (query, _) = link.split_once('"').expect("its end");
    let on = Fields::read(query.replace("&amp;", "&").as_bytes());
    assert_eq!(on.get("ratio"), Some("100"));
    let kept = ["stocks", "own-stocks", "ratio", "water"];
    let kept: Query<'_> = kept
        .into_iter()
        .map(|name| (name, on.get(name).expect(name)))
        .collect();
    let unread = get("correct", &kept);
    assert_eq!(unread.status, 422);
    assert!(unread.text.contains("the reading is empty"));
    let tank = [
        ("recipe", "hoagland-2"),
        ("tank", "120"),
        ("reading", "0.9"),
    ];
    let poured = |stocks: &str| -> Vec<(String, f64)> {
        let more = kept.iter().filter(|(name, _)| *name != "own-stocks");
        let more: Query<'_> = more.copied().collect();
        let fields = [&tank[..], &more, &[("own-stocks", stocks)]].concat();
        let answer = ask(Method::Post, "correct.json", &fields);
        assert_eq!(answer.status, 200, "{}", answer.text);
        let report: Value = serde_json::from_str(&answer.text).expect("JSON");
        let steps = report["steps"].as_array().expect("steps").iter();
        steps
            .filter(|step| step["do"] == "add-stock")
            .map(|step| (step["tank"].to_string(), step["ml"].as_f64().expect("mL")))
            .collect()
    };
    let told = poured(on.get("own-stocks").expect("stocks"));
    assert_eq!(told.len(), 2, "{told:?}");
    // The report of the stocks themselves, with every digit, pours the same.
    let exact = poured(&get("stock.json", &asked).text);
    for ((tank, ml), (other, exact_ml)) in told.iter().zip(&exact) {
        assert_eq!(tank, other);
        assert!((ml - exact_ml).abs() < 1e-3 * exact_ml, "{ml} {exact_ml}");
    }
}
