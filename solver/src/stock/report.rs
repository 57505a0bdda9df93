//! The answer of `stock`, as every face shows it. Figures are exact; faces round.

use super::finished::Finished;
use saltwright_fertilizers::Aimed;
use schemars::JsonSchema;
use serde::Serialize;

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StockReport {
    /// The water's name.
    pub water: String,
    /// Parts of finished solution per part of each stock, which `g_per_l_stock` is for; none where
    /// no strength can be stood for and none was asked.
    pub ratio: Option<f64>,
    /// How far below saturation every solid must stay, as an index.
    pub margin_index: f64,
    /// Coldest store, °C.
    pub coldest_c: f64,
    /// Hottest store, °C.
    pub hottest_c: f64,
    /// The tanks, calcium first.
    pub tanks: Vec<TankRow>,
    /// The largest ratio at which these tanks can stay clear, however the mix is divided; none
    /// where there is none, or where it cannot be worked out.
    pub largest_ratio: Option<f64>,
    /// The largest ratio of the division shown.
    pub division_ratio: Option<f64>,
    /// The same with every salt whole in one tank.
    pub whole_ratio: Option<f64>,
    /// The largest ratio of that division at which every index stays below the uncertainty of its
    /// solid.
    pub cautious_ratio: Option<f64>,
    /// What ends the largest ratio.
    pub limited_by: Option<LimitedBy>,
    /// At which end of the store, °C.
    pub limited_at_c: Option<f64>,
    /// True where the division is proven best (with at most one salt divided); false where parts
    /// were merged first.
    pub proven: bool,
    /// Settings of common proportioners at or below the largest ratio.
    pub offered_ratios: Vec<f64>,
    /// Fertilizers that the indices do not count, for want of constants.
    pub not_computed: Vec<String>,
    /// The stocks diluted again, against the formulation.
    pub diluted: Diluted,
    /// What moves where one tank is dosed too strongly.
    pub unequal: Vec<Unequal>,
    /// What to do at the scale, tank by tank; empty without volumes.
    pub order: Vec<Step>,
    /// What is too small for the scale.
    pub premixes: Vec<Premix>,
    /// What rounding to the scale does to the finished solution.
    pub rounding: Option<Moved>,
    /// What was weighed wrongly, and the ways out.
    pub mended: Vec<Mended>,
    /// What the finished solution comes to with its ranges, where they were asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finished: Option<Finished>,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// One tank.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TankRow {
    /// `A` is the one with the calcium; `acid`, `base` and `silicate` stand apart.
    pub name: String,
    /// What goes in.
    pub mix: Vec<StockDose>,
    /// Its litres.
    pub litres: Option<f64>,
    /// Grams of everything in a litre of stock.
    pub load_g_per_l: Option<f64>,
    /// True where every index stays below minus the margin at both ends; none where it cannot be
    /// worked out.
    pub clear: Option<bool>,
    /// The solid with the largest index.
    pub first_solid: Option<String>,
    /// Its index, at the end where it is larger.
    pub index: Option<f64>,
    /// Its standard uncertainty.
    pub index_uncertainty: Option<f64>,
    /// The same in words.
    pub words: String,
    /// About, at the coldest end; none where nothing makes it matter.
    pub ph: Option<f64>,
    /// At the coldest end.
    pub density_g_per_ml: Option<f64>,
    /// At 20 °C, for a hydrometer.
    pub density_20c_g_per_ml: Option<f64>,
    /// Kilograms of water that go into a litre beside what is weighed, at 20 °C.
    pub water_to_add_kg_per_l: Option<f64>,
    /// mol/kg, at the coldest end.
    pub ionic_strength_mol_kg: Option<f64>,
    /// False outside the range of the model.
    pub within_model: Option<bool>,
    /// Every solid whose ions are all there, largest index first.
    pub indices: Vec<IndexRow>,
}

/// One fertilizer in one tank.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StockDose {
    /// Which.
    pub id: String,
    /// Name in words.
    pub name: String,
    /// Grams per litre of finished solution from this tank.
    pub g_per_l: f64,
    /// Grams per litre of stock.
    pub g_per_l_stock: Option<f64>,
    /// Millilitres per litre of stock, for what is poured.
    pub ml_per_l_stock: Option<f64>,
    /// Grams for the tank.
    pub g: Option<f64>,
    /// Millilitres for the tank.
    pub ml: Option<f64>,
    /// Share of the fertilizer that goes into this tank; 1 where it is not divided.
    pub share: f64,
    /// What settled the tank: `chemistry` or `rule`.
    pub placed_by: &'static str,
}

/// One solid.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct IndexRow {
    /// Its name.
    pub solid: String,
    /// At the coldest end.
    pub coldest: f64,
    /// At the hottest end.
    pub hottest: f64,
    /// Standard uncertainty.
    pub uncertainty: f64,
    /// What it rests on: `calibrated`, `database`, `doubtful`.
    pub basis: &'static str,
}

/// What ends the largest ratio.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LimitedBy {
    /// `solid`, `rule` or `cap`.
    pub kind: &'static str,
    /// The solid, or what the rule is about.
    pub name: String,
    /// The tank.
    pub tank: Option<String>,
}

/// The stocks diluted again.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Diluted {
    /// What every nutrient comes to, mg/L.
    pub nutrients: Vec<DilutedRow>,
    /// Largest relative deviation from the formulation.
    pub largest_deviation: f64,
    /// EC of the diluted stocks, mS/cm at 25 °C.
    pub ec_ms_cm: Option<f64>,
    /// EC of the formulation, mS/cm at 25 °C.
    pub ec_formulation_ms_cm: Option<f64>,
}

/// One nutrient of the diluted stocks.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DilutedRow {
    /// Which.
    pub nutrient: Aimed,
    /// In the formulation, mg/L.
    pub formulation: f64,
    /// From the stocks, mg/L.
    pub diluted: f64,
}

/// What moves where one tank is dosed by `dose_pct` too strongly.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Unequal {
    /// The tank.
    pub tank: String,
    /// By how much, percent.
    pub dose_pct: f64,
    /// What moves.
    #[serde(flatten)]
    pub moved: Moved,
}

/// A finished solution that is not quite the formulation.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Moved {
    /// Nutrients, with their deviation.
    pub nutrients: Vec<MovedRow>,
    /// mS/cm at 25 °C.
    pub ec_ms_cm: Option<f64>,
    /// Against the formulation, percent.
    pub ec_off_pct: Option<f64>,
}

/// One nutrient that moved.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MovedRow {
    /// Which.
    pub nutrient: Aimed,
    /// As meant, mg/L.
    pub meant: f64,
    /// As it comes, mg/L.
    pub comes_to: f64,
    /// Percent.
    pub off_pct: Option<f64>,
}

/// What a step does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Do {
    /// Water to start with.
    Water,
    /// Pour acid or base into the water.
    Pour,
    /// Weigh and dissolve.
    Dissolve,
    /// Take from a premix.
    Premix,
    /// Weigh and dissolve a chelate, when it is cool.
    Chelate,
    /// Fill to the mark.
    Fill,
    /// Let it stand and look.
    Rest,
}

impl Do {
    /// The word in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Water => "water",
            Self::Pour => "pour",
            Self::Dissolve => "dissolve",
            Self::Premix => "premix",
            Self::Chelate => "chelate",
            Self::Fill => "fill",
            Self::Rest => "rest",
        }
    }
}

/// One step at the scale.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Step {
    /// The tank.
    pub tank: String,
    /// Counted from 1 in each tank.
    pub step: usize,
    /// What is done.
    #[serde(rename = "do")]
    pub what: Do,
    /// The fertilizer.
    pub id: Option<String>,
    /// Grams, exact.
    pub g: Option<f64>,
    /// Grams as the scale shows them; none where it is not weighed.
    pub weigh_g: Option<f64>,
    /// Millilitres, for what is poured or taken from a premix.
    pub ml: Option<f64>,
    /// Litres, for water and the mark.
    pub litres: Option<f64>,
    /// What the scale shows if it is never set back in this tank, g.
    pub running_g: Option<f64>,
    /// How, in a sentence.
    pub words: String,
    /// What to heed at this step.
    pub caution: Option<String>,
}

/// What is too small for the scale: dissolved in more than is needed, and a part of that taken.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Premix {
    /// The tank it is for.
    pub tank: String,
    /// Which.
    pub id: String,
    /// Grams that the tank needs.
    pub needed_g: f64,
    /// Grams to weigh; none where this scale cannot do it.
    pub weigh_g: Option<f64>,
    /// Into how many millilitres, made up to the mark.
    pub into_ml: Option<f64>,
    /// Of which to take how many.
    pub take_ml: Option<f64>,
    /// Where that is still too strong: made up to this and a part taken again.
    pub again_into_ml: Option<f64>,
    /// How many millilitres of the second.
    pub again_take_ml: Option<f64>,
    /// In a sentence.
    pub words: String,
    /// What to heed while weighing it.
    pub caution: Option<String>,
}

/// A wrong weighing and its ways out.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Mended {
    /// The tank.
    pub tank: String,
    /// What was weighed wrongly.
    pub weighed: Vec<WeighedRow>,
    /// Make the tank up to this instead, litres: then every figure is right again.
    pub fill_to_l: f64,
    /// What to add for that.
    pub add: Vec<AddRow>,
    /// What the finished solution comes to where nothing is done.
    pub left_as_it_is: Moved,
    /// Closest mix of what is still to be weighed where the volume stays.
    pub closest: Option<Closest>,
    /// The same in words.
    pub words: Vec<String>,
}

/// One wrong weighing.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WeighedRow {
    /// Which.
    pub id: String,
    /// As it was, g.
    pub weighed_g: f64,
    /// As it should be, g.
    pub meant_g: f64,
}

/// What to add.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AddRow {
    /// Which.
    pub id: String,
    /// Grams.
    pub g: f64,
}

/// What the formulation would make of it, with what is weighed counted as there already.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Closest {
    /// `within-bands` or `outside-bands`.
    pub outcome: crate::formulate::report::Outcome,
    /// Grams of everything that was not weighed wrongly, over all tanks.
    pub mix: Vec<AddRow>,
    /// Water to add to the finished solution, litres per litre, where something is too much.
    pub dilute_l_per_l: Option<f64>,
}
