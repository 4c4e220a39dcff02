//! Roles, and what each may do.

use std::fmt;
use std::str::FromStr;

use lastmicron_job::event::Body;

/// What somebody is in the workshop. Whoever has a link to a job is neither: a [`Link`](crate::Link) shows that job and nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Answers for the workshop.
    Owner,
    /// Works in it.
    Helper,
}

/// A text that is no role.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this is no role: owner or helper")]
pub struct NotARole;

/// What somebody may be about to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Deed {
    /// Looks at jobs; records what is there, what was measured, tried and worked; keeps photographs and notes.
    Work,
    /// Agrees terms, accepts a plan, says where the vehicle is, takes any of these back.
    Agree,
    /// Takes records out and brings them in.
    CarryRecords,
    /// Says who may do what, on which devices, and who may look by a link.
    ManagePeople,
}

impl Role {
    /// Whether it may.
    #[must_use]
    pub const fn may(self, deed: Deed) -> bool {
        match self {
            Self::Owner => true,
            Self::Helper => matches!(deed, Deed::Work),
        }
    }
}

impl Deed {
    /// What recording such an event is. Striking out is the deed of what is struck out: whoever records it asks for that.
    #[must_use]
    pub const fn of(body: &Body) -> Self {
        match body {
            Body::TermsAgreed(_) | Body::PlanAccepted(_) | Body::StatusChanged(_) | Body::WentOn(_) => Self::Agree,
            Body::VehicleStated(_)
            | Body::PaintStated(_)
            | Body::PanelStated(_)
            | Body::GaugeStated(_)
            | Body::MachineStated(_)
            | Body::PadStated(_)
            | Body::ProcessStated(_)
            | Body::ScatterStated(_)
            | Body::EdgeStated(_)
            | Body::SessionBegan(_)
            | Body::SessionEnded(_)
            | Body::ReadingTaken(_)
            | Body::GlossRead(_)
            | Body::SpotMarked(_)
            | Body::SpotJudged(_)
            | Body::SetDone(_)
            | Body::WorkStarted(_)
            | Body::WorkDone(_)
            | Body::WorkStopped(_)
            | Body::LeftAlone(_)
            | Body::GoneThrough(_)
            | Body::PhotographAttached(_)
            | Body::Noted(_)
            | Body::StruckOut(_) => Self::Work,
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Owner => "owner",
            Self::Helper => "helper",
        })
    }
}

impl FromStr for Role {
    type Err = NotARole;

    fn from_str(text: &str) -> Result<Self, NotARole> {
        [Self::Owner, Self::Helper].into_iter().find(|role| role.to_string() == text).ok_or(NotARole)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_helper_works_and_an_owner_does_all_else_too() {
        let all = [Deed::Work, Deed::Agree, Deed::CarryRecords, Deed::ManagePeople];
        assert_eq!(all.map(|deed| Role::Helper.may(deed)), [true, false, false, false]);
        assert_eq!(all.map(|deed| Role::Owner.may(deed)), [true; 4]);
    }

    #[test]
    fn a_role_is_read_as_it_is_written() {
        for role in [Role::Owner, Role::Helper] {
            assert_eq!(role.to_string().parse(), Ok(role));
        }
        assert_eq!("Owner".parse::<Role>(), Err(NotARole));
    }
}
