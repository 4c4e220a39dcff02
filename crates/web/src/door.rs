//! Who may come in: people and their devices, with what guesses they have left.

use std::fmt;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use lastmicron_access::{Code, Grant, Kept, Person, Secret, Source, Throttle, Token, Verdict};
use lastmicron_job::event::Id;
use lastmicron_store::{People, StoreError};
use tokio::sync::Semaphore;

use crate::failure::Failure;
use crate::router::blocking;

/// Hashes of PINs that are computed at once: each takes 46 MiB and a core for a tenth of a second.
const HASHED_AT_ONCE: usize = 2;

/// People, chance, and guesses.
pub(crate) struct Door {
    pub(crate) people: Arc<dyn People>,
    random: Box<dyn Fn() -> Option<[u8; 32]> + Send + Sync>,
    accounts: Mutex<Throttle<Id>>,
    sources: Mutex<Throttle<Source>>,
    hashing: Semaphore,
    is_claimed: AtomicBool,
}

impl fmt::Debug for Door {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Door").finish_non_exhaustive()
    }
}

impl Door {
    pub(crate) fn new(people: Arc<dyn People>, random: impl Fn() -> Option<[u8; 32]> + Send + Sync + 'static) -> Self {
        Self {
            people,
            random: Box::new(random),
            accounts: Mutex::default(),
            sources: Mutex::default(),
            hashing: Semaphore::new(HASHED_AT_ONCE),
            is_claimed: AtomicBool::new(false),
        }
    }

    /// Whether there was ever an owner: the last one can't be removed.
    pub(crate) fn is_claimed(&self) -> Result<bool, StoreError> {
        if !self.is_claimed.load(Ordering::Acquire) && !self.people.people()?.is_empty() {
            self.is_claimed.store(true, Ordering::Release);
        }
        Ok(self.is_claimed.load(Ordering::Acquire))
    }

    pub(crate) fn first_code(&self, now_s: i64) -> Result<Option<String>, StoreError> {
        if self.is_claimed()? {
            return Ok(None);
        }
        let code = Code::of(&(self.random)().ok_or(StoreError::Closed)?);
        self.people.put_code(&code.kept(Grant::FirstOwner, now_s))?;
        Ok(Some(code.text()))
    }

    /// Who belongs to the workshop now.
    pub(crate) fn here(&self) -> Result<Vec<Person>, StoreError> {
        Ok(self.people.people()?.into_iter().filter(Person::is_here).collect())
    }

    /// Somebody who belongs to the workshop now.
    pub(crate) fn person(&self, id: Id) -> Result<Option<Person>, StoreError> {
        Ok(self.here()?.into_iter().find(|person| person.id == id))
    }

    pub(crate) fn random(&self) -> Result<[u8; 32], Failure> {
        (self.random)().ok_or(Failure::Inside)
    }

    pub(crate) fn token(&self) -> Result<Token, Failure> {
        Ok(Token::of(self.random()?))
    }

    pub(crate) fn id(&self, now_s: i64) -> Result<Id, Failure> {
        let [a, b, c, d, e, f, g, h, i, j, ..] = self.random()?;
        Ok(Id::made_at(u64::try_from(now_s).unwrap_or_default() * 1000, [a, b, c, d, e, f, g, h, i, j]))
    }

    /// Lets a guess from somewhere through.
    pub(crate) fn ask_source(&self, source: Source, now_s: i64) -> Result<(), Failure> {
        self.sources.lock().unwrap_or_else(PoisonError::into_inner).ask(source, now_s).map_err(|wait_s| Failure::Throttled { wait_s })
    }

    /// Lets a guess of somebody's PIN through.
    pub(crate) fn ask_account(&self, person: Id, now_s: i64) -> Result<(), Failure> {
        self.accounts.lock().unwrap_or_else(PoisonError::into_inner).ask(person, now_s).map_err(|wait_s| Failure::Throttled { wait_s })
    }

    pub(crate) fn forget_source(&self, source: Source) {
        self.sources.lock().unwrap_or_else(PoisonError::into_inner).forget(source);
    }

    pub(crate) fn forget_account(&self, person: Id) {
        self.accounts.lock().unwrap_or_else(PoisonError::into_inner).forget(person);
    }

    /// What is kept of a PIN or passphrase.
    pub(crate) async fn keep(&self, secret: Secret) -> Result<Kept, Failure> {
        let salt = *self.random()?.first_chunk::<16>().ok_or(Failure::Inside)?;
        let _one = self.hashing.acquire().await.map_err(|_| Failure::Inside)?;
        blocking(move || secret.kept(salt).map_err(|_| Failure::Inside)).await
    }

    /// Whether somebody's PIN or passphrase is this; with what is to be kept of it where that changes.
    pub(crate) async fn check(&self, kept: Kept, guess: &Secret) -> Result<Option<Kept>, Failure> {
        let verdict = {
            let _one = self.hashing.acquire().await.map_err(|_| Failure::Inside)?;
            let (kept, guess) = (kept.clone(), guess.clone());
            blocking(move || kept.check(&guess).map_err(|why| Failure::NotAllowed(why.to_string()))).await?
        };
        match verdict {
            Verdict::Wrong => Ok(None),
            Verdict::Right => Ok(Some(kept)),
            Verdict::RightKeptOtherwise => self.keep(guess.clone()).await.map(Some),
        }
    }
}
