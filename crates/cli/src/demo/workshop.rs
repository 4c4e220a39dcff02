//! Invented vehicles in an invented workshop's records, for the app: one arrived, one half worked, one gone home.

use jiff::{SignedDuration, Timestamp};
use lastmicron_body::{Body, Dimensions, Kind};
use lastmicron_film::gauge::Substrate;
use lastmicron_folder::events::said;
use lastmicron_folder::{Contents, plan_json};
use lastmicron_job::event::{
    Body as Said, EdgeKeptOff, Event, Id, LineKeptOff, PlanAccepted, Section, SetDone, StatusChanged, VehicleStated, When, WorkDone,
    WorkStarted, WorkStopped,
};
use lastmicron_plan::{Effort, KeepOff, KeepOffLine, Outcome, PanelPlan, SectionPlan, plan};
use lastmicron_record::Sealed;
use lastmicron_rehearsal::{History, Panels, Scenario, Sketch, rehearse};
use lastmicron_store::Store;
use lastmicron_units::Unit;

use super::{DemoError, estate};

/// A vehicle of the invented workshop.
struct Vehicle {
    kind: Kind,
    title: &'static str,
    built: &'static str,
    history: &'static str,
    originality: &'static str,
    /// Days since it arrived.
    days: i64,
    seed: u64,
}

const ARRIVED: Vehicle = Vehicle {
    kind: Kind::Roadster,
    title: "Sea-blue roadster, found in a barn loft",
    built: "1966",
    history: "Nobody knows of a respray. Washed once since it was found.",
    originality: "The dealer's chalk number inside the boot lid stays.",
    days: 0,
    seed: 11,
};

const HALF_WORKED: Vehicle = Vehicle {
    kind: Kind::Estate,
    title: "Pale green estate, three generations of one family",
    built: "1974",
    history: "Waxed by hand for fifty years, bumped from behind once.",
    originality: "The grandmother's parking permit in the rear window stays.",
    days: 2,
    seed: 12,
};

const GONE_HOME: Vehicle = Vehicle {
    kind: Kind::Saloon,
    title: "Ivory saloon, for a museum's summer show",
    built: "1958",
    history: "One owner, then the museum. Polished by machine once, nobody wrote down how.",
    originality: "Everything: nothing is painted.",
    days: 12,
    seed: 13,
};

/// Who works in the invented workshop.
const SPECIALIST: &str = "M. A.";
const HELPER: &str = "T.";

/// Puts the vehicles into a store. The time tells their dates; all else is drawn from fixed seeds.
pub(super) fn fill(store: &dyn Store, now: Timestamp) -> Result<(), DemoError> {
    arrived(&ARRIVED, store, now)?;
    worked(&HALF_WORKED, store, now, Portion::Half)?;
    worked(&GONE_HOME, store, now, Portion::All)
}

/// How much of a plan is worked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Portion {
    Half,
    All,
}

/// Says what happened on one job, a minute after another.
struct Diary<'s> {
    store: &'s dyn Store,
    job: Id,
    device: Id,
    at: Timestamp,
    count: u64,
    seed: u64,
    events: Vec<Event>,
}

impl<'s> Diary<'s> {
    fn of(vehicle: &Vehicle, store: &'s dyn Store, now: Timestamp) -> Self {
        let at = now - SignedDuration::from_hours(24 * vehicle.days + 6);
        let mut diary = Self {
            store,
            job: Id::made_at(0, [0; 10]),
            device: Id::made_at(0, [0; 10]),
            at,
            count: 0,
            seed: vehicle.seed,
            events: Vec::new(),
        };
        diary.job = diary.id();
        diary.device = diary.id();
        diary
    }

    /// An id of this minute; unlike all others of the demo, which is all that is asked of it.
    fn id(&mut self) -> Id {
        self.count += 1;
        let [a, b] = [self.seed, self.count].map(|n| n.wrapping_mul(0x9e37_79b9_7f4a_7c15).to_be_bytes());
        let random = [a[0], a[1], a[2], a[3], a[4], b[0], b[1], b[2], b[3], b[4]];
        Id::made_at(u64::try_from(self.at.as_millisecond()).unwrap_or_default(), random)
    }

    fn say(&mut self, who: &str, body: Said) -> Result<(), DemoError> {
        self.at += SignedDuration::from_secs(20);
        let when: When = self.at.to_string().parse().map_err(|_| DemoError::Clock)?;
        let id = self.id();
        self.events.push(Event { id, job: self.job, when, device: self.device, who: who.to_owned(), over: None, body });
        Ok(())
    }

    fn later(&mut self, hours: i64) {
        self.at += SignedDuration::from_hours(hours);
    }

    /// Hands in all that was said.
    fn hand_in(self) -> Result<(), DemoError> {
        let received: When = self.at.to_string().parse().map_err(|_| DemoError::Clock)?;
        let sealed = self
            .events
            .into_iter()
            .map(Sealed::seal)
            .collect::<Result<Vec<_>, _>>()
            .map_err(|error| DemoError::Record(error.to_string()))?;
        let outcomes = self.store.append(sealed, received).map_err(|error| DemoError::Record(error.to_string()))?;
        outcomes.into_iter().find_map(Result::err).map_or(Ok(()), |refused| Err(DemoError::Record(refused.to_string())))
    }
}

fn arrived(vehicle: &Vehicle, store: &dyn Store, now: Timestamp) -> Result<(), DemoError> {
    let mut diary = Diary::of(vehicle, store, now);
    let mut contents = drawn(vehicle)?;
    contents.job.car.readings.clear();
    contents.job.car.counts.clear();
    contents.job.car.worked.clear();
    contents.jottings.clear();
    contents.spots_mm.clear();
    state(&mut diary, vehicle, &contents, |body| !matches!(body, Said::TermsAgreed(_)))?;
    diary.say(SPECIALIST, Said::StatusChanged(StatusChanged { status: "arrived".to_owned() }))?;
    diary.hand_in()
}

fn worked(vehicle: &Vehicle, store: &dyn Store, now: Timestamp, portion: Portion) -> Result<(), DemoError> {
    let mut diary = Diary::of(vehicle, store, now);
    let contents = drawn(vehicle)?;
    state(&mut diary, vehicle, &contents, |_| true)?;
    let job = &contents.job;
    let outcome = plan(&job.car, Effort::default(), Unit::Micrometre)?;
    let bytes = format!("{:#}", plan_json(&job.car, &outcome, &[])).into_bytes();
    let kept = store.keep(&bytes).map_err(|error| DemoError::Record(error.to_string()))?;
    diary.later(3);
    let accepted = PlanAccepted {
        plan: kept,
        risk: format!("{:.4}", outcome.plan.risk),
        correction: format!("{:.3}", outcome.plan.correction.mean),
        hours: format!("{:.1}", outcome.plan.hours),
        with: None,
        note: Some("Talked through at the car.".to_owned()),
    };
    diary.say(SPECIALIST, Said::PlanAccepted(accepted))?;
    diary.say(SPECIALIST, Said::StatusChanged(StatusChanged { status: "on-the-floor".to_owned() }))?;
    work(&mut diary, &contents, &outcome, portion)?;
    if portion == Portion::All {
        diary.later(1);
        diary.say(SPECIALIST, Said::StatusChanged(StatusChanged { status: "gone-home".to_owned() }))?;
    }
    diary.hand_in()
}

/// The vehicle with its readings, drawn as the car of the demo is.
fn drawn(vehicle: &Vehicle) -> Result<Contents, DemoError> {
    let body = Body::new(vehicle.kind, Dimensions::usual(vehicle.kind)).map_err(|error| DemoError::Record(error.to_string()))?;
    let whole = |mm: f64| (mm / 25.0).ceil() * 25.0;
    let sketch = |panel: &lastmicron_body::BodyPanel| {
        let [width_mm, height_mm] = panel.stated.panel.size_mm().map(whole);
        let name = panel.name().to_owned();
        Sketch {
            name,
            width_mm,
            height_mm,
            substrate: panel.stated.panel.substrate,
            visibility: panel.stated.visibility,
            work: true,
            history: History::Drawn,
        }
    };
    let panels = Panels::Named(body.panels().iter().map(sketch).collect());
    let rehearsal = rehearse(&Scenario { panels, ..estate::scenario() }, vehicle.seed)?;
    let mut job = estate::job(rehearsal.car);
    vehicle.title.clone_into(&mut job.title);
    vehicle.kind.name().clone_into(&mut job.body);
    job.built = vehicle.built.parse().ok();
    job.substrate = Substrate::Steel;
    Ok(Contents::from(job))
}

fn state(diary: &mut Diary<'_>, vehicle: &Vehicle, contents: &Contents, is_said: impl Fn(&Said) -> bool) -> Result<(), DemoError> {
    for one in said(contents).into_iter().filter(|one| is_said(&one.body)) {
        let body = match one.body {
            Said::VehicleStated(stated) => Said::VehicleStated(VehicleStated {
                history: Some(vehicle.history.to_owned()),
                originality: Some(vehicle.originality.to_owned()),
                ..stated
            }),
            other => other,
        };
        diary.say(SPECIALIST, body)?;
    }
    Ok(())
}

/// Works the plan in its order: panel by panel, the helper on the smaller ones.
fn work(diary: &mut Diary<'_>, contents: &Contents, outcome: &Outcome, portion: Portion) -> Result<(), DemoError> {
    let sections: Vec<(&PanelPlan, &SectionPlan)> = outcome
        .plan
        .panels
        .iter()
        .flat_map(|panel| panel.sections.iter().filter(|s| !s.steps.is_empty()).map(move |s| (panel, s)))
        .collect();
    let count = if portion == Portion::Half { sections.len() / 2 } else { sections.len() };
    for (n, (panel, section)) in sections.iter().take(count).enumerate() {
        let who = if panel.sections.len() > 2 { SPECIALIST } else { HELPER };
        let place = said_section(panel, section);
        let process = |index: usize| contents.job.car.processes.get(index).map(|process| process.name.clone()).unwrap_or_default();
        diary.say(
            who,
            Said::WorkStarted(WorkStarted {
                section: place.clone(),
                process: section.steps.first().map(|step| process(step.process)),
                despite: None,
            }),
        )?;
        // One section is stopped before its end: what is done of it is recorded, and why.
        let is_stopped = n == count / 3;
        for step in section.steps.iter().take(if is_stopped { 1 } else { usize::MAX }) {
            diary.at += SignedDuration::from_mins(6 * i64::from(step.sets));
            let done = SetDone {
                process: process(step.process),
                sets: Some(if is_stopped { 1 } else { step.sets }),
                spot: None,
                sections: Some(vec![place.clone()]),
                pad: None,
                keep_off: Some(panel.keep_off.iter().filter_map(edge_kept_off).collect()),
                keep_off_lines: Some(panel.keep_off_lines.iter().filter_map(line_kept_off).collect()),
            };
            diary.say(who, Said::SetDone(done))?;
        }
        if is_stopped {
            diary.say(
                who,
                Said::WorkStopped(WorkStopped { section: place, why: "colour on the pad faded: read before going on".to_owned() }),
            )?;
        } else {
            diary.say(who, Said::WorkDone(WorkDone { section: place }))?;
        }
    }
    Ok(())
}

fn edge_kept_off(off: &KeepOff) -> Option<EdgeKeptOff> {
    Some(EdgeKeptOff { edge: u32::try_from(off.edge).ok()?, mm: off.mm.to_string() })
}

fn line_kept_off(off: &KeepOffLine) -> Option<LineKeptOff> {
    Some(LineKeptOff { line: u32::try_from(off.line).ok()?, mm: off.mm.to_string() })
}

fn said_section(panel: &PanelPlan, section: &SectionPlan) -> Section {
    let [x_mm, y_mm, width_mm, height_mm] = [section.x_mm, section.y_mm, section.width_mm, section.height_mm].map(|mm| mm.to_string());
    Section { panel: panel.name.clone(), x_mm, y_mm, width_mm, height_mm }
}

#[cfg(test)]
mod tests {
    use super::*;
    use lastmicron_folder::events::contents;
    use lastmicron_job::fold::{Status, fold};
    use lastmicron_store::Sqlite;

    #[test]
    fn every_vehicle_of_the_demo_folds_into_a_job_and_nothing_in_it_is_unusable() {
        let folder = tempfile::tempdir().unwrap();
        let store = Sqlite::open(folder.path()).unwrap();
        fill(&store, "2024-05-20T09:00:00Z".parse().unwrap()).unwrap();
        let mut states = Vec::new();
        for (job, _) in store.jobs().unwrap() {
            let events: Vec<Event> = store.events(job, 1).unwrap().into_iter().map(|entry| entry.event).collect();
            let standing = fold(&events);
            assert!(standing.unusable.is_empty(), "{:?}", standing.unusable);
            assert_eq!(contents(&standing).is_ok(), standing.status() != Status::Arrived);
            states.push(standing.status());
        }
        assert_eq!(states, [Status::GoneHome, Status::OnTheFloor, Status::Arrived]);
        assert!(store.verify().unwrap().damage.is_empty());
    }
}
