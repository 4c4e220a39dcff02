//! Connections that read.

use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};

use rusqlite::Connection;

use super::schema::Tables;
use crate::error::StoreError;

/// Connections kept open while nobody uses them. Judgement: some people look at once; what each holds is small, see [`super::schema`].
const KEPT_OPEN: usize = 4;

/// As many connections as are asked for at once.
#[derive(Debug)]
pub(super) struct Readers {
    path: PathBuf,
    tables: Tables,
    idle: Mutex<Vec<Connection>>,
}

impl Readers {
    pub(super) const fn of(path: PathBuf, tables: Tables) -> Self {
        Self { path, tables, idle: Mutex::new(Vec::new()) }
    }

    /// Reads at one moment: whatever is written meanwhile, all of it is of the same state.
    pub(super) fn with<T>(&self, read: impl FnOnce(&Connection) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let idle = self.idle.lock().unwrap_or_else(PoisonError::into_inner).pop();
        let mut connection = idle.map_or_else(|| self.tables.open_to_read(&self.path), Ok)?;
        let transaction = connection.transaction()?;
        let found = read(&transaction);
        drop(transaction);
        let mut idle = self.idle.lock().unwrap_or_else(PoisonError::into_inner);
        if idle.len() < KEPT_OPEN {
            idle.push(connection);
        }
        found
    }
}
