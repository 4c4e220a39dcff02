//! Proofs checked, by whoever has no more than a root (RFC 9162, sections 2.1.3.2 and 2.1.4.2).

use lastmicron_job::event::Digest;

use crate::hash::sha256;
use crate::tree::node_hash;

/// A proof that proves nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotProved {
    /// It does not have the hashes that trees of these sizes ask for.
    #[error("this proof has not as many hashes as a record of that many entries asks for")]
    Shape,
    /// Another root comes out.
    #[error("another root comes out of this proof: what it is of is not in the record, or the record was changed")]
    Root,
}

/// Where a climb to the root has come: the node's place on its level, and that of the level's last.
struct Climb {
    at: u64,
    last: u64,
}

impl Climb {
    /// To the next level at which the node has a neighbour, and whether that stands on its left; none at the root.
    fn next_is_left(&mut self) -> Option<bool> {
        while self.last > 0 {
            let (is_right_child, has_right) = (self.at % 2 == 1, self.at < self.last);
            self.at /= 2;
            self.last /= 2;
            if is_right_child || has_right {
                return Some(is_right_child);
            }
        }
        None
    }
}

/// Checks that a leaf of this hash is the entry `seq` of a record with so many entries and that root.
///
/// # Errors
/// [`NotProved`].
pub fn check_inclusion(leaf: Digest, seq: u64, size: u64, root: Digest, proof: &[Digest]) -> Result<(), NotProved> {
    if seq == 0 || seq > size {
        return Err(NotProved::Shape);
    }
    let mut climb = Climb { at: seq - 1, last: size - 1 };
    let mut found = leaf;
    for beside in proof {
        let is_left = climb.next_is_left().ok_or(NotProved::Shape)?;
        found = if is_left { node_hash(*beside, found) } else { node_hash(found, *beside) };
    }
    if climb.next_is_left().is_some() {
        return Err(NotProved::Shape);
    }
    if found == root { Ok(()) } else { Err(NotProved::Root) }
}

/// Checks that a record with so many entries and that root begins with another, earlier one: that entries were only added.
///
/// # Errors
/// [`NotProved`].
pub fn check_consistency(earlier: (u64, Digest), later: (u64, Digest), proof: &[Digest]) -> Result<(), NotProved> {
    let ((size, root), (later_size, later_root)) = (earlier, later);
    let reached = |is_reached| if is_reached { Ok(()) } else { Err(NotProved::Root) };
    if size > later_size {
        return Err(NotProved::Shape);
    }
    if size == 0 || size == later_size {
        let wanted = if size == 0 { sha256(b"") } else { later_root };
        return if proof.is_empty() { reached(root == wanted) } else { Err(NotProved::Shape) };
    }
    let begins = (size - 1).trailing_ones();
    let mut climb = Climb { at: (size - 1) >> begins, last: (later_size - 1) >> begins };
    // Where the earlier tree is one whole subtree of the later, the climb begins at its root.
    let (begin, rest) = if climb.at == 0 { (root, proof) } else { proof.split_first().map(|(f, r)| (*f, r)).ok_or(NotProved::Shape)? };
    let (mut found, mut found_later) = (begin, begin);
    for beside in rest {
        if climb.next_is_left().ok_or(NotProved::Shape)? {
            found = node_hash(*beside, found);
            found_later = node_hash(*beside, found_later);
        } else {
            found_later = node_hash(found_later, *beside);
        }
    }
    if climb.next_is_left().is_some() {
        return Err(NotProved::Shape);
    }
    reached(found == root && found_later == later_root)
}
