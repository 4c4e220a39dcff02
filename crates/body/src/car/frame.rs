//! Where everything is along a car, seen from its left: x from its front end, y from the ground.

use super::arch::Arch;
use super::style::{Opens, Style, Tail};
use crate::curve::{Spot, bow};
use crate::dimensions::{Dimensions, Measure};
use crate::error::{BodyError, Room};
use crate::kind::Kind;

/// Between a tyre and its arch, mm.
const ARCH_GAP: f64 = 45.0;
/// From an arch to the nearest shut line, mm.
const ARCH_TO_SHUT: f64 = 55.0;
/// Height of a roof rail, mm.
const RAIL: f64 = 75.0;
/// Thickness of a windscreen pillar from the side, mm.
const PILLAR: f64 = 95.0;

/// A car's stations.
#[derive(Clone, Debug)]
pub(crate) struct Frame {
    pub(crate) style: Style,
    pub(crate) length: f64,
    pub(crate) width: f64,
    pub(crate) height: f64,
    pub(crate) wheel_radius: f64,
    pub(crate) front: Arch,
    pub(crate) rear: Arch,
    /// Lower and upper edge of the sills.
    pub(crate) sill: [f64; 2],
    pub(crate) belt: f64,
    /// Upper edges of the bumpers, front and rear.
    pub(crate) bumper: [f64; 2],
    /// The bonnet's front edge.
    pub(crate) nose: Spot,
    /// The foot of the windscreen.
    pub(crate) cowl: Spot,
    /// The roof's ends; a roadster's windscreen twice.
    pub(crate) roof: [Spot; 2],
    /// Where the rear window ends: at the boot, in the tailgate, at a cab's back.
    pub(crate) rear_foot: Spot,
    /// The upper edge of the tail.
    pub(crate) tail: Spot,
    /// Side windows: lower front, upper front, upper rear, lower rear.
    pub(crate) glass: [Spot; 4],
    /// Shut lines upward: the first door's front, between doors, the last door's rear.
    pub(crate) shuts: [Option<Vec<Spot>>; 3],
    /// Upper edge of a bed's sides.
    pub(crate) bed: f64,
}

impl Frame {
    #[expect(clippy::too_many_lines, reason = "a list of stations in the order in which each needs the one before")]
    pub(crate) fn new(kind: Kind, dimensions: &Dimensions) -> Result<Self, BodyError> {
        let style = Style::of(kind);
        let [length, width, height, wheelbase, overhang, belt, bonnet, roof_length, wheel, clearance] =
            Measure::ALL.map(|measure| dimensions.get(measure));
        let room = Room(kind);
        let wheel_radius = wheel / 2.0;
        let arch = |x: f64| Arch { centre: [x, wheel_radius], radius: wheel_radius + ARCH_GAP, round: style.arch_round };
        let (front, rear) = (arch(overhang), arch(overhang + wheelbase));
        room.at_least(120.0, "the front overhang before its wheel arch", overhang - front.radius, FRONT_WHEEL)?;
        room.at_least(160.0, "the rear overhang behind its wheel arch", length - rear.centre[0] - rear.radius, REAR_WHEEL)?;

        let sill = [clearance, clearance + if clearance > 190.0 { 120.0 } else { 105.0 }];
        let above = belt - clearance;
        let nose = [if style.nose > 0.78 { 25.0 } else { 70.0 }, clearance + style.nose * above];
        let bumper = [clearance + 0.42 * above, clearance + 0.42 * above];
        let cowl = [bonnet, belt + if style.has_roof { 35.0 } else { 20.0 }];
        room.at_least(55.0, "metal above the front wheel arch", bonnet_height(nose, cowl, style.bulge, overhang) - arch_top(&front), ARCH)?;
        room.at_least(180.0, "the arch above the sill", arch_top(&front) - sill[1], SILL)?;
        room.at_least(470.0, "the doors above the sills", belt - sill[1], SILL)?;
        room.at_least(265.0 + style.crown, "the side windows and the roof above them", height - belt, WINDOW)?;

        let roof_z = height - style.crown;
        let roof_front = [cowl[0] + style.screen_rake * (roof_z - cowl[1]), roof_z];
        let bed = belt - 0.09 * above;
        let deck = match style.tail {
            Tail::Boot => belt + if style.has_roof { 25.0 } else { 5.0 },
            Tail::Bed => bed,
            Tail::Gate | Tail::Doors => belt + 20.0,
        };
        let roof_end = roof_z - if style.tail == Tail::Boot { 15.0 } else { 5.0 };
        let slant = style.rear_rake * (roof_end - deck);
        let (roof_rear, rear_foot) = match style.tail {
            // The roof runs to the tail, and its length follows.
            Tail::Gate | Tail::Doors => {
                let foot = length - style.tail_gap;
                ([foot - slant, roof_end], [foot, deck])
            }
            _ if style.has_roof => {
                let end = roof_front[0] + roof_length;
                ([end, roof_end], [end + slant, deck])
            }
            // Behind the seats.
            _ => (roof_front, [cowl[0] + roof_length, belt]),
        };
        let tail = match style.tail {
            Tail::Boot => [length - 35.0, deck - 45.0],
            Tail::Bed => [length - 12.0, bed],
            Tail::Gate | Tail::Doors => rear_foot,
        };
        match style.tail {
            Tail::Boot => {
                let [least, most] = if style.has_roof { [420.0, 1400.0] } else { [760.0, 1900.0] };
                room.at_least(least, "the boot behind the rear window or the seats", length - rear_foot[0], TAIL)?;
                room.at_most(most, "boot behind the rear window or the seats", length - rear_foot[0], TAIL)?;
            }
            Tail::Bed => {
                room.at_least(1100.0, "the bed", length - rear_foot[0], TAIL)?;
                room.at_most(2700.0, "bed", length - rear_foot[0], TAIL)?;
                room.at_least(150.0, "the bed before the rear wheel arch", rear.centre[0] - rear.radius - rear_foot[0], TAIL)?;
            }
            Tail::Gate | Tail::Doors => room.at_least(900.0, "the roof", roof_rear[0] - roof_front[0], TAIL)?,
        }

        let screen_x = |z: f64| cowl[0] + style.screen_rake * (z - cowl[1]) + PILLAR;
        let glass_top = roof_z - RAIL;
        let wide_front = front.wider(ARCH_TO_SHUT);
        let wide_rear = rear.wider(ARCH_TO_SHUT);
        let first = screen_x(belt);
        let (second, last) = doors(&style, first, rear.centre[0], rear_foot[0], rear.radius);
        let door_top = |glazed: bool| if glazed { belt } else { glass_top };
        let shuts = [
            Some(wide_front.shut_behind(first, sill[1], belt)),
            second.map(|x| wide_rear.shut_before(x, sill[1], door_top(style.opens != Opens::Sliding))),
            Some(wide_rear.shut_before(last, sill[1], door_top(style.opens != Opens::Sliding))),
        ];
        let glass = if style.has_roof {
            let (top_rear, foot_rear) = match (style.tail, style.opens) {
                (_, Opens::Sliding) => (second.unwrap_or(last) - 60.0, second.unwrap_or(last) - 60.0),
                (Tail::Boot, _) => (roof_rear[0] - 60.0, f64::max(roof_rear[0] + 0.35 * (rear_foot[0] - roof_rear[0]), last + 60.0)),
                (Tail::Gate, _) => (roof_rear[0] - 170.0, rear_foot[0] - 330.0),
                _ => (roof_rear[0] - 90.0, rear_foot[0] - 150.0),
            };
            [[first, belt], [screen_x(glass_top), glass_top], [top_rear, glass_top], [foot_rear, belt]]
        } else {
            [[first, belt]; 4]
        };
        let frame = Self {
            style,
            length,
            width,
            height,
            wheel_radius,
            front,
            rear,
            sill,
            belt,
            bumper,
            nose,
            cowl,
            roof: [roof_front, roof_rear],
            rear_foot,
            tail,
            glass,
            shuts,
            bed,
        };
        frame.check_doors(room)?;
        Ok(frame)
    }

    /// Doors as wide as doors are, windows that are some, and a quarter behind them.
    fn check_doors(&self, room: Room) -> Result<(), BodyError> {
        let [first, second, last] = &self.shuts;
        let ends = [first, second, last].map(|shut| shut.as_ref().and_then(|s| s.first().zip(s.last())));
        let present: Vec<_> = ends.iter().flatten().collect();
        // A rear door gives way to its wheel arch below.
        let [at_sill, at_belt] = match self.style.opens {
            Opens::Two => [540.0, 720.0],
            Opens::Four => [310.0, 560.0],
            Opens::Sliding => [440.0, 800.0],
        };
        for pair in present.windows(2) {
            room.at_least(at_sill, "a door at the sill", pair[1].0[0] - pair[0].0[0], DOORS)?;
            room.at_least(at_belt, "a door at the belt line", pair[1].1[0] - pair[0].1[0], DOORS)?;
            room.at_most(1500.0, "door", pair[1].1[0] - pair[0].1[0], DOORS)?;
        }
        if let Some((_, top)) = ends[0] {
            let foot = first.as_ref().and_then(|s| s.first()).map_or(0.0, |p| p[0]);
            room.at_most(520.0, "slant at the front door's front edge", foot - top[0], DOORS)?;
        }
        if self.style.has_roof {
            room.at_least(260.0, "the upper edge of the side windows", self.glass[2][0] - self.glass[1][0], WINDOW_LENGTH)?;
        }
        Ok(())
    }

    /// The upper edge of bonnet and wings, from the nose to the windscreen.
    pub(crate) fn bonnet_line(&self) -> Vec<Spot> {
        bow(self.nose, self.cowl, self.style.bulge, 8)
    }

    /// The roof from the side, from its front to its rear.
    pub(crate) fn roof_line(&self) -> Vec<Spot> {
        bow(self.roof[0], self.roof[1], self.style.crown, 10)
    }

    /// Upper edge of the side windows or, on closed sides, of the panels; from the rear forward, between two stations.
    pub(crate) fn rail_line(&self, from: f64, to: f64) -> Vec<Spot> {
        let z = self.glass[1][1];
        let (low, high) = (self.glass[1][0], self.roof[1][0]);
        let lift = |x: f64| {
            let t = ((x - low) / (high - low)).clamp(0.0, 1.0);
            z + 4.0 * self.style.crown * t * (1.0 - t)
        };
        (0..=6).map(|i| from + (to - from) * f64::from(i) / 6.0).map(|x| [x, lift(x)]).collect()
    }

    /// Half the body's width from above at a station.
    pub(crate) fn half_width(&self, x: f64) -> f64 {
        let from_end = |distance: f64, reach: f64| (1.0 - distance / reach).clamp(0.0, 1.0).powi(3);
        let taper =
            self.style.taper[0] * from_end(x, 0.30 * self.length) + self.style.taper[1] * from_end(self.length - x, 0.26 * self.length);
        self.width / 2.0 * (1.0 - taper)
    }

    /// Height of the swage along the sides.
    pub(crate) fn swage(&self) -> f64 {
        self.belt - 0.17 * (self.belt - self.sill[1])
    }
}

/// Where doors meet and where the last ends, at the belt.
fn doors(style: &Style, first: f64, rear_axle: f64, rear_foot: f64, arch: f64) -> (Option<f64>, f64) {
    match style.opens {
        Opens::Two if style.tail == Tail::Bed => (None, rear_foot - 190.0),
        // Not beyond the window or, on a roadster, the seats.
        Opens::Two => (None, (first + 1230.0).min(rear_axle - 0.35 * arch).min(rear_foot - 60.0)),
        Opens::Four => {
            let last = (rear_axle - 0.05 * arch).min(rear_foot - 330.0);
            (Some(first + 0.53 * (last - first)), last)
        }
        Opens::Sliding => {
            let second = first + 1000.0;
            (Some(second), (second + 1230.0).min(rear_axle - arch - 90.0))
        }
    }
}

fn arch_top(arch: &Arch) -> f64 {
    arch.centre[1] + arch.radius
}

/// Height of the bonnet's line at a station.
fn bonnet_height(nose: Spot, cowl: Spot, bulge: f64, x: f64) -> f64 {
    let t = ((x - nose[0]) / (cowl[0] - nose[0])).clamp(0.0, 1.0);
    nose[1] + t * (cowl[1] - nose[1]) + 4.0 * bulge * t * (1.0 - t)
}

const FRONT_WHEEL: [Measure; 3] = [Measure::FrontOverhang, Measure::Wheel, Measure::Length];
const REAR_WHEEL: [Measure; 3] = [Measure::Length, Measure::Wheelbase, Measure::FrontOverhang];
const ARCH: [Measure; 3] = [Measure::Belt, Measure::Wheel, Measure::Bonnet];
const SILL: [Measure; 3] = [Measure::Clearance, Measure::Wheel, Measure::Belt];
const WINDOW: [Measure; 3] = [Measure::Height, Measure::Belt, Measure::Clearance];
const WINDOW_LENGTH: [Measure; 3] = [Measure::Roof, Measure::Height, Measure::Belt];
const TAIL: [Measure; 3] = [Measure::Length, Measure::Bonnet, Measure::Roof];
const DOORS: [Measure; 3] = [Measure::Wheelbase, Measure::Bonnet, Measure::Roof];
