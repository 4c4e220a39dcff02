//! Records signed while the app runs: each when its vehicle has gone home, and once a day every one that has grown.

use std::collections::BTreeSet;
use std::io;
use std::path::Path;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::Builder;
use std::time::Duration;

use jiff::Timestamp;
use lastmicron_job::event::Id;
use lastmicron_store::{KeyFile, Sqlite, StoreError, sign_end, sign_ends};
use lastmicron_web::{Signs, signing_told_in_browser};

use crate::automatic::is_due;
use crate::serve::now;
use crate::trouble::Trouble;

/// What the workshop's keys are called where they sign.
const NAME: &str = "workshop";
/// How often it is looked at whether a day has passed, and what could not be signed is tried again. Judgement: as for backups.
const LOOKED_AT_EVERY: Duration = Duration::from_secs(600);

/// What signs.
#[derive(Debug)]
pub(crate) struct Signing {
    gone_home: Sender<Id>,
    trouble: Arc<Mutex<Option<String>>>,
}

impl Signing {
    /// Begins: signs every record that has grown since it was last signed. It ends with the program; what it has not signed by then is signed when it begins again.
    pub(crate) fn start(store: Arc<Sqlite>, records: &Path) -> io::Result<Self> {
        let trouble = Arc::<Mutex<Option<String>>>::default();
        let (gone_home, gone) = channel();
        let (told, keys) = (Arc::clone(&trouble), KeyFile::in_folder(records));
        Builder::new().name("signing".to_owned()).spawn(move || {
            let (mut due, mut trouble) = (Due::default(), Trouble::of("not everything was signed"));
            loop {
                let done = due.sign(&store, &keys, Timestamp::now());
                trouble.tell(done.as_ref().err());
                *told.lock().unwrap_or_else(PoisonError::into_inner) = done.err().as_ref().map(signing_told_in_browser);
                if !due.wait(&gone) {
                    break;
                }
            }
        })?;
        Ok(Self { gone_home, trouble })
    }
}

impl Signs for Signing {
    fn gone_home(&self, job: Id) {
        // Where the thread is gone, the program ends.
        let _ = self.gone_home.send(job);
    }

    fn trouble(&self) -> Option<String> {
        self.trouble.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// What is still to be signed.
#[derive(Debug, Default)]
struct Due {
    gone_home: BTreeSet<Id>,
    /// When all were last signed.
    last: Option<Timestamp>,
}

impl Due {
    /// Signs what is due; what can't be signed stays due.
    fn sign(&mut self, store: &Sqlite, keys: &KeyFile, time: Timestamp) -> Result<(), StoreError> {
        let mut random = [0; 32];
        getrandom::fill(&mut random).map_err(|error| StoreError::Database(format!("the system gives no random numbers: {error}")))?;
        let signer = keys.open(NAME, random)?;
        let received = now().ok_or_else(|| StoreError::Database("the system's time is beyond what a record holds".to_owned()))?;
        let mut failed = None;
        self.gone_home.retain(|job| match sign_end(store, *job, &signer, &received) {
            Ok(_) => false,
            Err(error) => {
                failed = failed.take().or(Some(error));
                true
            }
        });
        if is_due(time, self.last) {
            match sign_ends(store, &signer, &received) {
                Ok(_) => self.last = Some(time),
                Err(error) => failed = failed.take().or(Some(error)),
            }
        }
        failed.map_or(Ok(()), Err)
    }

    /// Waits for a vehicle to go home, or for the time to look again; false when nobody will tell any more.
    fn wait(&mut self, gone: &Receiver<Id>) -> bool {
        match gone.recv_timeout(LOOKED_AT_EVERY) {
            Ok(job) => {
                self.gone_home.insert(job);
                self.gone_home.extend(gone.try_iter());
                true
            }
            Err(RecvTimeoutError::Timeout) => true,
            Err(RecvTimeoutError::Disconnected) => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use lastmicron_record::Checkpoint;
    use lastmicron_store::{SIGNING_KEYS, Store as _};

    use super::*;

    fn sizes(store: &Sqlite, job: Id) -> Vec<u64> {
        store.checkpoints(job).unwrap().iter().map(|kept| Checkpoint::read(&kept.note).unwrap().size).collect()
    }

    #[test]
    fn all_are_signed_once_a_day_and_one_that_went_home_at_once() {
        let folder = tempfile::tempdir().unwrap();
        let (store, keys) = (Sqlite::open(folder.path()).unwrap(), KeyFile::in_folder(folder.path()));
        let noon: Timestamp = "2024-05-01T12:00:00Z".parse().unwrap();
        crate::demo::fill(&store, noon).unwrap();
        let jobs = store.jobs().unwrap();
        let mut due = Due::default();
        due.sign(&store, &keys, noon).unwrap();
        assert!(jobs.iter().all(|(job, head)| sizes(&store, *job) == [head.seq]) && jobs.len() == 3);
        // One grows: it is signed the next day, or when its vehicle goes home.
        let ((grown, head), (other, _)) = (jobs[0], jobs[1]);
        let mut event = store.events(grown, head.seq).unwrap()[0].event.clone();
        event.id = Id::made_at(1_800_000_000_000, [7; 10]);
        store.append(vec![lastmicron_record::Sealed::seal(event).unwrap()], now().unwrap()).unwrap();
        due.sign(&store, &keys, noon + jiff::SignedDuration::from_hours(23)).unwrap();
        assert_eq!(sizes(&store, grown), [head.seq]);
        let (tell, told) = channel();
        tell.send(grown).unwrap();
        assert!(due.wait(&told));
        due.sign(&store, &keys, noon + jiff::SignedDuration::from_hours(23)).unwrap();
        assert_eq!((sizes(&store, grown), due.gone_home.len()), (vec![head.seq, head.seq + 1], 0));
        due.sign(&store, &keys, noon + jiff::SignedDuration::from_hours(24)).unwrap();
        assert_eq!((sizes(&store, grown).len(), sizes(&store, other).len()), (2, 1));
        drop(tell);
        assert!(!due.wait(&told));
    }

    #[test]
    fn what_cannot_be_signed_is_told_and_stays_due() {
        let folder = tempfile::tempdir().unwrap();
        let (store, keys) = (Sqlite::open(folder.path()).unwrap(), KeyFile::in_folder(folder.path()));
        let noon: Timestamp = "2024-05-01T12:00:00Z".parse().unwrap();
        crate::demo::fill(&store, noon).unwrap();
        let job = store.jobs().unwrap()[0].0;
        std::fs::write(folder.path().join(SIGNING_KEYS), "no keys").unwrap();
        let mut due = Due { gone_home: BTreeSet::from([job]), last: None };
        let error = due.sign(&store, &keys, noon).unwrap_err().to_string();
        assert!(error.contains(SIGNING_KEYS), "{error}");
        assert_eq!((due.gone_home.len(), due.last, sizes(&store, job)), (1, None, vec![]));
        std::fs::remove_file(folder.path().join(SIGNING_KEYS)).unwrap();
        due.sign(&store, &keys, noon).unwrap();
        assert_eq!((due.gone_home.len(), due.last), (0, Some(noon)));
    }
}
