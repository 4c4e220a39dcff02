//! The seam to what signs records: the app knows no key.

use lastmicron_job::event::Id;

/// What signs records.
pub trait Signs: Send + Sync {
    /// A vehicle has gone home: the record of its job is signed soon. Nobody waits for it.
    fn gone_home(&self, job: Id);

    /// Why a record that was to be signed last was not, as a browser is told ([`signing_told_in_browser`](crate::signing_told_in_browser)).
    fn trouble(&self) -> Option<String>;
}
