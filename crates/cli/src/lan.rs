//! The app on the local network: which addresses this machine has there, and on which sockets it answers.

use std::fmt::Write as _;
use std::io::{self, ErrorKind, Write as _};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener, UdpSocket};
use std::path::Path;
use std::thread;
use std::time::{Duration, SystemTime};

use jiff::Timestamp;
use lastmicron_certificate::{CertificateError, HostName, Kept, LanAddress, Presented, SetUp};
use lastmicron_web::{Lan, Spoken, Trust};
use qrcode::render::unicode::Dense1x2;
use qrcode::{EcLevel, QrCode};

use crate::failure::Failure;
use crate::serve::USUAL_PORT;
use crate::wording::{quoted, typed};

/// Addresses towards which this machine would send: those of documentation, which stand for the way out (RFC 5737, RFC 3849), and one of each local block.
const TOWARDS: [IpAddr; 6] = [
    IpAddr::V4(Ipv4Addr::new(192, 0, 2, 1)),
    IpAddr::V4(Ipv4Addr::new(192, 168, 0, 1)),
    IpAddr::V4(Ipv4Addr::new(10, 0, 0, 1)),
    IpAddr::V4(Ipv4Addr::new(172, 16, 0, 1)),
    IpAddr::V6(Ipv6Addr::new(0x2001, 0xdb8, 0, 0, 0, 0, 0, 1)),
    IpAddr::V6(Ipv6Addr::new(0xfd00, 0, 0, 0, 0, 0, 0, 1)),
];

/// Any port: nothing is sent to it.
const DISCARD: u16 = 9;

/// How often it is seen whether the certificate is due. Judgement: it has 30 days; an hour is nothing to wait after another `setup`.
const LOOKED_AT_EVERY: Duration = Duration::from_secs(3600);

/// How long before its end an authority is mentioned. Judgement: a year, in which each phone is at hand once.
const MENTIONED_BEFORE: Duration = Duration::from_secs(365 * 24 * 3600);

/// The app on the local network, as somebody starts it or sets it up: what a command that is named to them has to say again.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OnLan<'a> {
    /// The folder that was given.
    pub(crate) data: Option<&'a Path>,
    /// The folder for backups, where one was given.
    pub(crate) backups: Option<&'a Path>,
    /// The app's port.
    pub(crate) port: u16,
    /// The machine's name, where one was given.
    pub(crate) name: Option<&'a HostName>,
    /// Its addresses, as far as they were given.
    pub(crate) addresses: &'a [LanAddress],
}

impl OnLan<'_> {
    /// The command that sets it up, as it is typed.
    pub(crate) fn setup(&self) -> String {
        self.setup_with(&self.addresses.iter().map(|address| format!(" --address {address}")).collect::<String>())
    }

    /// The same where an address is still to be given.
    pub(crate) fn setup_with_address(&self) -> String {
        self.setup_with(" --address ADDRESS")
    }

    fn setup_with(&self, addresses: &str) -> String {
        let name = self.name.map(|name| format!(" --name {name}")).unwrap_or_default();
        // What is set up holds for any port; that of phones' first page is told, and is not known where any that is free is taken.
        let port = if self.port == 0 { String::new() } else { self.with_port() };
        typed(&format!("setup{name}{addresses}{port}"), self.data)
    }

    /// The command that starts it, as it is typed.
    pub(crate) fn serve(&self) -> String {
        let backups = self.backups.map(|backups| format!(" --backups {}", quoted(backups))).unwrap_or_default();
        typed(&format!("serve --lan{}{backups}", self.with_port()), self.data)
    }

    fn with_port(&self) -> String {
        if self.port == USUAL_PORT { String::new() } else { format!(" --port {}", self.port) }
    }
}

/// What is said where there is no network, and what else can be done.
pub(crate) fn no_address(or: &str) -> Failure {
    Failure::bad_input(format!("no address of this machine on a local network was found: connect it to the network{or}"))
}

/// Addresses that this machine has on local networks, the one of its way out first. A socket that is connected without sending knows which it would send from.
pub(crate) fn addresses() -> Vec<LanAddress> {
    let from = |to: IpAddr| -> io::Result<IpAddr> {
        let any = if to.is_ipv4() { IpAddr::V4(Ipv4Addr::UNSPECIFIED) } else { IpAddr::V6(Ipv6Addr::UNSPECIFIED) };
        let socket = UdpSocket::bind((any, 0))?;
        socket.connect((to, DISCARD))?;
        Ok(socket.local_addr()?.ip())
    };
    let mut found: Vec<LanAddress> = Vec::new();
    for address in TOWARDS.into_iter().filter_map(|to| LanAddress::try_from(from(to).ok()?).ok()) {
        if !found.contains(&address) {
            found.push(address);
        }
    }
    found
}

/// Whether this machine has the address now.
pub(crate) fn is_here(address: LanAddress) -> bool {
    UdpSocket::bind((IpAddr::from(address), 0)).is_ok()
}

/// Where the page is that tells phones what to trust: the port after the app's.
pub(crate) const fn told_at(port: u16) -> u16 {
    // Port 0 is any that is free; the last, which has none after it, is refused before.
    if port == 0 { 0 } else { port.saturating_add(1) }
}

/// Sockets on the local network, which are taken before anything is written.
pub(crate) enum Taken {
    /// By TLS, with what was set up.
    ByTls {
        /// Where that is.
        kept: Kept,
        /// The app's.
        sockets: Vec<TcpListener>,
        /// Those of the page for phones that do not trust it yet.
        told_on: Vec<TcpListener>,
    },
    /// In the open.
    InTheOpen {
        /// The machine's addresses.
        found: Vec<LanAddress>,
        /// The app's.
        sockets: Vec<TcpListener>,
    },
}

impl Taken {
    /// Those of the certificate that was set up.
    pub(crate) fn by_tls(records: &Path, on_lan: OnLan<'_>) -> Result<Self, Failure> {
        if on_lan.port == u16::MAX {
            return Err(Failure::bad_input(format!(
                "--port {}: the page that tells phones what to trust is at the port after it, and there is none: give a lower one",
                on_lan.port
            )));
        }
        let kept = Kept::within(records);
        let (authority, leaf) = kept.found().map_err(|error| of_certificate(&error, on_lan))?;
        if authority.ends() <= SystemTime::now() {
            return Err(of_certificate(&CertificateError::Ended, on_lan));
        }
        let names = leaf.names();
        let here = sockets(&names.addresses, on_lan.port)?;
        if here.is_empty() {
            return Err(Failure::bad_input(format!(
                "the certificate is for {names}, and this machine has none of these addresses now{}: run `{}` again",
                others(&addresses()),
                on_lan.setup()
            )));
        }
        let on_here: Vec<LanAddress> = here.iter().filter_map(|socket| LanAddress::try_from(socket.local_addr().ok()?.ip()).ok()).collect();
        let told_on = sockets(&on_here, told_at(on_lan.port))?;
        Ok(Self::ByTls { kept, sockets: here, told_on })
    }

    /// Those of all addresses that this machine has.
    pub(crate) fn in_the_open(on_lan: OnLan<'_>) -> Result<Self, Failure> {
        let found = addresses();
        let sockets = sockets(&found, on_lan.port)?;
        if sockets.is_empty() { Err(no_address("")) } else { Ok(Self::InTheOpen { found, sockets }) }
    }

    /// The app on them, and what there is to say of it. Renews the certificate where it is time: the records are to be held by then, so that no other app shows it.
    pub(crate) fn into_lan(self, on_lan: OnLan<'_>) -> Result<(Lan, String), Failure> {
        match self {
            Self::ByTls { kept, sockets, told_on } => by_tls(kept, sockets, told_on, on_lan),
            Self::InTheOpen { found, sockets } => in_the_open(found, sockets, on_lan),
        }
    }
}

/// The app by TLS with what was set up, and what there is to say of it.
fn by_tls(kept: Kept, sockets: Vec<TcpListener>, told_on: Vec<TcpListener>, on_lan: OnLan<'_>) -> Result<(Lan, String), Failure> {
    let SetUp { authority, leaf, .. } = kept.current(SystemTime::now()).map_err(|error| of_certificate(&error, on_lan))?;
    let names = leaf.names();
    let mut app = pages("https", &sockets)?;
    if let Some(port) = sockets.first().and_then(|socket| Some(socket.local_addr().ok()?.port())) {
        app.push(format!("https://{}:{port}/", names.host));
    }
    let trust = Trust {
        certificate: authority.certificate().to_vec(),
        fingerprint: authority.fingerprint().to_string(),
        host: names.host.to_string(),
        app: app.clone(),
    };
    let mut said = format!("On the local network: {}\n", app.join(" "));
    if let Some(page) = pages("http", &told_on)?.first() {
        let _ = write!(said, "A phone that does not trust this machine yet begins at {page}\n\n{}\n", code(page)?);
    }
    let ends = authority.ends();
    if ends < SystemTime::now() + MENTIONED_BEFORE {
        let _ = writeln!(
            said,
            "The authority that phones trust ends on {}: before then, move {} away, run `{}`, and let each phone trust the new one.",
            day(ends),
            kept.folder().display(),
            OnLan { name: Some(authority.host()), ..on_lan }.setup()
        );
    }
    let hosts = std::iter::once(names.host.to_string()).chain(names.addresses.iter().map(|address| host(*address))).collect();
    let presented = Presented::new(&leaf).map_err(|error| of_certificate(&error, on_lan))?;
    let config = presented.config().map_err(|error| of_certificate(&error, on_lan))?;
    thread::spawn(move || keep_current(&kept, &presented));
    Ok((Lan { sockets, hosts, spoken: Spoken::Tls { config, trust, told_on } }, said))
}

/// The app in the open, and what there is to say of that.
fn in_the_open(found: Vec<LanAddress>, sockets: Vec<TcpListener>, on_lan: OnLan<'_>) -> Result<(Lan, String), Failure> {
    let pages = pages("http", &sockets)?;
    let code = pages.first().map(|first| code(first)).transpose()?.unwrap_or_default();
    let said = format!(
        "On the local network, in the open: {}\n\n{}\nOthers on the network can read what is sent, passwords included; on phones the app neither installs nor opens offline. To end that: `{}`, then `{}`.\n",
        pages.join(" "),
        code,
        on_lan.setup(),
        on_lan.serve()
    );
    Ok((Lan { sockets, hosts: found.into_iter().map(host).collect(), spoken: Spoken::Plain }, said))
}

/// Sockets on those of the addresses that this machine has.
fn sockets(addresses: &[LanAddress], port: u16) -> Result<Vec<TcpListener>, Failure> {
    let mut sockets = Vec::new();
    for address in addresses {
        match TcpListener::bind((IpAddr::from(*address), port)) {
            Ok(socket) => sockets.push(socket),
            Err(error) if error.kind() == ErrorKind::AddrNotAvailable => {}
            Err(error) => {
                return Err(Failure::failed(format!(
                    "port {port} of {address} can't be used: {error}. Is the app running already? Else give another --port"
                )));
            }
        }
    }
    Ok(sockets)
}

fn pages(scheme: &str, sockets: &[TcpListener]) -> Result<Vec<String>, Failure> {
    let page = |socket: &TcpListener| -> io::Result<String> { Ok(format!("{scheme}://{}/", socket.local_addr()?)) };
    Ok(sockets.iter().map(page).collect::<io::Result<_>>()?)
}

/// An address as a browser sends it.
fn host(address: LanAddress) -> String {
    SocketAddr::new(address.into(), 0).to_string().trim_end_matches(":0").to_owned()
}

fn others(addresses: &[LanAddress]) -> String {
    if addresses.is_empty() {
        return String::new();
    }
    let list: Vec<String> = addresses.iter().map(ToString::to_string).collect();
    format!(" (it has {})", list.join(", "))
}

/// An address as a code for a phone's camera: ISO/IEC 18004, of light on a dark terminal. Most cameras read it the other way round, too.
pub(crate) fn code(address: &str) -> Result<String, Failure> {
    let code = QrCode::with_error_correction_level(address, EcLevel::L).map_err(|error| Failure::failed(format!("{address}: {error}")))?;
    Ok(code.render::<Dense1x2>().dark_color(Dense1x2::Light).light_color(Dense1x2::Dark).build())
}

/// A day, as people write it.
pub(crate) fn day(time: SystemTime) -> String {
    Timestamp::try_from(time).map_or_else(|_| "an unknown day".to_owned(), |time| time.strftime("%-d %B %Y").to_string())
}

/// Renews the certificate while the app runs, and shows what another `setup` made.
fn keep_current(kept: &Kept, presented: &Presented) {
    loop {
        thread::sleep(LOOKED_AT_EVERY);
        if let Err(error) = kept.current(SystemTime::now()).and_then(|now| presented.show(&now.leaf)) {
            // Said each time: phones will be turned away when the one that is shown has ended.
            let _ = writeln!(io::stderr(), "lastmicron: the certificate could not be looked after: {error}");
        }
    }
}

/// What to do where the authority that phones trust is not to be had any more.
pub(crate) fn without_authority(on_lan: OnLan<'_>) -> String {
    format!(
        "Put back the file as it was, from a copy of the folder; or move the folder away and run `{}`, and each phone has to trust the new authority",
        on_lan.setup()
    )
}

/// Why there is no certificate, with what to do.
pub(crate) fn of_certificate(error: &CertificateError, on_lan: OnLan<'_>) -> Failure {
    let setup = on_lan.setup();
    match error {
        CertificateError::NotSetUp(_) => Failure::bad_input(format!(
            "{error}, so that no phone could trust this machine: run `{setup}` first. (In the open, for all on the network to read: `{} --plain-http`)",
            on_lan.serve()
        )),
        CertificateError::NotPermitted { .. } | CertificateError::Ended => Failure::bad_input(format!(
            "{error}. To begin anew, move the folder `certificate` out of the data folder and run `{setup}`; each phone has then to trust the new authority"
        )),
        CertificateError::NoAuthority(_) | CertificateError::SpoiltAuthority { .. } => {
            Failure::bad_input(format!("{error}. {}", without_authority(on_lan)))
        }
        CertificateError::NoLeaf(_) | CertificateError::SpoiltLeaf { .. } => {
            Failure::bad_input(format!("{error}. Run `{setup}`, which makes it anew by the authority that is here: phones need nothing"))
        }
        _ => Failure::failed(error.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_a_host_as_browsers_send_it() {
        let of = |text: &str| host(text.parse().unwrap());
        assert_eq!([of("192.168.1.20"), of("10.0.0.10"), of("fd00::2")], ["192.168.1.20", "10.0.0.10", "[fd00::2]"]);
    }

    #[test]
    fn the_page_for_phones_is_at_the_port_after_the_apps() {
        assert_eq!([told_at(8086), told_at(0)], [8087, 0]);
    }
}
