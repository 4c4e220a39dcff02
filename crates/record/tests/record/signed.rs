//! Keys, notes, checkpoints and rotations: what was signed is believed, and nothing else is.

use lastmicron_job::event::When;
use lastmicron_record::{
    Checkpoint, Keys, NotACheckpoint, NotAKey, NotANote, NotHeld, NotKeys, NotSigned, Note, PublicKey, SigningKey, Tree, sha256,
};
use proptest::prelude::*;

use crate::pen::{id, record};

fn key(n: u8) -> SigningKey {
    SigningKey::of("workshop", [n; 32]).unwrap()
}

fn when() -> When {
    "2024-06-01T08:00:00+02:00".parse().unwrap()
}

fn checkpoint(texts: &[&str]) -> Checkpoint {
    Checkpoint::of(&record(texts)).unwrap().unwrap()
}

#[test]
fn a_key_and_its_signatures_are_those_of_the_standards() {
    // [M] RFC 8032, section 7.1, test 1, from memory: a secret key and its public key. [C] the id with Python's hashlib.
    let secret = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60";
    let seed: [u8; 32] = std::array::from_fn(|i| u8::from_str_radix(&secret[2 * i..2 * i + 2], 16).unwrap());
    let key = SigningKey::of("workshop", seed).unwrap();
    assert_eq!(key.public().to_string(), "workshop+8ba89371+AddamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea");
    // [M] the documentation of the Go library that signed notes come from, from memory: a key whose id fits its name and bytes.
    let known = "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW";
    assert_eq!(known.parse::<PublicKey>().unwrap().to_string(), known);
}

#[test]
fn a_signed_checkpoint_has_the_bytes_that_it_had_when_the_format_was_made() {
    let entries = record(&["one", "two"]);
    let note = checkpoint(&["one", "two"]).sign(&key(7)).to_string();
    // [C] root, id and signature were computed in Python, with hashlib and verify/ed25519.py's arithmetic.
    let want = concat!(
        "lastmicron/record/018f3324-c980-7707-8707-070707070707\n",
        "2\n",
        "RaEgbtxyNRRnGlcctB25olOq1pphCh4Uk1iGWuJvfGo=\n",
        "\n",
        "\u{2014} workshop wD6n0c5DO9+V84vaqlmatB8j4sz8H/a3bjt0+37GgB2OC4awJ+OLgNzCmBOhs6Mzqp9e+UMRJmyxnQQdAcIyRdTkHwY=\n"
    );
    assert_eq!(note, want);
    assert_eq!(Tree::of(&entries).unwrap().root(), checkpoint(&["one", "two"]).root);
}

#[test]
fn a_key_reads_back_and_another_does_not() {
    let text = key(7).public().to_string();
    assert_eq!(text.parse::<PublicKey>().unwrap(), key(7).public());
    let secret = key(7).secret_text();
    assert_eq!(secret.parse::<SigningKey>().unwrap().secret_text(), secret);
    assert_eq!(secret.parse::<SigningKey>().unwrap().public(), key(7).public());
    let wrong = |text: &str| text.parse::<PublicKey>().unwrap_err();
    assert_eq!(wrong(&text.replacen("workshop", "elsewhere", 1)), NotAKey::Id);
    assert_eq!(wrong(&secret), NotAKey::Shape);
    assert_eq!(wrong(""), NotAKey::Shape);
    assert_eq!(text.parse::<SigningKey>().unwrap_err(), NotAKey::Shape);
    // [D] base64 of 06 00 00: a later algorithm's number is said.
    assert_eq!(wrong("workshop+00000000+BgAA"), NotAKey::Algorithm(6));
    assert_eq!(wrong("workshop+00000000+AQAA"), NotAKey::Shape);
    for name in ["", "two words", "a+b", "line\nfeed", "\u{a0}"] {
        assert_eq!(SigningKey::of(name, [7; 32]).unwrap_err(), NotAKey::Name, "{name:?}");
    }
}

#[test]
fn the_secret_is_printed_by_no_accident() {
    let secret = key(7).secret_text();
    let (_, hidden) = secret.rsplit_once('+').unwrap();
    assert!(!format!("{:?}", key(7)).contains(hidden));
}

#[test]
fn a_checkpoint_is_believed_only_with_a_signature_of_a_key_that_is_known() {
    let signed = checkpoint(&["one", "two"]);
    let note: Note = signed.sign(&key(7)).to_string().parse().unwrap();
    let known = [key(7).public()];
    assert_eq!(Checkpoint::open(&note, &known), Ok(signed));
    assert_eq!(Checkpoint::open(&note, &[key(8).public(), key(7).public()]), Ok(signed));
    assert_eq!(Checkpoint::open(&note, &[key(8).public()]), Err(NotACheckpoint::NotSigned(NotSigned::Unknown)));
    assert_eq!(Checkpoint::open(&note, &[]), Err(NotACheckpoint::NotSigned(NotSigned::Unknown)));
    let other_name = SigningKey::of("elsewhere", [7; 32]).unwrap().public();
    assert_eq!(Checkpoint::open(&note, &[other_name]), Err(NotACheckpoint::NotSigned(NotSigned::Unknown)));
    let changed: Note = note.to_string().replacen("\n2\n", "\n3\n", 1).parse().unwrap();
    assert_eq!(Checkpoint::open(&changed, &known), Err(NotACheckpoint::NotSigned(NotSigned::Wrong)));
    // A second signature by somebody else is passed over, and one in our name that does not fit is not.
    let [other, forged] = [key(8), key(7)].map(|key| checkpoint(&["three"]).sign(&key).to_string());
    let line = |note: &str| note.lines().last().unwrap().to_owned();
    let with = |text: &str| format!("{note}{}\n", line(text)).parse::<Note>().unwrap();
    assert_eq!(Checkpoint::open(&with(&other), &known), Ok(signed));
    assert_eq!(Checkpoint::open(&with(&forged), &known), Err(NotACheckpoint::NotSigned(NotSigned::Wrong)));
}

#[test]
fn a_checkpoint_holds_for_its_record_however_it_grows_and_for_no_other() {
    let texts = ["one", "two", "three", "four", "five"];
    let grown = Tree::of(&record(&texts)).unwrap();
    for size in 1..=texts.len() {
        assert_eq!(checkpoint(&texts[..size]).holds_for(id(0), &grown), Ok(()), "{size}");
    }
    let signed = checkpoint(&texts[..3]);
    let tree_of = |texts: &[&str]| Tree::of(&record(texts)).unwrap();
    assert_eq!(signed.holds_for(id(0), &tree_of(&texts[..2])), Err(NotHeld::Short { signed: 3, found: 2 }));
    // A chain that was written anew is sound in itself.
    let anew = ["one", "to", "three", "four", "five"];
    assert!(lastmicron_record::verify(&record(&anew)).is_ok());
    assert_eq!(signed.holds_for(id(0), &tree_of(&anew)), Err(NotHeld::Root { signed: 3 }));
    assert_eq!(signed.holds_for(id(99), &grown), Err(NotHeld::Job(id(0))));
}

#[test]
fn a_record_that_is_not_as_it_was_written_is_not_signed() {
    let mut entries = record(&["one", "two"]);
    entries[0].event.who = "K.".to_owned();
    assert_eq!(Checkpoint::of(&entries).unwrap_err().seq, 1);
    assert_eq!(Checkpoint::of(&[]), Ok(None));
}

#[test]
fn what_is_no_checkpoint_is_refused() {
    let note = checkpoint(&["one", "two"]).sign(&key(7)).to_string();
    let read = |text: String| Checkpoint::read(&text.parse().unwrap());
    for (from, to) in
        [("lastmicron/record/", "lastmicron/other/"), ("\n2\n", "\n02\n"), ("\n2\n", "\n-2\n"), ("\n2\n", "\n"), ("=\n", "\n")]
    {
        assert_eq!(read(note.replacen(from, to, 1)), Err(NotACheckpoint::Text), "{from:?} to {to:?}");
    }
    // What another program added stands behind the root.
    assert_eq!(read(note.replacen("\n\n", "\nadded\n\n", 1)).unwrap().size, 2);
    assert_eq!(read(note.replacen("\n\n", "\n\n\n", 1)), Err(NotACheckpoint::Text));
}

#[test]
fn what_is_no_note_is_refused() {
    let note = checkpoint(&["one"]).sign(&key(7)).to_string();
    let read = |text: &str| text.parse::<Note>().map(drop);
    for wrong in ["", "\n\n", "text\n", "text\n\n", "text\n\nno dash\n", &note[..note.len() - 1], &note.replacen('\u{2014}', "-", 1)] {
        assert_eq!(read(wrong), Err(NotANote::Shape), "{wrong:?}");
    }
    assert_eq!(read(&note.replacen("record", "rec\tord", 1)), Err(NotANote::Shape));
    assert_eq!(read(&"x".repeat(200_000)), Err(NotANote::TooLong(200_000)));
}

#[test]
fn a_key_takes_anothers_place_when_both_have_signed_that_it_does() {
    let keys = Keys::of(key(1).public()).rotated(&key(1), &key(2), &when()).unwrap().rotated(&key(2), &key(3), &when()).unwrap();
    assert_eq!(keys.all(), [1, 2, 3].map(|n| key(n).public()));
    let text = keys.to_string();
    assert_eq!(text.parse::<Keys>().unwrap(), keys);
    assert_eq!(text.lines().next(), Some(key(1).public().to_string().as_str()));
    assert_eq!(key(1).public().to_string().parse::<Keys>().unwrap().all().len(), 1);
    // What any of them signed is believed; what another signed is not.
    for n in [1, 2, 3] {
        assert!(Checkpoint::open(&checkpoint(&["one"]).sign(&key(n)), keys.all()).is_ok(), "{n}");
    }
    assert!(Checkpoint::open(&checkpoint(&["one"]).sign(&key(4)), keys.all()).is_err());
    assert_eq!(keys.rotated(&key(1), &key(4), &when()), Err(NotKeys::Order));
}

#[test]
fn a_statement_that_one_of_the_keys_did_not_sign_leads_nowhere() {
    let text = Keys::of(key(1).public()).rotated(&key(1), &key(2), &when()).unwrap().to_string();
    let read = |text: &str| text.parse::<Keys>();
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let without = |at: usize| lines.iter().enumerate().filter(|(i, _)| *i != at).map(|(_, line)| *line).collect::<String>();
    assert_eq!((lines.len(), read(&text).map(|keys| keys.all().len())), (8, Ok(2)));
    assert_eq!(read(&without(6)), Err(NotKeys::NotSigned(NotSigned::Unknown)));
    assert_eq!(read(&without(7)), Err(NotKeys::NotSigned(NotSigned::Unknown)));
    assert_eq!(read(&text.replacen("2024", "2023", 1)), Err(NotKeys::NotSigned(NotSigned::Wrong)));
    assert_eq!(read(&without(4)), Err(NotKeys::Text));
    assert_eq!(read(&without(1)), Err(NotKeys::Text));
    let from_another = text.replacen(lines[0], &format!("{}\n", key(3).public()), 1);
    assert_eq!(read(&from_another), Err(NotKeys::Order));
    // A checkpoint is no such statement, nor the other way round.
    assert_eq!(read(&format!("{}{}", lines[0], checkpoint(&["one"]).sign(&key(1)))), Err(NotKeys::Text));
    let statement: Note = lines[1..].concat().parse().unwrap();
    assert_eq!(Checkpoint::open(&statement, &[key(1).public()]), Err(NotACheckpoint::Text));
}

proptest! {
    #[test]
    fn no_changed_letter_of_a_checkpoint_goes_unseen(at in any::<prop::sample::Index>(), letter in "[ -~\n]") {
        let signed = checkpoint(&["one", "two"]);
        let text = signed.sign(&key(7)).to_string();
        let places: Vec<usize> = text.char_indices().filter(|(_, c)| c.is_ascii()).map(|(i, _)| i).collect();
        let at = places[at.index(places.len())];
        let changed = format!("{}{letter}{}", &text[..at], &text[at + 1..]);
        let opened = changed.parse::<Note>().ok().and_then(|note| Checkpoint::open(&note, &[key(7).public()]).ok());
        prop_assert_eq!(opened.is_some(), changed == text, "{}", changed);
    }

    #[test]
    fn no_text_makes_it_panic(text in "(\\PC|\n|\u{2014} |[+ ])*") {
        let _ = (text.parse::<PublicKey>(), text.parse::<SigningKey>(), text.parse::<Keys>());
        if let Ok(note) = text.parse::<Note>() {
            prop_assert_eq!(note.to_string(), text);
            prop_assert!(Checkpoint::open(&note, &[key(7).public()]).is_err());
        }
    }

    #[test]
    fn a_checkpoint_of_any_root_reads_back(size in any::<u64>(), root in any::<u64>(), seed in any::<[u8; 32]>()) {
        let signed = Checkpoint { job: id(root), size, root: sha256(&root.to_be_bytes()) };
        let key = SigningKey::of("workshop", seed).unwrap();
        let note: Note = signed.sign(&key).to_string().parse().unwrap();
        prop_assert_eq!(Checkpoint::open(&note, &[key.public()]), Ok(signed));
    }
}
