//! A disk whose power can be cut and that can fail: disk/disk.c notes what was synced, and here a folder is put back to that.

use std::ffi::OsString;
use std::fs;
use std::os::unix::fs::{FileExt as _, MetadataExt as _};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::UNIX_EPOCH;

use tempfile::TempDir;

use crate::pen::Chance;

/// What a disk writes at once: the rest of what was written and not synced may be lost sector by sector.
const SECTOR: usize = 512;

/// What happens to a call, as disk.c has it: the errno of a full disk and of one that fails, and the end of the process.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Happens {
    Nothing,
    Full,
    Fails,
    Killed,
}

/// How a power cut leaves what was not synced.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cut {
    /// Whether names given or taken since are there all the same.
    pub(crate) are_names_kept: bool,
    /// In how many of 8 sectors the new bytes are there.
    pub(crate) eighths: usize,
}

/// A folder on such a disk.
pub(crate) struct Disk {
    room: TempDir,
    library: PathBuf,
}

impl Disk {
    pub(crate) fn new() -> Self {
        // Nothing has to last: in memory where the system has a place for that.
        let room = tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap();
        let library = room.path().join("disk.so");
        let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/store/disk/disk.c");
        let compiler = std::env::var_os("CC").unwrap_or_else(|| OsString::from("cc"));
        let built =
            Command::new(compiler).args(["-O1", "-shared", "-fPIC", "-o"]).args([&library, &source]).arg("-lpthread").status().unwrap();
        assert!(built.success(), "the disk for tests was not compiled");
        let disk = Self { room, library };
        fs::create_dir(disk.root()).unwrap();
        disk.set(Happens::Nothing, 0, 0);
        disk.settle();
        disk
    }

    /// The folder.
    pub(crate) fn root(&self) -> PathBuf {
        self.room.path().join("disk")
    }

    pub(crate) fn synced(&self) -> PathBuf {
        self.room.path().join("synced")
    }

    fn control(&self) -> PathBuf {
        self.room.path().join("control")
    }

    /// Has a process use it.
    pub(crate) fn under<'c>(&self, command: &'c mut Command) -> &'c mut Command {
        command
            .env("LD_PRELOAD", &self.library)
            .env("DISK_ROOT", self.root())
            .env("DISK_SYNCED", self.synced())
            .env("DISK_CONTROL", self.control())
    }

    /// Has something happen to the `call`th call from now, and to so many from there on; -1: to all.
    pub(crate) fn set(&self, happens: Happens, call: i32, calls: i32) {
        set(&self.control(), happens, call, calls);
    }

    /// All that is there is on the disk.
    pub(crate) fn settle(&self) {
        let _ = fs::remove_dir_all(self.synced());
        fs::create_dir(self.synced()).unwrap();
        settle(&self.root(), &self.synced());
    }

    /// The power goes, and comes back.
    pub(crate) fn cut(&self, cut: Cut, chance: &mut Chance) {
        let after = self.room.path().join("after");
        put_back(&self.root(), &self.synced(), &after, cut, chance);
        fs::remove_dir_all(self.root()).unwrap();
        fs::rename(after, self.root()).unwrap();
        self.settle();
    }
}

/// Sets what happens, by the file of it: disk.c says what is in it.
pub(crate) fn set(control: &Path, happens: Happens, call: i32, calls: i32) {
    let what: i32 = match happens {
        Happens::Nothing => 0,
        Happens::Fails => 5,
        Happens::Full => 28,
        Happens::Killed => -1,
    };
    let numbers = [call, what, calls, 0].map(i32::to_ne_bytes).concat();
    // Written in place: a process may look at it.
    fs::File::options().create(true).truncate(false).write(true).open(control).unwrap().write_all_at(&numbers, 0).unwrap();
}

/// To how many calls it happened.
pub(crate) fn happened(control: &Path) -> i32 {
    let bytes = fs::read(control).unwrap();
    i32::from_ne_bytes(bytes[12..16].try_into().unwrap())
}

/// The key by which disk.c knows a file or folder.
fn key(of: &fs::Metadata) -> String {
    let made = of.created().map_or_else(|_| std::time::Duration::ZERO, |made| made.duration_since(UNIX_EPOCH).unwrap());
    format!("{}-{}-{}", of.ino(), made.as_secs(), made.subsec_nanos())
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    all.sort();
    all
}

fn settle(folder: &Path, synced: &Path) {
    let mut names = String::new();
    for path in entries(folder) {
        let of = path.metadata().unwrap();
        let kind = if of.is_dir() { 'd' } else { 'f' };
        names += &format!("{} {kind} {}\n", key(&of), path.file_name().unwrap().to_str().unwrap());
        if of.is_dir() {
            settle(&path, synced);
        } else {
            fs::copy(&path, synced.join(key(&of) + ".bytes")).unwrap();
        }
    }
    fs::write(synced.join(key(&folder.metadata().unwrap()) + ".names"), names).unwrap();
}

/// Every file below a folder by its key.
fn by_key(folder: &Path, found: &mut std::collections::BTreeMap<String, PathBuf>) {
    for path in entries(folder) {
        let of = path.metadata().unwrap();
        if of.is_dir() {
            by_key(&path, found);
        }
        found.insert(key(&of), path);
    }
}

/// Makes of a folder, and of what of it was synced, what is there when the power comes back.
pub(crate) fn put_back(folder: &Path, synced: &Path, after: &Path, cut: Cut, chance: &mut Chance) {
    let mut now = std::collections::BTreeMap::new();
    by_key(folder, &mut now);
    let back = Back { now, synced, cut };
    back.folder(&key(&folder.metadata().unwrap()), Some(folder), after, chance);
}

struct Back<'b> {
    now: std::collections::BTreeMap<String, PathBuf>,
    synced: &'b Path,
    cut: Cut,
}

impl Back<'_> {
    fn folder(&self, own: &str, now: Option<&Path>, to: &Path, chance: &mut Chance) {
        fs::create_dir(to).unwrap();
        let names: Vec<(String, bool, String)> = match now {
            Some(now) if self.cut.are_names_kept => entries(now)
                .into_iter()
                .map(|path| {
                    let of = path.metadata().unwrap();
                    (key(&of), of.is_dir(), path.file_name().unwrap().to_str().unwrap().to_owned())
                })
                .collect(),
            _ => {
                // A folder that was never synced has no names.
                let synced = fs::read_to_string(self.synced.join(format!("{own}.names"))).unwrap_or_default();
                synced
                    .lines()
                    .map(|line| {
                        let mut parts = line.splitn(3, ' ');
                        let mut next = || parts.next().unwrap().to_owned();
                        let (key, kind) = (next(), next());
                        (key, kind == "d", next())
                    })
                    .collect()
            }
        };
        for (key, is_folder, name) in names {
            let now = self.now.get(&key).map(PathBuf::as_path);
            if is_folder {
                self.folder(&key, now, &to.join(name), chance);
            } else if !name.ends_with("-shm") {
                // Never anything but memory that processes share.
                fs::write(to.join(name), self.bytes(&key, now, chance)).unwrap();
            }
        }
    }

    fn bytes(&self, key: &str, now: Option<&Path>, chance: &mut Chance) -> Vec<u8> {
        let mut kept = fs::read(self.synced.join(format!("{key}.bytes"))).unwrap_or_default();
        let Some(now) = now else { return kept };
        // A sync that failed forgets: what is dirty no more was synced, or is lost.
        let dirty = fs::read(self.synced.join(format!("{key}.dirty"))).unwrap_or_default();
        let now = fs::read(now).unwrap();
        for (page, _) in dirty.iter().enumerate().filter(|(_, is_dirty)| **is_dirty != 0) {
            for sector in page * 8..(page + 1) * 8 {
                let from = sector * SECTOR;
                let to = (from + SECTOR).min(now.len());
                if from < to && chance.below(8) < self.cut.eighths {
                    if kept.len() < to {
                        kept.resize(to, 0);
                    }
                    kept[from..to].copy_from_slice(&now[from..to]);
                }
            }
        }
        kept
    }
}
