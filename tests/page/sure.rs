//! How sure figures are reads the same on the page as in the terminal.

use super::*;

/// A correction's ranges, their causes, and what to measure next for the figure that was chosen.
#[test]
fn a_page_of_corrections_tells_ranges_as_the_terminal_does() {
    let words = "correct sonneveld-modified-lettuce --water larch-hollow-spring --stock \
                 recipes/data/demo/stocks.toml --reading 1.9 --ph 6.9 --level 110L --tank 120L \
                 --off meter=3% --off ph-meter=0.1 --off stocks=2% --narrow K";
    let words: Vec<&str> = words.split_whitespace().collect();
    let asked = question(&[
        ("stocks", "demo"),
        ("reading", "1.9"),
        ("ph", "6.9"),
        ("level", "110 L"),
        ("tank", "120 L"),
        ("off-meter", "3"),
        ("off-ph-meter", "0.1"),
        ("off-stocks", "2"),
        ("narrow", "K"),
    ]);
    let page = get("correct", &asked);
    assert_eq!(page.status, 200);
    let shown = read(&page.text);
    assert!(shown.contains('±'), "{shown}");
    let pieces = terminal(&words);
    let facts = pieces.iter().find(|piece| piece.contains("ranges ±"));
    let (_, facts) = facts.expect("ranges").split_once("ranges ±").expect("them");
    let (facts, _) = facts.split_once(" nitric-acid-38:").expect("cautions");
    assert!(shown.contains(facts), "{facts}\n{shown}");
    for told in ["EC ± ", "pH ± ", "calibrate the EC meter"] {
        assert!(facts.contains(told), "{facts}");
    }
    let table = pieces.iter().find(|piece| piece.starts_with("figure now"));
    assert!(shown.contains(table.expect("a table").as_str()), "{shown}");
    assert!(shown.contains("(K ±"), "{shown}");
}

/// What cannot be is refused beside its field.
#[test]
fn tolerances_that_cannot_be_are_refused_beside_their_fields() {
    for (field, typed, says) in [
        ("off-meter", "-1", "below zero"),
        ("off-water", "120", "more than all of it"),
        ("off-ph-meter", "9", "more than the limit of 2"),
        ("off-scale", "0.1 g", "says little without the litres"),
        ("off-tank", "much", "not a number"),
        ("narrow", "Cax", "Did you mean"),
        ("sure", "sometimes", "no way to be sure"),
    ] {
        let page = get("formulate", &question(&[(field, typed)]));
        assert!(
            page.text.contains(says),
            "{field}={typed}: {}",
            read(&page.text)
        );
        let at = format!("id=\"{field}-fault\"");
        assert!(page.text.contains(&at), "{field}: no words beside it");
    }
}

/// Ranges stand in every table, and their columns only where they were asked for.
#[test]
fn tables_hold_the_ranges() {
    let with_ranges = question(&[("ranges", "yes")]);
    let plain = get("formulate-nutrients.csv", &question(&[]));
    assert!(!plain.text.contains("worst_low"), "{}", plain.text);
    let ranged = get("formulate-nutrients.csv", &with_ranges);
    let head = "nutrient,aim,min,max,water,delivered,off_pct,price_per_mg_l_m3,low,high,worst_low,\
                worst_high\n";
    assert!(ranged.text.starts_with(head), "{}", ranged.text);
    let stock = get("stock-nutrients.csv", &[TWO_SALTS, ("ranges", "yes")]);
    assert!(
        stock.text.starts_with("nutrient,water,delivered,low"),
        "{}",
        stock.text
    );
    let tank = question(&[
        ("stocks", "demo"),
        ("reading", "1.9"),
        ("level", "110 L"),
        ("tank", "120 L"),
        ("ranges", "yes"),
    ]);
    let steps = get("correct.csv", &tank);
    assert!(
        steps
            .text
            .starts_with("step,do,tank,id,litres,ml,g,minutes,low,high"),
        "{}",
        steps.text
    );
    assert!(steps.text.contains("\n1,drain,,,"), "{}", steps.text);
    let nutrients = get("correct-nutrients.csv", &tank);
    let potassium = nutrients.text.lines().find(|line| line.starts_with("K,"));
    let cells: Vec<&str> = potassium.expect("potassium").split(',').collect();
    let cell = |at: usize| cells[at].parse::<f64>().expect("a figure");
    assert!(cell(4) < cell(2) && cell(2) < cell(5), "{cells:?}");
    let label = get(
        "label.csv",
        &[
            ("label", "13-0-46"),
            ("ingredients", "potassium-nitrate"),
            ("ranges", "yes"),
        ],
    );
    let head = "label,pct,element,element_pct,mixture_pct,low,high,worst_low,worst_high\nN,13,";
    assert!(label.text.starts_with(head), "{}", label.text);
}
