//! Why the command didn't do what was asked, and what status it ends with.

use std::io::{self, Write};
use std::path::Path;
use std::process::ExitCode;

use lastmicron_folder::ReadError;
use lastmicron_store::StoreError;

use crate::wording::counted;

/// The status that the command ends with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Status {
    /// Done.
    Done,
    /// The disk, or a mistake in the program.
    Failed,
    /// What was given is bad, or the command was not understood.
    BadInput,
    /// What was looked at is not well.
    Problems,
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> Self {
        match status {
            Status::Done => Self::from(0),
            Status::Failed => Self::from(1),
            Status::BadInput => Self::from(2),
            Status::Problems => Self::from(3),
        }
    }
}

/// Why the command didn't do what was asked.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Failure {
    /// What was given is bad.
    #[error("{0}")]
    BadInput(String),
    /// Another program has the records open.
    #[error("{0}")]
    InUse(String),
    /// The disk, or a mistake in the program.
    #[error("{0}")]
    Failed(String),
    /// What was looked at is not well.
    #[error("{0}")]
    Problems(String),
    /// Whoever read the output has gone away: no failure of anybody.
    #[error("nobody reads the output any more")]
    NobodyReads,
}

impl Failure {
    pub(crate) fn bad_input(message: impl Into<String>) -> Self {
        Self::BadInput(message.into())
    }

    pub(crate) fn failed(message: impl Into<String>) -> Self {
        Self::Failed(message.into())
    }

    /// From a store: what was named wrongly is bad input, all else a failure.
    pub(crate) fn of_store(error: &StoreError) -> Self {
        match error {
            StoreError::Exists(_)
            | StoreError::NoFolder(_)
            | StoreError::InABackup { .. }
            | StoreError::NoManifest(_)
            | StoreError::Lost(_)
            | StoreError::NotEmpty(_)
            | StoreError::Unfinished(_)
            | StoreError::IsABackup(_)
            | StoreError::NotABackup { .. }
            | StoreError::WrongKey(_)
            | StoreError::NotAKey
            | StoreError::OtherKey(_)
            | StoreError::KeyInUse(_)
            | StoreError::KeyNote { .. }
            | StoreError::NewerBackup { .. }
            | StoreError::NotARecord(_)
            | StoreError::NoRecord(_)
            | StoreError::Older { .. }
            | StoreError::Newer { .. } => Self::bad_input(error.to_string()),
            StoreError::InUse(_) => Self::InUse(error.to_string()),
            StoreError::Full
            | StoreError::Disk(_)
            | StoreError::Low { .. }
            | StoreError::OnlyRead
            | StoreError::Damaged(_)
            | StoreError::DamagedBackup { .. }
            | StoreError::Encrypting(_)
            | StoreError::NotHeld(_)
            | StoreError::TooLarge { .. }
            | StoreError::Closed
            | StoreError::Io { .. }
            | StoreError::Database(_) => Self::failed(error.to_string()),
        }
    }

    /// From a store that was looked at: what is damaged there is what the look was for.
    pub(crate) fn of_looked_at(error: &StoreError) -> Self {
        match error {
            StoreError::Damaged(_) | StoreError::DamagedBackup { .. } | StoreError::Lost(_) => Self::Problems(error.to_string()),
            error => Self::of_store(error),
        }
    }

    /// From a folder that could not be read.
    pub(crate) fn of_folder(folder: &Path, error: &ReadError) -> Self {
        match error {
            ReadError::Io { .. } => Self::failed(error.to_string()),
            ReadError::NoFolder(_) | ReadError::NotAFolder(_) => Self::bad_input(error.to_string()),
            ReadError::Refused(problems) => {
                let what = counted((problems.listed.len() + problems.left_off) as u64, "problem", "problems");
                Self::bad_input(format!("{}: {what}, and nothing was done.\n{problems}", folder.display()))
            }
        }
    }

    pub(crate) const fn status(&self) -> Status {
        match self {
            Self::BadInput(_) | Self::InUse(_) => Status::BadInput,
            Self::Failed(_) => Status::Failed,
            Self::Problems(_) => Status::Problems,
            Self::NobodyReads => Status::Done,
        }
    }

    /// Says it on stderr.
    pub(crate) fn tell(&self) {
        if !matches!(self, Self::NobodyReads) {
            // There is nowhere to say that stderr is gone.
            let _ = writeln!(io::stderr(), "lastmicron: {self}");
        }
    }
}

impl From<io::Error> for Failure {
    /// From writing the output.
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Self::NobodyReads
        } else {
            Self::failed(format!("the output can't be written: {error}"))
        }
    }
}
