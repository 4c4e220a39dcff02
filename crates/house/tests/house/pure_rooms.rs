//! The pure rooms are kept pure by the lints of their clippy.toml.

use std::path::Path;

const PURE: [&str; 12] = ["units", "numerics", "raster", "film", "polish", "look", "plan", "rehearsal", "job", "body", "draw", "access"];

fn read(from_root: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(from_root);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{from_root}: {e}"))
}

#[test]
fn every_pure_room_bans_the_same_calls() {
    let first = read(&format!("crates/{}/clippy.toml", PURE[0]));
    for room in PURE {
        assert!(read(&format!("crates/{room}/clippy.toml")) == first, "crates/{room}/clippy.toml differs from that of {}", PURE[0]);
    }
}

#[test]
fn the_pure_rooms_keep_what_the_root_says_of_tests() {
    let of_room = read("crates/units/clippy.toml");
    for line in read("clippy.toml").lines().filter(|l| l.starts_with("allow-")) {
        assert!(of_room.contains(line), "crates/units/clippy.toml lacks `{line}` of the root's: the nearest file wins whole");
    }
}

#[test]
fn architecture_names_the_same_pure_rooms() {
    let page = read("ARCHITECTURE.md");
    let paragraph = page.split("\n\n").find(|p| p.starts_with("The pure rooms (")).unwrap();
    let named: Vec<&str> = paragraph.split_once(')').unwrap().0.split('`').skip(1).step_by(2).collect();
    assert_eq!(named, PURE);
}

#[test]
fn no_pure_room_ships_with_a_file_format_or_a_terminal() {
    for room in PURE {
        let manifest = read(&format!("crates/{room}/Cargo.toml"));
        let ships = manifest.split("[dev-dependencies]").next().unwrap_or_default();
        for storage_or_screen in ["csv", "toml.", "serde_json", "clap", "tempfile"] {
            assert!(
                !ships.contains(&format!("\n{storage_or_screen}")),
                "crates/{room} ships with {storage_or_screen}, which is for rooms further down"
            );
        }
    }
}
