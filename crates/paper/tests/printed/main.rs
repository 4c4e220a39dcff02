//! Documents printed: lawful archive documents, the same bytes every time, whatever was typed.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test may stop at what should not be")]

mod handovers;
mod invented;
mod keys;
mod plans;
mod signed;
