//! What is acknowledged is there, once, as it was written; what is damaged is found.

#![expect(clippy::unwrap_used, reason = "a test may fail")]

mod backed_up;
mod carried;
mod checkpoints;
mod closed;
mod concurrent;
mod conformance;
#[cfg(target_os = "linux")]
mod cut;
mod delivered;
#[cfg(target_os = "linux")]
mod disk;
mod encrypted;
#[cfg(target_os = "linux")]
mod failing;
mod flipped;
mod killed;
mod parts;
mod pen;
mod people;
mod released;
mod room;
mod signing;
mod tampered;
