//! Bytes that come in parts.

use lastmicron_record::sha256;
use lastmicron_store::{MOST_KEPT_BYTES, Part, Parted, Report, StoreError, There};

use crate::conformance::every_store;
use crate::pen::at;

/// A photograph of 1000 bytes, as far as a store can tell.
fn photograph() -> Vec<u8> {
    (0..1000_u32).map(|i| u8::try_from(i * i % 251).unwrap()).collect()
}

fn part(bytes: &[u8], at: usize, end: usize) -> Part<'_> {
    Part { digest: sha256(bytes), size: bytes.len(), at, bytes: &bytes[at..end] }
}

#[test]
fn wherever_a_line_is_cut_the_rest_goes_on_from_what_is_there_and_the_bytes_are_the_same() {
    let whole = photograph();
    let digest = sha256(&whole);
    for cut in (0..=1000).step_by(50) {
        every_store(|open, _| {
            let store = open();
            assert_eq!(store.there(digest).unwrap(), There::Bytes(0));
            if cut > 0 {
                store.keep_part(part(&whole, 0, cut), &at(0)).unwrap();
            }
            // The program is ended and started again meanwhile.
            drop(store);
            let store = open();
            let there = store.there(digest).unwrap();
            assert_eq!(there, if cut == 1000 { There::Whole } else { There::Bytes(cut) });
            // The answer was lost: the same part comes again, and is not taken twice.
            if cut > 0 && cut < 1000 {
                assert_eq!(store.keep_part(part(&whole, 0, cut), &at(1)).unwrap(), Parted::Elsewhere(there));
                assert_eq!(store.keep_part(part(&whole, 999, 1000), &at(1)).unwrap(), Parted::Elsewhere(there));
            }
            assert_eq!(store.keep_part(part(&whole, cut, 1000), &at(2)).unwrap(), Parted::Taken(There::Whole));
            assert_eq!((store.kept(digest).unwrap(), store.there(digest).unwrap()), (Some(whole.clone()), There::Whole));
            assert_eq!(store.keep_part(part(&whole, 0, 100), &at(3)).unwrap(), Parted::Taken(There::Whole));
            assert_eq!(store.verify().unwrap(), Report { kept: 1, ..Report::default() });
        });
    }
}

#[test]
fn bytes_that_are_not_those_of_their_hash_are_thrown_away_and_the_right_ones_taken() {
    let whole = photograph();
    let digest = sha256(&whole);
    every_store(|open, _| {
        let store = open();
        let mut wrong = whole.clone();
        wrong[700] ^= 1;
        let of = |bytes: &'static str| Part { digest, size: bytes.len(), at: 0, bytes: bytes.as_bytes() };
        assert_eq!(store.keep_part(of("another"), &at(0)).unwrap(), Parted::NotThose);
        assert_eq!(
            store.keep_part(Part { bytes: &wrong[..800], ..part(&whole, 0, 800) }, &at(0)).unwrap(),
            Parted::Taken(There::Bytes(800))
        );
        assert_eq!(store.keep_part(part(&whole, 800, 1000), &at(0)).unwrap(), Parted::NotThose);
        assert_eq!((store.kept(digest).unwrap(), store.there(digest).unwrap()), (None, There::Bytes(0)));
        assert_eq!(store.keep_part(part(&whole, 0, 1000), &at(0)).unwrap(), Parted::Taken(There::Whole));
        assert_eq!(store.kept(digest).unwrap().as_deref(), Some(&whole[..]));
    });
}

#[test]
fn more_than_was_said_and_more_than_is_kept_is_refused() {
    let whole = photograph();
    every_store(|open, _| {
        let store = open();
        let beyond = Part { size: 500, ..part(&whole, 0, 501) };
        assert_eq!(store.keep_part(beyond, &at(0)), Err(StoreError::TooLarge { found: 501, most: 500 }));
        let found = MOST_KEPT_BYTES + 1;
        let large = Part { size: found, ..part(&whole, 0, 10) };
        assert_eq!(store.keep_part(large, &at(0)), Err(StoreError::TooLarge { found, most: MOST_KEPT_BYTES }));
        assert_eq!(store.there(sha256(&whole)).unwrap(), There::Bytes(0));
    });
}

#[test]
fn what_nobody_goes_on_with_for_a_week_is_thrown_away_and_what_is_younger_stays() {
    let [old, young, third] = [b"old".repeat(100), b"young".repeat(100), b"third".repeat(100)];
    every_store(|open, _| {
        let store = open();
        let on = |day: u32, second: u32| format!("2024-05-{day:02}T07:30:{second:02}Z").parse().unwrap();
        store.keep_part(part(&old, 0, 10), &on(1, 0)).unwrap();
        store.keep_part(part(&young, 0, 10), &on(1, 2)).unwrap();
        let there = || [&old, &young].map(|bytes| store.there(sha256(bytes)).unwrap());
        store.keep_part(part(&third, 0, 10), &on(8, 0)).unwrap();
        assert_eq!(there(), [There::Bytes(10), There::Bytes(10)]);
        store.keep_part(part(b"fourth, and whole", 0, 17), &on(8, 1)).unwrap();
        assert_eq!(there(), [There::Bytes(0), There::Bytes(10)]);
    });
}
