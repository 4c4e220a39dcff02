//! docs/record.md is what this crate does.

use std::collections::BTreeSet;

use lastmicron_job::event::Body;
use lastmicron_job::fold::fold;
use lastmicron_record::{Checkpoint, Entry, Note, PublicKey, SigningKey, Tree, canonical, verify};

fn page() -> String {
    std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/record.md")).unwrap()
}

#[test]
fn the_example_is_a_record_that_checks_and_folds_as_the_page_says() {
    let page = page();
    let (_, rest) = page.split_once("```json\n").unwrap();
    let (lines, _) = rest.split_once("```").unwrap();
    // [C] the hashes were computed with Python's json and hashlib.
    let entries: Vec<Entry> = lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(verify(&entries).unwrap().seq, 4);
    for (entry, line) in entries.iter().zip(lines.lines()) {
        assert_eq!(String::from_utf8(canonical(entry).unwrap()).unwrap(), line);
    }
    // [C] the root was computed with verify/verify.py.
    assert!(page.contains(&format!("has the root\n`{}`", Tree::of(&entries).unwrap().root())));
    let standing = fold(entries.iter().map(|entry| &entry.event));
    assert_eq!((standing.panels.len(), standing.readings.len(), standing.struck.len(), standing.unusable.len()), (1, 0, 1, 0));
}

#[test]
fn the_signed_example_is_of_the_record_in_the_example() {
    let page = page();
    let (_, rest) = page.split_once("```\nlastmicron/record/").unwrap();
    let (note, rest) = rest.split_once("```").unwrap();
    let (_, key) = rest.split_once("`workshop+").unwrap();
    let key: PublicKey = format!("workshop+{}", key.split_once('`').unwrap().0).parse().unwrap();
    let note: Note = format!("lastmicron/record/{note}").parse().unwrap();
    let signed = Checkpoint::open(&note, std::slice::from_ref(&key)).unwrap();
    let (_, rest) = page.split_once("```json\n").unwrap();
    let (lines, _) = rest.split_once("```").unwrap();
    let entries: Vec<Entry> = lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(Checkpoint::of(&entries), Ok(Some(signed)));
    // [C] the page's signature was computed with Python's hashlib and the arithmetic of verify/ed25519.py.
    assert_eq!(SigningKey::of("workshop", [7; 32]).unwrap().public(), key);
}

#[test]
fn every_kind_of_event_is_on_the_page_and_no_other() {
    let page = page();
    let (_, table) = page.split_once("| kind | fields |").unwrap();
    let rows = table.lines().skip(2).take_while(|line| line.starts_with('|'));
    let on_page: BTreeSet<&str> = rows.map(|row| row.split('`').nth(1).unwrap()).collect();
    let known = serde_json::from_str::<Body>(r#"{"kind": "none of them"}"#).unwrap_err().to_string();
    let (_, known) = known.split_once("expected one of ").unwrap();
    let known: BTreeSet<&str> = known.split('`').skip(1).step_by(2).collect();
    assert_eq!(on_page, known);
}
