//! `lastmicron backup-key`: the key that backups are encrypted for, made, put on paper, and given back.

use std::fs::File;
use std::io::{self, BufRead, IsTerminal, Read, Write};
use std::path::Path;

use lastmicron_job::event::When;
use lastmicron_paper::{KeySheet, Page, key_sheet_pdf};
use lastmicron_store::{BackupIdentity, BackupKey, LastBackup, StoreError, verify_encrypted};

use crate::arguments::{BackupKeyArguments, BackupKeyWanted, CheckKeyArguments, NewKeyArguments};
use crate::failure::Failure;
use crate::files;
use crate::papers::PDF;
use crate::place;
use crate::records::to_read;
use crate::serve::{folder, time};
use crate::wording::{to_the_second, typed};

/// Letters of a key.
const LETTERS: usize = 74;
/// Most bytes of a key's file that are read.
const MOST_KEY: u64 = 1 << 16;
/// How a secret begins, which is never to stand in a command.
const SECRET: &str = "AGE-SECRET-KEY-";

pub(crate) fn run(arguments: &BackupKeyArguments, out: &mut dyn Write) -> Result<(), Failure> {
    match &arguments.wanted {
        BackupKeyWanted::New(arguments) => new(arguments, out),
        BackupKeyWanted::Check(arguments) => check(arguments, out),
    }
}

fn of_store(error: StoreError) -> Failure {
    Failure::of_store(&error)
}

fn new(arguments: &NewKeyArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let records = folder(arguments.data.as_deref())?;
    to_read(&records)?;
    let paths: Vec<&Path> = [&arguments.sheet, &arguments.file].into_iter().filter_map(|path| path.as_deref()).collect();
    if let Some(path) = paths.iter().find(|path| place::is_within(path, &records)) {
        return Err(Failure::bad_input(format!(
            "{}: that is among the records: whoever has them would have the key of their backups too. Name a file elsewhere",
            path.display()
        )));
    }
    if let [sheet, file] = paths.as_slice()
        && place::is_same(sheet, file)
    {
        return Err(Failure::bad_input(format!("{}: the sheet and the file are two: give each a name of its own", sheet.display())));
    }
    // To the second: it is read and typed by people.
    let made: When = to_the_second(&time()?).parse().map_err(|error| Failure::failed(format!("{error}")))?;
    let identity = BackupIdentity::generate();
    let key = BackupKey { recipient: identity.recipient(), made: made.clone(), checked: None };
    // Where backups are encrypted for another key already, nothing is written.
    let before = key.takes_the_place_of(&records).map_err(of_store)?;
    let sheet = KeySheet { secret: &identity.secret(), recipient: &key.recipient, made: &made };
    let pdf = arguments.sheet.as_ref().map(|_| key_sheet_pdf(&sheet, Page::A4)).transpose();
    let pdf = pdf.map_err(|error| Failure::failed(error.to_string()))?;
    let mut written = Written::default();
    if let (Some(path), Some(pdf)) = (&arguments.sheet, &pdf) {
        written.add(path, pdf)?;
    }
    if let Some(path) = &arguments.file {
        written.add(path, identity.file(&made).as_bytes())?;
    }
    key.note(&records).map_err(of_store)?;
    written.stays();
    for path in paths {
        writeln!(out, "{}: the key of the backups. Only you may read this file.", path.display())?;
    }
    if let Some(before) = before {
        // Nothing was encrypted for a key that was not given back.
        writeln!(
            out,
            "It takes the place of the key made {}, which was not given back: throw that one's sheet or file away.",
            to_the_second(&before.made)
        )?;
    }
    let away = match (&arguments.sheet, &arguments.file) {
        (Some(_), None) => "Print the sheet, put it where the records are not, and take the file away.",
        (None, _) => "Put the file where the records are not: a stick in a drawer, and not this machine.",
        (Some(_), Some(_)) => "Print the sheet, put it and the key's file where the records are not, and take both off this machine.",
    };
    Ok(writeln!(
        out,
        "It is kept nowhere else: whoever has it reads the backups, and without it nobody does. {away}\n\
         Backups are encrypted once it was given back: {}",
        typed("backup-key check -", arguments.data.as_deref())
    )?)
}

/// Files with a secret, which go again where the key is not noted in the end: a sheet of a key that nothing is encrypted for would be put away in good faith.
#[derive(Default)]
struct Written<'p>(Vec<&'p Path>);

impl<'p> Written<'p> {
    fn add(&mut self, path: &'p Path, bytes: &[u8]) -> Result<(), Failure> {
        files::write_private(path, bytes)?;
        self.0.push(path);
        Ok(())
    }

    fn stays(mut self) {
        self.0.clear();
    }
}

impl Drop for Written<'_> {
    fn drop(&mut self) {
        for path in &self.0 {
            // Why the key was not noted is told already.
            let _ = std::fs::remove_file(path);
        }
    }
}

fn check(arguments: &CheckKeyArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let records = folder(arguments.data.as_deref())?;
    to_read(&records)?;
    let Some(key) = BackupKey::read(&records).map_err(of_store)? else {
        let new = typed("backup-key new --sheet key.pdf", arguments.data.as_deref());
        return Err(Failure::bad_input(format!("no backup key was made for these records: {new} makes one")));
    };
    let identity = identity(&arguments.key)?;
    key.prove(&identity).map_err(of_store)?;
    // One that was encrypted for this key: its whole is read.
    let last = LastBackup::read(&records).filter(|last| {
        let is_since = key.checked.as_ref().is_some_and(|checked| last.made.seconds_since(checked) >= 0);
        last.sha256.is_some() && is_since
    });
    if let Some(last) = last.as_ref().filter(|last| !last.folder.is_file()) {
        // On a stick in a drawer, most likely.
        writeln!(out, "The last encrypted backup, {}, is not there now: it was not opened.", last.folder.display())?;
    } else if let Some(last) = &last {
        let backup = verify_encrypted(&last.folder, &identity)
            .and_then(|backup| backup.sound_at(&last.folder))
            .map_err(|error| Failure::of_looked_at(&error))?;
        writeln!(
            out,
            "{}: the key opens it, and it is whole: a backup of {}.",
            last.folder.display(),
            to_the_second(&backup.manifest.made)
        )?;
    }
    let first = key.checked.clone();
    let checked = first.map_or_else(time, Ok)?;
    BackupKey { checked: Some(checked), ..key }.note(&records).map_err(of_store)?;
    Ok(writeln!(out, "The key opens what is encrypted for it. Backups are encrypted from now on; those made before stay as they are.")?)
}

/// The lines of a key as it is typed, row by row or at once: until it has its letters, an empty line, or the end.
fn typed_rows(mut from: impl BufRead) -> io::Result<Vec<u8>> {
    let (mut typed, mut letters) = (Vec::new(), 0);
    while letters < LETTERS {
        let mut row = Vec::new();
        from.read_until(b'\n', &mut row)?;
        if row.trim_ascii().is_empty() {
            break;
        }
        // A line that is no part of the key, as its file has them.
        if !row.trim_ascii().starts_with(b"#") {
            letters += row.iter().filter(|letter| !letter.is_ascii_whitespace()).count();
        }
        typed.append(&mut row);
    }
    Ok(typed)
}

/// The key in a file; `-` is stdin. From a terminal it is typed row by row.
pub(crate) fn identity(path: &Path) -> Result<BackupIdentity, Failure> {
    if path.to_string_lossy().to_ascii_uppercase().starts_with(SECRET) {
        // What stands in a command is seen by others, and kept by the shell; it is not said again here.
        return Err(Failure::bad_input("that is the key itself: give the file that holds it, or - and type it"));
    }
    let mut bytes = Vec::new();
    if path.as_os_str() == "-" {
        let stdin = io::stdin();
        let read = if stdin.is_terminal() {
            let _ = writeln!(
                io::stderr(),
                "Type the key from its sheet, row by row or in one line; it ends with its last letter, or with an empty line. It is shown as you type:"
            );
            typed_rows(stdin.lock().take(MOST_KEY)).map(|typed| bytes = typed)
        } else {
            stdin.lock().take(MOST_KEY).read_to_end(&mut bytes).map(drop)
        };
        read.map_err(|error| Failure::bad_input(format!("no key comes from stdin: {error}")))?;
    } else {
        let read = File::open(path).and_then(|file| file.take(MOST_KEY).read_to_end(&mut bytes));
        read.map_err(|error| files::not_read(path, &error))?;
    }
    if bytes.starts_with(PDF) {
        return Err(Failure::bad_input(format!(
            "{}: that is the sheet, to be printed: give - in its place, and type the key that stands on it",
            path.display()
        )));
    }
    let not_one = |error: StoreError| match path.as_os_str() == "-" {
        true => of_store(error),
        false => Failure::bad_input(format!("{}: {error}", path.display())),
    };
    let text = String::from_utf8(bytes).map_err(|_| not_one(StoreError::NotAKey))?;
    BackupIdentity::read(&text).map_err(not_one)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_typed_in_as_many_rows_as_its_sheet_has_or_in_one() {
        let identity = BackupIdentity::generate();
        let secret = identity.secret();
        let (head, rest) = secret.split_at(16);
        let rows: Vec<&str> =
            std::iter::once(head).chain(rest.as_bytes().chunks(20).map(|row| std::str::from_utf8(row).unwrap())).collect();
        let behind = "what is typed next\n";
        for (typed, left) in [
            (format!("{secret}\n"), behind),
            (rows.join("\r\n") + "\r\n", behind),
            (rows.join(" \n  ") + "\n", behind),
            (format!("# created: 2024-05-01T09:30:00Z\n{secret}\n"), behind),
            (format!("{}\n\n", &secret[..50]), behind),
            (secret[..50].to_owned(), ""),
        ] {
            let all = format!("{typed}{left}");
            let mut from = all.as_bytes();
            let read = String::from_utf8(typed_rows(&mut from).unwrap()).unwrap();
            assert_eq!(from, left.as_bytes());
            let whole = typed.contains(&rest[40..]);
            assert_eq!(BackupIdentity::read(&read).is_ok(), whole);
        }
    }
}
