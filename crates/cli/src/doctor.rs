//! `lastmicron doctor`: is all well with the app's records and what they stand on?

use std::io::{self, Write};
use std::path::Path;
use std::time::{Duration, Instant};

use lastmicron_job::event::When;
use lastmicron_store::{BackupKey, KeptCheckpoint, KeyFile, LastBackup, STOP_BELOW, Sqlite, Store, StoreError, WARN_BELOW, free_bytes};
use serde_json::{Value, json};

use crate::arguments::DoctorArguments;
use crate::failure::Failure;
use crate::lan::{OnLan, without_authority};
use crate::phone::{Seen, seen};
use crate::records::to_look_at;
use crate::serve::{folder, time};
use crate::wording::{counted, to_the_second, typed};

/// How long a write may take to be on the disk. Judgement: whoever has pressed waits as long for the answer.
const SLOW: Duration = Duration::from_secs(2);
/// Writes that are measured, and the bytes of each: a page of the database.
const WRITES: usize = 5;
const PAGE: usize = 4096;
/// How far the clock may be behind the newest event, seconds. Judgement: a clock that the network sets is seconds off.
const BEHIND_S: i64 = 300;
/// How old the last backup may be, hours: the app makes one a day, and a night may pass.
const OLD_H: i64 = lastmicron_web::OLD_BACKUP_H;

/// What was looked at.
struct Finding {
    name: &'static str,
    found: String,
    /// What to do, where something is not well.
    to_do: Option<String>,
    figures: Value,
}

impl Finding {
    fn new(name: &'static str, found: impl Into<String>, figures: Value) -> Self {
        Self { name, found: found.into(), to_do: None, figures }
    }

    fn but(self, is_wrong: bool, to_do: impl Into<String>) -> Self {
        Self { to_do: is_wrong.then(|| to_do.into()), ..self }
    }
}

pub(crate) fn run(arguments: &DoctorArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let records = folder(arguments.data.as_deref())?;
    let data = arguments.data.as_deref();
    let store = to_look_at(&records)?;
    let now = time()?;
    let findings = [
        disk(&records),
        sync(&records),
        clock(&store, &now)
            .unwrap_or_else(|error| Finding::new("clock", format!("it can't be compared: {error}"), Value::Null).but(true, "See damage.")),
        backup(&records, &now, data),
        backup_key(&records, data),
        signing(&records, &store).unwrap_or_else(|error| {
            Finding::new("signing", error.to_string(), Value::Null)
                .but(true, "Nothing is signed: put the file back as it was, or take it away, and the app makes a new key.")
        }),
        phones(&records, arguments),
        Finding::new("schema", format!("version {}, as this program writes it", Sqlite::SCHEMA), json!({ "version": Sqlite::SCHEMA })),
        damage(&store, data),
    ];
    let problems = findings.iter().filter(|finding| finding.to_do.is_some()).count();
    if arguments.json {
        as_json(&records, &findings, problems, out)?
    } else {
        as_text(&records, &findings, out)?
    }
    if problems == 0 { Ok(()) } else { Err(Failure::Problems(counted(problems as u64, "problem found", "problems found"))) }
}

fn as_text(records: &Path, findings: &[Finding], out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "Records in {}", records.display())?;
    for Finding { name, found, to_do, .. } in findings {
        let state = if to_do.is_some() { "PROBLEM" } else { "ok" };
        writeln!(out, "{state:<7}  {name:<10}  {found}")?;
        if let Some(to_do) = to_do {
            writeln!(out, "                     {to_do}")?;
        }
    }
    Ok(())
}

fn as_json(records: &Path, findings: &[Finding], problems: usize, out: &mut dyn Write) -> io::Result<()> {
    let of = |finding: &Finding| json!({ "name": finding.name, "ok": finding.to_do.is_none(), "found": finding.found, "to_do": finding.to_do, "figures": finding.figures });
    let all =
        json!({ "records": records.display().to_string(), "problems": problems, "findings": findings.iter().map(of).collect::<Vec<_>>() });
    writeln!(out, "{all:#}")
}

fn disk(records: &Path) -> Finding {
    let Some(free) = free_bytes(records) else {
        return Finding::new("disk", "this system does not tell how much is free", json!({ "free_bytes": null }));
    };
    Finding::new("disk", format!("{} MB free", free / 1_000_000), json!({ "free_bytes": free }))
        .but(free < WARN_BELOW, format!("Make room: below {} MB the app takes nothing.", STOP_BELOW / 1_000_000))
}

fn sync(records: &Path) -> Finding {
    match median_sync(records) {
        Ok(took) => {
            let took_ms = took.as_secs_f64() * 1e3;
            Finding::new("sync", format!("{took_ms:.1} ms until a write is on the disk"), json!({ "median_ms": took_ms }))
                .but(took > SLOW, "Everything recorded waits so long: see what else uses the disk, or whether it fails.")
        }
        Err(error) => Finding::new("sync", format!("nothing can be written: {error}"), json!({ "median_ms": null }))
            .but(true, "Let whoever runs the app write to this folder."),
    }
}

fn median_sync(records: &Path) -> io::Result<Duration> {
    let mut file = tempfile::tempfile_in(records)?;
    let mut took = Vec::new();
    for _ in 0..WRITES {
        let began = Instant::now();
        file.write_all(&[0; PAGE])?;
        file.sync_all()?;
        took.push(began.elapsed());
    }
    took.sort();
    Ok(took.get(WRITES / 2).copied().unwrap_or_default())
}

fn clock(store: &Sqlite, now: &When) -> Result<Finding, StoreError> {
    let mut newest: Option<When> = None;
    for (job, head) in store.jobs()? {
        for entry in store.events(job, head.seq)? {
            if newest.as_ref().is_none_or(|newest| entry.received.seconds_since(newest) > 0) {
                newest = Some(entry.received);
            }
        }
    }
    let Some(newest) = newest else {
        return Ok(Finding::new("clock", format!("{}; nothing recorded to compare it with", to_the_second(now)), json!({ "now": now })));
    };
    let behind_s = newest.seconds_since(now);
    Ok(Finding::new(
        "clock",
        format!("{}; the newest event is of {}", to_the_second(now), to_the_second(&newest)),
        json!({ "now": now, "newest_event": newest, "behind_s": behind_s.max(0) }),
    )
    .but(behind_s > BEHIND_S, format!("The clock is {} minutes behind the newest event: set it.", behind_s / 60)))
}

fn backup(records: &Path, now: &When, data: Option<&Path>) -> Finding {
    let to_do = format!("Leave the app running: it makes one a day. Or make one now: {}", typed("backup", data));
    let Some(last) = LastBackup::read(records) else {
        return Finding::new("backup", "none is known to be whole", json!({ "made": null })).but(true, to_do);
    };
    let age_h = now.seconds_since(&last.made).div_euclid(3600);
    let figures = json!({ "made": last.made, "verified": last.verified, "age_h": age_h, "folder": last.folder.display().to_string() });
    let whole = if last.sha256.is_some() { "found whole before it was encrypted" } else { "found whole" };
    // On a stick in a drawer it is well kept.
    let is_out = if last.folder.exists() { "" } else { ", which is not there now" };
    let found = format!("the last one {whole} was made {}, {age_h} h ago: {}{is_out}", to_the_second(&last.made), last.folder.display());
    Finding::new("backup", found, figures).but(!(0..=OLD_H).contains(&age_h), to_do)
}

/// What a phone on the local network would see.
fn phones(records: &Path, arguments: &DoctorArguments) -> Finding {
    let figures =
        |at: Option<&str>, until: Option<&str>, answers: bool| json!({ "at": at, "certificate_until": until, "answers": answers });
    let on_lan = OnLan { data: arguments.data.as_deref(), backups: None, port: arguments.port, name: None, addresses: &[] };
    match seen(records, arguments.port) {
        Seen::NotSetUp => Finding::new(
            "phones",
            "nothing is set up by which they could trust this machine: they see the app in the open, or not at all",
            figures(None, None, false),
        ),
        Seen::Refused(why) => Finding::new("phones", format!("they don't see the app: {why}"), figures(None, None, false))
            .but(true, format!("Run {}, and start the app with {}", on_lan.setup(), on_lan.serve())),
        Seen::NoAuthority(why) => Finding::new("phones", format!("they don't see the app: {why}"), figures(None, None, false))
            .but(true, format!("{}.", without_authority(on_lan))),
        Seen::Nobody { at, until } => Finding::new(
            "phones",
            format!("nobody answers them at {at}: the app isn't running there with --lan; the certificate holds until {until}"),
            figures(Some(&at), Some(&until), false),
        ),
        Seen::App { at, until } => Finding::new(
            "phones",
            format!("one that trusts the workshop's authority sees the app at {at}; the certificate holds until {until}"),
            figures(Some(&at), Some(&until), true),
        ),
    }
}

fn backup_key(records: &Path, data: Option<&Path>) -> Finding {
    match BackupKey::read(records) {
        Ok(None) => {
            Finding::new("backup-key", "backups are not encrypted: no backup key was made", json!({ "made": null, "checked": null }))
        }
        Ok(Some(BackupKey { recipient, made, checked })) => {
            let found = checked.as_ref().map_or_else(
                || format!("backups are not encrypted: the key made {} was not given back yet", to_the_second(&made)),
                |checked| format!("backups are encrypted for {recipient}; the key was given back {}", to_the_second(checked)),
            );
            let is_wrong = checked.is_none();
            Finding::new("backup-key", found, json!({ "recipient": recipient, "made": made, "checked": checked })).but(is_wrong, {
                let (check, new) = (typed("backup-key check -", data), typed("backup-key new --sheet key.pdf", data));
                format!("Give it back from its sheet: {check}. Or make another: {new}")
            })
        }
        Err(error) => Finding::new("backup-key", "its note can't be read", Value::Null).but(true, error.to_string()),
    }
}

/// The key that signs, and when something was last signed.
fn signing(records: &Path, store: &Sqlite) -> Result<Finding, StoreError> {
    let last = last_signed(store)?;
    let when = last.as_ref().map(|last| &last.kept);
    let Some(signer) = KeyFile::in_folder(records).read()? else {
        let figures = json!({ "public": null, "last_signed": when });
        return Ok(match &last {
            None => Finding::new("signing", "no key that signs yet: the app makes one when it is started", figures),
            Some(_) => Finding::new("signing", "the key that signed is gone", figures)
                .but(true, "Put the copy of signing-keys back before the app is started: it makes a new key else, which follows from none that is known."),
        });
    };
    let public = signer.key.public().to_string();
    let signed =
        when.map_or_else(|| "nothing is signed yet".to_owned(), |last| format!("the last checkpoint was signed {}", to_the_second(last)));
    // Keys are only ever added behind those that were.
    let is_another = last.as_ref().is_some_and(|last| !signer.keys.to_string().starts_with(&last.keys.to_string()));
    Ok(Finding::new("signing", format!("{public}; {signed}"), json!({ "public": public, "last_signed": when })).but(
        is_another,
        "That one was signed by a key from which this one does not follow: put the copy of signing-keys back, or tell whoever has the old key that there is a new one, and why.",
    ))
}

/// The checkpoint that was kept last.
fn last_signed(store: &Sqlite) -> Result<Option<KeptCheckpoint>, StoreError> {
    let mut last: Option<KeptCheckpoint> = None;
    for (job, _) in store.jobs()? {
        for checkpoint in store.checkpoints(job)? {
            if last.as_ref().is_none_or(|last| checkpoint.kept.seconds_since(&last.kept) > 0) {
                last = Some(checkpoint);
            }
        }
    }
    Ok(last)
}

fn damage(store: &Sqlite, data: Option<&Path>) -> Finding {
    let to_do = format!(
        "Stop the app, keep this folder as it is, and restore the last backup that was verified into an empty one: lastmicron restore. Which one that is: {}",
        typed("backups", data)
    );
    match store.verify() {
        Ok(report) => {
            let figures = json!({ "jobs": report.jobs, "events": report.entries, "kept": report.kept, "checkpoints": report.checkpoints, "waiting": report.waiting.len(), "erased": report.erased.len(), "damaged": report.damage.len() });
            let found = report.damage.first().map_or_else(
                || {
                    let (jobs, events) = (counted(report.jobs, "job", "jobs"), counted(report.entries, "event", "events"));
                    format!("none in {jobs}, {events}, {} kept beside them", counted(report.kept, "thing", "things"))
                },
                |first| {
                    let things = counted(report.damage.len() as u64, "thing is not as it was", "things are not as they were");
                    format!("{things} written, first: {first}")
                },
            );
            Finding::new("damage", found, figures).but(!report.damage.is_empty(), to_do)
        }
        Err(error) => Finding::new("damage", format!("the records can't be read: {error}"), Value::Null).but(true, to_do),
    }
}
