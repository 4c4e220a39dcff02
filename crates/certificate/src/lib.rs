//! A certificate authority of the workshop's own, and the certificate that the app shows phones on the local network.
//!
//! The authority can certify nothing but the names and the private addresses that it was made for: a phone that trusts it is no worse off on the internet.
//! What makes certificates reads no clock and no file: the time comes in, and so does each key, which only [`Key::fresh`] makes of chance.

mod authority;
mod error;
mod kept;
mod key;
mod leaf;
mod names;
mod paired;
mod presented;

pub use authority::{Authority, Fingerprint};
pub use error::CertificateError;
pub use kept::{Kept, SetUp};
pub use key::Key;
pub use leaf::Leaf;
pub use names::{HostName, LanAddress, NameError, Names};
pub use presented::Presented;
