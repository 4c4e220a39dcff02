//! What a phone on the local network sees of the app.

use std::io::{self, Read as _, Write as _};
use std::net::{IpAddr, SocketAddr, TcpStream};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, SystemTime};

use lastmicron_certificate::{Authority, CertificateError, Kept, LanAddress, Leaf};
use rustls::crypto::ring::default_provider;
use rustls::pki_types::ServerName;
use rustls::{ClientConfig, ClientConnection, RootCertStore, Stream};

use crate::lan::{day, is_here};

/// How long an answer is waited for. Judgement: on the machine itself an answer takes milliseconds.
const PATIENCE: Duration = Duration::from_secs(3);

/// Most bytes of an answer that are read: its first line tells all that is asked.
const MOST_BYTES: u64 = 64;

/// What a phone that trusts the authority would see.
pub(crate) enum Seen {
    /// Nothing was set up: the app answers this machine alone, or in the open.
    NotSetUp,
    /// Its browser would warn, or there is no way here, and why.
    Refused(String),
    /// It would trust another authority, and why there is none that it trusts.
    NoAuthority(String),
    /// Nobody answers there: the app isn't running, or not with `--lan`.
    Nobody { at: String, until: String },
    /// The app.
    App { at: String, until: String },
}

/// Looks from this machine, by its address on the network and with nothing trusted but the workshop's authority.
pub(crate) fn seen(records: &Path, port: u16) -> Seen {
    let (authority, leaf) = match Kept::within(records).found() {
        Ok(found) => found,
        Err(CertificateError::NotSetUp(_)) => return Seen::NotSetUp,
        Err(error @ (CertificateError::NoAuthority(_) | CertificateError::SpoiltAuthority { .. })) => {
            return Seen::NoAuthority(error.to_string());
        }
        Err(error) => return Seen::Refused(error.to_string()),
    };
    if let Err(error) = leaf.verify(&authority, SystemTime::now()) {
        return Seen::Refused(format!("the certificate does not hold: {error}"));
    }
    let Some(address) = leaf.names().addresses.iter().copied().find(|address| is_here(*address)) else {
        return Seen::Refused(format!("the certificate is for {}, and this machine has none of these addresses now", leaf.names()));
    };
    look(&authority, &leaf, address, port)
}

fn look(authority: &Authority, leaf: &Leaf, address: LanAddress, port: u16) -> Seen {
    let socket = SocketAddr::new(IpAddr::from(address), port);
    let (at, until) = (format!("https://{socket}/"), day(leaf.ends()));
    let Ok(line) = TcpStream::connect_timeout(&socket, PATIENCE) else { return Seen::Nobody { at, until } };
    match asked(authority, line, address) {
        Ok(answer) if answer.starts_with("HTTP/1.1 200") => Seen::App { at, until },
        Ok(answer) => Seen::Refused(format!("{at} answers '{}'", answer.lines().next().unwrap_or_default())),
        Err(error) => Seen::Refused(format!("{at} can't be read by TLS: {error}")),
    }
}

fn asked(authority: &Authority, mut line: TcpStream, address: LanAddress) -> io::Result<String> {
    line.set_read_timeout(Some(PATIENCE))?;
    line.set_write_timeout(Some(PATIENCE))?;
    let mut trusted = RootCertStore::empty();
    trusted.add(authority.certificate().clone()).map_err(io::Error::other)?;
    let builder = ClientConfig::builder_with_provider(Arc::new(default_provider()));
    let config =
        builder.with_safe_default_protocol_versions().map_err(io::Error::other)?.with_root_certificates(trusted).with_no_client_auth();
    let name = ServerName::IpAddress(IpAddr::from(address).into());
    let mut client = ClientConnection::new(Arc::new(config), name).map_err(io::Error::other)?;
    let mut stream = Stream::new(&mut client, &mut line);
    stream.write_all(
        format!("GET /healthz HTTP/1.1\r\nhost: {}\r\nconnection: close\r\n\r\n", SocketAddr::new(address.into(), 443)).as_bytes(),
    )?;
    let mut answer = Vec::new();
    stream.take(MOST_BYTES).read_to_end(&mut answer)?;
    Ok(String::from_utf8_lossy(&answer).into_owned())
}
