//! What no file of the tree may hold: where it was made, by what, and from which registry.

use std::net::Ipv4Addr;
use std::path::{Path, PathBuf};

/// Folders that are made, not kept.
const MADE: [&str; 4] = ["target", "out", ".git", ".venv"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Every text file kept, by its path from the root.
fn texts() -> Vec<(String, String)> {
    let mut texts = Vec::new();
    let mut folders = vec![root()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let is_made = MADE.iter().any(|made| path.file_name().is_some_and(|name| name == *made));
            if path.is_dir() && !is_made {
                folders.push(path);
            } else if let (false, Ok(text)) = (is_made, std::fs::read_to_string(&path)) {
                texts.push((path.strip_prefix(root()).unwrap().display().to_string(), text));
            }
        }
    }
    assert!(texts.iter().any(|(path, _)| path == "README.md") && texts.len() > 100, "the tree was not found");
    texts
}

/// Lines of the tree in which `is_found` finds something, with it.
fn lines_with<'t>(texts: &'t [(String, String)], is_found: impl Fn(&'t str) -> Option<String>) -> Vec<String> {
    let of_file = |(path, text): &'t (String, String)| {
        let found = |(i, line): (usize, &'t str)| is_found(line).map(|what| format!("{path}, line {}: {what}", i + 1));
        text.lines().enumerate().filter_map(found).collect::<Vec<_>>()
    };
    texts.iter().flat_map(of_file).collect()
}

/// A word alone, in any case.
fn has_word(line: &str, word: &str) -> bool {
    line.to_lowercase().split(|c: char| !c.is_alphanumeric() && c != '-').any(|found| found == word)
}

/// A path that begins at the root of a machine.
fn machine_path(line: &str) -> Option<String> {
    // In halves, so that this file doesn't hold them.
    let folders =
        [["/wo", "rk/"], ["/tm", "p/"], ["/ro", "ot/"], ["/ho", "me/"], ["/Us", "ers/"], ["C:", "\\"]].map(|halves| halves.concat());
    folders.into_iter().find(|folder| line.split(|c: char| c.is_whitespace() || "\"'`(=<".contains(c)).any(|word| word.starts_with(folder)))
}

/// The host of an address that is not that of a standard's text or name, nor one that is nobody's on the internet: kept for this machine and for examples (RFC 6761, RFC 5737),
/// or for local networks (RFC 6762, RFC 1918).
fn other_host(line: &str) -> Option<String> {
    const STANDARDS: [&str; 3] = ["www.w3.org", "json-schema.org", "www.apache.org"];
    let hosts = line.split("://").skip(1).map(|rest| rest.split(|c: char| !(c.is_alphanumeric() || c == '.' || c == '-')).next());
    let is_address = |host: &str| host.parse().is_ok_and(|address: Ipv4Addr| address.is_private() || address.is_documentation());
    let is_nobodys = |host: &str| host == "localhost" || host.ends_with(".example") || host.ends_with(".local") || is_address(host);
    hosts.flatten().find(|host| !host.is_empty() && !is_nobodys(host) && !STANDARDS.contains(host)).map(str::to_owned)
}

#[test]
fn no_file_holds_a_path_of_the_machine_it_was_written_on() {
    assert_eq!(lines_with(&texts(), machine_path), Vec::<String>::new());
}

#[test]
fn no_file_names_what_it_was_written_with() {
    let words = [["sub", "agent"], ["sub-", "agent"], ["assis", "tant"], ["chat", "bot"], ["ll", "m"], ["co", "pilot"]]
        .map(|halves| halves.concat());
    let named = |line: &str| words.iter().find(|word| has_word(line, word) || has_word(line, &format!("{word}s"))).cloned();
    assert_eq!(lines_with(&texts(), named), Vec::<String>::new());
}

#[test]
fn addresses_are_those_of_standards_and_the_registry_stands_where_cargo_needs_it() {
    let mut texts = texts();
    texts.retain(|(path, _)| path != "Cargo.lock" && path != "deny.toml");
    assert_eq!(lines_with(&texts, other_host), Vec::<String>::new());
}

#[test]
fn what_must_not_be_held_would_be_found() {
    let path = ["see `/ho", "me/somebody/job`"].concat();
    assert!(machine_path(&path).is_some() && machine_path("a work/life of and/or, crates/units/src").is_none());
    assert!(other_host("http:").is_none() && other_host(&["https:/", "/example.org/x"].concat()).is_some());
    assert!(other_host("http://192.168.1.20/ http://bay.local").is_none() && other_host(&["http:/", "/9.9.9.9"].concat()).is_some());
    assert!(has_word("By a Robot.", "robot") && !has_word("robotic", "robot"));
}
