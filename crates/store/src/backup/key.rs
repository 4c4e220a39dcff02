//! The key of encrypted backups: its public half beside the record, its secret half with the person alone.

use std::fmt;
use std::fs;
use std::io::{self, Read};
use std::iter;
use std::path::Path;

use age::secrecy::ExposeSecret as _;
use lastmicron_job::event::When;
use serde::{Deserialize, Serialize};

use super::note;
use crate::error::StoreError;

/// The note's name beside the record.
const NOTE: &str = "backup-key.json";
/// What is encrypted to try a key: which bytes does not matter.
const PROBE: &[u8] = b"lastmicron";

/// The secret half (an age X25519 identity): whoever has it reads every backup that was encrypted for it. It is kept nowhere here.
pub struct BackupIdentity(pub(super) age::x25519::Identity);

impl fmt::Debug for BackupIdentity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("BackupIdentity")
    }
}

impl BackupIdentity {
    /// A new one, of the system's random bytes.
    #[must_use]
    pub fn generate() -> Self {
        Self(age::x25519::Identity::generate())
    }

    /// Reads it as it was typed from its sheet or stands in its file: in groups or not, in capitals or not; lines that begin with `#` say nothing.
    ///
    /// # Errors
    /// [`StoreError::NotAKey`]: a letter that was misread shows, since a key has a sum of its letters in it.
    pub fn read(text: &str) -> Result<Self, StoreError> {
        let lines = text.lines().filter(|line| !line.trim_start().starts_with('#'));
        let letters: String = lines.flat_map(str::chars).filter(|c| !c.is_whitespace()).map(|c| c.to_ascii_uppercase()).collect();
        letters.parse().map(Self).map_err(|_| StoreError::NotAKey)
    }

    /// The key in letters: a secret.
    #[must_use]
    pub fn secret(&self) -> String {
        self.0.to_string().expose_secret().to_owned()
    }

    /// Its public half in letters.
    #[must_use]
    pub fn recipient(&self) -> String {
        self.0.to_public().to_string()
    }

    /// The file that holds it, as other programs that read age take it: a secret.
    #[must_use]
    pub fn file(&self, made: &When) -> String {
        format!("# created: {made}\n# public key: {}\n{}\n", self.recipient(), self.secret())
    }
}

/// The public half, as noted beside the record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BackupKey {
    /// Whom backups are encrypted for (an age X25519 recipient).
    pub recipient: String,
    /// When it was made.
    pub made: When,
    /// When the secret half was given back first, and opened what was encrypted. Before that no backup is encrypted: a key that nobody has would lock everything away.
    pub checked: Option<When>,
}

impl BackupKey {
    /// The note beside the record in a folder; none where no key was made.
    ///
    /// # Errors
    /// [`StoreError::KeyNote`] for one that can't be read: backups are then neither encrypted nor plain, since either might not be wanted.
    pub fn read(record: &Path) -> Result<Option<Self>, StoreError> {
        let path = record.join(NOTE);
        let wrong = |why: String| StoreError::KeyNote { path: path.clone(), why };
        match fs::read(&path) {
            Ok(bytes) => serde_json::from_slice(&bytes).map(Some).map_err(|error| wrong(error.to_string())),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(wrong(error.to_string())),
        }
    }

    /// The other key that it takes the place of when it is noted beside a record; none where there is no other.
    ///
    /// # Errors
    /// [`StoreError::KeyInUse`] where backups are encrypted for another already.
    pub fn takes_the_place_of(&self, record: &Path) -> Result<Option<Self>, StoreError> {
        match Self::read(record)?.filter(|other| other.recipient != self.recipient) {
            Some(other) if other.checked.is_some() => Err(StoreError::KeyInUse(record.join(NOTE))),
            other => Ok(other),
        }
    }

    /// Notes it beside a record.
    ///
    /// # Errors
    /// As [`takes_the_place_of`](Self::takes_the_place_of), and when it can't be written.
    pub fn note(&self, record: &Path) -> Result<(), StoreError> {
        self.takes_the_place_of(record)?;
        note::write(record, NOTE, self)
    }

    /// Encrypts a few bytes for this key, and opens them with the secret half that was given back.
    ///
    /// # Errors
    /// [`StoreError::OtherKey`] when it is the half of another.
    pub fn prove(&self, identity: &BackupIdentity) -> Result<(), StoreError> {
        let other = || StoreError::OtherKey(self.recipient.clone());
        let recipient = self.age()?;
        let encrypted = age::encrypt(&recipient, PROBE).map_err(|error| StoreError::Encrypting(error.to_string()))?;
        let mut opened = Vec::new();
        let mut reader = age::Decryptor::new(encrypted.as_slice())
            .and_then(|decryptor| decryptor.decrypt(iter::once(&identity.0 as &dyn age::Identity)))
            .map_err(|_| other())?;
        reader.read_to_end(&mut opened).map_err(|_| other())?;
        if opened == PROBE { Ok(()) } else { Err(other()) }
    }

    /// The recipient as the encrypting has it.
    pub(super) fn age(&self) -> Result<age::x25519::Recipient, StoreError> {
        self.recipient.parse().map_err(|why: &str| StoreError::Encrypting(format!("{} in {NOTE} is no recipient: {why}", self.recipient)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn when() -> When {
        "2024-05-01T09:30:00Z".parse().unwrap()
    }

    #[test]
    fn a_key_is_read_as_it_is_typed_and_a_misread_letter_shows() {
        let identity = BackupIdentity::generate();
        let secret = identity.secret();
        assert!(secret.starts_with("AGE-SECRET-KEY-1") && secret.len() == 74, "a key of {} letters", secret.len());
        let (head, tail) = secret.split_at(16);
        let groups: Vec<&str> = tail.as_bytes().chunks(4).map(|group| std::str::from_utf8(group).unwrap()).collect();
        for typed in [secret.clone(), format!("  {head}\n{}\n", groups.join(" ")), secret.to_ascii_lowercase(), identity.file(&when())] {
            assert_eq!(BackupIdentity::read(&typed).unwrap().recipient(), identity.recipient());
        }
        for at in 16..74 {
            let other = if secret.as_bytes()[at] == b'Q' { "P" } else { "Q" };
            let mut misread = secret.clone();
            misread.replace_range(at..=at, other);
            assert_eq!(BackupIdentity::read(&misread).unwrap_err(), StoreError::NotAKey, "letter {at}");
        }
        for text in ["", "# nothing", &secret[..73], &identity.recipient()] {
            assert_eq!(BackupIdentity::read(text).unwrap_err(), StoreError::NotAKey, "{text}");
        }
        assert!(!format!("{identity:?}").contains("AGE"));
    }

    #[test]
    fn a_key_proves_itself_and_no_other_does() {
        let identity = BackupIdentity::generate();
        let key = BackupKey { recipient: identity.recipient(), made: when(), checked: None };
        assert_eq!(key.prove(&identity), Ok(()));
        assert_eq!(key.prove(&BackupIdentity::generate()), Err(StoreError::OtherKey(key.recipient.clone())));
        let none = BackupKey { recipient: "age1nobody".to_owned(), ..key };
        assert!(matches!(none.prove(&identity), Err(StoreError::Encrypting(_))));
    }

    #[test]
    fn a_key_that_is_relied_on_is_not_replaced_and_one_that_was_never_given_back_is() {
        let room = tempfile::tempdir().unwrap();
        let key = |checked| BackupKey { recipient: BackupIdentity::generate().recipient(), made: when(), checked };
        assert_eq!(BackupKey::read(room.path()), Ok(None));
        let (first, second) = (key(None), key(Some(when())));
        for key in [&first, &second] {
            key.note(room.path()).unwrap();
            assert_eq!(BackupKey::read(room.path()), Ok(Some(key.clone())));
        }
        assert_eq!(first.note(room.path()), Err(StoreError::KeyInUse(room.path().join(NOTE))));
        assert_eq!(BackupKey::read(room.path()), Ok(Some(second)));
        fs::write(room.path().join(NOTE), "{").unwrap();
        assert!(matches!(BackupKey::read(room.path()), Err(StoreError::KeyNote { .. })));
        assert!(matches!(first.note(room.path()), Err(StoreError::KeyNote { .. })));
    }
}
