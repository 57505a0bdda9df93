//! random
