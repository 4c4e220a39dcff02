//! Draws in which something goes wrong somewhere: a union over tiles, kept as counts.

use lastmicron_numerics::elementwise::count_greater;

/// How many tiles go wrong in each draw.
#[derive(Clone, Debug)]
pub(crate) struct Hazard {
    /// Tiles that go wrong, by draw.
    count: Vec<u16>,
    /// Draws in which any does.
    wrong: usize,
}

impl Hazard {
    /// Nothing goes wrong in any of `draws`.
    pub(crate) fn new(draws: usize) -> Self {
        Self { count: vec![0; draws], wrong: 0 }
    }

    /// Share of draws in which something goes wrong.
    pub(crate) fn risk(&self) -> f64 {
        self.wrong as f64 / self.count.len().max(1) as f64
    }

    /// Share of draws that would go wrong and don't yet, if a tile went wrong in `draws`.
    pub(crate) fn more(&self, draws: &[u32]) -> f64 {
        let more = draws.iter().filter(|d| self.count[**d as usize] == 0).count();
        more as f64 / self.count.len().max(1) as f64
    }

    /// Adds a tile that goes wrong in `draws`.
    pub(crate) fn add(&mut self, draws: &[u32]) {
        for &d in draws {
            let count = &mut self.count[d as usize];
            self.wrong += usize::from(*count == 0);
            *count += 1;
        }
    }

    /// Takes out a tile that was added with the same `draws`.
    pub(crate) fn remove(&mut self, draws: &[u32]) {
        for &d in draws {
            let count = &mut self.count[d as usize];
            *count -= 1;
            self.wrong -= usize::from(*count == 0);
        }
    }
}

/// Draws in which a tile goes wrong, ascending.
#[derive(Clone, Debug)]
pub(crate) struct Wrong {
    /// A worked place is below the floor.
    pub(crate) below: Vec<u32>,
    /// A worked place has reached the undercoat.
    pub(crate) through: Vec<u32>,
}

/// Draws in which `taken` is more than there is `room` for, ascending.
pub(crate) fn which(taken: &[f32], room: &[f32]) -> Vec<u32> {
    const BLOCK: usize = 64;
    let mut draws = Vec::new();
    for (start, (taken, room)) in (0_u32..).step_by(BLOCK).zip(taken.chunks(BLOCK).zip(room.chunks(BLOCK))) {
        // Most blocks have none, and are counted faster than sought through.
        if count_greater(taken, room) > 0 {
            draws.extend(taken.iter().zip(room).zip(start..).filter(|((t, r), _)| t > r).map(|(_, d)| d));
        }
    }
    draws
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draw_counts_once_however_many_tiles_go_wrong() {
        let mut hazard = Hazard::new(100);
        let (a, b) = ([0, 1, 2], [1, 2, 64]);
        assert!((hazard.more(&a) - 0.03).abs() < 1e-12);
        hazard.add(&a);
        assert!((hazard.more(&b) - 0.01).abs() < 1e-12);
        hazard.add(&b);
        assert!((hazard.risk() - 0.04).abs() < 1e-12);
        hazard.remove(&a);
        assert!((hazard.risk() - 0.03).abs() < 1e-12);
        hazard.remove(&b);
        assert!(hazard.risk().abs() < 1e-12);
    }

    #[test]
    fn draws_are_those_where_more_is_taken_than_there_is_room() {
        let taken = vec![1.0; 300];
        let mut room = vec![2.0; 300];
        room[3] = 0.5;
        room[269] = -1.0;
        assert_eq!(which(&taken, &room), vec![3, 269]);
        assert_eq!(which(&taken, &vec![0.0; 300]).len(), 300);
    }
}
