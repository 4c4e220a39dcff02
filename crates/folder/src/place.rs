//! Where in a job folder something stands.

use std::fmt;

/// A file of a job folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum File {
    /// What the job is about: vehicle, paint, gauge, limits, goal, processes, panels.
    Job,
    /// Every reading of a gauge.
    Readings,
    /// What has been worked already.
    Worked,
    /// Defects counted on test spots.
    Defects,
    /// Every reading of a gloss meter.
    Gloss,
}

impl File {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Job, Self::Readings, Self::Worked, Self::Defects, Self::Gloss];

    /// Its name in the folder.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Job => "job.toml",
            Self::Readings => "readings.csv",
            Self::Worked => "worked.csv",
            Self::Defects => "defects.csv",
            Self::Gloss => "gloss.csv",
        }
    }
}

/// A file, and as far as it is known the line and the key or column.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The file.
    pub file: File,
    /// The line, from 1.
    pub line: Option<usize>,
    /// Dotted path of a key, like `limits.floor_um`, or a column's name.
    pub part: Option<String>,
}

impl Place {
    /// A whole file.
    #[must_use]
    pub const fn file(file: File) -> Self {
        Self { file, line: None, part: None }
    }

    /// A line of a file.
    #[must_use]
    pub const fn line(file: File, line: usize) -> Self {
        Self { file, line: Some(line), part: None }
    }

    /// The same place, narrowed to a key or a column.
    #[must_use]
    pub fn part(mut self, part: impl Into<String>) -> Self {
        self.part = Some(part.into());
        self
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.file.name())?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if let Some(part) = &self.part {
            let kind = if self.file == File::Job { "key" } else { "column" };
            write!(f, ", {kind} {}", shown(part))?;
        }
        Ok(())
    }
}

/// Most characters of somebody's text that a message repeats.
const MOST_SHOWN: usize = 60;

/// Somebody's text as a message may repeat it: one line, not too long.
pub(crate) fn shown(text: &str) -> String {
    let mut shown = String::new();
    for (i, c) in text.chars().enumerate() {
        if i == MOST_SHOWN {
            shown.push_str("...");
            break;
        }
        shown.push(c);
    }
    on_one_line(&shown)
}

/// A text with what would move a terminal's cursor or colours written out.
pub(crate) fn on_one_line(text: &str) -> String {
    let mut line = String::new();
    for c in text.chars() {
        if c.is_control() { line.extend(c.escape_default()) } else { line.push(c) }
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_reads_from_the_file_inwards() {
        assert_eq!(Place::file(File::Worked).to_string(), "worked.csv");
        assert_eq!(Place::line(File::Readings, 14).part("x_mm").to_string(), "readings.csv, line 14, column x_mm");
        assert_eq!(Place::line(File::Job, 3).part("limits.risk").to_string(), "job.toml, line 3, key limits.risk");
    }

    #[test]
    fn a_text_is_repeated_on_one_line_and_not_at_length() {
        assert_eq!(shown("a\nb\u{7}"), "a\\nb\\u{7}");
        assert_eq!(shown(&"x".repeat(60)), "x".repeat(60));
        assert_eq!(shown(&"x".repeat(61)), format!("{}...", "x".repeat(60)));
    }
}
