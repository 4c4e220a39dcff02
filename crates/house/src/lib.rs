//! The house's own rules, and the trial of its plans.
//!
//! Nothing here ships. `tests/` holds what is true of the whole workspace; [`trial`] plans many invented cars and says what became of them.

pub mod table;
pub mod trial;
