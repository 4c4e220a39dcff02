//! Links by which a client looks at their job.

use lastmicron_job::event::Id;

/// A day, seconds.
const DAY_S: i64 = 24 * 3600;

/// How long a link shows its job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinkDays {
    /// A day.
    One,
    /// A week.
    Seven,
    /// A month.
    Thirty,
}

/// What is kept of a link to a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link {
    /// Its own.
    pub id: Id,
    /// The job that it shows, and nothing else.
    pub job: Id,
    /// When it was made, seconds since 1970.
    pub since_s: i64,
    /// When it ends, seconds since 1970.
    pub ends_s: i64,
    /// Whether it was taken back.
    pub is_withdrawn: bool,
}

impl LinkDays {
    /// All there are, the shortest first.
    pub const ALL: [Self; 3] = [Self::One, Self::Seven, Self::Thirty];

    /// How many.
    #[must_use]
    pub const fn days(self) -> i64 {
        match self {
            Self::One => 1,
            Self::Seven => 7,
            Self::Thirty => 30,
        }
    }

    /// That of so many days; none where there is no such choice.
    #[must_use]
    pub fn of(days: i64) -> Option<Self> {
        Self::ALL.into_iter().find(|choice| choice.days() == days)
    }
}

impl Link {
    /// A link that is made now.
    #[must_use]
    pub const fn made(id: Id, job: Id, lasts: LinkDays, now_s: i64) -> Self {
        Self { id, job, since_s: now_s, ends_s: now_s + lasts.days() * DAY_S, is_withdrawn: false }
    }

    /// Whether it shows its job.
    #[must_use]
    pub const fn is_usable(&self, now_s: i64) -> bool {
        now_s < self.ends_s && !self.is_withdrawn
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_ends_when_it_was_said_to_and_when_it_is_taken_back() {
        let [id, job] = [1, 2].map(|n| Id::made_at(n, [0; 10]));
        for (lasts, ends_s) in LinkDays::ALL.into_iter().zip([86_400, 604_800, 2_592_000]) {
            let link = Link::made(id, job, lasts, 0);
            assert_eq!([0, ends_s - 1, ends_s].map(|now| link.is_usable(now)), [true, true, false]);
            assert!(!Link { is_withdrawn: true, ..link }.is_usable(0));
            assert_eq!(LinkDays::of(lasts.days()), Some(lasts));
        }
        assert_eq!(LinkDays::of(365), None);
    }
}
