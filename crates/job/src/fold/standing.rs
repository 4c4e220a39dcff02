//! The job as it stands.

use lastmicron_film::gauge::{Gauge, Substrate};
use lastmicron_look::gloss;
use lastmicron_plan::{Car, CarPanel, Paint, Worked};
use lastmicron_polish::{EdgeGain, Equipment, Process, Scatter, Step};

use super::done::{Patch, done_at};
use super::vehicle::UNSTATED;
use super::{
    Accepted, Attached, Deed, Done, Jotted, Judged, Lacking, Parallel, Rectangle, Session, Spot, Stated, Status, Stood, Struck, Taken,
    Terms, Unusable, Vehicle, Where, Work,
};
use crate::Job;
use crate::event::Thing;

/// All that a record says, with nothing in it that was struck out.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// The vehicle.
    pub vehicle: Option<Vehicle>,
    /// The paint; of which nothing is known where nothing was stated.
    pub paint: Paint,
    /// The panels, in the order in which each was first stated.
    pub panels: Vec<CarPanel>,
    /// The gauges; the one without a name first.
    pub gauges: Vec<Gauge>,
    /// The processes, in the order in which each was first stated.
    pub processes: Vec<Process>,
    /// Machines and pads, and which process uses them how.
    pub equipment: Equipment,
    /// How much panels and sections differ in rate.
    pub scatter: Option<Scatter>,
    /// Extra removal near edges.
    pub edge: Option<EdgeGain>,
    /// What was agreed, in order: the last holds.
    pub terms: Vec<Terms>,
    /// Every time that a gauge was taken up.
    pub sessions: Vec<Session>,
    /// The readings.
    pub readings: Vec<Taken>,
    /// Readings of gloss.
    pub gloss: Vec<gloss::Reading>,
    /// The test spots.
    pub spots: Vec<Spot>,
    /// What was seen on them.
    pub judged: Vec<Judged>,
    /// Sets, as they were done.
    pub done: Vec<Done>,
    /// Rectangles that have been worked, each with all that was done on it.
    pub worked: Vec<Worked>,
    /// Plans that were accepted, in order.
    pub plans: Vec<Accepted>,
    /// How the work went.
    pub work: Vec<Work>,
    /// Photographs.
    pub photographs: Vec<Attached>,
    /// Notes.
    pub notes: Vec<Jotted>,
    /// Where the vehicle has been, in order.
    pub status: Vec<Stood>,
    /// Each thing that is stated, as it is stated now.
    pub stated: Vec<Stated>,
    /// What was stated by people who had not seen each other's statement, until somebody who has seen both states it anew.
    pub parallel: Vec<Parallel>,
    /// What was struck out.
    pub struck: Vec<Struck>,
    /// What can't be used.
    pub unusable: Vec<Unusable>,
}

impl Default for Standing {
    fn default() -> Self {
        Self {
            vehicle: None,
            paint: UNSTATED,
            panels: Vec::new(),
            gauges: Vec::new(),
            processes: Vec::new(),
            equipment: Equipment::default(),
            scatter: None,
            edge: None,
            terms: Vec::new(),
            sessions: Vec::new(),
            readings: Vec::new(),
            gloss: Vec::new(),
            spots: Vec::new(),
            judged: Vec::new(),
            done: Vec::new(),
            worked: Vec::new(),
            plans: Vec::new(),
            work: Vec::new(),
            photographs: Vec::new(),
            notes: Vec::new(),
            status: Vec::new(),
            stated: Vec::new(),
            parallel: Vec::new(),
            struck: Vec::new(),
            unusable: Vec::new(),
        }
    }
}

impl Standing {
    /// Where the vehicle is: arrived, until something else was said.
    #[must_use]
    pub fn status(&self) -> Status {
        self.status.last().map_or(Status::Arrived, |stood| stood.status)
    }

    /// Whether anything was worked. Test spots are no such work, and to leave something alone or to go on in spite of something is none.
    #[must_use]
    pub fn is_begun(&self) -> bool {
        let is_work = |deed: &Deed| !matches!(deed, Deed::LeftAlone(..) | Deed::WentOn(..));
        self.work.iter().any(|work| is_work(&work.deed)) || self.done.iter().any(|done| matches!(done.place, Where::Sections(_)))
    }

    /// The session that a person reads in: of those still open the last that they began themselves, or else the last of anybody; none where every gauge is
    /// laid down.
    #[must_use]
    pub fn open_session(&self, who: &str) -> Option<&Session> {
        let open = || self.sessions.iter().rev().filter(|session| session.ended.is_none());
        open().find(|session| session.who == who).or_else(|| open().next())
    }

    /// How a thing is stated now, and by what; none where it is not.
    #[must_use]
    pub fn as_stated(&self, thing: &Thing) -> Option<&Stated> {
        self.stated.iter().find(|stated| stated.thing == *thing)
    }

    /// Where sets were done.
    #[must_use]
    pub fn rectangles(&self, done: &Done) -> Vec<Rectangle> {
        match &done.place {
            Where::Sections(sections) => sections.clone(),
            Where::Spot(spot) => self.spots.get(*spot).and_then(|spot| spot.rectangle).into_iter().collect(),
        }
    }

    /// What has been done so far at a place of a panel, mm.
    #[must_use]
    pub fn done_at(&self, panel: usize, place_mm: [f64; 2]) -> Vec<Step> {
        let Some(of) = self.panels.get(panel) else { return Vec::new() };
        let patches = self.done.iter().flat_map(|done| self.patches(done)).filter(|patch| patch.on.panel == panel);
        done_at(of, place_mm, &patches.collect::<Vec<_>>())
    }

    /// The same with what was kept off.
    pub(super) fn patches(&self, done: &Done) -> Vec<Patch> {
        let patch = |on| Patch { on, kept_off: done.kept_off.clone(), step: done.step };
        self.rectangles(done).into_iter().map(patch).collect()
    }

    /// The job that a plan is made from: the same that a job folder reads into.
    ///
    /// # Errors
    /// All that must be stated first.
    pub fn job(&self) -> Result<Job, Vec<Lacking>> {
        let is_first_unnamed = self.gauges.first().is_some_and(|gauge| gauge.name.is_empty());
        let lacking = [
            (self.vehicle.is_none(), Lacking::Vehicle),
            (self.panels.is_empty(), Lacking::Panels),
            (!is_first_unnamed, Lacking::Gauge),
            (self.processes.is_empty(), Lacking::Processes),
            (self.terms.is_empty(), Lacking::Terms),
        ];
        let lacking: Vec<Lacking> = lacking.into_iter().filter(|(is_lacking, _)| *is_lacking).map(|(_, what)| what).collect();
        let (Some(vehicle), Some(terms), []) = (&self.vehicle, self.terms.last(), lacking.as_slice()) else { return Err(lacking) };
        Ok(Job {
            title: vehicle.title.clone(),
            body: vehicle.body.clone(),
            built: vehicle.built,
            substrate: vehicle.substrate.unwrap_or(Substrate::Unknown),
            gloss: self.gloss.clone(),
            car: Car {
                panels: self.panels.clone(),
                paint: self.paint,
                gauges: self.gauges.clone(),
                processes: self.processes.clone(),
                equipment: self.equipment.clone(),
                scatter: self.scatter,
                edge: self.edge,
                limits: terms.limits,
                goal: terms.goal,
                readings: self.readings.iter().map(|taken| taken.reading.clone()).collect(),
                worked: self.worked.clone(),
                counts: self.judged.iter().map(|judged| judged.count.clone()).collect(),
            },
        })
    }
}
