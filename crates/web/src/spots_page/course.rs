//! What comes after what on a test spot: mark, read, count, work one set, wipe, look, read again.

/// How far a spot has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Course {
    /// Whether it was read, often enough, before any set; or no gauge reads it.
    pub(super) is_read: bool,
    /// Whether it was counted or looked at before any set.
    pub(super) is_counted: bool,
    /// Whether a set was worked on it.
    pub(super) is_worked: bool,
    /// Whether it was looked at after the last set and a wipe.
    pub(super) is_looked_at: bool,
    /// Whether it is to be read after the last set.
    pub(super) again: Again,
}

/// Whether readings after the last set are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Again {
    /// They would tell what sets took.
    Wanted,
    /// They have told.
    Done,
    /// They would tell nothing.
    NoUse,
}

/// What comes next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Next {
    /// It is read before any set.
    Read,
    /// Its defects are counted before any set.
    Count,
    /// One set is worked.
    Set,
    /// It is wiped and looked at.
    Look,
    /// It is read again.
    ReadAgain,
    /// It is enough, or one more set is worked.
    Decide,
}

/// How a step stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum State {
    /// It was taken.
    Done,
    /// It is the next.
    Next,
    /// It comes later.
    Waits,
    /// It was left out, or is of no use.
    LeftOut,
}

impl Course {
    /// What comes next. Counting comes before the first set: what survives a set tells how deep the defects are only beside what was there before.
    pub(super) const fn next(self) -> Next {
        match (self.is_worked, self.again) {
            (false, _) if !self.is_read => Next::Read,
            (false, _) if !self.is_counted => Next::Count,
            (false, _) => Next::Set,
            (true, _) if !self.is_looked_at => Next::Look,
            (true, Again::Wanted) => Next::ReadAgain,
            (true, Again::Done | Again::NoUse) => Next::Decide,
        }
    }

    /// Every step by its name, in order, and how it stands.
    pub(super) fn steps(self) -> [(&'static str, State); 7] {
        let next = self.next();
        let stands = |is_done: bool, of: Next, otherwise: State| match (next == of, is_done) {
            (true, _) => State::Next,
            (false, true) => State::Done,
            (false, false) => otherwise,
        };
        let before = |is_done: bool, of: Next| stands(is_done, of, if self.is_worked { State::LeftOut } else { State::Waits });
        let look = stands(self.is_worked && self.is_looked_at, Next::Look, State::Waits);
        let again = if next == Next::Decide && self.again == Again::NoUse { State::LeftOut } else { State::Waits };
        [
            ("mark", State::Done),
            ("read", before(self.is_read, Next::Read)),
            ("count", before(self.is_counted, Next::Count)),
            ("work one set", stands(self.is_worked, Next::Set, State::Waits)),
            ("wipe", look),
            ("look", look),
            ("read again", stands(next == Next::Decide && self.again == Again::Done, Next::ReadAgain, again)),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MARKED: Course = Course { is_read: false, is_counted: false, is_worked: false, is_looked_at: false, again: Again::Wanted };

    #[test]
    fn a_spot_goes_its_course_a_step_at_a_time() {
        let read = Course { is_read: true, ..MARKED };
        let counted = Course { is_counted: true, ..read };
        let worked = Course { is_worked: true, ..counted };
        let looked_at = Course { is_looked_at: true, ..worked };
        let read_again = Course { again: Again::Done, ..looked_at };
        let course = [MARKED, read, counted, worked, looked_at, read_again];
        let next = [Next::Read, Next::Count, Next::Set, Next::Look, Next::ReadAgain, Next::Decide];
        assert_eq!(course.map(Course::next), next);
        let stands = |of: Course| of.steps().map(|(_, state)| state);
        use State::{Done, Next as Now, Waits};
        assert_eq!(stands(MARKED), [Done, Now, Waits, Waits, Waits, Waits, Waits]);
        assert_eq!(stands(counted), [Done, Done, Done, Now, Waits, Waits, Waits]);
        assert_eq!(stands(worked), [Done, Done, Done, Done, Now, Now, Waits]);
        assert_eq!(stands(looked_at), [Done, Done, Done, Done, Done, Done, Now]);
        assert_eq!(stands(read_again), [Done; 7]);
    }

    #[test]
    fn what_was_left_out_before_the_first_set_is_not_asked_for_after_it() {
        let worked = Course { is_worked: true, again: Again::NoUse, ..MARKED };
        assert_eq!(worked.next(), Next::Look);
        assert_eq!(worked.steps()[1..3], [("read", State::LeftOut), ("count", State::LeftOut)]);
        let looked_at = Course { is_looked_at: true, ..worked };
        assert_eq!((looked_at.next(), looked_at.steps()[6]), (Next::Decide, ("read again", State::LeftOut)));
    }
}
