//! The plan that binds the work: the one that was accepted last, as it was kept.

use lastmicron_folder::planned::Planned;
use lastmicron_job::fold::Standing;

use crate::failure::Failure;
use crate::shop::Shop;

/// The plan that was accepted last.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Accepted {
    /// None was.
    None,
    /// What was kept of it is gone or can't be read.
    Damaged,
    /// As it was accepted.
    Plan(Box<Planned>),
}

/// What is said of a plan that can't be read.
pub(crate) const DAMAGED: &str = "A plan was accepted, but what was kept of it is gone or damaged: the record holds only its hash. Make the plan anew and accept it before anything is worked.";

impl Accepted {
    /// The plan that was accepted last.
    ///
    /// # Errors
    /// When the store can't answer.
    pub(crate) fn of(shop: &Shop, standing: &Standing) -> Result<Self, Failure> {
        let Some(last) = standing.plans.last() else { return Ok(Self::None) };
        let kept = shop.kept(last.said.plan)?.and_then(|bytes| Planned::read(&bytes).ok());
        Ok(kept.map_or(Self::Damaged, |planned| Self::Plan(Box::new(planned))))
    }

    /// The plan, where there is one that can be read.
    pub(crate) fn plan(&self) -> Option<&Planned> {
        match self {
            Self::Plan(planned) => Some(planned.as_ref()),
            Self::None | Self::Damaged => None,
        }
    }
}
