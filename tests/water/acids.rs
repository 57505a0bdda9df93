//! Doses of acid and base: published ones, and what the chemistry must say of them.

mod choice;
mod code;
mod print;

use super::{MG_CACO3_PER_MEQ, cautions, water};
use crate::common::number;
use saltwright_fertilizers::units::{LITRES_PER_US_GALLON, ML_PER_US_FLUID_OUNCE};
use serde::Deserialize;
use serde_json::{Value, json};

fn rows<R: for<'de> Deserialize<'de>>(text: &str) -> Vec<R> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader
        .deserialize()
        .map(|row| row.expect("a row"))
        .collect()
}
