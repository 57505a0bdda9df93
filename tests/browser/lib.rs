//! Tests in a real browser only.
