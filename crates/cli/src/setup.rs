//! `lastmicron setup`: what phones on the local network are to trust.

use std::io::Write;
use std::net::{IpAddr, SocketAddr};
use std::time::SystemTime;

use lastmicron_certificate::{CertificateError, HostName, Kept, LanAddress, NameError, Names, SetUp};
use lastmicron_web::TRUSTED_ON;

use crate::arguments::SetupArguments;
use crate::failure::Failure;
use crate::lan::{self, OnLan, of_certificate};
use crate::serve::folder;

/// What the machine is called where nobody says otherwise.
const USUAL_NAME: &str = "lastmicron";

pub(crate) fn run(arguments: &SetupArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let kept = Kept::within(&folder(arguments.data.as_deref())?);
    let on_lan = OnLan {
        data: arguments.data.as_deref(),
        backups: None,
        port: arguments.port,
        name: arguments.name.as_ref(),
        addresses: &arguments.address,
    };
    let names = Names { host: host(&kept, on_lan)?, addresses: addresses(on_lan)? };
    let made = kept.set_up(&names, SystemTime::now()).map_err(|error| of_certificate(&error, on_lan))?;
    tell(&made, &kept, on_lan, out)
}

/// The name that was given, that of the authority that is here, or the usual one.
fn host(kept: &Kept, on_lan: OnLan<'_>) -> Result<HostName, Failure> {
    if let Some(given) = on_lan.name {
        return Ok(given.clone());
    }
    match kept.authority() {
        Ok(authority) => Ok(authority.host().clone()),
        Err(CertificateError::NotSetUp(_) | CertificateError::NoAuthority(_)) => {
            USUAL_NAME.parse().map_err(|error: NameError| Failure::failed(error.to_string()))
        }
        Err(error) => Err(of_certificate(&error, on_lan)),
    }
}

/// The addresses that were given, or those that this machine has now.
fn addresses(on_lan: OnLan<'_>) -> Result<Vec<LanAddress>, Failure> {
    let addresses = if on_lan.addresses.is_empty() { lan::addresses() } else { on_lan.addresses.to_vec() };
    if addresses.is_empty() { Err(lan::no_address(&format!(", or give one: {}", on_lan.setup_with_address()))) } else { Ok(addresses) }
}

fn tell(made: &SetUp, kept: &Kept, on_lan: OnLan<'_>, out: &mut dyn Write) -> Result<(), Failure> {
    let SetUp { authority, leaf, is_new, was_missing } = made;
    let names = leaf.names();
    let serve = on_lan.serve();
    let (ends, host) = (lan::day(authority.ends()), authority.host());
    if *is_new {
        writeln!(
            out,
            "Made a certificate authority of this workshop's own, which lasts until {ends}. It can vouch for {host} and for addresses of local networks, and"
        )?;
        writeln!(out, "for nothing else. Its key is in {}: whoever has a copy can pass for this machine.", kept.folder().display())?;
        if *was_missing {
            writeln!(
                out,
                "The authority before is gone from that folder: each phone that trusted it has to trust the new one. Where there is a copy of the folder, put that back instead, and phones need nothing."
            )?;
        }
    } else {
        writeln!(out, "Kept the certificate authority that was here, which lasts until {ends}: phones that trust it go on trusting it.")?;
    }
    writeln!(out, "Made a certificate for {names}. It lasts until {}, and is renewed by `{serve}`.", lan::day(leaf.ends()))?;
    for address in names.addresses.iter().filter(|address| !lan::is_here(**address)) {
        writeln!(out, "Note: this machine doesn't have the address {address} now.")?;
    }
    writeln!(out, "Note: {} works where the network knows this machine by that name; the addresses work everywhere.", names.host)?;
    writeln!(out, "\nThe authority's fingerprint (SHA-256), to compare on each phone:\n\n  {}\n", authority.fingerprint())?;
    writeln!(out, "Now start the app with `{serve}`. Each phone then does this once:\n")?;
    let Some(first) = names.addresses.first() else { return Ok(()) };
    let page = format!("http://{}/", SocketAddr::new(IpAddr::from(*first), lan::told_at(on_lan.port)));
    writeln!(out, "Scan this, or open {page}, which says the same:\n\n{}", lan::code(&page)?)?;
    for (device, steps) in TRUSTED_ON {
        writeln!(out, "{device}")?;
        for (n, step) in (1..).zip(steps) {
            writeln!(out, "  {n}. {step}")?;
        }
    }
    Ok(())
}
