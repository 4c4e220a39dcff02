//! Events as devices say them, and the job that they fold into.
#![expect(clippy::unwrap_used, clippy::panic, reason = "what a test writes down is as it should be, or the test fails")]

mod events;
mod fold;
mod parallel;
mod pen;
mod properties;
