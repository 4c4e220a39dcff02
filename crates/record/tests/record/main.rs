//! Records as bytes: one way of writing them, one hash each, and every change found.

#![expect(clippy::unwrap_used, reason = "a test may fail")]

mod canonical;
mod chain;
mod pen;
mod sealed;
mod signed;
mod specification;
mod tree;
mod verifier;
