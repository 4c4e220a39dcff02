//! A key.

use std::fmt;

use rcgen::{KeyPair, PublicKeyData as _};
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};

use crate::CertificateError;

/// A private key on the curve P-256, which every phone knows.
pub struct Key(pub(crate) KeyPair);

impl fmt::Debug for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Key")
    }
}

impl Key {
    /// A new one, of the system's chance: the engine takes no other.
    ///
    /// # Errors
    /// When the system gives none.
    pub fn fresh() -> Result<Self, CertificateError> {
        Ok(Self(KeyPair::generate_for(&rcgen::PKCS_ECDSA_P256_SHA256)?))
    }

    pub(crate) fn der(&self) -> PrivateKeyDer<'static> {
        PrivatePkcs8KeyDer::from(self.0.serialize_der()).into()
    }

    /// Whether a certificate is of this key: it has the public one as it is.
    pub(crate) fn is_of(&self, certificate: &CertificateDer<'_>) -> bool {
        let public = self.0.subject_public_key_info();
        certificate.windows(public.len()).any(|bytes| bytes == public)
    }
}
