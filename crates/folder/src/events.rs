//! A job folder as events, and a folded record as what a job folder holds.

mod said;

use lastmicron_film::gauge::Layer;
use lastmicron_job::Job;
use lastmicron_job::event::{
    Body, EdgeKeptOff, GlossRead, GoneThrough, LineKeptOff, ReadingTaken, Section, SetDone, Sets, SpotJudged, SpotMarked, TermsAgreed,
    WentOn, When,
};
use lastmicron_job::fold::{Lacking, Standing};
use lastmicron_job::words::{KINDS, LAYERS, word_for};
use lastmicron_look::{Count, Kind, Seen};
use lastmicron_plan::{Car, CarPanel, KeepOff, KeepOffLine, Reading, Worked};
use lastmicron_polish::{Process, Step};

use crate::contents::{Contents, Jotting};
use said::{film, text};

/// What an event says, and when, where the folder states that; its id, device and person come from whoever brings the folder in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// When a reading was taken.
    pub when: Option<When>,
    /// What happened.
    pub body: Body,
}

/// The events that fold into what a folder holds.
///
/// What had been done at each place is said with its reading, so that it stays what the folder says. Rows of worked.csv on the very same rectangle become one.
#[must_use]
pub fn said(contents: &Contents) -> Vec<Said> {
    let (job, car) = (&contents.job, &contents.job.car);
    let mut bodies = said::stated(job);
    bodies.push(Body::TermsAgreed(terms(car)));
    bodies.extend(spots(contents).into_iter().map(Body::SpotMarked));
    bodies.extend(car.worked.iter().flat_map(|worked| worked_by(worked, car)).map(Body::SetDone));
    bodies.extend(car.panels.iter().flat_map(gone_through));
    bodies.extend(car.counts.iter().map(|count| Body::SpotJudged(judged(count, &car.processes))));
    bodies.extend(job.gloss.iter().map(|reading| {
        Body::GlossRead(GlossRead {
            spot: reading.spot.clone(),
            gloss_20: reading.gloss_20.map(text),
            gloss_60: reading.gloss_60.map(text),
            index: reading.index.map(text),
            after: Some(pairs(&reading.after, &car.processes)),
        })
    }));
    let mut all: Vec<Said> = bodies.into_iter().map(|body| Said { when: None, body }).collect();
    let jotting = |i: usize| contents.jottings.get(i).cloned().unwrap_or_default();
    all.extend(car.readings.iter().enumerate().map(|(i, reading)| taken(reading, &jotting(i), car)));
    all
}

fn terms(car: &Car) -> TermsAgreed {
    TermsAgreed {
        floor: film(car.limits.floor.micrometres()),
        risk: text(car.limits.risk),
        correction: text(car.goal.correction),
        hours: text(car.goal.hours),
        spend: car.limits.spend.map(|spend| film(spend.micrometres())),
        through_risk: car.limits.through_risk.map(text),
        with: None,
        note: None,
    }
}

fn panel(car: &Car, panel: usize) -> String {
    car.panels.get(panel).map(|panel| panel.panel.name.clone()).unwrap_or_default()
}

fn steps(steps: &[Step], processes: &[Process]) -> Vec<Sets> {
    let name = |step: &Step| processes.get(step.process).map(|process| process.name.clone()).unwrap_or_default();
    steps.iter().map(|step| Sets { process: name(step), sets: step.sets }).collect()
}

fn pairs(after: &[(usize, u32)], processes: &[Process]) -> Vec<Sets> {
    steps(&after.iter().map(|(process, sets)| Step { process: *process, sets: *sets }).collect::<Vec<_>>(), processes)
}

/// The spots that counts and readings of gloss name, each once.
fn spots(contents: &Contents) -> Vec<SpotMarked> {
    let car = &contents.job.car;
    let of_counts = car.counts.iter().enumerate().map(|(i, count)| (&count.spot, count.panel, contents.spots_mm.get(i).copied().flatten()));
    let of_gloss = contents.job.gloss.iter().map(|reading| (&reading.spot, reading.panel, None));
    let mut spots: Vec<SpotMarked> = Vec::new();
    for (spot, on, place_mm) in of_counts.chain(of_gloss) {
        let [x_mm, y_mm] = place_mm.map_or([None, None], |place| place.map(|mm| Some(text(mm))));
        match spots.iter_mut().find(|known| known.spot == *spot) {
            Some(known) if known.x_mm.is_none() => (known.x_mm, known.y_mm) = (x_mm, y_mm),
            Some(_) => {}
            None => spots.push(SpotMarked { spot: spot.clone(), panel: panel(car, on), x_mm, y_mm, width_mm: None, height_mm: None }),
        }
    }
    spots
}

fn worked_by(worked: &Worked, car: &Car) -> Vec<SetDone> {
    let [x_mm, y_mm, width_mm, height_mm] = [worked.x_mm, worked.y_mm, worked.width_mm, worked.height_mm].map(text);
    let section = Section { panel: panel(car, worked.panel), x_mm, y_mm, width_mm, height_mm };
    let edge = |off: &KeepOff| Some(EdgeKeptOff { edge: u32::try_from(off.edge).ok()?, mm: text(off.mm) });
    let line = |off: &KeepOffLine| Some(LineKeptOff { line: u32::try_from(off.line).ok()?, mm: text(off.mm) });
    let edges: Vec<EdgeKeptOff> = worked.kept_off.edges.iter().filter_map(edge).collect();
    let lines: Vec<LineKeptOff> = worked.kept_off.lines.iter().filter_map(line).collect();
    let done = |sets: Sets| SetDone {
        process: sets.process,
        sets: Some(sets.sets),
        spot: None,
        sections: Some(vec![section.clone()]),
        pad: None,
        keep_off: (!edges.is_empty()).then(|| edges.clone()),
        keep_off_lines: (!lines.is_empty()).then(|| lines.clone()),
    };
    steps(&worked.after, &car.processes).into_iter().map(done).collect()
}

/// Where a panel was gone through: first what work went on in spite of, then that it did, then the rest.
fn gone_through(panel: &CarPanel) -> Vec<Body> {
    let stated = || "Stated in the job folder.".to_owned();
    let said = |through: &lastmicron_plan::GoneThrough| {
        let [x_mm, y_mm] = through.place_mm.map(text);
        Body::GoneThrough(GoneThrough { panel: panel.panel.name.clone(), x_mm, y_mm, note: stated() })
    };
    let (despite, rest): (Vec<_>, Vec<_>) = panel.gone_through.iter().partition(|through| through.despite);
    let went_on = (!despite.is_empty()).then(|| Body::WentOn(WentOn { panel: panel.panel.name.clone(), why: stated() }));
    despite.into_iter().map(said).chain(went_on).chain(rest.into_iter().map(said)).collect()
}

fn judged(count: &Count, processes: &[Process]) -> SpotJudged {
    let (counted, share_left) = match count.seen {
        Seen::Count(count) => (Some(count.to_string()), None),
        Seen::ShareLeft(share) => (None, Some(text(share))),
    };
    let share_between = count.share_between.map(|bounds| bounds.map(text));
    SpotJudged {
        spot: count.spot.clone(),
        seen: lastmicron_job::event::Seen { left: None, count: counted, share_left, share_between },
        of: (count.kind != Kind::Fine).then(|| word_for(&count.kind, &KINDS).to_owned()),
        wiped: Some(count.wiped),
        new_haze: None,
        after: Some(pairs(&count.after, processes)),
    }
}

fn taken(reading: &Reading, jotting: &Jotting, car: &Car) -> Said {
    let entered = jotting.entered.filter(|entered| entered.thickness() == reading.value).map(|entered| entered.to_string());
    let value = entered.as_deref().and_then(|entered| entered.split_once(' ')).map_or_else(
        || film(reading.value.micrometres()),
        |(number, unit)| lastmicron_job::event::Film { number: number.to_owned(), unit: unit.to_owned() },
    );
    let said = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    let body = Body::ReadingTaken(ReadingTaken {
        panel: panel(car, reading.panel),
        x_mm: text(reading.x_mm),
        y_mm: text(reading.y_mm),
        value,
        layer: (reading.layer != Layer::Total).then(|| word_for(&reading.layer, &LAYERS).to_owned()),
        gauge: car.gauges.get(reading.gauge).and_then(|gauge| said(&gauge.name)),
        session: said(&reading.session),
        after: Some(steps(&reading.after, &car.processes)),
        note: said(&jotting.note),
    });
    Said { when: jotting.taken.parse().ok(), body }
}

/// What a job folder holds of a folded record. Sessions, photographs, agreements and what was struck out stay in the record.
///
/// # Errors
/// What must be stated first.
pub fn contents(standing: &Standing) -> Result<Contents, Vec<Lacking>> {
    let job: Job = standing.job()?;
    let jotting = |taken: &lastmicron_job::fold::Taken| Jotting {
        entered: Some(taken.entered),
        taken: taken.when.to_string(),
        note: taken.note.clone(),
    };
    let spot_mm = |spot: usize| standing.spots.get(spot).and_then(|spot| spot.corner_mm);
    let mut spots_mm: Vec<_> = standing.judged.iter().map(|judged| spot_mm(judged.spot)).collect();
    if spots_mm.iter().all(Option::is_none) {
        spots_mm.clear();
    }
    Ok(Contents { job, jottings: standing.readings.iter().map(jotting).collect(), spots_mm })
}
