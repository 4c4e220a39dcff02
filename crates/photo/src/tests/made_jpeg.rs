//! JPEG files of even blocks: each of 8 x 8 samples has one value, so that it is known what a decoder must give (ITU-T T.81).

/// Value of a block's samples by its column and row.
pub(super) type Value = fn(usize, usize) -> u8;

/// The middle of the scale: as a chroma it is no colour.
pub(super) fn middle(_: usize, _: usize) -> u8 {
    128
}

/// What is to be coded. Sides are counted in blocks of the first component.
#[derive(Clone)]
pub(super) struct Jpeg {
    pub(super) across: usize,
    pub(super) down: usize,
    /// For each component how many blocks it has across and down in a unit, and its value in a block.
    pub(super) components: Vec<(usize, usize, Value)>,
    pub(super) is_progressive: bool,
    pub(super) restart_interval: Option<u16>,
    /// Segments to stand before the picture, by marker.
    pub(super) segments: Vec<(u8, Vec<u8>)>,
}

impl Jpeg {
    pub(super) fn grey(across: usize, down: usize, value: Value) -> Self {
        let components = vec![(1, 1, value)];
        Self { across, down, components, is_progressive: false, restart_interval: None, segments: vec![] }
    }

    pub(super) fn colour(across: usize, down: usize, values: [Value; 3]) -> Self {
        Self { components: values.map(|value| (1, 1, value)).to_vec(), ..Self::grey(across, down, values[0]) }
    }

    pub(super) fn bytes(&self) -> Vec<u8> {
        let mut file = vec![0xFF, 0xD8];
        for (marker, content) in &self.segments {
            segment(&mut file, *marker, content);
        }
        // Steps of 8 make a block's first coefficient its value less 128.
        segment(&mut file, 0xDB, &[[0].as_slice(), &[8; 64]].concat());
        let [h, w] = [self.down * 8, self.across * 8].map(|side| u16::try_from(side).unwrap().to_be_bytes());
        let mut frame = [[8].as_slice(), &h, &w, &[self.components.len() as u8]].concat();
        for (i, (h, v, _)) in self.components.iter().enumerate() {
            frame.extend([i as u8 + 1, (h * 16 + v) as u8, 0]);
        }
        segment(&mut file, if self.is_progressive { 0xC2 } else { 0xC0 }, &frame);
        // Code of a difference's number of bits: that number, in 4 bits.
        segment(&mut file, 0xC4, &[[0x00, 0, 0, 0, 12].as_slice(), &[0; 12], &core::array::from_fn::<u8, 12, _>(|i| i as u8)].concat());
        // Code of the end of a block: one bit, 0.
        segment(&mut file, 0xC4, &[[0x10, 1].as_slice(), &[0; 15], &[0]].concat());
        if let Some(interval) = self.restart_interval {
            segment(&mut file, 0xDD, &interval.to_be_bytes());
        }
        self.scan(&mut file, if self.is_progressive { [0, 0] } else { [0, 63] });
        if self.is_progressive {
            for component in 0..self.components.len() {
                self.empty_scan(&mut file, component);
            }
        }
        file.extend([0xFF, 0xD9]);
        file
    }

    /// All components together, coefficients `from` to `to`.
    fn scan(&self, file: &mut Vec<u8>, [from, to]: [u8; 2]) {
        let mut header = vec![self.components.len() as u8];
        (1..=self.components.len()).for_each(|id| header.extend([id as u8, 0x00]));
        segment(file, 0xDA, &[header.as_slice(), &[from, to, 0]].concat());
        let (h, v, _) = self.components[0];
        let mut bits = Bits::default();
        let mut before = vec![0; self.components.len()];
        let units = (0..self.down / v).flat_map(|y| (0..self.across / h).map(move |x| (x, y)));
        for (i, (x, y)) in units.enumerate() {
            if self.restarted(file, &mut bits, i) {
                before.fill(0);
            }
            for ((h, v, value), before) in self.components.iter().zip(&mut before) {
                for (bx, by) in (0..*v).flat_map(|by| (0..*h).map(move |bx| (bx, by))) {
                    let coefficient = i32::from(value(x * h + bx, y * v + by)) - 128;
                    bits.push_difference(coefficient - *before);
                    *before = coefficient;
                    if to > 0 {
                        bits.push(0, 1);
                    }
                }
            }
        }
        file.append(&mut bits.closed());
    }

    /// Ends an interval where unit `i` begins the next, if it does.
    fn restarted(&self, file: &mut Vec<u8>, bits: &mut Bits, i: usize) -> bool {
        let interval = self.restart_interval.map(usize::from).filter(|interval| i > 0 && i.is_multiple_of(*interval));
        if let Some(interval) = interval {
            file.append(&mut std::mem::take(bits).closed());
            file.extend([0xFF, 0xD0 + ((i / interval - 1) % 8) as u8]);
        }
        interval.is_some()
    }

    /// The coefficients that an even block doesn't have, of one component.
    fn empty_scan(&self, file: &mut Vec<u8>, component: usize) {
        segment(file, 0xDA, &[1, component as u8 + 1, 0x00, 1, 63, 0]);
        let [(h, v, _), (first_h, first_v, _)] = [self.components[component], self.components[0]];
        let blocks = (self.across * h / first_h) * (self.down * v / first_v);
        let mut bits = Bits::default();
        for i in 0..blocks {
            self.restarted(file, &mut bits, i);
            bits.push(0, 1);
        }
        file.append(&mut bits.closed());
    }
}

fn segment(file: &mut Vec<u8>, marker: u8, content: &[u8]) {
    file.extend([0xFF, marker]);
    file.extend(u16::try_from(content.len() + 2).unwrap().to_be_bytes());
    file.extend(content);
}

#[derive(Default)]
struct Bits(Vec<bool>);

impl Bits {
    fn push(&mut self, value: u32, count: u32) {
        self.0.extend((0..count).rev().map(|i| value >> i & 1 == 1));
    }

    /// Its number of bits, and the bits: a negative one's are those of its size turned over.
    fn push_difference(&mut self, difference: i32) {
        let count = u32::BITS - difference.unsigned_abs().leading_zeros();
        self.push(count, 4);
        let bits = if difference < 0 { difference - 1 } else { difference };
        self.push((bits as u32) & ((1 << count) - 1), count);
    }

    /// Filled up with ones, an FF followed by 00.
    fn closed(self) -> Vec<u8> {
        let byte = |bits: &[bool]| (0..8).fold(0, |byte, i| byte << 1 | u8::from(bits.get(i).copied().unwrap_or(true)));
        self.0.chunks(8).map(byte).flat_map(|b| if b == 0xFF { vec![0xFF, 0x00] } else { vec![b] }).collect()
    }
}
