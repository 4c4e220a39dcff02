//! The verifier in `verify/`, which shares no line with this program, says of a record what this program says. It needs python3.

use std::path::{Path, PathBuf};
use std::process::Command;

use lastmicron_record::{Broken, Bundle, Checkpoint, Entry, Keys, SigningKey, Tree, canonical, verify};

use crate::pen::record;

const TEXTS: [&str; 5] = ["one", "by the badge \u{2713} \u{1f600}", "tab\t\"quote\" \\ \u{7f}\u{2028}", "a:null", "five"];

/// The exit status, what was printed, and what was said to be wrong.
fn run(files: &[&Path]) -> (Option<i32>, String, String) {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../verify/verify.py");
    // README.md names python3 among what ./check needs.
    let output = Command::new("python3").arg("-B").arg(script).args(files).env("PYTHONUTF8", "1").output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap().trim_end().to_owned();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

/// A folder for the files of one test.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("verifier").join(name);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn file(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }
}

fn lines(entries: &[Entry]) -> Vec<u8> {
    entries.iter().flat_map(|entry| [canonical(entry).unwrap(), b"\n".to_vec()].concat()).collect()
}

fn key(n: u8) -> SigningKey {
    SigningKey::of("workshop", [n; 32]).unwrap()
}

#[test]
fn a_sound_record_and_its_checkpoints_pass_also_after_a_new_key() {
    let folder = Folder::new("sound");
    let entries = record(&TEXTS);
    let tree = Tree::of(&entries).unwrap();
    let jsonl = folder.file("record.jsonl", lines(&entries));
    let when = "2024-06-01T08:00:00+02:00".parse().unwrap();
    let keys = folder.file("keys", Keys::of(key(1).public()).rotated(&key(1), &key(2), &when).unwrap().to_string());
    let (status, said, wrong) = run(&[&jsonl]);
    assert_eq!((status, wrong.as_str()), (Some(0), ""));
    let last = &entries[4];
    assert_eq!(
        said,
        format!("5 entries of job {}, each as it was written; the last has the hash {}\nroot {}", last.job(), last.hash, tree.root())
    );
    for (size, by) in [(5, 1), (3, 2)] {
        let note = Checkpoint::of(&entries[..size]).unwrap().unwrap().sign(&key(by));
        let checkpoint = folder.file("checkpoint", note.to_string());
        let (status, said, wrong) = run(&[&jsonl, &checkpoint, &keys]);
        assert_eq!((status, wrong.as_str()), (Some(0), ""));
        assert!(said.ends_with(&format!("\nthe first {size} are those of the checkpoint, signed by workshop")), "{said}");
        assert!(run(&[&jsonl, &checkpoint]).1.ends_with("whose signature was not checked"));
    }
}

#[test]
fn an_exported_record_passes_with_what_is_kept_beside_it() {
    let folder = Folder::new("exported");
    let bundle = Bundle { entries: record(&TEXTS), kept: vec![b"a plan".to_vec(), vec![0, 255, 10, 13]] };
    let text = String::from_utf8(bundle.write().unwrap()).unwrap();
    assert_eq!(run(&[&folder.file("whole", &text)]).0, Some(0));
    for (changed, said) in [
        (text.replacen("\"five\"", "\"4\"", 1), "entry 5 is not as it was written: its hash is not that of what it says: it was changed"),
        (
            text.replacen("YSBwbGFu", "YSBQbGFu", 1),
            "entry 6 is not as it was written: what is kept beside the record is not what its hash says",
        ),
        (
            text.replacen("\"entries\":5", "\"entries\":6", 1),
            "entry 6 is not as it was written: the record does not end where its heading says",
        ),
    ] {
        assert_ne!(changed, text);
        assert_eq!(run(&[&folder.file("changed", &changed)]), (Some(1), String::new(), said.to_owned()));
    }
}

/// Something done to a record.
type Change<'c> = &'c dyn Fn(&mut Vec<Entry>);

#[test]
fn it_names_the_entry_that_this_program_names_and_says_the_same_of_it() {
    let folder = Folder::new("named");
    let sound = record(&TEXTS);
    let renewed = |entries: &mut Vec<Entry>| {
        entries[1].event.who = "K.".to_owned();
        entries[1].hash = entries[1].computed_hash().unwrap();
    };
    let doubled = |entries: &mut Vec<Entry>| {
        let seal = lastmicron_record::Sealed::seal(entries[0].event.clone()).unwrap();
        entries.push(Entry::after(entries[4].hash, 6, entries[4].received.clone(), &seal).unwrap());
    };
    let changes: [Change; 9] = [
        &|entries| entries[1].event.who = "K.".to_owned(),
        &|entries| entries[2].received = "2024-05-02T07:30:01Z".parse().unwrap(),
        &|entries| entries[3].hash = entries[2].hash,
        &|entries| drop(entries.remove(1)),
        &|entries| drop(entries.remove(0)),
        &|entries| entries.swap(1, 2),
        &|entries| entries.insert(1, entries[0].clone()),
        &renewed,
        &doubled,
    ];
    for change in changes {
        let mut entries = sound.clone();
        change(&mut entries);
        let broken: Broken = verify(&entries).unwrap_err();
        assert_eq!(run(&[&folder.file("changed", lines(&entries))]), (Some(1), String::new(), broken.to_string()));
    }
}

#[test]
fn other_bytes_of_the_same_entries_are_not_the_record() {
    let folder = Folder::new("bytes");
    let text = String::from_utf8(lines(&record(&TEXTS))).unwrap();
    let said = |changed: &str| {
        let (status, _, wrong) = run(&[&folder.file("changed", changed)]);
        assert_eq!(status, Some(1), "{changed}");
        wrong
    };
    let at = |n: u64, what: &str| format!("entry {n} is not as it was written: {what}");
    assert_eq!(said(&text.replacen("\"seq\":2", "\"seq\": 2", 1)), at(2, "its bytes are not canonical"));
    assert_eq!(said(&text.replacen("\u{2713}", "\\u2713", 1)), at(2, "its bytes are not canonical"));
    assert_eq!(said(&text.replacen("\"seq\":2", "\"seq\":2.0", 1)), at(2, "2.0 is no whole number"));
    assert_eq!(said(&text.replacen("\"seq\":2", "\"seq\":2,\"seq\":2", 1)), at(2, "a member that is null or there twice"));
    assert_eq!(said(&text.replacen("\"kind\"", "\"b\":null,\"kind\"", 1)), at(1, "a member that is null or there twice"));
    assert_eq!(said(&text.replacen("\"seq\":1}", "\"seq\":1,\"t\":1}", 1)), at(1, "it has other members than an entry has"));
    assert!(said(&text.replacen("{\"event\"", "{\"event", 1)).starts_with(&at(1, "")));
    assert!(said(&text.replacen("five", "\\ud800", 1)).starts_with(&at(5, "")));
    assert!(said(&text[..text.len() - 1]).contains("cut short"));
    assert!(said("").contains("no entries"));
    assert_eq!(run(&[&folder.0.join("nowhere")]).0, Some(1));
}

#[test]
fn a_record_that_is_not_the_one_that_was_signed_does_not_pass() {
    let folder = Folder::new("signed");
    let entries = record(&TEXTS);
    let jsonl = folder.file("record.jsonl", lines(&entries));
    let note = Checkpoint::of(&entries[..3]).unwrap().unwrap().sign(&key(1)).to_string();
    let checkpoint = folder.file("checkpoint", &note);
    let keys = folder.file("keys", format!("{}\n", key(1).public()));
    assert_eq!(run(&[&jsonl, &checkpoint, &keys]).0, Some(0));
    let wrong = |record: &Path, checkpoint: &Path, keys: &Path| {
        let (status, _, wrong) = run(&[record, checkpoint, keys]);
        assert_eq!(status, Some(1));
        wrong
    };
    let anew = folder.file("anew", lines(&record(&["one", "to", "three", "four", "five"])));
    assert_eq!(wrong(&anew, &checkpoint, &keys), "the checkpoint: the first 3 entries are not the ones that it is of");
    let short = folder.file("short", lines(&entries[..2]));
    assert_eq!(wrong(&short, &checkpoint, &keys), "the checkpoint: 3 entries were signed, and there are 2: some were taken off the end");
    let other = folder.file("other", format!("{}\n", key(2).public()));
    assert_eq!(wrong(&jsonl, &checkpoint, &other), "the checkpoint: no signature by a key that is known");
    let changed = folder.file("changed", note.replacen("\n3\n", "\n2\n", 1));
    assert_eq!(wrong(&jsonl, &changed, &keys), "the checkpoint: a signature of workshop that is not of this text");
    // A statement by which another key would take the place, that the first has not signed.
    let when = "2024-06-01T08:00:00+02:00".parse().unwrap();
    let rotated = Keys::of(key(1).public()).rotated(&key(1), &key(2), &when).unwrap().to_string();
    let unsigned: String = rotated.split_inclusive('\n').enumerate().filter(|(i, _)| *i != 6).map(|(_, line)| line).collect();
    let unsigned = folder.file("unsigned", unsigned);
    assert_eq!(wrong(&jsonl, &checkpoint, &unsigned), "the checkpoint: no signature by a key that is known");
}
