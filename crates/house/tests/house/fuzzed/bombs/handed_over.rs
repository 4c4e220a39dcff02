//! PDFs made to harm whoever reads the record that they carry.

use lastmicron_job::event::Id;
use lastmicron_paper::{CHECKPOINT_FILE, KEYS_FILE, MOST_ATTACHED_BYTES, MOST_HANDOVER_BYTES, READINGS_FILE, RECORD_FILE};
use lastmicron_record::{Checkpoint, Citation, Entry, Head, Keys, Sealed, SigningKey, canonical};
use serde_json::{Value, json};

use super::{Bomb, MANY};
use crate::fuzzed::Kind::Handover;
use crate::fuzzed::made_pdf::{carrying, packed_stream, pdf, stream};
use crate::fuzzed::made_png::packed;

/// A keyword by which a file says its own hash.
const HASHED: &str = "LASTMICRON:FILE:5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f5f";

/// The longest record that is read with a checkpoint and keys beside it.
const MOST_RECORD_BYTES: usize = MOST_ATTACHED_BYTES - 2000;

pub(super) fn all() -> Vec<Bomb> {
    [in_what_it_carries(), in_how_it_is_put_together()].concat()
}

fn in_what_it_carries() -> Vec<Bomb> {
    vec![
        ("a handover whose record unpacks to a gigabyte", Handover, || with_record(&packed_stream(&vec![0; 1_200_000_000]))),
        ("a handover of four files of all that is read", Handover, || with_four(MOST_ATTACHED_BYTES)),
        ("a handover of four files of a quarter of that", Handover, || with_four(MOST_ATTACHED_BYTES / 4)),
        ("a handover of as many notes as are read", Handover, || {
            signed(&entries(&json!({"kind": "noted", "text": ""}), MOST_RECORD_BYTES), 1, 1)
        }),
        ("a handover of as many corners as are read", Handover, || signed(&entries(&outline(6000), MOST_RECORD_BYTES), 1, 1)),
        ("a handover of twenty thousand readings", Handover, || signed(&entries(&reading(), 10_150_000), 1, 1)),
        ("a handover with one entry of a million corners", Handover, || with_line(&outline(MANY).to_string())),
        ("a handover with an entry of brackets in brackets", Handover, || with_line(&"[".repeat(MANY))),
        ("a handover with a million lines of nothing", Handover, || with_record(&packed_stream(&b"\n{}".repeat(MANY)))),
        ("a handover signed a thousand times by a thousand keys", Handover, || signed(&entries(&reading(), 10_000), 1000, 1000)),
        ("a handover signed as often and by as many keys as are read", Handover, || signed(&entries(&reading(), 10_000), 300, 1200)),
    ]
}

fn in_how_it_is_put_together() -> Vec<Bomb> {
    vec![
        ("a handover with arrays in arrays", Handover, || pdf(&[[b"<</AF".as_slice(), &b"[".repeat(MANY)].concat()])),
        ("a handover with dictionaries in dictionaries", Handover, || pdf(&[b"<</AF[".repeat(MANY)])),
        ("a handover that refers to itself", Handover, || {
            let all = format!("<</AF[1 0 R]/Keywords({HASHED})/UF({RECORD_FILE})/EF<</F 1 0 R>>/Length 1 0 R>>\nstream\n\nendstream");
            pdf(&[all.clone().into_bytes(), all.into_bytes()])
        }),
        ("a handover of a million references", Handover, || pdf(&[[b"<</AF[".as_slice(), &b"1 0 R ".repeat(MANY), b"]>>"].concat()])),
        ("a handover that refers to a hundred objects without an end", Handover, endless),
        ("a handover of a million objects", Handover, || pdf(&vec![b"<<>>".to_vec(); MANY])),
        ("a handover with a million words among its properties", Handover, || {
            pdf(&carrying(&"a, ".repeat(MANY), &[(RECORD_FILE, packed_stream(b"\n"))]))
        }),
        ("a handover full of its own hash", Handover, || {
            let hashes = HASHED.repeat((MOST_HANDOVER_BYTES - 2000) / HASHED.len());
            pdf(&carrying(HASHED, &[(RECORD_FILE, packed_stream(b"\n")), ("other", stream("", hashes.as_bytes()))]))
        }),
        ("a handover whose table is said to be of a billion", Handover, || with("xref\n0 5\n", "xref\n0 999999999999\n")),
        ("a handover whose table stands beyond its end", Handover, || with("startxref\n", "startxref\n99999999")),
        ("a handover whose objects stand beyond its end", Handover, || with("\r\n0000", "\r\n9999")),
        ("a handover whose record is said to be longer than the file", Handover, || {
            with_record(&stream("/Length 999999999999/Filter/FlateDecode", &packed(b"\n")))
        }),
        ("a handover whose record is said to be longer than can be counted", Handover, || {
            with_record(&stream("/Length 18446744073709551615/Filter/FlateDecode", &packed(b"\n")))
        }),
    ]
}

fn with_record(holder: &[u8]) -> Vec<u8> {
    pdf(&carrying(HASHED, &[(RECORD_FILE, holder.to_vec())]))
}

/// A record of one entry in which this is what happened.
fn with_line(body: &str) -> Vec<u8> {
    let entry = serde_json::to_string(&entries(&json!({"kind": "noted", "text": ""}), 1000)[0]).unwrap();
    let (before, after) = entry.split_once(r#"{"kind":"noted","text":""}"#).unwrap();
    with_record(&packed_stream(format!("{before}{body}{after}").as_bytes()))
}

/// A small one in which something stands in the place of something else.
fn with(before: &str, now: &str) -> Vec<u8> {
    let sound = String::from_utf8(with_record(&stream("", b"\n"))).unwrap();
    assert!(sound.contains(before));
    sound.replace(before, now).into_bytes()
}

/// All that may be attached, each of so many bytes.
fn with_four(bytes: usize) -> Vec<u8> {
    let holder = packed_stream(&b"\n".repeat(bytes));
    pdf(&carrying(HASHED, &[RECORD_FILE, READINGS_FILE, CHECKPOINT_FILE, KEYS_FILE].map(|name| (name, holder.clone()))))
}

/// Each object is as long as is looked at, and what is looked for stands at its end.
fn endless() -> Vec<u8> {
    let file = format!("{}/UF(other)/EF<</F 1 0 R>>", "/U".repeat(32_500));
    let references: String = (3..103).map(|n| format!("{n} 0 R ")).collect();
    let catalogue = format!("<</AF[{references}]>>");
    let objects = [catalogue, format!("<</Keywords({HASHED})>>")].into_iter().chain((3..103).map(|_| file.clone()));
    pdf(&objects.map(String::into_bytes).collect::<Vec<_>>())
}

fn outline(corners: usize) -> Value {
    json!({"kind": "panel-stated", "name": "bonnet", "outline_mm": vec![["0", "0"]; corners]})
}

fn reading() -> Value {
    json!({"kind": "reading-taken", "panel": "bonnet", "x_mm": "1040", "y_mm": "710", "value": {"number": "68.4", "unit": "um"}})
}

/// A record in which the same happens again and again, of at most so many bytes.
fn entries(body: &Value, most_bytes: usize) -> Vec<Entry> {
    let id = |n: u64| Id::made_at(1_714_550_000_000 + n, [3; 10]);
    let (mut entries, mut bytes): (Vec<Entry>, usize) = (Vec::new(), 0);
    loop {
        let (previous, seq) = entries.last().map_or((Entry::NOTHING, 1), |last| (last.hash, last.seq + 1));
        let event = json!({"id": id(seq), "job": id(0), "when": "2024-05-01T09:30:00+02:00", "device": id(0), "who": "J.", "body": body});
        let sealed = Sealed::read(event.to_string().as_bytes()).unwrap();
        let entry = Entry::after(previous, seq, "2024-05-01T07:30:01Z".parse().unwrap(), &sealed).unwrap();
        bytes += canonical(&entry).unwrap().len() + 1;
        if bytes > most_bytes {
            return entries;
        }
        entries.push(entry);
    }
}

/// A record with a checkpoint that one key has signed so often, among keys as many as that, each of which is the one before.
fn signed(entries: &[Entry], keys: usize, signatures: usize) -> Vec<u8> {
    let key = SigningKey::of("workshop", [7; 32]).unwrap();
    let note = Checkpoint::of(entries).unwrap().unwrap().sign(&key).to_string();
    let (_, signature) = note.rsplit_once("\n\n").unwrap();
    let checkpoint = format!("{note}{}", signature.repeat(signatures - 1));
    let first = Keys::of(key.public());
    let statement = first.clone().rotated(&key, &key, &"2024-05-01T07:30:01Z".parse().unwrap()).unwrap().to_string();
    let (_, statement) = statement.split_once('\n').unwrap();
    let keys = format!("{first}{}", statement.repeat(keys - 1));
    let record: Vec<u8> = entries.iter().flat_map(|entry| [canonical(entry).unwrap(), b"\n".to_vec()].concat()).collect();
    let files = [(RECORD_FILE, record), (CHECKPOINT_FILE, checkpoint.into_bytes()), (KEYS_FILE, keys.into_bytes())];
    let cited = entries.last().map(|last| Citation { job: last.job(), head: Head::of(last) }).unwrap();
    pdf(&carrying(&format!("{cited}, {HASHED}"), &files.map(|(name, bytes)| (name, packed_stream(&bytes)))))
}
