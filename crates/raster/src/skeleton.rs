//! Lines one pixel wide in the middle of what is meant.

use pulp::{Arch, Simd, WithSimd};

use crate::mask::{Mask, to_the_left, to_the_right};

/// The skeleton of `mask`: pixels are taken from its borders, from two sides in turn, as long as no end is shortened and no part is torn in two.
///
/// Method: Zhang and Suen, "A fast parallel algorithm for thinning digital patterns", Communications of the ACM 27 (1984), 236-239: 64 pixels of a row at
/// once, by logic of words. Two things are not as in that paper, but as in scikit-image's `skeletonize` (version 0.26), with which it agrees pixel by
/// pixel: corners of staircases go, so that lines run from corner to corner; and some ends of two or three neighbours stay. What lies outside of the
/// picture is not meant.
#[must_use]
pub fn skeleton(mask: &Mask) -> Mask {
    let mut out = mask.clone();
    let (stride, rows) = (mask.across() + 2, mask.height());
    let mut words = mask.padded();
    // The pass in which a row last lost a pixel.
    let mut lost = vec![0; rows + 2];
    // A row as it was before this pass, and as it is after it.
    let (mut above, mut after) = (vec![0; stride], vec![0; stride]);
    for pass in 1.. {
        above.fill(0);
        for y in 1..=rows {
            let (row, below) = words[y * stride..(y + 2) * stride].split_at_mut(stride);
            // A row whose surroundings are the same as two passes ago would lose nothing again.
            let is_due = lost[y - 1..=y + 1].iter().any(|last| last + 2 >= pass);
            if is_due && thin(&above, row, below, &mut after, Sides::of(pass)) {
                lost[y] = pass;
            }
            above.copy_from_slice(row);
            if lost[y] == pass {
                row.copy_from_slice(&after);
            }
        }
        if lost.iter().all(|last| last + 2 <= pass) {
            break;
        }
    }
    out.take_padded(&words);
    out
}

/// The sides that a pass takes pixels from.
#[derive(Clone, Copy)]
enum Sides {
    /// The lower and the right side, and the upper left corner.
    LowerRight,
    /// The upper and the left side, and the lower right corner.
    UpperLeft,
}

impl Sides {
    fn of(pass: usize) -> Self {
        if pass % 2 == 1 { Self::LowerRight } else { Self::UpperLeft }
    }
}

/// Writes to `after` what a pass leaves of a row. Says whether that is less.
fn thin(above: &[u64], row: &[u64], below: &[u64], after: &mut [u64], sides: Sides) -> bool {
    Arch::new().dispatch(Row { above, row, below, after, sides })
}

struct Row<'a> {
    above: &'a [u64],
    row: &'a [u64],
    below: &'a [u64],
    after: &'a mut [u64],
    sides: Sides,
}

impl WithSimd for Row<'_> {
    type Output = bool;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> bool {
        let Self { above, row, below, after, sides } = self;
        // A loop for each: with the choice inside the compiler would not make vectors of it.
        match sides {
            Sides::LowerRight => thinned(above, row, below, after, |above, row, below| removable(above, row, below, Sides::LowerRight)),
            Sides::UpperLeft => thinned(above, row, below, after, |above, row, below| removable(above, row, below, Sides::UpperLeft)),
        }
    }
}

#[inline(always)]
fn thinned(above: &[u64], row: &[u64], below: &[u64], after: &mut [u64], removable: impl Fn([u64; 3], [u64; 3], [u64; 3]) -> u64) -> bool {
    let count = after.len() - 2;
    let [above, row, below] = [above, row, below].map(|row| [&row[..count], &row[1..=count], &row[2..count + 2]]);
    let after = &mut after[1..=count];
    let mut lost = 0;
    for at in 0..count {
        let [above, row, below] = [above, row, below].map(|row| [row[0][at], row[1][at], row[2][at]]);
        let gone = removable(above, row, below) & row[1];
        after[at] = row[1] & !gone;
        lost |= gone;
    }
    lost != 0
}

/// The eight pixels round each pixel of a word.
struct Around {
    up_left: u64,
    up: u64,
    up_right: u64,
    right: u64,
    down_right: u64,
    down: u64,
    down_left: u64,
    left: u64,
}

/// The pixels of a word that a pass takes away, if they are meant at all.
#[inline(always)]
fn removable(above: [u64; 3], row: [u64; 3], below: [u64; 3], sides: Sides) -> u64 {
    let left = |[before, word, _]: [u64; 3]| to_the_left(before, word);
    let right = |[_, word, after]: [u64; 3]| to_the_right(word, after);
    let near = Around {
        up_left: left(above),
        up: above[1],
        up_right: right(above),
        right: right(row),
        down_right: right(below),
        down: below[1],
        down_left: left(below),
        left: left(row),
    };
    let turn = [near.up, near.up_right, near.right, near.down_right, near.down, near.down_left, near.left, near.up_left];
    let (border, count) = (border(turn, &near, sides), counted(turn));
    border & !kept_end(&near, count, sides) | corner(&near, count, sides)
}

/// Zhang and Suen's four conditions: two to six neighbours, one way from none to one in a turn round the pixel, and on these sides one neighbour less than
/// three.
#[inline(always)]
fn border(turn: [u64; 8], near: &Around, sides: Sides) -> u64 {
    let (mut once, mut more, mut together, mut apart) = (0, 0, 0, 0);
    for (at, here) in turn.iter().enumerate() {
        let next = turn[(at + 1) % 8];
        let change = !here & next;
        more |= once & change;
        once |= change;
        // With one change round, two neighbours or more stand side by side, and so do two gaps or more.
        together |= here & next;
        apart |= !(here | next);
    }
    let blocked = match sides {
        Sides::LowerRight => near.right & near.down & (near.up | near.left),
        Sides::UpperLeft => near.up & near.left & (near.right | near.down),
    };
    once & !more & together & apart & !blocked
}

/// Where there are two, three and four neighbours.
#[inline(always)]
fn counted(turn: [u64; 8]) -> [u64; 3] {
    let (mut ones, mut twos, mut fours) = (0, 0, 0);
    for pixel in turn {
        let carry = ones & pixel;
        ones ^= pixel;
        fours ^= twos & carry;
        twos ^= carry;
    }
    [twos & !ones & !fours, twos & ones & !fours, fours & !ones & !twos]
}

/// Ends that scikit-image keeps although Zhang and Suen's conditions hold: two or three neighbours on the side that is taken from in the other pass.
#[inline(always)]
fn kept_end(near: &Around, [two, three, _]: [u64; 3], sides: Sides) -> u64 {
    let Around { up_left, up, up_right, right, down_right, down, down_left, left } = *near;
    let always = two & (down_right & down | up_left & left);
    let now = match sides {
        Sides::LowerRight => {
            two & (right & down_right | down_left & (down | left)) | three & down & (right & down_right | left & down_left)
        }
        Sides::UpperLeft => two & (up & (up_left | up_right) | up_right & right) | three & up & (right & up_right | left & up_left),
    };
    always | now
}

/// Corners of staircases, which scikit-image takes away too: lines then run from corner to corner.
#[inline(always)]
fn corner(near: &Around, [two, three, four]: [u64; 3], sides: Sides) -> u64 {
    let Around { up_left, up, up_right, right, down_right, down, down_left, left } = *near;
    let bare = two & (up | down) & (left | right);
    let with_more = match sides {
        Sides::LowerRight => {
            three & (up_left & (up & right | down & left) | up & left & (up_right | down_left)) | four & up & left & up_right & down_left
        }
        Sides::UpperLeft => {
            three & (down_right & (up & right | down & left) | right & down & down_left) | four & right & down & up_right & down_left
        }
    };
    bare | with_more
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Where the others are, in a turn from above to the right.
    const TURN: [(&str, isize, isize); 8] =
        [("n", 0, -1), ("ne", 1, -1), ("e", 1, 0), ("se", 1, 1), ("s", 0, 1), ("sw", -1, 1), ("w", -1, 0), ("nw", -1, -1)];

    /// Neighbours, and in which passes (1, 2, 3 for both) scikit-image 0.26 takes a pixel away that has these and no other, where that is not what the
    /// paper says. \[C\] found by thinning random pictures with both.
    const CHANGED: [(&str, u8); 25] = [
        ("nw n", 1),
        ("n ne", 1),
        ("n e", 3),
        ("nw n e", 1),
        ("ne e", 1),
        ("n ne e", 1),
        ("e se", 2),
        ("n e se", 2),
        ("e s", 3),
        ("se s", 0),
        ("e se s", 2),
        ("s sw", 2),
        ("e s sw", 2),
        ("ne e s sw", 2),
        ("nw w", 0),
        ("n w", 3),
        ("nw n w", 1),
        ("n ne w", 1),
        ("s w", 3),
        ("nw s w", 1),
        ("se s w", 2),
        ("sw w", 2),
        ("n sw w", 1),
        ("n ne sw w", 1),
        ("s sw w", 2),
    ];

    /// \[D\] the paper's conditions as they are printed, then the changes.
    fn passes(is_in: [bool; 8]) -> u8 {
        let named: Vec<&str> = TURN.iter().zip(is_in).filter(|(_, is_in)| *is_in).map(|((name, _, _), _)| *name).collect();
        let alike = |names: &str| names.split(' ').count() == named.len() && names.split(' ').all(|name| named.contains(&name));
        if let Some((_, passes)) = CHANGED.iter().find(|(names, _)| alike(names)) {
            return *passes;
        }
        let b = named.len();
        let a = (0..8).filter(|i| !is_in[*i] && is_in[(i + 1) % 8]).count();
        let [p2, _, p4, _, p6, _, p8, _] = is_in;
        let together = |sides: [bool; 3]| sides.iter().all(|side| *side);
        let first = !together([p2, p4, p6]) && !together([p4, p6, p8]);
        let second = !together([p2, p4, p8]) && !together([p2, p6, p8]);
        if (2..=6).contains(&b) && a == 1 { u8::from(first) + 2 * u8::from(second) } else { 0 }
    }

    fn one_by_one(mask: &Mask) -> Mask {
        let mut mask = mask.clone();
        loop {
            let count = mask.count();
            for pass in [1, 2] {
                let mut left = Mask::empty(mask.width(), mask.height()).unwrap();
                for (x, y) in mask.iter() {
                    let at = |(_, right, down): (&str, isize, isize)| x.checked_add_signed(right).zip(y.checked_add_signed(down));
                    if passes(TURN.map(|place| at(place).is_some_and(|(x, y)| mask.get(x, y)))) & pass == 0 {
                        left.insert(x, y);
                    }
                }
                mask = left;
            }
            if mask.count() == count {
                return mask;
            }
        }
    }

    /// How many parts there are that don't touch, not even at corners.
    fn parts(mask: &Mask) -> usize {
        let mut left: std::collections::HashSet<(usize, usize)> = mask.iter().collect();
        let mut parts = 0;
        while let Some(first) = left.iter().next().copied() {
            parts += 1;
            let mut due = vec![first];
            while let Some((x, y)) = due.pop() {
                if left.remove(&(x, y)) {
                    due.extend((x.saturating_sub(1)..x + 2).flat_map(|x| (y.saturating_sub(1)..y + 2).map(move |y| (x, y))));
                }
            }
        }
        parts
    }

    proptest! {
        #[test]
        fn words_do_what_pixels_do_one_by_one((width, height) in (1..150usize, 1..30usize), seed in any::<u32>(), holes in 1..200u32) {
            // Blots: pixels near some places.
            let at = |i: u32, of: usize| (i.wrapping_add(seed).wrapping_mul(2_654_435_761) >> 8) as usize % of;
            let mut mask = Mask::empty(width, height).unwrap();
            for i in 0..(width * height / 40 + 1) as u32 {
                let (x, y, size) = (at(3 * i, width), at(3 * i + 1, height), at(3 * i + 2, 9));
                (0..size * size).for_each(|k| mask.insert(x + k % size, y + k / size));
            }
            let values: Vec<bool> = (0..width * height).map(|k| mask.get(k % width, k / width) && at(k as u32, 200) as u32 != holes).collect();
            let mask = Mask::new(width, height, &values).unwrap();
            prop_assert_eq!(skeleton(&mask), one_by_one(&mask));
            prop_assert_eq!(parts(&skeleton(&mask)), parts(&mask));
            prop_assert_eq!(skeleton(&skeleton(&mask)), skeleton(&mask));
        }
    }
}
