//! How much of a panel some rectangles cover.

use lastmicron_film::panel::Panel;

use crate::car::Worked;

/// Area of a panel that rectangles cover, m2, each part of it counted once.
///
/// Method: cut along every border into cells that lie wholly within or without each rectangle; of each cell covered, what lies on the outline (Sutherland &
/// Hodgman, Communications of the ACM 17, 1974: the area is right for outlines that are not convex too, since what joins their pieces encloses none).
pub(super) fn worked_m2(panel: &Panel, worked: &[&Worked]) -> f64 {
    let borders = |of: fn(&Worked) -> [f64; 2]| {
        let mut borders: Vec<f64> = worked.iter().flat_map(|w| of(w)).collect();
        borders.sort_by(f64::total_cmp);
        borders.dedup();
        borders
    };
    let columns = borders(|w| [w.x_mm, w.x_mm + w.width_mm]);
    let rows = borders(|w| [w.y_mm, w.y_mm + w.height_mm]);
    let mut area_mm2 = 0.0;
    for x in columns.windows(2) {
        for y in rows.windows(2) {
            let is_covered = |w: &&Worked| w.x_mm <= x[0] && x[1] <= w.x_mm + w.width_mm && w.y_mm <= y[0] && y[1] <= w.y_mm + w.height_mm;
            if worked.iter().any(is_covered) {
                area_mm2 += area_within_mm2(&panel.outline_mm, [x[0], y[0]], [x[1], y[1]]);
            }
        }
    }
    area_mm2 * 1e-6
}

fn area_within_mm2(outline_mm: &[[f64; 2]], low: [f64; 2], high: [f64; 2]) -> f64 {
    let mut corners = outline_mm.to_vec();
    for axis in 0..2 {
        corners = clipped(&corners, axis, |v| v - low[axis]);
        corners = clipped(&corners, axis, |v| high[axis] - v);
    }
    let next = corners.iter().cycle().skip(1);
    0.5 * corners.iter().zip(next).map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum::<f64>().abs()
}

/// What of a polygon lies where `inside` of its coordinate along an axis is not negative.
fn clipped(corners: &[[f64; 2]], axis: usize, inside: impl Fn(f64) -> f64) -> Vec<[f64; 2]> {
    let mut kept = Vec::with_capacity(corners.len() + 4);
    for (a, b) in corners.iter().zip(corners.iter().cycle().skip(1)) {
        let [from, to] = [a, b].map(|p| inside(p[axis]));
        if from >= 0.0 {
            kept.push(*a);
        }
        if (from >= 0.0) != (to >= 0.0) {
            let share = from / (from - to);
            kept.push([0, 1].map(|i| a[i] + share * (b[i] - a[i])));
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use lastmicron_film::gauge::Substrate;

    fn worked([x_mm, y_mm, width_mm, height_mm]: [f64; 4]) -> Worked {
        Worked { panel: 0, x_mm, y_mm, width_mm, height_mm, after: Vec::new(), kept_off: crate::KeptOff::default() }
    }

    fn covered(outline_mm: &[[f64; 2]], rectangles: &[[f64; 4]]) -> f64 {
        let panel = Panel { outline_mm: outline_mm.to_vec(), ..Panel::rectangle("", 1.0, 1.0, Substrate::Steel) };
        let all: Vec<Worked> = rectangles.iter().map(|r| worked(*r)).collect();
        worked_m2(&panel, &all.iter().collect::<Vec<_>>())
    }

    #[test]
    fn areas_are_those_of_elementary_geometry() {
        let square = [[0.0, 0.0], [1000.0, 0.0], [1000.0, 1000.0], [0.0, 1000.0]];
        let triangle = [[0.0, 0.0], [900.0, 0.0], [0.0, 700.0]];
        // A U: 1000 by 1000 less 400 by 600 from the top.
        let horseshoe =
            [[0.0, 0.0], [1000.0, 0.0], [1000.0, 1000.0], [700.0, 1000.0], [700.0, 400.0], [300.0, 400.0], [300.0, 1000.0], [0.0, 1000.0]];
        // [D] every one.
        type Case<'c> = (&'c [[f64; 2]], &'c [[f64; 4]], f64);
        let cases: [Case<'_>; 7] = [
            (&square, &[], 0.0),
            (&square, &[[100.0, 200.0, 500.0, 400.0]], 0.2),
            (&square, &[[0.0, 0.0, 500.0, 500.0], [250.0, 250.0, 500.0, 500.0]], 0.4375),
            (&square, &[[0.0, 0.0, 500.0, 500.0], [0.0, 0.0, 500.0, 500.0], [100.0, 100.0, 50.0, 50.0]], 0.25),
            (&triangle, &[[0.0, 0.0, 900.0, 700.0]], 0.315),
            (&triangle, &[[0.0, 0.0, 450.0, 350.0]], 0.1575),
            (&horseshoe, &[[0.0, 700.0, 1000.0, 300.0]], 0.18),
        ];
        for (outline, rectangles, m2) in cases {
            let found = covered(outline, rectangles);
            assert!((found - m2).abs() < 1e-12, "{found} for {m2}: {rectangles:?}");
        }
    }
}
