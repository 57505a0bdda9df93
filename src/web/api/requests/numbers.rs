//! Numbers of requests, each with the limits that the reader checks.

use saltwright_fertilizers::document::Limits;
use saltwright_recipes::water::{MG_CACO3_PER_MEQ, MG_HCO3_PER_MEQ};
use saltwright_solver::chemistry::meter::Tds;
use saltwright_solver::formulate::request::{TO_EC, WORST_CASE};
use saltwright_solver::label::request as label;
use saltwright_solver::purchase::request as purchase;
use saltwright_solver::reservoir::meter::request as meter;
use saltwright_solver::reservoir::reading::MOST_EC_MS_CM;
use saltwright_solver::reservoir::refill::request as refill;
use saltwright_solver::reservoir::{supply, time};
use saltwright_solver::spread::stated;
use saltwright_solver::stock::request as stock;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::json;
use std::borrow::Cow;

/// The largest scale of a TDS pen.
const LARGEST_SCALE: f64 = Tds::SCALES[2] as f64;
/// Texts that are read as a number: `1.4`, `1,4`, `2e3`.
const NUMBER: &str = r"^\s*[+-]?([0-9]+[.,]?[0-9]*|[.,][0-9]+)([eE][+-]?[0-9]+)?\s*$";

/// A number within limits; as a text, too, for that is how a spreadsheet sends it.
fn within(limits: Limits, means: &str) -> Schema {
    let Limits { low, high, unit } = limits;
    json_schema!({
        "description": format!("{means}, {low} to {high}{unit}; also as a text, like \"1,4\"."),
        "type": ["number", "string"],
        "minimum": low,
        "maximum": high,
        "pattern": NUMBER,
    })
}

/// A type for each number: its name, what it means, its limits.
macro_rules! numbers {
    ($($name:ident $means:literal $limits:expr;)*) => { $(
        #[doc = concat!($means, ".")]
        pub struct $name;

        impl JsonSchema for $name {
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                within($limits, $means)
            }
        }
    )* };
}

numbers! {
    Concentration "An aim or what a water holds; in mmol/L and meq/L what comes to as much" Limits::MG_PER_L;
    MgPerL "A limit of the field, where it has no unit of its own" Limits::MG_PER_L;
    GPerL "Mass in a litre of finished solution" Limits::G_PER_L;
    MlPerL "Volume in a litre of finished solution" Limits::new(Limits::G_PER_L.low, Limits::G_PER_L.high, " mL/L");
    Grams "A mass" Limits::GRAMS;
    Litres "A volume" Limits::LITRES;
    Ratio "Parts of finished solution for one of stock" Limits::RATIO;
    Price "A price in any currency" Limits::PRICE;
    Percent "A share in hundred" Limits::PERCENT;
    Celsius "A temperature" Limits::CELSIUS;
    PhFigure "A pH" Limits::PH;
    EcFigure "EC at 25 °C" Limits::EC;
    Density "A density" Limits::DENSITY;
    Solubility "What a litre of water takes at 20 °C" Limits::SOLUBILITY;
    Weight "How much a deviation counts" Limits::WEIGHT;
    Factor "A factor on the recipe" Limits::STRENGTH;
    Alkalinity "An alkalinity" Limits::ALKALINITY;
    AlkalinityAsLime "An alkalinity as CaCO3" milligrams(MG_CACO3_PER_MEQ);
    Bicarbonate "An alkalinity as HCO3" milligrams(MG_HCO3_PER_MEQ);
    Probability "A probability" Limits::PROBABILITY;
    ShareOfOne "A share of one" Limits::SHARE;
    VolumePct "How far a volume may be off" stated::VOLUME_PCT;
    Division "The division of a scale" stated::SCALE_G;
    CylinderDivision "The division of a measuring cylinder" stated::CYLINDER_ML;
    ThermometerError "How far a thermometer may be off" stated::THERMOMETER_C;
    PhMeterError "How far a pH meter may be off" stated::METER_PH;
    Season "Finished solution of a season" purchase::SEASON;
    BagKg "What a bag holds" purchase::BAG;
    OnHand "What is at home" purchase::ON_HAND;
    PricePerBag "A price in any currency" purchase::PRICE;
    Seconds "How long to search" purchase::SECONDS;
    Margin "Distance from saturation, log10" stock::MARGIN_LIMITS;
    ScaleShows "What a scale shows" stock::SCALE_LIMITS;
    GPerLStock "Mass in a litre of stock" supply::G_PER_L_STOCK;
    Poured "What is poured of a bottle" supply::TRIAL_ML;
    TankPh "pH of a tank" supply::TRIAL_PH;
    TankEc "EC of a tank at 25 °C" Limits::new(0.0, MOST_EC_MS_CM, " mS/cm");
    TankPpm "A reading of a TDS pen, at most that on the largest scale" Limits::new(0.0, MOST_EC_MS_CM * LARGEST_SCALE, " ppm");
    TankCf "A reading in CF" Limits::new(0.0, 10.0 * MOST_EC_MS_CM, " CF");
    ShownFigure "A figure as a meter shows it" meter::SHOWN;
    CheckEc "EC of a check solution" meter::CHECK_EC;
    CheckSalt "Salt in a check solution" meter::CHECK_SALT;
    PairEc "EC of a solution in both meters" meter::PAIR_EC;
    MakeEc "EC of a check solution to be weighed" meter::MAKE;
    AimEc "EC that an error is told at" meter::AIM;
    DaysAgo "Days since a calibration" meter::DAYS;
    Dose "A dose by mass" label::DOSE;
    DoseMl "A dose by volume" label::DOSE_ML;
    AddedAmount "Grams or millilitres added" refill::ADDED;
}

/// The limits of an alkalinity in mg/L.
fn milligrams(per_meq: f64) -> Limits {
    Limits::new(0.0, Limits::ALKALINITY.high * per_meq, " mg/L")
}

/// A type for each number or text that is one of a few.
macro_rules! choices {
    ($($name:ident $means:literal $all:expr;)*) => { $(
        #[doc = concat!($means, ".")]
        pub struct $name;

        impl JsonSchema for $name {
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({ "description": concat!($means, "."), "enum": $all })
            }
        }
    )* };
}

choices! {
    Tanks "Number of tanks" [1, 2, 3, 4];
    PhosphorusCharge "Charge that meq/L count phosphorus with" [1, 2, 3];
    TdsScale "ppm for one mS/cm" Tds::SCALES;
    ToEc "As strong as the EC says" [TO_EC];
    WorstCase "For every bag within its tolerance" [WORST_CASE];
}

/// Days of a list of readings, from any beginning.
pub struct Day;

impl JsonSchema for Day {
    fn schema_name() -> Cow<'static, str> {
        "Day".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let Limits { low, high, .. } = time::DAYS;
        json_schema!({ "type": "number", "minimum": low, "maximum": high })
    }
}

/// Lowest and highest pH.
pub struct PhBand;

impl JsonSchema for PhBand {
    fn schema_name() -> Cow<'static, str> {
        "PhBand".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let ph = generator.subschema_for::<PhFigure>();
        json_schema!({
            "description": "Lowest and highest pH.",
            "type": "array",
            "items": json!(ph),
            "minItems": 2,
            "maxItems": 2,
        })
    }
}
