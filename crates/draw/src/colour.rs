//! The colour scale: cividis, even in lightness and the same to those who see red and green alike.

/// Every fifth of cividis' 256 stops.
///
/// Source: J. R. Nunez, C. R. Anderton, R. S. Renslow, "Optimizing colormaps with consideration for color vision deficiency to enable
/// accurate interpretation of scientific data", PLoS ONE 13(7) e0199239, 2018 (its supplementary table). \[C\] computed from the
/// public-domain table in matplotlib 3.11, rounded to eight bits. Between stops the straight line is at most 4 of 255 off the table.
const STOPS: [[u8; 3]; 52] = [
    [0, 34, 78],
    [0, 38, 86],
    [0, 42, 95],
    [0, 45, 104],
    [0, 48, 112],
    [8, 51, 112],
    [22, 55, 112],
    [32, 58, 111],
    [39, 62, 110],
    [46, 65, 109],
    [52, 69, 108],
    [58, 72, 108],
    [63, 76, 108],
    [68, 79, 108],
    [73, 83, 108],
    [78, 86, 108],
    [83, 90, 109],
    [87, 93, 109],
    [92, 97, 110],
    [96, 100, 111],
    [101, 104, 112],
    [105, 107, 113],
    [109, 111, 114],
    [114, 114, 116],
    [118, 118, 118],
    [122, 122, 120],
    [126, 125, 120],
    [131, 129, 121],
    [136, 133, 120],
    [141, 136, 120],
    [146, 140, 120],
    [150, 144, 119],
    [155, 148, 118],
    [160, 152, 117],
    [165, 156, 116],
    [170, 160, 115],
    [175, 164, 113],
    [181, 168, 111],
    [186, 172, 109],
    [191, 176, 107],
    [196, 180, 104],
    [201, 185, 101],
    [207, 189, 98],
    [212, 193, 95],
    [218, 198, 91],
    [223, 202, 87],
    [229, 207, 82],
    [234, 211, 76],
    [240, 216, 70],
    [246, 221, 63],
    [252, 226, 54],
    [254, 232, 56],
];

/// Red, green and blue of cividis at `share` of the scale, 0 (dark blue, least) to 1 (yellow, most); anything beyond is the end's colour.
#[must_use]
pub fn cividis(share: f64) -> [u8; 3] {
    let last = STOPS.len() - 1;
    let position = share.clamp(0.0, 1.0) * last as f64;
    let below = (0..last).rev().find(|&i| i as f64 <= position).unwrap_or(0);
    let weight = if position.is_finite() { position - below as f64 } else { 0.0 };
    let (low, high) = (STOPS[below], STOPS[below + 1]);
    std::array::from_fn(|k| mixed(low[k], high[k], weight))
}

/// A grey for the scale of uncertainty: the less sure, the darker, and never so dark that a number on it can't be read.
pub(crate) fn grey(share: f64) -> [u8; 3] {
    [mixed(245, 140, if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 }); 3]
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a mean of two bytes, rounded, is a byte")]
fn mixed(low: u8, high: u8, weight: f64) -> u8 {
    (f64::from(low) + weight * (f64::from(high) - f64::from(low))).round() as u8
}

pub(crate) fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_follows_the_published_table_within_four_of_255() {
        // [C] stops of the full table that are not among ours.
        let table = [(32, [26, 56, 111]), (77, [80, 87, 108]), (128, [125, 124, 120]), (201, [197, 181, 104])];
        for (stop, expected) in table {
            let got = cividis(f64::from(stop) / 255.0);
            for k in 0..3 {
                assert!(got[k].abs_diff(expected[k]) <= 4, "stop {stop}: {got:?} against {expected:?}");
            }
        }
        assert_eq!(cividis(0.0), [0, 34, 78]);
        assert_eq!(cividis(1.0), [254, 232, 56]);
        assert_eq!(cividis(-3.0), cividis(0.0));
        assert_eq!(cividis(7.0), cividis(1.0));
    }

    #[test]
    fn more_is_always_lighter() {
        let luma = |share: f64| {
            let [r, g, b] = cividis(share).map(f64::from);
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        for i in 0..100 {
            assert!(luma(f64::from(i + 1) / 100.0) >= luma(f64::from(i) / 100.0) - 0.5, "at {i} %");
        }
        assert!(grey(0.0)[0] > grey(1.0)[0]);
    }
}
