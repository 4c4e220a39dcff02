//! Every change of a record is found, and the first is named.

use lastmicron_record::{Break, Broken, Checker, Entry, Head, sha256, verify};
use proptest::prelude::*;

use crate::pen::{id, note, record};

#[test]
fn the_hash_is_that_of_what_the_specification_says() {
    let entries = record(&["one", "two"]);
    // [D] docs/record.md: the canonical JSON of event, previous, received and seq.
    let mut previous = "0".repeat(64);
    for entry in &entries {
        let event =
            String::from_utf8(note(9 + entry.seq, ["one", "two"][usize::try_from(entry.seq).unwrap() - 1]).bytes().to_vec()).unwrap();
        let hashed = format!(r#"{{"event":{event},"previous":"{previous}","received":"2024-05-01T07:30:01Z","seq":{}}}"#, entry.seq);
        previous = sha256(hashed.as_bytes()).to_string();
        assert_eq!(entry.hash.to_string(), previous);
    }
    assert_eq!(verify(&entries), Ok(Head { seq: 2, hash: entries[1].hash }));
    assert_eq!(verify(&[]), Ok(Head::NONE));
}

#[test]
fn the_hash_stays_what_it_was_when_the_format_was_made() {
    // [D] computed with Python's hashlib over the text above: no later version of this program may change it.
    assert_eq!(record(&["one", "two"])[1].hash.to_string(), "2309b3ac809519e5174333d11f8aa4ecf9a2ab7480b641335df009ea8c742d99");
}

#[test]
fn what_was_done_to_a_record_is_found_where_it_was_done() {
    let sound = record(&["one", "two", "three", "four"]);
    let broken = |change: &dyn Fn(&mut Vec<Entry>)| {
        let mut entries = sound.clone();
        change(&mut entries);
        verify(&entries).unwrap_err()
    };
    let at = |seq, what| Broken { seq, what };
    assert_eq!(broken(&|entries| entries[1].event.who = "K.".to_owned()), at(2, Break::Hash));
    assert_eq!(broken(&|entries| entries[1].received = "2024-05-02T07:30:01Z".parse().unwrap()), at(2, Break::Hash));
    assert_eq!(broken(&|entries| entries[2].hash = entries[1].hash), at(3, Break::Hash));
    assert_eq!(broken(&|entries| drop(entries.remove(1))), at(2, Break::Number { found: 3 }));
    assert_eq!(broken(&|entries| entries.swap(1, 2)), at(2, Break::Number { found: 3 }));
    assert_eq!(broken(&|entries| entries.insert(1, entries[0].clone())), at(2, Break::Number { found: 1 }));
    assert_eq!(broken(&|entries| drop(entries.remove(0))), at(1, Break::Number { found: 2 }));
    // Written anew, it no longer fits what follows it.
    let renew = |entries: &mut Vec<Entry>| {
        entries[1].event.who = "K.".to_owned();
        entries[1].hash = entries[1].computed_hash().unwrap();
    };
    assert_eq!(broken(&renew), at(3, Break::Previous));
    assert_eq!(
        broken(&renew).to_string(),
        "entry 3 is not as it was written: it does not follow the entry before it: that one, or this one, was changed"
    );
}

#[test]
fn an_entry_of_another_job_or_of_an_id_that_was_there_is_no_next_one() {
    let sound = record(&["one"]);
    let mut other = Checker::new(id(99));
    assert_eq!(other.take(&sound[0]).unwrap_err().what, Break::Job { found: id(0) });
    let head = verify(&sound).unwrap();
    let doubled = Entry::after(head.hash, 2, "2024-05-01T07:30:01Z".parse().unwrap(), &note(10, "one")).unwrap();
    assert_eq!(verify([&sound[0], &doubled]).unwrap_err(), Broken { seq: 2, what: Break::Doubled(id(10)) });
}

#[test]
fn what_was_taken_off_the_end_shows_against_a_head_kept_elsewhere() {
    let sound = record(&["one", "two", "three"]);
    let head = verify(&sound).unwrap();
    let mut checker = Checker::new(id(0));
    sound[..2].iter().for_each(|entry| checker.take(entry).unwrap());
    assert_eq!(checker.ends_at(head), Err(Broken { seq: 2, what: Break::End { wanted: 3 } }));
    checker.take(&sound[2]).unwrap();
    assert_eq!(checker.ends_at(head), Ok(()));
}

proptest! {
    #[test]
    fn an_entry_reads_back_and_every_changed_letter_of_it_is_found(at in any::<prop::sample::Index>(), letter in "[ -~]", which in 0_usize..3) {
        let entries = record(&["one", "two", "three"]);
        let text = serde_json::to_string(&entries[which]).unwrap();
        prop_assert_eq!(serde_json::from_str::<Entry>(&text).unwrap(), entries[which].clone());
        let at = at.index(text.len());
        let changed = format!("{}{letter}{}", &text[..at], &text[at + 1..]);
        if let Ok(entry) = serde_json::from_str::<Entry>(&changed) {
            let mut record = entries.clone();
            record[which] = entry.clone();
            // White space and the like are no change; everything else is.
            prop_assert_eq!(verify(&record).is_ok(), entry == entries[which]);
        }
    }
}
