//! Who may do what.
//!
//! People with their roles, the devices that they are known by, one-time codes, links for a client, and how often somebody may guess. Time and random
//! bytes come in as arguments. docs/access.md says what is promised and against whom.

mod code;
mod device;
mod link;
mod person;
mod role;
mod secret;
mod throttle;
mod token;

pub use code::{CODE_S, Code, Grant, KeptCode, NotACode};
pub use device::{Device, Holding, IDLE_S, SIGNED_IN_S};
pub use link::{Link, LinkDays};
pub use person::{NotAName, Person, name, removable};
pub use role::{Deed, NotARole, Role};
pub use secret::{Kept, NotASecret, Secret, Unhashed, Verdict};
pub use throttle::{BURST, LONGEST_S, Source, Throttle};
pub use token::{NotAToken, Token};
