//! The plan that binds the work: the one that was accepted last, as it was kept.

use lastmicron_folder::planned::Planned;
use lastmicron_job::fold::Standing;
use lastmicron_store::StoreError;

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
        let kept = match shop.kept(last.said.plan) {
            Ok(kept) => kept.and_then(|bytes| Planned::read(&bytes).ok()),
            // Of what has other bytes than it had every page says so; what is known of the job is shown all the same.
            Err(StoreError::Damaged(_)) => None,
            Err(error) => return Err(error.into()),
        };
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
