//! The files of a job folder as bytes.

mod job;

use lastmicron_look::{Kind, Seen};
use lastmicron_plan::Car;
use lastmicron_polish::Step;

use crate::after;
use crate::contents::Contents;
use crate::kept_off;
use crate::read::Files;
use lastmicron_job::words::{KINDS, LAYERS, word_for};

/// Every file of the folder; those that would be empty and may be left out are.
pub(crate) fn files(contents: &Contents) -> Files {
    let car = &contents.job.car;
    Files {
        job: Some(job::toml(contents).into_bytes()),
        readings: Some(readings(contents)),
        worked: (!car.worked.is_empty()).then(|| worked(car)),
        defects: (!car.counts.is_empty()).then(|| defects(contents)),
        gloss: (!contents.job.gloss.is_empty()).then(|| gloss(contents)),
    }
}

/// Rows as CSV. Columns of which every field is empty, and that may be left out, are.
fn csv(header: &[&str], optional: &[&str], rows: &[Vec<String>]) -> Vec<u8> {
    let is_kept = |i: usize| {
        !header.get(i).is_some_and(|name| optional.contains(name))
            || rows.iter().any(|row| row.get(i).is_some_and(|field| !field.is_empty()))
    };
    let kept: Vec<usize> = (0..header.len()).filter(|i| is_kept(*i)).collect();
    let mut writer = csv::Writer::from_writer(Vec::new());
    let header: Vec<String> = header.iter().map(|name| (*name).to_owned()).collect();
    for row in std::iter::once(&header).chain(rows) {
        // Writing to memory doesn't fail; were it to, what is written would not read back, which the caller looks at.
        if writer.write_record(kept.iter().filter_map(|i| row.get(*i))).is_err() {
            return Vec::new();
        }
    }
    writer.into_inner().unwrap_or_default()
}

fn panel(car: &Car, panel: usize) -> String {
    car.panels.get(panel).map(|panel| panel.panel.name.clone()).unwrap_or_default()
}

fn readings(contents: &Contents) -> Vec<u8> {
    let car = &contents.job.car;
    let header = ["panel", "x_mm", "y_mm", "reading", "unit", "layer", "after", "gauge", "session", "taken", "note"];
    let rows = car.readings.iter().enumerate().map(|(i, reading)| {
        let jotting = contents.jottings.get(i).cloned().unwrap_or_default();
        let entered = jotting.entered.filter(|entered| entered.thickness() == reading.value).map(|entered| entered.to_string());
        let entered = entered.unwrap_or_else(|| format!("{} um", reading.value.micrometres()));
        let (number, unit) = entered.split_once(' ').unwrap_or((entered.as_str(), "um"));
        vec![
            panel(car, reading.panel),
            reading.x_mm.to_string(),
            reading.y_mm.to_string(),
            number.to_owned(),
            unit.to_owned(),
            word_for(&reading.layer, &LAYERS).to_owned(),
            after::write(&reading.after, &car.processes),
            car.gauges.get(reading.gauge).map(|gauge| gauge.name.clone()).unwrap_or_default(),
            reading.session.clone(),
            jotting.taken,
            jotting.note,
        ]
    });
    csv(&header, &["gauge", "session", "taken", "note"], &rows.collect::<Vec<_>>())
}

fn worked(car: &Car) -> Vec<u8> {
    let header = ["panel", "x_mm", "y_mm", "width_mm", "height_mm", "after", "keep_off"];
    let rows = car.worked.iter().map(|worked| {
        let [x, y, w, h] = [worked.x_mm, worked.y_mm, worked.width_mm, worked.height_mm].map(|mm| mm.to_string());
        vec![panel(car, worked.panel), x, y, w, h, after::write(&worked.after, &car.processes), kept_off::write(&worked.kept_off)]
    });
    csv(&header, &["keep_off"], &rows.collect::<Vec<_>>())
}

fn defects(contents: &Contents) -> Vec<u8> {
    let car = &contents.job.car;
    let header = ["spot", "panel", "after", "count", "x_mm", "y_mm", "share_low", "share_high", "kind", "share_left", "wiped"];
    let rows = car.counts.iter().enumerate().map(|(i, count)| {
        let (counted, share_left) = match count.seen {
            Seen::Count(count) => (count.to_string(), String::new()),
            Seen::ShareLeft(share) => (String::new(), share.to_string()),
        };
        let pair = |pair: Option<[f64; 2]>| pair.map_or_else(Default::default, |pair| pair.map(|number| number.to_string()));
        let [x, y] = pair(contents.spots_mm.get(i).copied().flatten());
        let [low, high] = pair(count.share_between);
        let kind = if count.kind == Kind::Fine { "" } else { word_for(&count.kind, &KINDS) };
        let wiped = if count.wiped { "yes" } else { "" };
        let after = done(car, &count.after);
        vec![count.spot.clone(), panel(car, count.panel), after, counted, x, y, low, high, kind.to_owned(), share_left, wiped.to_owned()]
    });
    csv(&header, &["x_mm", "y_mm", "share_low", "share_high", "kind", "share_left", "wiped"], &rows.collect::<Vec<_>>())
}

fn gloss(contents: &Contents) -> Vec<u8> {
    let car = &contents.job.car;
    let header = ["spot", "panel", "after", "gloss_20", "gloss_60", "index"];
    let number = |number: Option<f64>| number.map_or_else(String::new, |number| number.to_string());
    let rows = contents.job.gloss.iter().map(|reading| {
        let [gloss_20, gloss_60, index] = [reading.gloss_20, reading.gloss_60, reading.index].map(number);
        vec![reading.spot.clone(), panel(car, reading.panel), done(car, &reading.after), gloss_20, gloss_60, index]
    });
    csv(&header, &["index"], &rows.collect::<Vec<_>>())
}

/// What had been done, as the column `after` has it.
fn done(car: &Car, after: &[(usize, u32)]) -> String {
    let steps: Vec<Step> = after.iter().map(|(process, sets)| Step { process: *process, sets: *sets }).collect();
    after::write(&steps, &car.processes)
}
