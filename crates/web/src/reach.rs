//! Whom the app reaches, and by which way a request came.

use std::convert::Infallible;
use std::net::SocketAddr;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;

/// Names that this machine calls itself: a page that another name points here (DNS rebinding) gets nothing.
const LOOPBACK: [&str; 3] = ["localhost", "127.0.0.1", "[::1]"];

/// The way by which a request came.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Way {
    /// From this machine.
    #[default]
    Loopback,
    /// Over the local network, by TLS.
    Tls,
    /// Over the local network, in the open.
    Plain,
}

impl Way {
    /// The origin of pages that are reached by this name.
    pub(crate) fn origin(self, host: &str) -> String {
        let scheme = match self {
            Self::Tls => "https",
            Self::Loopback | Self::Plain => "http",
        };
        format!("{scheme}://{host}")
    }
}

/// How and from where a request came: an extension of every request. Nothing that a proxy says of it is believed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Arrived {
    /// By which way.
    pub way: Way,
    /// From which address; none where there is no network between.
    pub from: Option<SocketAddr>,
}

impl<S: Sync> FromRequestParts<S> for Arrived {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(parts.extensions.get::<Self>().copied().unwrap_or_default())
    }
}

/// Whom the app reaches. Only this machine, where nothing else is said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Reach {
    /// Whether others than this machine reach it: then nothing is shown to a device that is not known, whether somebody has claimed the app or not.
    pub(crate) beyond_loopback: bool,
    hosts: Vec<String>,
    origin: Option<String>,
}

impl Reach {
    /// Others on the local network, who call this machine by these names and addresses, as a browser sends them without the port. The first address of a page there is told to
    /// whoever looks from this machine.
    #[must_use]
    pub const fn beyond_loopback(hosts: Vec<String>, origin: Option<String>) -> Self {
        Self { beyond_loopback: true, hosts, origin }
    }

    /// Whether this name, with or without a port, is one of its own for whoever comes that way.
    pub(crate) fn answers_to(&self, host: &str, way: Way) -> bool {
        let name = without_port(host);
        match way {
            Way::Loopback => LOOPBACK.iter().any(|own| own.eq_ignore_ascii_case(name)),
            Way::Tls | Way::Plain => self.hosts.iter().any(|own| own.eq_ignore_ascii_case(name)),
        }
    }

    /// The origin by which other machines reach it, told to somebody who came that way, by this name; none where they don't.
    pub(crate) fn origin_elsewhere(&self, host: &str, way: Way) -> Option<String> {
        match way {
            Way::Loopback => self.origin.clone(),
            Way::Tls | Way::Plain => Some(way.origin(host)),
        }
    }
}

fn without_port(host: &str) -> &str {
    parted(host).map_or(host, |(name, _)| name)
}

/// The port of a host as a browser sends it; none where it leaves out the usual one.
pub(crate) fn port(host: &str) -> Option<&str> {
    parted(host).map(|(_, port)| port)
}

fn parted(host: &str) -> Option<(&str, &str)> {
    host.rsplit_once(':').filter(|(_, port)| !port.is_empty() && port.bytes().all(|byte| byte.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_that_were_listed_are_its_own() {
        let reach = Reach::beyond_loopback(vec!["bay.example".to_owned(), "[fd00::7]".to_owned()], None);
        for host in ["bay.example", "BAY.example:8443", "[fd00::7]:8443"] {
            assert!(
                reach.answers_to(host, Way::Tls) && reach.answers_to(host, Way::Plain) && !reach.answers_to(host, Way::Loopback),
                "{host}"
            );
        }
        for host in ["localhost:8086", "127.0.0.1", "[::1]:1", "LOCALHOST"] {
            assert!(!reach.answers_to(host, Way::Tls) && reach.answers_to(host, Way::Loopback), "{host}");
        }
        for host in ["", ":80", "elsewhere.example", "bay.example.elsewhere.example", "fd00::7", "bay.example:"] {
            assert!(!reach.answers_to(host, Way::Tls) && !reach.answers_to(host, Way::Loopback), "{host}");
        }
        assert!(!Reach::default().answers_to("bay.example", Way::Tls));
    }

    #[test]
    fn others_are_told_an_address_that_they_reach() {
        let reach = Reach::beyond_loopback(vec!["bay.example".to_owned()], Some("https://bay.example:8443".to_owned()));
        assert_eq!(reach.origin_elsewhere("localhost:8443", Way::Loopback), Some("https://bay.example:8443".to_owned()));
        assert_eq!(reach.origin_elsewhere("192.0.2.1:8443", Way::Tls), Some("https://192.0.2.1:8443".to_owned()));
        assert_eq!(reach.origin_elsewhere("192.0.2.1:8443", Way::Plain), Some("http://192.0.2.1:8443".to_owned()));
        assert_eq!(Reach::default().origin_elsewhere("localhost", Way::Loopback), None);
    }
}
