//! What stands in for the typesetting engine: a document whose bytes begin as a PDF's do and go on with the record, so that pages that lead to one and read
//! one can be tried. The real ones are tried where they are made.

use lastmicron_job::event::Id;
use lastmicron_record::{Citation, Entry, Head, verify};
use lastmicron_web::{HandedOver, Papers, ReadBack};

pub(crate) struct Plain;

impl Papers for Plain {
    fn handover(&self, of: HandedOver<'_>) -> Result<Vec<u8>, String> {
        let lines: Vec<String> = of.entries.iter().map(|entry| serde_json::to_string(entry).unwrap()).collect();
        Ok(format!("%PDF-1.4\n{}", lines.join("\n")).into_bytes())
    }

    fn read(&self, pdf: &[u8]) -> Result<ReadBack, String> {
        let text = std::str::from_utf8(pdf).map_err(|error| error.to_string())?;
        let lines = text.lines().skip(1).map(serde_json::from_str);
        let entries = lines.collect::<Result<Vec<Entry>, _>>().map_err(|error| error.to_string())?;
        let head: Head = verify(&entries).map_err(|broken| broken.to_string())?;
        let job: Id = entries.first().map(Entry::job).ok_or("there are no entries in it")?;
        Ok(ReadBack { citation: Citation { job, head }, entries, signed: "Nothing of it is signed.".to_owned() })
    }
}
