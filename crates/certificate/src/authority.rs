//! The authority that a phone is told to trust.

use std::fmt;
use std::time::{Duration, SystemTime};

use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType, ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer,
    KeyUsagePurpose, NameConstraints, PublicKeyData as _,
};
use rustls::pki_types::CertificateDer;
use sha2::{Digest as _, Sha256};

use crate::leaf::Leaf;
use crate::names::PRIVATE;
use crate::paired::Paired;
use crate::{CertificateError, HostName, Key, Names};

/// How long it lasts: ten years. Judgement: longer than a phone is kept; each phone has to be told of the next one by hand.
const LASTS: Duration = Duration::from_secs(3653 * 24 * 3600);

/// How far before its making a certificate holds already. Judgement: a day is more than a phone's clock is wrong without anybody seeing it.
pub(crate) const EARLIER: Duration = Duration::from_secs(24 * 3600);

/// An authority of the workshop's own, with its key.
#[derive(Debug)]
pub struct Authority(Paired);

impl Authority {
    /// An authority for the machine's name and for addresses of local networks, of which it may have another tomorrow. It can make no other authority, and
    /// certifies servers only.
    ///
    /// # Errors
    /// When the engine will not sign.
    pub fn new(key: Key, names: &Names, now: SystemTime) -> Result<Self, CertificateError> {
        let ends = now + LASTS;
        let certificate = params(&key, &names.host, now, ends).self_signed(&key.0)?.der().clone();
        let names = Names { host: names.host.clone(), addresses: Vec::new() };
        Ok(Self(Paired { certificate, key, names, ends }))
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

    /// What phones are told to trust: the certificate without the key, DER.
    #[must_use]
    pub fn certificate(&self) -> &CertificateDer<'static> {
        &self.0.certificate
    }

    /// The machine's name that it was made for.
    #[must_use]
    pub fn host(&self) -> &HostName {
        &self.0.names.host
    }

    /// When it ends.
    #[must_use]
    pub fn ends(&self) -> SystemTime {
        self.0.ends
    }

    /// What its certificate hashes to.
    #[must_use]
    pub fn fingerprint(&self) -> Fingerprint {
        Fingerprint(Sha256::digest(&self.0.certificate).into())
    }

    /// A certificate for these names, found good as a phone finds it.
    ///
    /// # Errors
    /// For names that it was not made for, after its end, and when the engine will not sign.
    pub fn certify(&self, key: Key, names: &Names, now: SystemTime) -> Result<Leaf, CertificateError> {
        let Paired { key: own, names: permitted, ends, .. } = &self.0;
        if *ends <= now {
            return Err(CertificateError::Ended);
        }
        if names.host != permitted.host {
            return Err(CertificateError::NotPermitted { permitted: permitted.host.to_string(), wanted: names.host.to_string() });
        }
        let issuer = Issuer::new(params(own, &permitted.host, now, *ends), &own.0);
        let made = Leaf::new(key, names, now, &issuer, *ends)?;
        made.verify(self, now)?;
        Ok(made)
    }
}

/// What an authority says of itself. Certificates name it by the name here: with another, authorities that phones trust already would certify nothing.
fn params(key: &Key, host: &HostName, now: SystemTime, ends: SystemTime) -> CertificateParams {
    let mut params = CertificateParams::default();
    // Two workshops have different ones, and neither is named: a phone lists it among its settings.
    let mark: String = Sha256::digest(key.0.subject_public_key_info()).iter().take(3).map(|byte| format!("{byte:02X}")).collect();
    params.distinguished_name = DistinguishedName::new();
    params.distinguished_name.push(DnType::CommonName, format!("lastmicron authority for {host} ({mark})"));
    params.not_before = (now - EARLIER).into();
    params.not_after = ends.into();
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign];
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    let nets = PRIVATE.iter().map(|(net, prefix)| GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(*net, *prefix)));
    // RFC 5280, section 4.2.1.10: a kind of name that is not mentioned would be free, so that there is always a name of a machine.
    let permitted = std::iter::once(GeneralSubtree::DnsName(host.to_string())).chain(nets).collect();
    params.name_constraints = Some(NameConstraints { permitted_subtrees: permitted, excluded_subtrees: Vec::new() });
    params
}

/// SHA-256 of a certificate, by which a person tells it from another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fingerprint([u8; 32]);

impl fmt::Display for Fingerprint {
    /// In pairs as phones show it, four groups of eight.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, byte) in self.0.iter().enumerate() {
            let before = match i {
                0 => "",
                i if i % 8 == 0 => "  ",
                _ => ":",
            };
            write!(f, "{before}{byte:02X}")?;
        }
        Ok(())
    }
}
