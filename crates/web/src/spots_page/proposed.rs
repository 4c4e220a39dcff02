//! The panel that a test spot is proposed on: the thickest original film that a gauge reads.

use lastmicron_film::gauge::Substrate;
use lastmicron_plan::survey::PanelSurvey;
use lastmicron_plan::{CarPanel, Outcome};

/// From this chance on a panel is taken for resprayed. Judgement: the plan warns from the same chance on; a high reading is no licence, for what was added
/// may be filler or primer.
const RESPRAYED: f64 = 0.3;

/// A panel, and whether its paint is taken for original.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Proposed {
    pub(super) panel: usize,
    pub(super) is_original: bool,
}

/// Whether a spot may be marked on it at all: never where it stays as it is, nor on plastic, which no magnetic or eddy-current gauge reads through to.
fn is_fit(panel: &CarPanel) -> bool {
    panel.work && panel.panel.substrate != Substrate::Plastic
}

/// The panel to propose: of those that were read, the one whose thinnest place likely has the most topcoat; one that was resprayed, or of which something else
/// is stated than of the vehicle, only where there is no other. None where no fit panel was read.
pub(super) fn proposed(panels: &[CarPanel], surveys: &[PanelSurvey], outcome: Option<&Outcome>) -> Option<Proposed> {
    let chance = |at: usize| outcome.and_then(|outcome| outcome.plan.panels.get(at)).map_or(0.0, |panel| panel.respray);
    let is_original = |at: usize| panels[at].undercoat.is_none() && chance(at) <= RESPRAYED;
    let read = panels.iter().zip(surveys).enumerate().filter(|(_, (panel, _))| is_fit(panel));
    let smallest = read.filter_map(|(at, (_, survey))| {
        let um = survey.film.as_ref()?.smallest_um.mean;
        um.is_finite().then(|| (Proposed { panel: at, is_original: is_original(at) }, um))
    });
    let thickest = smallest.max_by(|(one, um), (other, other_um)| one.is_original.cmp(&other.is_original).then(um.total_cmp(other_um)));
    thickest.map(|(proposed, _)| proposed)
}
