//! A reservoir: what the meters show, and what to do, in order. Made for one thumb by the tank.

use super::ask::Asking;
use super::form::{Choice, Field, Group};
use super::job::{Answered, JobPage};
use super::water::{temperature_unit, typed_celsius};
use super::{Visit, journal, own, ranges, stocks};
use crate::cli::correct::{band, trial};
use crate::cli::meter::strength;
use crate::store::journal::{Reading, Settings};
use crate::view::deeds::{Deed, deeds, unnamed};
use crate::view::{correct, csv};
use saltwright_fertilizers::units::{Amount, parse_amount, parse_ec, parse_number, parse_shown};
use saltwright_fertilizers::{Fertilizer, Node, Problem, Table};
use saltwright_solver::job::Report;
use saltwright_solver::reservoir::CorrectReport;

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "correct",
    name: "Correct",
    title: "The meters are off: what to do",
    lead: "Type what the meters show; the steps follow in order, with what they should show after each.",
    job: "correct",
    opening: &[
        ("reading", "1.9"),
        ("ph", "6.9"),
        ("level", "110 L"),
        ("tank", "120 L"),
        ("recipe", "sonneveld-modified-lettuce"),
        ("water", "larch-hollow-spring"),
        ("stocks", "demo"),
    ],
    form,
    ask,
    answer,
};

/// The fields that ask what to do after a reading, from what a journal knows; `text_of` reads a file
/// that the journal names.
pub fn prefilled(
    visit: &Visit<'_>,
    told: &Settings,
    reading: &Reading,
    text_of: &dyn Fn(&str) -> Option<String>,
) -> Vec<(&'static str, String)> {
    let exact = |value: Option<f64>, unit: &str| value.map(|value| format!("{value}{unit}"));
    let mut fields: Vec<(&str, Option<String>)> = vec![
        ("reading", exact(reading.ec_ms_cm, "")),
        ("ph", exact(reading.ph, "")),
        ("temperature", exact(reading.temperature_c, " C")),
        ("level", exact(reading.litres, " L")),
        ("tank", exact(told.capacity_l, " L")),
        (
            "ph-band",
            told.ph.map(|[low, high]| format!("{low}..{high}")),
        ),
    ];
    if let Some(text) = told.stock.as_ref().and_then(|name| text_of(name)) {
        fields.push(("stocks", Some(own::OWN.to_owned())));
        fields.push(("own-stocks", Some(text)));
    }
    for (field, id, serves) in [
        ("acid", &told.acid, is_acid as fn(&Fertilizer) -> bool),
        ("base", &told.base, is_base),
    ] {
        let offered = remedies_of(visit, serves);
        let id = id
            .clone()
            .filter(|id| offered.iter().any(|choice| choice.value == *id));
        fields.push((field, id));
    }
    let filled = fields.into_iter();
    let filled = filled.filter_map(|(name, text)| Some((name, text?)));
    filled.chain(own::named(visit, told, text_of)).collect()
}

/// Lowers the pH.
fn is_acid(row: &Fertilizer) -> bool {
    row.is_acid() && row.acid_meq_per_g() > 0.0
}

/// Raises the pH.
fn is_base(row: &Fertilizer) -> bool {
    row.is_base() && row.acid_meq_per_g() < 0.0
}

fn form(visit: &Visit<'_>) -> Vec<Group> {
    let volume = own::volume_unit(visit);
    let acids = remedies_of(visit, is_acid);
    let bases = remedies_of(visit, is_base);
    let [fertilizers, ..] = own::shelf_fields(visit);
    let tank = Field::line("system", "Tank in the journal", "")
        .hint("Where what is done is noted; the one that was used last where left out.");
    let journal = journal::is_noted_in(visit).then(|| Group::folded("The journal", vec![tank]));
    let pasted = stocks::pasted().into_iter();
    let pasted = pasted.chain(own::pasted_fields()).chain([fertilizers]);
    let groups = vec![
        Group::open(vec![
            Field::line("reading", "EC or TDS", "mS/cm").hint("Or like 16 CF, 650 ppm@500."),
            Field::line("ph", "pH", ""),
            Field::line("temperature", "Temperature", temperature_unit(visit)),
            Field::line("level", "In the tank", volume),
            own::tank_field(visit),
            own::recipe_field(visit),
            own::water_field(visit),
            stocks::choice("none: only water, acid and salts"),
            Field::one("acid", "Acid", acids),
        ]),
        Group::folded(
            "My own stocks, recipe, water, blend or fertilizers",
            pasted.collect(),
        ),
        Group::folded(
            "Aims, base, micronutrients, a laboratory",
            vec![
                Field::line("ec", "EC to come to", "mS/cm").hint("Else that of the recipe."),
                Field::line("ph-band", "pH to come to", "").hint("Like 5.6..6.2."),
                Field::line("fill", "Fill to", volume),
                Field::one("base", "Base", bases),
                own::micros_field(visit),
                own::analysis_field("A laboratory's figures of the tank (TOML)"),
            ],
        ),
        Group::folded("A pH bottle without a label", bottle_fields(visit)),
        Group::folded("How sure: what may be off", ranges::fields()),
    ];
    groups.into_iter().chain(journal).collect()
}

/// What a bottle of unknown strength did.
fn bottle_fields(visit: &Visit<'_>) -> Vec<Field> {
    vec![
        Field::line("bottle-ml", "Poured of it", "mL").hint(
            "Pour a little, 5 mL in 100 L, let it mix in, and read again: what it did tells how \
             strong it is.",
        ),
        Field::line("bottle-into", "Into", own::volume_unit(visit)),
        Field::line("bottle-before", "pH before", ""),
        Field::line("bottle-after", "pH after", ""),
    ]
}

/// What lowers or raises the pH, by name: the grower's own first.
fn remedies_of(visit: &Visit<'_>, serves: fn(&Fertilizer) -> bool) -> Vec<Choice> {
    let mut choices = vec![
        Choice::new("", "that of the stocks, else a usual one"),
        Choice::new("none", "none"),
    ];
    // What cannot be read is told where it is asked with.
    let own = visit.fields.get("own-fertilizers");
    let own = own.and_then(|text| Table::read_csv("", text).ok());
    let own = own.unwrap_or_default();
    let shipped = visit.site.library.fertilizers.iter();
    let shipped = shipped.filter(|row| own.get(&row.id).is_none());
    let serving = own.iter().chain(shipped);
    let serving = serving.filter(|row| row.is_charted() && serves(row));
    choices.extend(serving.map(|row| Choice::new(&row.id, &row.id)));
    choices
}

fn ask(asking: &mut Asking<'_>) {
    own::shelf(asking);
    own::recipe(asking);
    own::water(asking);
    let is_us = asking.visit.is_us();
    let litres = move |text: &str| own::litres(text, is_us);
    let capacity = asking.quantity("tank", "capacity_l", litres);
    if asking.quantity("level", "litres", litres).is_none()
        && asking.value("level").is_none()
        && let Some(capacity) = capacity
    {
        // A full tank.
        asking.set("litres", Node::number(capacity), "tank");
    }
    asking.origin("litres", "level");
    asking.quantity("fill", "fill_to_l", litres);
    asking.quantity("ec", "ec_ms_cm", |text| parse_ec(text).map(|ec| ec.0));
    asking.name("micros", "micros");
    reading(asking);
    if let Some(typed) = asking.value("ph-band")
        && let Some(band) = asking.within("ph-band", |_, faults| band(typed, "", faults))
    {
        asking.set("ph", band, "ph-band");
    }
    if let Some((mut stock, field)) = stocks::ask(asking) {
        stocks::ratio(asking, (&mut stock, "stock"));
        asking.set("stock", stock, field);
    }
    asking.id_or_none("acid", "acid");
    asking.id_or_none("base", "base");
    bottle(asking);
    own::analysis(asking);
    ranges::ask(asking);
}

/// What the meters show, one part a field.
fn reading(asking: &mut Asking<'_>) {
    const PATH: &str = "reading";
    let mut reading = Node::table::<&str>([]);
    if let Some(typed) = asking.value("reading") {
        match parse_shown(typed) {
            Ok(shown) => reading = strength(shown),
            Err(problem) => asking.refuse("reading", problem),
        }
    } else if asking.value("analysis").is_none() {
        let (what, mend) = ("the reading", "Type what the meter shows, like 1.4.");
        asking.refuse("reading", Problem::Empty { what, mend });
    }
    let is_us = asking.visit.is_us();
    let celsius = move |text: &str| typed_celsius(text, is_us);
    asking.figure("ph", (&mut reading, PATH), "ph", parse_number);
    asking.figure(
        "temperature",
        (&mut reading, PATH),
        "temperature_c",
        celsius,
    );
    asking.set(PATH, reading, "reading");
}

/// A bottle of unknown strength, judged by what it did; all four of its fields tell that.
fn bottle(asking: &mut Asking<'_>) {
    const PARTS: [(&str, &str); 4] = [
        ("bottle-ml", "ml"),
        ("bottle-into", "litres"),
        ("bottle-before", "ph_before"),
        ("bottle-after", "ph_after"),
    ];
    if PARTS.iter().all(|(field, _)| asking.value(field).is_none()) {
        return;
    }
    let is_us = asking.visit.is_us();
    let read = PARTS.map(|(field, part)| {
        let Some(typed) = asking.value(field) else {
            let (what, mend) = ("this figure", "All four tell what the bottle did.");
            asking.refuse(field, Problem::Empty { what, mend });
            return None;
        };
        let figure = match part {
            "ml" => millilitres(typed),
            "litres" => own::litres(typed, is_us),
            _ => parse_number(typed),
        };
        figure.map_err(|problem| asking.refuse(field, problem)).ok()
    });
    let [Some(ml), Some(litres), Some(before), Some(after)] = read else {
        return;
    };
    let (key, trial) = trial(ml, litres, [before, after]);
    if asking.value(key).is_some() {
        let what = format!("the {key} stands here twice");
        let mend = "Name it, or say what its bottle did.".to_owned();
        asking.refuse(key, Problem::Contradiction { what, mend });
    }
    asking.set(key, trial, "bottle-after");
    for (field, part) in PARTS {
        asking.origin(format!("{key}.{part}"), field);
    }
}

/// A volume that is poured; a bare number is in mL.
fn millilitres(typed: &str) -> Result<f64, Problem> {
    if let Ok(ml) = parse_number(typed) {
        return Ok(ml);
    }
    match parse_amount(typed)? {
        Amount::Volume(ml) => Ok(ml.0),
        Amount::Mass(_) => Err(Problem::UnknownUnit {
            unit: "g".into(),
            known: "mL, L, fl oz",
        }),
    }
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Correct(report) = report else {
        return None;
    };
    Some(Answered {
        sheet: correct::sheet(report, asking.visit.show, &|id| asking.known.dangers(id)),
        csv: Some(csv::correction(&report.steps)),
        csv_words: Some("Steps as CSV"),
        nutrients_csv: Some(csv::corrected_nutrients(&report.nutrients)),
        onward: to_note(report, asking).into_iter().collect(),
        ..Answered::default()
    })
}

/// Where the steps are noted once they are done: the form of the journal, filled in.
fn to_note(report: &CorrectReport, asking: &Asking<'_>) -> Option<(String, String)> {
    let visit = asking.visit;
    let is_named = |name: &&str| visit.site.library.water(name).is_some();
    let done = deeds(&report.steps, asking.value("water").filter(is_named));
    let note = unnamed(&report.steps);
    if (done.is_empty() && note.is_none()) || !journal::is_noted_in(visit) {
        return None;
    }
    let (mut drained, mut added) = (String::new(), Vec::new());
    for Deed { what, amount, unit } in done {
        match what {
            Some(what) => added.push(format!("{what} {amount} {unit}")),
            None => drained = format!("{amount} {unit}"),
        }
    }
    let added = added.join("\n");
    let fields = [
        ("system", asking.value("system").unwrap_or_default()),
        ("drained", &drained),
        ("added", &added),
        ("done-note", note.as_deref().unwrap_or_default()),
    ];
    let fields: Vec<(&str, &str)> = fields
        .into_iter()
        .filter(|(_, text)| !text.is_empty())
        .collect();
    let address = visit.address(journal::PATH, &fields) + "#" + journal::DONE;
    Some((
        address,
        "Once it is done: note it in the journal".to_owned(),
    ))
}
