//! What only shows when the files of a folder are seen together: units, the floor, places worked, panels not measured.

use lastmicron_film::gauge::Layer;
use lastmicron_job::Job;
use lastmicron_job::on_panel::is_in_rectangle;
use lastmicron_plan::{Reading, Worked};
use lastmicron_units::{Entered, SINGLE_COAT, Unit, VEHICLE_BUILD, implausible};

use crate::contents::Jotting;
use crate::job_toml::Stands;
use crate::place::{File, Place};
use crate::problem::{Doubt, Fault, Ledger};
use lastmicron_job::on_panel::ROUNDING_MM;

/// How many times thicker or thinner than the vehicle's median a reading must stand for its unit to be doubted.
///
/// Judgement: mil and um are 25.4 apart, mm and mil 39; resprays reach three times an original film, filler more.
const FAR: f64 = 8.0;
/// Within how many times of the median it must stand in another unit for that to be likelier.
const NEAR: f64 = 2.5;

/// Looks at the job as a whole.
pub(crate) fn check(job: &Job, jottings: &[Jotting], stands: &Stands, ledger: &mut Ledger) {
    units(&job.car.readings, jottings, ledger);
    floor(job, &stands.floor, ledger);
    // Of a survey with rows that were refused, it can't be told.
    if ledger.is_clean(File::Readings) {
        surveyed(&job.car.readings, ledger);
    }
    measured(job, &stands.panel_lines, ledger);
    not_covered(job, ledger);
}

fn units(readings: &[Reading], jottings: &[Jotting], ledger: &mut Ledger) {
    let usual_um = [Layer::Total, Layer::Undercoat, Layer::Topcoat].map(|layer| (layer, median_um(readings, layer)));
    let entered = || jottings.iter().filter_map(|jotting| jotting.entered);
    let count = |unit: Unit| entered().filter(|entered| entered.unit() == unit).count();
    let usual_unit = Unit::ALL.into_iter().max_by_key(|unit| count(*unit));
    for (reading, entered) in readings.iter().zip(jottings).filter_map(|(reading, jotting)| Some((reading, jotting.entered?))) {
        let place = Place { file: File::Readings, line: reading.line, part: Some("reading".to_owned()) };
        let expected = if reading.layer == Layer::Total { VEHICLE_BUILD } else { SINGLE_COAT };
        if let Some(what) = implausible(entered, expected) {
            if what.plausible_in.is_empty() {
                ledger.doubt(place, Doubt::Implausible(what));
            } else {
                ledger.refuse(place, Fault::Unit { what });
            }
            continue;
        }
        let usual = usual_um.iter().find(|(layer, _)| *layer == reading.layer).and_then(|(_, usual)| *usual);
        if let Some((usual_um, likely)) = usual.and_then(|usual| Some((usual, likelier_unit(entered, usual)?))) {
            let (um, text) = (entered.thickness().micrometres(), entered.to_string());
            if um > usual_um && Some(entered.unit()) == usual_unit {
                ledger.doubt(place, Doubt::FarFromCar { entered: text, um, usual_um });
            } else {
                let entered_number = text.split(' ').next().unwrap_or_default().to_owned();
                ledger.refuse(
                    place,
                    Fault::UnitOfCar { entered: text, um, usual_um, entered_number, unit: entered.unit(), likely: likely.to_string() },
                );
            }
        }
    }
}

/// Another unit in which a reading would stand with the others, when it stands far from them in its own.
fn likelier_unit(entered: Entered, usual_um: f64) -> Option<Unit> {
    let ratio = |unit: Unit| (entered.number() * unit.micrometres() / usual_um).ln().abs();
    if usual_um <= 0.0 || entered.number() <= 0.0 || ratio(entered.unit()) < FAR.ln() {
        return None;
    }
    Unit::ALL.into_iter().filter(|unit| ratio(*unit) <= NEAR.ln()).min_by(|a, b| ratio(*a).total_cmp(&ratio(*b)))
}

/// Median of a layer's readings, when there are enough to speak of one.
fn median_um(readings: &[Reading], layer: Layer) -> Option<f64> {
    let mut um: Vec<f64> = readings.iter().filter(|reading| reading.layer == layer).map(|reading| reading.value.micrometres()).collect();
    um.sort_by(f64::total_cmp);
    if um.len() < 3 { None } else { um.get(um.len() / 2).copied() }
}

fn floor(job: &Job, place: &Place, ledger: &mut Ledger) {
    let shows_topcoat = job.car.readings.iter().filter(|reading| reading.layer != Layer::Undercoat);
    let highest = shows_topcoat.map(|reading| reading.value).max();
    let floor = job.car.limits.floor;
    if let Some(highest) = highest.filter(|highest| *highest < floor) {
        ledger.refuse(
            place.clone(),
            Fault::FloorAboveAll {
                floor: floor.printed_in(Unit::Micrometre).to_string(),
                highest: highest.printed_in(Unit::Micrometre).to_string(),
            },
        );
    }
}

/// Refuses a survey of no film at all, or of one place.
fn surveyed(readings: &[Reading], ledger: &mut Ledger) {
    let place = |reading: &Reading| Place { file: File::Readings, line: reading.line, part: None };
    let film: Vec<&Reading> = readings.iter().filter(|reading| reading.layer != Layer::Undercoat).collect();
    match (film.as_slice(), readings) {
        ([], [undercoat, ..]) => ledger.refuse(place(undercoat), Fault::NoFilmRead),
        ([first, others @ ..], _) if others.iter().all(|other| is_same_place(first, other)) => {
            ledger.refuse(place(first), Fault::OnePlace { readings: film.len() });
        }
        _ => {}
    }
}

fn is_same_place(a: &Reading, b: &Reading) -> bool {
    a.panel == b.panel && (a.x_mm - b.x_mm).abs() <= ROUNDING_MM && (a.y_mm - b.y_mm).abs() <= ROUNDING_MM
}

fn measured(job: &Job, panel_lines: &[usize], ledger: &mut Ledger) {
    if !job.car.panels.is_empty() && job.car.panels.iter().all(|panel| !panel.work) {
        let place = Place { file: File::Job, line: panel_lines.first().copied(), part: Some("panel.work".to_owned()) };
        ledger.refuse(place, Fault::NoWork);
    }
    if job.car.limits.spend.is_some() {
        return;
    }
    for (i, panel) in job.car.panels.iter().enumerate() {
        if panel.work && !job.car.readings.iter().any(|reading| reading.panel == i && reading.layer != Layer::Undercoat) {
            let place = Place { file: File::Job, line: panel_lines.get(i).copied(), part: Some("panel".to_owned()) };
            ledger.doubt(place, Doubt::NotMeasured(panel.panel.name.clone()));
        }
    }
}

/// Readings after work at places that worked.csv doesn't have.
fn not_covered(job: &Job, ledger: &mut Ledger) {
    for (i, panel) in job.car.panels.iter().enumerate() {
        let worked: Vec<&Worked> = job.car.worked.iter().filter(|worked| worked.panel == i).collect();
        let covers = |reading: &Reading| {
            let covers = |w: &&Worked| is_in_rectangle([reading.x_mm, reading.y_mm], [w.x_mm, w.y_mm], [w.width_mm, w.height_mm]);
            worked.iter().any(covers)
        };
        let mut uncovered = job.car.readings.iter().filter(|reading| reading.panel == i && !reading.after.is_empty() && !covers(reading));
        if let Some(first) = uncovered.next() {
            let place = Place { file: File::Readings, line: first.line, part: Some("after".to_owned()) };
            ledger.doubt(place, Doubt::WorkNotCovered { panel: panel.panel.name.clone(), readings: 1 + uncovered.count() });
        }
    }
}
