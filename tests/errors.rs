//! Broken inputs and what is said of them.
