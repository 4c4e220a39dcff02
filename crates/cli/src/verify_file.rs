//! `lastmicron verify FILE`: a record's file, or a handover with the record in it.

use std::io::Write;
use std::path::Path;

use lastmicron_record::{Bundle, Entry, Keys, NotABundle};
use lastmicron_web::ReadBack;

use crate::arguments::VerifyArguments;
use crate::failure::Failure;
use crate::files;
use crate::papers::{PDF, Unsound, checked};
use crate::wording::counted;

/// How the text of a key begins that is nobody else's to read, and whose it is.
const SECRETS: [(&str, &str); 2] = [
    ("AGE-SECRET-KEY-", "the secret key of backups, with which whoever has it reads them"),
    ("PRIVATE+KEY+", "the key with which the workshop signs, and whoever has it signs as the workshop"),
];
/// Where the key is found that is wanted in its place.
const PUBLIC: &str = "the public key is wanted, which lastmicron doctor prints where the workshop's records are";

/// Characters without a shape that stand in a copied text where a line may be broken, or at its beginning: zero width space, word joiner, zero width no-break space, and
/// soft hyphen.
const SHAPELESS: [char; 4] = ['\u{200b}', '\u{2060}', '\u{feff}', '\u{ad}'];
/// The first line of a statement that a key takes another's place.
const STATEMENT: &str = "lastmicron/key-rotation";

/// Whether a file is as it was written; a handover, where keys are given, also whether it is signed by what follows from them.
pub(crate) fn verify_file(path: &Path, arguments: &VerifyArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let refused = |why: &str| Err(Failure::bad_input(format!("{}: {why}", path.display())));
    if arguments.key.is_some() {
        return refused("this is no encrypted backup: leave --key out");
    }
    let bytes = files::read_either(path)?;
    match (bytes.starts_with(PDF), arguments.keys.as_deref()) {
        (true, keys) => handover(path, &bytes, keys, out),
        (false, None) => record(path, &bytes, out),
        (false, Some(_)) => refused("this is no handover, and nothing in it is signed: leave --keys out"),
    }
}

fn record(path: &Path, bytes: &[u8], out: &mut dyn Write) -> Result<(), Failure> {
    let bundle = Bundle::read(bytes).map_err(|error| {
        let said = format!("{}: {error}", path.display());
        match error {
            NotABundle::NoHeading | NotABundle::Newer { .. } => Failure::bad_input(said),
            NotABundle::Line { .. } | NotABundle::Broken(_) | NotABundle::Short => {
                Failure::Problems(format!("{said}. Have it exported anew where it comes from"))
            }
        }
    })?;
    whole(path, "whole", &bundle.entries, out)
}

fn handover(path: &Path, bytes: &[u8], keys: Option<&Path>, out: &mut dyn Write) -> Result<(), Failure> {
    let known = keys.map(known_keys).transpose()?;
    let ReadBack { entries, signed, .. } = checked(bytes, known.as_ref()).map_err(|unsound| {
        let said = format!("{}: {unsound}", path.display());
        match unsound {
            Unsound::NotOne(_) => Failure::bad_input(said),
            Unsound::Changed(_) => Failure::Problems(format!("{said}. Get it anew from the workshop that made it")),
            // Whoever sent it may be the one who made it.
            Unsound::NotTheirs(_) => Failure::Problems(format!(
                "{said}. Ask the workshop itself, in a way that you know already and not one that came with this file, whether it made it, and compare the key with the one that it gives"
            )),
        }
    })?;
    whole(path, "the record in it is whole and ends as its pages say", &entries, out)?;
    writeln!(out, "{signed}")?;
    if let Some(keys) = keys {
        writeln!(out, "It follows from the key in {}.", keys.display())?;
    }
    Ok(())
}

fn whole(path: &Path, what: &str, entries: &[Entry], out: &mut dyn Write) -> Result<(), Failure> {
    let last = entries.last().map(|entry| entry.hash.to_string()).unwrap_or_default();
    let events = counted(entries.len() as u64, "event", "events");
    Ok(writeln!(out, "{}: {what}: {events}; the last hash is {last}", path.display())?)
}

/// The text of keys as it was before it was printed and copied: without what has no shape of its own and stands there to break lines, without white space around its
/// lines, and the first key in one line however many it was copied as.
fn as_written(copied: &str) -> String {
    let shaped: String = copied.chars().filter(|c| !SHAPELESS.contains(c)).collect();
    let lines: Vec<&str> = shaped.trim().lines().map(str::trim).collect();
    // What follows the first key are statements, which are signed as they stand.
    let statements = lines.iter().position(|line| *line == STATEMENT).unwrap_or(lines.len());
    let (key, statements) = lines.split_at(statements);
    let key: String = key.iter().flat_map(|line| line.split_whitespace()).collect();
    std::iter::once(key.as_str()).chain(statements.iter().copied()).map(|line| format!("{line}\n")).collect()
}

/// The public keys in a file. A secret one is never said again.
fn known_keys(path: &Path) -> Result<Keys, Failure> {
    let secret_in = |text: &str| {
        let text = text.to_ascii_uppercase();
        SECRETS.iter().find(|(begins, _)| text.contains(begins)).map(|(_, what)| *what)
    };
    if let Some(what) = secret_in(&path.to_string_lossy()) {
        return Err(Failure::bad_input(format!("what --keys was given is {what}. It never belongs in a command: {PUBLIC}, in a file")));
    }
    let text = files::read_text(path)?;
    if let Some(what) = secret_in(&text) {
        return Err(Failure::bad_input(format!("{}: this is {what}: {PUBLIC}", path.display())));
    }
    as_written(&text).parse().map_err(|error| Failure::bad_input(format!("{}: {error}", path.display())))
}

#[cfg(test)]
mod tests {
    use lastmicron_record::SigningKey;

    use super::*;

    #[test]
    fn a_key_copied_from_a_page_is_the_key_with_what_follows_it() {
        let key = |random: u8| SigningKey::of("workshop", [random; 32]).unwrap();
        let (old, new) = (key(1), key(2));
        let keys = Keys::of(old.public()).rotated(&old, &new, &"2024-05-01T09:30:00Z".parse().unwrap()).unwrap();
        let text = keys.to_string();
        assert_eq!(as_written(&text).parse::<Keys>().unwrap(), keys);
        let (first, statements) = text.split_once('\n').unwrap();
        let (a, b) = first.split_at(20);
        for between in ["\u{200b}", "\u{2060}", "\u{ad}", "\n", "\r\n  ", " "] {
            let one = format!("\u{feff}  {a}{between}{b} \r\n\n");
            assert_eq!(as_written(&one).parse::<Keys>().unwrap(), Keys::of(old.public()), "{one:?}");
            let all = format!("{a}{between}{b}\n{}", statements.replace('\n', " \r\n"));
            assert_eq!(as_written(&all).parse::<Keys>().unwrap(), keys, "{all:?}");
        }
        assert!(as_written(&format!("{first}\n{first}")).parse::<Keys>().is_err());
    }
}
