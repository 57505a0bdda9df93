//! Published EC and pH ranges by crop.

use super::Visit;
use super::list::ListPage;
use crate::view::{Sheet, lists};
use saltwright_recipes::Crop;

/// The page.
pub const PAGE: ListPage = ListPage {
    path: "crops",
    name: "Crops",
    title: "EC and pH by crop",
    lead: "Published ranges, EC in mS/cm at 25 °C.",
    sheet,
    one: None,
    names: |_| Vec::new(),
    own: None,
    csv: None,
};

fn sheet(visit: &Visit<'_>, wanted: &str) -> Sheet {
    let rows = visit.site.library.crops.iter();
    let fits = |crop: &&Crop| crop.crop.to_lowercase().contains(wanted);
    lists::crops(&rows.filter(fits).collect::<Vec<_>>())
}
