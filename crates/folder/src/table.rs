//! A table of job.toml, read key by key, so that all that is wrong with it is said at once.

use std::ops::Range;

use lastmicron_job::bounds::{MOST_MM, Sense};
use lastmicron_job::name::unusable;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::nearest::nearest;
use crate::place::{File, Place};
use crate::problem::{Fault, Ledger};

/// Where the lines of a text begin.
pub(crate) struct Lines(Vec<usize>);

impl Lines {
    pub(crate) fn of(text: &str) -> Self {
        Self(text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at).collect())
    }

    /// The line of a byte, from 1.
    pub(crate) fn line(&self, at: usize) -> usize {
        self.0.partition_point(|end| *end < at) + 1
    }

    fn place(&self, span: &Range<usize>) -> Place {
        Place::line(File::Job, self.line(span.start))
    }
}

struct Entry<'t> {
    key: &'t str,
    place: Place,
    value: &'t Spanned<DeValue<'t>>,
}

/// A table whose keys are asked for one by one; what was not asked for is unknown.
pub(crate) struct Table<'t> {
    entries: Vec<Entry<'t>>,
    asked: Vec<&'static str>,
    path: String,
    place: Place,
    lines: &'t Lines,
}

impl<'t> Table<'t> {
    /// The whole document.
    pub(crate) fn root(table: &'t DeTable<'t>, lines: &'t Lines) -> Self {
        Self::new(table, String::new(), Place::file(File::Job), lines)
    }

    fn new(table: &'t DeTable<'t>, path: String, place: Place, lines: &'t Lines) -> Self {
        let entry = |(key, value): (&'t Spanned<_>, &'t Spanned<DeValue<'t>>)| {
            let name: &'t std::borrow::Cow<'t, str> = key.get_ref();
            Entry { key: name.as_ref(), place: lines.place(&key.span()).part(format!("{path}{name}")), value }
        };
        let mut entries: Vec<Entry<'t>> = table.iter().map(entry).collect();
        entries.sort_by_key(|entry| entry.place.line);
        Self { entries, asked: Vec::new(), path, place, lines }
    }

    /// The place of a key, or of the table where the key is not there.
    pub(crate) fn place(&self, key: &str) -> Place {
        self.entries.iter().find(|entry| entry.key == key).map_or_else(|| self.here(key), |entry| entry.place.clone())
    }

    /// The line that the table begins on.
    pub(crate) fn line(&self) -> usize {
        self.place.line.unwrap_or(1)
    }

    fn here(&self, key: &str) -> Place {
        Place { file: File::Job, line: self.place.line, part: Some(format!("{}{key}", self.path)) }
    }

    fn value(&mut self, key: &'static str) -> Option<&'t Spanned<DeValue<'t>>> {
        if !self.asked.contains(&key) {
            self.asked.push(key);
        }
        self.entries.iter().find(|entry| entry.key == key).map(|entry| entry.value)
    }

    /// Whether a key is there.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.entries.iter().any(|entry| entry.key == key)
    }

    /// Whether a key holds a list.
    pub(crate) fn is_list(&self, key: &str) -> bool {
        self.entries.iter().any(|entry| entry.key == key && entry.value.get_ref().as_array().is_some())
    }

    /// Refuses a table without a key that must be there.
    pub(crate) fn need(&mut self, key: &'static str, example: &'static str, ledger: &mut Ledger) {
        if self.value(key).is_none() {
            ledger.refuse(self.here(key), Fault::NoKey { key, example });
        }
    }

    fn wrong_kind(&self, key: &str, value: &DeValue<'_>, wanted: &'static str, ledger: &mut Ledger) {
        ledger.refuse(self.place(key), Fault::Kind { found: kind(value), wanted });
    }

    /// A finite number that makes sense.
    pub(crate) fn number(&mut self, key: &'static str, sense: &Sense, ledger: &mut Ledger) -> Option<f64> {
        let value = self.value(key)?.get_ref();
        let Some(number) = as_number(value) else {
            self.wrong_kind(key, value, "a number, without quotes", ledger);
            return None;
        };
        if number.is_finite() && (sense.holds)(number) {
            return Some(number + 0.0);
        }
        ledger.refuse(self.place(key), Fault::Range { found: number.to_string(), wanted: sense.wanted });
        None
    }

    /// A whole number from `low` to `high`.
    pub(crate) fn whole(&mut self, key: &'static str, [low, high]: [i64; 2], wanted: &'static str, ledger: &mut Ledger) -> Option<i64> {
        let value = self.value(key)?.get_ref();
        let whole = value.as_integer().and_then(|integer| i64::from_str_radix(integer.as_str(), integer.radix()).ok());
        match whole {
            Some(whole) if (low..=high).contains(&whole) => return Some(whole),
            Some(whole) => ledger.refuse(self.place(key), Fault::Range { found: whole.to_string(), wanted }),
            None => self.wrong_kind(key, value, wanted, ledger),
        }
        None
    }

    /// A text, without spaces around it.
    pub(crate) fn text(&mut self, key: &'static str, ledger: &mut Ledger) -> Option<&'t str> {
        let value = self.value(key)?.get_ref();
        if let DeValue::String(text) = value {
            return Some(text.trim());
        }
        self.wrong_kind(key, value, "a text in quotes", ledger);
        None
    }

    /// A name: a text that is not empty.
    pub(crate) fn name(&mut self, key: &'static str, ledger: &mut Ledger) -> Option<&'t str> {
        let name = self.text(key, ledger)?;
        if let Some(why) = unusable(name) {
            ledger.refuse(self.place(key), Fault::Name { name: name.to_owned(), why });
            return None;
        }
        Some(name)
    }

    /// One of a few words.
    pub(crate) fn word<T: Copy>(&mut self, key: &'static str, words: &[(&str, T)], ledger: &mut Ledger) -> Option<T> {
        let text = self.text(key, ledger)?;
        if let Some((_, meant)) = words.iter().find(|(word, _)| *word == text) {
            return Some(*meant);
        }
        let known = words.iter().map(|(word, _)| (*word).to_owned()).collect();
        let nearest = nearest(text, words.iter().map(|(word, _)| *word));
        ledger.refuse(self.place(key), Fault::Unknown { what: "word", word: text.to_owned(), nearest, known });
        None
    }

    /// `true` or `false`.
    pub(crate) fn flag(&mut self, key: &'static str, ledger: &mut Ledger) -> Option<bool> {
        let value = self.value(key)?.get_ref();
        if value.as_bool().is_none() {
            self.wrong_kind(key, value, "true or false, without quotes", ledger);
        }
        value.as_bool()
    }

    /// A table within.
    pub(crate) fn table(&mut self, key: &'static str, ledger: &mut Ledger) -> Option<Table<'t>> {
        let value = self.value(key)?;
        let DeValue::Table(table) = value.get_ref() else {
            self.wrong_kind(key, value.get_ref(), "a table", ledger);
            return None;
        };
        Some(Table::new(table, format!("{}{key}.", self.path), self.place(key), self.lines))
    }

    /// The tables of a list of tables; none where the key is not there.
    pub(crate) fn tables(&mut self, key: &'static str, ledger: &mut Ledger) -> Vec<Table<'t>> {
        let Some(value) = self.value(key) else { return Vec::new() };
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong_kind(key, value.get_ref(), "a list of tables: write its header with two brackets on each side", ledger);
            return Vec::new();
        };
        let mut tables = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::Table(table) => {
                    tables.push(Table::new(table, format!("{}{key}.", self.path), self.lines.place(&item.span()), self.lines));
                }
                other => self.wrong_kind(key, other, "a list of tables: write its header with two brackets on each side", ledger),
            }
        }
        tables
    }

    /// A list of points.
    pub(crate) fn points(&mut self, key: &'static str, ledger: &mut Ledger) -> Option<Vec<[f64; 2]>> {
        const WANTED: &str = "a list of points in mm, like [[0, 0], [1400, 0], [1400, 1150]]";
        let value = self.value(key)?.get_ref();
        let points: Option<Vec<[f64; 2]>> = value.as_array().and_then(|items| items.iter().map(|item| as_point(item.get_ref())).collect());
        if points.is_none() {
            self.wrong_kind(key, value, WANTED, ledger);
        }
        self.within(points?, key, ledger)
    }

    /// A point, mm.
    pub(crate) fn point(&mut self, key: &'static str, ledger: &mut Ledger) -> Option<[f64; 2]> {
        let value = self.value(key)?.get_ref();
        let point = as_point(value);
        if point.is_none() {
            self.wrong_kind(key, value, "a point in mm, like [620, 90]", ledger);
        }
        self.within(vec![point?], key, ledger)?.first().copied()
    }

    fn within(&self, points: Vec<[f64; 2]>, key: &'static str, ledger: &mut Ledger) -> Option<Vec<[f64; 2]>> {
        if points.iter().flatten().all(|mm| mm.abs() <= MOST_MM) {
            return Some(points);
        }
        ledger.refuse(self.place(key), Fault::Range { found: "a point".to_owned(), wanted: "finite and within 15,000 mm" });
        None
    }

    /// Refuses every key that nobody asked for.
    pub(crate) fn finish(self, ledger: &mut Ledger) {
        for entry in &self.entries {
            if self.asked.contains(&entry.key) {
                continue;
            }
            let home = HOMES.iter().find(|(key, _)| *key == entry.key);
            let fault = match home {
                Some((key, home)) => Fault::Misplaced { key: (*key).to_owned(), home },
                None => Fault::Unknown {
                    what: "key",
                    word: entry.key.to_owned(),
                    nearest: nearest(entry.key, self.asked.iter().copied()),
                    known: self.asked.iter().map(|key| (*key).to_owned()).collect(),
                },
            };
            ledger.refuse(entry.place.clone(), fault);
        }
    }
}

/// Keys that have one home, for those who put them elsewhere.
const HOMES: [(&str, &str); 28] = [
    ("body", "[vehicle]"),
    ("built", "[vehicle]"),
    ("system", "[paint]"),
    ("accuracy", "[gauge]"),
    ("repeatability_um", "[gauge]"),
    ("resolution_um", "[gauge]"),
    ("through_um", "[gauge]"),
    ("floor_um", "[limits]"),
    ("risk", "[limits]"),
    ("spend_um", "[limits]"),
    ("through_risk", "[limits]"),
    ("correction", "[goal]"),
    ("hours", "[goal]"),
    ("gain", "[edge]"),
    ("reach_mm", "[edge]"),
    ("removal_um", "[[process]]"),
    ("minutes_per_m2", "[[process]]"),
    ("followed_by", "[[process]]"),
    ("marks", "[[process]]"),
    ("load_n", "[process.use]"),
    ("arm_speed_mm_s", "[process.use]"),
    ("passes", "[process.use]"),
    ("stages", "[process.use]"),
    ("polish", "[process.use]"),
    ("stiffness_pa_per_m", "[[pad]]"),
    ("orbit_radius_mm", "[[machine]]"),
    ("outline_mm", "[[panel]]"),
    ("visibility", "[[panel]]"),
];

fn as_number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(float) => float.as_str().parse().ok(),
        DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str().parse().ok(),
        _ => None,
    }
}

fn as_point(value: &DeValue<'_>) -> Option<[f64; 2]> {
    match value.as_array()?.as_ref() {
        [x, y] => Some([as_number(x.get_ref())? + 0.0, as_number(y.get_ref())? + 0.0]),
        _ => None,
    }
}

fn kind(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text '{}'", crate::place::shown(text)),
        DeValue::Integer(integer) => format!("the number {integer}"),
        DeValue::Float(float) => format!("the number {float}"),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(_) => "a date or a time".to_owned(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}
