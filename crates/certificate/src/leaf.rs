//! The certificate that the app shows.

use std::net::IpAddr;
use std::time::{Duration, SystemTime};

use rcgen::string::Ia5String;
use rcgen::{CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, IsCa, Issuer, KeyPair, KeyUsagePurpose, SanType};
use rustls::client::{verify_server_cert_signed_by_trust_anchor, verify_server_name};
use rustls::crypto::ring::default_provider;
use rustls::pki_types::{ServerName, UnixTime};
use rustls::server::ParsedCertificate;
use rustls::{CertificateError as Fault, RootCertStore};

use crate::authority::EARLIER;
use crate::paired::Paired;
use crate::{Authority, CertificateError, Key, Names};

/// How long one lasts: 90 days. Judgement: phones refuse one of more than 398 (CA/Browser Forum, Baseline Requirements, 6.3.2, from memory); a copy of the key that is
/// lost is of use for a season and not for a year, and a renewal that fails is seen while the authority is remembered.
const LASTS: Duration = Duration::from_secs(90 * 24 * 3600);

/// What of that is left when it is renewed: a third, so that a machine that is off for weeks still finds time to.
const RENEWED_WITH: Duration = Duration::from_secs(30 * 24 * 3600);

/// A certificate for the machine's names, with its key.
#[derive(Debug)]
pub struct Leaf(pub(crate) Paired);

impl Leaf {
    pub(crate) fn new(
        key: Key,
        names: &Names,
        now: SystemTime,
        issuer: &Issuer<'_, &KeyPair>,
        issuer_ends: SystemTime,
    ) -> Result<Self, CertificateError> {
        let ends = (now + LASTS).min(issuer_ends);
        let mut params = CertificateParams::default();
        params.distinguished_name = DistinguishedName::new();
        params.distinguished_name.push(DnType::CommonName, "lastmicron");
        let host = SanType::DnsName(Ia5String::try_from(names.host.as_str())?);
        let addresses = names.addresses.iter().map(|address| SanType::IpAddress((*address).into()));
        params.subject_alt_names = std::iter::once(host).chain(addresses).collect();
        params.not_before = (now - EARLIER).into();
        params.not_after = ends.into();
        params.is_ca = IsCa::ExplicitNoCa;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        let certificate = params.signed_by(&key.0, issuer)?.der().clone();
        Ok(Self(Paired { certificate, key, names: names.clone(), ends }))
    }

    /// From its text.
    ///
    /// # Errors
    /// When that is none, or the key is another's.
    pub fn from_pem(text: &str) -> Result<Self, CertificateError> {
        Paired::from_pem(text).map(Self)
    }

    /// Certificate and key as text.
    #[must_use]
    pub fn to_pem(&self) -> String {
        self.0.to_pem()
    }

    /// What it is for.
    #[must_use]
    pub fn names(&self) -> &Names {
        &self.0.names
    }

    /// When it ends.
    #[must_use]
    pub fn ends(&self) -> SystemTime {
        self.0.ends
    }

    /// Whether it is time for the next one. One that ends with its authority has none.
    #[must_use]
    pub fn is_due(&self, authority: &Authority, now: SystemTime) -> bool {
        now + RENEWED_WITH >= self.0.ends && self.0.ends < authority.ends()
    }

    /// Whether a phone that trusts the authority would take it for all of its names: with the checks of RFC 5280, section 6, the authority's constraints among them.
    ///
    /// # Errors
    /// With what it would say.
    pub fn verify(&self, authority: &Authority, now: SystemTime) -> Result<(), CertificateError> {
        let mut trusted = RootCertStore::empty();
        trusted.add(authority.certificate().clone())?;
        let since = now.duration_since(SystemTime::UNIX_EPOCH).map_err(|_| rustls::Error::from(Fault::NotValidYet))?;
        let parsed = ParsedCertificate::try_from(&self.0.certificate)?;
        let algorithms = default_provider().signature_verification_algorithms;
        verify_server_cert_signed_by_trust_anchor(&parsed, &trusted, &[], UnixTime::since_unix_epoch(since), algorithms.all)?;
        let host = ServerName::try_from(self.0.names.host.as_str()).map_err(|_| CertificateError::Unreadable)?;
        let addresses = self.0.names.addresses.iter().map(|address| ServerName::from(IpAddr::from(*address)));
        std::iter::once(host).chain(addresses).try_for_each(|name| Ok(verify_server_name(&parsed, &name)?))
    }
}
