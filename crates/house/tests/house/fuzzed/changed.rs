//! Files changed by chance: as bytes, as numbers in them, as lines, and as texts with numbers and brackets.

/// Numbers that look like chance and are the same every time: splitmix64 (Steele, Lea, Flood, OOPSLA 2014).
pub(super) struct Chance(pub(super) u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below another; 0 below 0.
    fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.next() % (end.max(1) as u64)).unwrap()
    }

    fn of<'t, T>(&mut self, things: &'t [T]) -> &'t T {
        &things[self.below(things.len())]
    }

    /// Mostly small, at times as large as what it is below.
    fn length(&mut self, end: usize) -> usize {
        let most = if self.below(4) == 0 { end } else { end.min(16) };
        self.below(most + 1)
    }
}

/// What stands where a number did.
const NUMBERS: [&str; 22] = [
    "0",
    "-0",
    "-1",
    "1e308",
    "-1e308",
    "1e-308",
    "1e309",
    "5e-324",
    "NaN",
    "inf",
    "-inf",
    "0x1F",
    "1,5",
    "1.5.5",
    "+7",
    "9007199254740993",
    "18446744073709551616",
    "99999999999999999999999999999999999999999999",
    "0.0000000000000000000000000000000000000001",
    "\"\"",
    "null",
    "٣",
];

/// What a text or a table is written with, and what it should not have.
const PIECES: [&str; 30] = [
    "\"",
    "'",
    ",",
    ";",
    ":",
    "\n",
    "\r",
    "\r\n",
    "[",
    "]",
    "{",
    "}",
    "[[",
    "= ",
    "\u{feff}",
    "\0",
    "\\",
    "\\u0000",
    "\\ud800",
    "#",
    "-",
    ".",
    "é",
    "\u{202e}",
    "\u{1F697}",
    " um",
    " mil",
    "panel",
    "true",
    "\t",
];

/// One of the files, changed in one to five ways.
pub(super) fn changed(files: &[Vec<u8>], chance: &mut Chance) -> Vec<u8> {
    let mut bytes = chance.of(files).clone();
    for _ in 0..=chance.below(5) {
        change(&mut bytes, files, chance);
    }
    bytes
}

fn change(bytes: &mut Vec<u8>, files: &[Vec<u8>], chance: &mut Chance) {
    let at = chance.below(bytes.len() + 1);
    match chance.below(12) {
        0 => {
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= 1 << chance.below(8);
            }
        }
        1 => {
            if let Some(byte) = bytes.get_mut(at) {
                *byte = *chance.of(&[0, 1, 0x7f, 0x80, 0xfe, 0xff, b'0', b'9', b'-']);
            }
        }
        2 => number(bytes, at, chance),
        3 => {
            let end = (at + chance.length(bytes.len())).min(bytes.len());
            bytes.drain(at..end);
        }
        4 => {
            let end = (at + chance.length(bytes.len())).min(bytes.len());
            let again = bytes[at..end].repeat(1 + chance.below(3));
            bytes.splice(at..at, again);
        }
        5 => {
            let piece = chance.of(&PIECES).repeat(1 + chance.length(2000));
            bytes.splice(at..at, piece.into_bytes());
        }
        6 => bytes.truncate(at),
        7 => {
            let other = chance.of(files);
            let from = chance.below(other.len() + 1);
            let to = (from + chance.length(other.len())).min(other.len());
            bytes.splice(at..at, other[from..to].iter().copied());
        }
        8 | 9 => token(bytes, at, chance),
        10 => lines(bytes, chance),
        _ => {
            let noise: Vec<u8> = (0..chance.length(400)).map(|_| chance.next().to_le_bytes()[0]).collect();
            let end = (at + noise.len()).min(bytes.len());
            bytes.splice(at..end, noise);
        }
    }
}

/// A number of two or four bytes, of either order, becomes a large or small one: lengths and sizes are such.
fn number(bytes: &mut [u8], at: usize, chance: &mut Chance) {
    let value = *chance.of(&[0_u32, 1, 7, 255, 256, 32_767, 65_535, 0x7fff_ffff, 0x8000_0000, 0xffff_fffe, 0xffff_ffff]);
    let of_four = if chance.below(2) == 0 { value.to_le_bytes() } else { value.to_be_bytes() };
    let new = if chance.below(2) == 0 { &of_four[..2] } else { &of_four[..] };
    if let Some(place) = bytes.get_mut(at..at + new.len()) {
        place.copy_from_slice(new);
    }
}

/// The number of digits that stands next becomes another.
fn token(bytes: &mut Vec<u8>, at: usize, chance: &mut Chance) {
    let is_of_number = |byte: &u8| byte.is_ascii_digit() || matches!(byte, b'.' | b'-' | b'+' | b'e');
    let Some(from) = bytes[at..].iter().position(u8::is_ascii_digit).map(|found| at + found) else { return };
    let to = bytes[from..].iter().position(|byte| !is_of_number(byte)).map_or(bytes.len(), |found| from + found);
    let new = if chance.below(20) == 0 { "7".repeat(chance.length(20_000)) } else { (*chance.of(&NUMBERS)).to_owned() };
    bytes.splice(from..to, new.into_bytes());
}

/// A line is left out, comes twice, or changes places with another.
fn lines(bytes: &mut Vec<u8>, chance: &mut Chance) {
    let mut all: Vec<Vec<u8>> = bytes.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
    let [one, other] = [chance.below(all.len()), chance.below(all.len())];
    match chance.below(3) {
        0 => drop(all.remove(one)),
        1 => all.insert(other, all[one].clone()),
        _ => all.swap(one, other),
    }
    *bytes = all.join(&b'\n');
}
