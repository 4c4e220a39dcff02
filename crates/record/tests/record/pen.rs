//! Events and records to test with.

use lastmicron_job::event::{Event, Id};
use lastmicron_record::{Entry, Head, Sealed};
use serde_json::{Value, json};

pub(crate) fn id(n: u64) -> Id {
    Id::made_at(1_714_550_000_000 + n, [7; 10])
}

pub(crate) fn event_json(n: u64, body: Value) -> Value {
    let [own, job, device] = [id(n), id(0), id(1)].map(|id| id.to_string());
    json!({"id": own, "job": job, "when": "2024-05-01T09:30:00+02:00", "device": device, "who": "J.", "body": body})
}

pub(crate) fn event(n: u64, body: Value) -> Event {
    serde_json::from_value(event_json(n, body)).unwrap()
}

pub(crate) fn note(n: u64, text: &str) -> Sealed {
    Sealed::seal(event(n, json!({"kind": "noted", "text": text}))).unwrap()
}

/// A record of notes.
pub(crate) fn record(texts: &[&str]) -> Vec<Entry> {
    let mut head = Head::NONE;
    let mut entries = Vec::new();
    for (text, n) in texts.iter().zip(10..) {
        let entry = Entry::after(head.hash, head.seq + 1, "2024-05-01T07:30:01Z".parse().unwrap(), &note(n, text)).unwrap();
        head = Head { seq: entry.seq, hash: entry.hash };
        entries.push(entry);
    }
    entries
}
