//! A table of readings as text, and what its rows say.

use csv::{ReaderBuilder, Trim};
use lastmicron_units::{Entered, Unit};
use serde::Deserialize;
use serde_json::{Value, json};

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
    /// Unit where no column says it; empty until somebody chooses it.
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
            let at = |is_it: &dyn Fn(&String) -> bool| table.headings.iter().position(is_it).map(|at| at.to_string());
            let of = |name: &str| at(&|heading| heading.eq_ignore_ascii_case(name));
            self.panel = of("panel");
            self.x_mm = of("x_mm").or_else(|| of("x"));
            self.y_mm = of("y_mm").or_else(|| of("y"));
            self.reading = ["reading", "value", "thickness"].iter().find_map(|name| at(&|heading| parted(heading).0 == *name));
            [self.unit, self.layer, self.session, self.note] = ["unit", "layer", "session", "note"].map(of);
        }
        self.open = open;
        self
    }

    /// The unit that the heading of the readings says.
    pub(super) fn heading_unit(&self, table: &Table) -> Option<Unit> {
        self.column("reading").and_then(|at| table.headings.get(at)).and_then(|heading| parted(heading).1)
    }
}

/// A heading without its unit, and the unit: `reading_um`, `value (um)`, `thickness [mil]`.
fn parted(heading: &str) -> (String, Option<Unit>) {
    let mut words: Vec<&str> = heading.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let unit = words.last().and_then(|last| last.parse().ok());
    if unit.is_some() {
        words.pop();
    }
    (words.join("_").to_lowercase(), unit)
}

/// A table.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Table {
    pub(super) headings: Vec<String>,
    rows: Vec<Line>,
}

/// A row as it stands.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Line {
    /// Its line, as an editor counts.
    pub(super) number: u64,
    /// Its cells.
    cells: Vec<String>,
}

impl Line {
    /// What stands in it.
    pub(super) fn words(&self) -> String {
        self.cells.iter().map(String::as_str).filter(|cell| !cell.is_empty()).collect::<Vec<_>>().join(" \u{b7} ")
    }
}

impl Table {
    /// Reads a table whose columns are parted by commas, semicolons or tabs: the one that its heading has most of.
    pub(super) fn read(text: &str) -> Result<Self, String> {
        // Forms send lines that end with CR LF, and the reader counts a line from before its LF.
        let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n");
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
            let number = record.position().map_or(0, csv::Position::line);
            rows.push(Line { number, cells: record.iter().map(str::to_owned).collect() });
        }
        Ok(Self { headings, rows })
    }

    /// Each row with the event that it says, or why it says none.
    pub(super) fn said<'t>(&'t self, choice: &Choice) -> Vec<(&'t Line, Result<Value, String>)> {
        let of_heading = choice.heading_unit(self);
        self.rows.iter().map(|line| (line, said(choice, of_heading, &line.cells))).collect()
    }
}

fn said(choice: &Choice, of_heading: Option<Unit>, cells: &[String]) -> Result<Value, String> {
    let cell = |name: &str| choice.column(name).and_then(|at| cells.get(at)).map(|text| text.trim()).filter(|text| !text.is_empty());
    let must = |name: &str| cell(name).ok_or_else(|| format!("nothing says the {name}"));
    let number = |text: &str| match choice.decimal {
        Decimal::Point if text.contains(',') => Err(format!("'{text}' has a comma: say above that numbers are written so, if they are")),
        Decimal::Point => Ok(text.to_owned()),
        Decimal::Comma => Ok(text.replace(',', ".")),
    };
    let reading = number(must("reading")?)?;
    let chosen = Some(choice.of.as_str()).filter(|of| !of.is_empty());
    let unit: Unit = match (cell("unit"), of_heading, chosen) {
        (Some(word), _, _) | (None, None, Some(word)) => word.parse().map_err(|error| format!("{error}"))?,
        (None, Some(unit), _) => unit,
        // A number that brings its unit with it needs no other.
        (None, None, None) if reading.ends_with(char::is_alphabetic) => Unit::Micrometre,
        (None, None, None) => return Err("nothing says the unit".to_owned()),
    };
    let entered = Entered::read(&reading, unit).map_err(|error| error.to_string())?.to_string();
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

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, decimal: Decimal) -> Vec<Result<Value, String>> {
        let table = Table::read(text).unwrap();
        let choice = Choice { decimal, ..Choice::default() }.guessed(&table, Some("a".to_owned()));
        table.said(&choice).into_iter().map(|(_, said)| said).collect()
    }

    #[test]
    fn columns_are_found_by_their_headings_whatever_parts_them() {
        let expected = json!({ "kind": "reading-taken", "panel": "bonnet", "x_mm": "100", "y_mm": "200", "value": { "number": "63.2", "unit": "um" }, "session": "a" });
        for text in [
            "panel,x_mm,y_mm,reading_um\nbonnet,100,200,63.2",
            "\u{feff}Panel;X;Y;Value (\u{b5}m)\r\nbonnet;100;200;63.2\r\n",
            "panel\tx_mm\ty_mm\treading\tunit\nbonnet\t100\t200\t63.2\tum",
        ] {
            assert_eq!(read(text, Decimal::Point), [Ok(expected.clone())], "{text}");
        }
    }

    #[test]
    fn lines_are_counted_as_a_person_counts_them_however_they_end() {
        for end in ["\n", "\r\n"] {
            let table = Table::read(&["panel,x,y,reading_um", "bonnet,1,2,60", "bonnet,3,4,61", ""].join(end)).unwrap();
            assert_eq!(table.rows.iter().map(|line| line.number).collect::<Vec<_>>(), [2, 3]);
        }
    }

    #[test]
    fn a_unit_is_said_by_the_row_by_the_heading_or_by_somebody_and_never_guessed() {
        let units = |heading: &str, row: &str, of: &str| {
            let table = Table::read(&format!("panel,x,y,{heading}\nbonnet,1,2,{row}")).unwrap();
            let choice = Choice { of: of.to_owned(), ..Choice::default() }.guessed(&table, None);
            let said = table.said(&choice).remove(0).1;
            said.map(|body| body["value"]["unit"].as_str().unwrap().to_owned())
        };
        let lacking = Err("nothing says the unit".to_owned());
        assert_eq!(units("reading", "2.5", ""), lacking);
        assert_eq!(units("reading,unit", "2.5,", ""), lacking);
        assert_eq!(units("reading", "2.5", "mil"), Ok("mil".to_owned()));
        assert_eq!(units("reading", "2.5 mil", ""), Ok("mil".to_owned()));
        assert_eq!(units("Thickness [mil]", "2.5", ""), Ok("mil".to_owned()));
        // The nearer to the number, the more it counts.
        assert_eq!(units("reading_um,unit", "2.5,mil", "mm"), Ok("mil".to_owned()));
        assert_eq!(units("reading_um", "63", "mil"), Ok("um".to_owned()));
        assert!(units("reading", "2.5", "furlong").is_err());
    }

    #[test]
    fn a_comma_before_decimals_is_taken_only_where_it_was_said_to_be_one() {
        let text = "panel;x_mm;y_mm;reading_um\nbonnet;100,5;200;63,2";
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
