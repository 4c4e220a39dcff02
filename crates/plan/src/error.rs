//! Why there is no plan.

use lastmicron_polish::near::NearError;

/// Why a plan can't be made from a job that reads well.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// No panel has a reading.
    #[error("there are no readings: nothing is known of the film, so nothing can be planned")]
    NoReadings,
    /// No process to choose from.
    #[error("the job states no process: there is nothing to plan with")]
    NoProcess,
    /// A machine, pad and use that no set can be worked with.
    #[error("process '{process}' can't be worked as its use says: {why}")]
    Use {
        /// Name of the process.
        process: String,
        /// What is wrong.
        why: NearError,
    },
    /// Numbers too extreme to compute with.
    #[error("the job's numbers can't be computed with ({0}): look for a reading or an sd that is far from the others")]
    Arithmetic(String),
}
