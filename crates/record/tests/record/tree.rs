//! The Merkle tree of a record, against the standard's definition written out plainly, and proofs of it.

use lastmicron_job::event::Digest;
use lastmicron_record::{NotProved, Tree, canonical, check_consistency, check_inclusion, leaf_hash, sha256};
use proptest::prelude::*;

use crate::pen::record;

/// Every size up to here is tried.
const SIZES: usize = 300;

fn node(left: Digest, right: Digest) -> Digest {
    sha256(&[&[1], left.0.as_slice(), &right.0].concat())
}

/// The largest power of two below a number.
fn split(n: usize) -> usize {
    (0..).map(|k| 1 << k).take_while(|power| *power < n).last().unwrap()
}

/// RFC 9162, section 2.1.1: the hash of a list.
fn plain_root(leaves: &[Digest]) -> Digest {
    match leaves {
        [] => sha256(b""),
        [leaf] => *leaf,
        _ => {
            let (left, right) = leaves.split_at(split(leaves.len()));
            node(plain_root(left), plain_root(right))
        }
    }
}

/// RFC 9162, section 2.1.3.1: the path of the leaf `m`, from 0.
fn plain_path(m: usize, leaves: &[Digest]) -> Vec<Digest> {
    if leaves.len() == 1 {
        return vec![];
    }
    let k = split(leaves.len());
    let (left, right) = leaves.split_at(k);
    let (mut path, beside) = if m < k { (plain_path(m, left), right) } else { (plain_path(m - k, right), left) };
    path.push(plain_root(beside));
    path
}

/// RFC 9162, section 2.1.4.1: the proof from the first `m` leaves.
fn plain_subproof(m: usize, leaves: &[Digest], is_whole: bool) -> Vec<Digest> {
    if m == leaves.len() {
        return if is_whole { vec![] } else { vec![plain_root(leaves)] };
    }
    let k = split(leaves.len());
    let (left, right) = leaves.split_at(k);
    let (mut proof, beside) = if m <= k { (plain_subproof(m, left, is_whole), right) } else { (plain_subproof(m - k, right, false), left) };
    proof.push(plain_root(beside));
    proof
}

fn leaves(n: usize) -> Vec<Digest> {
    (0..n).map(|i| leaf_hash(i.to_string().as_bytes())).collect()
}

fn seq(n: usize) -> u64 {
    u64::try_from(n).unwrap()
}

#[test]
fn roots_are_those_of_the_test_data_of_the_standards_reference_implementation() {
    // [M] the public test data of RFC 6962's reference implementation, from memory: eight leaves and the root at every size.
    // [C] the same roots came out of Python's hashlib.
    let leaves = [
        &[][..],
        &[0x00],
        &[0x10],
        &[0x20, 0x21],
        &[0x30, 0x31],
        &[0x40, 0x41, 0x42, 0x43],
        &[0x50, 0x51, 0x52, 0x53, 0x54, 0x55, 0x56, 0x57],
        &[0x60, 0x61, 0x62, 0x63, 0x64, 0x65, 0x66, 0x67, 0x68, 0x69, 0x6a, 0x6b, 0x6c, 0x6d, 0x6e, 0x6f],
    ];
    let roots = [
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
        "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
        "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
        "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
        "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
        "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
        "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
    ];
    for (size, root) in roots.iter().enumerate() {
        let tree = Tree::of_leaves(leaves[..size].iter().map(|leaf| leaf_hash(leaf)).collect());
        assert_eq!((tree.size(), tree.root().to_string().as_str()), (seq(size), *root));
    }
}

#[test]
fn proofs_are_those_of_the_standards_example() {
    // [M] RFC 9162, section 2.1.5, from memory: a tree of seven leaves; a to f and j are the leaves, g, h, i the nodes above pairs, k and l those above them.
    let tree = Tree::of_leaves(leaves(7));
    let [a, b, c, d, e, f, j] = leaves(7)[..] else { unreachable!() };
    let [g, h, i] = [node(a, b), node(c, d), node(e, f)];
    let [k, l] = [node(g, h), node(i, j)];
    assert_eq!(tree.root(), node(k, l));
    assert_eq!(tree.inclusion(1), Some(vec![b, h, l]));
    assert_eq!(tree.inclusion(4), Some(vec![c, g, l]));
    assert_eq!(tree.inclusion(5), Some(vec![f, j, k]));
    assert_eq!(tree.inclusion(7), Some(vec![i, k]));
    assert_eq!(tree.consistency(3), Some(vec![c, d, g, l]));
    assert_eq!(tree.consistency(4), Some(vec![l]));
    assert_eq!(tree.consistency(6), Some(vec![i, j, k]));
}

#[test]
fn every_leaf_of_every_size_has_the_path_of_the_plain_definition_and_it_checks() {
    for size in 0..=SIZES {
        let leaves = leaves(size);
        let tree = Tree::of_leaves(leaves.clone());
        assert_eq!(tree.root(), plain_root(&leaves), "{size}");
        for (m, leaf) in leaves.iter().enumerate() {
            let proof = tree.inclusion(seq(m) + 1).unwrap();
            // The definition is slow: of the larger sizes, those round a change of the tree's shape are compared with it.
            if size < 70 || size % 64 < 3 {
                assert_eq!(proof, plain_path(m, &leaves), "{m} of {size}");
            }
            assert_eq!(check_inclusion(*leaf, seq(m) + 1, seq(size), tree.root(), &proof), Ok(()), "{m} of {size}");
        }
        assert_eq!((tree.inclusion(0), tree.inclusion(seq(size) + 1)), (None, None));
    }
}

#[test]
fn every_size_has_the_proof_of_the_plain_definition_from_every_earlier_one_and_it_checks() {
    let roots: Vec<Digest> = (0..=SIZES).map(|size| plain_root(&leaves(size))).collect();
    for size in 0..=SIZES {
        let leaves = leaves(size);
        let tree = Tree::of_leaves(leaves.clone());
        for (earlier, root) in roots.iter().enumerate().take(size + 1) {
            let proof = tree.consistency(seq(earlier)).unwrap();
            if earlier > 0 && (size < 70 || size % 64 < 3) {
                assert_eq!(proof, plain_subproof(earlier, &leaves, true), "{earlier} to {size}");
            }
            let before = tree.root_at(seq(earlier)).unwrap();
            assert_eq!(before, *root, "{earlier} of {size}");
            assert_eq!(check_consistency((seq(earlier), before), (seq(size), tree.root()), &proof), Ok(()), "{earlier} to {size}");
        }
        assert_eq!((tree.consistency(seq(size) + 1), tree.root_at(seq(size) + 1)), (None, None));
    }
}

#[test]
fn a_leaf_of_a_record_is_its_entry_in_canonical_form_with_its_hash() {
    let entries = record(&["one", "two", "three"]);
    let leaves: Vec<Digest> = entries.iter().map(|entry| sha256(&[&[0], canonical(entry).unwrap().as_slice()].concat())).collect();
    assert_eq!(Tree::of(&entries).unwrap().root(), plain_root(&leaves));
    let line = String::from_utf8(canonical(&entries[0]).unwrap()).unwrap();
    assert!(line.contains(&format!(r#""hash":"{}""#, entries[0].hash)), "{line}");
}

#[test]
fn an_earlier_root_of_nothing_or_of_another_record_proves_nothing() {
    let tree = Tree::of_leaves(leaves(5));
    let [nothing, other] = [sha256(b""), sha256(b"other")];
    let now = (5, tree.root());
    assert_eq!(check_consistency((0, nothing), now, &[]), Ok(()));
    assert_eq!(check_consistency((0, other), now, &[]), Err(NotProved::Root));
    assert_eq!(check_consistency((0, nothing), now, &[other]), Err(NotProved::Shape));
    assert_eq!(check_consistency((5, other), now, &[]), Err(NotProved::Root));
    assert_eq!(check_consistency((6, other), now, &[]), Err(NotProved::Shape));
    assert_eq!(check_consistency((3, other), now, &[]), Err(NotProved::Shape));
    assert_eq!(check_inclusion(other, 0, 5, tree.root(), &[]), Err(NotProved::Shape));
    assert_eq!(check_inclusion(other, 6, 5, tree.root(), &[]), Err(NotProved::Shape));
    assert_eq!(check_inclusion(other, u64::MAX, u64::MAX, other, &[]), Err(NotProved::Shape));
}

/// A proof with one thing wrong: a bit of a hash, a hash too many, one too few, or two that changed places.
fn spoiled(proof: &[Digest], how: usize, at: &prop::sample::Index) -> Option<Vec<Digest>> {
    let mut spoiled = proof.to_vec();
    match how {
        0 if !proof.is_empty() => spoiled[at.index(proof.len())].0[at.index(32)] ^= 1,
        1 => spoiled.insert(at.index(proof.len() + 1), sha256(b"too many")),
        2 if !proof.is_empty() => drop(spoiled.remove(at.index(proof.len()))),
        3 if proof.len() > 1 => spoiled.swap(at.index(proof.len() - 1), at.index(proof.len() - 1) + 1),
        _ => return None,
    }
    Some(spoiled)
}

proptest! {
    #[test]
    fn no_proof_with_anything_wrong_checks(size in 1_usize..400, m in any::<prop::sample::Index>(), how in 0_usize..4, at in any::<prop::sample::Index>()) {
        let leaves = leaves(size);
        let (tree, m) = (Tree::of_leaves(leaves.clone()), m.index(size));
        let (root, seq_m, all) = (tree.root(), seq(m) + 1, seq(size));
        let included = tree.inclusion(seq_m).unwrap();
        let before = (seq_m, tree.root_at(seq_m).unwrap());
        let consistent = tree.consistency(seq_m).unwrap();
        if let Some(spoiled) = spoiled(&included, how, &at) {
            prop_assert!(check_inclusion(leaves[m], seq_m, all, root, &spoiled).is_err());
        }
        if let Some(spoiled) = spoiled(&consistent, how, &at) {
            prop_assert!(check_consistency(before, (all, root), &spoiled).is_err());
        }
        // Nor a sound one of another leaf, another place or another root.
        let other = sha256(b"other");
        prop_assert_eq!(check_inclusion(other, seq_m, all, root, &included), Err(NotProved::Root));
        prop_assert_eq!(check_inclusion(leaves[m], seq_m, all, other, &included), Err(NotProved::Root));
        for place in 1..=all {
            prop_assert_eq!(check_inclusion(leaves[m], place, all, root, &included).is_ok(), place == seq_m);
        }
        prop_assert!(check_consistency((seq_m, other), (all, root), &consistent).is_err());
        prop_assert!(check_consistency(before, (all, other), &consistent).is_err());
    }
}
