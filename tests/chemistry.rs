//! The chemistry against published measurements, a geochemical code and its own laws.

mod reference;
