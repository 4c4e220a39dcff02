//! A CSV file as rows under a header.

use crate::nearest::nearest;
use crate::place::{File, Place};
use crate::problem::{Fault, Ledger};

/// Most rows read of one file.
///
/// Judgement: a vehicle is surveyed with some hundred readings, a logging gauge gives one a second for a working day at most; a plan takes time as the cube of the readings.
const MOST_ROWS: usize = 20_000;
/// The same in words.
const MOST_ROWS_IN_WORDS: &str = "20,000 rows";
/// Longest field, in characters: a note may be a paragraph.
const LONGEST_FIELD: usize = 1000;

/// Most columns of a header. Judgement: no file here has twenty; each that is not known is compared with all that are, so that with a million of them an answer would take minutes.
const MOST_COLUMNS: usize = 200;

/// The columns of one kind of file.
pub(crate) struct Columns {
    /// Those that must be there.
    pub(crate) needed: &'static [&'static str],
    /// Those that may be.
    pub(crate) optional: &'static [&'static str],
    /// What else is to be done about a row of another number of fields; empty where there is nothing else.
    pub(crate) on_other_width: &'static str,
}

impl Columns {
    fn all(&self) -> impl Iterator<Item = &'static str> {
        self.needed.iter().chain(self.optional).copied()
    }

    /// Whether a row names columns as a header does, all that are needed among them.
    fn is_header(&self, fields: &[String]) -> bool {
        let has = |name: &str| fields.iter().any(|field| field.trim() == name);
        self.needed.iter().all(|name| has(name)) && fields.iter().all(|field| self.all().any(|name| name == field.trim()))
    }
}

/// One row: its line, and its fields by column.
pub(crate) struct Row<'s> {
    file: File,
    /// Line of the file, from 1.
    pub(crate) line: usize,
    header: &'s [String],
    fields: &'s [String],
}

impl<'s> Row<'s> {
    /// The field under a column, without spaces around it; empty where the file has no such column.
    pub(crate) fn get(&self, column: &str) -> &'s str {
        let at = self.header.iter().position(|name| name == column);
        at.and_then(|at| self.fields.get(at)).map_or("", |field| field.trim())
    }

    /// The place of a column in this row.
    pub(crate) fn place(&self, column: &str) -> Place {
        Place::line(self.file, self.line).part(column)
    }
}

/// A file's rows.
pub(crate) struct Sheet {
    file: File,
    header_line: usize,
    header: Vec<String>,
    rows: Vec<(usize, Vec<String>)>,
}

impl Sheet {
    /// Reads a file's text. What is wrong goes to the ledger; nothing comes back when the header can't be used.
    pub(crate) fn read(file: File, text: &str, columns: &Columns, ledger: &mut Ledger) -> Option<Self> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut records = Records::new(text);
        let Some((header_line, header)) = records.next() else {
            ledger.refuse(Place::line(file, 1), Fault::Nothing("its first line must name the columns"));
            return None;
        };
        let header = usable_header(file, header_line, header, columns, ledger)?;
        let mut rows = Vec::new();
        for (line, mut fields) in records {
            if rows.len() == MOST_ROWS {
                ledger.refuse(Place::line(file, line), Fault::TooLarge { most: MOST_ROWS_IN_WORDS });
                return None;
            }
            while fields.len() > header.len() && fields.last().is_some_and(|field| field.trim().is_empty()) {
                fields.pop();
            }
            if let Some(long) = fields.iter().map(|field| field.chars().count()).find(|length| *length > LONGEST_FIELD) {
                ledger.refuse(Place::line(file, line), Fault::LongField(long));
            } else if columns.is_header(&fields) {
                ledger.refuse(Place::line(file, line), Fault::SecondHeader);
            } else if fields.len() == header.len() {
                rows.push((line, fields));
            } else {
                let (found, wanted) = (fields.len(), header.len());
                ledger.refuse(Place::line(file, line), Fault::FieldCount { found, wanted, more: columns.on_other_width });
            }
        }
        Some(Self { file, header_line, header, rows })
    }

    /// The place of the header.
    pub(crate) fn header_place(&self) -> Place {
        Place::line(self.file, self.header_line)
    }

    /// The rows, top to bottom.
    pub(crate) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|(line, fields)| Row { file: self.file, line: *line, header: &self.header, fields })
    }
}

/// The header's names, if every needed column is there and every column is known.
fn usable_header(file: File, line: usize, fields: Vec<String>, columns: &Columns, ledger: &mut Ledger) -> Option<Vec<String>> {
    let mut header: Vec<String> = fields.iter().map(|name| name.trim().to_owned()).collect();
    while header.last().is_some_and(String::is_empty) {
        header.pop();
    }
    let place = Place::line(file, line);
    if header.len() > MOST_COLUMNS {
        ledger.refuse(place, Fault::ManyColumns(header.len()));
        return None;
    }
    if let [only] = header.as_slice() {
        for (divider, in_words) in [(';', "semicolons"), ('\t', "tabs")] {
            if only.contains(divider) {
                ledger.refuse(place, Fault::Divider(in_words));
                return None;
            }
        }
    }
    let mut is_usable = true;
    let all = || columns.all();
    for (i, name) in header.iter().enumerate() {
        if !all().any(|known| known == name) {
            is_usable = false;
            let missing = all().filter(|known| !header.iter().any(|name| name == known));
            let nearest = nearest(name, missing);
            let known = all().map(str::to_owned).collect();
            ledger.refuse(place.clone(), Fault::Unknown { what: "column", word: name.clone(), nearest, known });
        } else if header[..i].contains(name) {
            is_usable = false;
            ledger.refuse(place.clone(), Fault::Duplicate { what: "column", name: name.clone(), first: line });
        }
    }
    for column in columns.needed {
        if !header.iter().any(|name| name == column) {
            is_usable = false;
            let unknown = header.iter().map(String::as_str).filter(|name| !all().any(|known| known == *name));
            let fault = Fault::NoColumn { column, nearest: nearest(column, unknown), needed: columns.needed.join(",") };
            ledger.refuse(place.clone(), fault);
        }
    }
    is_usable.then_some(header)
}

/// Records with the lines that they begin on; rows without any content are passed over.
struct Records<'t> {
    reader: csv::Reader<&'t [u8]>,
    text: &'t str,
    counted_to: usize,
    line: usize,
}

impl<'t> Records<'t> {
    fn new(text: &'t str) -> Self {
        let reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
        Self { reader, text, counted_to: 0, line: 1 }
    }

    /// Line of the record that begins at or after `byte`. The reader tells where it began to look, blank lines included.
    fn line_at(&mut self, byte: u64) -> usize {
        let bytes = self.text.as_bytes();
        let mut at = usize::try_from(byte).unwrap_or(bytes.len()).min(bytes.len());
        while matches!(bytes.get(at), Some(b'\n' | b'\r')) {
            at += 1;
        }
        let passed = bytes.get(self.counted_to..at).unwrap_or_default();
        self.line += line_ends(passed, bytes.get(at).copied());
        self.counted_to = at.max(self.counted_to);
        self.line
    }
}

/// Line ends in `passed`: `\n`, `\r\n`, or a `\r` alone.
fn line_ends(passed: &[u8], next: Option<u8>) -> usize {
    let following = passed.iter().skip(1).copied().map(Some).chain([next]);
    passed.iter().zip(following).filter(|(byte, next)| **byte == b'\n' || (**byte == b'\r' && *next != Some(b'\n'))).count()
}

impl Iterator for Records<'_> {
    type Item = (usize, Vec<String>);

    fn next(&mut self) -> Option<Self::Item> {
        let mut record = csv::StringRecord::new();
        loop {
            let from = self.reader.position().byte();
            // The text is UTF-8 and held in memory, so that neither of the reader's errors can come up; one would end the file.
            if !self.reader.read_record(&mut record).unwrap_or(false) {
                return None;
            }
            let line = self.line_at(from);
            if record.iter().any(|field| !field.trim().is_empty()) {
                return Some((line, record.iter().map(str::to_owned).collect()));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const COLUMNS: Columns = Columns { needed: &["a", "b"], optional: &["note"], on_other_width: "" };

    fn read(text: &str) -> Result<Vec<(usize, String, String)>, Vec<String>> {
        let mut ledger = Ledger::default();
        let sheet = Sheet::read(File::Readings, text, &COLUMNS, &mut ledger);
        match ledger.close(sheet) {
            Ok((sheet, _)) => Ok(sheet.rows().map(|row| (row.line, row.get("a").to_owned(), row.get("note").to_owned())).collect()),
            Err(problems) => Err(problems.listed.iter().map(ToString::to_string).collect()),
        }
    }

    fn row(line: usize, a: &str, note: &str) -> (usize, String, String) {
        (line, a.to_owned(), note.to_owned())
    }

    #[test]
    fn rows_keep_their_lines_through_blank_ones_and_every_line_end() {
        for end in ["\n", "\r\n", "\r"] {
            let text = ["\u{feff}a,b", "1,2", "", "", " , ", "3,4", "", "5,6"].join(end);
            assert_eq!(read(&text).unwrap(), [row(2, "1", ""), row(6, "3", ""), row(8, "5", "")], "{end:?}");
        }
    }

    #[test]
    fn quoted_fields_may_hold_commas_quotes_and_line_ends() {
        let text = "a,b,note\n\"x, y\",2,\"say \"\"hm\"\"\nand more\"\n3,4,\n";
        assert_eq!(read(text).unwrap(), [row(2, "x, y", "say \"hm\"\nand more"), row(4, "3", "")]);
    }

    #[test]
    fn trailing_commas_of_a_spreadsheet_are_passed_over() {
        assert_eq!(read("a,b,,\n1,2,,\n,,,\n").unwrap(), [row(2, "1", "")]);
    }

    #[test]
    fn every_problem_of_the_header_is_said() {
        assert_eq!(
            read("A,nota\n").unwrap_err(),
            [
                "readings.csv, line 1: 'A' is not a column known here (did you mean 'a'?): use a, b, note.",
                "readings.csv, line 1: 'nota' is not a column known here (did you mean 'note'?): use a, b, note.",
                "readings.csv, line 1: the column 'a' is missing (did you mean 'A'?): the header must have a,b.",
                "readings.csv, line 1: the column 'b' is missing: the header must have a,b.",
            ]
        );
        assert_eq!(
            read("a,b,a\n").unwrap_err(),
            ["readings.csv, line 1: 'a' stands already on line 1: give every column a name of its own."]
        );
        assert_eq!(
            read("a;b\n1;2\n").unwrap_err(),
            [
                "readings.csv, line 1: the columns are divided by semicolons: save the file with commas between columns and points for decimals."
            ]
        );
        assert_eq!(read("\n\n").unwrap_err(), ["readings.csv, line 1: there is nothing in it: its first line must name the columns."]);
    }

    #[test]
    fn a_row_with_the_wrong_number_of_fields_is_named() {
        let why = "an empty field keeps its comma, and a field with a comma in it stands in quotes.";
        assert_eq!(
            read("a,b\n1\n1,2,3\n").unwrap_err(),
            [
                format!("readings.csv, line 2: this row has 1 fields where the header has 2: {why}"),
                format!("readings.csv, line 3: this row has 3 fields where the header has 2: {why}")
            ]
        );
    }

    #[test]
    fn a_second_header_is_named() {
        let said = "readings.csv, line 3: this line names columns, as the first one does: a file has one header, with every column that a row needs. Take this line out, and give each row a field, empty or not, for every column.";
        assert_eq!(read("a,b\n1,2\na,b,note\n3,4\n").unwrap_err(), [said]);
        assert_eq!(read("a,b\n1,2\n b , a \n").unwrap_err(), [said]);
        assert_eq!(read("a,b\nb,b\n").unwrap(), [row(2, "b", "")]);
    }

    #[test]
    fn a_header_of_a_million_columns_is_refused_as_a_whole() {
        let said = "readings.csv, line 1: the header names 1000002 columns, more than any file here has: are there commas that belong to the text, or line ends that are missing?";
        assert_eq!(read(&format!("a,b{}\n1,2\n", ",x".repeat(1_000_000))).unwrap_err(), [said]);
        let each = read(&format!("a,b{}\n1,2\n", ",x".repeat(198))).unwrap_err();
        assert!(each.iter().all(|said| said.contains("'x' is not a column known here")));
    }

    #[test]
    fn an_open_quote_and_too_many_rows_are_named() {
        let open = format!("a,b\n\"1,2\n{}", "3,4\n".repeat(500));
        assert_eq!(read(&open).unwrap_err(), ["readings.csv, line 2: a field of 2004 characters: is a quote left open?"]);
        let long = format!("a,b\n{}", "3,4\n".repeat(20_001));
        assert_eq!(
            read(&long).unwrap_err(),
            [
                "readings.csv, line 20002: this file holds more than 20,000 rows, more than is ever measured on one vehicle: leave out what this job doesn't need."
            ]
        );
        assert_eq!(read(&long[..long.len() - 4]).unwrap().len(), 20_000);
    }
}
