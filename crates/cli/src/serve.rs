//! `lastmicron serve`: the app in a browser.

use std::io::Write;
use std::net::{Ipv4Addr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use etcetera::BaseStrategy as _;
use jiff::Timestamp;
use lastmicron_job::event::When;
use lastmicron_store::{Sqlite, StoreError};
use lastmicron_web::{Shop, serve};

use crate::arguments::ServeArguments;
use crate::failure::Failure;
use crate::papers::Typeset;

/// The port that the app is found at where nobody says otherwise.
pub(crate) const USUAL_PORT: u16 = 8086;

pub(crate) fn run(arguments: &ServeArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let folder = folder(arguments.data.as_deref())?;
    let store = store(&folder)?;
    let socket = socket(arguments.port)?;
    on(store, socket, &format!("Records are kept in {}. Ctrl+C ends it.", folder.display()), out)
}

/// Answers on a socket over a store, until the program is told to end.
pub(crate) fn on(store: Sqlite, socket: TcpListener, words: &str, out: &mut dyn Write) -> Result<(), Failure> {
    // A clock that can't be told is one that stands: what is received is then in order all the same.
    let start: When = "1970-01-01T00:00:00Z".parse().map_err(|error| Failure::failed(format!("{error}")))?;
    let shop = Shop::new(Arc::new(store), move || now().unwrap_or_else(|| start.clone())).with_papers(Arc::new(Typeset));
    // Whoever started it need not listen: the app is there for browsers.
    let _ = writeln!(out, "http://localhost:{}/\n{words}", socket.local_addr()?.port()).and_then(|()| out.flush());
    serve(shop, socket).map_err(|error| Failure::failed(format!("the app ended: {error}")))
}

/// The records in a folder, which is made where there is none.
pub(crate) fn store(folder: &Path) -> Result<Sqlite, Failure> {
    let at = |what: &dyn std::fmt::Display| format!("{}: {what}", folder.display());
    std::fs::create_dir_all(folder).map_err(|error| Failure::failed(at(&error)))?;
    Sqlite::open(folder).map_err(|error| match error {
        StoreError::NotARecord(_) | StoreError::InUse(_) | StoreError::Newer { .. } => Failure::bad_input(error.to_string()),
        _ => Failure::failed(at(&error)),
    })
}

/// The time, RFC 3339 in UTC.
pub(crate) fn now() -> Option<When> {
    Timestamp::now().to_string().parse().ok()
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

/// The folder that was given, or the usual one.
pub(crate) fn folder(given: Option<&Path>) -> Result<PathBuf, Failure> {
    given.map_or_else(usual_folder, |given| Ok(given.to_owned()))
}

fn usual_folder() -> Result<PathBuf, Failure> {
    let places = etcetera::choose_base_strategy()
        .map_err(|_| Failure::bad_input("this system names no place for data of programs: give --data DIR"))?;
    Ok(places.data_dir().join("lastmicron"))
}
