//! Linear ranges against Monte Carlo: every assay drawn within its tolerance, the whole chemistry
//! run again for each draw.

use crate::common::{Uniform, answer, library};
use saltwright_fertilizers::{Dose, Fertilizer, Ion, Node, Nutrient};
use saltwright_solver::chemistry::conductivity::conductivity;
use saltwright_solver::chemistry::{
    Carbon, Component, Conditions, Protons, Speciation, Totals, speciate,
};
use saltwright_solver::readings::Source;
use serde_json::{Value, json};

/// Mean and standard deviation of a run of draws.
#[derive(Default)]
struct Moments {
    count: f64,
    mean: f64,
    squares: f64,
    least: f64,
    most: f64,
}

impl Moments {
    fn add(&mut self, value: f64) {
        if self.count == 0.0 {
            (self.least, self.most) = (value, value);
        }
        self.count += 1.0;
        let off = value - self.mean;
        self.mean += off / self.count;
        self.squares += off * (value - self.mean);
        (self.least, self.most) = (self.least.min(value), self.most.max(value));
    }

    fn deviation(&self) -> f64 {
        (self.squares / (self.count - 1.0)).sqrt()
    }
}

/// Fifty recipes as asked: every shipped list, in waters from none to a hard tap. Lists of
/// micronutrients alone have no EC to speak of.
fn fifty() -> Vec<Value> {
    let library = library();
    let waters = ["pure-water", "larch-hollow-spring", "tallow-street-tap"];
    let ids = library.recipes.iter().map(|recipe| recipe.id.as_str());
    let recipes: Vec<&str> = ids.filter(|id| !id.starts_with("micros-")).collect();
    let asked = recipes.iter().cycle().zip(waters.iter().cycle());
    asked
        .enumerate()
        .take(50)
        .map(|(at, (recipe, water))| {
            let strength = [1.0, 0.5, 0.75, 1.2][at % 4];
            json!({"job": "formulate", "recipe": recipe, "water": water, "strength": strength,
                   "ranges": true})
        })
        .collect()
}

/// A mix whose assays can be drawn.
struct Drawn {
    doses: Vec<Dose>,
    water: Totals,
}

impl Drawn {
    fn of(request: &Value, report: &Value) -> Self {
        let library = library();
        let id = request["water"].as_str().unwrap();
        let pure = saltwright_recipes::Water::pure();
        let water = library.water(id).unwrap_or(&pure);
        let doses = report["mix"].as_array().unwrap().iter().map(|row| Dose {
            fertilizer: library
                .fertilizers
                .get(row["id"].as_str().unwrap())
                .unwrap()
                .clone(),
            amount: saltwright_fertilizers::units::GramsPerL(row["g_per_l"].as_f64().unwrap()),
        });
        Self {
            doses: doses.collect(),
            water: Source::new(water).unwrap().totals,
        }
    }

    /// What a litre holds with every assay off by `off(dose, nutrient)`, relative; what is brought
    /// of each nutrient is told as well.
    fn totals(&self, off: &[[f64; Nutrient::COUNT]], mg_l: &mut [f64]) -> Totals {
        let mut totals = self.water;
        for (dose, off) in self.doses.iter().zip(off) {
            let (fertilizer, grams) = (&dose.fertilizer, dose.amount.0);
            for (nutrient, percent) in fertilizer.assay_pct.iter() {
                mg_l[nutrient.index()] += 10.0 * percent * grams * (1.0 + off[nutrient.index()]);
            }
            let share = share(fertilizer, off);
            for (ion, mmol) in fertilizer.ions_mmol_per_g() {
                let (of, atoms) = match ion {
                    Ion::Free(Nutrient::UreaN) => (off[Nutrient::UreaN.index()], 2.0),
                    Ion::Free(n) | Ion::Chelate(n, _) => (off[n.index()], 1.0),
                    Ion::Carbon => (share - 1.0, 1.0),
                };
                totals[Component::of(*ion)] += mmol * grams * (1.0 + of) / atoms;
            }
            totals.acid_meq_l += fertilizer.acid_meq_per_g() * grams * share;
        }
        totals
    }
}

/// How a formula's protons go with its assays: by the mass of what they name.
fn share(fertilizer: &Fertilizer, off: &[f64; Nutrient::COUNT]) -> f64 {
    let pure = fertilizer.formula.as_ref().unwrap().assay_pct();
    let named = || fertilizer.assay_pct.iter().filter(|(n, _)| pure[*n] > 0.0);
    let nominal: f64 = named().map(|(_, percent)| percent).sum();
    let drawn: f64 = named()
        .map(|(n, percent)| percent * (1.0 + off[n.index()]))
        .sum();
    if nominal > 0.0 { drawn / nominal } else { 1.0 }
}

fn ec_us_cm(totals: &Totals, start: Option<&Speciation>) -> (f64, Speciation) {
    let at = Conditions::reference();
    let solved = speciate(at, totals, Carbon::Closed, Protons::Balance, start).unwrap();
    (conductivity(at, &solved).us_cm, solved)
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// Standard deviation of the EC by assays alone, mS/cm, as the report has it.
fn of_assays(report: &Value) -> f64 {
    let all =
        (number(&report["ec"]["high_ms_cm"]) - number(&report["ec"]["predicted_ms_cm"])) / 2.0;
    let causes = report["causes"].as_array().unwrap().iter();
    let stated = causes.filter(|row| row["figure"] == "EC").filter(|row| {
        let cause = row["cause"].as_str().unwrap();
        cause != "EC model" && cause != "EC of the source water"
    });
    let share: f64 = stated.map(|row| number(&row["share_pct"])).sum();
    all * (share / 100.0).sqrt()
}

/// Draws a mix, and holds the report against what the draws do. Tells the largest relative
/// differences of standard deviations: of a nutrient, of the EC.
fn compare(request: &Value, draws: usize, ec_draws: usize, seed: u64) -> (f64, f64) {
    let report = answer(request);
    let drawn = Drawn::of(request, &report);
    let mut uniform = Uniform::seeded(seed);
    let mut nutrients: Vec<Moments> = (0..Nutrient::COUNT).map(|_| Moments::default()).collect();
    let (mut total_n, mut ec) = (Moments::default(), Moments::default());
    let exact = vec![[0.0; Nutrient::COUNT]; drawn.doses.len()];
    let (meant, solved) = ec_us_cm(&drawn.totals(&exact, &mut [0.0; Nutrient::COUNT]), None);
    let said = number(&report["ec"]["predicted_ms_cm"]);
    assert!((meant / 1000.0 - said).abs() < 1e-6, "{meant} and {said}");
    for draw in 0..draws {
        let mut off = exact.clone();
        for (dose, off) in drawn.doses.iter().zip(&mut off) {
            let tolerance = dose.fertilizer.tolerance_pct.unwrap() / 100.0;
            off.fill_with(|| tolerance * uniform.draw());
        }
        let mut mg_l = [0.0; Nutrient::COUNT];
        let totals = drawn.totals(&off, &mut mg_l);
        for (moments, mg_l) in nutrients.iter_mut().zip(mg_l) {
            moments.add(mg_l);
        }
        total_n.add(Nutrient::N_FORMS.iter().map(|n| mg_l[n.index()]).sum());
        if draw < ec_draws {
            ec.add(ec_us_cm(&totals, Some(&solved)).0 / 1000.0);
        }
    }
    let mut worst = 0.0_f64;
    for row in report["nutrients"].as_array().unwrap() {
        let key = row["nutrient"].as_str().unwrap();
        let found = Nutrient::ALL.into_iter().find(|n| n.key() == key);
        let moments = found.map_or(&total_n, |nutrient| &nutrients[nutrient.index()]);
        let water = number(&row["water"]);
        let (least, most) = (number(&row["worst_low"]), number(&row["worst_high"]));
        let slack = 1e-12 * most;
        assert!(water + moments.least >= least - slack, "{key}: {request}");
        assert!(water + moments.most <= most + slack, "{key}: {request}");
        let said = (number(&row["high"]) - number(&row["delivered"])) / 2.0;
        if said > 1e-9 {
            worst = worst.max((moments.deviation() / said - 1.0).abs());
        }
    }
    let (least, most) = (
        number(&report["ec"]["worst_low_ms_cm"]),
        number(&report["ec"]["worst_high_ms_cm"]),
    );
    assert!(
        ec.least >= least && ec.most <= most,
        "{least} {most}: {request}"
    );
    (worst, (ec.deviation() / of_assays(&report) - 1.0).abs())
}

fn against_draws(requests: &[Value], draws: usize, ec_draws: usize) {
    let (mut nutrient, mut ec) = (0.0_f64, 0.0_f64);
    for (at, request) in requests.iter().enumerate() {
        let found = compare(request, draws, ec_draws, at as u64);
        nutrient = nutrient.max(found.0);
        println!("{}: EC {:+.2} %", request["recipe"], 100.0 * found.1);
        ec = ec.max(found.1);
    }
    println!(
        "standard uncertainty against {draws} draws ({ec_draws} of EC), {} recipes: nutrients \
         within {:.2} %, EC within {:.2} %",
        requests.len(),
        100.0 * nutrient,
        100.0 * ec
    );
    assert!(nutrient < 0.03 && ec < 0.03, "{nutrient} {ec}");
}

/// Every sixth recipe, with draws enough to know a standard deviation within 1.6 % (two of its own).
#[test]
fn ranges_agree_with_random_assays() {
    let some: Vec<Value> = fifty().into_iter().step_by(6).collect();
    against_draws(&some, 20_000, 8_000);
}

/// All of them, to the last digit that matters; a minute or two.
#[test]
#[ignore = "long"]
fn ranges_agree_with_a_hundred_thousand_random_assays() {
    against_draws(&fifty(), 100_000, 100_000);
}

/// Every assay at one end or the other, at random and all at once: no corner leaves the worst case of
/// the EC, and the corner of all assays at their most comes near it.
#[test]
fn no_corner_leaves_the_worst_case_of_the_ec() {
    let mut uniform = Uniform::seeded(3);
    let mut widest = 0.0_f64;
    for request in fifty().into_iter().step_by(5) {
        let report = answer(&request);
        let drawn = Drawn::of(&request, &report);
        let ends = ["worst_low_ms_cm", "worst_high_ms_cm"].map(|key| number(&report["ec"][key]));
        let middle = number(&report["ec"]["predicted_ms_cm"]);
        let at = |sign: &mut dyn FnMut() -> f64| {
            let mut off = vec![[0.0; Nutrient::COUNT]; drawn.doses.len()];
            for (dose, off) in drawn.doses.iter().zip(&mut off) {
                let tolerance = dose.fertilizer.tolerance_pct.unwrap() / 100.0;
                off.fill_with(|| tolerance * sign());
            }
            let totals = drawn.totals(&off, &mut [0.0; Nutrient::COUNT]);
            ec_us_cm(&totals, None).0 / 1000.0
        };
        for _ in 0..300 {
            let ec = at(&mut || uniform.draw().signum());
            assert!(ec >= ends[0] && ec <= ends[1], "{ec} {ends:?}: {request}");
        }
        let (low, high) = (at(&mut || -1.0), at(&mut || 1.0));
        assert!(low >= ends[0] && high <= ends[1], "{low} {high} {ends:?}");
        let all = ends[1] - ends[0];
        println!(
            "{}: {ends:?} about {middle}, all at once {low} to {high}",
            request["recipe"]
        );
        widest = widest.max(all / (high - low));
    }
    println!("widest beside all assays at once: {widest:.2}");
    // The rest is charge that assays of opposite sign can leave open.
    assert!(widest < 2.0, "{widest}");
}

/// The quick way of a draw is what the program makes of a bag with such an assay.
#[test]
fn a_drawn_bag_is_read_as_such() {
    let library = library();
    let mut uniform = Uniform::seeded(7);
    for id in [
        "nitric-acid-60",
        "potassium-carbonate",
        "monopotassium-phosphate",
        "fe-dtpa-11",
    ] {
        let bag = library.fertilizers.get(id).unwrap().clone();
        let mut off = [0.0; Nutrient::COUNT];
        off.fill_with(|| 0.05 * uniform.draw());
        let dose = |fertilizer| Dose {
            fertilizer,
            amount: saltwright_fertilizers::units::GramsPerL(0.5),
        };
        let mix = Drawn {
            doses: vec![dose(bag.clone())],
            water: Totals::default(),
        };
        let quick = mix.totals(&[off], &mut [0.0; Nutrient::COUNT]);
        let held = bag.assay_pct.iter().filter(|(_, percent)| *percent > 0.0);
        let assay =
            held.map(|(n, percent)| (n.key(), Node::number(percent * (1.0 + off[n.index()]))));
        let mut node = bag.to_node();
        node.set("assay_pct", Node::table(assay));
        let mut faults = saltwright_fertilizers::Faults::default();
        let read = Fertilizer::read(&node, "", &mut faults).unwrap();
        let mut as_read = Totals::default();
        as_read.add_dose(&dose(std::sync::Arc::new(read)));
        assert!((quick.acid_meq_l - as_read.acid_meq_l).abs() < 1e-9, "{id}");
        for ((component, quick), (_, read)) in quick.iter().zip(as_read.iter()) {
            assert!(
                (quick - read).abs() < 1e-9,
                "{id}: {component:?} {quick} {read}"
            );
        }
    }
}
