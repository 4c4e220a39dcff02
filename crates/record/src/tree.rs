//! Entries as the leaves of a Merkle tree (RFC 9162, section 2.1; the same as RFC 6962's): one hash for all of them, and short proofs of what is among them.

use lastmicron_job::event::Digest;

use crate::canonical::canonical;
use crate::entry::Entry;
use crate::hash::sha256;
use crate::refusal::Refusal;

/// What a leaf's bytes are hashed behind, and what two hashes are: so that no leaf can be taken for a node.
const LEAF: u8 = 0;
const NODE: u8 = 1;

/// The hash of a leaf: SHA-256(0x00 || bytes).
#[must_use]
pub fn leaf_hash(bytes: &[u8]) -> Digest {
    sha256(&[&[LEAF], bytes].concat())
}

/// The hash of two subtrees: SHA-256(0x01 || left || right).
pub(crate) fn node_hash(left: Digest, right: Digest) -> Digest {
    sha256(&[&[NODE], left.0.as_slice(), &right.0].concat())
}

/// A Merkle tree with all of its nodes. Its entries are numbered from 1, as in the record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tree {
    /// The leaves' hashes, then those of each two, and so on up to the root. The last of an odd number goes up as it is.
    levels: Vec<Vec<Digest>>,
}

impl Tree {
    /// Of a record. A leaf is an entry in its canonical form, its hash with it.
    ///
    /// # Errors
    /// [`Refusal::NotJson`], which no entry that was read is.
    pub fn of<'e>(entries: impl IntoIterator<Item = &'e Entry>) -> Result<Self, Refusal> {
        Ok(Self::of_leaves(entries.into_iter().map(|entry| canonical(entry).map(|bytes| leaf_hash(&bytes))).collect::<Result<_, _>>()?))
    }

    /// Of the hashes of leaves.
    #[must_use]
    pub fn of_leaves(leaves: Vec<Digest>) -> Self {
        let mut levels = vec![leaves];
        while let Some(below) = levels.last().filter(|level| level.len() > 1) {
            let above = below.chunks(2).map(|pair| pair.get(1).map_or(pair[0], |right| node_hash(pair[0], *right))).collect();
            levels.push(above);
        }
        Self { levels }
    }

    /// How many leaves it has.
    #[must_use]
    pub fn size(&self) -> u64 {
        self.levels.first().map_or(0, Vec::len) as u64
    }

    /// The hash of it all; of a tree without leaves, that of nothing.
    #[must_use]
    pub fn root(&self) -> Digest {
        self.levels.last().and_then(|level| level.first()).map_or_else(|| sha256(b""), |root| *root)
    }

    /// The root that it had when it had so many leaves; none where it has fewer.
    #[must_use]
    pub fn root_at(&self, size: u64) -> Option<Digest> {
        if size > self.size() {
            return None;
        }
        let Some(last) = size.checked_sub(1) else { return Some(sha256(b"")) };
        let (begins, mut at) = largest_ending_with(last)?;
        let mut root = *self.levels.get(begins)?.get(at)?;
        for level in self.levels.iter().skip(begins) {
            if at % 2 == 1 {
                root = node_hash(*level.get(at - 1)?, root);
            }
            at /= 2;
        }
        Some(root)
    }

    /// The hashes by which the root is reached from one entry, lowest first: that it is in the record can be shown without the others. None where there is no
    /// such entry.
    #[must_use]
    pub fn inclusion(&self, seq: u64) -> Option<Vec<Digest>> {
        if seq == 0 || seq > self.size() {
            return None;
        }
        let mut at = usize::try_from(seq - 1).ok()?;
        let mut proof = Vec::new();
        for level in &self.levels {
            proof.extend(level.get(at ^ 1));
            at /= 2;
        }
        Some(proof)
    }

    /// The hashes by which both the root at an earlier size and the root now are reached: that entries were only added can be shown without any of them. None
    /// for a size that it did not have.
    #[must_use]
    pub fn consistency(&self, earlier: u64) -> Option<Vec<Digest>> {
        if earlier > self.size() {
            return None;
        }
        if earlier == 0 || earlier == self.size() {
            return Some(Vec::new());
        }
        let (begins, mut at) = largest_ending_with(earlier - 1)?;
        let mut proof = Vec::new();
        // Where it is the whole of the earlier tree, its hash is that tree's root, which whoever checks the proof has.
        if at > 0 {
            proof.extend(self.levels.get(begins).and_then(|level| level.get(at)));
        }
        for level in self.levels.iter().skip(begins) {
            proof.extend(level.get(at ^ 1));
            at /= 2;
        }
        Some(proof)
    }
}

/// The largest whole subtree that ends with a leaf, counted from 0: its level, and its place there.
fn largest_ending_with(leaf: u64) -> Option<(usize, usize)> {
    let level = leaf.trailing_ones();
    Some((usize::try_from(level).ok()?, usize::try_from(leaf >> level).ok()?))
}
