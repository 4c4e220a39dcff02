//! What the pages are made from: the store, and each job folded.

use std::collections::HashMap;
use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

use lastmicron_job::event::{Event, Id, When};
use lastmicron_job::fold::{Standing, fold};
use lastmicron_record::Sealed;
use lastmicron_store::{Outcome, Store, StoreError};

/// A job's events, and how it stands after them.
#[derive(Clone, Debug)]
pub(crate) struct Folded {
    pub(crate) events: Arc<Vec<Event>>,
    pub(crate) standing: Arc<Standing>,
}

/// The store, a clock, and the jobs that were looked at.
///
/// Calls block as the store's do.
pub struct Shop {
    store: Arc<dyn Store>,
    now: Box<dyn Fn() -> When + Send + Sync>,
    folded: Mutex<HashMap<Id, Folded>>,
}

impl fmt::Debug for Shop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Shop").finish_non_exhaustive()
    }
}

impl Shop {
    /// Over a store, with a clock.
    pub fn new(store: Arc<dyn Store>, now: impl Fn() -> When + Send + Sync + 'static) -> Self {
        Self { store, now: Box::new(now), folded: Mutex::default() }
    }

    /// Takes events, and gives what became of each.
    pub(crate) fn take(&self, events: Vec<Sealed>) -> Result<Vec<Outcome>, StoreError> {
        self.store.append(events, (self.now)())
    }

    /// Every job, the newest first.
    pub(crate) fn jobs(&self) -> Result<Vec<(Id, Folded)>, StoreError> {
        self.store
            .jobs()?
            .into_iter()
            .rev()
            .map(|(id, _)| Ok(self.job(id)?.map(|folded| (id, folded))))
            .filter_map(Result::transpose)
            .collect()
    }

    /// A job as it stands now; none where there is no such job. Only what came since it was last looked at is read.
    pub(crate) fn job(&self, id: Id) -> Result<Option<Folded>, StoreError> {
        let known = self.folded.lock().unwrap_or_else(PoisonError::into_inner).get(&id).cloned();
        let from = known.as_ref().map_or(0, |folded| folded.events.len() as u64) + 1;
        let since = self.store.events(id, from)?;
        if since.is_empty() {
            return Ok(known);
        }
        let mut events = known.map_or_else(Vec::new, |folded| folded.events.to_vec());
        events.extend(since.into_iter().map(|entry| entry.event));
        let folded = Folded { standing: Arc::new(fold(&events)), events: Arc::new(events) };
        self.folded.lock().unwrap_or_else(PoisonError::into_inner).insert(id, folded.clone());
        Ok(Some(folded))
    }
}
