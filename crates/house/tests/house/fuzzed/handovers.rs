//! Handovers of a small record: as the press prints them, and as objects whose bytes can be changed before they are packed.

use lastmicron_job::fold::fold;
use lastmicron_paper::{
    CHECKPOINT_FILE, HandoverDocument, KEYS_FILE, Page, READINGS_FILE, RECORD_FILE, Recorded, handover_document, handover_pdf,
};
use lastmicron_record::{Checkpoint, Keys, Note, SigningKey};
use lastmicron_units::Unit;

use super::made_pdf::{PACKED, carrying, open, open_stream};
use super::seeds::bundle;

pub(super) fn all() -> Vec<Vec<u8>> {
    let (signed, unsigned) = (document(Some(&signature())), document(None));
    vec![
        handover_pdf(&signed).unwrap(),
        handover_pdf(&unsigned).unwrap(),
        open(&objects(&signed, PACKED)),
        open(&objects(&signed, "/Type/EmbeddedFile")),
        open(&objects(&unsigned, PACKED)),
    ]
}

/// A checkpoint, and keys of which the second has taken the place of the first.
fn signature() -> (Note, Keys) {
    let [old, new] = [7, 8].map(|n| SigningKey::of("workshop", [n; 32]).unwrap());
    let keys = Keys::of(old.public()).rotated(&old, &new, &"2024-05-01T07:30:01Z".parse().unwrap()).unwrap();
    (Checkpoint::of(&bundle().1.entries).unwrap().unwrap().sign(&new), keys)
}

fn document(signed: Option<&(Note, Keys)>) -> HandoverDocument {
    let entries = bundle().1.entries;
    let standing = fold(entries.iter().map(|entry| &entry.event));
    let recorded = Recorded::of(&entries, &standing, signed.map(|(note, keys)| (note, keys))).unwrap();
    handover_document(&standing, None, &recorded, &[], Page::A4, Unit::Micrometre).unwrap()
}

fn objects(document: &HandoverDocument, says: &str) -> Vec<Vec<u8>> {
    let file = |name, bytes: &[u8]| (name, open_stream(says, bytes));
    let mut files = vec![file(RECORD_FILE, &document.record_file), file(READINGS_FILE, &document.readings_file)];
    if let Some(signed) = &document.signed {
        files.extend([file(CHECKPOINT_FILE, &signed.checkpoint_file), file(KEYS_FILE, &signed.keys_file)]);
    }
    carrying(&format!("{}, {}", document.citation, document.seal), &files)
}
