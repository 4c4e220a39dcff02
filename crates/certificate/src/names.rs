//! What a workshop's machine may be called: names and addresses that nobody on the internet has.

use std::fmt;
use std::net::IpAddr;
use std::str::FromStr;

/// Endings that no site of the internet has: RFC 6762 (multicast DNS), RFC 8375 (home networks), ICANN's resolution of 29 July 2024 (private use); `lan` is what many
/// routers give, and is delegated to nobody. With any other ending the authority could stand for somebody's site.
const ENDINGS: [&str; 4] = ["local", "home.arpa", "internal", "lan"];

/// Addresses that are not routed on the internet, with the length of their prefix: RFC 1918, section 3; RFC 4193, section 3.1.
pub(crate) const PRIVATE: [(IpAddr, u8); 4] = [
    (IpAddr::V4(std::net::Ipv4Addr::new(10, 0, 0, 0)), 8),
    (IpAddr::V4(std::net::Ipv4Addr::new(172, 16, 0, 0)), 12),
    (IpAddr::V4(std::net::Ipv4Addr::new(192, 168, 0, 0)), 16),
    (IpAddr::V6(std::net::Ipv6Addr::new(0xfc00, 0, 0, 0, 0, 0, 0, 0)), 7),
];

/// Longest part of a name between dots, and longest name: RFC 1035, section 2.3.4.
const LONGEST: (usize, usize) = (63, 253);

/// Why something is no name or address of a local network.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NameError {
    /// No name.
    #[error("'{0}' is no name of a machine: give letters, digits and hyphens, as in bay")]
    NoName(String),
    /// A name that may be somebody's on the internet.
    #[error(
        "'{0}' may be a name on the internet: give one word, which becomes WORD.local, or a name that ends in .local, .lan, .internal or .home.arpa"
    )]
    Public(String),
    /// No address.
    #[error("'{0}' is no address: give one like 192.168.1.20")]
    NoAddress(String),
    /// An address that is not of a local network.
    #[error("{0} is no address of a local network: those begin with 192.168, 10, 172.16 to 172.31, fc or fd")]
    NotPrivate(IpAddr),
}

/// A machine's name on the local network, in small letters.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct HostName(String);

impl FromStr for HostName {
    type Err = NameError;

    /// One word is a name in `.local`.
    fn from_str(text: &str) -> Result<Self, NameError> {
        let small = text.trim().to_ascii_lowercase();
        let is_label = |label: &str| {
            let is_plain = label.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'-');
            !label.is_empty() && label.len() <= LONGEST.0 && is_plain && !label.starts_with('-') && !label.ends_with('-')
        };
        if small.len() > LONGEST.1 - ".local".len() || !small.split('.').all(is_label) {
            return Err(NameError::NoName(text.to_owned()));
        }
        if !small.contains('.') {
            return Ok(Self(format!("{small}.local")));
        }
        let is_within = |ending: &str| small.strip_suffix(ending).is_some_and(|name| name.len() > 1 && name.ends_with('.'));
        if ENDINGS.iter().any(|ending| is_within(ending)) { Ok(Self(small)) } else { Err(NameError::Public(text.to_owned())) }
    }
}

impl fmt::Display for HostName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl HostName {
    /// As text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// An address of a local network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LanAddress(IpAddr);

impl TryFrom<IpAddr> for LanAddress {
    type Error = NameError;

    fn try_from(address: IpAddr) -> Result<Self, NameError> {
        if PRIVATE.iter().any(|(net, prefix)| is_in(address, *net, *prefix)) {
            Ok(Self(address))
        } else {
            Err(NameError::NotPrivate(address))
        }
    }
}

impl FromStr for LanAddress {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        text.trim().parse::<IpAddr>().map_err(|_| NameError::NoAddress(text.to_owned()))?.try_into()
    }
}

impl From<LanAddress> for IpAddr {
    fn from(address: LanAddress) -> Self {
        address.0
    }
}

impl fmt::Display for LanAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// Whether an address has a prefix of a net, of as many bits.
fn is_in(address: IpAddr, net: IpAddr, prefix: u8) -> bool {
    match (address, net) {
        (IpAddr::V4(address), IpAddr::V4(net)) => (address.to_bits() ^ net.to_bits()).leading_zeros() >= u32::from(prefix),
        (IpAddr::V6(address), IpAddr::V6(net)) => (address.to_bits() ^ net.to_bits()).leading_zeros() >= u32::from(prefix),
        _ => false,
    }
}

/// What the app's machine is called on the local network.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Names {
    /// Its name.
    pub host: HostName,
    /// Its addresses.
    pub addresses: Vec<LanAddress>,
}

impl fmt::Display for Names {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.host.fmt(f)?;
        self.addresses.iter().try_for_each(|address| write!(f, ", {address}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_a_name_in_local_and_nobodys_on_the_internet() {
        for (text, name) in [("bay", "bay.local"), (" Bay-2 ", "bay-2.local"), ("bay.LAN", "bay.lan"), ("a.b.home.arpa", "a.b.home.arpa")] {
            assert_eq!(text.parse::<HostName>().unwrap().as_str(), name);
        }
        for public in ["bay.example", "bay.com", "bay.notlocal", "arpa.home", "bay.home.arpa.com"] {
            assert_eq!(public.parse::<HostName>(), Err(NameError::Public(public.to_owned())));
        }
        for none in ["", ".local", "-bay", "bay-", "b ay", "bay..local", "*.local", "bäy", "bay.local.", "192.168.1.20:80", &"b".repeat(64)]
        {
            assert_eq!(none.parse::<HostName>(), Err(NameError::NoName(none.to_owned())), "{none}");
        }
    }

    #[test]
    fn only_addresses_of_a_local_network_are_taken() {
        // [S] RFC 1918, section 3, and RFC 4193, section 3.1: the first and last address of each block, and their neighbours.
        for own in ["10.0.0.0", "10.255.255.255", "172.16.0.0", "172.31.255.255", "192.168.0.0", "192.168.255.255", "fc00::", "fdff::1"] {
            assert_eq!(own.parse::<LanAddress>().unwrap().to_string(), own);
        }
        for foreign in
            ["9.255.255.255", "11.0.0.0", "172.15.255.255", "172.32.0.0", "192.167.255.255", "192.169.0.0", "127.0.0.1", "fe80::1", "::1"]
        {
            assert_eq!(foreign.parse::<LanAddress>(), Err(NameError::NotPrivate(foreign.parse().unwrap())));
        }
        assert_eq!("bay".parse::<LanAddress>(), Err(NameError::NoAddress("bay".to_owned())));
    }
}
