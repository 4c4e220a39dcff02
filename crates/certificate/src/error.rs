//! Why there is no certificate.

use std::io;
use std::path::PathBuf;

/// Why there is no certificate.
#[derive(Debug, thiserror::Error)]
pub enum CertificateError {
    /// The system gave no key, or the engine would not sign.
    #[error("no certificate could be made: {0}")]
    Making(#[from] rcgen::Error),
    /// What should be a certificate, its key and what it is for is something else.
    #[error("no certificate with its key")]
    Unreadable,
    /// The authority was made for other names.
    #[error("the authority here was made for {permitted} and private addresses, and can't certify {wanted}")]
    NotPermitted {
        /// What it was made for.
        permitted: String,
        /// What was asked for.
        wanted: String,
    },
    /// The authority's time is over.
    #[error("the authority here has come to its end")]
    Ended,
    /// A certificate that a phone would refuse.
    #[error("a phone would refuse the certificate: {0}")]
    Refused(#[from] rustls::Error),
    /// No authority was made in this folder yet.
    #[error("{0}: no certificate authority was set up here")]
    NotSetUp(PathBuf),
    /// The authority is gone, and a certificate by it is here.
    #[error("{0}: the certificate authority is missing")]
    NoAuthority(PathBuf),
    /// The app's certificate is gone, and the authority is here.
    #[error("{0}: the app's certificate is missing")]
    NoLeaf(PathBuf),
    /// An authority's file that can't be used.
    #[error("{path}: {why}")]
    SpoiltAuthority {
        /// Which.
        path: PathBuf,
        /// Why.
        why: Box<CertificateError>,
    },
    /// A file of the app's certificate that can't be used.
    #[error("{path}: {why}")]
    SpoiltLeaf {
        /// Which.
        path: PathBuf,
        /// Why.
        why: Box<CertificateError>,
    },
    /// The disk.
    #[error("{path}: {why}")]
    Disk {
        /// Where.
        path: PathBuf,
        /// Why.
        why: io::Error,
    },
}
