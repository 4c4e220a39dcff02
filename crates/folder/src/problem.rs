//! What is wrong with a job folder, and what may be.

use std::fmt;

use lastmicron_polish::transfer::UseError;
use lastmicron_units::{EntryError, Implausible, NumberError, Unit};

use crate::place::{File, Place, on_one_line, shown};

/// What is wrong. Every sentence says what to do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Fault {
    /// A file that must be there is not.
    #[error("this file is missing: the folder needs it{}", did_you_mean(nearest.as_deref()))]
    NoFile {
        /// A file of nearly that name.
        nearest: Option<String>,
    },
    /// More than is read.
    #[error("this file holds more than {most}, more than is ever measured on one vehicle: leave out what this job doesn't need")]
    TooLarge {
        /// What is read at most.
        most: &'static str,
    },
    /// Bytes that are no UTF-8.
    #[error("this is not UTF-8 text: save the file as UTF-8 (in a spreadsheet, 'CSV UTF-8')")]
    NotUtf8,
    /// Text that is no TOML.
    #[error("this can't be read as TOML: {0}")]
    Syntax(String),
    /// Another version of the format.
    #[error("format {0} is not known here: this program reads format 1")]
    Format(i64),
    /// A word that is not one of those known.
    #[error("'{}' is not a {what} known here{}{}", shown(word), did_you_mean(nearest.as_deref()), known_list(known))]
    Unknown {
        /// What it was taken for.
        what: &'static str,
        /// The word.
        word: String,
        /// The nearest known one.
        nearest: Option<String>,
        /// All that are known.
        known: Vec<String>,
    },
    /// A key that stands in the wrong table.
    #[error("'{key}' doesn't belong here: it belongs in {home}")]
    Misplaced {
        /// The key.
        key: String,
        /// Where it belongs.
        home: &'static str,
    },
    /// A key that must be there.
    #[error("'{key}' is missing: add it, like `{example}`")]
    NoKey {
        /// The key.
        key: &'static str,
        /// A line as it might be.
        example: &'static str,
    },
    /// A column that must be there.
    #[error("the column '{column}' is missing{}: the header must have {needed}", did_you_mean(nearest.as_deref()))]
    NoColumn {
        /// The column.
        column: &'static str,
        /// A column of nearly that name.
        nearest: Option<String>,
        /// All that must be there.
        needed: String,
    },
    /// A header that is not divided by commas.
    #[error("the columns are divided by {0}: save the file with commas between columns and points for decimals")]
    Divider(&'static str),
    /// No rows below the header, or no header.
    #[error("there is nothing in it: {0}")]
    Nothing(&'static str),
    /// A row with more or fewer fields than the header.
    #[error(
        "this row has {found} fields where the header has {wanted}: an empty field keeps its comma, and a field with a comma in it stands in quotes{more}"
    )]
    FieldCount {
        /// Fields in the row.
        found: usize,
        /// Fields in the header.
        wanted: usize,
        /// What else is to be done about it, after a stop.
        more: &'static str,
    },
    /// A row of column names below the header.
    #[error(
        "this line names columns, as the first one does: a file has one header, with every column that a row needs. Take this line out, and give each row a field, empty or not, for every column"
    )]
    SecondHeader,
    /// More columns than anybody names.
    #[error(
        "the header names {0} columns, more than any file here has: are there commas that belong to the text, or line ends that are missing?"
    )]
    ManyColumns(usize),
    /// A field longer than anything that belongs there.
    #[error("a field of {0} characters: is a quote left open?")]
    LongField(usize),
    /// A field that must not be empty.
    #[error("the field is empty: {0}")]
    EmptyField(&'static str),
    /// A value of another kind than the key needs.
    #[error("this is {found}: it must be {wanted}")]
    Kind {
        /// What was found.
        found: String,
        /// What is needed.
        wanted: &'static str,
    },
    /// A text that is no number.
    #[error(transparent)]
    Number(#[from] NumberError),
    /// A text that is no film thickness.
    #[error(transparent)]
    Entry(#[from] EntryError),
    /// A number beyond what makes sense.
    #[error("{} makes no sense here: it must be {wanted}", shown(found))]
    Range {
        /// The number.
        found: String,
        /// What is needed.
        wanted: &'static str,
    },
    /// A name that is taken.
    #[error("'{}' stands already on line {first}: give every {what} a name of its own", shown(name))]
    Duplicate {
        /// What bears the name.
        what: &'static str,
        /// The name.
        name: String,
        /// Line of the first.
        first: usize,
    },
    /// A name that can't be used in columns.
    #[error("'{}' can't be a name: {why}", shown(name))]
    Name {
        /// The name.
        name: String,
        /// Why not.
        why: &'static str,
    },
    /// What was done, not written as `cut:1+finish:2`.
    #[error("'{}' doesn't say what had been done: write process:sets, like {example}", shown(text))]
    After {
        /// What was written.
        text: String,
        /// How it might be written.
        example: String,
    },
    /// What was kept off, not written as `edge 2: 50; line 1: 20`, or not of the panel.
    #[error("'{}' doesn't say what this panel was kept off by: write edge or line, its number, and mm, like edge 2: 50; line 0: 20", shown(.0))]
    KeptOff(String),
    /// Two keys or columns that exclude each other, or of which one is needed.
    #[error("give {0}: here is {1}")]
    OneOf(&'static str, &'static str),
    /// Processes that each must come after another, round and round.
    #[error("'{0}' can't be followed by '{1}': that leads back to '{0}' and never ends")]
    Circle(String, String),
    /// An outline that encloses nothing or crosses itself.
    #[error("this is no panel's outline: {0}")]
    Outline(String),
    /// A body line of one point.
    #[error("this is no body line: one point has no direction; list at least two")]
    LineOfOnePoint,
    /// A place off its panel.
    #[error("({x_mm}, {y_mm}) is not on '{panel}', which is {width_mm} by {height_mm} mm from its lower left: measure from there, in mm")]
    OffPanel {
        /// The place.
        x_mm: f64,
        /// The place.
        y_mm: f64,
        /// The panel.
        panel: String,
        /// Its size.
        width_mm: f64,
        /// Its size.
        height_mm: f64,
    },
    /// A reading that the gauge can't have taken.
    #[error(
        "'{panel}' is {substrate}, which neither a magnetic nor an eddy-current gauge reads through: take the reading out, or correct the panel's substrate in job.toml"
    )]
    Unreadable {
        /// The panel.
        panel: String,
        /// What it is made of.
        substrate: &'static str,
    },
    /// A number that can't be meant in its unit.
    #[error("{what}: {}", unit_advice(what.entered.unit()))]
    Unit {
        /// What is odd.
        what: Implausible,
    },
    /// A number in a unit that all other readings of the job speak against.
    #[error(
        "{entered} is {um:.0} um where the vehicle's readings stand about {usual_um:.0} um: {entered_number} {likely} would fit: {}", unit_advice(*unit)
    )]
    UnitOfCar {
        /// As it was entered.
        entered: String,
        /// The same in um.
        um: f64,
        /// Median of the vehicle's readings.
        usual_um: f64,
        /// The number alone.
        entered_number: String,
        /// The unit that it was entered in.
        unit: Unit,
        /// A unit in which it would fit.
        likely: String,
    },
    /// A number with a decimal comma, cut in two by it.
    #[error("the unit is '{decimals}': if the reading is {whole} and a decimal comma, write {whole}.{decimals}")]
    DecimalComma {
        /// What stands before the comma.
        whole: String,
        /// What stands after it.
        decimals: String,
    },
    /// Two units in one row.
    #[error("the reading says {written} and the column says {column}: which one is it?")]
    TwoUnits {
        /// With the number.
        written: String,
        /// In the column.
        column: String,
    },
    /// A film thinner than the foil it was read through.
    #[error("{reading_um} um is less than the {through_um} um of film left under the probe: correct the reading or gauge.through_um")]
    BelowFoil {
        /// The reading.
        reading_um: f64,
        /// The foil.
        through_um: f64,
    },
    /// A floor that no reading reaches.
    #[error(
        "the floor of {floor} is above every reading (the highest is {highest}): nothing may be worked. Check the floor and the readings' units"
    )]
    FloorAboveAll {
        /// The floor.
        floor: String,
        /// The highest reading.
        highest: String,
    },
    /// A survey of the undercoat alone.
    #[error("only undercoats were read, and no film to be worked: read at least three places on each panel to be worked")]
    NoFilmRead,
    /// A survey of one place.
    #[error(
        "the whole survey is {}, which says nothing of how the film varies: read at least three places on each panel to be worked",
        if *readings == 1 { "one reading".to_owned() } else { format!("{readings} readings at one place") }
    )]
    OnePlace {
        /// Readings taken there.
        readings: usize,
    },
    /// Nothing to plan.
    #[error("no panel is worked: every panel says work = false")]
    NoWork,
    /// A machine and a pad that can't be used so.
    #[error("no set can be worked so: {0}")]
    Use(UseError),
    /// Stages that are no set.
    #[error("{0}")]
    Stages(&'static str),
    /// A spot on two panels.
    #[error("the spot '{}' lies on '{first}' above and on '{second}' here: a spot lies on one panel", shown(spot))]
    SpotMoved {
        /// The spot.
        spot: String,
        /// Panel before.
        first: String,
        /// Panel here.
        second: String,
    },
}

/// What may be wrong, or should be known; the folder is read all the same.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Doubt {
    /// A number that no unit makes plausible.
    #[error("{0}: check it; it is used as it stands")]
    Implausible(Implausible),
    /// Very thick film stated in the unit of the other readings.
    #[error(
        "{entered} is {um:.0} um where the vehicle's readings stand about {usual_um:.0} um: filler, or a slip of the unit? It is used as it stands"
    )]
    FarFromCar {
        /// As it was entered.
        entered: String,
        /// The same in um.
        um: f64,
        /// Median of the vehicle's readings.
        usual_um: f64,
    },
    /// A body that is not in the library.
    #[error("there is no outline for the body '{}': only the panels below are used", shown(.0))]
    Body(String),
    /// Something left out that has an unknown as its value.
    #[error("'{0}' is not stated: it is taken as unknown")]
    Unstated(&'static str),
    /// A certainty that nobody has.
    #[error("a standard deviation of 0 takes '{0}' as certain")]
    Certain(String),
    /// A file in the folder that is not read.
    #[error("'{}' in the folder is not read; is it meant as {meant}?", shown(found))]
    OtherFile {
        /// Its name.
        found: String,
        /// The file that it may be meant as.
        meant: &'static str,
    },
    /// A panel without a reading.
    #[error("'{0}' has no reading: read it, or state spend_um in [limits], by which the mildest process can be planned on it")]
    NotMeasured(String),
    /// Readings after work that worked.csv doesn't know of.
    #[error(
        "{readings} reading(s) on '{panel}' were taken after work that worked.csv doesn't cover: the plan takes those places as not worked. Add the rectangle that was worked"
    )]
    WorkNotCovered {
        /// The panel.
        panel: String,
        /// How many readings.
        readings: usize,
    },
    /// A chance that can't bind.
    #[error("through_risk is not below risk: what reaches the undercoat is below the floor already, so that it limits nothing")]
    ThroughRiskIdle,
    /// A spot without a count before work.
    #[error("the spot '{}' has no count before work (with 'after' empty): its counts say less", shown(.0))]
    NoCountBefore(String),
    /// Two looks at a spot that can hardly both be right.
    #[error(
        "{} are left of the spot '{}' on line {first_line} and {} here, 19 times in 20 each, though after the same sets, or less after fewer: both can hardly be right. A plan takes both, and comes out between them and surer than of either. Leave out the one that is wrong",
        shares(first),
        shown(spot),
        shares(here)
    )]
    Disagree {
        /// The spot.
        spot: String,
        /// Line of the first.
        first_line: usize,
        /// Bounds of the share left there.
        first: [f64; 2],
        /// Bounds of the share left here.
        here: [f64; 2],
    },
}

/// Bounds of a share in per cent.
fn shares([low, high]: &[f64; 2]) -> String {
    format!("{:.0} to {:.0} %", 100.0 * low, 100.0 * high)
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |word| format!(" (did you mean '{}'?)", shown(word)))
}

/// What to do about a number that can't be meant in `unit`: thick film may be real, and is then said in um; film thinner than any paint is a slip.
fn unit_advice(unit: Unit) -> &'static str {
    match unit {
        Unit::Micrometre => "correct the unit, or leave the reading out if it was a slip",
        Unit::Mil | Unit::Millimetre => "correct the unit, or, if the gauge did show that, write it in um",
    }
}

/// Most words that a message lists.
const MOST_LISTED: usize = 12;

fn known_list(known: &[String]) -> String {
    if known.is_empty() {
        return ": there is none in this job".to_owned();
    }
    let words: Vec<String> = known.iter().take(MOST_LISTED).map(|word| shown(word)).collect();
    let rest = known.len() - words.len();
    let more = if rest == 0 { String::new() } else { format!(" and {rest} more") };
    format!(": use {}{more}", words.join(", "))
}

/// On one line, with a stop at its end, unless it ends in a question.
fn sentence(words: &impl fmt::Display) -> String {
    let words = on_one_line(&words.to_string());
    let stop = if words.ends_with('?') { "" } else { "." };
    format!("{words}{stop}")
}

/// Something wrong, and where.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{place}: {}", sentence(fault))]
pub struct Problem {
    /// Where.
    pub place: Place,
    /// What.
    pub fault: Fault,
}

/// Something that may be wrong, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Where.
    pub place: Place,
    /// What.
    pub doubt: Doubt,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, sentence(&self.doubt))
    }
}

/// Everything that is wrong with a folder.
#[derive(Clone, Debug, PartialEq)]
pub struct Problems {
    /// The first of them, in the order of files and lines.
    pub listed: Vec<Problem>,
    /// How many more there are.
    pub left_off: usize,
    /// What else is to be known of the folder.
    pub findings: Vec<Finding>,
}

impl std::error::Error for Problems {}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, problem) in self.listed.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{problem}")?;
        }
        if self.left_off > 0 {
            write!(f, "\n... and {} more like these.", self.left_off)?;
        }
        Ok(())
    }
}

/// Most problems or findings that are kept; the rest is counted.
const MOST_KEPT: usize = 50;

/// Collects what is wrong while a folder is read.
#[derive(Debug, Default)]
pub(crate) struct Ledger {
    problems: Vec<Problem>,
    findings: Vec<Finding>,
    left_off: usize,
}

impl Ledger {
    pub(crate) fn refuse(&mut self, place: Place, fault: impl Into<Fault>) {
        if self.problems.len() < MOST_KEPT {
            self.problems.push(Problem { place, fault: fault.into() });
        } else {
            self.left_off += 1;
        }
    }

    pub(crate) fn doubt(&mut self, place: Place, doubt: Doubt) {
        if self.findings.len() < MOST_KEPT {
            self.findings.push(Finding { place, doubt });
        }
    }

    /// Whether nothing is wrong with a file, as far as it was looked at.
    pub(crate) fn is_clean(&self, file: File) -> bool {
        self.left_off == 0 && self.problems.iter().all(|problem| problem.place.file != file)
    }

    /// The value with the findings, if nothing is wrong.
    pub(crate) fn close<T>(mut self, value: Option<T>) -> Result<(T, Vec<Finding>), Problems> {
        self.problems.sort_by(|a, b| a.place.cmp(&b.place));
        match value {
            Some(value) if self.problems.is_empty() => Ok((value, self.findings)),
            _ => Err(Problems { listed: self.problems, left_off: self.left_off, findings: self.findings }),
        }
    }
}
