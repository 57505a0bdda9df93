//! From a request to a report, or to a refusal: pure computing.
//!
//! A job is a function from a resolved request to a report. No file, clock, network, thread or
//! printing here; the faces above build requests and show reports.

pub mod chemistry;
pub mod ec;
pub mod formulate;
pub mod ions;
pub mod job;
pub mod label;
pub mod lp;
pub mod ph;
pub mod predict;
pub mod purchase;
pub mod readings;
pub mod refusal;
pub mod request;
pub mod reservoir;
mod root;
pub mod solids;
pub mod solution;
pub mod spread;
pub mod stock;
pub mod substitute;
pub mod water;
pub mod words;

pub use formulate::{FormulateReport, FormulateRequest, formulate};
pub use job::{Answer, answer};
pub use label::{LabelReport, LabelRequest, label};
pub use predict::{PredictReport, PredictRequest, predict};
pub use purchase::{PurchaseReport, PurchaseRequest, purchase};
pub use refusal::Refusal;
pub use reservoir::{CorrectReport, CorrectRequest, correct};
pub use reservoir::{MeterReport, MeterRequest, RefillReport, RefillRequest};
pub use stock::{StockReport, StockRequest, stock};
pub use substitute::{SubstituteReport, SubstituteRequest, substitute};
pub use water::{WaterReport, WaterRequest};
