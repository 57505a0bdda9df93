//! How sure a correction is: against tanks that are other than their meters say, followed by hand.

use super::follow::Greenhouse;
use crate::common::{Uniform, answer, number, run, stdout};
use saltwright_recipes::Library;
use serde_json::{Value, json};

fn deviation(values: &[f64]) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares = values.iter().map(|value| (value - mean).powi(2));
    (squares.sum::<f64>() / (count - 1.0)).sqrt()
}

fn of<'a>(report: &'a Value, list: &str, figure: &str) -> Vec<&'a Value> {
    let rows = report[list].as_array().expect("a list").iter();
    rows.filter(|row| row["figure"] == figure).collect()
}

/// Standard uncertainty of a figure by some causes alone, from half of its range in all.
fn by(report: &Value, figure: &str, half: f64, causes: &[&str]) -> f64 {
    let rows = of(report, "causes", figure);
    let counted = rows
        .iter()
        .filter(|row| causes.iter().any(|cause| row["cause"] == *cause));
    let share: f64 = counted.map(|row| number(row, "/share_pct")).sum();
    0.5 * half * (share / 100.0).sqrt()
}

/// A strong tank that is thinned and a weak one that is fed, both with acid.
fn tanks() -> [Value; 2] {
    let (recipe, water) = ("sonneveld-modified-lettuce", "larch-hollow-spring");
    let mix = answer(&json!({"job": "formulate", "recipe": recipe, "water": water}));
    let stock = answer(&json!({"job": "stock", "mix": mix["mix"], "water": water, "ratio": 100}));
    [(1.9, 90.0), (0.9, 100.0)].map(|(ec, litres)| {
        json!({"job": "correct", "recipe": recipe, "water": water, "stock": stock,
            "acid": "nitric-acid-38", "base": "potassium-bicarbonate", "litres": litres,
            "capacity_l": 130, "reading": {"ec_ms_cm": ec, "ph": 6.9}, "ec_ms_cm": 1.4,
            "ph": [5.6, 6.2]})
    })
}

fn with(request: &Value, ranges: Value) -> Value {
    let mut asked = request.clone();
    asked["ranges"] = ranges;
    answer(&asked)
}

/// Meters and marks drawn within what is stated; the tank is then another one, the same steps are
/// made, and the same meters read it again.
#[test]
fn ranges_of_the_readings_agree_with_tanks_followed_by_hand() {
    const DRAWS: usize = 300;
    const CAUSES: [&str; 3] = ["EC meter", "pH meter", "tank volume"];
    let library = Library::shipped().expect("sound");
    for request in tanks() {
        let told = with(
            &request,
            json!({"meter_pct": 4, "meter_ph": 0.1, "volume_pct": 3}),
        );
        let after = &told["after"];
        let mut uniform = Uniform::seeded(11);
        let (mut ec, mut ph) = (Vec::new(), Vec::new());
        for _ in 0..DRAWS {
            let meter = 1.0 + 0.04 * uniform.draw();
            let (off, marks) = (0.1 * uniform.draw(), 1.0 + 0.03 * uniform.draw());
            let mut world = request.clone();
            world["reading"]["ec_ms_cm"] = json!(number(&request, "/reading/ec_ms_cm") / meter);
            world["reading"]["ph"] = json!(number(&request, "/reading/ph") - off);
            world["litres"] = json!(number(&request, "/litres") * marks);
            let mut steps = told["steps"].as_array().expect("steps").clone();
            for step in &mut steps {
                if let Some(litres) = step["litres"].as_f64() {
                    step["litres"] = json!(litres * marks);
                }
            }
            let house = Greenhouse::new(&library, &world);
            let mut tank = house.tank().expect("stronger than its water");
            house.follow(&mut tank, &steps);
            ec.push(tank.ec() * meter);
            ph.push(tank.ph().0 + off);
        }
        for (figure, drawn, key) in [("EC", ec, "ec_high_ms_cm"), ("pH", ph, "ph_high")] {
            let middle = if figure == "EC" { "ec_ms_cm" } else { "ph" };
            let half = after[key].as_f64().expect("a range") - after[middle].as_f64().expect("it");
            let said = by(&told, figure, half, &CAUSES);
            let found = deviation(&drawn);
            println!("{figure}: {said:.4} told, {found:.4} drawn, range ± {half:.4}");
            assert!(
                (found / said - 1.0).abs() < 0.12,
                "{figure}: {said} {found}"
            );
        }
    }
}

/// What it would have taken: the same question asked again with what the meters should have shown.
#[test]
fn ranges_of_the_pours_agree_with_asking_again() {
    const DRAWS: usize = 300;
    for request in tanks() {
        let told = with(
            &request,
            json!({"meter_pct": 4, "meter_ph": 0.1, "volume_pct": 3}),
        );
        let total = |report: &Value, what: &str, key: &str| -> f64 {
            let steps = report["steps"].as_array().expect("steps").iter();
            let steps = steps.filter(|step| step["do"] == what);
            steps.map(|step| step[key].as_f64().expect(key)).sum()
        };
        for (what, key) in [
            ("add-water", "litres"),
            ("add-stock", "ml"),
            ("add-acid", "ml"),
        ] {
            let nominal = total(&told, what, key);
            if nominal == 0.0 {
                continue;
            }
            let half = total(&told, what, "high") - nominal;
            let said = by(&told, what, half, &["EC meter", "pH meter", "tank volume"]);
            let mut uniform = Uniform::seeded(12);
            let drawn: Vec<f64> = (0..DRAWS)
                .map(|_| {
                    let meter = 1.0 + 0.04 * uniform.draw();
                    let (off, marks) = (0.1 * uniform.draw(), 1.0 + 0.03 * uniform.draw());
                    let mut world = request.clone();
                    world["reading"]["ec_ms_cm"] =
                        json!(number(&request, "/reading/ec_ms_cm") / meter);
                    world["reading"]["ph"] = json!(number(&request, "/reading/ph") - off);
                    for key in ["litres", "capacity_l"] {
                        world[key] = json!(number(&request, &format!("/{key}")) * marks);
                    }
                    let by_marks = if key == "litres" { marks } else { 1.0 };
                    total(&answer(&world), what, key) / by_marks
                })
                .collect();
            let found = deviation(&drawn);
            println!("{what}: {nominal:.2}, {said:.3} told, {found:.3} drawn");
            assert!((found / said - 1.0).abs() < 0.12, "{what}: {said} {found}");
        }
    }
}

/// A meter that is off reads both before and after: thinning with clean water, it tells the share of
/// water right, and hardly moves the reading in the end. By hand: at the same ions in rain, 1.9 read
/// for 1.81 truly needs less water, but the meter's own 1.4 is met within the bend of the EC.
#[test]
fn a_meter_reads_before_and_after() {
    let request = json!({"job": "correct", "recipe": "hoagland-2", "water": "reverse-osmosis",
        "litres": 50, "capacity_l": 100, "reading": {"ec_ms_cm": 1.9}, "ec_ms_cm": 1.4});
    let told = with(&request, json!({"meter_pct": 5}));
    let after = &told["after"];
    let half = number(after, "/ec_high_ms_cm") - number(after, "/ec_ms_cm");
    let of_meter = by(&told, "EC", half, &["EC meter"]);
    assert!(of_meter < 0.005, "{of_meter}");
    let water = &told["steps"][0];
    assert_eq!(water["do"], "add-water", "{told}");
    let (low, high) = (number(water, "/low"), number(water, "/high"));
    assert!(low < number(water, "/litres") && number(water, "/litres") < high);
    // To a true 1.4: 50 L x 1.9/1.4 is 67.9 L; 5 % less true EC is 3.4 L less, u = 3.4/3^1/2.
    let rough = 2.0 * 50.0 * 1.9 / 1.4 * 0.05 / 3.0_f64.sqrt();
    let of_meter = 2.0
        * by(
            &told,
            "add-water",
            high - number(water, "/litres"),
            &["EC meter"],
        );
    assert!((of_meter / rough - 1.0).abs() < 0.15, "{of_meter} {rough}");
}

/// What brings most stands first, a reading by the width of its band and a pour by its size; the
/// nutrients, which are wider here by the iron of a chelate, stay behind. What is promised of the
/// first comes true where its cause is taken away.
#[test]
fn what_narrows_a_pour_or_a_reading_most_is_measured_first() {
    let off = json!({"meter_pct": 4, "meter_ph": 0.1, "volume_pct": 3, "tolerance_pct": 8});
    for request in tanks() {
        let told = with(&request, off.clone());
        let next = told["measure_next"].as_array().expect("rows");
        let is_first = |row: &Value| {
            let figure = row["figure"].as_str().expect("a name");
            ["EC", "pH"].contains(&figure) || figure.starts_with("add-") || figure == "drain"
        };
        let first = next.iter().take_while(|row| is_first(row)).count();
        assert!(first > 2, "{next:?}");
        assert!(!next[first..].iter().any(is_first), "{next:?}");
        let causes = next[..first].iter().map(|row| row["cause"].as_str());
        let causes: Vec<&str> = causes.map(|cause| cause.expect("a name")).collect();
        assert!(
            causes.contains(&"EC meter") && causes.contains(&"pH meter"),
            "{causes:?}"
        );
        let mut sound = off.clone();
        let key = if causes[0] == "EC meter" {
            "meter_pct"
        } else {
            "meter_ph"
        };
        sound[key] = json!(0);
        let sound = with(&request, sound);
        let figure = next[0]["figure"].as_str().expect("a name");
        let then = of(&sound, "measure_next", figure)[0];
        let (promised, kept) = (number(&next[0], "/at_best"), number(then, "/half_width"));
        assert!((kept / promised - 1.0).abs() < 0.02, "{promised} {kept}");
    }
}

#[test]
fn the_sheet_names_it_with_the_pour_in_its_unit() {
    let said = run(&[
        "correct",
        "sonneveld-modified-lettuce",
        "--water",
        "larch-hollow-spring",
        "--reading",
        "1.9",
        "--ph",
        "6.9",
        "--level",
        "90L",
        "--tank",
        "130L",
        "--off",
        "meter=4%",
        "--off",
        "ph-meter=0.1",
        "--off",
        "tank=3%",
    ]);
    let said = stdout(&said);
    let words: Vec<&str> = said.split_whitespace().collect();
    let said = words.join(" ");
    for told in [
        "measure calibrate the EC meter with a fresh standard (add water ± ",
        " L, at best ± ",
        "; calibrate the pH meter with fresh buffers (",
        "6.9 6.0 ± 0.3 5.5 to 6.5",
        "add water 26.2 ± 6.2 L",
    ] {
        assert!(said.contains(told), "{told}\n{said}");
    }
    assert!(!said.contains("mg/L"), "{said}");
}

/// What is poured in portions is told as a whole, twice the range of each of two.
#[test]
fn the_sheet_names_what_is_poured_in_portions_as_a_whole() {
    let [_, weak] = tanks();
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("stock.json");
    std::fs::write(&file, weak["stock"].to_string()).expect("written");
    #[rustfmt::skip]
    let said = run(&[
        "correct", "sonneveld-modified-lettuce", "--water", "larch-hollow-spring", "--stock",
        file.to_str().expect("a name"), "--acid", "nitric-acid-38", "--reading", "0.9", "--ph",
        "6.9", "--level", "100L", "--tank", "130L", "--ec", "1.4", "--ph-band", "5.6..6.2",
        "--off", "ph-meter=0.1", "--off", "meter=4%", "--off", "tank=3%", "--off", "tolerance=8%",
    ]);
    let said = stdout(&said);
    let each = said.matches("nitric-acid-38  ").count();
    assert_eq!(each, 2, "{said}");
    assert!(said.contains("(nitric-acid-38 in all ± "), "{said}");
}

#[test]
fn what_was_not_asked_is_not_told() {
    let [strong, _] = tanks();
    let plain = answer(&strong);
    assert!(plain.get("causes").is_none(), "{plain}");
    assert!(plain["after"].get("ec_low_ms_cm").is_none());
    assert!(plain["steps"][0].get("low").is_none());
    let told = with(&strong, json!({"stock_pct": 3, "meter_ph": 0.1}));
    // The answer is the same, with its ranges.
    assert_eq!(told["after"]["ec_ms_cm"], plain["after"]["ec_ms_cm"]);
    assert_eq!(told["steps"][0]["litres"], plain["steps"][0]["litres"]);
    for figure in ["EC", "pH", "K", "add-water", "add-acid"] {
        let shares = of(&told, "causes", figure);
        let sum: f64 = shares.iter().map(|row| number(row, "/share_pct")).sum();
        assert!((99.0..=100.000_001).contains(&sum), "{figure}: {sum}");
    }
    let next = of(&told, "measure_next", "pH");
    assert_eq!(next[0]["cause"], "pH meter", "{next:?}");
    assert!(
        of(&told, "causes", "K")
            .iter()
            .any(|row| row["cause"] == "stock A" || row["cause"] == "stock B")
    );
}

#[test]
fn bad_tolerances_beside_a_tank_are_refused_by_name() {
    let [strong, _] = tanks();
    for (ranges, kind, field) in [
        (json!({"meter_ph": -0.1}), "negative", "ranges.meter_ph"),
        (json!({"meter_ph": 3}), "too-large", "ranges.meter_ph"),
        (
            json!({"stock_pct": 101}),
            "over-100-percent",
            "ranges.stock_pct",
        ),
        (json!({"ph": 0.1}), "unknown-name", "ranges.ph"),
    ] {
        let refused = with(&strong, ranges);
        assert_eq!(refused["refusal"]["kind"], kind, "{refused}");
        assert_eq!(refused["refusal"]["where"], field, "{refused}");
    }
}
