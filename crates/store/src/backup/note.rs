//! Notes beside a record.

use std::io::Write;
use std::path::Path;

use serde::Serialize;

use crate::error::StoreError;
use crate::folder::sync_folder;

/// Writes a note beside a record, in place of an earlier one: whole or not at all.
pub(super) fn write(record: &Path, name: &str, note: &impl Serialize) -> Result<(), StoreError> {
    let text = serde_json::to_string_pretty(note).map_err(|error| StoreError::Database(error.to_string()))?;
    let written = || {
        let mut beside = tempfile::NamedTempFile::new_in(record)?;
        beside.write_all(text.as_bytes())?;
        beside.as_file().sync_all()?;
        beside.persist(record.join(name)).map_err(|error| error.error)?;
        sync_folder(record)
    };
    written().map_err(|error| StoreError::io(record, &error))
}
