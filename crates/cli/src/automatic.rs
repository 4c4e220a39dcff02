//! A backup a day while the app runs, and how many of them are kept.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::Builder;
use std::time::Duration;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use lastmicron_store::{ENCRYPTED, LastBackup, Sqlite, Store as _, StoreError};
use lastmicron_web::{Backups, backup_told_in_browser};

use crate::backups;
use crate::trouble::Trouble;

/// How the names begin of those that this makes, and that it may take away again.
const KIND: &str = "daily";
/// How old the last may be before another is made.
const EVERY_S: i64 = 24 * 3600;
/// How often that is looked at. Judgement: a machine that was asleep is soon backed up.
const LOOKED_AT_EVERY: Duration = Duration::from_secs(600);
/// How many are kept: the last of each of so many days, and of so many weeks. Judgement: a mistake is seen within a week mostly, and within a month nearly always; photographs cost their room once.
const DAYS: usize = 7;
const WEEKS: usize = 4;

/// What makes the backups.
#[derive(Debug)]
pub(crate) struct Automatic {
    records: PathBuf,
    trouble: Arc<Mutex<Option<String>>>,
}

impl Automatic {
    /// Begins: looks at all of the records, and makes a backup where the last is a day old. It ends with the program, and what it has begun then is no backup.
    pub(crate) fn start(store: Arc<Sqlite>, records: PathBuf, backups: PathBuf) -> io::Result<Self> {
        let trouble = Arc::<Mutex<Option<String>>>::default();
        let (told, folder) = (Arc::clone(&trouble), records.clone());
        Builder::new().name("backups".to_owned()).spawn(move || {
            let (mut looked, mut trouble) = (None, Trouble::of("no backup was made"));
            let mut found = look(&store, &mut looked);
            loop {
                found = found.and_then(|()| round(&store, &folder, &backups, &mut looked));
                trouble.tell(found.as_ref().err());
                *told.lock().unwrap_or_else(PoisonError::into_inner) = found.err().as_ref().map(backup_told_in_browser);
                std::thread::sleep(LOOKED_AT_EVERY);
                found = Ok(());
            }
        })?;
        Ok(Self { records, trouble })
    }

    /// How it stands.
    pub(crate) fn told(&self) -> Backups {
        Backups { last: LastBackup::read(&self.records), trouble: self.trouble.lock().unwrap_or_else(PoisonError::into_inner).clone() }
    }
}

/// Looks at all of the records, and notes when.
fn look(store: &Sqlite, looked: &mut Option<Timestamp>) -> Result<(), StoreError> {
    store.verify()?;
    *looked = Some(Timestamp::now());
    Ok(())
}

/// Whether backups can be made in a folder now: their usual place is made, another has to be there.
pub(crate) fn is_there(backups: &Path, records: &Path) -> bool {
    backups.is_dir() || backups == backups::usual(records)
}

/// Makes a backup where one is due, and takes away what is not kept.
fn round(store: &Sqlite, records: &Path, backups: &Path, looked: &mut Option<Timestamp>) -> Result<(), StoreError> {
    let now = Timestamp::now();
    let out = if is_there(backups, records) { Ok(()) } else { Err(StoreError::NoFolder(backups.to_owned())) };
    let made: Vec<Timestamp> = dailies(backups).into_iter().map(|(made, _)| made).collect();
    if store.jobs()?.is_empty() {
        return out;
    }
    if !is_due(now, made.iter().max().copied()) {
        return Ok(());
    }
    // A record that is damaged, or has no room, is not what a backup is made of.
    store.room()?;
    // While their folder is out, a backup is always due: the look is made once a day all the same.
    if out.is_ok() || is_due(now, *looked) {
        look(store, looked)?;
    }
    store.room()?;
    out?;
    if backups != backups::usual(records) {
        backups::note_whose(backups, records)?;
    }
    take_away(&unfinished(backups));
    take_away(&left_over(&Sqlite::staging(records)));
    let (made, target) = backups::named(backups, KIND).map_err(|failure| StoreError::Database(failure.to_string()))?;
    backups::make(store, records, &target, made)?;
    let dailies = dailies(backups);
    let kept = kept(&dailies.iter().map(|(made, _)| *made).collect());
    take_away(&dailies.into_iter().filter(|(made, _)| !kept.contains(made)).map(|(_, path)| path).collect::<Vec<_>>());
    Ok(())
}

/// Whether another is to be made; also where the last is of a time to come, since a clock was wrong.
pub(crate) fn is_due(now: Timestamp, last: Option<Timestamp>) -> bool {
    last.is_none_or(|last| !(0..EVERY_S).contains(&(now.as_second() - last.as_second())))
}

/// The backups that were made by this, with when.
fn dailies(backups: &Path) -> Vec<(Timestamp, PathBuf)> {
    backups::all(backups).into_iter().filter_map(|path| Some((made(path.file_name()?.to_str()?)?, path))).collect()
}

/// When the backup of that name was made.
fn made(name: &str) -> Option<Timestamp> {
    // Nothing else between: what is somebody's own is not taken away.
    let time = name.strip_suffix(ENCRYPTED).unwrap_or(name).strip_prefix(KIND)?.strip_prefix('-')?;
    backups::time_in(time)
}

/// What was begun by this, in a program that ended meanwhile.
fn unfinished(backups: &Path) -> Vec<PathBuf> {
    let all = fs::read_dir(backups).into_iter().flatten().filter_map(Result::ok).map(|entry| entry.path());
    let is_one = |path: &PathBuf| {
        path.extension().is_some_and(|extension| extension == "partial") && path.file_stem().and_then(|name| made(name.to_str()?)).is_some()
    };
    all.filter(is_one).collect()
}

/// How old a plain copy has to be that was to be encrypted, to have been left by a program that ended. Judgement: a backup takes minutes.
const LEFT_OVER: Duration = Duration::from_secs(24 * 3600);

/// Plain copies that were to be encrypted, by whatever name, in programs that ended meanwhile.
fn left_over(staging: &Path) -> Vec<PathBuf> {
    let all = fs::read_dir(staging).into_iter().flatten().filter_map(Result::ok);
    let is_old = |entry: &fs::DirEntry| {
        let changed = entry.metadata().and_then(|found| found.modified());
        changed.is_ok_and(|changed| changed.elapsed().is_ok_and(|age| age > LEFT_OVER))
    };
    let ours = unfinished(staging);
    all.filter(|entry| is_old(entry) || ours.contains(&entry.path())).map(|entry| entry.path()).collect()
}

/// Which are kept: the last of each of the last [`DAYS`] days on which there are any, and of the last [`WEEKS`] weeks (ISO 8601), both in universal time.
fn kept(all: &BTreeSet<Timestamp>) -> BTreeSet<Timestamp> {
    let date = |time: &Timestamp| TimeZone::UTC.to_datetime(*time).date();
    let week = |time: &Timestamp| {
        let week = date(time).iso_week_date();
        (week.year(), week.week())
    };
    let mut kept = last_of_each(all, date, DAYS);
    kept.extend(last_of_each(all, week, WEEKS));
    kept
}

fn last_of_each<K: Ord>(all: &BTreeSet<Timestamp>, of: impl Fn(&Timestamp) -> K, most: usize) -> BTreeSet<Timestamp> {
    let mut seen = BTreeSet::new();
    all.iter().rev().filter(|time| seen.insert(of(time))).take(most).copied().collect()
}

fn take_away(paths: &[PathBuf]) {
    for path in paths {
        if !path.is_dir() {
            // A file goes whole.
            let _ = fs::remove_file(path);
            continue;
        }
        // Under another name first: half of a backup must not have one's name. What can't be taken away is tried again the next day.
        let partial = if path.extension().is_some() { path.clone() } else { path.with_extension("partial") };
        let _ = fs::rename(path, &partial).and_then(|()| fs::remove_dir_all(&partial));
    }
}

#[cfg(test)]
mod tests {
    use lastmicron_store::{BackupIdentity, BackupKey};

    use super::*;

    fn time(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    #[test]
    fn one_a_day_is_kept_for_a_week_and_one_a_week_for_a_month() {
        // Two a day for sixty days, the last on a Wednesday.
        let last = time("2024-05-01T18:00:00Z");
        let all: BTreeSet<Timestamp> = (0..120).map(|half| last - jiff::SignedDuration::from_hours(12 * half)).collect();
        let kept: Vec<String> = kept(&all).iter().map(ToString::to_string).collect();
        // [M] Mondays by a calendar: 2024-04-08, -15, -22, -29.
        let wanted = ["04-14", "04-21", "04-25", "04-26", "04-27", "04-28", "04-29", "04-30", "05-01"];
        assert_eq!(kept, wanted.map(|day| format!("2024-{day}T18:00:00Z")));
        assert_eq!(super::kept(&BTreeSet::new()), BTreeSet::new());
    }

    #[test]
    fn another_is_due_after_a_day_or_where_a_clock_was_wrong() {
        let now = time("2024-05-01T18:00:00Z");
        assert!(is_due(now, None));
        for (last, due) in [
            ("2024-05-01T17:59:59Z", false),
            ("2024-04-30T18:00:01Z", false),
            ("2024-04-30T18:00:00Z", true),
            ("2024-05-01T18:00:01Z", true),
            ("1970-01-01T00:00:00Z", true),
        ] {
            assert_eq!(is_due(now, Some(time(last))), due, "{last}");
        }
    }

    #[test]
    fn only_what_was_made_here_is_taken_for_it() {
        for name in ["daily-2024-05-01T18-00-00Z", "daily-2024-05-01T18-00-00Z.tar.age"] {
            assert_eq!(made(name), Some(time("2024-05-01T18:00:00Z")));
        }
        for other in [
            "by-hand-2024-05-01T18-00-00Z",
            "daily",
            "daily-",
            "daily-notes",
            "daily-mine-2024-05-01T18-00-00Z",
            "dailies-2024-05-01T18-00-00Z",
            "before-version-2-2024-05-01T18-00-00Z",
            "2024-05-01T18-00-00Z",
        ] {
            assert_eq!(made(other), None, "{other}");
        }
    }

    #[test]
    fn a_round_makes_one_where_it_is_due_and_takes_away_the_old_and_the_unfinished_and_nothing_else() {
        let room = tempfile::tempdir().unwrap();
        let (records, backups) = (room.path().join("records"), room.path().join("backups"));
        fs::create_dir(&backups).unwrap();
        let store = Sqlite::open(&records).unwrap();
        round(&store, &records, &backups, &mut None).unwrap();
        assert_eq!(fs::read_dir(&backups).unwrap().count(), 0, "an empty record was backed up");
        crate::demo::fill(&store, Timestamp::now()).unwrap();
        let old: Vec<String> = (1..=20).map(|day| format!("daily-2020-01-{day:02}T10-00-00Z")).collect();
        for name in
            old.iter().map(String::as_str).chain(["by-hand-2019-01-01T10-00-00Z", "daily-notes", "daily-2020-02-01T10-00-00Z.partial"])
        {
            fs::create_dir_all(backups.join(name)).unwrap();
        }
        round(&store, &records, &backups, &mut None).unwrap();
        let mut names: Vec<String> =
            fs::read_dir(&backups).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        let new = LastBackup::read(&records).unwrap().folder.file_name().unwrap().to_str().unwrap().to_owned();
        assert!(names.contains(&new) && made(&new).is_some() && !old.contains(&new), "{new}");
        assert!(names.contains(&"by-hand-2019-01-01T10-00-00Z".to_owned()) && names.contains(&"daily-notes".to_owned()));
        // Six days beside the new one's, and what the weeks need beside those.
        assert!(names.contains(&old[19]) && names.contains(&old[14]) && !names.contains(&old[0]), "{names:?}");
        assert!(!names.iter().any(|name| name.ends_with(".partial")), "{names:?}");
        let before = names.len();
        round(&store, &records, &backups, &mut None).unwrap();
        assert_eq!(fs::read_dir(&backups).unwrap().count(), before, "another was made within a day");
    }

    #[test]
    fn while_their_folder_is_out_nothing_is_made_in_its_place_and_once_it_is_back_a_backup_is() {
        let room = tempfile::tempdir().unwrap();
        let (records, stick) = (room.path().join("records"), room.path().join("stick"));
        let (store, out) = (Sqlite::open(&records).unwrap(), Err(StoreError::NoFolder(stick.clone())));
        let mut looked = None;
        assert_eq!(round(&store, &records, &stick, &mut looked), out, "told before the first job, too");
        crate::demo::fill(&store, Timestamp::now()).unwrap();
        assert_eq!(round(&store, &records, &stick, &mut looked), out);
        let once = looked.unwrap();
        assert_eq!(round(&store, &records, &stick, &mut looked), out);
        assert_eq!((looked, stick.exists()), (Some(once), false), "all of the records are looked at once a day, not at each round");
        fs::create_dir(&stick).unwrap();
        round(&store, &records, &stick, &mut looked).unwrap();
        assert_eq!((dailies(&stick).len(), looked > Some(once)), (1, true));
        // Others that are there are not to make theirs in it; of records that are gone it is free.
        assert_eq!(backups::others(&stick, &records), None);
        assert_eq!(backups::others(&stick, &room.path().join("others")), Some(fs::canonicalize(&records).unwrap()));
        fs::write(stick.join(backups::OF), "/nowhere\n").unwrap();
        assert_eq!(backups::others(&stick, &room.path().join("others")), None);
        // The usual place is made.
        round(&store, &records, &backups::usual(&records), &mut looked).unwrap();
        assert_eq!(dailies(&backups::usual(&records)).len(), 1);
    }

    #[test]
    fn backups_are_plain_until_the_key_was_checked_and_encrypted_ones_count_and_go_like_plain_ones() {
        let room = tempfile::tempdir().unwrap();
        let (records, backups) = (room.path().join("records"), room.path().join("backups"));
        fs::create_dir(&backups).unwrap();
        let store = Sqlite::open(&records).unwrap();
        crate::demo::fill(&store, Timestamp::now()).unwrap();
        let made = crate::serve::now().unwrap();
        let key = BackupKey { recipient: BackupIdentity::generate().recipient(), made: made.clone(), checked: None };
        key.note(&records).unwrap();
        round(&store, &records, &backups, &mut None).unwrap();
        assert!(LastBackup::read(&records).unwrap().folder.is_dir());
        fs::remove_dir_all(&backups).and_then(|()| fs::create_dir(&backups)).unwrap();
        BackupKey { checked: Some(made), ..key }.note(&records).unwrap();
        let old: Vec<String> = (1..=20).map(|day| format!("daily-2020-01-{day:02}T10-00-00Z.tar.age")).collect();
        fs::create_dir_all(&backups).unwrap();
        for name in old.iter().map(String::as_str).chain(["daily-2020-02-01T10-00-00Z.tar.age.partial"]) {
            fs::write(backups.join(name), "old").unwrap();
        }
        let left = Sqlite::staging(&records).join("daily-2020-02-01T10-00-00Z.tar.age.partial");
        fs::create_dir_all(&left).unwrap();
        round(&store, &records, &backups, &mut None).unwrap();
        let last = LastBackup::read(&records).unwrap();
        assert!(lastmicron_store::is_encrypted(&last.folder) && last.sha256.is_some());
        assert!(backups.join(&old[19]).exists() && !backups.join(&old[0]).exists() && !left.exists());
        let names: Vec<String> = fs::read_dir(&backups).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        assert!(names.iter().all(|name| made_of(name) || name == backups::OF), "{names:?}");
        round(&store, &records, &backups, &mut None).unwrap();
        assert_eq!(fs::read_dir(&backups).unwrap().count(), names.len(), "another was made within a day");
    }

    fn made_of(name: &str) -> bool {
        name.ends_with(ENCRYPTED) && made(name).is_some()
    }
}
