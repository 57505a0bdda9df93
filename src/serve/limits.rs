//! How much and how long: bounds that keep one client from holding up the others.
//!
//! The figures are common practice, no source: generous for a person with a phone, small for a
//! machine of two cores.

use std::time::Duration;

/// Connections that wait in the system before they are accepted.
pub const BACKLOG: u32 = 2048;
/// Connections that are served at once.
pub const CONNECTIONS: usize = 512;
/// Connections beyond those that are accepted to be told to come back; the sum stays below the
/// 1,024 open files that a system usually grants.
pub const TURNED_AWAY: usize = 256;
/// Questions that are worked on or wait for it at once.
pub const QUESTIONS: usize = 64;
/// Threads that work on them.
pub const WORKERS: usize = 4;
/// Bodies above [`SMALL_BODY`] that are read at once.
pub const LARGE_BODIES: usize = 16;
/// A body that is read without waiting for leave, bytes.
pub const SMALL_BODY: usize = 64 * 1024;
/// Largest form, bytes.
pub const FORM: usize = 256 * 1024;
/// Largest request to the machine face, bytes: the longest line of `batch`.
pub const REQUEST: usize = 1024 * 1024;
/// Longest address with its question, bytes.
pub const ADDRESS: usize = 8 * 1024;
/// Bytes of a request's head, address and headers together.
pub const HEAD: usize = 16 * 1024;
/// Headers of a request.
pub const HEADERS: usize = 64;
/// Time for the head of a request, and between two of one connection.
pub const HEAD_TIME: Duration = Duration::from_secs(5);
/// Time for the body of a request.
pub const BODY_TIME: Duration = Duration::from_secs(10);
/// Time for an answer to be worked out.
pub const WORK_TIME: Duration = Duration::from_secs(10);
/// Time for a search within it, whatever the question asks for: a thread is not held for an hour.
pub const SEARCH_TIME: Duration = Duration::from_secs(8);
/// Longest life of a connection; a browser simply opens another.
pub const LIFE: Duration = Duration::from_secs(120);
/// Time that running answers have to end, at the end of a connection or of the server.
pub const GRACE: Duration = Duration::from_secs(3);
/// Wait after the system refused to accept a connection.
pub const REST: Duration = Duration::from_millis(50);
/// Seconds after which whoever was turned away may come back.
pub const RETRY_AFTER: u32 = 1;
