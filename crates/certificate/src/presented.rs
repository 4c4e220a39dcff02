//! What is shown to whoever calls, and can be changed while the app runs.

use std::sync::{Arc, PoisonError, RwLock};

use rustls::ServerConfig;
use rustls::crypto::ring::{default_provider, sign::any_ecdsa_type};
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::CertifiedKey;

use crate::{CertificateError, Leaf};

/// The certificate that is shown now.
#[derive(Debug)]
pub struct Presented(RwLock<Arc<CertifiedKey>>);

impl Presented {
    /// A certificate, to be shown.
    ///
    /// # Errors
    /// When its key is of no use.
    pub fn new(leaf: &Leaf) -> Result<Arc<Self>, CertificateError> {
        Ok(Arc::new(Self(RwLock::new(Arc::new(certified(leaf)?)))))
    }

    /// Shows another from now on; lines that are open stay.
    ///
    /// # Errors
    /// When its key is of no use: then the one before is still shown.
    pub fn show(&self, leaf: &Leaf) -> Result<(), CertificateError> {
        let certified = Arc::new(certified(leaf)?);
        *self.0.write().unwrap_or_else(PoisonError::into_inner) = certified;
        Ok(())
    }

    /// How the app speaks TLS (1.2 and 1.3) with whatever is shown.
    ///
    /// # Errors
    /// When the engine has no protocol.
    pub fn config(self: &Arc<Self>) -> Result<Arc<ServerConfig>, CertificateError> {
        let builder = ServerConfig::builder_with_provider(Arc::new(default_provider())).with_safe_default_protocol_versions()?;
        let shown: Arc<dyn ResolvesServerCert> = Arc::<Self>::clone(self);
        let mut config = builder.with_no_client_auth().with_cert_resolver(shown);
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Arc::new(config))
    }
}

impl ResolvesServerCert for Presented {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(Arc::clone(&self.0.read().unwrap_or_else(PoisonError::into_inner)))
    }
}

fn certified(leaf: &Leaf) -> Result<CertifiedKey, CertificateError> {
    Ok(CertifiedKey::new(vec![leaf.0.certificate.clone()], any_ecdsa_type(&leaf.0.key.der())?))
}
