//! What becomes of each row: whether it can be taken, is asked about first, or is in the record already.

use std::collections::BTreeMap;

use lastmicron_film::gauge::Layer;
use lastmicron_film::panel::Panel;
use lastmicron_job::event::{Event, Id};
use lastmicron_job::fold::Taken;
use lastmicron_plan::survey::Expected;
use lastmicron_plan::{Car, Reading};
use lastmicron_record::Sealed;
use lastmicron_units::Thickness;
use serde_json::{Value, json};

use super::table::{Choice, Table};
use crate::estimates::ToSurvey;
use crate::failure::Failure;
use crate::shop::{Folded, Shop};

/// A row, and what becomes of it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    /// Its line.
    pub(super) line: u64,
    /// As it stands there.
    pub(super) words: String,
    /// What becomes of it.
    pub(super) fate: Fate,
}

/// What becomes of a row.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Fate {
    /// It can't be taken, and why.
    Refused(String),
    /// It is taken where somebody says that it is right: the event, and what is asked.
    Asked(Value, String),
    /// The record holds it already: it is taken where somebody says that it is another.
    Held(Value),
    /// It can be taken.
    Good(Value),
}

/// Judges every row by the record as it stands. Nothing is recorded.
pub(super) fn judged(table: &Table, choice: &Choice, job: Id, folded: &Folded, shop: &Shop) -> Result<Vec<Row>, Failure> {
    let tried = |(at, said): (usize, Result<Value, String>)| said.and_then(|body| Ok((tried(at, &body, job, shop)?, body)));
    let (lines, said): (Vec<_>, Vec<_>) = table.said(choice).into_iter().unzip();
    let tried: Vec<Result<(Sealed, Value), String>> = said.into_iter().enumerate().map(tried).collect();
    let standing = folded.next(&tried.iter().flatten().map(|(sealed, _)| sealed.event()).collect::<Vec<_>>());
    let unusable: BTreeMap<Id, String> = standing.unusable.iter().map(|one| (one.event, one.why.to_string())).collect();
    let taken: BTreeMap<Id, &Taken> = standing.readings.iter().map(|taken| (taken.event, taken)).collect();
    let mut judge =
        Judge { job, shop, car: ToSurvey::of(&folded.standing).car, held: folded.standing.readings.iter().collect(), known: Vec::new() };
    let mut rows = Vec::new();
    for (line, tried) in lines.into_iter().zip(tried) {
        let fate = match tried {
            Err(why) => Fate::Refused(why),
            Ok((sealed, body)) => match (unusable.get(&sealed.event().id), taken.get(&sealed.event().id)) {
                (Some(why), _) => Fate::Refused(why.clone()),
                (None, Some(taken)) => judge.fate(taken, body)?,
                (None, None) => Fate::Refused("it is not a reading".to_owned()),
            },
        };
        rows.push(Row { line: line.number, words: line.words(), fate });
    }
    Ok(rows)
}

/// The event that a row would be: only to see whether it could be used.
fn tried(at: usize, body: &Value, job: Id, shop: &Shop) -> Result<Sealed, String> {
    let id = Id::made_at(at as u64, [0xee; 10]);
    let event = json!({ "id": id, "job": job, "when": shop.now(), "device": id, "who": "", "body": body });
    let event: Event = serde_json::from_value(event).map_err(|error| error.to_string())?;
    Sealed::seal(event).map_err(|refusal| refusal.to_string())
}

/// What rows that could be used are judged by.
struct Judge<'j> {
    job: Id,
    shop: &'j Shop,
    car: Car,
    /// Readings of the record that no row has repeated yet.
    held: Vec<&'j Taken>,
    /// What may be expected of a panel's layer, as far as it was asked for.
    known: Vec<(usize, Layer, Expected)>,
}

impl Judge<'_> {
    fn fate(&mut self, taken: &Taken, body: Value) -> Result<Fate, Failure> {
        if let Some(at) = self.held.iter().position(|held| is_same(held, taken)) {
            self.held.swap_remove(at);
            return Ok(Fate::Held(body));
        }
        let question = self.expected(&taken.reading)?.and_then(|expected| expected.question(taken.entered));
        Ok(question.map_or_else(|| Fate::Good(body.clone()), |question| Fate::Asked(body.clone(), question.to_string())))
    }

    /// What a reading of the panel's layer may be expected to show in its middle: computed once, since it costs a tenth of a second.
    fn expected(&mut self, reading: &Reading) -> Result<Option<&Expected>, Failure> {
        let is_known = |(panel, layer, _): &(usize, Layer, Expected)| *panel == reading.panel && *layer == reading.layer;
        if !self.known.iter().any(is_known)
            && let Some(panel) = self.car.panels.get(reading.panel)
        {
            let middle = in_the_middle(reading, &panel.panel);
            let expected = self.shop.estimates.expected(self.job, self.car.clone(), middle)?;
            self.known.push((reading.panel, reading.layer, expected));
        }
        Ok(self.known.iter().find(|one| is_known(one)).map(|(_, _, expected)| expected))
    }
}

/// The middle of the panel's box; an angled panel may have nothing there, and then the reading's own place stands for it.
fn in_the_middle(reading: &Reading, panel: &Panel) -> Reading {
    let middle = panel.size_mm().map(|mm| 0.5 * mm);
    let [x_mm, y_mm] = if panel.contains(middle[0], middle[1]) { middle } else { [reading.x_mm, reading.y_mm] };
    Reading { x_mm, y_mm, value: Thickness::NOTHING, ..reading.clone() }
}

/// Whether two readings say the same of the same place: a gauge that sends its memory twice sends such.
fn is_same(a: &Taken, b: &Taken) -> bool {
    let same = |a: f64, b: f64| a.total_cmp(&b).is_eq();
    let ([at, other], [entered, again]) = ([&a.reading, &b.reading], [a.entered, b.entered]);
    at.panel == other.panel
        && same(at.x_mm, other.x_mm)
        && same(at.y_mm, other.y_mm)
        && at.layer == other.layer
        && same(entered.number(), again.number())
        && entered.unit() == again.unit()
}
