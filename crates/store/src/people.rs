//! What a store of people does, whatever it keeps its rows in.

use lastmicron_access::{Device, Holding, KeptCode, Link, Person};
use lastmicron_job::event::{Digest, Id};

use crate::error::StoreError;

/// Somebody who signs in on a device.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignIn {
    /// The one-time code that they used, if one: it is used up.
    pub code: Option<Digest>,
    /// Who they are from now on, where that changes.
    pub person: Option<Person>,
    /// The device as it is from now on.
    pub device: Device,
    /// Whether it signs in as one that is known: then it must be so still.
    pub must_be_known: bool,
    /// The hash of what the device is known by from now on.
    pub token: Digest,
}

/// What became of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SignedIn {
    /// They are.
    Done,
    /// The code was used meanwhile, and nothing was done.
    CodeGone,
    /// Somebody else is called so, and nothing was done.
    NameTaken,
    /// The device was made unknown meanwhile, or the person was removed, and nothing was done.
    Gone,
}

/// People, the devices that they are known by, one-time codes, and links by which a client looks at a job. Of codes and links it has hashes only.
///
/// Calls block until they are done, and what they did is on the disk then; any thread may make them.
pub trait People: Send + Sync {
    /// Everybody who was ever known, in the order of their ids.
    ///
    /// # Errors
    /// [`StoreError`], here and in all the others.
    fn people(&self) -> Result<Vec<Person>, StoreError>;

    /// Puts somebody in, or what changed of them. Of those who were not removed, no two have the same name: then nothing is done and it is false.
    ///
    /// # Errors
    /// [`StoreError`].
    fn put_person(&self, person: &Person) -> Result<bool, StoreError>;

    /// Every device that is known, in the order of their ids.
    ///
    /// # Errors
    /// [`StoreError`].
    fn devices(&self) -> Result<Vec<Device>, StoreError>;

    /// The device that is known by what has this hash, or was so before the last sign-in.
    ///
    /// # Errors
    /// [`StoreError`].
    fn device(&self, token: Digest) -> Result<Option<(Device, Holding)>, StoreError>;

    /// Everybody who has signed in on a device.
    ///
    /// # Errors
    /// [`StoreError`].
    fn been_at(&self, device: Id) -> Result<Vec<Id>, StoreError>;

    /// Signs somebody in: the code, the person and the device, or nothing.
    ///
    /// # Errors
    /// [`StoreError`].
    fn sign_in(&self, sign_in: &SignIn) -> Result<SignedIn, StoreError>;

    /// Removes somebody, and makes unknown what only they use; false where they are not here, or are the only owner: then nothing is done.
    ///
    /// # Errors
    /// [`StoreError`].
    fn remove(&self, person: Id, removed_s: i64) -> Result<bool, StoreError>;

    /// Notes that somebody did something on a device, and that it has what it was given at the last sign-in: what it had before opens nothing any more.
    ///
    /// # Errors
    /// [`StoreError`].
    fn seen(&self, device: Id, active_s: i64) -> Result<(), StoreError>;

    /// Locks a device.
    ///
    /// # Errors
    /// [`StoreError`].
    fn lock(&self, device: Id) -> Result<(), StoreError>;

    /// Forgets a device.
    ///
    /// # Errors
    /// [`StoreError`].
    fn revoke(&self, device: Id) -> Result<(), StoreError>;

    /// Keeps a code; of those for the same person, or for the first owner, the last holds.
    ///
    /// # Errors
    /// [`StoreError`].
    fn put_code(&self, code: &KeptCode) -> Result<(), StoreError>;

    /// What is kept of the code with this hash.
    ///
    /// # Errors
    /// [`StoreError`].
    fn code(&self, hash: Digest) -> Result<Option<KeptCode>, StoreError>;

    /// Every link, in the order of their ids.
    ///
    /// # Errors
    /// [`StoreError`].
    fn links(&self) -> Result<Vec<Link>, StoreError>;

    /// Keeps a link, by the hash of its token.
    ///
    /// # Errors
    /// [`StoreError`].
    fn put_link(&self, link: &Link, token: Digest) -> Result<(), StoreError>;

    /// The link with a token of this hash.
    ///
    /// # Errors
    /// [`StoreError`].
    fn link(&self, token: Digest) -> Result<Option<Link>, StoreError>;

    /// Takes a link back.
    ///
    /// # Errors
    /// [`StoreError`].
    fn withdraw(&self, link: Id) -> Result<(), StoreError>;
}
