//! The keys of a workshop: the first, and each that took the place of the one before, by a statement signed with both.

use std::fmt;
use std::str::FromStr;

use lastmicron_job::event::When;

use crate::key::{NotAKey, PublicKey, SigningKey};
use crate::note::{NotANote, NotSigned, Note};

/// The first line of such a statement.
const HEADING: &str = "lastmicron/key-rotation";

/// Keys, each of which is to be believed because the one before says so; the first, because it is known from elsewhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Keys {
    keys: Vec<PublicKey>,
    rotations: Vec<Note>,
}

/// A text that does not lead from one key to the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotKeys {
    /// A key that is none.
    #[error(transparent)]
    Key(#[from] NotAKey),
    /// A statement that is no note.
    #[error(transparent)]
    Note(#[from] NotANote),
    /// A note that says something else.
    #[error("this does not say which key takes the place of which, and since when")]
    Text,
    /// Not signed by both keys.
    #[error("a key takes another's place only by a statement that both have signed: {0}")]
    NotSigned(#[from] NotSigned),
    /// A statement of another key than the one before it.
    #[error("the statements do not follow each other: one takes the place of a key that is not the last before it")]
    Order,
}

impl Keys {
    /// One key, from which it begins.
    #[must_use]
    pub fn of(first: PublicKey) -> Self {
        Self { keys: vec![first], rotations: Vec::new() }
    }

    /// All of them, oldest first: each may have signed what is being checked.
    #[must_use]
    pub fn all(&self) -> &[PublicKey] {
        &self.keys
    }

    /// Lets a key take the place of the last one, and gives the keys with it. `when` is by the clock of whoever signs.
    ///
    /// # Errors
    /// [`NotKeys::Order`] where `old` is not the last.
    pub fn rotated(mut self, old: &SigningKey, new: &SigningKey, when: &When) -> Result<Self, NotKeys> {
        let lines = [HEADING, &old.public().to_string(), &new.public().to_string(), when.as_str()];
        self.follow(Note::sign(&lines, &[old, new]))?;
        Ok(self)
    }

    /// Takes a statement, by which the last key is followed by another.
    fn follow(&mut self, note: Note) -> Result<(), NotKeys> {
        let (old, new) = statement(note.text())?;
        if self.keys.last() != Some(&old) {
            return Err(NotKeys::Order);
        }
        note.check(&[old])?;
        note.check(std::slice::from_ref(&new))?;
        self.keys.push(new);
        self.rotations.push(note);
        Ok(())
    }
}

/// The two keys of a statement.
fn statement(text: &str) -> Result<(PublicKey, PublicKey), NotKeys> {
    let lines: Vec<&str> = text.lines().collect();
    let [HEADING, old, new, when] = lines[..] else { return Err(NotKeys::Text) };
    when.parse::<When>().map_err(|_| NotKeys::Text)?;
    Ok((old.parse()?, new.parse()?))
}

/// The first key on a line of its own, then each statement.
impl fmt::Display for Keys {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(first) = self.keys.first() {
            writeln!(f, "{first}")?;
        }
        self.rotations.iter().try_for_each(|note| write!(f, "{note}"))
    }
}

impl FromStr for Keys {
    type Err = NotKeys;

    fn from_str(text: &str) -> Result<Self, NotKeys> {
        let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
        let mut keys = Self::of(first.parse()?);
        let mut notes: Vec<String> = Vec::new();
        for line in rest.split_inclusive('\n') {
            if line.trim_end_matches('\n') == HEADING {
                notes.push(String::new());
            }
            notes.last_mut().ok_or(NotKeys::Text)?.push_str(line);
        }
        notes.iter().try_for_each(|note| keys.follow(note.parse()?))?;
        Ok(keys)
    }
}
