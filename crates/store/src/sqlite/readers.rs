//! Connections that read.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::{Mutex, MutexGuard, PoisonError};

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
    /// Used in turn: what each holds is there soon after the start, and grows no more.
    idle: Mutex<VecDeque<Connection>>,
}

impl Readers {
    pub(super) const fn of(path: PathBuf, tables: Tables) -> Self {
        Self { path, tables, idle: Mutex::new(VecDeque::new()) }
    }

    /// Reads at one moment: whatever is written meanwhile, all of it is of the same state.
    pub(super) fn with<T>(&self, read: impl FnOnce(&Connection) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let idle = self.idle().pop_front();
        let mut connection = idle.map_or_else(|| self.tables.open_to_read(&self.path), Ok)?;
        let transaction = connection.transaction()?;
        let found = read(&transaction);
        drop(transaction);
        self.put_back(connection);
        found
    }

    /// Opens as many as are kept open.
    pub(super) fn open(&self) -> Result<(), StoreError> {
        let mut idle = self.idle();
        while idle.len() < KEPT_OPEN {
            idle.push_back(self.tables.open_to_read(&self.path)?);
        }
        Ok(())
    }

    fn put_back(&self, connection: Connection) {
        let mut idle = self.idle();
        if idle.len() < KEPT_OPEN {
            idle.push_back(connection);
        }
    }

    fn idle(&self) -> MutexGuard<'_, VecDeque<Connection>> {
        self.idle.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
