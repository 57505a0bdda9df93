//! What is typed of a correction, and what the journal knows of it, as a request.

use super::super::input::{Common, optional};
use super::super::journal::last::Last;
use super::super::meter::strength;
use super::super::named::Named;
use super::super::origins::Origins;
use super::super::typed::{pair, quantity, volume};
use super::Args;
use saltwright_fertilizers::units::{
    Amount, parse_amount, parse_celsius, parse_ec, parse_number, parse_ratio, parse_shown,
};
use saltwright_fertilizers::{Faults, Node, Problem, Value};
use saltwright_recipes::Library;
use std::path::PathBuf;

impl Args {
    /// What is not typed, from the journal.
    pub(super) fn filled(&self, last: &Last) -> Self {
        let or = |typed: &Option<String>, known: Option<String>| typed.clone().or(known);
        let told = &last.settings;
        let read = last.entry.content.reading;
        let text = |value: Option<f64>| value.map(|value| value.to_string());
        let litres = |value: Option<f64>| value.map(|value| format!("{value} L"));
        let band = told.ph.map(|[low, high]| format!("{low}..{high}"));
        Self {
            recipe: or(&self.recipe, told.recipe.clone()),
            reading: or(&self.reading, text(read.ec_ms_cm)),
            ph: or(&self.ph, text(read.ph)),
            temperature: or(&self.temperature, text(read.temperature_c)),
            level: or(&self.level, litres(read.litres)),
            tank: or(&self.tank, litres(told.capacity_l)),
            stock: self
                .stock
                .clone()
                .or_else(|| told.stock.as_ref().map(PathBuf::from)),
            acid: or(&self.acid, told.acid.clone()),
            base: or(&self.base, told.base.clone()),
            ph_band: or(&self.ph_band, band),
            waters: self.waters.or(told.water.clone()),
            ..self.clone()
        }
    }

    /// The options that this command shares with others.
    pub(super) fn common(&self) -> Common {
        Common {
            waters: self.waters.clone(),
            fertilizers: self.fertilizers.clone(),
            gallons: self.gallons,
            json: self.json,
            detail: self.detail,
            ..Common::default()
        }
    }

    /// Adds the reading, the level and what is at hand.
    pub(super) fn fill(
        &self,
        request: &mut Node,
        library: &Library,
        origins: &mut Origins,
        faults: &mut Faults,
    ) {
        let litres = |typed: Option<&String>, option, faults: &mut Faults| {
            volume(typed?, option, faults).map(|litres| Node::number(litres.0))
        };
        let capacity = litres(self.tank.as_ref(), "--tank", faults);
        let level = litres(self.level.as_ref(), "--level", faults).or_else(|| capacity.clone());
        let fill = litres(self.fill.as_ref(), "--fill", faults);
        origins.option("litres", "--level");
        origins.option("ph", "--ph-band");
        let ec = |text: &str| parse_ec(text).map(|ec| ec.0);
        let aim = optional(self.ec.as_ref(), "--ec", ec, faults);
        let entries = [
            ("capacity_l", capacity),
            ("litres", level),
            ("fill_to_l", fill),
            ("ec_ms_cm", aim),
            ("micros", self.micros.as_ref().map(Node::text)),
        ];
        request.fill(entries);
        request.set("reading", self.read_meters(faults));
        self.ranges.fill(request, origins, faults);
        if let Some(band) = self
            .ph_band
            .as_ref()
            .and_then(|typed| band(typed, "--ph-band", faults))
        {
            request.set("ph", band);
        }
        self.remedies(request, faults);
        if let Some(typed) = &self.ratio
            && let Some(ratio) = quantity(typed, "--ratio", parse_ratio, faults)
            && let Some(mut stock) = request.get("stock").cloned()
        {
            stock.set("ratio", Node::number(ratio));
            request.set("stock", stock);
        }
        if let Some(typed) = &self.analysis {
            Named::water(library).fill(request, "analysis", typed, origins, faults);
        }
    }

    /// What the meters show.
    fn read_meters(&self, faults: &mut Faults) -> Node {
        let celsius = |text: &str| parse_celsius(text).map(|celsius| celsius.0);
        let shown = self
            .reading
            .as_ref()
            .and_then(|typed| quantity(typed, "--reading", parse_shown, faults));
        let mut reading = shown.map_or_else(|| Node::table::<&str>([]), strength);
        let others = [
            (
                "ph",
                optional(self.ph.as_ref(), "--ph", parse_number, faults),
            ),
            (
                "temperature_c",
                optional(self.temperature.as_ref(), "--temperature", celsius, faults),
            ),
        ];
        reading.fill(others);
        reading
    }

    /// Acid and base, by name or by what a bottle did.
    fn remedies(&self, request: &mut Node, faults: &mut Faults) {
        for (key, typed) in [("acid", &self.acid), ("base", &self.base)] {
            match typed.as_deref().map(str::trim) {
                Some("none") => request.set(key, Value::Null.into()),
                Some(id) => request.set(key, Node::text(id)),
                None => {}
            }
        }
        for typed in &self.bottle {
            let Some((key, bottle)) = bottle(typed, faults) else {
                continue;
            };
            if request.get(key).is_some() {
                let what = format!("the {key} stands here twice");
                let mend = "Name it, or say what its bottle did.".to_owned();
                let problem = Problem::Contradiction { what, mend };
                faults.add(None, "--bottle", problem);
            }
            request.set(key, bottle);
        }
    }
}

/// `5.6..6.2` as a pH band, or one pH; a fault belongs where it was typed.
pub fn band(typed: &str, at: &str, faults: &mut Faults) -> Option<Node> {
    let (low, high) = typed.split_once("..").unwrap_or((typed, typed));
    let mut read = |text| quantity(text, at, parse_number, faults).map(Node::number);
    let ends = (read(low), read(high));
    Some(Value::List(vec![ends.0?, ends.1?]).into())
}

/// `5mL/100L=7.0..6.6`: what a bottle did, and whether it is an acid or a base.
fn bottle(typed: &str, faults: &mut Faults) -> Option<(&'static str, Node)> {
    const OPTION: &str = "--bottle";
    let unreadable = |faults: &mut Faults| {
        let reason = format!("\"{typed}\" does not say what the bottle did");
        let mend = "Write it like 5mL/100L=7.0..6.6: poured, into how much, pH before and after.";
        faults.add(None, OPTION, Problem::Unreadable { reason, mend });
    };
    let (poured, ph) = pair(typed, OPTION, faults)?;
    let (Some((ml, litres)), Some((before, after))) = (poured.split_once('/'), ph.split_once(".."))
    else {
        unreadable(faults);
        return None;
    };
    let Ok(Amount::Volume(ml)) = parse_amount(ml) else {
        unreadable(faults);
        return None;
    };
    let litres = volume(litres, OPTION, faults)?;
    let before = quantity(before, OPTION, parse_number, faults)?;
    let after = quantity(after, OPTION, parse_number, faults)?;
    Some(trial(ml.0, litres.0, [before, after]))
}

/// What a bottle did to so many litres, as it stands in a request, and whether it is acid or base.
pub fn trial(ml: f64, litres: f64, [before, after]: [f64; 2]) -> (&'static str, Node) {
    let key = if after < before { "acid" } else { "base" };
    let trial = Node::table([
        ("ml", Node::number(ml)),
        ("litres", Node::number(litres)),
        ("ph_before", Node::number(before)),
        ("ph_after", Node::number(after)),
    ]);
    (key, trial)
}
