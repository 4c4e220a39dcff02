//! How often somebody may guess.

use std::collections::BTreeMap;
use std::net::IpAddr;

/// Guesses that are answered at once.
pub const BURST: u32 = 10;
/// How long is waited for after the first guess beyond those, seconds; after each further one twice as long.
const FIRST_S: i64 = 60;
/// The longest that is waited for, seconds: a quarter of an hour. Nobody is locked out for good.
pub const LONGEST_S: i64 = 15 * 60;
/// How long after the last guess it is forgotten, seconds: a day. Sooner, and a burst would come again and again.
const FORGOTTEN_S: i64 = 24 * 3600;
/// Most who are remembered. Judgement: a workshop has some dozen devices; beyond it whoever guessed longest ago is forgotten.
const MOST: usize = 4096;

/// Where a guess comes from: an address, or for the newer kind the network that a household has (RFC 6177: at least 64 bits of it).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Source {
    /// An address.
    Address(IpAddr),
    /// It is not known: all of those are one.
    Unknown,
}

impl Source {
    /// Of an address.
    #[must_use]
    pub fn of(address: IpAddr) -> Self {
        Self::Address(match address.to_canonical() {
            IpAddr::V6(address) => {
                let mut octets = address.octets();
                octets[8..].fill(0);
                IpAddr::from(octets)
            }
            older @ IpAddr::V4(_) => older,
        })
    }
}

/// Guesses of each of many: accounts, or addresses.
#[derive(Clone, Debug)]
pub struct Throttle<K> {
    guesses: BTreeMap<K, Guesses>,
}

#[derive(Clone, Copy, Debug)]
struct Guesses {
    count: u32,
    last_s: i64,
}

impl<K> Default for Throttle<K> {
    fn default() -> Self {
        Self { guesses: BTreeMap::new() }
    }
}

impl<K: Ord + Copy> Throttle<K> {
    /// Lets a guess through, which counts as wrong until [`forget`](Self::forget) says otherwise: many at once are as many. One that is not let through
    /// does not count.
    ///
    /// # Errors
    /// The seconds to wait, at most [`LONGEST_S`].
    pub fn ask(&mut self, who: K, now_s: i64) -> Result<(), i64> {
        let wait_s = self.wait_s(who, now_s);
        if wait_s > 0 {
            return Err(wait_s);
        }
        if self.guesses.len() >= MOST && !self.guesses.contains_key(&who) {
            let oldest = self.guesses.iter().min_by_key(|(_, guesses)| guesses.last_s).map(|(who, _)| *who);
            oldest.map(|oldest| self.guesses.remove(&oldest));
        }
        let guesses = self.guesses.entry(who).or_insert(Guesses { count: 0, last_s: now_s });
        *guesses = Guesses { count: guesses.count.saturating_add(1), last_s: now_s };
        Ok(())
    }

    /// Seconds until the next guess is let through; none where it is at once.
    pub fn wait_s(&mut self, who: K, now_s: i64) -> i64 {
        let Some(guesses) = self.guesses.get_mut(&who) else { return 0 };
        // A clock that was set back makes nobody wait for longer.
        guesses.last_s = guesses.last_s.min(now_s);
        if now_s - guesses.last_s >= FORGOTTEN_S {
            self.guesses.remove(&who);
            return 0;
        }
        let beyond = guesses.count.saturating_sub(BURST);
        let pause_s = if guesses.count < BURST { 0 } else { FIRST_S.saturating_mul(1 << beyond.min(8)).min(LONGEST_S) };
        (guesses.last_s + pause_s - now_s).max(0)
    }

    /// Forgets the guesses of somebody who was right.
    pub fn forget(&mut self, who: K) {
        self.guesses.remove(&who);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// When guesses are let through by one who tries each second.
    fn let_through(seconds: i64) -> Vec<i64> {
        let mut throttle = Throttle::default();
        (0..seconds).filter(|now| throttle.ask('a', *now).is_ok()).collect()
    }

    #[test]
    fn ten_at_once_then_after_a_minute_and_twice_as_long_up_to_a_quarter_of_an_hour() {
        let at = let_through(6000);
        assert_eq!(at[..10], [0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
        let pauses: Vec<i64> = at[9..].windows(2).map(|pair| pair[1] - pair[0]).collect();
        assert_eq!(pauses, [60, 120, 240, 480, 900, 900, 900, 900, 900]);
        // A day of it: 10, 5 while the pause grows, and 4 an hour.
        let day = let_through(24 * 3600).len();
        assert!((100..=115).contains(&day), "{day}");
    }

    #[test]
    fn many_at_once_are_as_many_and_one_does_not_wait_for_another() {
        let mut throttle = Throttle::default();
        let through = (0..1000).filter(|_| throttle.ask('a', 0).is_ok()).count();
        assert_eq!(through, 10);
        assert_eq!((throttle.ask('a', 0), throttle.ask('b', 0)), (Err(60), Ok(())));
        throttle.forget('a');
        assert_eq!(throttle.ask('a', 0), Ok(()));
    }

    #[test]
    fn nobody_is_locked_out_for_good_whatever_the_clock_does() {
        let mut throttle = Throttle::default();
        for n in 0..1000 {
            let _ = throttle.ask('a', n * LONGEST_S);
        }
        let last = 999 * LONGEST_S;
        for now in [last, last + 1, last - 1_000_000, -1_000_000_000] {
            let wait = throttle.wait_s('a', now);
            assert!((1..=LONGEST_S).contains(&wait), "{wait} at {now}");
            assert_eq!(throttle.clone().ask('a', now + wait), Ok(()));
        }
        assert_eq!(throttle.wait_s('a', last + FORGOTTEN_S), 0);
    }

    #[test]
    fn no_more_are_remembered_than_there_is_room_for() {
        let mut throttle = Throttle::default();
        for who in 0..10_000_i64 {
            assert_eq!(throttle.ask(who, who), Ok(()));
        }
        assert_eq!(throttle.guesses.len(), MOST);
    }

    #[test]
    fn a_household_is_one_source_and_an_older_address_is_the_same_however_it_is_written() {
        let of = |text: &str| Source::of(text.parse().unwrap());
        assert_eq!(of("2001:db8:1:2::1"), of("2001:db8:1:2:ffff::9"));
        assert_ne!(of("2001:db8:1:2::1"), of("2001:db8:1:3::1"));
        assert_eq!(of("192.0.2.7"), of("::ffff:192.0.2.7"));
        assert_ne!(of("192.0.2.7"), of("192.0.2.8"));
    }
}
