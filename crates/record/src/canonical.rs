//! JSON with one way of writing it: RFC 8785.

use serde::Serialize;

use crate::refusal::Refusal;

/// The canonical form of a value, RFC 8785 (JSON Canonicalization Scheme): members in the order of their names' UTF-16 units, no white space, one
/// way of writing each text. Events have no other numbers than whole ones below 2^53, for which its rule for numbers is just digits.
///
/// # Errors
/// [`Refusal::NotJson`] for what has no JSON.
pub fn canonical(value: &impl Serialize) -> Result<Vec<u8>, Refusal> {
    serde_json_canonicalizer::to_vec(value).map_err(|error| Refusal::NotJson(error.to_string()))
}
