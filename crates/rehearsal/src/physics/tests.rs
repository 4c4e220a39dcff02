use std::collections::BTreeMap;

use super::*;

use lastmicron_film::gauge::Substrate;
use lastmicron_film::panel::Panel;
use lastmicron_plan::{CarPanel, KeepOff, KeepOffLine, Worked};
use lastmicron_polish::contact::{Contact, Hold, OverBend, Surface, press, press_on_bend};
use lastmicron_polish::near::{Near, Profile, TURNS_DEG};
use lastmicron_polish::path::{Hatch, Section, Stay, section_path};
use lastmicron_polish::{Drive, Machine, Pad, PadEdge, Use};

use super::edge::Border;
use super::line::Lies;
use crate::PanelOrders;
use crate::chance::{Stream, dice};

const USED: Use = Use { machine: 0, pad: 0, load_n: 20.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 2 };

fn machine(orbit_radius_mm: f64, orbits_per_minute: f64, spin_rpm: f64) -> Machine {
    Machine { name: "machine".to_owned(), drive: Drive::Free, orbit_radius_mm, orbits_per_minute, spin_rpm }
}

fn foam(diameter_mm: f64, edge: PadEdge) -> Pad {
    Pad { name: "foam".to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge }
}

/// A panel worked crosswise over all of it by places of a path, instants of an orbit and places of the panel: no strokes, no tables.
struct Panel2d {
    machine: Machine,
    radius_mm: f64,
    path: Vec<Stay>,
}

impl Panel2d {
    const INSTANTS: u32 = 24;

    /// Places of the path in its first pass: six strokes of 262.5 mm and five steps of 37.5 mm, each cut every 2 mm or less.
    const FIRST_PASS: usize = 6 * 132 + 5 * 19;

    /// The middle of a pad of 75 mm runs over all of the panel but a border, in strokes that fit.
    fn of(machine: &Machine, border_mm: f64) -> Self {
        let section = Section { x_mm: border_mm, y_mm: border_mm, width_mm: 262.5, height_mm: 187.5 };
        let path = section_path(section, 75.0, &USED, Hatch::Crossed, 2.0).unwrap();
        Self { machine: machine.clone(), radius_mm: 37.5, path }
    }

    /// Pressure x sliding at a distance from the bottom, mean over two strokes' width in the middle of the panel: pressure by the pad's middle and a place under it.
    fn slid(&self, y_mm: f64, pressure_pa: &mut dyn FnMut(f64, [f64; 2]) -> f64) -> f64 {
        let rad_s = |per_minute: f64| per_minute * std::f64::consts::PI / 30.0;
        let (orbit_rad_s, spin_rad_s, e_mm) =
            (rad_s(self.machine.orbits_per_minute), rad_s(self.machine.spin_rpm), self.machine.orbit_radius_mm);
        let reach_mm = self.radius_mm + e_mm;
        let mut sum = 0.0;
        for stay in self.path.iter().filter(|stay| (stay.y_mm - y_mm).abs() < reach_mm) {
            for place in 0..30 {
                let x_mm = 120.0 + 2.5 * f64::from(place);
                if f64::hypot(x_mm - stay.x_mm, y_mm - stay.y_mm) > reach_mm {
                    continue;
                }
                for instant in 0..Self::INSTANTS {
                    let (sin, cos) = (2.0 * std::f64::consts::PI * f64::from(instant) / f64::from(Self::INSTANTS)).sin_cos();
                    let middle = [stay.x_mm + e_mm * cos, stay.y_mm + e_mm * sin];
                    let under = [x_mm - middle[0], y_mm - middle[1]];
                    if f64::hypot(under[0], under[1]) > self.radius_mm {
                        continue;
                    }
                    // [D] the pad's middle goes at z x W c, and a part of the pad u from it at z x w u more.
                    let speed =
                        f64::hypot(orbit_rad_s * e_mm * cos + spin_rad_s * under[0], orbit_rad_s * e_mm * sin + spin_rad_s * under[1]);
                    sum += pressure_pa(middle[1], under) * speed * stay.seconds;
                }
            }
        }
        sum
    }

    /// The mean over a stroke's width in the middle of the panel.
    fn middle(&self, flat: &Contact) -> f64 {
        (0..15).map(|i| self.slid(101.25 + 2.5 * f64::from(i), &mut |_, [x, y]| flat.pressure_pa(x, y))).sum::<f64>() / 15.0
    }
}

#[test]
fn strokes_to_an_edge_or_to_tape_leave_what_places_of_a_path_leave_on_a_panel() {
    for (machine, edge, border, hand) in [
        (machine(6.0, 4800.0, 300.0), PadEdge::Upright, Border::Edge, Hand { overhang: 0.3, tilting: 0.6 }),
        (machine(0.0, 0.0, 1500.0), PadEdge::Tapered, Border::Edge, Hand { overhang: 0.5, tilting: 1.0 }),
        (machine(6.0, 4800.0, 300.0), PadEdge::Upright, Border::Tape, Hand { overhang: 0.4, tilting: 0.0 }),
    ] {
        let pad = foam(75.0, edge);
        let rubbing = Rubbing::of(&machine, &pad, &USED).unwrap();
        let strokes = edge::Strokes::of(&rubbing, hand, border).unwrap();
        let mut panel = Panel2d::of(&machine, 37.5 * (1.0 - hand.overhang));
        let middle = panel.middle(&rubbing.flat);
        // The worker's strokes along the bottom, done as often as they are: of two passes, one runs along it.
        let times: Vec<[f64; 2]> = strokes.along().collect();
        for stay in panel.path.iter_mut().take(Panel2d::FIRST_PASS) {
            let stroke = times.iter().find(|[middle_mm, _]| (middle_mm - stay.y_mm).abs() < 1e-6);
            stay.seconds *= stroke.map_or(1.0, |[_, times]| times / ALONG);
        }
        let mut lies: BTreeMap<i64, Option<[Contact; 2]>> = BTreeMap::new();
        let mut pressure_pa = |y_mm: f64, [x, y]: [f64; 2]| {
            let lie = lies.entry((y_mm * 1e6).round() as i64).or_insert_with(|| {
                let held = |hold| press(&pad, USED.load_n, Surface::Edge { overhang_mm: 37.5 - y_mm, hold }).unwrap();
                (border == Border::Edge && y_mm < 37.5).then(|| [held(Hold::SelfAligning), held(Hold::Rigid)])
            });
            match lie {
                Some([free, square]) => {
                    hand.tilting * free.pressure_pa(-y - 1e-6, x) + (1.0 - hand.tilting) * square.pressure_pa(-y - 1e-6, x)
                }
                None => rubbing.flat.pressure_pa(x, y),
            }
        };
        for distance_mm in [0.0, 5.0, 12.5, 25.0, 37.5, 50.0, 75.0, 100.0] {
            let [along, ends] = strokes.left(&rubbing, distance_mm);
            let direct = panel.slid(distance_mm, &mut pressure_pa) / middle;
            assert!(
                (along.slid + ends.slid - direct).abs() < 0.02,
                "{edge:?}, {border:?} at {distance_mm}: {} {direct}",
                along.slid + ends.slid
            );
        }
    }
}

#[test]
fn strokes_over_a_line_leave_what_places_of_a_path_leave_on_a_panel() {
    let machine = machine(6.0, 4800.0, 300.0);
    let pad = foam(75.0, PadEdge::Upright);
    let rubbing = Rubbing::of(&machine, &pad, &USED).unwrap();
    let bend = Bend { radius_mm: 20.0, turn_deg: 30.0 };
    // [D] strokes every 37.5 mm from 26.25 mm on: the line, at 120 mm, lies midway between two.
    let (lies, panel) = (Lies::of(&rubbing, bend).unwrap(), Panel2d::of(&machine, 26.25));
    let middle = panel.middle(&rubbing.flat);
    let mut over: BTreeMap<i64, OverBend> = BTreeMap::new();
    let mut pressure_pa = |y_mm: f64, [x, y]: [f64; 2]| {
        let lie = over.entry((y_mm * 1e6).round() as i64).or_insert_with(|| press_on_bend(&pad, USED.load_n, bend, y_mm - 120.0).unwrap());
        lie.pressure_pa(y, x)
    };
    for place_mm in [-40.0, -20.0, -10.0, -5.0, 0.0, 5.0, 15.0, 30.0] {
        let more =
            panel.slid(120.0 + place_mm, &mut pressure_pa) - panel.slid(120.0 + place_mm, &mut |_, [x, y]| rubbing.flat.pressure_pa(x, y));
        let gain = lies.gain(&rubbing, 0.5, place_mm);
        assert!((gain - 1.0 - more / middle).abs() < 0.02, "{place_mm}: {gain} {}", 1.0 + more / middle);
    }
}

/// Mean and standard deviation.
fn spread(values: &[f64]) -> [f64; 2] {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    [mean, (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / count).sqrt()]
}

/// A profile's mean and standard deviation at a distance, linear between its places.
fn at(profile: &Profile, distance_mm: f64) -> [f64; 2] {
    let place = distance_mm / profile.distances_mm[1];
    let low = place.floor() as usize;
    [&profile.mean, &profile.sd].map(|values| values[low] + (place - place.floor()) * (values[low + 1] - values[low]))
}

/// Evenly spread shares: of what is drawn evenly, each part's middle.
fn shares(count: u32) -> impl Iterator<Item = f64> + Clone {
    (0..count).map(move |i| (f64::from(i) + 0.5) / f64::from(count))
}

/// What hands of every kind take near an edge, less 1; and what they would take if the time there were the middle's.
fn of_hands(machine: &Machine, pad: &Pad, distances_mm: &[f64]) -> Vec<[Vec<f64>; 2]> {
    let rubbing = Rubbing::of(machine, pad, &USED).unwrap();
    let mut gains = vec![[Vec::new(), Vec::new()]; distances_mm.len()];
    for share in shares(6) {
        for tilting in shares(2) {
            let hand = Hand { overhang: OVERHANG.low + share * (OVERHANG.high - OVERHANG.low), tilting };
            let strokes = edge::Strokes::of(&rubbing, hand, Border::Edge).unwrap();
            for (gains, distance_mm) in gains.iter_mut().zip(distances_mm) {
                let [along, ends] = strokes.left(&rubbing, *distance_mm);
                let (slid, time) = (along.slid + ends.slid, along.time_mm + ends.time_mm);
                gains[0].push(slid - 1.0);
                gains[1].push(slid / time - 1.0);
            }
        }
    }
    gains
}

fn pads() -> [(Machine, Pad); 3] {
    [
        (machine(7.5, 4200.0, 150.0), foam(140.0, PadEdge::Upright)),
        (machine(6.0, 4800.0, 300.0), foam(75.0, PadEdge::Upright)),
        (machine(0.0, 0.0, 1200.0), foam(150.0, PadEdge::Tapered)),
    ]
}

#[test]
fn at_equal_time_near_knows_what_hands_take_near_an_edge() {
    // Measured: means within 0.07 of each other a few mm from the edge (near has the pressure of the orbit's middle there), within 0.05 farther in.
    for (machine, pad) in pads() {
        let profile = Near::of(&machine, &pad, &USED).unwrap().edge().unwrap();
        let distances_mm = [6.0, 12.5, 25.0, 50.0];
        for (distance_mm, [_, even]) in distances_mm.into_iter().zip(of_hands(&machine, &pad, &distances_mm)) {
            let ([mean, sd], [near, near_sd]) = (spread(&even), at(&profile, distance_mm));
            let tolerance = if distance_mm < 10.0 { 0.08 } else { 0.05 };
            assert!((mean - near).abs() < tolerance, "{} at {distance_mm}: {mean} instead of {near}", pad.diameter_mm);
            assert!(sd < near_sd + 0.02, "{} at {distance_mm}: {sd} above {near_sd}", pad.diameter_mm);
        }
    }
}

#[test]
fn a_rim_rubs_an_edge_for_less_time_and_a_place_a_radius_in_for_more() {
    // Measured, mean over hands: what is taken at the edge itself is below the middle's, and at most 0.19 above it anywhere, about one radius in,
    // where a law that falls off from the edge has next to nothing.
    for (machine, pad) in pads() {
        let law = Near::of(&machine, &pad, &USED).unwrap().edge().unwrap().gain();
        let radius_mm = pad.diameter_mm / 2.0;
        let distances_mm: Vec<f64> = (0..=8).map(|i| f64::from(i) * radius_mm / 4.0).collect();
        let means: Vec<f64> = of_hands(&machine, &pad, &distances_mm).iter().map(|[taken, _]| spread(taken)[0]).collect();
        assert!(means[0] < 0.0 && means[0] > -0.4, "{means:?}");
        let highest = means.iter().copied().fold(f64::MIN, f64::max);
        assert!(highest > 0.08 && highest < 0.25 && highest < law.gain.mean, "{means:?} {law:?}");
    }
}

#[test]
fn near_knows_what_strokes_take_on_and_beside_a_line() {
    // Measured, for the turns that near takes: means within 0.045 of each other, the sd of near the larger by what it has for the contact itself.
    for (machine, pad) in pads() {
        let (rubbing, near) = (Rubbing::of(&machine, &pad, &USED).unwrap(), Near::of(&machine, &pad, &USED).unwrap());
        for radius_mm in [8.0, 60.0] {
            let profile = near.line(radius_mm).unwrap();
            let distances_mm = [0.0, 10.0, 25.0];
            let mut gains = [const { Vec::new() }; 3];
            for turn_deg in TURNS_DEG {
                let lies = Lies::of(&rubbing, Bend { radius_mm, turn_deg }).unwrap();
                for phase in shares(6) {
                    gains.iter_mut().zip(distances_mm).for_each(|(gains, d)| gains.push(lies.gain(&rubbing, phase, d) - 1.0));
                }
            }
            for (distance_mm, gains) in distances_mm.into_iter().zip(gains) {
                let ([mean, sd], [near, near_sd]) = (spread(&gains), at(&profile, distance_mm));
                assert!((mean - near).abs() < 0.06, "{} on {radius_mm} at {distance_mm}: {mean} instead of {near}", pad.diameter_mm);
                assert!(sd < near_sd + 0.02, "{} on {radius_mm} at {distance_mm}: {sd} above {near_sd}", pad.diameter_mm);
            }
        }
    }
}

/// A pad of 75 mm for two processes.
fn workshop(line: f64) -> Workshop {
    let equipment = Equipment {
        machines: vec![machine(6.0, 4800.0, 300.0)],
        pads: vec![foam(75.0, PadEdge::Upright)],
        uses: vec![Some(USED); 2],
        ..Equipment::default()
    };
    Workshop { equipment, line, radii_mm: vec![8.0] }
}

fn physics(line: f64, seed: u64) -> Physics {
    Physics::draw(&workshop(line), 2, &[[800.0, 600.0]], &mut dice(seed, Stream::Hand)).unwrap()
}

fn panel_of(physics: &Physics) -> CarPanel {
    CarPanel {
        panel: Panel::rectangle("panel", 800.0, 600.0, Substrate::Steel),
        undercoat: None,
        hardness: None,
        metallic: None,
        visibility: 1.0,
        work: true,
        lines: physics.lines(0),
        gone_through: Vec::new(),
    }
}

#[test]
fn the_middle_of_a_large_panel_loses_one_whatever_its_ends() {
    let physics = physics(0.0, 1);
    let panel = panel_of(&physics);
    let taken = |strokes| physics.taken(1, On::whole(0, &panel), [400.0, 300.0], strokes);
    assert!((taken(None) - 1.0).abs() < 1e-12);
    // [D] strokes of every phase together are even; of one phase alone they are not.
    let of_phases = |x: f64, y: f64| taken(Some(Strokes { phases: [x, y] }));
    let all: Vec<f64> = shares(64).flat_map(|x| shares(64).map(move |y| (x, y))).map(|(x, y)| of_phases(x, y)).collect();
    let [mean, sd] = spread(&all);
    assert!((mean - 1.0).abs() < 0.001 && sd > 0.01, "{mean} {sd}");
}

#[test]
fn strokes_to_a_band_kept_off_leave_what_strokes_to_tape_leave() {
    let (plain, lined) = (physics(0.0, 1), physics(1.0, 1));
    let (bare, panel) = (panel_of(&plain), panel_of(&lined));
    let orders = |keep_off, keep_off_lines| PanelOrders { keep_off, keep_off_lines, sections: Vec::new() };
    let (edge, line) =
        (orders(vec![KeepOff { edge: 0, mm: 50.0 }], Vec::new()), orders(Vec::new(), vec![KeepOffLine { line: 0, mm: 25.0 }]));
    let [[_, left_mm], [_, right_mm]] = [panel.lines[0].points_mm[0], panel.lines[0].points_mm[1]];
    let cos = 800.0 / f64::hypot(800.0, right_mm - left_mm);
    let on_line_mm = 0.5 * (left_mm + right_mm);
    for beyond_mm in [0.0, 10.0, 40.0] {
        let to_tape = plain.taken(0, On::ordered(0, &bare, &edge), [400.0, 50.0 + beyond_mm], None);
        let beside = |side: f64| [400.0, on_line_mm + side * (25.0 + beyond_mm) / cos];
        for side in [-1.0, 1.0] {
            // Of the same hand; whatever the panel's edges leave there is multiplied.
            let edges = plain.taken(0, On::whole(0, &bare), beside(side), None);
            let to_line = lined.taken(0, On::ordered(0, &panel, &line), beside(side), None) / edges;
            assert!((to_line - to_tape).abs() < 1e-9, "{beyond_mm}: {to_line} {to_tape}");
        }
        let worked_edge = plain.taken(0, On::whole(0, &bare), [400.0, beyond_mm], None);
        assert!((worked_edge - to_tape).abs() > 1e-4, "tape bears the rim, an edge does not: {beyond_mm}: {worked_edge} {to_tape}");
    }
}

#[test]
fn a_patch_meets_an_edge_only_where_it_borders_on_it() {
    let physics = physics(0.0, 1);
    let panel = panel_of(&physics);
    let at_mm = [400.0, 60.0];
    let whole = physics.taken(0, On::whole(0, &panel), at_mm, None);
    assert!((whole - 1.0).abs() > 0.02, "the edge is felt there: {whole}");
    let on_patch = |y_mm: f64| {
        let patch = Worked {
            panel: 0,
            x_mm: 300.0,
            y_mm,
            width_mm: 200.0,
            height_mm: 200.0,
            after: Vec::new(),
            kept_off: lastmicron_plan::KeptOff::default(),
        };
        physics.taken(0, On::patch(&panel, &patch), at_mm, None)
    };
    assert!((on_patch(40.0) - 1.0).abs() < 1e-12, "{}", on_patch(40.0));
    assert!((on_patch(0.0) - whole).abs() < 1e-12);
}

#[test]
fn every_car_has_a_hand_and_lines_of_its_own() {
    let drawn: Vec<Physics> = (0..24).map(|seed| physics(0.5, seed)).collect();
    for draw in [|hand: Hand| hand.overhang / OVERHANG.high, |hand: Hand| hand.tilting] {
        let [mean, sd] = spread(&drawn.iter().map(|physics| draw(physics.hand())).collect::<Vec<f64>>());
        // [D] even on 0 to 1: mean 0.5 and sd 0.289, known from 24 cars to 0.06 and about 0.03.
        assert!((mean - 0.5).abs() < 0.2 && (sd - 0.289).abs() < 0.1, "{mean} {sd}");
    }
    let on_lines: Vec<f64> = drawn.iter().flat_map(|physics| &physics.lines[0]).map(|line| line.gains[0].at(0.0)).collect();
    assert!(on_lines.len() > 5 && on_lines.len() < 19, "{}", on_lines.len());
    // One radius for all: what differs is how sharply the line turns and where the strokes fall.
    assert!(spread(&on_lines)[1] > 0.03, "{on_lines:?}");
    assert_eq!(physics(0.5, 7), drawn[7]);
}

#[test]
fn a_process_without_a_use_is_refused_by_its_number() {
    let refused = Physics::draw(&workshop(0.0), 3, &[[800.0, 600.0]], &mut dice(1, Stream::Hand)).unwrap_err();
    assert_eq!(refused, PhysicsError::NoUse(2));
}
