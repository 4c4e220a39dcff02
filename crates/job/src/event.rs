//! What happened on a job, as a device said it.
//!
//! An event is never edited: what was wrong is struck out by a later one. Numbers are decimal text as they were entered, with their unit beside
//! them or in the field's name; [`fold`](crate::fold) reads them.

mod digest;
mod field;
mod id;
mod measured;
mod said;
mod shop;
mod spot;
mod terms;
mod thing;
mod vehicle;
mod when;
mod work;

pub use digest::{Digest, NotADigest};
pub use field::Field;
pub use id::{Id, NotAnId};
pub use measured::{Check, GlossRead, ReadingTaken, SessionBegan, SessionEnded};
pub use said::{Film, MeanSd, Sets};
pub use shop::{Accuracy, EdgeStated, GaugeStated, MachineStated, PadStated, ProcessStated, ScatterStated, StageSaid, UseSaid};
pub use spot::{Seen, SpotJudged, SpotMarked};
pub use terms::{PlanAccepted, TermsAgreed};
pub use thing::Thing;
pub use vehicle::{LineSaid, PaintStated, PanelStated, UndercoatSaid, VehicleStated};
pub use when::{NotAnInstant, When};
pub use work::{
    EdgeKeptOff, GoneThrough, LeftAlone, LineKeptOff, Noted, PhotographAttached, Section, SetDone, StatusChanged, StruckOut, WentOn,
    WorkDone, WorkStarted, WorkStopped,
};

use serde::{Deserialize, Serialize};

/// One thing that happened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Event {
    /// Its own, made on the device.
    pub id: Id,
    /// The job that it belongs to.
    pub job: Id,
    /// When, as the device's clock said.
    pub when: When,
    /// The device.
    pub device: Id,
    /// Who said so, by the name or initials that the workshop knows them by.
    pub who: String,
    /// Where something is stated: the statements of the same thing that whoever stated it had before them, none in an empty list. Left out where that is not
    /// known: then it takes the place of all before it in the record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over: Option<Vec<Id>>,
    /// What happened.
    pub body: Body,
}

/// What happened. What is stated again under the same name, or again at all where there is but one, takes the place of what whoever stated it had before them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Body {
    /// The vehicle, with which a job begins.
    VehicleStated(VehicleStated),
    /// The paint.
    PaintStated(PaintStated),
    /// One panel.
    PanelStated(PanelStated),
    /// A gauge.
    GaugeStated(GaugeStated),
    /// A machine.
    MachineStated(MachineStated),
    /// A pad.
    PadStated(PadStated),
    /// A process.
    ProcessStated(ProcessStated),
    /// How much panels and sections differ.
    ScatterStated(ScatterStated),
    /// Extra removal near edges.
    EdgeStated(EdgeStated),
    /// Floor, spend, risk and goal, agreed.
    TermsAgreed(TermsAgreed),
    /// A gauge was taken up and checked.
    SessionBegan(SessionBegan),
    /// A gauge was checked again and laid down.
    SessionEnded(SessionEnded),
    /// A reading of the film.
    ReadingTaken(ReadingTaken),
    /// A reading of a gloss meter.
    GlossRead(GlossRead),
    /// A test spot was marked.
    SpotMarked(SpotMarked),
    /// A test spot was judged.
    SpotJudged(SpotJudged),
    /// Sets were done.
    SetDone(SetDone),
    /// A plan was accepted.
    PlanAccepted(PlanAccepted),
    /// Work on a section began.
    WorkStarted(WorkStarted),
    /// A section is done.
    WorkDone(WorkDone),
    /// A section was left before it was done.
    WorkStopped(WorkStopped),
    /// A panel or a section is left alone.
    LeftAlone(LeftAlone),
    /// The topcoat was gone through.
    GoneThrough(GoneThrough),
    /// Work on a panel that was gone through goes on.
    WentOn(WentOn),
    /// A photograph was taken.
    PhotographAttached(PhotographAttached),
    /// A note.
    Noted(Noted),
    /// An earlier event was a mistake.
    StruckOut(StruckOut),
    /// The vehicle arrived, is on the floor, or went home.
    StatusChanged(StatusChanged),
}

impl Body {
    /// The sheet, by its hash, that says who somebody is: it can be erased while the record stays whole.
    #[must_use]
    pub const fn sheet(&self) -> Option<Digest> {
        if let Self::VehicleStated(stated) = self {
            stated.owner
        } else if let Self::TermsAgreed(agreed) = self {
            agreed.with
        } else if let Self::PlanAccepted(accepted) = self {
            accepted.with
        } else {
            None
        }
    }

    /// What is kept beside the record and named here by its hash.
    #[must_use]
    pub fn references(&self) -> Vec<Digest> {
        match self {
            Self::VehicleStated(stated) => stated.owner.into_iter().collect(),
            Self::TermsAgreed(agreed) => agreed.with.into_iter().collect(),
            Self::PlanAccepted(accepted) => std::iter::once(accepted.plan).chain(accepted.with).collect(),
            Self::PhotographAttached(attached) => vec![attached.photograph],
            Self::PaintStated(_)
            | Self::PanelStated(_)
            | Self::GaugeStated(_)
            | Self::MachineStated(_)
            | Self::PadStated(_)
            | Self::ProcessStated(_)
            | Self::ScatterStated(_)
            | Self::EdgeStated(_)
            | Self::SessionBegan(_)
            | Self::SessionEnded(_)
            | Self::ReadingTaken(_)
            | Self::GlossRead(_)
            | Self::SpotMarked(_)
            | Self::SpotJudged(_)
            | Self::SetDone(_)
            | Self::WorkStarted(_)
            | Self::WorkDone(_)
            | Self::WorkStopped(_)
            | Self::LeftAlone(_)
            | Self::GoneThrough(_)
            | Self::WentOn(_)
            | Self::Noted(_)
            | Self::StruckOut(_)
            | Self::StatusChanged(_) => Vec::new(),
        }
    }
}
