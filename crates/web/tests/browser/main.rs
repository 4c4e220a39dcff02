//! The app in a real browser: Debian's chromium, driven by WebDriver.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stderr,
    reason = "a test may stop, and says what it leaves out"
)]

mod bay;
mod car;
mod gauge;
mod lan;
mod lost;
mod offline;
mod papers;
mod people;
mod phones;
mod policy;
mod restate;
mod screens;
mod spots;
mod visit;
