//! Records of jobs and the photographs beside them, kept on disk.
//!
//! What is acknowledged survives a crash of the program and of the machine. An event is taken once, however often it is sent. Nothing is edited.

mod backup;
mod carry;
mod content;
mod error;
mod folder;
mod kept;
mod parts;
mod people;
mod report;
mod room;
mod signing;
mod sqlite;
mod store;

pub use backup::{
    Backup, BackupIdentity, BackupKey, ENCRYPTED, EncryptedBackup, FileSaid, JobEnd, LastBackup, Manifest, backup_around, is_encrypted,
    restore, restore_encrypted, sha256_of, verify_backup, verify_encrypted,
};
pub use carry::{BroughtIn, TakenIn, bring_in, take_in, take_out};
pub use error::StoreError;
pub use kept::MOST_KEPT_BYTES;
pub use parts::{Part, Parted, There};
pub use people::{People, SignIn, SignedIn};
pub use report::{Damage, Report};
pub use room::{Room, STOP_BELOW, WARN_BELOW, free_bytes};
pub use signing::{KeyFile, SIGNING_KEYS, Signer, sign_end, sign_ends};
pub use sqlite::Sqlite;
pub use store::{KeptCheckpoint, Outcome, Receipt, Store};
