//! By which names the app is reached, over what, and from where.

/// Names that this machine calls itself.
const OWN: [&str; 3] = ["localhost", "127.0.0.1", "[::1]"];

/// What requests come over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scheme {
    /// Plain.
    Http,
    /// Encrypted.
    Https,
}

/// How the app is reached. Nothing that a proxy says of where a request comes from is believed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reach {
    names: Vec<String>,
    scheme: Scheme,
    is_beyond: bool,
}

impl Reach {
    /// From this machine only.
    #[must_use]
    pub const fn loopback() -> Self {
        Self { names: Vec::new(), scheme: Scheme::Http, is_beyond: false }
    }

    /// From other machines too, by these names or addresses besides those by which this machine calls itself; an address of the newer kind in brackets. Then
    /// nothing is shown to a device that is not known, whether somebody has claimed the app or not.
    #[must_use]
    pub const fn beyond(names: Vec<String>, scheme: Scheme) -> Self {
        Self { names, scheme, is_beyond: true }
    }

    pub(crate) const fn is_beyond(&self) -> bool {
        self.is_beyond
    }

    pub(crate) const fn scheme(&self) -> Scheme {
        self.scheme
    }

    /// Whether this name, with or without a port, is one of its own.
    pub(crate) fn answers_to(&self, host: &str) -> bool {
        let name = split(host).0;
        OWN.into_iter().chain(self.names.iter().map(String::as_str)).any(|own| own.eq_ignore_ascii_case(name))
    }

    /// The origin of pages that are reached by this name.
    pub(crate) fn origin(&self, host: &str) -> String {
        match self.scheme {
            Scheme::Http => format!("http://{host}"),
            Scheme::Https => format!("https://{host}"),
        }
    }

    /// The origin by which other machines reach it, told to somebody who reached it by this name; none where they don't.
    pub(crate) fn origin_elsewhere(&self, host: &str) -> Option<String> {
        let (name, port) = split(host);
        let is_own = OWN.iter().any(|own| own.eq_ignore_ascii_case(name));
        match self.names.first() {
            _ if !self.is_beyond => None,
            Some(first) if is_own => Some(self.origin(&format!("{first}{port}"))),
            None if is_own => None,
            _ => Some(self.origin(host)),
        }
    }
}

/// Name, and port with its colon or nothing.
fn split(host: &str) -> (&str, &str) {
    match host.rsplit_once(':') {
        Some((name, port)) if !port.is_empty() && port.bytes().all(|byte| byte.is_ascii_digit()) => (name, &host[name.len()..]),
        _ => (host, ""),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_that_were_listed_are_its_own() {
        let reach = Reach::beyond(vec!["bay.example".to_owned(), "[fd00::7]".to_owned()], Scheme::Https);
        for host in ["localhost:8086", "127.0.0.1", "[::1]:1", "bay.example", "BAY.local:8443", "[fd00::7]:8443"] {
            assert!(reach.answers_to(host), "{host}");
        }
        for host in ["", ":80", "elsewhere.example", "bay.example.elsewhere.example", "fd00::7", "bay.example:"] {
            assert!(!reach.answers_to(host), "{host}");
        }
        assert!(!Reach::loopback().answers_to("bay.example"));
    }

    #[test]
    fn others_are_told_an_address_that_they_reach() {
        let reach = Reach::beyond(vec!["bay.example".to_owned()], Scheme::Https);
        let told = ["localhost:8443", "bay.example:8443"].map(|host| reach.origin_elsewhere(host));
        assert_eq!(told, [Some("https://bay.example:8443".to_owned()), Some("https://bay.example:8443".to_owned())]);
        assert_eq!(Reach::beyond(Vec::new(), Scheme::Http).origin_elsewhere("localhost"), None);
        assert_eq!(Reach::loopback().origin_elsewhere("localhost"), None);
    }
}
