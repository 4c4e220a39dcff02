//! Readings and the sessions that they were taken in.

use lastmicron_film::gauge::{Gauge, Layer, Substrate};
use lastmicron_plan::{CarPanel, Reading};
use lastmicron_units::{Entered, SINGLE_COAT, VEHICLE_BUILD, implausible};

use super::read::{entered, maybe_word, named};
use super::reason::Reason;
use super::{done, read};
use crate::event::{Check, Event, Film, Id, ReadingTaken, SessionBegan, SessionEnded, When};
use crate::words::{LAYERS, SUBSTRATES, word_for};

/// A reading, and what of it no plan is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// The event.
    pub event: Id,
    /// When.
    pub when: When,
    /// Who took it.
    pub who: String,
    /// The number and the unit as entered.
    pub entered: Entered,
    /// Free text.
    pub note: String,
    /// The reading.
    pub reading: Reading,
}

/// One time that a gauge was taken up.
#[derive(Clone, Debug, PartialEq)]
pub struct Session {
    /// Its name.
    pub name: String,
    /// Index of the gauge.
    pub gauge: usize,
    /// When it began.
    pub began: When,
    /// Who began it.
    pub who: String,
    /// When it ended.
    pub ended: Option<When>,
    /// What the gauge showed on shims at the start.
    pub before: Vec<Shim>,
    /// And at the end.
    pub after: Vec<Shim>,
}

/// What a gauge showed on a shim.
#[derive(Clone, Debug, PartialEq)]
pub struct Shim {
    /// What the shim is said to be.
    pub shim: Entered,
    /// What the gauge showed.
    pub shown: Vec<Entered>,
}

fn shims(said: Option<&Vec<Check>>) -> Result<Vec<Shim>, Reason> {
    let shim =
        |check: &Check| Ok(Shim { shim: read_film(&check.shim)?, shown: check.shown.iter().map(read_film).collect::<Result<_, _>>()? });
    said.into_iter().flatten().map(shim).collect()
}

fn read_film(said: &Film) -> Result<Entered, Reason> {
    let film = entered(said)?;
    let is_film = film.number() >= 0.0;
    is_film.then_some(film).ok_or_else(|| Reason::Range {
        key: "value",
        found: film.to_string(),
        wanted: "0 or more: a film is not negative",
    })
}

pub(super) fn began(event: &Event, said: &SessionBegan, gauges: &[Gauge]) -> Result<Session, Reason> {
    Ok(Session {
        name: read::usable_name(&said.session)?,
        gauge: gauge(said.gauge.as_ref(), gauges)?,
        began: event.when.clone(),
        who: event.who.clone(),
        ended: None,
        before: shims(said.checks.as_ref())?,
        after: Vec::new(),
    })
}

/// Ends the last session of that name that has not ended.
pub(super) fn end(event: &Event, said: &SessionEnded, sessions: &mut [Session]) -> Result<(), Reason> {
    let after = shims(said.checks.as_ref())?;
    let open = sessions.iter_mut().rev().find(|session| session.ended.is_none() && session.name == said.session.trim());
    let session = open.ok_or_else(|| Reason::Unknown { what: "session that is open", word: read::shortened(&said.session) })?;
    session.after = after;
    session.ended = Some(event.when.clone());
    Ok(())
}

/// Index of the gauge of that name; the first where none is named.
fn gauge(name: Option<&String>, gauges: &[Gauge]) -> Result<usize, Reason> {
    match name.map(|name| name.trim()).filter(|name| !name.is_empty()) {
        Some(name) => named(name, "gauge", gauges.iter().map(|gauge| gauge.name.as_str())),
        None => Ok(0),
    }
}

/// What a reading is judged by.
pub(super) struct Known<'k> {
    pub(super) panels: &'k [CarPanel],
    pub(super) gauges: &'k [Gauge],
}

pub(super) fn reading(
    event: &Event,
    said: &ReadingTaken,
    known: &Known<'_>,
    after: impl FnOnce(usize, [f64; 2]) -> Result<Vec<lastmicron_polish::Step>, Reason>,
) -> Result<Taken, Reason> {
    let panel = done::panel(&said.panel, known.panels)?;
    let [x_mm, y_mm] = done::place_mm(panel, [&said.x_mm, &said.y_mm], known.panels)?;
    let film = read_film(&said.value)?;
    let layer = maybe_word(said.layer.as_ref(), "layer", &LAYERS)?.unwrap_or(Layer::Total);
    readable(known.panels.get(panel), layer)?;
    let expected = if layer == Layer::Total { VEHICLE_BUILD } else { SINGLE_COAT };
    if let Some(what) = implausible(film, expected).filter(|what| !what.plausible_in.is_empty()) {
        return Err(Reason::Unit(what));
    }
    let gauge = gauge(said.gauge.as_ref(), known.gauges)?;
    let reading_um = film.thickness().micrometres();
    let through_um = known.gauges.get(gauge).map_or(0.0, |gauge| gauge.through_um);
    if through_um > reading_um {
        return Err(Reason::BelowFoil { reading_um, through_um });
    }
    let reading = Reading {
        panel,
        x_mm,
        y_mm,
        value: film.thickness(),
        layer,
        after: after(panel, [x_mm, y_mm])?,
        gauge,
        session: said.session.as_deref().unwrap_or_default().trim().to_owned(),
        line: None,
    };
    let note = said.note.as_deref().unwrap_or_default().trim().to_owned();
    Ok(Taken { event: event.id, when: event.when.clone(), who: event.who.clone(), entered: film, note, reading })
}

fn readable(panel: Option<&CarPanel>, layer: Layer) -> Result<(), Reason> {
    match panel.map(|panel| &panel.panel) {
        Some(panel) if panel.substrate == Substrate::Plastic && layer != Layer::Topcoat => {
            Err(Reason::Unreadable { panel: panel.name.clone(), substrate: word_for(&panel.substrate, &SUBSTRATES) })
        }
        _ => Ok(()),
    }
}
