//! A table of readings as text, and what its rows say.

use csv::{ReaderBuilder, Trim};
use lastmicron_job::event::{Event, Id};
use lastmicron_record::Sealed;
use lastmicron_units::{Entered, Unit};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::failure::Failure;
use crate::shop::Shop;

/// Most rows that are looked at. Judgement: a car has some hundred readings.
const MOST_ROWS: usize = 1000;

/// Columns that are looked for: the event's field, and what it is called on the page.
pub(super) const COLUMNS: [(&str, &str); 8] = [
    ("panel", "Panel"),
    ("x_mm", "Across, mm"),
    ("y_mm", "Up, mm"),
    ("reading", "What the gauge showed"),
    ("unit", "Unit"),
    ("layer", "Layer: total, undercoat or topcoat"),
    ("session", "Session of the gauge"),
    ("note", "Note"),
];

/// The sign before decimals. It is never guessed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Decimal {
    /// 63.2
    #[default]
    Point,
    /// 63,2
    Comma,
}

impl Decimal {
    pub(super) const ALL: [(Self, &str, &str); 2] =
        [(Self::Point, "point", "63.2, with a point"), (Self::Comma, "comma", "63,2, with a comma")];
}

/// The text, and how it is to be read.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(default)]
pub(super) struct Choice {
    pub(super) text: String,
    panel: Option<String>,
    x_mm: Option<String>,
    y_mm: Option<String>,
    reading: Option<String>,
    unit: Option<String>,
    layer: Option<String>,
    session: Option<String>,
    note: Option<String>,
    /// Unit where no column says it.
    pub(super) of: String,
    pub(super) decimal: Decimal,
    /// The session that is open.
    #[serde(skip)]
    open: Option<String>,
}

impl Choice {
    const fn said(&self, name: &str) -> &Option<String> {
        match name.as_bytes() {
            b"panel" => &self.panel,
            b"x_mm" => &self.x_mm,
            b"y_mm" => &self.y_mm,
            b"reading" => &self.reading,
            b"unit" => &self.unit,
            b"layer" => &self.layer,
            b"session" => &self.session,
            _ => &self.note,
        }
    }

    /// Which column is meant.
    pub(super) fn column(&self, name: &str) -> Option<usize> {
        self.said(name).as_ref()?.parse().ok()
    }

    /// Columns that nobody chose are taken by their headings.
    pub(super) fn guessed(mut self, table: &Table, open: Option<String>) -> Self {
        let is_chosen = COLUMNS.iter().any(|(name, _)| self.said(name).is_some());
        if !is_chosen {
            let of = |name: &str| table.headings.iter().position(|heading| heading.eq_ignore_ascii_case(name)).map(|at| at.to_string());
            let first = |names: &[&str]| names.iter().find_map(|name| of(name));
            self.panel = of("panel");
            self.x_mm = first(&["x_mm", "x"]);
            self.y_mm = first(&["y_mm", "y"]);
            self.reading = first(&["reading", "value", "thickness"]);
            [self.unit, self.layer, self.session, self.note] = ["unit", "layer", "session", "note"].map(of);
        }
        if self.of.is_empty() {
            "um".clone_into(&mut self.of);
        }
        self.open = open;
        self
    }
}

/// A table.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Table {
    pub(super) headings: Vec<String>,
    /// Each with its line.
    rows: Vec<(u64, Vec<String>)>,
}

/// A row, and what it says.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    /// Its line.
    pub(super) line: u64,
    /// As it stands there.
    pub(super) words: String,
    /// The event that it says, or why it says none.
    pub(super) read: Result<Value, String>,
}

impl Table {
    /// Reads a table whose columns are parted by commas, semicolons or tabs: the one that its heading has most of.
    pub(super) fn read(text: &str) -> Result<Self, String> {
        let text = text.trim_start_matches('\u{feff}');
        let heading = text.lines().next().unwrap_or_default();
        let count = |sign: u8| heading.bytes().filter(|byte| *byte == sign).count();
        let delimiter = [b',', b';', b'\t'].into_iter().rev().max_by_key(|sign| count(*sign)).unwrap_or(b',');
        let mut reader = ReaderBuilder::new().delimiter(delimiter).flexible(true).trim(Trim::All).from_reader(text.as_bytes());
        let headings = reader.headers().map_err(|error| error.to_string())?.iter().map(str::to_owned).collect::<Vec<_>>();
        if headings.len() < 2 {
            return Err("the first line must name the columns, parted by commas, semicolons or tabs".to_owned());
        }
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| error.to_string())?;
            if rows.len() == MOST_ROWS {
                return Err(format!("more than {MOST_ROWS} rows: bring them in in parts"));
            }
            let line = record.position().map_or(0, csv::Position::line);
            rows.push((line, record.iter().map(str::to_owned).collect()));
        }
        Ok(Self { headings, rows })
    }

    /// What each row says, and whether it could be used as the record stands.
    pub(super) fn rows(&self, choice: &Choice, job: Id, shop: &Shop) -> Result<Vec<Row>, Failure> {
        let mut rows: Vec<Row> =
            self.rows.iter().map(|(line, cells)| Row { line: *line, words: cells.join(" \u{b7} "), read: said(choice, cells) }).collect();
        let at: Vec<usize> = (0..rows.len()).filter(|at| rows[*at].read.is_ok()).collect();
        let tried: Vec<Sealed> = at.iter().filter_map(|at| tried(*at, rows[*at].read.as_ref().ok()?, job, shop)).collect();
        for unusable in shop.unusable(job, &tried)? {
            let of = tried.iter().position(|sealed| sealed.event().id == unusable.event).and_then(|n| at.get(n));
            if let Some(row) = of.and_then(|at| rows.get_mut(*at)) {
                row.read = Err(unusable.why.to_string());
            }
        }
        Ok(rows)
    }
}

fn said(choice: &Choice, cells: &[String]) -> Result<Value, String> {
    let cell = |name: &str| choice.column(name).and_then(|at| cells.get(at)).map(|text| text.trim()).filter(|text| !text.is_empty());
    let must = |name: &str| cell(name).ok_or_else(|| format!("nothing says the {name}"));
    let number = |text: &str| match choice.decimal {
        Decimal::Point if text.contains(',') => Err(format!("'{text}' has a comma: say above that numbers are written so, if they are")),
        Decimal::Point => Ok(text.to_owned()),
        Decimal::Comma => Ok(text.replace(',', ".")),
    };
    let unit: Unit = cell("unit").unwrap_or(&choice.of).parse().map_err(|error| format!("{error}"))?;
    let entered = Entered::read(&number(must("reading")?)?, unit).map_err(|error| error.to_string())?.to_string();
    let (shown, unit) = entered.split_once(' ').unwrap_or((&entered, "um"));
    let mut body = json!({
        "kind": "reading-taken", "panel": must("panel")?, "x_mm": number(must("x_mm")?)?, "y_mm": number(must("y_mm")?)?, "value": { "number": shown, "unit": unit },
    });
    for name in ["layer", "note"] {
        if let Some(text) = cell(name) {
            body[name] = json!(text);
        }
    }
    if let Some(session) = cell("session").or(choice.open.as_deref()) {
        body["session"] = json!(session);
    }
    Ok(body)
}

/// The event that a row would be: only to see whether it could be used.
fn tried(at: usize, body: &Value, job: Id, shop: &Shop) -> Option<Sealed> {
    let id = Id::made_at(at as u64, [0xee; 10]);
    let event = json!({ "id": id, "job": job, "when": shop.now(), "device": id, "who": "", "body": body });
    let event: Event = serde_json::from_value(event).ok()?;
    Sealed::seal(event).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, decimal: Decimal) -> Vec<Result<Value, String>> {
        let table = Table::read(text).unwrap();
        let choice = Choice { decimal, ..Choice::default() }.guessed(&table, Some("a".to_owned()));
        table.rows.iter().map(|(_, cells)| said(&choice, cells)).collect()
    }

    #[test]
    fn columns_are_found_by_their_headings_whatever_parts_them() {
        let expected = json!({ "kind": "reading-taken", "panel": "bonnet", "x_mm": "100", "y_mm": "200", "value": { "number": "63.2", "unit": "um" }, "session": "a" });
        for text in [
            "panel,x_mm,y_mm,reading\nbonnet,100,200,63.2",
            "\u{feff}Panel;X;Y;Value\r\nbonnet;100;200;63.2\r\n",
            "panel\tx_mm\ty_mm\treading\tunit\nbonnet\t100\t200\t63.2\tum",
        ] {
            assert_eq!(read(text, Decimal::Point), [Ok(expected.clone())], "{text}");
        }
    }

    #[test]
    fn a_comma_before_decimals_is_taken_only_where_it_was_said_to_be_one() {
        let text = "panel;x_mm;y_mm;reading\nbonnet;100,5;200;63,2";
        assert!(read(text, Decimal::Point)[0].is_err());
        assert_eq!(read(text, Decimal::Comma)[0].as_ref().unwrap()["value"]["number"], "63.2");
    }

    #[test]
    fn what_is_wrong_is_said_row_by_row() {
        let rows = read(
            "panel,x_mm,y_mm,reading,unit\nbonnet,1,2,63.2,um\n,1,2,63.2,um\nbonnet,1,2,abc,um\nbonnet,1,2,63.2,furlong\nbonnet,1",
            Decimal::Point,
        );
        assert!(rows[0].is_ok());
        assert_eq!(rows[1], Err("nothing says the panel".to_owned()));
        assert!(rows[2..].iter().all(Result::is_err));
        assert!(Table::read("").is_err() && Table::read("reading\n63").is_err());
    }
}
