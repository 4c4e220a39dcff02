//! What a job folder holds: the job, and beside it what a plan is not made from and a person doesn't want to lose.

use lastmicron_job::Job;
use lastmicron_units::Entered;

/// What a row of readings.csv says beside the reading itself.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Jotting {
    /// The number and unit as entered; when not known, the reading is written in um.
    pub entered: Option<Entered>,
    /// When it was taken, RFC 3339; empty when not stated.
    pub taken: String,
    /// Free text.
    pub note: String,
}

/// All that a job folder holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Contents {
    /// The job.
    pub job: Job,
    /// A jotting for each of the job's readings; may be shorter than the readings.
    pub jottings: Vec<Jotting>,
    /// The place on its panel, mm, of each of the job's counts, where one is stated; may be shorter than the counts.
    pub spots_mm: Vec<Option<[f64; 2]>>,
}

impl From<Job> for Contents {
    fn from(job: Job) -> Self {
        Self { job, jottings: Vec::new(), spots_mm: Vec::new() }
    }
}
