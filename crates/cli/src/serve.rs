//! `lastmicron serve`: the app in a browser.

use std::io::{self, Write};
use std::net::{Ipv4Addr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use etcetera::BaseStrategy as _;
use jiff::Timestamp;
use lastmicron_job::event::When;
use lastmicron_store::{Report, Sqlite, Store as _, StoreError};
use lastmicron_web::{Doors, Shop, serve};

use crate::arguments::ServeArguments;
use crate::automatic::{Automatic, is_there};
use crate::backups;
use crate::failure::Failure;
use crate::lan::{OnLan, Taken};
use crate::papers::Typeset;
use crate::place;
use crate::signing::Signing;

/// The port that the app is found at where nobody says otherwise.
pub(crate) const USUAL_PORT: u16 = 8086;

/// Entries of the newest jobs that are looked at before the app answers. Judgement: a second's work; all of them are looked at once it does.
const LOOKED_AT_FIRST: u64 = 20_000;

pub(crate) fn run(arguments: &ServeArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let folder = folder(arguments.data.as_deref())?;
    let backups = place_of_backups(arguments.backups.as_deref(), &folder)?;
    let on_lan =
        OnLan { data: arguments.data.as_deref(), backups: arguments.backups.as_deref(), port: arguments.port, name: None, addresses: &[] };
    // Where nobody can be answered, nothing is made.
    let taken = match (arguments.lan, arguments.plain_http) {
        (false, _) => None,
        (true, false) => Some(Taken::by_tls(&folder, on_lan)?),
        (true, true) => Some(Taken::in_the_open(on_lan)?),
    };
    let loopback = socket(arguments.port)?;
    let store = Arc::new(store(&folder)?);
    // The store's lock is held by now: nothing is changed under an app that runs.
    let (lan, said) = taken.map(|taken| taken.into_lan(on_lan)).transpose()?.unzip();
    let said = said.unwrap_or_default();
    tell_of_damage(&store.verify_newest(LOOKED_AT_FIRST));
    let automatic = Automatic::start(Arc::clone(&store), folder.clone(), backups.clone())
        .map_err(|error| Failure::failed(format!("no thread for backups: {error}")))?;
    let signing =
        Signing::start(Arc::clone(&store), &folder).map_err(|error| Failure::failed(format!("no thread for signing: {error}")))?;
    let words = format!("{said}Records are kept in {}, {} Ctrl+C ends it.", folder.display(), told_of(&backups, &folder));
    let shop = shop(store)?.with_backups(move || automatic.told()).with_signs(Arc::new(signing));
    on(shop, Doors { loopback, lan }, &words, out)
}

/// Damage is heeded by the store: the app then only shows what there is, and says so on every page.
fn tell_of_damage(looked: &Result<Report, StoreError>) {
    let what = match looked {
        Ok(report) => report.damage.first().map(ToString::to_string),
        Err(error) => Some(error.to_string()),
    };
    if let Some(what) = what {
        // There is nowhere to say that stderr is gone.
        let _ = writeln!(
            io::stderr(),
            "lastmicron: the records are not as they were written ({what}): the app shows what there is, and takes nothing. lastmicron doctor says more"
        );
    }
}

/// The folder that a backup a day is made into: that which was given, or the usual one.
fn place_of_backups(given: Option<&Path>, records: &Path) -> Result<PathBuf, Failure> {
    let usual = backups::usual(records);
    let Some(given) = given.filter(|given| !place::is_same(given, &usual)) else { return Ok(usual) };
    if given.exists() && !given.is_dir() {
        return Err(Failure::bad_input(format!("{}: this is a file: backups are made in a folder", given.display())));
    }
    backups::refuse_what_they_spoil(given, records)?;
    match backups::others(given, records) {
        Some(others) => Err(Failure::bad_input(format!(
            "{}: backups of the records in {} are made here, and which of both they are is told by no name: give these a folder of their own",
            given.display(),
            others.display()
        ))),
        None => Ok(given.to_owned()),
    }
}

/// What there is to say of where backups are made.
fn told_of(backups: &Path, records: &Path) -> String {
    let at = backups.display();
    if !is_there(backups, records) {
        return format!("and no backup is made: {at} is not there. A backup a day is made once it is.");
    }
    let is_on_one = backups == backups::usual(records) || place::on_one_disk(backups, records);
    let lost_with_it = if is_on_one { " Both are on one disk: --backups DIR names a folder on another." } else { "" };
    format!("a backup a day in {at}.{lost_with_it}")
}

/// What the pages are made from, over a store.
pub(crate) fn shop(store: Arc<Sqlite>) -> Result<Shop, Failure> {
    // A clock that can't be told is one that stands: what is received is then in order all the same.
    let start: When = "1970-01-01T00:00:00Z".parse().map_err(|error| Failure::failed(format!("{error}")))?;
    let shop = Shop::new(Arc::<Sqlite>::clone(&store), move || now().unwrap_or_else(|| start.clone()));
    Ok(shop.with_papers(Arc::new(Typeset)).with_people(store, random))
}

/// Answers at its doors, until the program is told to end.
pub(crate) fn on(shop: Shop, doors: Doors, words: &str, out: &mut dyn Write) -> Result<(), Failure> {
    let at = format!("http://localhost:{}/", doors.loopback.local_addr()?.port());
    let beyond = doors.lan.is_some();
    let code = shop.first_code().map_err(|error| Failure::of_store(&error))?;
    let who =
        if beyond { "and until then it shows nothing to anybody" } else { "and until then whoever is at this machine may do everything" };
    let claim =
        code.map(|code| format!("Nobody has claimed it, {who}. {code} makes its owner, at {at}enter, once, within half an hour.\n"));
    // Whoever started it need not listen: the app is there for browsers.
    let _ = write!(out, "{at}\n{words}\n{}", claim.unwrap_or_default()).and_then(|()| out.flush());
    serve(shop, doors).map_err(|error| Failure::failed(format!("the app ended: {error}")))
}

/// The records in a folder, which is made where there is none. Those of an earlier version are brought up, after a backup.
pub(crate) fn store(folder: &Path) -> Result<Sqlite, Failure> {
    let opened = match Sqlite::open(folder) {
        Err(StoreError::Older { known, .. }) => {
            let (made, target) = backups::named(&backups::usual(folder), &format!("before-version-{known}"))?;
            Sqlite::bring_up(folder, &target, made).and_then(|_| Sqlite::open(folder))
        }
        opened => opened,
    };
    opened.map_err(|error| Failure::of_store(&error))
}

/// The time, RFC 3339 in UTC.
pub(crate) fn now() -> Option<When> {
    Timestamp::now().to_string().parse().ok()
}

/// The same, where nothing can be done without it.
pub(crate) fn time() -> Result<When, Failure> {
    now().ok_or_else(|| Failure::failed("the system's time is beyond what a record holds"))
}

/// Bytes that nobody guesses; none where the system has none.
pub(crate) fn random() -> Option<[u8; 32]> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).ok().map(|()| bytes)
}

/// A socket that only this machine reaches.
fn socket(port: u16) -> Result<TcpListener, Failure> {
    TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(|error| {
        Failure::failed(format!("port {port} of this machine can't be used: {error}. Is the app running already? Else give another --port"))
    })
}

/// The same port, or any that is free.
pub(crate) fn free_or_any(port: u16) -> Result<TcpListener, Failure> {
    socket(port).or_else(|_| socket(0))
}

/// The folder that was given, or the usual one: there, or to be made.
pub(crate) fn folder(given: Option<&Path>) -> Result<PathBuf, Failure> {
    let folder = given.map_or_else(usual_folder, |given| Ok(given.to_owned()))?;
    match folder.ancestors().find(|above| above.exists()) {
        Some(file) if !file.is_dir() => {
            Err(Failure::bad_input(format!("{}: this is a file: records are kept in a folder", file.display())))
        }
        _ => Ok(folder),
    }
}

fn usual_folder() -> Result<PathBuf, Failure> {
    let places = etcetera::choose_base_strategy()
        .map_err(|_| Failure::bad_input("this system names no place for data of programs: give --data DIR"))?;
    Ok(places.data_dir().join("lastmicron"))
}
