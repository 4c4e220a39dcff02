//! The house's own rules, the trial of its plans, and the trial of what it says of photographs.
//!
//! Nothing here ships. `tests/` holds what is true of the whole workspace; [`trial`] plans many invented cars and says what became of them;
//! [`photographs`] measures many invented photographs and says how far off that was; [`load`] measures how soon the app answers.

pub mod load;
pub mod photographs;
pub mod table;
pub mod trial;
