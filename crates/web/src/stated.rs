//! What states a thing now: the event that holds, in its own words. Forms that state it anew are laid over it, so that what they don't show stays.

use lastmicron_job::event::{Body, Event};
use lastmicron_job::fold::{Reason, Standing};
use serde_json::Value;

use crate::shop::Folded;

/// What is stated, and may be stated anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Thing<'a> {
    /// The vehicle.
    Vehicle,
    /// The paint.
    Paint,
    /// The panel of this name.
    Panel(&'a str),
    /// The gauge of this name; "" is that which readings name none of.
    Gauge(&'a str),
    /// The process of this name.
    Process(&'a str),
}

impl Thing<'_> {
    fn is_stated_by(self, body: &Body) -> bool {
        match (self, body) {
            (Self::Vehicle, Body::VehicleStated(_)) | (Self::Paint, Body::PaintStated(_)) => true,
            (Self::Panel(name), Body::PanelStated(said)) => said.name.trim() == name,
            (Self::Gauge(name), Body::GaugeStated(said)) => said.name.as_deref().unwrap_or_default().trim() == name,
            (Self::Process(name), Body::ProcessStated(said)) => said.name.trim() == name,
            _ => false,
        }
    }
}

/// The body of the event that states a thing now; nothing where none does.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Stated(Option<Value>);

impl Stated {
    /// By the last event that states the thing and holds.
    pub(crate) fn of(folded: &Folded, thing: Thing<'_>) -> Self {
        let mut last_first = folded.events.iter().rev();
        let holding = last_first.find(|event| thing.is_stated_by(&event.body) && holds(event, &folded.standing));
        Self(holding.and_then(|event| serde_json::to_value(&event.body).ok()))
    }

    /// The text that was stated under a dotted name, like `accuracy.percent`; empty where there is none.
    pub(crate) fn text(&self, at: &str) -> &str {
        let body = self.0.as_ref();
        body.and_then(|body| at.split('.').try_fold(body, |value, key| value.get(key))).and_then(Value::as_str).unwrap_or_default()
    }

    /// What the fields of a form are laid over.
    pub(crate) fn base(&self) -> Option<String> {
        self.0.as_ref().map(Value::to_string)
    }
}

fn holds(event: &Event, standing: &Standing) -> bool {
    let is_struck = standing.struck.iter().any(|struck| struck.event == event.id);
    let is_unusable = standing.unusable.iter().any(|unusable| unusable.event == event.id && !is_used_all_the_same(event, &unusable.why));
    !is_struck && !is_unusable
}

/// A process whose follower can't follow it is used without one.
fn is_used_all_the_same(event: &Event, why: &Reason) -> bool {
    matches!(event.body, Body::ProcessStated(_)) && matches!(why, Reason::Circle(..) | Reason::Unknown { what: "process", .. })
}
