//! A car from before and from behind.

use super::frame::Frame;
use super::style::Tail;
use crate::curve::{Spot, back, bow, mirrored, rounded};
use crate::draft::Draft;
use crate::outline::{Outline, Side};
use crate::panel::{BUMPER, STEEL, Stand};
use crate::shape::{Part, View};

/// How far up its sides a body is widest, as a share from sill to belt.
const WIDE_TO: f64 = 0.70;

/// What both ends share: half widths by height.
struct End {
    middle: f64,
    /// Half the body's width at the sill, at its widest, at the belt, and at the roof's edge.
    low: f64,
    wide: f64,
    belt: f64,
    roof: f64,
    /// Height of the roof's edge.
    eaves: f64,
}

impl End {
    fn of(frame: &Frame) -> Self {
        let middle = frame.width / 2.0;
        Self {
            middle,
            low: middle - 55.0,
            wide: middle,
            belt: middle - 28.0,
            roof: frame.style.roof_half * frame.width + 25.0,
            eaves: frame.height - 85.0,
        }
    }

    /// Half the body's width at a height between its widest and the belt.
    fn half(&self, frame: &Frame, z: f64) -> f64 {
        let widest = frame.sill[0] + WIDE_TO * (frame.belt - frame.sill[0]);
        let t = ((z - widest) / (frame.belt - widest)).clamp(0.0, 1.0);
        self.wide + t * (self.belt - self.wide)
    }

    /// A shape whose left half is given upward.
    fn whole(&self, left: &[Spot]) -> Vec<Spot> {
        let mut whole = left.to_vec();
        whole.extend(mirrored(left, self.middle));
        whole
    }

    fn roof(&self, frame: &Frame) -> Vec<Spot> {
        let [left, right] = [self.middle - self.roof, self.middle + self.roof];
        let mut roof = vec![[right, self.eaves]];
        roof.extend(
            bow([right - 60.0, frame.height - 40.0], [left + 60.0, frame.height - 40.0], -40.0, 10)
                .into_iter()
                .map(|[x, z]| [x, z.min(frame.height)]),
        );
        roof.push([left, self.eaves]);
        roof
    }

    fn shell(&self, frame: &Frame) -> Vec<Spot> {
        let mut left = vec![
            [self.middle - self.low, frame.sill[0]],
            [self.middle - self.wide, frame.sill[0] + 0.35 * (frame.belt - frame.sill[0])],
            [self.middle - self.wide, frame.sill[0] + WIDE_TO * (frame.belt - frame.sill[0])],
            [self.middle - self.belt, frame.belt],
        ];
        if frame.style.has_roof {
            left.push([self.middle - self.roof, self.eaves]);
            left.push([self.middle - self.roof + 60.0, frame.height - 40.0]);
            left.extend(back(self.roof(frame)).into_iter().skip(1).filter(|p| p[0] <= self.middle));
        }
        self.whole(&left)
    }

    fn window(&self, low: f64, narrower: f64) -> Vec<Spot> {
        let z = self.eaves - 12.0;
        let mut window = vec![[self.middle - self.belt + 95.0 + narrower, low], [self.middle + self.belt - 95.0 - narrower, low]];
        let half = self.roof - 45.0 - 0.5 * narrower;
        window.extend(bow([self.middle + half, z - 18.0], [self.middle - half, z - 18.0], -18.0, 6));
        window
    }
}

/// Tyres under a car, and mirrors beside it.
fn beneath(frame: &Frame, draft: &mut Draft, view: View) {
    let tyre = rounded([45.0, 0.0], [255.0, frame.wheel_radius], 30.0);
    draft.end_pair(view, Part::Tyre, &tyre);
    let ear = rounded([-120.0, frame.belt + 30.0], [30.0, frame.belt + 165.0], 50.0);
    draft.end_pair(view, Part::Trim, &ear);
}

/// A bumper over the whole width.
fn bumper(frame: &Frame, high: f64) -> Vec<Spot> {
    let low = frame.sill[0];
    let end = End::of(frame);
    let left = [
        [end.middle - end.low + 75.0, low],
        [end.middle - end.low + 25.0, low + 18.0],
        [end.middle - end.low - 10.0, low + 0.3 * (high - low)],
        [0.0, low + 0.72 * (high - low)],
        [0.0, high],
    ];
    end.whole(&left)
}

/// The front bumper, and what shows beside it.
pub(crate) fn front(frame: &Frame, draft: &mut Draft) {
    const VIEW: View = View::Front;
    let end = End::of(frame);
    beneath(frame, draft, VIEW);
    draft.part(VIEW, Part::Shell, end.shell(frame));
    let corners = bumper(frame, frame.bumper[0]);
    draft.single("front bumper", Outline::free(&corners), Stand::Front, BUMPER, &[]);
    draft.panel_shape(VIEW, "front bumper", &corners);

    let (low, high, cowl) = (frame.bumper[0] + 8.0, frame.nose[1], frame.cowl[1]);
    let lamp = 0.23 * frame.width;
    draft.end_pair(VIEW, Part::Headlamp, &rounded([22.0, low + 10.0], [lamp, high - 12.0], 0.35 * (high - low)));
    draft.part(VIEW, Part::Trim, rounded([lamp + 30.0, low + 10.0], [frame.width - lamp - 30.0, high - 22.0], 24.0));
    let [foot, rear] = [0.39 * frame.width, 0.405 * frame.width];
    let mut bonnet = vec![[end.middle - foot, high], [end.middle + foot, high]];
    bonnet.extend(bow([end.middle + rear, cowl - 25.0], [end.middle - rear, cowl - 25.0], -22.0, 8));
    draft.panel_shape(VIEW, "bonnet", &bonnet);
    // The vehicle's left is on the right.
    let wing = vec![
        [end.middle + foot, high],
        [end.middle + end.half(frame, high), high],
        [end.middle + end.belt, frame.belt - 10.0],
        [end.middle + rear, cowl - 25.0],
    ];
    draft.panel_shape(VIEW, "left front wing", &wing);
    draft.panel_shape(VIEW, "right front wing", &mirrored(&wing, end.middle));
    if frame.style.has_roof {
        draft.part(VIEW, Part::Glass, end.window(cowl + 12.0, 0.0));
        draft.panel_shape(VIEW, "roof", &end.roof(frame));
    } else {
        open_top(frame, draft, VIEW);
    }
}

/// A roadster's windscreen; from behind, its seats stand before it.
fn open_top(frame: &Frame, draft: &mut Draft, view: View) {
    let middle = frame.width / 2.0;
    let [foot, top] = [0.41 * frame.width, 0.35 * frame.width];
    let mut screen = vec![[middle - foot, frame.cowl[1] - 6.0], [middle + foot, frame.cowl[1] - 6.0]];
    screen.extend(bow([middle + top, frame.height - 20.0], [middle - top, frame.height - 20.0], -20.0, 6));
    draft.part(view, Part::Glass, screen);
    if view == View::Rear {
        let seat = rounded([0.20 * frame.width, frame.belt - 60.0], [0.42 * frame.width, frame.belt + 215.0], 70.0);
        draft.end_pair(view, Part::Trim, &seat);
    }
}

/// The tail and the rear bumper.
pub(crate) fn rear(frame: &Frame, draft: &mut Draft) {
    const VIEW: View = View::Rear;
    let end = End::of(frame);
    beneath(frame, draft, VIEW);
    if !frame.style.has_roof {
        open_top(frame, draft, VIEW);
    }
    draft.part(VIEW, Part::Shell, end.shell(frame));
    let (low, lamp) = (frame.bumper[1] + 8.0, 0.16 * frame.width);
    match frame.style.tail {
        Tail::Boot => {
            if frame.style.has_roof {
                draft.part(VIEW, Part::Glass, end.window(frame.rear_foot[1] + 10.0, 25.0));
            }
            let half = 0.5 * frame.width - lamp - 25.0;
            let top = frame.tail[1] + 20.0;
            let mut lid = vec![[end.middle - half, low], [end.middle + half, low], [end.middle + half + 25.0, top]];
            lid.extend(bow([end.middle + half + 20.0, top + 5.0], [end.middle - half - 20.0, top + 5.0], -15.0, 6));
            lid.push([end.middle - half - 25.0, top]);
            draft.panel_shape(VIEW, "boot lid", &lid);
            draft.end_pair(VIEW, Part::TailLamp, &rounded([20.0, low + 25.0], [lamp, frame.tail[1] - 30.0], 40.0));
        }
        Tail::Gate => {
            let half = 0.5 * frame.width - lamp - 12.0;
            let window = frame.belt + 25.0;
            draft.part(VIEW, Part::Glass, end.window(window + 12.0, 30.0));
            let corners = [
                [end.middle - half, low],
                [end.middle + half, low],
                [end.middle + half + 60.0, window],
                [end.middle - half - 60.0, window],
            ];
            let gate =
                Outline::default().run(&corners[..2], Side::Free).run(&corners[2..3], Side::Joined).run(&corners[3..], Side::Free).closed();
            let crease = low + 0.62 * (window - low);
            draft.single("tailgate", gate, Stand::Rear, STEEL, &[([0.0, crease], [frame.width, crease], 15.0)]);
            draft.panel_shape(VIEW, "tailgate", &corners);
            draft.end_pair(VIEW, Part::TailLamp, &rounded([18.0, low + 0.35 * (window - low)], [lamp - 58.0, window - 40.0], 45.0));
        }
        Tail::Bed => {
            draft.part(VIEW, Part::Glass, end.window(frame.bed + 30.0, 120.0));
            let corners = rounded([lamp - 60.0, low], [frame.width - lamp + 60.0, frame.bed - 5.0], 12.0);
            let crease = low + 0.6 * (frame.bed - low);
            draft.single("tailgate", Outline::free(&corners), Stand::Rear, STEEL, &[([0.0, crease], [frame.width, crease], 15.0)]);
            draft.panel_shape(VIEW, "tailgate", &corners);
            draft.end_pair(VIEW, Part::TailLamp, &rounded([25.0, low + 15.0], [lamp - 85.0, frame.bed - 40.0], 25.0));
        }
        Tail::Doors => {
            let window = frame.belt + 110.0;
            let edge = 0.07 * frame.width;
            let slant = (end.roof - 20.0 - (end.middle - edge)) * (window - low) / (end.eaves - low);
            let corners = [[edge, low], [end.middle - 4.0, low], [end.middle - 4.0, window], [edge - slant, window]];
            let door =
                Outline::default().run(&corners[..2], Side::Free).run(&corners[2..3], Side::Joined).run(&corners[3..], Side::Free).closed();
            draft.rear_pair("rear door", door, STEEL, &[]);
            let pane = [
                [edge - slant + 75.0, window + 20.0],
                [end.middle - 45.0, window + 20.0],
                [end.middle - 45.0, end.eaves - 60.0],
                [end.middle - end.roof + 95.0, end.eaves - 60.0],
            ];
            draft.end_pair(VIEW, Part::Glass, &pane);
            draft.end_pair(VIEW, Part::TailLamp, &rounded([16.0, low + 40.0], [edge - 24.0, frame.belt], 25.0));
        }
    }
    if frame.style.has_roof {
        draft.panel_shape(VIEW, "roof", &end.roof(frame));
    }
    let corners = bumper(frame, frame.bumper[1]);
    draft.single("rear bumper", Outline::free(&corners), Stand::Rear, BUMPER, &[]);
    draft.panel_shape(VIEW, "rear bumper", &corners);
}
