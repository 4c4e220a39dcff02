//! The app: pages rendered here, and events taken in, over HTTP.
//!
//! It knows no PDF engine and computes no estimate. Time comes in from outside, so that a test has its own.

mod asset;
mod events;
mod failure;
mod frame;
mod job_page;
mod jobs_page;
mod policy;
mod router;
mod shop;

pub use router::router;
pub use shop::Shop;
