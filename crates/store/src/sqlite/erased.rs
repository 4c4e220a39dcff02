//! Sheets that were erased: that they were, so that nobody waits for them.

use lastmicron_job::event::Digest;
use rusqlite::Connection;

use crate::error::StoreError;
use crate::report::{Damage, References, Report};

/// Notes that a sheet is erased; once noted, it stays so.
pub(super) fn note(connection: &Connection, sheet: Digest) -> Result<(), StoreError> {
    connection.prepare_cached("INSERT OR IGNORE INTO erased (sheet) VALUES (?1)")?.execute([sheet.to_string()])?;
    Ok(())
}

/// All that are noted, in order.
pub(super) fn noted(connection: &Connection) -> Result<Vec<Digest>, StoreError> {
    let mut statement = connection.prepare("SELECT sheet FROM erased ORDER BY sheet")?;
    let mut rows = statement.query([])?;
    let mut noted = Vec::new();
    while let Some(row) = rows.next()? {
        let sheet: String = row.get(0)?;
        noted.push(sheet.parse().map_err(|_| StoreError::Damaged(format!("a sheet noted as erased under the hash {sheet}")))?);
    }
    Ok(noted)
}

/// Puts them all into a report. Each is named by some entry: nothing else is erased.
pub(super) fn look(connection: &Connection, references: &References, report: &mut Report) -> Result<(), StoreError> {
    for sheet in noted(connection)? {
        // What names it may be in a record that can't be read, which is found where records are looked at.
        if !references.contains_key(&sheet) && report.damage.is_empty() {
            report.damage.push(Damage::Erased(sheet));
        }
        report.erased.push(sheet);
    }
    Ok(())
}
