//! Drawings of a sheet as inline SVG: shapes, words and classes, no colour of their own.
//!
//! In: figures already rounded and worded.  Out: an `svg` element with a title. Colours come from
//! the style sheet and only repeat what shape and words say, so that a drawing reads in black and
//! white, on dark ground and in print.

pub mod bar;
pub mod line;
pub mod shares;
pub mod timeline;
