//! ARCHITECTURE.md's table is what Cargo has.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

type Edges = BTreeMap<String, BTreeSet<String>>;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The table: every room and the rooms that it may use.
fn allowed() -> Edges {
    rows().into_iter().collect()
}

fn rows() -> Vec<(String, BTreeSet<String>)> {
    let page = std::fs::read_to_string(root().join("ARCHITECTURE.md")).unwrap();
    let (_, section) = page.split_once("## Rooms and the edges allowed").expect("ARCHITECTURE.md has a section with the table of edges");
    let rows = section.lines().skip_while(|l| !l.starts_with('|')).take_while(|l| l.starts_with('|')).skip(2);
    rows.map(|row| {
        let mut columns = row.split('|').skip(1);
        let room = named(columns.next().unwrap_or_default()).pop_first().expect("each row of the table begins with a room");
        (room, named(columns.next().unwrap_or_default()))
    })
    .collect()
}

/// The words in backticks.
fn named(column: &str) -> BTreeSet<String> {
    column.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

/// The rooms in the order of the table.
fn order() -> Vec<String> {
    rows().into_iter().map(|(room, _)| room).collect()
}

fn packages() -> Vec<serde_json::Value> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
    let output =
        Command::new(cargo).args(["metadata", "--format-version", "1", "--no-deps", "--offline"]).current_dir(root()).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    metadata["packages"].as_array().unwrap().clone()
}

/// What Cargo has: every package of the workspace and the packages of the workspace that it depends on, of these kinds.
fn present(kinds: &[Option<&str>]) -> Edges {
    let edges = packages().into_iter().map(|p| {
        let of_kind = p["dependencies"].as_array().unwrap().iter().filter(|d| kinds.contains(&d["kind"].as_str()));
        let uses = of_kind.filter_map(|d| room(d["name"].as_str().unwrap())).collect();
        (room(p["name"].as_str().unwrap()).expect("every package is named lastmicron-ROOM"), uses)
    });
    edges.collect()
}

/// What ships: ordinary dependencies and those of build scripts.
const SHIPS: [Option<&str>; 2] = [None, Some("build")];

fn room(package: &str) -> Option<String> {
    package.strip_prefix("lastmicron-").map(str::to_owned)
}

/// A room that can't be reached by taking away, again and again, rooms that use no other: it is on a cycle, or above one.
fn on_a_cycle(edges: &Edges) -> Option<String> {
    let mut left = edges.clone();
    while let Some(free) = left.iter().find(|(_, uses)| uses.iter().all(|u| !left.contains_key(u))).map(|(room, _)| room.clone()) {
        left.remove(&free);
    }
    left.into_keys().next()
}

#[test]
fn every_room_is_in_the_table_and_every_room_of_the_table_exists() {
    let (allowed, present) = (allowed(), present(&SHIPS));
    assert_eq!(allowed.keys().collect::<Vec<_>>(), present.keys().collect::<Vec<_>>());
}

#[test]
fn no_room_uses_another_that_the_table_does_not_allow() {
    let allowed = allowed();
    for (room, uses) in present(&SHIPS) {
        let beyond: Vec<_> = uses.difference(&allowed[&room]).collect();
        assert!(
            beyond.is_empty(),
            "{room} uses {beyond:?}, which ARCHITECTURE.md does not allow: take the edge out, or say there why it must be"
        );
    }
}

#[test]
fn tests_use_rooms_further_up_in_the_table_only() {
    let order = order();
    let at = |room: &String| order.iter().position(|r| r == room);
    for (room, uses) in present(&[Some("dev")]) {
        let not_above: Vec<_> = uses.iter().filter(|u| at(u) >= at(&room)).collect();
        assert!(not_above.is_empty(), "tests of {room} use {not_above:?}, which stand below it in ARCHITECTURE.md's table");
    }
}

#[test]
fn the_table_allows_no_more_than_is_used() {
    let present = present(&SHIPS);
    for (room, uses) in allowed() {
        let unused: Vec<_> = uses.difference(&present[&room]).collect();
        assert!(unused.is_empty(), "ARCHITECTURE.md lets {room} use {unused:?}, and it does not");
    }
}

#[test]
fn nothing_is_circular() {
    assert_eq!(on_a_cycle(&allowed()), None);
}

#[test]
fn a_cycle_would_be_found() {
    let edge = |a: &str, b: &str| (a.to_owned(), BTreeSet::from([b.to_owned()]));
    let none = ("c".to_owned(), BTreeSet::new());
    assert_eq!(on_a_cycle(&Edges::from([edge("a", "b"), edge("b", "c"), none.clone()])), None);
    assert!(on_a_cycle(&Edges::from([edge("a", "b"), edge("b", "a"), none])).is_some());
}
