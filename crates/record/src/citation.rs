//! A record named in one line of plain text, as a document carries it.

use std::fmt;
use std::str::FromStr;

use lastmicron_job::event::{Digest, Id};

use crate::chain::Head;

/// What such a line begins with.
const BEGINS: &str = "LASTMICRON:RECORD";

/// A job's record and where it ended: `LASTMICRON:RECORD:<job>:<seq>:<hash>`.
///
/// In capitals, since a QR code (ISO/IEC 18004) packs capitals, digits, `:` and `-` into 5.5 bits each and small letters into 8; read in either.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Citation {
    /// The job.
    pub job: Id,
    /// Its end.
    pub head: Head,
}

/// A text that names no record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this names no record: {BEGINS}, the job, the number of entries and the hash are wanted, with colons between")]
pub struct NotACitation;

impl fmt::Display for Citation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Head { seq, hash } = self.head;
        f.write_str(&format!("{BEGINS}:{}:{seq}:{hash}", self.job).to_uppercase())
    }
}

impl FromStr for Citation {
    type Err = NotACitation;

    fn from_str(text: &str) -> Result<Self, NotACitation> {
        let small = text.trim().to_ascii_lowercase();
        let [name, what, job, seq, hash] = small.split(':').collect::<Vec<_>>()[..] else { return Err(NotACitation) };
        // A number has one way of being written.
        let seq = seq.parse().ok().filter(|number: &u64| number.to_string() == seq).ok_or(NotACitation)?;
        if format!("{name}:{what}") != BEGINS.to_ascii_lowercase() {
            return Err(NotACitation);
        }
        let hash: Digest = hash.parse().map_err(|_| NotACitation)?;
        Ok(Self { job: job.parse().map_err(|_| NotACitation)?, head: Head { seq, hash } })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const LINE: &str =
        "LASTMICRON:RECORD:018F3324-C980-7A1B-82C3-D4E5F6071829:4:B210C67448F7492575BAFB51CCB1BF1A5DE4AC779B3C722928A7CD1F7A32EBB0";

    #[test]
    fn a_record_is_named_by_job_number_and_hash() {
        let citation: Citation = LINE.parse().unwrap();
        assert_eq!((citation.head.seq, citation.to_string().as_str()), (4, LINE));
        assert_eq!(LINE.to_lowercase().parse(), Ok(citation));
        // [M] ISO/IEC 18004, table 5, from memory: the characters of the alphanumeric mode.
        assert!(LINE.chars().all(|c| "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:".contains(c)));
    }

    #[test]
    fn what_names_no_record_is_refused() {
        let wrong = [
            "",
            "LASTMICRON",
            &LINE[..LINE.len() - 1],
            &LINE.replace(":4:", ":04:"),
            &LINE.replace(":4:", ":-4:"),
            &LINE.replace("RECORD", "JOB"),
        ];
        assert!(wrong.iter().all(|text| text.parse::<Citation>() == Err(NotACitation)));
        assert!(format!("{LINE}:").parse::<Citation>().is_err());
    }

    proptest! {
        #[test]
        fn whatever_is_read_is_written_back_the_same(text in "(?i)lastmicron:record:018f3324-c980-7a1b-82c3-d4e5f6071829:[0-9]{1,21}:[0-9a-f]{63,65}|.{0,200}") {
            if let Ok(citation) = text.parse::<Citation>() {
                prop_assert_eq!(citation.to_string().parse(), Ok(citation));
            }
        }
    }
}
