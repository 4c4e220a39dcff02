//! Words that several commands say.

use std::path::Path;

use lastmicron_job::event::When;

/// So many of a thing, by its word for one and for more.
pub(crate) fn counted(n: u64, one: &str, more: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {more}") }
}

/// A time to the second: a record's has all that the clock gave.
pub(crate) fn to_the_second(time: &When) -> String {
    let text = time.as_str();
    let Some((seconds, rest)) = text.split_once('.') else { return text.to_owned() };
    [seconds, rest.trim_start_matches(|digit: char| digit.is_ascii_digit())].concat()
}

/// A command of this program, as it is typed for the same records: with `--data` where that was given.
pub(crate) fn typed(command: &str, data: Option<&Path>) -> String {
    let data = data.map(|data| format!(" --data {}", quoted(data))).unwrap_or_default();
    format!("lastmicron {command}{data}")
}

/// A file or folder as a shell takes it.
pub(crate) fn quoted(path: &Path) -> String {
    let path = path.display().to_string();
    let is_plain = path.chars().all(|c| c.is_alphanumeric() || "/._-:~".contains(c));
    if is_plain { path } else { format!("'{}'", path.replace('\'', r"'\''")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_is_one() {
        assert_eq!([0, 1, 2].map(|n| counted(n, "job", "jobs")), ["0 jobs", "1 job", "2 jobs"]);
    }

    #[test]
    fn times_have_no_parts_of_seconds_and_keep_their_offset() {
        for (time, said) in [
            ("2024-05-01T07:30:01.123456789Z", "2024-05-01T07:30:01Z"),
            ("2024-05-01T09:30:01.25+02:00", "2024-05-01T09:30:01+02:00"),
            ("2024-05-01T07:30:01Z", "2024-05-01T07:30:01Z"),
        ] {
            assert_eq!(to_the_second(&time.parse().unwrap()), said);
        }
    }

    #[test]
    fn a_command_names_the_records_that_were_named_as_a_shell_takes_them() {
        let of = |data: &str| typed("backup", Some(Path::new(data)));
        assert_eq!(typed("backup", None), "lastmicron backup");
        assert_eq!(of("/srv/records"), "lastmicron backup --data /srv/records");
        assert_eq!(of("the owner's car"), r"lastmicron backup --data 'the owner'\''s car'");
    }
}
