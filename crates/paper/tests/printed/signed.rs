//! Handovers of signed records, and what is found where somebody changed one.

use lastmicron_paper::{CHECKPOINT_FILE, Changed, HandoverDocument, KEYS_FILE, Page, PaperError, Recorded, handover_pdf, read_handover};
use lastmicron_record::{Break, Broken, Checkpoint, Entry, Keys, Note, Sealed, SigningKey, canonical};
use lastmicron_units::Unit;

use crate::invented::{Invented, coupe, opening, recorded};
use crate::plans::contains;

fn key(n: u8) -> SigningKey {
    SigningKey::of("workshop", [n; 32]).unwrap()
}

/// The first so many entries of a record, signed.
fn signed(job: &Invented, size: usize, key: &SigningKey) -> (Note, Keys) {
    (Checkpoint::of(&job.entries[..size]).unwrap().unwrap().sign(key), Keys::of(key.public()))
}

fn document(job: &Invented, signed: &(Note, Keys)) -> HandoverDocument {
    job.signed_document(Page::A4, Unit::Micrometre, Some((&signed.0, &signed.1)))
}

fn lines(entries: &[Entry]) -> Vec<u8> {
    entries.iter().flat_map(|entry| [canonical(entry).unwrap(), b"\n".to_vec()].concat()).collect()
}

fn verdict(document: &HandoverDocument) -> Changed {
    read_handover(&handover_pdf(document).unwrap()).unwrap().verify().unwrap_err()
}

/// The same events, written anew from an entry on: every hash fits.
fn anew(entries: &[Entry]) -> Vec<Entry> {
    let mut all: Vec<Entry> = Vec::new();
    for entry in entries {
        let (previous, seq) = all.last().map_or((Entry::NOTHING, 1), |last| (last.hash, last.seq + 1));
        all.push(Entry::after(previous, seq, entry.received.clone(), &Sealed::seal(entry.event.clone()).unwrap()).unwrap());
    }
    all
}

#[test]
fn a_signed_record_is_printed_with_its_checkpoint_and_keys_and_the_same_every_time() {
    let job = recorded(&coupe());
    let size = job.entries.len();
    let signed = signed(&job, size, &key(7));
    let document = document(&job, &signed);
    let pdf = handover_pdf(&document).unwrap();
    assert!(pdf == handover_pdf(&document).unwrap());
    assert!(contains(&pdf, "<pdfaid:part>3</pdfaid:part>"));
    let lines = document.signed.as_ref().unwrap();
    let root = Checkpoint::read(&signed.0).unwrap().root.to_string();
    assert_eq!((lines.root.split(' ').count(), lines.root.replace(' ', "")), (16, root));
    assert_eq!(document.unsigned, "");
    assert!(lines.facts.iter().any(|fact| fact.value == key(7).public().to_string()));
    let how = format!("python3 verify/verify.py record.jsonl {CHECKPOINT_FILE} {KEYS_FILE}");
    assert!(document.check.iter().any(|said| said.contains(&how)), "{:?}", document.check);
    let found = read_handover(&pdf).unwrap();
    assert_eq!(
        (found.checkpoint.as_deref(), found.keys.as_deref()),
        (Some(signed.0.to_string().as_bytes()), Some(signed.1.to_string().as_bytes()))
    );
    assert_eq!(found.verify().unwrap().seq, size as u64);
    let told = found.signed().unwrap().unwrap();
    assert_eq!((told.checkpoint.size, &told.key), (size as u64, &key(7).public()));
    // Whoever has the workshop's key from elsewhere sees that it is that one.
    assert!(told.is_by(&Keys::of(key(7).public())) && !told.is_by(&Keys::of(key(8).public())));
}

#[test]
fn a_key_that_took_anothers_place_is_believed_by_who_knew_that_one_and_not_the_other_way() {
    let job = recorded(&coupe());
    let (old, new) = (key(7), key(8));
    let keys = Keys::of(old.public()).rotated(&old, &new, &"2024-05-01T07:30:01Z".parse().unwrap()).unwrap();
    let told = |signs: &SigningKey| {
        let note = Checkpoint::of(&job.entries).unwrap().unwrap().sign(signs);
        let recorded = Recorded::of(&job.entries, &job.standing, Some((&note, &keys))).unwrap();
        recorded.signed.unwrap()
    };
    assert!(told(&new).is_by(&Keys::of(old.public())) && told(&new).is_by(&keys));
    assert!(!told(&old).is_by(&Keys::of(new.public())));
}

#[test]
fn what_is_not_signed_is_said() {
    let job = recorded(&coupe());
    let none = job.document(Page::A4, Unit::Micrometre);
    assert_eq!((none.signed.is_none(), none.unsigned.as_str()), (true, "This record is unsigned from entry 1 on."));
    assert_eq!(read_handover(&handover_pdf(&none).unwrap()).unwrap().signed(), Ok(None));
    let part = document(&job, &signed(&job, 12, &key(7)));
    assert_eq!(part.unsigned, "This record is unsigned from entry 13 on.");
    assert!(read_handover(&handover_pdf(&part).unwrap()).unwrap().verify().is_ok());
}

#[test]
fn a_record_that_is_not_what_was_signed_is_not_printed() {
    let (job, other) = (recorded(&coupe()), recorded(&coupe()[..20]));
    let (note, keys) = signed(&job, 30, &key(7));
    let refused = Recorded::of(&other.entries, &other.standing, Some((&note, &keys)));
    assert!(matches!(&refused, Err(PaperError::NotSigned(why)) if why.contains("there are 20")), "{refused:?}");
    let unknown = Recorded::of(&job.entries, &job.standing, Some((&note, &Keys::of(key(8).public()))));
    assert!(matches!(unknown, Err(PaperError::NotSigned(_))));
}

#[test]
fn whatever_is_changed_of_the_record_is_found_and_the_first_entry_that_is_not_as_it_was_is_named() {
    let job = recorded(&coupe());
    let sound = document(&job, &signed(&job, job.entries.len(), &key(7)));
    let named = |change: &dyn Fn(&mut Vec<Entry>)| {
        let mut entries = job.entries.clone();
        change(&mut entries);
        match verdict(&HandoverDocument { record_file: lines(&entries), ..sound.clone() }) {
            Changed::Broken(Broken { seq, what }) => (seq, what),
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(named(&|entries| entries[7].event.who = "K.".to_owned()), (8, Break::Hash));
    assert_eq!(named(&|entries| drop(entries.remove(9))).0, 10);
    assert_eq!(named(&|entries| entries.insert(4, entries[4].clone())).0, 6);
    assert_eq!(named(&|entries| entries.swap(5, 6)).0, 6);
    let end = job.entries.len() as u64;
    assert_eq!(named(&|entries| entries.truncate(11)), (11, Break::End { wanted: end }));
}

#[test]
fn a_record_written_anew_as_a_whole_is_not_the_one_that_was_signed() {
    let job = recorded(&coupe());
    let signed = signed(&job, 30, &key(7));
    let sound = document(&job, &signed);
    let mut entries = job.entries.clone();
    entries[7].event.who = "K.".to_owned();
    let entries = anew(&entries);
    // All of the document is made to fit it: chain, pages, citation. The signature can't be.
    let other = Invented { standing: lastmicron_job::fold::fold(entries.iter().map(|entry| &entry.event)), entries };
    let forged = HandoverDocument { signed: sound.signed.clone(), ..other.document(Page::A4, Unit::Micrometre) };
    let said = verdict(&forged).to_string();
    assert!(said.contains("the first 30 entries are not the ones that were signed"), "{said}");
    // Nor with the checkpoint or a key made anew, without all of it being of another key.
    let root = Checkpoint::of(&other.entries).unwrap().unwrap();
    let mut lines = sound.signed.clone().unwrap();
    lines.checkpoint_file = root.sign(&key(8)).to_string().into_bytes();
    assert!(matches!(verdict(&HandoverDocument { signed: Some(lines.clone()), ..forged.clone() }), Changed::NotSigned(_)));
    lines.keys_file = key(8).public().to_string().into_bytes();
    let remade = read_handover(&handover_pdf(&HandoverDocument { signed: Some(lines), ..forged }).unwrap()).unwrap();
    assert!(remade.verify().is_ok());
    assert!(!remade.signed().unwrap().unwrap().is_by(&signed.1), "a forger's key passed for the workshop's");
}

#[test]
fn more_keys_than_anybody_has_are_not_looked_at() {
    let job = recorded(&opening());
    let (note, keys) = signed(&job, job.entries.len(), &key(7));
    let once = keys.clone().rotated(&key(7), &key(7), &"2024-05-01T07:30:01Z".parse().unwrap()).unwrap().to_string();
    let statement = once.strip_prefix(&keys.to_string()).unwrap();
    let sound = document(&job, &(note.clone(), keys));
    let with = |keys: usize, signatures: usize| {
        let mut lines = sound.signed.clone().unwrap();
        lines.keys_file.extend(statement.repeat(keys - 1).bytes());
        let signature = note.to_string().split_once("\n\n").unwrap().1.to_owned();
        lines.checkpoint_file.extend(signature.repeat(signatures - 1).bytes());
        let pdf = handover_pdf(&HandoverDocument { signed: Some(lines), ..sound.clone() }).unwrap();
        read_handover(&pdf).unwrap().signed()
    };
    // The same key again and again signs as it did once.
    assert_eq!(with(300, 20).unwrap().unwrap().key, key(7).public());
    assert!(matches!(with(1000, 1), Err(Changed::NotSigned(why)) if why.contains("at most 131072 are read")));
}

#[test]
fn a_page_that_was_edited_is_found() {
    let job = recorded(&coupe());
    let pdf = handover_pdf(&document(&job, &signed(&job, 30, &key(7)))).unwrap();
    let sound = read_handover(&pdf).unwrap();
    assert!(sound.is_as_made);
    // A byte of every thousandth, wherever the file can still be read.
    let mut edited = 0;
    for at in (1000..pdf.len()).step_by(1009) {
        let mut changed = pdf.clone();
        changed[at] ^= 1;
        if let Ok(found) = read_handover(&changed) {
            edited += 1;
            assert!(found.verify().is_err(), "byte {at}");
        }
    }
    assert!(edited > 10, "{edited}");
    // A title in the properties, in place of another of the same length.
    let at = pdf.windows(10).position(|bytes| bytes == b"Sage-green").unwrap();
    let mut changed = pdf.clone();
    changed[at..at + 10].copy_from_slice(b"Mint-green");
    assert_eq!(read_handover(&changed).unwrap().verify(), Err(Changed::Edited));
}
