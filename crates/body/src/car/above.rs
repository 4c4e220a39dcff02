//! A car from above: its front on the left, its left side below.

use super::frame::Frame;
use super::style::Tail;
use crate::curve::{Spot, bow, rounded};
use crate::draft::Draft;
use crate::outline::{Outline, Side};
use crate::panel::{STEEL, Stand};
use crate::shape::{Part, View};

const VIEW: View = View::Above;

/// Radius of the lines along a bonnet, mm. Judgement: softer than a swage, and still a line that a pad rides on.
const BONNET_LINE_RADIUS_MM: f64 = 25.0;
/// Radius of a boot lid's bend to its rear face, mm. Judgement: as of a bonnet's lines.
const BOOT_BEND_RADIUS_MM: f64 = 25.0;

/// A strip across the vehicle between two bows, each from its ends to its middle, `half` wide at its front and rear.
fn strip(frame: &Frame, [front, front_bow]: [f64; 2], [rear, rear_bow]: [f64; 2], half: [f64; 2]) -> Vec<Spot> {
    let middle = frame.width / 2.0;
    // Both bows go forward where they are positive; the sides swell a little.
    let swell = 0.012 * (rear - front);
    let mut corners = bow([front, middle + half[0]], [front, middle - half[0]], -front_bow, 8);
    corners.extend(bow([front, middle - half[0]], [rear, middle - half[1]], -swell, 6));
    corners.extend(bow([rear, middle - half[1]], [rear, middle + half[1]], rear_bow, 8));
    corners.extend(bow([rear, middle + half[1]], [front, middle + half[0]], -swell, 6));
    corners
}

/// Half the bonnet's width at a station.
fn bonnet_half(frame: &Frame, x: f64) -> f64 {
    0.80 * frame.half_width(x)
}

fn bonnet_strip(frame: &Frame) -> Vec<Spot> {
    let [front, rear] = [frame.nose[0] + 60.0, frame.cowl[0] - 50.0];
    strip(frame, [front, 50.0], [rear, 90.0], [bonnet_half(frame, front), bonnet_half(frame, rear)])
}

fn shell(frame: &Frame) -> Vec<Spot> {
    const STEPS: u32 = 28;
    let middle = frame.width / 2.0;
    let station = |i: u32| {
        let t = f64::from(i) / f64::from(STEPS);
        // Closer together at the ends, where it turns.
        frame.length * (0.5 - 0.5 * (t * std::f64::consts::PI).cos())
    };
    let (front, rear) = (frame.half_width(0.0), frame.half_width(frame.length));
    let below = (0..=STEPS).map(station).map(|x| [x.clamp(50.0, frame.length - 40.0), middle - frame.half_width(x)]);
    let mut shell: Vec<Spot> = below.collect();
    shell.extend(bow([frame.length - 40.0, middle - rear], [frame.length - 40.0, middle + rear], -40.0, 8));
    shell.extend((0..=STEPS).rev().map(station).map(|x| [x.clamp(50.0, frame.length - 40.0), middle + frame.half_width(x)]));
    shell.extend(bow([50.0, middle + front], [50.0, middle - front], -50.0, 8));
    shell
}

/// The whole from above, and the bonnet, worked from the front.
pub(crate) fn bonnet(frame: &Frame, draft: &mut Draft) {
    draft.part(VIEW, Part::Shell, shell(frame));
    let corners = bonnet_strip(frame);
    draft.panel_shape(VIEW, "bonnet", &corners);
    // From the front: the vehicle's left on the right, its rear above. Along the slope it is longer than from above.
    let rise = frame.cowl[1] - frame.nose[1];
    let slope = f64::hypot(1.0, rise / (frame.cowl[0] - frame.nose[0]));
    let from_front = |[x, y]: Spot| [frame.width - y, x * slope];
    let outline = Outline::free(&corners).moved(from_front);
    let middle = frame.width / 2.0;
    let line = |side: f64| {
        let at = |x: f64, share: f64| from_front([x, middle + side * share * frame.width]);
        (at(0.0, 0.19), at(frame.cowl[0], 0.27), BONNET_LINE_RADIUS_MM)
    };
    draft.single("bonnet", outline, Stand::Front, STEEL, &[line(1.0), line(-1.0)]);
}

/// Everything behind the bonnet.
pub(crate) fn rest(frame: &Frame, draft: &mut Draft) {
    if frame.style.has_roof {
        roof(frame, draft);
    } else {
        cockpit(frame, draft);
    }
    match frame.style.tail {
        Tail::Boot => boot(frame, draft),
        Tail::Bed => bed(frame, draft),
        Tail::Gate | Tail::Doors => {}
    }
}

fn roof(frame: &Frame, draft: &mut Draft) {
    let middle = frame.width / 2.0;
    let half = frame.style.roof_half * frame.width;
    let [front, rear] = [frame.roof[0][0] + 25.0, frame.roof[1][0] - 5.0];
    let rear_bow = if frame.style.tail == Tail::Boot { -45.0 } else { -15.0 };
    let corners = strip(frame, [front, 55.0], [rear, rear_bow], [half, 0.97 * half]);
    // Windows first: the roof lies upon their edges.
    let cowl = frame.cowl[0] - 10.0;
    draft.part(VIEW, Part::Glass, strip(frame, [cowl, 85.0], [front - 18.0, 55.0], [bonnet_half(frame, cowl) + 10.0, half - 25.0]));
    let belt = |x: f64| frame.half_width(x) - 55.0;
    let [low_front, high_front, high_rear, low_rear] = frame.glass;
    for side in [-1.0, 1.0] {
        let y = |from_middle: f64| middle + side * from_middle;
        let pane = vec![
            [low_front[0] + 40.0, y(belt(low_front[0]))],
            [low_rear[0], y(belt(low_rear[0]))],
            [high_rear[0], y(half + 22.0)],
            [high_front[0], y(half + 26.0)],
        ];
        draft.part(VIEW, Part::Glass, pane);
    }
    let foot = frame.rear_foot[0];
    if foot - rear > 90.0 {
        let wide = (frame.half_width(foot) - 170.0).min(bonnet_half(frame, foot));
        draft.part(VIEW, Part::Glass, strip(frame, [rear + 22.0, rear_bow], [foot - 30.0, rear_bow], [half - 35.0, wide]));
    }
    draft.panel_shape(VIEW, "roof", &corners);
    let lines = Outline::default().run(&corners, Side::Joined).closed();
    draft.single("roof", lines, Stand::LeftStep, STEEL, &[]);
}

/// A roadster's cockpit and the deck behind it.
fn cockpit(frame: &Frame, draft: &mut Draft) {
    let middle = frame.width / 2.0;
    let [front, rear] = [frame.cowl[0] + 60.0, frame.rear_foot[0]];
    let half = frame.half_width(front) - 120.0;
    draft.part(VIEW, Part::Hollow, strip(frame, [front, 70.0], [rear, -40.0], [half, half - 30.0]));
    for side in [-1.0, 1.0] {
        let centre = middle + side * 0.5 * half;
        let depth = rear - front;
        draft.part(
            VIEW,
            Part::Trim,
            rounded([front + 0.42 * depth, centre - 0.38 * half], [front + 0.95 * depth, centre + 0.38 * half], 90.0),
        );
        draft.part(
            VIEW,
            Part::Rim,
            rounded([front + 0.74 * depth, centre - 0.30 * half], [front + 0.90 * depth, centre + 0.30 * half], 60.0),
        );
    }
    let screen = frame.roof[0][0];
    draft.part(VIEW, Part::Glass, strip(frame, [frame.cowl[0] - 25.0, 85.0], [screen, 70.0], [half + 25.0, half - 40.0]));
}

fn boot(frame: &Frame, draft: &mut Draft) {
    let [front, rear] = [deck_front(frame), frame.length - 45.0];
    let wide = |x: f64| 0.80 * frame.half_width(x);
    let corners = strip(frame, [front, -45.0], [rear, -30.0], [wide(front), wide(rear)]);
    draft.panel_shape(VIEW, "boot lid", &corners);
    // From behind: its rear face, and above the bend the deck.
    let face = frame.tail[1] + 20.0 - (frame.bumper[1] + 8.0);
    let middle = frame.width / 2.0;
    let (low, high) = (wide(rear), wide(front));
    let top = face + rear - front;
    let mut lid = vec![[middle - low + 25.0, 0.0], [middle + low - 25.0, 0.0], [middle + low, face]];
    lid.extend(bow([middle + high, top], [middle - high, top], 45.0, 8));
    lid.push([middle - low, face]);
    draft.single("boot lid", Outline::free(&lid), Stand::Rear, STEEL, &[([0.0, face], [frame.width, face], BOOT_BEND_RADIUS_MM)]);
    if !frame.style.has_roof {
        let [from, to] = [frame.rear_foot[0] + 40.0, front - 45.0];
        let half = |x: f64| frame.half_width(x) - 130.0;
        let corners = strip(frame, [from, -40.0], [to, -45.0], [half(from), half(to)]);
        draft.panel_shape(VIEW, "rear deck", &corners);
        let outline = Outline::free(&corners).moved(|[x, y]| [y, frame.length - x]);
        draft.single("rear deck", outline, Stand::Rear, STEEL, &[]);
    }
}

/// Where a boot lid begins.
fn deck_front(frame: &Frame) -> f64 {
    if frame.style.has_roof { frame.rear_foot[0] + 40.0 } else { frame.rear_foot[0] + 0.36 * (frame.length - frame.rear_foot[0]) }
}

fn bed(frame: &Frame, draft: &mut Draft) {
    let side = 95.0;
    let low = [frame.rear_foot[0] + 50.0, side];
    draft.part(VIEW, Part::Hollow, rounded(low, [frame.length - 110.0, frame.width - side], 30.0));
    for share in [0.25, 0.5, 0.75] {
        let y = side + share * (frame.width - 2.0 * side);
        draft.part(VIEW, Part::Trim, rounded([low[0] + 60.0, y - 14.0], [frame.length - 170.0, y + 14.0], 10.0));
    }
}
