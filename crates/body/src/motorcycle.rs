//! A body on two wheels.

use crate::curve::{Spot, band, bow, ellipse, rounded};
use crate::dimensions::{Dimensions, Measure};
use crate::draft::Draft;
use crate::error::{BodyError, Room};
use crate::kind::Kind;
use crate::outline::{Outline, Side};
use crate::panel::{PLASTIC, STEEL, Stand};
use crate::shape::{Part, View};

/// Half the width of a tyre, a mudguard and the tank at its widest, mm. Judgement: about the middle of what there is.
const TYRE_HALF: f64 = 65.0;
const GUARD_HALF: f64 = 80.0;
const TANK_HALF: f64 = 165.0;
/// Half the width of the tank's top, between its sides, mm. Judgement: where the sides begin to fall away.
const TOP_HALF: f64 = 70.0;
/// From a tyre to its mudguard, and the mudguard's height, mm.
const GUARD_GAP: f64 = 14.0;
const GUARD: f64 = 46.0;

struct Frame {
    length: f64,
    width: f64,
    height: f64,
    radius: f64,
    front: Spot,
    rear: Spot,
    seat: f64,
    /// The tank's ends.
    tank: [f64; 2],
    clearance: f64,
}

/// A motorcycle.
pub(crate) fn drawn(dimensions: Dimensions) -> Result<Draft, BodyError> {
    let frame = Frame::new(&dimensions)?;
    let mut draft = Draft::new(frame.length, frame.width);
    // What lies behind the panels of a side, then the panels in the order of a walk.
    frame.running_gear(&mut draft);
    frame.tank(&mut draft);
    frame.covers(&mut draft);
    frame.saddle(&mut draft);
    frame.guards(&mut draft);
    frame.front_view(&mut draft);
    frame.rear_view(&mut draft);
    frame.view_above(&mut draft);
    Ok(draft)
}

impl Frame {
    fn new(dimensions: &Dimensions) -> Result<Self, BodyError> {
        let [length, width, height, wheelbase, overhang, seat, before_tank, tank_length, wheel, clearance] =
            Measure::ALL.map(|measure| dimensions.get(measure));
        let room = Room(Kind::Motorcycle);
        let radius = wheel / 2.0;
        let (front, rear) = ([overhang, radius], [overhang + wheelbase, radius]);
        let tank = [before_tank, before_tank + tank_length];
        let guard = GUARD_GAP + GUARD;
        room.at_least(radius, "the front wheel", overhang, [Measure::FrontOverhang, Measure::Wheel, Measure::Length])?;
        room.at_least(radius, "the rear wheel", length - rear[0], [Measure::Length, Measure::Wheelbase, Measure::FrontOverhang])?;
        room.at_least(245.0, "the tank and the handlebar above the seat", height - seat, [Measure::Height, Measure::Belt, Measure::Wheel])?;
        room.at_least(
            70.0,
            "the steering head behind the front axle",
            tank[0] - front[0] - 160.0,
            [Measure::Bonnet, Measure::FrontOverhang, Measure::Wheel],
        )?;
        room.at_least(470.0, "the seat behind the tank", length - tank[1] - 130.0, [Measure::Length, Measure::Bonnet, Measure::Roof])?;
        let above_wheel = seat - 75.0 - (2.0 * radius + guard);
        room.at_least(5.0, "the seat above the rear wheel", above_wheel, [Measure::Belt, Measure::Wheel, Measure::Height])?;
        room.at_least(
            400.0,
            "the engine between the wheels",
            rear[0] - front[0] - 2.0 * (radius + guard),
            [Measure::Wheelbase, Measure::Wheel, Measure::Length],
        )?;
        let side_cover = rear[0] - radius - guard - (tank[1] - 130.0);
        room.at_least(85.0, "the side covers before the rear wheel", side_cover, [Measure::Wheelbase, Measure::Bonnet, Measure::Roof])?;
        Ok(Self { length, width, height, radius, front, rear, seat, tank, clearance })
    }

    /// The upper end of the fork.
    fn head(&self) -> Spot {
        [self.tank[0] - 45.0, self.seat + 165.0]
    }

    fn seat_end(&self) -> f64 {
        self.length - 130.0
    }

    fn running_gear(&self, draft: &mut Draft) {
        let [front, rear] = [self.front, self.rear];
        for axle in [rear, front] {
            draft.side_part(Part::Tyre, &ellipse(axle, self.radius, self.radius, 40));
            draft.side_part(Part::Rim, &ellipse(axle, 0.77 * self.radius, 0.77 * self.radius, 32));
            draft.side_part(Part::Shell, &ellipse(axle, 0.69 * self.radius, 0.69 * self.radius, 32));
            for spoke in 0..5_u32 {
                let (sin, cos) = (f64::from(spoke) * std::f64::consts::TAU / 5.0 + 0.3).sin_cos();
                let at = |r: f64| [axle[0] + r * self.radius * cos, axle[1] + r * self.radius * sin];
                draft.side_part(Part::Trim, &band(&[at(0.08), at(0.72)], 30.0));
            }
            draft.side_part(Part::Trim, &ellipse(axle, 0.30 * self.radius, 0.30 * self.radius, 20));
        }
        let pivot = [self.rear[0] - self.radius - 90.0, self.radius + 95.0];
        let crank = [(self.tank[0] + pivot[0]) / 2.0 + 20.0, self.clearance + 170.0];
        draft.side_part(Part::Trim, &band(&[pivot, rear], 55.0));
        draft.side_part(Part::Trim, &band(&[[pivot[0] + 40.0, self.seat - 60.0], [rear[0] - 60.0, rear[1] + 40.0]], 40.0));
        draft.side_part(
            Part::Trim,
            &band(&[self.head(), [self.tank[0] + 40.0, self.seat - 60.0], [crank[0] - 190.0, crank[1] - 60.0]], 38.0),
        );
        draft.side_part(Part::Trim, &band(&[[self.tank[1] - 60.0, self.seat - 30.0], pivot], 38.0));
        draft.side_part(Part::Trim, &band(&[[self.tank[0] + 20.0, self.seat - 10.0], [self.seat_end() - 60.0, self.seat - 25.0]], 34.0));
        // The engine: cylinder with its fins, and the crankcase.
        let up = [crank[0] - 75.0, self.seat - 55.0];
        draft.side_part(Part::Trim, &band(&[[crank[0] - 30.0, crank[1]], up], 190.0));
        for fin in 0..4_u32 {
            let t = 0.46 + 0.13 * f64::from(fin);
            let at = [crank[0] - 30.0 + t * (up[0] - crank[0] + 30.0), crank[1] + t * (up[1] - crank[1])];
            draft.side_part(Part::Rim, &band(&[[at[0] - 112.0, at[1] - 14.0], [at[0] + 112.0, at[1] + 14.0]], 16.0));
        }
        draft.side_part(Part::Trim, &rounded([crank[0] - 215.0, self.clearance], [pivot[0] + 30.0, crank[1] + 95.0], 95.0));
        draft.side_part(Part::Rim, &ellipse([crank[0] + 35.0, crank[1] - 25.0], 92.0, 92.0, 24));
        let mut pipe =
            vec![[up[0] - 70.0, self.seat - 190.0], [up[0] - 165.0, crank[1] + 110.0], [crank[0] - 225.0, self.clearance + 75.0]];
        pipe.extend([
            [crank[0] - 130.0, self.clearance + 28.0],
            [pivot[0], self.clearance + 50.0],
            [pivot[0] + 60.0, self.clearance + 70.0],
        ]);
        draft.side_part(Part::Rim, &band(&pipe, 42.0));
        draft.side_part(Part::Rim, &band(&[[pivot[0] + 30.0, self.clearance + 62.0], [rear[0] + 90.0, self.clearance + 150.0]], 96.0));
        // Fork, headlamp, handlebar.
        draft.side_part(Part::Rim, &band(&[front, self.head()], 46.0));
        draft.side_part(
            Part::Trim,
            &band(&[front, [front[0] + 0.42 * (self.head()[0] - front[0]), front[1] + 0.42 * (self.head()[1] - front[1])]], 66.0),
        );
        let lamp = [self.tank[0] - 165.0, self.seat + 110.0];
        draft.side_part(Part::Trim, &ellipse([lamp[0] + 20.0, lamp[1]], 88.0, 92.0, 24));
        draft.side_part(Part::Headlamp, &bow([lamp[0] - 30.0, lamp[1] + 84.0], [lamp[0] - 30.0, lamp[1] - 84.0], -46.0, 8));
        let grip = [self.tank[0] + 105.0, self.height - 62.0];
        let bar = [
            [self.head()[0], self.head()[1] - 20.0],
            [self.head()[0] - 5.0, self.height - 40.0],
            [self.tank[0] + 10.0, self.height - 28.0],
            grip,
        ];
        draft.side_part(Part::Trim, &band(&bar, 34.0));
    }

    fn tank(&self, draft: &mut Draft) {
        let [front, rear] = self.tank;
        let long = rear - front;
        let seat = self.seat;
        let lower = [[front + 25.0, seat + 5.0], [front + 0.5 * long, seat - 42.0], [rear - 10.0, seat - 12.0]];
        let mut upper = bow([rear, seat + 28.0], [front + 0.42 * long, seat + 190.0], -22.0, 7);
        upper.extend(bow([front + 0.42 * long, seat + 190.0], [front, seat + 120.0], -22.0, 6));
        let outline =
            Outline::default().run(&lower, Side::Free).run(&upper, Side::Joined).run(&[[front + 2.0, seat + 60.0]], Side::Joined).closed();
        draft.sides("tank side", outline, STEEL, &[]);
        let top = strip_above(self.width / 2.0, self.tank, [0.75 * TOP_HALF, TOP_HALF]);
        draft.single("tank top", Outline::default().run(&top, Side::Joined).closed(), Stand::Left, STEEL, &[]);
    }

    fn covers(&self, draft: &mut Draft) {
        let (seat, rear) = (self.seat, self.tank[1]);
        let end = self.rear[0] - self.radius - GUARD_GAP - GUARD - 15.0;
        let side = [[rear - 120.0, seat - 235.0], [end - 10.0, seat - 250.0], [end + 60.0, seat - 80.0], [rear - 150.0, seat - 70.0]];
        draft.sides("side cover", Outline::free(&side), PLASTIC, &[]);
        let tail = self.seat_end();
        let mut cover =
            vec![[tail - 300.0, seat - 55.0], [tail - 60.0, seat - 20.0], [tail + 20.0, seat + 40.0], [tail - 10.0, seat + 78.0]];
        cover.extend(bow([tail - 30.0, seat + 78.0], [tail - 310.0, seat + 8.0], 10.0, 5));
        draft.sides("tail cover", Outline::free(&cover), PLASTIC, &[]);
        draft.side_part(
            Part::TailLamp,
            &[[tail - 20.0, seat + 12.0], [tail + 45.0, seat + 22.0], [tail + 40.0, seat + 62.0], [tail - 2.0, seat + 74.0]],
        );
    }

    fn saddle(&self, draft: &mut Draft) {
        let (seat, front, end) = (self.seat, self.tank[1], self.seat_end());
        let mut saddle =
            vec![[front - 20.0, seat - 22.0], [end - 310.0, seat + 4.0], [end - 40.0, seat + 76.0], [end - 60.0, seat + 104.0]];
        saddle.extend(bow([end - 90.0, seat + 106.0], [front + 130.0, seat + 14.0], 26.0, 6));
        saddle.extend([[front + 40.0, seat + 24.0], [front + 2.0, seat + 48.0]]);
        draft.side_part(Part::Trim, &saddle);
    }

    /// Mudguards: seen from the sides as bands over the wheels, worked as strips.
    fn guards(&self, draft: &mut Draft) {
        let radius = self.radius + GUARD_GAP + GUARD / 2.0;
        for (name, axle, from_deg, to_deg, stand) in
            [("front mudguard", self.front, 35.0_f64, 142.0_f64, Stand::Front), ("rear mudguard", self.rear, 36.0, 118.0, Stand::Rear)]
        {
            let course: Vec<Spot> = (0..=14_u32)
                .map(|i| {
                    let (sin, cos) = (from_deg + (to_deg - from_deg) * f64::from(i) / 14.0).to_radians().sin_cos();
                    [axle[0] + radius * cos, axle[1] + radius * sin]
                })
                .collect();
            draft.single_from_sides(name, &band(&course, GUARD));
            let long = radius * (to_deg - from_deg).to_radians();
            let strip = rounded([0.0, 0.0], [2.0 * GUARD_HALF, long], 60.0);
            draft.single(name, Outline::free(&strip), stand, PLASTIC, &[([GUARD_HALF, 0.0], [GUARD_HALF, long], 60.0)]);
        }
    }

    /// A wheel with its mudguard, from either end.
    fn wheel(&self, draft: &mut Draft, view: View, guard: &str, low: f64) {
        let middle = self.width / 2.0;
        draft.part(view, Part::Tyre, rounded([middle - TYRE_HALF, 0.0], [middle + TYRE_HALF, 2.0 * self.radius], 60.0));
        let top = 2.0 * self.radius + GUARD_GAP + GUARD;
        draft.panel_shape(view, guard, &rounded([middle - GUARD_HALF, low], [middle + GUARD_HALF, top], 60.0));
    }

    fn bars(&self, draft: &mut Draft, view: View) {
        let middle = self.width / 2.0;
        let bar = [[middle, self.head()[1] - 10.0], [middle - 90.0, self.height - 45.0], [20.0, self.height - 60.0]];
        draft.end_pair(view, Part::Trim, &band(&bar, 32.0));
        draft.end_pair(view, Part::Trim, &rounded([0.0, self.height - 82.0], [140.0, self.height - 38.0], 18.0));
    }

    /// The tank's side right of the middle, as far as it shows above `low`.
    fn tank_half(&self, low: f64) -> Vec<Spot> {
        let (middle, seat) = (self.width / 2.0, self.seat);
        let wide = middle + TANK_HALF;
        let mut half = vec![[middle + TOP_HALF, low], [wide - 10.0, low], [wide, low.max(seat + 60.0) + 15.0]];
        half.extend(bow([wide - 5.0, seat + 105.0], [middle + TOP_HALF, seat + 178.0], -14.0, 5));
        half
    }

    fn front_view(&self, draft: &mut Draft) {
        const VIEW: View = View::Front;
        let (middle, seat) = (self.width / 2.0, self.seat);
        draft.end_pair(VIEW, Part::Rim, &rounded([middle - 190.0, self.clearance + 20.0], [middle, seat - 260.0], 60.0));
        draft.end_pair(VIEW, Part::Trim, &rounded([middle - 150.0, self.clearance], [middle, seat - 40.0], 50.0));
        let half = self.tank_half(self.seat - 20.0);
        draft.panel_shape(VIEW, "left tank side", &half);
        draft.panel_shape(VIEW, "right tank side", &crate::curve::mirrored(&half, middle));
        self.wheel(draft, VIEW, "front mudguard", self.radius + 120.0);
        draft.end_pair(VIEW, Part::Rim, &band(&[[middle - 118.0, self.radius - 40.0], [middle - 118.0, self.head()[1]]], 46.0));
        self.bars(draft, VIEW);
        draft.part(VIEW, Part::Trim, ellipse([middle, seat + 110.0], 105.0, 105.0, 28));
        draft.part(VIEW, Part::Headlamp, ellipse([middle, seat + 110.0], 84.0, 84.0, 28));
    }

    fn rear_view(&self, draft: &mut Draft) {
        const VIEW: View = View::Rear;
        let (middle, seat) = (self.width / 2.0, self.seat);
        draft.end_pair(VIEW, Part::Trim, &rounded([middle - 185.0, self.clearance + 40.0], [middle, seat - 60.0], 50.0));
        self.bars(draft, VIEW);
        let half = self.tank_half(self.seat + 74.0);
        draft.panel_shape(VIEW, "right tank side", &half);
        draft.panel_shape(VIEW, "left tank side", &crate::curve::mirrored(&half, middle));
        self.wheel(draft, VIEW, "rear mudguard", self.radius + 70.0);
        draft.end_pair(VIEW, Part::Rim, &rounded([middle - 215.0, self.clearance + 60.0], [middle - 115.0, self.clearance + 180.0], 48.0));
        let cover =
            vec![[middle + 62.0, seat - 45.0], [middle + 125.0, seat - 20.0], [middle + 140.0, seat + 70.0], [middle + 62.0, seat + 70.0]];
        draft.panel_shape(VIEW, "right tail cover", &cover);
        draft.panel_shape(VIEW, "left tail cover", &crate::curve::mirrored(&cover, middle));
        draft.part(VIEW, Part::TailLamp, rounded([middle - 62.0, seat - 20.0], [middle + 62.0, seat + 60.0], 22.0));
        draft.part(VIEW, Part::Trim, rounded([middle - 150.0, seat + 72.0], [middle + 150.0, seat + 140.0], 34.0));
    }

    fn view_above(&self, draft: &mut Draft) {
        const VIEW: View = View::Above;
        let middle = self.width / 2.0;
        for axle in [self.front, self.rear] {
            draft.part(
                VIEW,
                Part::Tyre,
                rounded([axle[0] - self.radius, middle - TYRE_HALF], [axle[0] + self.radius, middle + TYRE_HALF], 60.0),
            );
        }
        let guard = |axle: Spot, from: f64, to: f64| {
            rounded([axle[0] + from * self.radius, middle - GUARD_HALF], [axle[0] + to * self.radius, middle + GUARD_HALF], 50.0)
        };
        draft.panel_shape(VIEW, "front mudguard", &guard(self.front, -0.88, 0.55));
        draft.part(VIEW, Part::Rim, rounded([self.tank[0] - 40.0, middle - 190.0], [self.tank[1] - 40.0, middle + 190.0], 60.0));
        draft.part(VIEW, Part::Trim, ellipse([self.tank[0] - 150.0, middle], 105.0, 105.0, 24));
        let grip = self.tank[0] + 105.0;
        let bar = [
            [grip, 20.0],
            [self.tank[0] - 30.0, middle - 150.0],
            [self.tank[0] - 45.0, middle],
            [self.tank[0] - 30.0, middle + 150.0],
            [grip, self.width - 20.0],
        ];
        draft.part(VIEW, Part::Trim, band(&bar, 34.0));
        let side = |sign: f64| {
            let [front, rear] = self.tank;
            let y = |half: f64| middle + sign * half;
            let mut outer = bow([front + 10.0, y(110.0)], [rear, y(105.0)], sign * 58.0, 8);
            outer.extend([[rear, y(TOP_HALF)], [front + 10.0, y(0.75 * TOP_HALF)]]);
            outer
        };
        draft.panel_shape(VIEW, "left tank side", &side(-1.0));
        draft.panel_shape(VIEW, "right tank side", &side(1.0));
        draft.panel_shape(VIEW, "tank top", &strip_above(middle, self.tank, [0.75 * TOP_HALF, TOP_HALF]));
        let tail = self.seat_end();
        for (name, sign) in [("left tail cover", -1.0), ("right tail cover", 1.0)] {
            let cover = [
                [tail - 300.0, middle + sign * 150.0],
                [tail - 20.0, middle + sign * 115.0],
                [tail - 20.0, middle],
                [tail - 300.0, middle],
            ];
            draft.panel_shape(VIEW, name, &cover);
        }
        let mut saddle = bow([self.tank[1] + 8.0, middle - 100.0], [tail - 60.0, middle - 105.0], -30.0, 6);
        saddle.extend(bow([tail - 60.0, middle + 105.0], [self.tank[1] + 8.0, middle + 100.0], -30.0, 6));
        draft.part(VIEW, Part::Trim, saddle);
        draft.part(VIEW, Part::TailLamp, rounded([tail - 14.0, middle - 60.0], [tail + 35.0, middle + 60.0], 20.0));
    }
}

/// A strip along the middle from above, narrower at its front.
fn strip_above(middle: f64, [front, rear]: [f64; 2], [front_half, rear_half]: [f64; 2]) -> Vec<Spot> {
    vec![[front + 10.0, middle - front_half], [rear, middle - rear_half], [rear, middle + rear_half], [front + 10.0, middle + front_half]]
}
