//! A label's guaranteed analysis: what is printed on a bag, read as it stands there.
//!
//! Labels print nitrogen as the element, phosphorus and potassium as P2O5 and K2O or as elements,
//! calcium, magnesium and sulfur either way, depending on where they are sold. Here every figure
//! keeps the key it was printed under and knows its element; what a label leaves out is not named,
//! which is not the same as zero.

mod grade;
mod printed;

pub use grade::Basis;
pub use printed::{Counted, Printed};

use crate::document::{self, Limits, Node, Reader, Value};
use crate::fault::{Faults, Problem};
use crate::nutrient::{Aimed, Nutrient};
use grade::read_grade;
use printed::oxide_share;

/// How far an oxide and its element on one label may differ, relative, besides rounding.
const OXIDE_TOLERANCE: f64 = 0.02;
/// Smallest figure that a label can claim, percent: a hundredth of a gram in a tonne.
const SMALLEST_PCT: f64 = 1e-6;
/// Half the last digit that labels usually print, percentage points.
const ROUNDING: f64 = 0.05;
/// Part of the mass of chloride that stands beside the oxides: a chloride is its oxide with Cl2 in
/// place of O, and the oxygen (15.999/2 of 35.45) is counted with the oxide already.
const CHLORIDE_BESIDE_OXIDES: f64 = 1.0 - 15.999 / (2.0 * 35.45);

/// One figure of a label.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stated {
    /// As printed.
    pub printed: Printed,
    /// Percent by mass, of what is printed.
    pub pct: f64,
    /// Line in its file.
    pub line: Option<usize>,
}

impl Stated {
    /// Percent by mass of the element.
    pub fn element_pct(&self) -> f64 {
        self.pct * self.printed.factor
    }
}

/// A guaranteed analysis, or what a laboratory found, in the order of reports.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Guarantee {
    stated: Vec<Stated>,
}

impl Guarantee {
    /// Reads a table (`{"N": 15, "P2O5": 5}`) or a grade (`"15-5-15 + 4Ca + 2Mg"`); checks that it
    /// can be a label at all.
    pub fn read(node: &Node, path: &str, basis: Basis, faults: &mut Faults) -> Option<Self> {
        let before = faults.len();
        let read = Self::read_found(node, path, basis, faults)?;
        for one in read.claims().filter(|one| one.pct < SMALLEST_PCT) {
            let (value, low, unit) = (one.pct, SMALLEST_PCT, Limits::PERCENT.unit);
            let at = document::join(path, one.printed.key);
            faults.add(one.line, at, Problem::TooSmall { value, low, unit });
        }
        if read.claims().next().is_none() {
            let what = "the label";
            let mend = "Give what is printed on it, like 15-5-15, or N with its percent.";
            faults.add(node.line, path, Problem::Empty { what, mend });
        }
        (faults.len() == before).then_some(read)
    }

    /// Reads what a laboratory found, in the same form; nothing found is a finding.
    pub fn read_found(node: &Node, path: &str, basis: Basis, faults: &mut Faults) -> Option<Self> {
        let before = faults.len();
        let stated = match &node.value {
            Value::Text(grade) => read_grade(grade, node.line, path, basis, faults)?,
            _ => read_table(node, path, faults)?,
        };
        let read = Self { stated };
        read.check(node, path, faults);
        (faults.len() == before).then_some(read)
    }

    /// The figures, zeros among them.
    pub fn iter(&self) -> impl Iterator<Item = &Stated> {
        self.stated.iter()
    }

    /// What is claimed to be there: figures above zero.
    pub fn claims(&self) -> impl Iterator<Item = &Stated> {
        self.stated.iter().filter(|one| one.pct > 0.0)
    }

    /// The first figure that counts this.
    pub fn get(&self, counted: Counted) -> Option<&Stated> {
        self.stated
            .iter()
            .find(|one| one.printed.counted == counted)
    }

    /// Percent of the element stated for a nutrient or total nitrogen.
    pub fn element_pct(&self, aimed: Aimed) -> Option<f64> {
        self.get(Counted::Nutrient(aimed)).map(Stated::element_pct)
    }

    /// The forms of nitrogen together, percent.
    pub fn forms_pct(&self) -> f64 {
        let forms = self.stated.iter().filter(|one| is_form(one));
        forms.map(|one| one.pct).sum()
    }

    /// What no mixture can be.
    fn check(&self, node: &Node, path: &str, faults: &mut Faults) {
        let share = |one: &Stated| match one.printed.counted {
            // Its forms are part of the total.
            Counted::Nutrient(Aimed::Form(form)) if Nutrient::N_FORMS.contains(&form) => 0.0,
            Counted::InsolubleN => 0.0,
            Counted::Nutrient(Aimed::Form(Nutrient::Cl)) => CHLORIDE_BESIDE_OXIDES * one.pct,
            // Sulfur may be sulfur; every other element stands with its oxygen or more.
            Counted::Nutrient(Aimed::Form(Nutrient::S)) => one.element_pct(),
            Counted::Nutrient(aimed) => one.element_pct() / oxide_share(aimed),
            Counted::Cobalt => one.pct,
        };
        let (forms, total) = (self.forms_pct(), self.element_pct(Aimed::TotalN));
        let rest: f64 = self.stated.iter().map(share).sum();
        let percent = rest + (forms - total.unwrap_or(0.0)).max(0.0);
        if percent > 100.0 + ROUNDING {
            faults.add(node.line, path, Problem::LabelOver100 { percent });
        }
    }
}

/// True for a part of total nitrogen.
fn is_form(one: &Stated) -> bool {
    match one.printed.counted {
        Counted::Nutrient(Aimed::Form(form)) => Nutrient::N_FORMS.contains(&form),
        Counted::InsolubleN => true,
        _ => false,
    }
}

fn read_table(node: &Node, path: &str, faults: &mut Faults) -> Option<Vec<Stated>> {
    let mut reader = Reader::open(node, path, faults)?;
    let mut stated: Vec<Stated> = Vec::new();
    for printed in Printed::all() {
        let Some(value) = reader.get(printed.key) else {
            continue;
        };
        let at = reader.at(printed.key);
        let Some(pct) = document::number(value, &at, Limits::PERCENT, faults) else {
            continue;
        };
        let line = value.line;
        add(&mut stated, Stated { printed, pct, line }, &at, faults);
    }
    reader.close(faults);
    Some(stated)
}

/// Adds a figure; an oxide and its element must agree, and the first of them stays.
fn add(stated: &mut Vec<Stated>, new: Stated, at: &str, faults: &mut Faults) {
    let known = stated
        .iter()
        .find(|one| one.printed.counted == new.printed.counted);
    let Some(known) = known else {
        stated.push(new);
        return;
    };
    let (element, oxide) = if new.printed.is_oxide() {
        (known, &new)
    } else {
        (&new, known)
    };
    let (percent, converted) = (element.pct, oxide.element_pct());
    let off = (percent - converted).abs();
    if off > (OXIDE_TOLERANCE * percent).max(ROUNDING) {
        let problem = Problem::OxideDisagrees {
            element: element.printed.key,
            percent,
            oxide: oxide.printed.key,
            oxide_percent: oxide.pct,
            converted,
        };
        faults.add(new.line, at, problem);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(json: &str, basis: Basis) -> Result<Guarantee, String> {
        let node = Node::from_json(json).expect("json");
        let mut faults = Faults::default();
        let read = Guarantee::read(&node, "guarantee", basis, &mut faults);
        read.ok_or_else(|| faults.into_list()[0].to_string())
    }

    fn pct(read: &Guarantee, key: &str) -> f64 {
        let found = read.iter().find(|one| one.printed.key == key);
        found.map_or(0.0, |one| one.pct)
    }

    /// Sources: exact factors from CIAAW 2021 abridged weights; statutory ones from Regulation (EC)
    /// 2003/2003, article 6 (P 0.436, K 0.830, Ca 0.715, Mg 0.603, S 0.400, Na 0.742) and the
    /// German Duengemittelverordnung 2012, paragraph 6 (Mg 0.6: half a percent lower).
    #[test]
    fn exact_factors_beside_the_statutory_ones() {
        for (key, exact, statutory) in [
            ("P2O5", 0.436_426_8, 0.436),
            ("K2O", 0.830_151_3, 0.830),
            ("CaO", 0.714_695_9, 0.715),
            ("MgO", 0.603_041_9, 0.603),
            ("SO3", 0.400_464_7, 0.400),
            ("Na2O", 0.741_862_3, 0.742),
            ("SiO2", 0.467_436_7, 0.467_436_7),
        ] {
            let printed = Printed::from_key(key).expect("a key");
            assert!((printed.factor - exact).abs() < 5e-6, "{key}");
            assert!((printed.factor / statutory - 1.0).abs() < 1.2e-3, "{key}");
        }
    }

    #[test]
    fn grades_as_bags_print_them() {
        let grade = read(r#""15-5-15 + 4Ca + 2Mg""#, Basis::Oxides).expect("a grade");
        for (key, value) in [
            ("N", 15.0),
            ("P2O5", 5.0),
            ("K2O", 15.0),
            ("Ca", 4.0),
            ("Mg", 2.0),
        ] {
            assert!((pct(&grade, key) - value).abs() < 1e-12, "{key}");
        }
        let elements = read(r#""8-4,5-12""#, Basis::Elements).expect("a grade");
        assert!((pct(&elements, "P") - 4.5).abs() < 1e-12);
        assert!((elements.element_pct(Aimed::Form(Nutrient::K)).unwrap() - 12.0).abs() < 1e-12);
        let european = read(r#""20-20-20 (+2 MgO) + TE""#, Basis::Oxides).expect("a grade");
        assert!((pct(&european, "MgO") - 2.0).abs() < 1e-12);
        let nothing = read(r#""13-0-46""#, Basis::Oxides).expect("a grade");
        assert_eq!(nothing.claims().count(), 2, "what is zero is not claimed");
    }

    #[test]
    fn what_is_no_label_is_refused_in_words() {
        for (json, said) in [
            (r#""20-20""#, "is no grade"),
            (r#""20-20-20-20""#, "is no grade"),
            (r#""a-b-c""#, "not a number"),
            (r#""200-20-20""#, "more than all of it"),
            (r#""60-60-60""#, "adds up to 180.00 %"),
            (r#""40-40-40""#, "adds up to 120.00 %"),
            (r#""-5-20-20""#, "is no grade"),
            (r#""15-5-15 + 4Kalium""#, "no nutrient called"),
            (r#""15-5-15 + lots""#, "is no grade"),
            (r#""0-0-0""#, "the label is empty"),
            (r#"{"S": 15, "SO3": 15}"#, "15 % SO3 is 6.01 % S"),
            (
                r#"{"N": 10, "NO3-N": 60, "NH4-N": 50}"#,
                "adds up to 110.00 %",
            ),
            (r#"{"Npk": 10}"#, "no key called"),
            (r#"{"K2O": -1}"#, "below zero"),
            (r#"{"Mo": 1e-300}"#, "less than the limit of 0.000001 %"),
            (r"{}", "the label is empty"),
        ] {
            let error = read(json, Basis::Oxides).expect_err(json);
            assert!(error.contains(said), "{json}: {error}");
        }
        // 0-60-40 is potassium metaphosphate, and potassium chloride names more than 100 %.
        assert!(read(r#""0-60-40""#, Basis::Oxides).is_ok());
        assert!(read(r#"{"K2O": 63, "Cl": 47.5}"#, Basis::Oxides).is_ok());
        assert!(read(r#"{"S": 15, "SO3": 37.5}"#, Basis::Oxides).is_ok());
    }
}
