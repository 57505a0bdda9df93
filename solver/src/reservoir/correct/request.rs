//! What `correct` is asked, resolved.

use super::super::reading::Reading;
use super::super::supply::{Remedy, Stocks, Way};
use super::report::PublishedPh;
use crate::formulate::FormulateRequest;
use crate::request::{ENVELOPE, Shelf};
use crate::spread::Stated;
use crate::spread::stated::Batch;
use saltwright_fertilizers::document::{Limits, Node, Reader};
use saltwright_fertilizers::{Faults, Problem};
use saltwright_recipes::recipe::read_ph;
use saltwright_recipes::{Library, Recipe, Water};

/// pH band where neither recipe nor request names one: the range that a trial of lettuce, basil and
/// chard held. Source: Singh and others (2019), J. Hort. Res. 27:31.
pub const USUAL_PH: [f64; 2] = [5.5, 6.5];
/// Keys that go to the formulation as they are.
const SHARED: [&str; 5] = ["recipe", "water", "fertilizers", "prices", "micros"];

/// A resolved request.
#[derive(Clone, Debug)]
pub struct CorrectRequest {
    /// Litres in the tank.
    pub litres: f64,
    /// Litres that it takes.
    pub capacity_l: f64,
    /// False where no capacity was named and the level is taken for it.
    pub capacity_known: bool,
    /// Level to end at; none where it may end anywhere.
    pub fill_to_l: Option<f64>,
    /// What the meters show.
    pub reading: Reading,
    /// Recipe, water and fertilizers, as a formulation would use them.
    pub formulate: FormulateRequest,
    /// EC asked for beside the recipe, mS/cm.
    pub ec_ms_cm: Option<f64>,
    /// pH band asked for beside the recipe.
    pub ph: Option<[f64; 2]>,
    /// The stocks.
    pub stocks: Stocks,
    /// What lowers the pH.
    pub acid: Remedy,
    /// What raises it.
    pub base: Remedy,
    /// True where the request names the acid or base itself.
    pub named: [bool; 2],
    /// A laboratory's figures of the tank.
    pub analysis: Option<Water>,
    /// pH ranges that are published for the crop of the recipe.
    pub ph_published: Vec<PublishedPh>,
    /// What may be off, where what comes of it is to have its range.
    pub ranges: Option<Stated>,
}

impl CorrectRequest {
    /// Reads a request; `None` and faults where something is wrong.
    pub fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, "", faults)?;
        reader.accept(&ENVELOPE);
        reader.accept(&SHARED);
        let formulate = read_formulate(node, library, faults);
        // Its faults were noted with the formulation.
        let mut noted = Faults::default();
        let shelf = Shelf::read(&mut reader, library, &mut noted);
        let litres = read_level(&mut reader, faults);
        let capacity = reader.number("capacity_l", Limits::LITRES, faults);
        let fill_to_l = reader.number("fill_to_l", Limits::LITRES, faults);
        let reading = match reader.get("reading") {
            Some(node) => Reading::read(node, "reading", faults),
            None => {
                let what = "the reading";
                let mend = "Give what the meters show: {\"ec_ms_cm\": …, \"ph\": …}.";
                faults.add(reader.line(), "reading", Problem::Empty { what, mend });
                None
            }
        };
        let analysis = reader.part("analysis", Water::read, faults);
        let ec_ms_cm = reader.number("ec_ms_cm", Limits::EC, faults);
        let ph = reader.part("ph", read_ph, faults);
        let stocks = match reader.get("stock") {
            Some(node) => Stocks::read(node, "stock", &shelf, faults),
            None => Some(Stocks::default()),
        };
        let (acid, base) = match &stocks {
            Some(stocks) => {
                let mut read = |way| Remedy::read(way, &mut reader, &shelf, stocks, faults);
                (read(Way::Acid), read(Way::Base))
            }
            None => (Remedy::None, Remedy::None),
        };
        let ranges = Stated::read(&mut reader, Batch::Litres(litres), faults);
        reader.accept(&["acid", "base"]);
        let named = ["acid", "base"].map(|key| node.get(key).is_some());
        reader.close(faults);
        let formulate = formulate?;
        let request = Self {
            ph_published: ph_published(&formulate.recipe, library),
            litres: litres?,
            capacity_l: capacity.or(litres)?,
            capacity_known: capacity.is_some(),
            fill_to_l,
            reading: reading?,
            formulate,
            ec_ms_cm,
            ph,
            stocks: stocks?,
            acid,
            base,
            named,
            analysis,
            ranges,
        };
        request.check(faults);
        faults.is_empty().then_some(request)
    }

    /// What its parts say of each other.
    fn check(&self, faults: &mut Faults) {
        let contradiction = |what: String, mend: &str| Problem::Contradiction {
            what,
            mend: mend.to_owned(),
        };
        if self.litres > self.capacity_l {
            let what = format!(
                "the level of {} L is above the {} L that the tank takes",
                self.litres, self.capacity_l
            );
            let problem = contradiction(what, "Check both; the level comes first.");
            faults.add(None, "litres", problem);
        }
        if let Some(fill) = self.fill_to_l {
            if fill > self.capacity_l {
                let what = format!("{fill} L do not go into a tank of {} L", self.capacity_l);
                faults.add(None, "fill_to_l", contradiction(what, "Ask for less."));
            } else if fill < self.litres {
                let what = format!("{} L are in the tank, more than {fill}", self.litres);
                let mend = "Ask for more, or leave the level to the correction.";
                faults.add(None, "fill_to_l", contradiction(what, mend));
            }
        }
        if self.reading.ec_ms_cm.is_none() && self.analysis.is_none() {
            let what = "the EC";
            let mend = "Give ec_ms_cm, ppm with its scale, or cf; or a laboratory's analysis.";
            faults.add(None, "reading.ec_ms_cm", Problem::Empty { what, mend });
        }
    }

    /// The recipe.
    pub fn recipe(&self) -> &Recipe {
        &self.formulate.recipe
    }

    /// What moves the pH this way.
    pub fn remedy(&self, way: Way) -> &Remedy {
        match way {
            Way::Acid => &self.acid,
            Way::Base => &self.base,
        }
    }

    /// The pH band to end in.
    pub fn ph_band(&self) -> [f64; 2] {
        self.ph_band_from().0
    }

    /// The pH band to end in, and who names it.
    pub fn ph_band_from(&self) -> ([f64; 2], &'static str) {
        match (self.ph, self.recipe().ph) {
            (Some(ph), _) => (ph, "request"),
            (None, Some(ph)) => (ph, "recipe"),
            (None, None) => (USUAL_PH, "usual"),
        }
    }

    /// The pH as it was read, by meter or laboratory.
    pub fn ph_read(&self) -> Option<f64> {
        let of_laboratory = self.analysis.as_ref().and_then(|analysis| analysis.ph);
        self.reading.ph.or(of_laboratory)
    }
}

/// The pH ranges of the library for the crop of a recipe.
fn ph_published(recipe: &Recipe, library: &Library) -> Vec<PublishedPh> {
    let rows = library.crops.iter();
    let of_crop = rows.filter(|row| {
        let crop = row.crop.split(',').next().unwrap_or_default();
        recipe.crop.split(',').next() == Some(crop)
    });
    of_crop
        .filter_map(|row| {
            let (low, high) = row.ph_min.zip(row.ph_max)?;
            Some(PublishedPh {
                crop: row.crop.clone(),
                low,
                high,
                source: row.source.clone(),
            })
        })
        .collect()
}

/// The formulation that the recipe, water and fertilizers of a request ask for.
fn read_formulate(node: &Node, library: &Library, faults: &mut Faults) -> Option<FormulateRequest> {
    let entries = SHARED.iter().filter_map(|key| {
        let value = node.get(key)?;
        Some((*key, value.clone()))
    });
    FormulateRequest::read(&Node::table(entries), library, faults)
}

/// The litres in the tank, which may not be left out.
fn read_level(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<f64> {
    let key = "litres";
    if reader.get(key).is_none() {
        let (what, mend) = ("the level", "Give the litres in the tank.");
        faults.add(reader.line(), key, Problem::Empty { what, mend });
        return None;
    }
    reader.number(key, Limits::LITRES, faults)
}
