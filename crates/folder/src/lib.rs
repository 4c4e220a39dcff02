//! Job folders read and written: job.toml, readings.csv, worked.csv, defects.csv and gloss.csv.
//!
//! A folder is read whole: everything that is wrong with it is said at once, each with its file, line, and key or column.

mod place;
mod problem;

mod contents;

mod read;
mod write;

pub mod events;

mod after;
mod defects;
mod gloss;
mod job_toml;
mod kept_off;
mod nearest;
mod plan_json;
pub mod planned;
mod readings;
mod render;
mod row;
mod sheet;
mod table;
mod together;
mod worked;

pub use after::named_steps;
pub use contents::{Contents, Jotting};
pub use nearest::nearest;
pub use place::{File, Place};
pub use plan_json::{number, plan_json};
pub use problem::{Doubt, Fault, Finding, Problem, Problems};
pub use read::{Checked, Files, ReadError, parse, read};
pub use write::{WriteError, write};
