//! Where the meter test gets its EC from: the chemistry, or a stand-in of the caller's.

use crate::readings::Source;
use saltwright_fertilizers::Dose;
use saltwright_recipes::Water;

/// EC of mixes in one water, mS/cm at 25 °C; `None` where the model has no answer.
pub type EcOfMix<'a> = Box<dyn Fn(&[Dose]) -> Option<f64> + 'a>;

/// What an EC meter shows.
pub trait EcModel {
    /// A water solved once, for all that is dissolved in it.
    fn in_water<'a>(&'a self, water: &'a Water) -> Option<EcOfMix<'a>>;
}

impl<F: Fn(&Water, &[Dose]) -> Option<f64>> EcModel for F {
    fn in_water<'a>(&'a self, water: &'a Water) -> Option<EcOfMix<'a>> {
        Some(Box::new(move |mix| self(water, mix)))
    }
}

/// The chemistry of a finished solution.
struct Speciated;

impl EcModel for Speciated {
    fn in_water<'a>(&'a self, water: &'a Water) -> Option<EcOfMix<'a>> {
        let source = Source::new(water).ok()?;
        Some(Box::new(move |mix| source.ec_ms_cm(mix).ok()))
    }
}

/// The model that labels are held against.
pub fn model() -> Option<&'static dyn EcModel> {
    Some(&Speciated)
}
