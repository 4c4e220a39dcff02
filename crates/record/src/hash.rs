//! SHA-256.

use lastmicron_job::event::Digest;
use sha2::Digest as _;

/// The SHA-256 (FIPS 180-4) of some bytes.
#[must_use]
pub fn sha256(bytes: &[u8]) -> Digest {
    Digest(sha2::Sha256::digest(bytes).into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_standards_examples_come_out() {
        // [M] FIPS 180-4 examples, from memory: of "abc", and of nothing.
        assert_eq!(sha256(b"abc").to_string(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!(sha256(b"").to_string(), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    }
}
