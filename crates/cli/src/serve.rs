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

pub(crate) fn run(arguments: &ServeArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let folder = arguments.data.clone().map_or_else(usual_folder, Ok)?;
    let shop = shop(&folder)?;
    let socket = socket(arguments.port)?;
    writeln!(out, "lastmicron: {}\nRecords are kept in {}. Ctrl+C ends it.", address(&socket)?, folder.display())?;
    out.flush()?;
    serve(shop, socket).map_err(|error| Failure::failed(format!("the app ended: {error}")))
}

/// The app over the records in a folder, which is made where there is none.
pub(crate) fn shop(folder: &Path) -> Result<Shop, Failure> {
    let at = |what: &dyn std::fmt::Display| format!("{}: {what}", folder.display());
    std::fs::create_dir_all(folder).map_err(|error| Failure::failed(at(&error)))?;
    let store = Sqlite::open(folder).map_err(|error| match error {
        StoreError::NotARecord(_) | StoreError::InUse(_) | StoreError::Newer { .. } => Failure::bad_input(at(&error)),
        _ => Failure::failed(at(&error)),
    })?;
    // A clock that can't be told is one that stands: what is received is then in order all the same.
    let start: When = "1970-01-01T00:00:00Z".parse().map_err(|error| Failure::failed(format!("{error}")))?;
    Ok(Shop::new(Arc::new(store), move || now().unwrap_or_else(|| start.clone())))
}

/// The time, RFC 3339 in UTC.
fn now() -> Option<When> {
    Timestamp::now().to_string().parse().ok()
}

/// A socket that only this machine reaches.
pub(crate) fn socket(port: u16) -> Result<TcpListener, Failure> {
    TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(|error| {
        Failure::failed(format!("port {port} of this machine can't be used: {error}. Is the app running already? Else give another --port"))
    })
}

pub(crate) fn address(socket: &TcpListener) -> Result<String, Failure> {
    Ok(format!("http://{}/", socket.local_addr()?))
}

fn usual_folder() -> Result<PathBuf, Failure> {
    let places = etcetera::choose_base_strategy()
        .map_err(|_| Failure::bad_input("this system names no place for data of programs: give --data DIR"))?;
    Ok(places.data_dir().join("lastmicron"))
}
