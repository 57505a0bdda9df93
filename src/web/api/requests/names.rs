//! Names in requests: what is shipped, what a request brings itself, and the keys of its tables.

use saltwright_fertilizers::document::{MAX_ID, MAX_TEXT};
use saltwright_fertilizers::guarantee::Printed;
use saltwright_fertilizers::{Aimed, Assay, Nutrient, Tank};
use saltwright_recipes::{ConcentrationUnit, Library};
use saltwright_solver::formulate::request::End;
use saltwright_solver::label::convention::Convention;
use saltwright_solver::substitute::request::{Keep, MAX_CURRENCY};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Map, Value, json};
use std::borrow::Cow;
use std::marker::PhantomData;

/// A type for each kind of text: its name and the schema.
macro_rules! texts {
    ($($name:ident $means:literal $schema:expr;)*) => { $(
        #[doc = concat!($means, ".")]
        pub struct $name;

        impl JsonSchema for $name {
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                let mut schema: Schema = $schema;
                schema.insert("description".into(), concat!($means, ".").into());
                schema
            }
        }
    )* };
}

texts! {
    NewId "A short name, at most 64 bytes" name();
    ShippedRecipe "A recipe of the library" one_of(&[]);
    ShippedWater "A water of the library" one_of(&[]);
    ShippedFertilizer "A fertilizer of the library" one_of(&[]);
    Words "Any text, at most 4,000 bytes" json_schema!({ "type": "string", "maxLength": MAX_TEXT });
    Currency "What prices are in: a label" json_schema!({ "type": "string", "maxLength": MAX_CURRENCY });
    Formula "A chemical formula, like Ca(NO3)2.4H2O" json_schema!({ "type": "string", "maxLength": MAX_TEXT });
    Grade "A grade as printed, like 15-5-15 + 4Ca" json_schema!({
        "type": "string", "pattern": "^[^-–+]+[-–][^-–+]+[-–][^-–+]+([+].*)?$",
    });
    Date "A date, with or without a time of day" json_schema!({
        "type": "string",
        "pattern": "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])([T ]([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?)?$",
        "examples": ["2026-03-02T08:00"],
    });
    Unit "Of every number in this table; mg/L where left out" one_of(&units());
    KeepFor "What a cheaper mix must keep" one_of(&Keep::NAMES.map(|(name, _)| name));
    Completed "What a completed mix must keep" one_of(&saltwright_solver::label::request::KEEPS);
    PhEnd "Right after mixing, or after standing in air" one_of(&End::NAMES.map(|(name, _)| name));
    LabelConvention "How a label is printed" one_of(&Convention::ALL.map(Convention::name));
    LabelForm "What is in the bag or bottle" one_of(&saltwright_solver::label::request::FORMS);
    TankName "Where it is kept as a stock" one_of(&Tank::NAMES.map(|(name, _)| name));
    AimKey "A nutrient that a recipe may name" one_of(&keys(Aimed::all().map(Aimed::key)));
    NutrientKey "A nutrient" one_of(&Nutrient::ALL.map(Nutrient::key));
    AssayKey "What an assay may name" one_of(&keys(Assay::keys()));
    LimitKey "A figure of a water" one_of(&limit_keys());
    PrintedKey "What a label may name" one_of(&keys(Printed::all().map(|printed| printed.key)));
    UsuallyAdded "Water, the recipe as formulated, or what was let out" one_of(&["water", "feed", "drained"]);
    MeterUnit "Unit of a reading; mS/cm where left out" one_of(&meter_units());
}

fn name() -> Schema {
    json_schema!({ "type": "string", "maxLength": MAX_ID, "pattern": "\\S" })
}

fn one_of(names: &[&str]) -> Schema {
    json_schema!({ "type": "string", "enum": names })
}

/// Nutrients and what else a water can be judged by.
fn limit_keys() -> Vec<&'static str> {
    let beside = ["alkalinity", "hardness", "SO4", "Cl_meq"];
    Nutrient::ALL
        .map(Nutrient::key)
        .into_iter()
        .chain(beside)
        .collect()
}

fn keys(all: impl Iterator<Item = &'static str>) -> Vec<&'static str> {
    all.collect()
}

fn units() -> Vec<&'static str> {
    let named = ConcentrationUnit::NAMES.map(|(name, _)| name);
    named.into_iter().chain(["ppm"]).collect()
}

fn meter_units() -> Vec<&'static str> {
    let named = saltwright_solver::reservoir::meter::request::UNITS.map(|(name, _)| name);
    named
        .into_iter()
        .chain(["ppm", "ppm@500", "ppm@640", "ppm@700"])
        .collect()
}

/// Puts the names of a library into the definitions that stand for them.
pub fn fill_in(schemas: &mut Map<String, Value>, library: &Library) {
    let recipes = library.recipes.iter().map(|recipe| recipe.id.as_str());
    let waters = library.waters.iter().map(|water| water.id.as_str());
    let fertilizers = library.fertilizers.iter().map(|row| row.id.as_str());
    for (kind, names) in [
        ("ShippedRecipe", recipes.collect::<Vec<_>>()),
        ("ShippedWater", waters.chain(["pure-water"]).collect()),
        ("ShippedFertilizer", fertilizers.collect()),
    ] {
        if let Some(schema) = schemas.get_mut(kind) {
            schema["enum"] = json!(names);
        }
    }
}

/// A fertilizer of the library or of the request.
#[derive(JsonSchema)]
#[schemars(untagged)]
#[allow(dead_code)] // never built, only described
pub enum FertilizerName {
    Shipped(ShippedFertilizer),
    Own(NewId),
}

/// What was added to a tank: these, or a fertilizer.
#[derive(JsonSchema)]
#[schemars(untagged)]
#[allow(dead_code)] // never built, only described
pub enum AddedWhat {
    Usual(UsuallyAdded),
    Fertilizer(FertilizerName),
}

/// A table by name: names of the one kind, values of the other; null counts as left out.
pub struct By<K, V>(PhantomData<(K, V)>);

impl<K: JsonSchema, V: JsonSchema> JsonSchema for By<K, V> {
    fn schema_name() -> Cow<'static, str> {
        format!("{}By{}", V::schema_name(), K::schema_name()).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let names = generator.subschema_for::<K>();
        let values = generator.subschema_for::<Option<V>>();
        json_schema!({
            "type": "object",
            "propertyNames": json!(names),
            "additionalProperties": json!(values),
        })
    }
}

/// No upper end of a list.
pub const ANY: usize = usize::MAX;

/// A list from the least to the most.
pub struct List<T, const LEAST: usize, const MOST: usize>(PhantomData<T>);

impl<T: JsonSchema, const LEAST: usize, const MOST: usize> JsonSchema for List<T, LEAST, MOST> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("{}List{LEAST}To{MOST}", T::schema_name()).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let items = generator.subschema_for::<T>();
        let mut schema = json_schema!({ "type": "array", "items": json!(items) });
        if LEAST > 0 {
            schema.insert("minItems".into(), LEAST.into());
        }
        if MOST < ANY {
            schema.insert("maxItems".into(), MOST.into());
        }
        schema
    }
}

/// One, or a list.
pub struct OneOrList<T, const LEAST: usize, const MOST: usize>(PhantomData<T>);

impl<T: JsonSchema, const LEAST: usize, const MOST: usize> JsonSchema
    for OneOrList<T, LEAST, MOST>
{
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("{}OneOrList{LEAST}To{MOST}", T::schema_name()).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let one = generator.subschema_for::<T>();
        let list = generator.subschema_for::<List<T, LEAST, MOST>>();
        json_schema!({ "anyOf": [json!(one), json!(list)] })
    }
}

/// A key that may stand here and has no say.
pub struct Ignored;

impl JsonSchema for Ignored {
    fn schema_name() -> Cow<'static, str> {
        "Ignored".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "description": "Without effect." })
    }
}

/// Refuses a table that lacks all of these.
pub fn at_least_one(schema: &mut Schema, keys: &[&str]) {
    let each: Vec<_> = keys
        .iter()
        .map(|key| json!({ "required": [key] }))
        .collect();
    schema.ensure_object().insert("anyOf".into(), each.into());
}

/// Keys of a report that may stand in a request and have no say; all others are refused.
pub fn accept(schema: &mut Schema, keys: &[&str]) {
    let object = schema.ensure_object();
    let known = object.entry("properties").or_insert_with(|| json!({}));
    for key in keys {
        if known.get(key).is_none() {
            known[*key] = json!({ "description": "Of a report; without effect." });
        }
    }
    object.insert("additionalProperties".into(), false.into());
}
