//! A car from its left.

use super::frame::Frame;
use super::style::{Opens, Tail};
use crate::curve::{Spot, back, band, bow, ellipse, rounded};
use crate::draft::{Crease, Draft};
use crate::outline::{Outline, Side};
use crate::panel::{LOW, PLASTIC, STEEL};
use crate::shape::Part;

/// Radius of the swage along the sides, mm. Judgement: pressed swages have some 5 to 20; smaller, and more is kept off beside it.
const SWAGE_RADIUS_MM: f64 = 12.0;

/// Panels of both sides, and what stands between them.
pub(crate) fn draw(frame: &Frame, draft: &mut Draft) {
    draft.side_part(Part::Shell, &shell(frame));
    for arch in [frame.front, frame.rear] {
        let z = frame.sill[0];
        draft.side_part(Part::Hollow, &arch.over(z, z));
    }
    if !frame.style.has_roof {
        cockpit(frame, draft);
    }
    let swage: [Crease; 1] = [([0.0, frame.swage()], [frame.length, frame.swage() + 10.0], SWAGE_RADIUS_MM)];
    draft.single_from_sides("front bumper", &front_bumper(frame));
    draft.sides("front wing", wing(frame), STEEL, &swage);
    let mirror = mirror(frame);
    doors(frame, draft, &swage);
    draft.sides("sill", sill(frame), LOW, &[]);
    if frame.style.has_roof {
        draft.sides("cant rail", cant_rail(frame), LOW, &[]);
    }
    if frame.style.tail == Tail::Bed {
        draft.sides("cab corner", cab_corner(frame), STEEL, &[]);
    }
    draft.sides(quarter_name(frame), quarter(frame), STEEL, &swage);
    draft.single_from_sides("rear bumper", &rear_bumper(frame));
    let [headlamp, tail_lamp] = lamps(frame);
    draft.side_part(Part::Headlamp, &headlamp);
    draft.side_part(Part::TailLamp, &tail_lamp);
    glass(frame, draft);
    draft.sides("mirror", mirror, PLASTIC, &[]);
    for arch in [frame.front, frame.rear] {
        let radius = frame.wheel_radius;
        draft.side_part(Part::Tyre, &ellipse(arch.centre, radius, radius, 36));
        draft.side_part(Part::Rim, &ellipse(arch.centre, 0.66 * radius, 0.66 * radius, 28));
        draft.side_part(Part::Trim, &ellipse(arch.centre, 0.14 * radius, 0.14 * radius, 12));
    }
}

const fn quarter_name(frame: &Frame) -> &'static str {
    match frame.style.tail {
        Tail::Bed => "bed side",
        Tail::Doors => "rear side panel",
        Tail::Boot | Tail::Gate => "rear quarter",
    }
}

/// The front end below the nose, from the ground up.
fn front_end(frame: &Frame) -> Vec<Spot> {
    let (low, high) = (frame.sill[0], frame.bumper[0]);
    vec![[90.0, low], [25.0, low + 50.0], [0.0, low + 0.55 * (high - low)], [6.0, high - 30.0], [14.0, high]]
}

/// The rear end below the tail, from the bumper's upper edge down.
fn rear_end(frame: &Frame) -> Vec<Spot> {
    let (low, high, end) = (frame.sill[0], frame.bumper[1], frame.length);
    vec![[end - 10.0, high], [end - 4.0, high - 30.0], [end, low + 0.55 * (high - low)], [end - 20.0, low + 60.0], [end - 80.0, low + 10.0]]
}

/// From the roof's rear to the tail.
fn rear_line(frame: &Frame) -> Vec<Spot> {
    match frame.style.tail {
        Tail::Boot if frame.style.has_roof => {
            let mut line = bow(frame.roof[1], frame.rear_foot, 0.05 * (frame.rear_foot[0] - frame.roof[1][0]), 8);
            line.extend(deck_line(frame));
            line
        }
        Tail::Boot => deck_line(frame),
        Tail::Bed => vec![frame.roof[1], frame.rear_foot, frame.tail],
        Tail::Gate | Tail::Doors => bow(frame.roof[1], frame.tail, 22.0, 6),
    }
}

/// The boot lid from the side, backward.
fn deck_line(frame: &Frame) -> Vec<Spot> {
    bow(frame.rear_foot, frame.tail, 18.0, 6)
}

fn shell(frame: &Frame) -> Vec<Spot> {
    let mut shell = front_end(frame);
    shell.extend(frame.bonnet_line());
    if frame.style.has_roof {
        shell.extend(frame.roof_line());
    } else {
        shell.push(frame.glass[0]);
    }
    shell.extend(rear_line(frame));
    shell.extend(rear_end(frame));
    shell
}

fn front_bumper(frame: &Frame) -> Vec<Spot> {
    let mut bumper = frame.front.before(frame.sill[0], frame.bumper[0]);
    bumper.extend(back(front_end(frame)));
    bumper
}

fn rear_bumper(frame: &Frame) -> Vec<Spot> {
    let mut bumper = rear_end(frame);
    bumper.extend(frame.rear.behind(frame.sill[0] + 10.0, frame.bumper[1]));
    bumper
}

/// How far back a headlamp reaches at the bumper, and where the bonnet's line begins behind it.
fn headlamp(frame: &Frame) -> (Spot, Vec<Spot>) {
    let arch = frame.front.centre[0] - frame.front.half_width(frame.bumper[0]);
    let mut line = frame.bonnet_line();
    line.remove(0);
    ([14.0 + 0.40 * (arch - 14.0), frame.bumper[0]], line)
}

fn wing(frame: &Frame) -> Outline {
    let (lamp, line) = headlamp(frame);
    let shut = frame.shuts[0].clone().unwrap_or_default();
    Outline::default()
        .run(&[lamp], Side::Free)
        .run(&frame.front.over(frame.bumper[0], frame.sill[1]), Side::Free)
        .run(&shut, Side::Free)
        .run(&back(line[1..].to_vec()), Side::Free)
        .run(&line[..1], Side::Joined)
        .closed()
}

/// How far forward a tail lamp reaches: at the bumper, and at its upper edge.
fn tail_lamp(frame: &Frame) -> [Spot; 2] {
    let arch = frame.rear.centre[0] + frame.rear.half_width(frame.bumper[1]);
    let low = [frame.length - f64::min(0.45 * (frame.length - arch), 150.0), frame.bumper[1]];
    let high = match frame.style.tail {
        Tail::Boot => deck_line(frame)[5],
        Tail::Bed => [frame.length - f64::min(0.45 * (frame.length - arch), 150.0), frame.bed],
        Tail::Gate | Tail::Doors => [frame.tail[0] - 110.0, frame.belt - 20.0],
    };
    [low, high]
}

fn quarter(frame: &Frame) -> Outline {
    let shut = if frame.style.tail == Tail::Bed {
        let x = frame.rear_foot[0] + 20.0;
        vec![[x, frame.sill[1]], [x, frame.bed]]
    } else {
        frame.shuts[2].clone().unwrap_or_default()
    };
    let [low, high] = tail_lamp(frame);
    let below = Outline::default()
        .run(&shut[..1], Side::Joined)
        .run(&frame.rear.over(frame.sill[1], frame.bumper[1]), Side::Free)
        .run(&[low], Side::Joined);
    let glass = [frame.glass[2], frame.glass[3]];
    let above = match frame.style.tail {
        Tail::Boot if frame.style.has_roof => {
            let line = back(rear_line(frame));
            below.run(&[high], Side::Free).run(&line[2..], Side::Joined).run(&glass, Side::Joined)
        }
        Tail::Boot => below.run(&back(deck_line(frame))[1..], Side::Free),
        Tail::Bed => below.run(&[high], Side::Free),
        Tail::Gate => below.run(&[high, frame.roof[1]], Side::Free).run(&glass, Side::Joined),
        Tail::Doors => {
            let end = rail_end(frame);
            below.run(&[high, end], Side::Free).run(&frame.rail_line(end[0], shut[shut.len() - 1][0]), Side::Joined)
        }
    };
    above.run(&back(shut), Side::Free).closed()
}

/// Where a closed side ends below the roof.
fn rail_end(frame: &Frame) -> Spot {
    [frame.roof[1][0] - 30.0, frame.glass[1][1]]
}

/// Behind the door of a pickup's cab, up to its roof.
fn cab_corner(frame: &Frame) -> Outline {
    let shut = frame.shuts[2].clone().unwrap_or_default();
    let x = frame.rear_foot[0];
    Outline::default()
        .run(&shut[..1], Side::Joined)
        .run(&[[x, frame.sill[1]], [x, frame.bed]], Side::Free)
        .run(&[frame.roof[1], frame.glass[2], frame.glass[3]], Side::Joined)
        .run(&back(shut), Side::Free)
        .closed()
}

fn doors(frame: &Frame, draft: &mut Draft, swage: &[Crease]) {
    let [first, second, last] = frame.shuts.clone().map(Option::unwrap_or_default);
    let is_closed = frame.style.opens == Opens::Sliding;
    let glazed = |from: &[Spot], to: &[Spot]| {
        let to: Vec<Spot> = to.iter().copied().filter(|p| p[1] < frame.belt - 1.0).chain([[to[to.len() - 1][0], frame.belt]]).collect();
        Outline::default()
            .run(&from[..1], Side::Free)
            .run(&to[..to.len() - 1], Side::Free)
            .run(&to[to.len() - 1..], Side::Joined)
            .run(&back(from.to_vec()), Side::Free)
            .closed()
    };
    match frame.style.opens {
        Opens::Two => draft.sides("door", glazed(&first, &last), STEEL, swage),
        Opens::Four => {
            draft.sides("front door", glazed(&first, &second), STEEL, swage);
            draft.sides("rear door", glazed(&second, &last), STEEL, swage);
        }
        Opens::Sliding => {
            draft.sides("front door", glazed(&first, &second), STEEL, swage);
            let rail = frame.rail_line(last[last.len() - 1][0], second[second.len() - 1][0]);
            let sliding = Outline::default()
                .run(&second[..1], Side::Free)
                .run(&last, Side::Free)
                .run(&rail, Side::Free)
                .run(&back(second.clone()), Side::Free);
            draft.sides("sliding door", sliding.closed(), STEEL, swage);
        }
    }
    let handle = |shut: &[Spot], back: f64| {
        let x = shut[shut.len() - 1][0] + back;
        let z = frame.swage() + if back > 0.0 { -330.0 } else { 25.0 };
        rounded([x, z], [x + 140.0, z + 32.0], 14.0)
    };
    if frame.style.opens != Opens::Two {
        draft.side_part(Part::Trim, &handle(&second, -210.0));
    }
    draft.side_part(Part::Trim, &if is_closed { handle(&second, 70.0) } else { handle(&last, -210.0) });
}

fn sill(frame: &Frame) -> Outline {
    let [low, high] = frame.sill;
    let front = |z: f64| [frame.front.centre[0] + frame.front.half_width(z), z];
    let rear = if frame.style.tail == Tail::Bed {
        [low, high].map(|z| [frame.rear_foot[0], z])
    } else {
        [low, high].map(|z| [frame.rear.centre[0] - frame.rear.half_width(z), z])
    };
    Outline::default().run(&[front(low)], Side::Free).run(&rear, Side::Joined).run(&[front(high)], Side::Joined).closed()
}

/// The windscreen pillar and the rail above the doors.
fn cant_rail(frame: &Frame) -> Outline {
    let closed = frame.style.opens == Opens::Sliding;
    let end = if closed { rail_end(frame) } else { frame.glass[2] };
    let mut inner = vec![frame.glass[0]];
    if closed {
        // Over the door's window, and on where the doors' upper edges are.
        let [second, last] = [1, 2].map(|i| frame.shuts[i].as_ref().and_then(|s| s.last()).map_or(end[0], |p| p[0]));
        inner.extend(frame.rail_line(frame.glass[1][0], second));
        inner.extend(frame.rail_line(second, last));
        inner.extend(frame.rail_line(last, end[0]));
        inner.push(end);
    } else {
        inner.extend(frame.rail_line(frame.glass[1][0], frame.glass[2][0]));
        inner.push(end);
    }
    Outline::default().run(&inner, Side::Joined).run(&back(frame.roof_line()), Side::Joined).run(&[frame.cowl], Side::Joined).closed()
}

fn mirror(frame: &Frame) -> Outline {
    let (low, high) = (frame.belt + 5.0, frame.belt + 145.0);
    let x = frame.cowl[0] + frame.style.screen_rake * (high - frame.cowl[1]) + 115.0;
    let mut corners = vec![[x + 25.0, low], [x + 205.0, low]];
    corners.extend(bow([x + 215.0, high - 20.0], [x + 60.0, high], 6.0, 4));
    corners.push([x + 5.0, low + 45.0]);
    Outline::free(&corners)
}

fn lamps(frame: &Frame) -> [Vec<Spot>; 2] {
    let (lamp, line) = headlamp(frame);
    let [low, high] = tail_lamp(frame);
    let end = [frame.length - 10.0, frame.bumper[1]];
    [vec![[14.0, frame.bumper[0]], lamp, line[0], frame.nose], vec![low, end, frame.tail, high]]
}

fn glass(frame: &Frame, draft: &mut Draft) {
    if !frame.style.has_roof {
        return;
    }
    let [low_front, high_front, high_rear, low_rear] = frame.glass;
    // Seals between paint and glass.
    let inset = 14.0;
    let mut window = vec![[low_front[0] + 2.0 * inset, low_front[1] + inset], [low_rear[0] - inset, low_rear[1] + inset]];
    window.extend(frame.rail_line(high_rear[0] - inset, high_front[0] + inset).into_iter().map(|[x, z]| [x, z - inset]));
    draft.side_part(Part::Glass, &window);
    let pillars = match frame.style.opens {
        Opens::Two => vec![&frame.shuts[2]],
        Opens::Four => vec![&frame.shuts[1], &frame.shuts[2]],
        Opens::Sliding => Vec::new(),
    };
    for shut in pillars.into_iter().flatten() {
        let x = shut[shut.len() - 1][0];
        if x < low_rear[0] - 80.0 && x < high_rear[0] - 60.0 {
            let top = frame.glass[1][1];
            draft.side_part(Part::Trim, &[[x - 28.0, frame.belt], [x + 28.0, frame.belt], [x + 20.0, top], [x - 20.0, top]]);
        }
    }
}

/// A roadster's windscreen and seats.
fn cockpit(frame: &Frame, draft: &mut Draft) {
    let [cowl, top] = [frame.cowl, frame.roof[0]];
    let depth = frame.rear_foot[0] - cowl[0];
    let x = cowl[0] + 0.68 * depth;
    let seat = [
        [x - 20.0, frame.belt - 40.0],
        [x + 40.0, frame.belt + 175.0],
        [x + 95.0, frame.belt + 215.0],
        [x + 160.0, frame.belt + 205.0],
        [x + 200.0, frame.belt - 40.0],
    ];
    draft.side_part(Part::Trim, &seat);
    draft.side_part(Part::Glass, &[[cowl[0] - 10.0, cowl[1] - 10.0], [cowl[0] + 120.0, frame.belt], [top[0] + 30.0, top[1]], top]);
    draft.side_part(Part::Trim, &band(&[[cowl[0], cowl[1]], [top[0], top[1]]], 34.0));
}
