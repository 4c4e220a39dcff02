//! The app: pages rendered here, and events taken in, over HTTP.
//!
//! It knows no PDF engine and computes no estimate of its own. Time comes in from outside, so that a test has its own.

mod accepted;
mod asked;
mod asset;
mod changes;
mod csv_page;
mod device_page;
mod dials;
mod estimates;
mod events;
mod failure;
mod field;
mod frame;
mod gauge_page;
mod handover_page;
mod history_page;
mod job_page;
mod jobs_page;
mod keeping;
mod new_job;
mod order;
mod panels_page;
mod papers;
mod photographs;
mod plan_page;
mod policy;
mod preference;
mod question;
mod records;
mod remembered;
mod router;
mod serve;
mod sheets;
mod shop;
mod spots_page;
mod start;
mod stated;
mod survey_page;
mod terms_page;
mod through;
mod vehicle_drawn;
mod vehicle_page;
mod verify_page;
mod waiting_page;
mod wording;
mod work_page;
mod worker;
mod workshop_page;

pub use keeping::{Backups, OLD_BACKUP_H};
pub use papers::{HandedOver, Papers};
pub use router::router;
pub use serve::serve;
pub use shop::Shop;
