//! Devices that are known.

use lastmicron_job::event::Id;

/// How long nobody touches a shared device until it locks, seconds: a quarter of an hour (OWASP, Session Management Cheat Sheet, from memory: 15 to 30
/// minutes where little is at risk).
pub const IDLE_S: i64 = 15 * 60;

/// How long somebody stays signed in on a device at most, seconds: 30 days; then it asks for the PIN or passphrase, and stays known.
pub const SIGNED_IN_S: i64 = 30 * 24 * 3600;

/// A device that is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Device {
    /// Its own.
    pub id: Id,
    /// What the workshop calls it.
    pub name: String,
    /// Whether several people use it: then it locks.
    pub is_shared: bool,
    /// Who is at it, or was last.
    pub person: Id,
    /// When it became known, seconds since 1970.
    pub since_s: i64,
    /// When they signed in, seconds since 1970.
    pub signed_in_s: i64,
    /// When somebody last did something on it, seconds since 1970.
    pub active_s: i64,
    /// Whether somebody locked it.
    pub is_locked: bool,
}

/// By what a device shows that it is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holding {
    /// By what it was given at the last sign-in.
    Current,
    /// By what it had before that: the answer to the sign-in was lost on its way. It is known, and no more than that.
    Previous,
}

impl Device {
    /// Whether it asks for a PIN or passphrase before anything else.
    #[must_use]
    pub const fn is_locked_at(&self, now_s: i64, holding: Holding) -> bool {
        let is_idle = self.is_shared && now_s - self.active_s >= IDLE_S;
        self.is_locked || is_idle || now_s - self.signed_in_s >= SIGNED_IN_S || matches!(holding, Holding::Previous)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn device(is_shared: bool) -> Device {
        let id = Id::made_at(0, [0; 10]);
        let name = "bay tablet".to_owned();
        Device { id, name, is_shared, person: id, since_s: 0, signed_in_s: 0, active_s: 1000, is_locked: false }
    }

    #[test]
    fn a_shared_device_locks_when_nobody_touches_it_and_any_after_thirty_days() {
        let at = |is_shared: bool, now: i64| device(is_shared).is_locked_at(now, Holding::Current);
        assert_eq!([1000, 1899, 1900].map(|now| at(true, now)), [false, false, true]);
        assert_eq!([1000, 1900, SIGNED_IN_S - 1, SIGNED_IN_S].map(|now| at(false, now)), [false, false, false, true]);
        // A clock that was set back locks nobody out.
        assert!(!at(true, -5000));
    }

    #[test]
    fn a_device_locks_by_hand_and_where_it_shows_what_it_had_before() {
        assert!(Device { is_locked: true, ..device(false) }.is_locked_at(1000, Holding::Current));
        assert!(device(false).is_locked_at(1000, Holding::Previous));
    }
}
