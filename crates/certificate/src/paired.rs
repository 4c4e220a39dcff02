//! A certificate with its key and what it is for, as one text, so that none of them is ever of another day.
//!
//! RFC 7468, section 2, lets lines stand before the certificate that say what it is. Names and end are read from there: whoever relies on them has the certificate
//! itself checked for them.

use std::fmt::Write as _;
use std::time::{Duration, SystemTime};

use rcgen::KeyPair;
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};

use crate::{CertificateError, Key, Names};

/// A certificate with its key, what it is for, and when it ends.
#[derive(Debug)]
pub(crate) struct Paired {
    pub(crate) certificate: CertificateDer<'static>,
    pub(crate) key: Key,
    pub(crate) names: Names,
    pub(crate) ends: SystemTime,
}

impl Paired {
    pub(crate) fn to_pem(&self) -> String {
        let ends = self.ends.duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default();
        let mut text = format!("host: {}\n", self.names.host);
        for address in &self.names.addresses {
            let _ = writeln!(text, "address: {address}");
        }
        let _ = writeln!(text, "ends_s: {}", ends.as_secs());
        let blocks = [pem::Pem::new("CERTIFICATE", self.certificate.to_vec()), pem::Pem::new("PRIVATE KEY", self.key.0.serialize_der())];
        text + &pem::encode_many_config(&blocks, pem::EncodeConfig::new().set_line_ending(pem::LineEnding::LF))
    }

    pub(crate) fn from_pem(text: &str) -> Result<Self, CertificateError> {
        let unreadable = |_| CertificateError::Unreadable;
        let certificate = CertificateDer::from_pem_slice(text.as_bytes()).map_err(unreadable)?;
        let key = PrivateKeyDer::from_pem_slice(text.as_bytes()).map_err(unreadable)?;
        let key = Key(KeyPair::try_from(&key).map_err(|_| CertificateError::Unreadable)?);
        let host = said(text, "host").next().and_then(|host| host.parse().ok()).ok_or(CertificateError::Unreadable)?;
        let addresses = said(text, "address").map(str::parse).collect::<Result<_, _>>().map_err(|_| CertificateError::Unreadable)?;
        let ends_s: u32 = said(text, "ends_s").next().and_then(|ends| ends.parse().ok()).ok_or(CertificateError::Unreadable)?;
        if !key.is_of(&certificate) {
            return Err(CertificateError::Unreadable);
        }
        let ends = SystemTime::UNIX_EPOCH + Duration::from_secs(ends_s.into());
        Ok(Self { certificate, key, names: Names { host, addresses }, ends })
    }
}

/// What stands before the certificate under a word.
fn said<'t>(text: &'t str, word: &'static str) -> impl Iterator<Item = &'t str> {
    let before = text.lines().take_while(|line| !line.starts_with("-----"));
    before.filter_map(|line| line.split_once(": ")).filter(move |(said, _)| *said == word).map(|(_, value)| value)
}
