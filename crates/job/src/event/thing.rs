//! What is stated, and may be stated anew.

use super::Body;

/// A thing of a job that a statement is about; where there may be several, with its name.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing {
    /// The vehicle.
    Vehicle,
    /// The paint.
    Paint,
    /// How much panels and sections differ.
    Scatter,
    /// Extra removal near edges.
    Edge,
    /// The gauge of this name; "" is that which readings name none of.
    Gauge(String),
    /// The machine of this name.
    Machine(String),
    /// The pad of this name.
    Pad(String),
    /// The process of this name.
    Process(String),
    /// The panel of this name.
    Panel(String),
    /// The test spot of this name.
    Spot(String),
}

impl Thing {
    /// What an event states; none where it tells of something that happened.
    #[must_use]
    pub fn stated_by(body: &Body) -> Option<Self> {
        let named = |name: &str| name.trim().to_owned();
        Some(match body {
            Body::VehicleStated(_) => Self::Vehicle,
            Body::PaintStated(_) => Self::Paint,
            Body::ScatterStated(_) => Self::Scatter,
            Body::EdgeStated(_) => Self::Edge,
            Body::GaugeStated(said) => Self::Gauge(named(said.name.as_deref().unwrap_or_default())),
            Body::MachineStated(said) => Self::Machine(named(&said.name)),
            Body::PadStated(said) => Self::Pad(named(&said.name)),
            Body::ProcessStated(said) => Self::Process(named(&said.name)),
            Body::PanelStated(said) => Self::Panel(named(&said.name)),
            Body::SpotMarked(said) => Self::Spot(named(&said.spot)),
            Body::TermsAgreed(_)
            | Body::SessionBegan(_)
            | Body::SessionEnded(_)
            | Body::ReadingTaken(_)
            | Body::GlossRead(_)
            | Body::SpotJudged(_)
            | Body::SetDone(_)
            | Body::PlanAccepted(_)
            | Body::WorkStarted(_)
            | Body::WorkDone(_)
            | Body::WorkStopped(_)
            | Body::LeftAlone(_)
            | Body::GoneThrough(_)
            | Body::WentOn(_)
            | Body::PhotographAttached(_)
            | Body::Noted(_)
            | Body::StruckOut(_)
            | Body::StatusChanged(_) => return None,
        })
    }
}
