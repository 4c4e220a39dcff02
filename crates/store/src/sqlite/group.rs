//! Events of several requests, taken in one transaction.

use lastmicron_job::event::When;
use lastmicron_record::{Entry, Refusal, Sealed};
use rusqlite::{Connection, TransactionBehavior};

use super::rows;
use crate::error::StoreError;
use crate::store::Outcome;

/// Takes the events of all requests, or none.
pub(super) fn append<'r>(
    connection: &mut Connection,
    requests: impl Iterator<Item = (&'r [Sealed], &'r When)>,
) -> Result<Vec<Vec<Outcome>>, StoreError> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let take = |(events, received): (&[Sealed], &When)| events.iter().map(|sealed| take(&transaction, sealed, received)).collect();
    let outcomes = requests.map(take).collect::<Result<_, _>>()?;
    transaction.commit()?;
    Ok(outcomes)
}

fn take(connection: &Connection, sealed: &Sealed, received: &When) -> Result<Outcome, StoreError> {
    if let Some((receipt, text)) = rows::taken(connection, sealed)? {
        return Ok(if text.as_bytes() == sealed.bytes() { Ok(receipt) } else { Err(Refusal::Taken(receipt.id)) });
    }
    let head = rows::head_of(connection, sealed.event().job)?;
    let entry = match Entry::after(head.hash, head.seq + 1, received.clone(), sealed) {
        Ok(entry) => entry,
        Err(refusal) => return Ok(Err(refusal)),
    };
    rows::insert(connection, &entry, sealed)?;
    Ok(Ok(rows::receipt(&entry, sealed)))
}
