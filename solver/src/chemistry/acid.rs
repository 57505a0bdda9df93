//! Alkalinity, the carbon of a source water, and the acid it needs.
