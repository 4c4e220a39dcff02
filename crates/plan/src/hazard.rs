//! Draws in which something goes wrong somewhere: a union over sections, kept as counts.

/// For each option of each section, the draws in which it goes wrong, as bits; and how many sections go wrong in each draw as chosen.
#[derive(Clone, Debug)]
pub(crate) struct Hazard {
    /// Sections that go wrong, by draw.
    count: Vec<u16>,
    /// Draws in which none goes wrong, and in which exactly one does.
    none: Vec<u64>,
    one: Vec<u64>,
    draws: usize,
}

impl Hazard {
    /// Nothing goes wrong in any of `draws`.
    pub(crate) fn new(draws: usize) -> Self {
        let words = draws.div_ceil(64);
        let mut none = vec![u64::MAX; words];
        if !draws.is_multiple_of(64) {
            none[words - 1] = (1 << (draws % 64)) - 1;
        }
        Self { count: vec![0; draws], none, one: vec![0; words], draws }
    }

    /// Share of draws in which something goes wrong.
    pub(crate) fn risk(&self) -> f64 {
        let fine: u32 = self.none.iter().map(|w| w.count_ones()).sum();
        (self.draws - fine as usize) as f64 / self.draws as f64
    }

    /// How the number of draws in which something goes wrong would change if one section's bits went from `old` to `new`.
    pub(crate) fn change(&self, old: &[u64], new: &[u64]) -> i64 {
        let mut change = 0;
        for (((old, new), none), one) in old.iter().zip(new).zip(&self.none).zip(&self.one) {
            change += i64::from((new & !old & none).count_ones()) - i64::from((old & !new & one).count_ones());
        }
        change
    }

    /// Puts one section's bits from `old` to `new`.
    pub(crate) fn replace(&mut self, old: &[u64], new: &[u64]) {
        for word in 0..old.len() {
            let mut differ = old[word] ^ new[word];
            while differ != 0 {
                let bit = differ.trailing_zeros() as usize;
                let mask = 1_u64 << bit;
                differ &= differ - 1;
                let count = &mut self.count[word * 64 + bit];
                if new[word] & mask == 0 {
                    *count -= 1;
                } else {
                    *count += 1;
                }
                let (none, one) = (*count == 0, *count == 1);
                self.none[word] = if none { self.none[word] | mask } else { self.none[word] & !mask };
                self.one[word] = if one { self.one[word] | mask } else { self.one[word] & !mask };
            }
        }
    }
}

/// Draws in which `taken` is more than there is `room` for.
pub(crate) fn bits(taken: &[f32], room: &[f32]) -> Vec<u64> {
    taken
        .chunks(64)
        .zip(room.chunks(64))
        .map(|(taken, room)| taken.iter().zip(room).enumerate().fold(0, |word, (i, (t, r))| word | (u64::from(t > r) << i)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draw_counts_once_however_many_sections_go_wrong() {
        let mut hazard = Hazard::new(100);
        let (nothing, a, b) = (vec![0, 0], vec![0b111, 0], vec![0b110, 1]);
        assert_eq!(hazard.change(&nothing, &a), 3);
        hazard.replace(&nothing, &a);
        assert_eq!(hazard.change(&nothing, &b), 1);
        hazard.replace(&nothing, &b);
        assert!((hazard.risk() - 0.04).abs() < 1e-12);
        assert_eq!(hazard.change(&a, &nothing), -1);
        hazard.replace(&a, &nothing);
        assert!((hazard.risk() - 0.03).abs() < 1e-12);
        hazard.replace(&b, &nothing);
        assert!(hazard.risk().abs() < 1e-12);
    }

    #[test]
    fn bits_mark_where_more_is_taken_than_there_is_room() {
        let taken = vec![1.0; 70];
        let mut room = vec![2.0; 70];
        room[3] = 0.5;
        room[69] = -1.0;
        assert_eq!(bits(&taken, &room), vec![8, 1 << 5]);
    }
}
