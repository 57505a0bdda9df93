//! accuracy
