//! A document's own hash among its keywords, by which it shows that some byte of it was changed. Whoever changes it on purpose can write that hash anew: what
//! can't be written anew is the signature of the record.

use lastmicron_job::event::Digest;
use lastmicron_record::sha256;

/// What the keyword begins with. The SHA-256 of the file follows, taken with zeros in its own place.
const BEGINS: &str = "LASTMICRON:FILE:";
const DIGITS: usize = 64;

/// The keyword before the file is there.
pub(crate) fn open_seal() -> String {
    format!("{BEGINS}{}", "0".repeat(DIGITS))
}

/// The file with its own hash wherever it has the open seal; none where it has none.
pub(crate) fn sealed(mut file: Vec<u8>) -> Option<Vec<u8>> {
    let open = open_seal();
    let places = places(&file, open.as_bytes());
    let seal = format!("{BEGINS}{}", sha256(&file));
    places.iter().for_each(|at| put(&mut file, *at, seal.as_bytes()));
    (!places.is_empty()).then_some(file)
}

/// The seal among the words of a document.
pub(crate) fn found<'w>(mut words: impl Iterator<Item = &'w str>) -> Option<Digest> {
    words.find_map(|word| word.strip_prefix(BEGINS)?.parse().ok())
}

/// Whether a file is as it was when it was sealed.
pub(crate) fn is_sealed(file: &[u8], seal: Digest) -> bool {
    let (open, seal_text) = (open_seal(), format!("{BEGINS}{seal}"));
    let mut unsealed = file.to_vec();
    places(file, seal_text.as_bytes()).into_iter().for_each(|at| put(&mut unsealed, at, open.as_bytes()));
    sha256(&unsealed) == seal
}

fn put(file: &mut [u8], at: usize, text: &[u8]) {
    if let Some(place) = file.get_mut(at..at + text.len()) {
        place.copy_from_slice(text);
    }
}

fn places(file: &[u8], text: &[u8]) -> Vec<usize> {
    // A file may be large, and few of its bytes are the first of the text.
    let begins = file.iter().enumerate().filter(|(_, byte)| Some(*byte) == text.first()).map(|(at, _)| at);
    begins.filter(|at| file.get(*at..).is_some_and(|rest| rest.starts_with(text))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_as_it_was_sealed_until_any_byte_is_another() {
        let open = format!("a file ({}) and its twin ({}).", open_seal(), open_seal()).into_bytes();
        let file = sealed(open.clone()).unwrap();
        let seal = sha256(&open);
        assert_eq!(found(String::from_utf8(file.clone()).unwrap().split(['(', ')'])), Some(seal));
        assert!(is_sealed(&file, seal));
        for at in 0..file.len() {
            let mut changed = file.clone();
            changed[at] ^= 1;
            assert!(!is_sealed(&changed, seal), "byte {at}");
        }
        assert_eq!(sealed(b"a file without a place for it".to_vec()), None);
    }
}
