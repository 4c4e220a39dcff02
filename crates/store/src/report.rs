//! What a look at everything found.

use std::collections::BTreeMap;

use lastmicron_job::event::{Digest, Id};
use lastmicron_record::Broken;

/// What events name by its hash, each with the job and the number of the first entry that does.
pub(crate) type References = BTreeMap<Digest, (Id, u64)>;

/// Something that is not as it was written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Damage {
    /// A record.
    #[error("job {job}: {broken}")]
    Record {
        /// The job.
        job: Id,
        /// The first entry that is not as it was written.
        broken: Broken,
    },
    /// An end without a record, or a record without an end.
    #[error("job {0}: its record and what is noted of its end don't belong together")]
    Job(Id),
    /// An entry that is not found by its id.
    #[error("entry {seq} of job {job} is not found by its id: it might be taken twice")]
    NotFound {
        /// The job.
        job: Id,
        /// The entry's number.
        seq: u64,
    },
    /// The database's own structure.
    #[error("the database says: {0}")]
    Database(String),
    /// A checkpoint.
    #[error("checkpoint {number}: {what}")]
    Checkpoint {
        /// Which, from 1, in the order in which they were kept.
        number: i64,
        /// What is wrong.
        what: String,
    },
    /// Bytes that were kept.
    #[error("what is kept as {name}{} has other bytes than it had", named_by(entry))]
    Kept {
        /// The name of the file.
        name: String,
        /// The job and the number of the first entry that names it; none where none does.
        entry: Option<(Id, u64)>,
    },
    /// A sheet noted as erased that nothing names.
    #[error("a sheet is noted as erased that no entry names: {0}")]
    Erased(Digest),
    /// A file of a backup that is not there.
    #[error("{name} is not there")]
    Missing {
        /// Its path in the backup.
        name: String,
    },
    /// A file of a backup with other bytes.
    #[error("{name} has other bytes than it had")]
    Changed {
        /// Its path in the backup.
        name: String,
    },
    /// A file in a backup that is none of it.
    #[error("{name} is no part of this backup")]
    Foreign {
        /// Its path in the backup.
        name: String,
    },
}

/// What a look at everything found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Report {
    /// Jobs looked at.
    pub jobs: u64,
    /// Entries looked at.
    pub entries: u64,
    /// Things kept that were looked at.
    pub kept: u64,
    /// Checkpoints looked at.
    pub checkpoints: u64,
    /// What events refer to and is not here: not sent yet, or taken away by somebody.
    pub waiting: Vec<Digest>,
    /// Sheets that were erased, and are not here.
    pub erased: Vec<Digest>,
    /// What is not as it was written.
    pub damage: Vec<Damage>,
}

impl Report {
    /// Takes note of what is not here, of all that is referred to.
    pub(crate) fn lacks(&mut self, lacking: impl IntoIterator<Item = Digest>) {
        let lacking: Vec<Digest> = lacking.into_iter().collect();
        let (erased, waiting): (Vec<Digest>, Vec<Digest>) = lacking.into_iter().partition(|digest| self.erased.contains(digest));
        self.erased = erased;
        self.waiting.extend(waiting);
    }
}

fn named_by(entry: &Option<(Id, u64)>) -> String {
    entry.map(|(job, seq)| format!(", named by entry {seq} of job {job},")).unwrap_or_default()
}
