//! What must hold of any input whatever: one law for each reader of the program.
//!
//! Two callers: the fuzz targets beside this file feed them bytes without end, and `tests/fuzz.rs`
//! replays the seeds and what was once found, with every ordinary run.

use saltwright_fertilizers::units::{
    parse_alkalinity, parse_amount, parse_celsius, parse_dose, parse_ec, parse_mass, parse_number,
    parse_ratio, parse_shown, parse_strength, parse_volume,
};
use saltwright_fertilizers::{Fault, Faults, Formula, MixLine, Node, Problem, Table, prices};
use saltwright_recipes::{Library, Recipe, Water};
use saltwright_solver::Answer;
use serde_json::{Value, json};
use std::sync::LazyLock;

/// A law: bytes in, a panic where it is broken.
pub type Law = fn(&[u8]);

/// Every law, by the name of its target and its folder of seeds.
#[allow(dead_code)] // a fuzz target takes one, the replay takes all
pub const LAWS: [(&str, Law); 6] = [
    ("formula", formula),
    ("table", table),
    ("document", document),
    ("quantity", quantity),
    ("request", request),
    ("engine", engine),
];

/// The shipped library, read once.
static LIBRARY: LazyLock<Library> = LazyLock::new(|| match Library::shipped() {
    Ok(library) => library,
    Err(faults) => panic!("{}", faults[0]),
});

/// Two figures that a formula gives twice may differ by rounding alone.
const ROUNDING: f64 = 1e-9;
/// Largest gap and residual of a proof, relative to its objective where that is above one.
const PROVEN: f64 = 1e-7;

/// A refusal says what is wrong and what to do.
fn told(faults: &[Fault]) {
    assert!(!faults.is_empty(), "a refusal without a reason");
    for fault in faults {
        told_problem(&fault.problem);
        assert!(!fault.to_string().is_empty());
    }
}

fn told_problem(problem: &Problem) {
    assert!(
        !problem.to_string().is_empty() && !problem.mend().is_empty(),
        "{problem:?}"
    );
}

/// A formula is refused, or has a mass and nutrients that are part of it, the same when its own
/// text is read again.
pub fn formula(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let Ok(formula) = Formula::parse(text) else {
        return;
    };
    let mass = formula.molar_mass();
    assert!(mass.is_finite() && mass > 0.0, "{text}: {mass}");
    let held: f64 = formula.assay_pct().iter().map(|(_, percent)| percent).sum();
    assert!((0.0..=100.0 + ROUNDING).contains(&held), "{text}: {held} %");
    let again = Formula::parse(formula.text()).map(|again| again.molar_mass());
    let again = again.unwrap_or(f64::NAN);
    assert!(
        (again - mass).abs() <= ROUNDING * mass,
        "{text}: {mass}, then {again}"
    );
    assert!(formula.acid_eq_per_mol().is_finite(), "{text}");
}

/// A table is refused with reasons, or written and read again is the same table; the same bytes as
/// prices or as a mix are refused with reasons or read.
pub fn table(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    match Table::read_csv("fuzz.csv", &text) {
        Err(faults) => told(&faults),
        Ok(read) => {
            let written = read.to_csv();
            let again = Table::read_csv("again.csv", &written);
            let again = again.unwrap_or_else(|faults| panic!("{}\n{written}", faults[0]));
            assert_eq!(written, again.to_csv());
            assert_eq!(read.len(), again.len());
        }
    }
    if let Err(faults) = prices::read_csv("fuzz.csv", &text) {
        told(&faults);
    }
    if let Err(faults) = MixLine::read_csv("fuzz.csv", &text, None) {
        told(&faults);
    }
}

/// A recipe or water is refused with reasons, or holds figures that a plant could be given.
pub fn document(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let node = match Node::from_toml(&text) {
        Ok(node) => node,
        Err((_, problem)) => return told_problem(&problem),
    };
    let mut faults = Faults::in_file("fuzz.toml");
    if let Some(recipe) = Recipe::read(&node, "", &mut faults) {
        for (nutrient, aim) in recipe.aims() {
            for mg_l in [aim.aim, aim.min, aim.max].into_iter().flatten() {
                assert!(mg_l.is_finite() && mg_l >= 0.0, "{nutrient:?} {mg_l}");
            }
        }
    }
    let mut faults = Faults::in_file("fuzz.toml");
    if let Some(water) = Water::read(&node, "", &mut faults)
        && faults.is_empty()
    {
        let (cations, anions) = water.charges_meq_l();
        assert!(
            cations.is_finite() && anions.is_finite(),
            "{cations} {anions}"
        );
    }
}

/// A quantity is refused, or finite.
pub fn quantity(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let finite = |read: Result<f64, Problem>| match read {
        Ok(value) => assert!(value.is_finite(), "{text}: {value}"),
        Err(problem) => told_problem(&problem),
    };
    finite(parse_number(text));
    finite(parse_volume(text).map(|it| it.0));
    finite(parse_mass(text).map(|it| it.0));
    finite(parse_ec(text).map(|it| it.0));
    finite(parse_alkalinity(text).map(|it| it.0));
    finite(parse_celsius(text).map(|it| it.0));
    finite(parse_strength(text));
    finite(parse_ratio(text));
    for problem in [
        parse_amount(text).err(),
        parse_dose(text).err(),
        parse_shown(text).err(),
    ] {
        problem.iter().for_each(told_problem);
    }
}

/// A request gets a report or a refusal with reasons, which is one line of JSON, twice the same.
pub fn request(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let said = written(&saltwright_solver::answer(&text, &LIBRARY));
    assert!(!said.contains('\n'));
    let parsed: Value = serde_json::from_str(&said).unwrap_or(Value::Null);
    assert!(parsed.is_object(), "{said}");
    if let Some(refusal) = parsed.get("refusal") {
        let words = |key: &str| refusal[key].as_str().is_some_and(|words| !words.is_empty());
        assert!(words("kind") && words("what") && words("mend"), "{said}");
    }
    assert_eq!(said, written(&saltwright_solver::answer(&text, &LIBRARY)));
}

fn written(answer: &Answer) -> String {
    serde_json::to_string(answer).unwrap_or_else(|error| panic!("{error}"))
}

/// Aims and assays of any size: whatever the engine makes of them, what is printed is proved and
/// what was not found is refused. Each pair of bytes is a figure.
pub fn engine(bytes: &[u8]) {
    const NUTRIENTS: [&str; 6] = ["N", "P", "K", "Ca", "Mg", "Fe"];
    let mut figures = bytes.chunks_exact(2).map(|pair| figure(pair[0], pair[1]));
    let mut take = |most: f64| figures.next().map(|figure| (figure * most).min(most));
    let mut aims = serde_json::Map::new();
    for nutrient in NUTRIENTS {
        if let Some(aim) = take(1000.0).filter(|aim| *aim > 0.0) {
            aims.insert(nutrient.into(), json!(aim));
        }
    }
    let (mut fertilizers, mut prices) = (Vec::new(), serde_json::Map::new());
    while let (Some(price), true) = (take(100.0), fertilizers.len() < 10) {
        let id = format!("salt-{}", fertilizers.len());
        let mut assay = serde_json::Map::new();
        for nutrient in ["NO3-N", "P", "K", "Ca", "Mg", "Fe"] {
            // Six sixths are never more than all of it.
            if let Some(percent) = take(100.0 / 6.0).filter(|percent| *percent > 0.0) {
                assay.insert(nutrient.into(), json!(percent));
            }
        }
        if assay.is_empty() {
            continue;
        }
        fertilizers.push(json!({"id": id, "assay_pct": assay}));
        prices.insert(id, json!(price));
    }
    let asked = json!({
        "job": "formulate", "recipe": {"name": "any", "aims": aims},
        "fertilizers": fertilizers, "prices": prices,
    });
    let said = written(&saltwright_solver::answer(&asked.to_string(), &LIBRARY));
    let report: Value = serde_json::from_str(&said).unwrap_or(Value::Null);
    // A shelf without anything, or no aim at all, is refused; figures millions apart may be.
    let nothing = fertilizers.is_empty() || aims.is_empty();
    let unproven = report["refusal"]["kind"] == "no-answer";
    let proofs = report["proof"].as_array();
    let proved = proofs.is_some_and(|rows| !rows.is_empty());
    assert!(proved || nothing || unproven, "{asked}: {said}");
    for row in report["proof"].as_array().into_iter().flatten() {
        let number = |key: &str| row[key].as_f64().unwrap_or(f64::NAN);
        let scale = number("objective").abs().max(1.0);
        assert!(number("primal_residual") <= PROVEN, "{asked}: {row}");
        assert!(number("dual_residual") <= PROVEN * scale, "{asked}: {row}");
        assert!(number("gap").abs() <= PROVEN * scale, "{asked}: {row}");
    }
}

/// Nothing, or a share from a millionth to all of it, evenly by its logarithm.
fn figure(high: u8, low: u8) -> f64 {
    match u16::from_be_bytes([high, low]) {
        0 => 0.0,
        at => 10_f64.powf(6.0 * (f64::from(at) / f64::from(u16::MAX) - 1.0)),
    }
}
