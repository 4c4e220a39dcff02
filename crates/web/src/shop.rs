//! What the pages are made from: the store, and each job folded.

use std::collections::{BTreeSet, HashMap, HashSet};
use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

use lastmicron_job::event::{Body, Digest, Event, Id, When};
use lastmicron_job::fold::{GONE_HOME, Standing, Unusable, fold, fold_on, unusable_next};
use lastmicron_record::{Bundle, Checkpoint, Entry, Head, Sealed};
use lastmicron_store::{
    BroughtIn, KeptCheckpoint, Outcome, Part, Parted, People, Room, Store, StoreError, TakenIn, There, bring_in, take_in, take_out,
};
use tokio::sync::broadcast::{Receiver, Sender};

use crate::door::Door;
use crate::estimates::Estimates;
use crate::failure::Failure;
use crate::keeping::Backups;
use crate::papers::Papers;
use crate::signs::Signs;

/// Changes that a page may fall behind. Judgement: it is told that something changed whatever it missed; more would only cost memory.
const CHANGES_HELD: usize = 64;

/// Jobs that are kept folded. Judgement: a workshop has a few in hand; one of 20,000 events is some 30 MB.
const MOST_FOLDED: usize = 24;

/// Where a job is kept folded; empty until it was.
type Slot = Arc<Mutex<Option<Folded>>>;

/// A job's events, and how it stands after them.
#[derive(Clone, Debug)]
pub(crate) struct Folded {
    pub(crate) events: Arc<Vec<Arc<Event>>>,
    pub(crate) standing: Arc<Standing>,
    /// The end of its record.
    pub(crate) head: Head,
}

impl Folded {
    /// From entries of a record, from its first on; none where there are none.
    pub(crate) fn of(entries: &[Entry]) -> Option<Self> {
        let head = entries.last().map(Head::of)?;
        let events: Vec<Arc<Event>> = entries.iter().map(|entry| Arc::new(entry.event.clone())).collect();
        Some(Self { standing: Arc::new(fold(entries.iter().map(|entry| &entry.event))), events: Arc::new(events), head })
    }

    /// Whether an event of that id is in it.
    pub(crate) fn holds(&self, id: Id) -> bool {
        self.events.iter().rev().any(|event| event.id == id)
    }

    /// How the job would stand if these came next.
    pub(crate) fn next(&self, events: &[&Event]) -> Standing {
        let anew = || fold(self.events.iter().map(Arc::as_ref).chain(events.iter().copied()));
        fold_on(&self.standing, events).unwrap_or_else(anew)
    }

    /// The same with entries that came after it.
    fn on(self, since: &[Entry]) -> Self {
        let new: Vec<&Event> = since.iter().map(|entry| &entry.event).collect();
        let mut events = self.events.to_vec();
        events.extend(since.iter().map(|entry| Arc::new(entry.event.clone())));
        Self { standing: Arc::new(self.next(&new)), events: Arc::new(events), head: since.last().map_or(self.head, Head::of) }
    }

    /// Events that came to the record after one of them.
    pub(crate) fn since(&self, event: Id) -> HashSet<Id> {
        self.events.iter().map(|event| event.id).skip_while(|id| *id != event).skip(1).collect()
    }
}

/// The jobs whose vehicle has gone home by these events.
fn gone_home(events: &[Sealed]) -> BTreeSet<Id> {
    let is_one = |event: &&Event| matches!(&event.body, Body::StatusChanged(changed) if changed.status == GONE_HOME);
    events.iter().map(Sealed::event).filter(is_one).map(|event| event.job).collect()
}

/// The store, a clock, and the jobs that were looked at.
///
/// Calls block as the store's do.
pub struct Shop {
    store: Arc<dyn Store>,
    now: Box<dyn Fn() -> When + Send + Sync>,
    folded: Mutex<HashMap<Id, Slot>>,
    changed: Sender<Id>,
    papers: Option<Arc<dyn Papers>>,
    backups: Option<Box<dyn Fn() -> Backups + Send + Sync>>,
    door: Option<Door>,
    signs: Option<Arc<dyn Signs>>,
    pub(crate) estimates: Estimates,
}

impl fmt::Debug for Shop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Shop").finish_non_exhaustive()
    }
}

impl Shop {
    /// Over a store, with a clock.
    pub fn new(store: Arc<dyn Store>, now: impl Fn() -> When + Send + Sync + 'static) -> Self {
        let (changed, _) = tokio::sync::broadcast::channel(CHANGES_HELD);
        Self {
            store,
            now: Box::new(now),
            folded: Mutex::default(),
            changed,
            papers: None,
            backups: None,
            door: None,
            signs: None,
            estimates: Estimates::default(),
        }
    }

    /// The same, with what makes and reads documents.
    #[must_use]
    pub fn with_papers(self, papers: Arc<dyn Papers>) -> Self {
        Self { papers: Some(papers), ..self }
    }

    /// The same, with people who may do this or that: `random` gives 32 random bytes, or none where the system has none.
    #[must_use]
    pub fn with_people(self, people: Arc<dyn People>, random: impl Fn() -> Option<[u8; 32]> + Send + Sync + 'static) -> Self {
        Self { door: Some(Door::new(people, random)), ..self }
    }

    /// Who may do what, where that is kept.
    pub(crate) fn door(&self) -> Option<&Door> {
        self.door.as_ref()
    }

    /// A new one-time code that makes the first owner; none where there is one, or where nobody is kept.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::Closed`] where the system gives no random numbers.
    pub fn first_code(&self) -> Result<Option<String>, StoreError> {
        self.door.as_ref().map_or(Ok(None), |door| door.first_code(self.now().unix_seconds()))
    }

    /// What makes and reads documents, where there is something.
    pub(crate) fn papers(&self) -> Option<&dyn Papers> {
        self.papers.as_deref()
    }

    /// The same, with what tells of the backups.
    #[must_use]
    pub fn with_backups(self, told: impl Fn() -> Backups + Send + Sync + 'static) -> Self {
        Self { backups: Some(Box::new(told)), ..self }
    }

    /// What is known of the backups, where somebody makes them.
    pub(crate) fn backups(&self) -> Option<Backups> {
        self.backups.as_ref().map(|told| told())
    }

    /// The same, with what signs records.
    #[must_use]
    pub fn with_signs(self, signs: Arc<dyn Signs>) -> Self {
        Self { signs: Some(signs), ..self }
    }

    /// Why a record that was to be signed was not.
    pub(crate) fn unsigned(&self) -> Option<String> {
        self.signs.as_ref().and_then(|signs| signs.trouble())
    }

    /// The checkpoint of a job that covers most of so many entries, the latest of those.
    pub(crate) fn checkpoint(&self, job: Id, entries: u64) -> Result<Option<KeptCheckpoint>, StoreError> {
        let size = |kept: &KeptCheckpoint| Checkpoint::read(&kept.note).ok().map(|checkpoint| checkpoint.size);
        let all = self.store.checkpoints(job)?.into_iter().filter_map(|kept| Some((size(&kept)?, kept)));
        Ok(all.filter(|(size, _)| *size <= entries).max_by_key(|(size, _)| *size).map(|(_, kept)| kept))
    }

    /// Tells what signs of the jobs among these events whose vehicle has gone home.
    fn sign(&self, gone: BTreeSet<Id>) {
        if let Some(signs) = &self.signs {
            gone.into_iter().for_each(|job| signs.gone_home(job));
        }
    }

    /// Whether something is taken, and whether there is room for long.
    pub(crate) fn room(&self) -> Result<Room, StoreError> {
        self.store.room()
    }

    /// Whether the disk would take something now; nothing is recorded.
    pub(crate) fn would_take(&self) -> Result<(), StoreError> {
        self.store.append(Vec::new(), self.now()).map(drop)
    }

    /// The record of a job; empty where there is no such job.
    pub(crate) fn entries(&self, job: Id) -> Result<Vec<Entry>, StoreError> {
        self.store.events(job, 1)
    }

    /// A record with what is kept beside it; none where there is no such job.
    pub(crate) fn take_out(&self, job: Id) -> Result<Option<Bundle>, StoreError> {
        take_out(self.store.as_ref(), job)
    }

    /// Brings a record in, and tells the pages that are open on its job.
    pub(crate) fn bring_in(&self, bundle: &Bundle) -> Result<Option<BroughtIn>, StoreError> {
        let brought = bring_in(self.store.as_ref(), bundle)?;
        if let Some(brought) = &brought {
            let _ = self.changed.send(brought.job);
        }
        Ok(brought)
    }

    /// Takes in events that waited on a device, and tells the pages that are open on their jobs.
    pub(crate) fn take_in(&self, events: &[Sealed]) -> Result<TakenIn, StoreError> {
        let taken = take_in(self.store.as_ref(), events, &self.now())?;
        for job in &taken.jobs {
            let _ = self.changed.send(*job);
        }
        self.sign(gone_home(events));
        Ok(taken)
    }

    /// The time here.
    pub(crate) fn now(&self) -> When {
        (self.now)()
    }

    /// Takes events, tells the pages that are open on their jobs, and gives what became of each.
    pub(crate) fn take(&self, events: Vec<Sealed>) -> Result<Vec<Outcome>, StoreError> {
        let gone = gone_home(&events);
        let outcomes = self.store.append(events, self.now())?;
        self.sign(gone);
        let jobs: BTreeSet<Id> = outcomes.iter().flatten().map(|receipt| receipt.job).collect();
        for job in jobs {
            // Nobody listening is no failure.
            let _ = self.changed.send(job);
        }
        Ok(outcomes)
    }

    /// Which of the events could not be used if they came next.
    pub(crate) fn unusable(&self, job: Id, events: &[Sealed]) -> Result<Vec<Unusable>, StoreError> {
        let Some(folded) = self.job(job)? else { return Ok(fold(events.iter().map(Sealed::event)).unusable) };
        // What is in the record already, and is sent again since its receipt was lost, gets that receipt.
        let new: Vec<&Event> = events.iter().map(Sealed::event).filter(|event| !folded.holds(event.id)).collect();
        if let Some(unusable) = unusable_next(&folded.standing, &new) {
            return Ok(unusable);
        }
        let standing = folded.next(&new);
        let is_new = |unusable: &Unusable| new.iter().any(|event| event.id == unusable.event);
        Ok(standing.unusable.into_iter().filter(is_new).collect())
    }

    /// Keeps bytes beside the records.
    pub(crate) fn keep(&self, bytes: &[u8]) -> Result<Digest, StoreError> {
        self.store.keep(bytes)
    }

    /// Takes a part of bytes that come in parts. When the last is there, the pages that are open on the job that they are said to be of are told.
    pub(crate) fn keep_part(&self, part: Part<'_>, job: Option<Id>) -> Result<Parted, StoreError> {
        let parted = self.store.keep_part(part, &self.now())?;
        if let (Parted::Taken(There::Whole), Some(job)) = (parted, job) {
            let _ = self.changed.send(job);
        }
        Ok(parted)
    }

    /// How much is there of what comes in parts.
    pub(crate) fn there(&self, digest: Digest) -> Result<There, StoreError> {
        self.store.there(digest)
    }

    /// What is kept under a hash.
    pub(crate) fn kept(&self, digest: Digest) -> Result<Option<Vec<u8>>, StoreError> {
        self.store.kept(digest)
    }

    /// Is told of every job to which something came from now on.
    pub(crate) fn listen(&self) -> Receiver<Id> {
        self.changed.subscribe()
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

    /// A job that is here, as it stands now.
    ///
    /// # Errors
    /// `NoJob` where there is none.
    pub(crate) fn folded(&self, id: Id) -> Result<Folded, Failure> {
        self.job(id)?.ok_or(Failure::NoJob)
    }

    /// A job as it stands now; none where there is no such job. Only what came since it was last looked at is read.
    pub(crate) fn job(&self, id: Id) -> Result<Option<Folded>, StoreError> {
        let slot = {
            let mut kept = self.folded.lock().unwrap_or_else(PoisonError::into_inner);
            if kept.len() >= MOST_FOLDED && !kept.contains_key(&id) {
                kept.clear();
            }
            Arc::clone(kept.entry(id).or_default())
        };
        // Whoever asks while it is folded waits for that: fifty devices cost one fold.
        let mut known = slot.lock().unwrap_or_else(PoisonError::into_inner);
        let from = known.as_ref().map_or(0, |folded| folded.head.seq) + 1;
        let since = self.store.events(id, from)?;
        if !since.is_empty() {
            *known = match known.take() {
                Some(folded) => Some(folded.on(&since)),
                None => Folded::of(&since),
            };
        }
        Ok(known.clone())
    }
}
