//! The job as it stands: its events, folded.
//!
//! What is stated (vehicle, panels, gauges, processes, spots) is taken first, whatever the order in which it came: a reading that arrived before the
//! panel it lies on is not lost. What was done and measured is then taken in the order of the record. What was struck out is not there at all.
//! Where people stated the same thing without having seen each other's statement, what they changed is taken together, and what clashes is listed.
//! Nothing breaks a fold: what can't be used is listed with its reason.

mod done;
mod kept_off;
mod measured;
mod read;
mod reason;
mod shop;
mod spot;
mod standing;
mod stated;
mod struck;
mod terms;
mod vehicle;
mod work;

pub use done::{Done, Rectangle, Where};
pub use measured::{Session, Shim, Taken};
pub use reason::{Lacking, Reason, Unusable};
pub use spot::{Judged, Spot};
pub use standing::Standing;
pub use stated::{Clash, Parallel, Stated, Statement};
pub use struck::Struck;
pub use terms::{Accepted, Terms};
pub use vehicle::Vehicle;
pub use work::{Attached, Deed, GONE_HOME, Jotted, Status, Stood, Work};

use std::collections::{BTreeMap, BTreeSet};

use lastmicron_polish::Step;

use crate::bounds::MOST_PANELS;
use crate::event::{Body, Event, Id};
use done::Patch;
use stated::{Holding, Line};

/// Folds events, in the order of the record, into the job as it stands.
#[must_use]
pub fn fold<'e>(events: impl IntoIterator<Item = &'e Event>) -> Standing {
    let all: Vec<&Event> = events.into_iter().collect();
    let left = struck::without_struck(&all);
    let struck: BTreeSet<Id> = left.struck.iter().map(|struck| struck.event).collect();
    let mut fold = Fold {
        events: left.events,
        standing: Standing { struck: left.struck, unusable: left.unusable, ..Standing::default() },
        patches: vec![],
    };
    fold.state(&stated::lines(&all, &struck));
    fold.take(Fold::agree);
    fold.patches.resize_with(fold.standing.panels.len(), Vec::new);
    fold.take(Fold::record);
    let mut standing = fold.standing;
    let order: BTreeMap<Id, usize> = all.iter().enumerate().rev().map(|(i, event)| (event.id, i)).collect();
    standing.unusable.sort_by_key(|unusable| order.get(&unusable.event).copied());
    standing
}

/// Folds events onto a job that was folded from all that came before them. None where one of them states something or strikes something out, which may
/// change what came before: then everything is folded anew.
#[must_use]
pub fn fold_on(standing: &Standing, events: &[&Event]) -> Option<Standing> {
    if !events.iter().all(|event| is_recorded(&event.body)) {
        return None;
    }
    let mut patches = vec![Vec::new(); standing.panels.len()];
    for patch in standing.done.iter().flat_map(|done| standing.patches(done)) {
        patches.get_mut(patch.on.panel)?.push(patch);
    }
    let mut fold = Fold { events: events.to_vec(), standing: standing.clone(), patches };
    fold.take(Fold::record);
    Some(fold.standing)
}

/// Which events could not be used if they came next. None where one of them states something or strikes something out: then only folding everything
/// tells.
#[must_use]
pub fn unusable_next(standing: &Standing, events: &[&Event]) -> Option<Vec<Unusable>> {
    let named = Standing {
        panels: standing.panels.clone(),
        gauges: standing.gauges.clone(),
        processes: standing.processes.clone(),
        sessions: standing.sessions.clone(),
        spots: standing.spots.clone(),
        ..Standing::default()
    };
    Some(fold_on(&named, events)?.unusable)
}

/// Whether an event is taken in the order of the record, after all that is stated.
const fn is_recorded(body: &Body) -> bool {
    match body {
        Body::SessionBegan(_)
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
        | Body::StatusChanged(_) => true,
        Body::VehicleStated(_)
        | Body::PaintStated(_)
        | Body::PanelStated(_)
        | Body::GaugeStated(_)
        | Body::MachineStated(_)
        | Body::PadStated(_)
        | Body::ProcessStated(_)
        | Body::ScatterStated(_)
        | Body::EdgeStated(_)
        | Body::TermsAgreed(_)
        | Body::SpotMarked(_)
        | Body::StruckOut(_) => false,
    }
}

/// Reads a statement of one kind; none where it is of another.
macro_rules! reads {
    ($kind:ident, $read:expr) => {
        |body: &Body| match body {
            Body::$kind(said) => Some($read(said)),
            _ => None,
        }
    };
}

struct Fold<'e> {
    events: Vec<&'e Event>,
    standing: Standing,
    /// For each panel, what was done on it so far and where.
    patches: Vec<Vec<Patch>>,
}

impl Fold<'_> {
    /// Goes through the events once; what a step refuses is listed.
    fn take(&mut self, step: impl Fn(&mut Self, &Event) -> Result<(), Reason>) {
        for i in 0..self.events.len() {
            let event = self.events[i];
            if let Err(why) = step(self, event) {
                self.standing.unusable.push(Unusable { event: event.id, why });
            }
        }
    }

    fn agree(&mut self, event: &Event) -> Result<(), Reason> {
        if let Body::TermsAgreed(said) = &event.body {
            self.standing.terms.push(terms::terms(event, said)?);
        }
        Ok(())
    }

    /// Takes all that is stated: first what other statements name.
    fn state(&mut self, lines: &[Line<'_>]) {
        if let Some(vehicle) = self.stated(lines, reads!(VehicleStated, vehicle::vehicle)).pop() {
            self.standing.vehicle = Some(vehicle);
        }
        if let Some(paint) = self.stated(lines, reads!(PaintStated, vehicle::paint)).pop() {
            self.standing.paint = paint;
        }
        self.standing.scatter = self.stated(lines, reads!(ScatterStated, shop::scatter)).pop();
        self.standing.edge = self.stated(lines, reads!(EdgeStated, shop::edge)).pop();
        self.standing.gauges = self.stated(lines, reads!(GaugeStated, shop::gauge));
        // The one that readings name none of is the first.
        self.standing.gauges.sort_by_key(|gauge| !gauge.name.is_empty());
        self.standing.equipment.machines = self.stated(lines, reads!(MachineStated, shop::machine));
        self.standing.equipment.pads = self.stated(lines, reads!(PadStated, shop::pad));
        self.state_processes(lines);
        self.state_panels(lines);
        let panels = std::mem::take(&mut self.standing.panels);
        self.standing.spots = self.stated(lines, reads!(SpotMarked, |said| spot::spot(said, &panels)));
        self.standing.panels = panels;
    }

    fn state_processes(&mut self, lines: &[Line<'_>]) {
        let (machines, pads) = (self.standing.equipment.machines.clone(), self.standing.equipment.pads.clone());
        let taken = self.taken(lines, reads!(ProcessStated, |said| shop::process(said, &machines, &pads)));
        let ids: Vec<Option<Id>> = taken.iter().map(|one| one.stated.by.last().copied()).collect();
        let stated = self.note(taken);
        let (processes, refused) = shop::together_with_uses(stated, &mut self.standing.equipment);
        self.standing.processes = processes;
        let refused = refused.into_iter().filter_map(|(i, why)| Some(Unusable { event: ids.get(i).copied()??, why }));
        self.standing.unusable.extend(refused);
    }

    fn state_panels(&mut self, lines: &[Line<'_>]) {
        let of_vehicle = self.standing.vehicle.as_ref().and_then(|vehicle| vehicle.substrate);
        let mut taken = self.taken(lines, reads!(PanelStated, |said| vehicle::panel(said, of_vehicle)));
        let beyond = taken.split_off(MOST_PANELS.min(taken.len()));
        let too_many = beyond.iter().flat_map(|one| &one.stated.by);
        self.standing.unusable.extend(too_many.map(|event| Unusable { event: *event, why: Reason::TooMany(MOST_PANELS) }));
        self.standing.panels = self.note(taken);
    }

    /// All things of one kind, in the order in which each was first stated.
    fn stated<T>(&mut self, lines: &[Line<'_>], read: impl Fn(&Body) -> Option<Result<T, Reason>>) -> Vec<T> {
        let taken = self.taken(lines, read);
        self.note(taken)
    }

    fn taken<T>(&mut self, lines: &[Line<'_>], read: impl Fn(&Body) -> Option<Result<T, Reason>>) -> Vec<Holding<T>> {
        let unusable = &mut self.standing.unusable;
        let mut taken: Vec<Holding<T>> = lines.iter().filter_map(|line| line.taken(&read, unusable)).collect();
        taken.sort_by_key(|one| one.first_at);
        taken
    }

    /// Notes by which statements things stand, and what of them was stated in parallel.
    fn note<T>(&mut self, taken: Vec<Holding<T>>) -> Vec<T> {
        let noted = |one: Holding<T>| {
            self.standing.stated.push(one.stated);
            self.standing.parallel.extend(one.parallel);
            one.value
        };
        taken.into_iter().map(noted).collect()
    }
    fn record(&mut self, event: &Event) -> Result<(), Reason> {
        match &event.body {
            Body::SessionBegan(said) => self.standing.sessions.push(measured::began(event, said, &self.standing.gauges)?),
            Body::SessionEnded(said) => measured::end(event, said, &mut self.standing.sessions)?,
            Body::ReadingTaken(said) => {
                let (standing, patches) = (&mut self.standing, &self.patches);
                let after = |panel, place_mm| match &said.after {
                    Some(said) => done::steps(said, &standing.processes),
                    None => {
                        let on = standing.panels.get(panel).zip(patches.get(panel).map(Vec::as_slice));
                        Ok(on.map_or_else(Vec::new, |(of, patches)| done::done_at(of, place_mm, patches)))
                    }
                };
                let known = measured::Known { panels: &standing.panels, gauges: &standing.gauges };
                let taken = measured::reading(event, said, &known, after)?;
                standing.readings.push(taken);
            }
            Body::GlossRead(said) => {
                let at = self.spot(&said.spot)?;
                let after = self.done_on(at, said.after.as_deref())?;
                self.standing.gloss.push(spot::gloss(said, &self.standing.spots[at], &after)?);
            }
            Body::SpotJudged(said) => {
                let at = self.spot(&said.spot)?;
                let after = self.done_on(at, said.after.as_deref())?;
                self.standing.judged.push(spot::judged(event, said, (at, &self.standing.spots[at]), &after)?);
            }
            Body::SetDone(said) => {
                let done = work::done(event, said, &self.standing)?;
                self.work(&done);
                self.standing.done.push(done);
            }
            _ => work::record(event, &mut self.standing)?,
        }
        Ok(())
    }

    /// Index of the spot of that name.
    fn spot(&self, name: &str) -> Result<usize, Reason> {
        read::named(name, "spot", self.standing.spots.iter().map(|spot| spot.name.as_str()))
    }

    /// What has been done on a spot: as said, or as recorded so far.
    fn done_on(&self, spot: usize, said: Option<&[crate::event::Sets]>) -> Result<Vec<Step>, Reason> {
        said.map_or_else(|| Ok(self.standing.spots[spot].done.clone()), |said| done::steps(said, &self.standing.processes))
    }

    fn work(&mut self, done: &Done) {
        if let Where::Spot(spot) = &done.place {
            done::add(&mut self.standing.spots[*spot].done, done.step);
        }
        for patch in self.standing.patches(done) {
            done::work(&mut self.standing.worked, &patch);
            if let Some(of_panel) = self.patches.get_mut(patch.on.panel) {
                of_panel.push(patch);
            }
        }
    }
}
