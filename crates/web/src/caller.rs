//! Who asks, as it was found at the door.

use std::convert::Infallible;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use lastmicron_access::{Deed, Device, Person, Role, Source};

use crate::failure::Failure;
use crate::reach::Arrived;

/// Who asks.
#[derive(Clone, Debug)]
pub(crate) enum Caller {
    /// Somebody at this machine while nobody has claimed the app, or somebody who is not known, on a page that is for them too.
    Anyone,
    /// A device that is known, and locked.
    Held(Device),
    /// Somebody on a device that is known.
    Known(Person, Device),
}

impl Caller {
    pub(crate) const fn person(&self) -> Option<&Person> {
        match self {
            Self::Known(person, _) => Some(person),
            Self::Anyone | Self::Held(_) => None,
        }
    }

    pub(crate) const fn device(&self) -> Option<&Device> {
        match self {
            Self::Known(_, device) | Self::Held(device) => Some(device),
            Self::Anyone => None,
        }
    }
}

impl<S: Sync> FromRequestParts<S> for Caller {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(parts.extensions.get::<Self>().cloned().unwrap_or(Self::Anyone))
    }
}

/// That an owner asks, who is signed in.
#[derive(Debug)]
pub(crate) struct Owner;

impl<S: Sync> FromRequestParts<S> for Owner {
    type Rejection = Failure;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Failure> {
        match parts.extensions.get::<Caller>() {
            Some(Caller::Known(person, _)) if person.role.may(Deed::ManagePeople) => Ok(Self),
            Some(Caller::Known(..)) => Err(not_allowed(Deed::ManagePeople)),
            _ => Err(Failure::NotAllowed(
                "nobody has claimed this app: the code that it printed when it started makes its owner, at /enter".to_owned(),
            )),
        }
    }
}

/// That only an owner may do something.
pub(crate) fn not_allowed(deed: Deed) -> Failure {
    let what = match deed {
        Deed::Work => "records what was done",
        Deed::Agree => "agrees terms, accepts a plan, says where the vehicle is, or takes one of these back",
        Deed::CarryRecords => "takes records out and brings them in",
        Deed::ManagePeople => "says who may do what",
    };
    Failure::NotAllowed(format!("only an {} {what}: let one sign in on this device", Role::Owner))
}

/// Where a request comes from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Whence(pub(crate) Source);

impl<S: Sync> FromRequestParts<S> for Whence {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        let from = parts.extensions.get::<Arrived>().and_then(|arrived| arrived.from);
        Ok(Self(from.map_or(Source::Unknown, |from| Source::of(from.ip()))))
    }
}
