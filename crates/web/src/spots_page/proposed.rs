//! The panel that a test spot is proposed on: the thickest original film that a gauge reads.

use lastmicron_film::gauge::Substrate;
use lastmicron_plan::survey::{PanelSurvey, Word};
use lastmicron_plan::{CarPanel, RESPRAYED};

/// A panel, and whether its paint is taken for original.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Proposed {
    pub(super) panel: usize,
    pub(super) is_original: bool,
}

/// Whether a spot is proposed on it at all: never where it stays as it is or was gone through, nor on plastic, which no magnetic or eddy-current gauge reads
/// through to.
fn is_fit(panel: &CarPanel) -> bool {
    panel.may_be_worked() && panel.panel.substrate != Substrate::Plastic
}

/// The panel to propose: of those that were read, the one whose thinnest place likely has the most topcoat; one that was resprayed, or of which something else
/// is stated than of the vehicle, only where there is no other. None where no fit panel was read.
pub(super) fn proposed(panels: &[CarPanel], surveys: &[PanelSurvey], is_whole: bool) -> Option<Proposed> {
    let is_original = |at: usize| panels[at].undercoat.is_none() && surveys[at].respray <= RESPRAYED;
    let read = panels.iter().zip(surveys).enumerate().filter(|(_, (panel, _))| is_fit(panel));
    let smallest = read.filter_map(|(at, (_, survey))| {
        let um = survey.film.as_ref()?.smallest_um.mean;
        um.is_finite().then(|| (Proposed { panel: at, is_original: is_original(at) }, um))
    });
    // What bears nothing as far as it is known comes last: further readings may tell that it does.
    let bears = |at: usize| !is_whole || surveys[at].verdict.word != Word::LeaveAlone;
    let rank = |of: &Proposed| (bears(of.panel), of.is_original);
    let thickest = smallest.max_by(|(one, um), (other, other_um)| rank(one).cmp(&rank(other)).then(um.total_cmp(other_um)));
    thickest.map(|(proposed, _)| proposed)
}
