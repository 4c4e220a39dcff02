//! People.

use lastmicron_job::event::Id;

use crate::role::Role;
use crate::secret::Kept;

/// Longest name, in characters: as long as an event's.
const LONGEST: usize = 60;

/// Somebody who is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// Their own.
    pub id: Id,
    /// Name or initials, as their events have it.
    pub name: String,
    /// What they are in the workshop.
    pub role: Role,
    /// Their PIN or passphrase, hashed; none until they choose one.
    pub secret: Option<Kept>,
    /// When they became known, seconds since 1970.
    pub since_s: i64,
    /// When an owner removed them, seconds since 1970.
    pub removed_s: Option<i64>,
}

/// A text that is nobody's name.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this is no name: give a name or initials of at most {LONGEST} characters, not a number")]
pub struct NotAName;

/// A name, on one line and without blanks at its ends. A number is none: it would be a gauge that sent it.
///
/// # Errors
/// [`NotAName`].
pub fn name(text: &str) -> Result<String, NotAName> {
    let name = text.trim();
    let is_number = name.chars().all(|c| c.is_ascii_digit() || " .,-".contains(c));
    let is_name = !is_number && name.chars().count() <= LONGEST && !name.chars().any(char::is_control);
    if is_name { Ok(name.to_owned()) } else { Err(NotAName) }
}

impl Person {
    /// Whether they still belong to the workshop.
    #[must_use]
    pub const fn is_here(&self) -> bool {
        self.removed_s.is_none()
    }

    /// Whether a name would be taken for theirs.
    #[must_use]
    pub fn is_called(&self, name: &str) -> bool {
        self.name.to_lowercase() == name.to_lowercase()
    }
}

/// Whether somebody may be removed: all but the last owner.
#[must_use]
pub fn removable(people: &[Person], id: Id) -> bool {
    let is_owner = |person: &&Person| person.is_here() && person.role == Role::Owner;
    people.iter().filter(is_owner).any(|owner| owner.id != id)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn person(n: u64, role: Role, removed_s: Option<i64>) -> Person {
        Person { id: Id::made_at(n, [0; 10]), name: "J. \u{c4}.".to_owned(), role, secret: None, since_s: 0, removed_s }
    }

    #[test]
    fn a_name_is_no_number_and_stands_on_one_line() {
        assert_eq!(name("  J. \u{c4}. "), Ok("J. \u{c4}.".to_owned()));
        for text in ["", "  ", "66.1", "1,2-3", "a\nb", &"x".repeat(61)] {
            assert_eq!(name(text), Err(NotAName), "{text}");
        }
        let one = person(1, Role::Helper, None);
        assert_eq!(["j. \u{e4}.", "J."].map(|name| one.is_called(name)), [true, false]);
    }

    #[test]
    fn the_last_owner_stays() {
        let [owner, gone, helper] = [person(1, Role::Owner, None), person(2, Role::Owner, Some(9)), person(3, Role::Helper, None)];
        let people = [owner.clone(), gone.clone(), helper.clone()];
        assert_eq!([&owner, &helper].map(|one| removable(&people, one.id)), [false, true]);
        let two = [owner.clone(), person(4, Role::Owner, None)];
        assert!(removable(&two, owner.id));
    }
}
