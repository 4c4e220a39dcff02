//! The picture of the whole vehicle, to point at a panel.

use kurbo::{BezPath, Point, Rect};
use lastmicron_body::{Body, Measure, Part, Shape, View};

use crate::labels::{baseline, text_box};
use crate::lettering::width_pt;
use crate::scene::{Class, Mark, Room, Scene, TextAt, stroke, text};

/// Least size of what a gloved finger points at. Source: W3C, WCAG 2.2, 2.5.5 Target Size (Enhanced): 44 by 44 CSS px.
const TARGET_PT: f64 = 44.0;
/// Between views, and for the name above each.
const GAP_PT: f64 = 14.0;
const NAME_PT: f64 = 17.0;
/// Half the widest line about a shape, so that none is cut at the frame.
const MARGIN_PT: f64 = 2.0;
/// What mirrors take beside the vehicle from before and behind, mm.
const EARS_MM: f64 = 125.0;
/// How much larger the ends may be drawn than the sides. Judgement: the ends of a car are narrow and would leave room; much larger and they no longer look like one vehicle.
const ENDS_LARGER: f64 = 1.3;

/// How views may stand: rows from above.
const ARRANGEMENTS: [&[&[View]]; 3] = [
    &[&[View::Left], &[View::Front, View::Rear], &[View::Above], &[View::Right]],
    &[&[View::Left, View::Right], &[View::Above, View::Front, View::Rear]],
    &[&[View::Left, View::Front, View::Rear], &[View::Right, View::Above]],
];

/// What is shown on a panel in place of its name.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OnPanel {
    /// Words or a number; left out where they don't fit, so they say nothing that stands nowhere else.
    pub words: String,
    /// Colour of a value on a scale; the words say it too.
    pub fill: Option<[u8; 3]>,
}

/// A view in the drawing.
#[derive(Clone, Copy, Debug)]
struct Seen {
    view: View,
    /// The point of the view's lower left.
    low: Point,
    pt_per_mm: f64,
}

/// The vehicle from its left, its right, before, behind and above, as wide as `room` and no higher.
///
/// `on_panels` go by the body's panels; where there are none, a panel's name stands, if it fits. The panel `chosen` has a heavy outline. Panels are
/// [`Mark::Named`], the same panel in each view in which it shows; one smaller than a finger has an unseen reach about it, under its neighbours.
#[must_use]
pub fn vehicle_picture(body: &Body, on_panels: &[OnPanel], chosen: Option<usize>, room: Room) -> Scene {
    let laid = ARRANGEMENTS.map(|rows| laid_out(body, rows, room));
    let [first, rest @ ..] = &laid;
    let (seen, height_pt) = rest.iter().fold(first, |best, next| if smallest(&next.0) > 1.05 * smallest(&best.0) { next } else { best });
    let mut marks = Vec::new();
    for seen in seen {
        view(body, on_panels, chosen, seen, &mut marks);
    }
    Scene { width_pt: room.width_pt, height_pt: *height_pt, title: titled(body), description: described(body, on_panels, chosen), marks }
}

/// The vehicle from its left alone, within `room`, nothing written on it: to be told from other bodies.
#[must_use]
pub fn vehicle_side(body: &Body, room: Room) -> Scene {
    let [w, h] = body.size_mm(View::Left);
    let inner = [room.width_pt - 2.0 * MARGIN_PT, room.height_pt - 2.0 * MARGIN_PT];
    let pt_per_mm = (inner[0] / w).min(inner[1] / h).max(1e-3);
    let low = Point::new((room.width_pt - pt_per_mm * w) / 2.0, room.height_pt - MARGIN_PT);
    let seen = Seen { view: View::Left, low, pt_per_mm };
    let shapes = body.shapes().iter().filter(|shape| shape.view == View::Left);
    let marks = shapes.map(|shape| stroke(class(shape.part), seen.polygon(&shape.outline_mm))).collect();
    let description = format!("The side of a {}.", body.kind().name());
    Scene { width_pt: room.width_pt, height_pt: room.height_pt, title: titled(body), description, marks }
}

fn smallest(seen: &[Seen]) -> f64 {
    seen.iter().map(|s| s.pt_per_mm).fold(f64::INFINITY, f64::min)
}

/// A view's width and height, mm, with what stands out beside it.
fn extent_mm(body: &Body, view: View) -> [f64; 2] {
    let [w, h] = body.size_mm(view);
    [w + 2.0 * ears_mm(view), h]
}

const fn ears_mm(view: View) -> f64 {
    match view {
        View::Front | View::Rear => EARS_MM,
        View::Left | View::Right | View::Above => 0.0,
    }
}

/// Places of the views, and the height of the whole. Rows fill the width; all shrink alike when they are too high.
fn laid_out(body: &Body, rows: &[&[View]], room: Room) -> (Vec<Seen>, f64) {
    let wide = |row: &[View]| row.iter().map(|view| extent_mm(body, *view)[0]).sum::<f64>();
    let high = |row: &[View]| row.iter().map(|view| extent_mm(body, *view)[1]).fold(0.0, f64::max);
    let fit = |row: &[View]| (room.width_pt - 2.0 * MARGIN_PT - GAP_PT * (row.len() as f64 - 1.0)).max(1.0) / wide(row);
    let base = rows.iter().map(|row| fit(row)).fold(f64::INFINITY, f64::min);
    let scales: Vec<f64> = rows.iter().map(|row| fit(row).min(ENDS_LARGER * base)).collect();
    let beside = rows.len() as f64 * (NAME_PT + GAP_PT) + 2.0 * MARGIN_PT;
    let drawn: f64 = rows.iter().zip(&scales).map(|(row, scale)| scale * high(row)).sum();
    let shrink = ((room.height_pt - beside) / drawn).clamp(1e-3, 1.0);
    let mut seen = Vec::new();
    let mut y = MARGIN_PT;
    for (row, scale) in rows.iter().zip(&scales) {
        let pt_per_mm = scale * shrink;
        let used = pt_per_mm * wide(row);
        // What is left over is shared out between the views and beside them.
        let spare = (room.width_pt - 2.0 * MARGIN_PT - used) / (row.len() as f64);
        let floor = y + NAME_PT + pt_per_mm * high(row);
        let mut x = MARGIN_PT + if row.len() == 1 { spare / 2.0 } else { 0.0 };
        let between = if row.len() == 1 { 0.0 } else { spare * row.len() as f64 / (row.len() as f64 - 1.0) };
        for view in *row {
            seen.push(Seen { view: *view, low: Point::new(x + ears_mm(*view) * pt_per_mm, floor), pt_per_mm });
            x += extent_mm(body, *view)[0] * pt_per_mm + between;
        }
        y = floor + GAP_PT;
    }
    (seen, y + MARGIN_PT)
}

impl Seen {
    fn point(&self, [x, y]: [f64; 2]) -> Point {
        Point::new(self.low.x + x * self.pt_per_mm, self.low.y - y * self.pt_per_mm)
    }

    fn polygon(&self, corners_mm: &[[f64; 2]]) -> BezPath {
        let mut path = BezPath::new();
        for (i, corner) in corners_mm.iter().enumerate() {
            let p = self.point(*corner);
            if i == 0 { path.move_to(p) } else { path.line_to(p) }
        }
        path.close_path();
        path
    }

    fn id(&self, panel: usize) -> String {
        format!("lm-{}-{panel}", self.view.name())
    }
}

fn view(body: &Body, on_panels: &[OnPanel], chosen: Option<usize>, seen: &Seen, marks: &mut Vec<Mark>) {
    let [_, high] = body.size_mm(seen.view);
    let name_at = Point::new(seen.point([-ears_mm(seen.view), 0.0]).x, seen.point([0.0, high]).y - 6.0);
    marks.push(text(Class::Side, name_at, TextAt::Start, side_name(seen.view)));
    let shapes: Vec<&Shape> = body.shapes().iter().filter(|shape| shape.view == seen.view).collect();
    // Under everything, so that no reach takes what lies on a neighbour.
    marks.extend(shapes.iter().filter_map(|shape| reach(body, seen, shape)));
    let mut words = Vec::new();
    let mut outlines = Vec::new();
    for (i, shape) in shapes.iter().enumerate() {
        let path = seen.polygon(&shape.outline_mm);
        let Part::Panel(panel) = shape.part else {
            marks.push(stroke(class(shape.part), path));
            continue;
        };
        let shown = on_panels.get(panel);
        let fill = shown.and_then(|on| on.fill);
        let area = Mark::Path { class: Class::Panel, path: path.clone(), fill };
        marks.push(Mark::Named { id: seen.id(panel), panel, name: panel_name(body, panel), marks: vec![area] });
        let said = shown.map_or_else(|| short_name(body, panel), |on| on.words.clone());
        words.extend(words_on(seen, shape, &shapes[i + 1..], &said));
        if chosen == Some(panel) {
            outlines.push(stroke(Class::Chosen, path));
        }
    }
    marks.extend(outlines);
    marks.extend(words);
}

const fn side_name(view: View) -> &'static str {
    match view {
        View::Left => "Left side",
        View::Right => "Right side",
        View::Front => "Front",
        View::Rear => "Rear",
        View::Above => "From above",
    }
}

const fn class(part: Part) -> Class {
    match part {
        Part::Panel(_) => Class::Panel,
        Part::Shell => Class::Shell,
        Part::Glass => Class::Glass,
        Part::Headlamp => Class::Headlamp,
        Part::TailLamp => Class::TailLamp,
        Part::Tyre => Class::Tyre,
        Part::Rim => Class::Rim,
        Part::Trim => Class::Trim,
        Part::Hollow => Class::Hollow,
    }
}

fn panel_name(body: &Body, panel: usize) -> String {
    body.panels().get(panel).map_or_else(String::new, |p| p.name().to_owned())
}

/// A panel's name where the side is plain to see.
fn short_name(body: &Body, panel: usize) -> String {
    let name = panel_name(body, panel);
    ["left ", "right "].iter().find_map(|side| name.strip_prefix(side)).map_or_else(|| name.clone(), str::to_owned)
}

/// What makes a small panel as large as a finger: a box about it, as far as the view goes.
fn reach(body: &Body, seen: &Seen, shape: &Shape) -> Option<Mark> {
    let Part::Panel(panel) = shape.part else { return None };
    let own = bounds(&seen.polygon(&shape.outline_mm));
    if own.width() >= TARGET_PT && own.height() >= TARGET_PT {
        return None;
    }
    let size = (own.width().max(TARGET_PT), own.height().max(TARGET_PT));
    let [w, h] = extent_mm(body, seen.view);
    let (left, right) = (-ears_mm(seen.view), w - ears_mm(seen.view));
    let view = Rect::from_points(seen.point([left, h]), seen.point([right, 0.0]));
    // As far as the view's name above it, and the gap below.
    let frame = Rect::new(view.x0, view.y0 - NAME_PT, view.x1, view.y1 + GAP_PT);
    let area = Rect::from_center_size(own.center(), size).intersect(frame);
    let path = crate::place::boxed(area);
    let id = format!("{}-reach", seen.id(panel));
    Some(Mark::Named { id, panel, name: panel_name(body, panel), marks: vec![stroke(Class::Reach, path)] })
}

fn bounds(path: &BezPath) -> Rect {
    kurbo::Shape::bounding_box(path)
}

/// Words on a panel, in one line or two; none where they would stick out or lie on what is drawn `over` it.
fn words_on(seen: &Seen, shape: &Shape, over: &[&Shape], said: &str) -> Vec<Mark> {
    let letter = Class::PanelWords.letter_pt();
    let one = vec![said.to_owned()];
    let two = said.rsplit_once(' ').map(|(a, b)| vec![a.to_owned(), b.to_owned()]);
    for lines in [Some(one), two].into_iter().flatten() {
        if said.is_empty() {
            break;
        }
        let Some(centre) = place_for(seen, shape, over, &lines) else { continue };
        let at = |i: usize| Point::new(centre.x, centre.y + (i as f64 - (lines.len() as f64 - 1.0) / 2.0) * letter * 1.1);
        return (0..lines.len()).map(|i| text(Class::PanelWords, baseline(at(i), letter), TextAt::Middle, lines[i].clone())).collect();
    }
    Vec::new()
}

/// Where a block of lines lies on the panel: the place nearest to its middle.
fn place_for(seen: &Seen, shape: &Shape, over: &[&Shape], lines: &[String]) -> Option<Point> {
    const STEPS: u32 = 12;
    let letter = Class::PanelWords.letter_pt();
    let widest = lines.iter().max_by(|a, b| width_pt(a, letter).total_cmp(&width_pt(b, letter)))?;
    let one = text_box(widest, letter, Point::ZERO);
    let (half_w, half_h) = (one.width() / 2.0, one.height() * lines.len() as f64 / 2.0);
    let corners = |shape: &Shape| -> Vec<Point> { shape.outline_mm.iter().map(|c| seen.point(*c)).collect() };
    let (below, above) = (corners(shape), over.iter().map(|shape| corners(shape)).collect::<Vec<_>>());
    let clear = |p: Point| inside(&below, p) && !above.iter().any(|corners| inside(corners, p));
    let own = bounds(&seen.polygon(&shape.outline_mm));
    let holds = |p: Point| {
        let xs = [-1.0, -0.5, 0.0, 0.5, 1.0];
        xs.iter().all(|x| [-1.0, 0.0, 1.0].iter().all(|y| clear(Point::new(p.x + x * half_w, p.y + y * half_h))))
    };
    let share = |i: u32| f64::from(i) / f64::from(STEPS);
    let places = (0..=STEPS).flat_map(|i| (0..=STEPS).map(move |j| (share(i), share(j))));
    let free = places.map(|(x, y)| Point::new(own.x0 + x * own.width(), own.y0 + y * own.height())).filter(|p| holds(*p));
    free.min_by(|a, b| a.distance_squared(own.center()).total_cmp(&b.distance_squared(own.center())))
}

fn inside(corners: &[Point], p: Point) -> bool {
    let mut inside = false;
    for (i, a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % corners.len()];
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            inside = !inside;
        }
    }
    inside
}

fn titled(body: &Body) -> String {
    let size = [Measure::Length, Measure::Width, Measure::Height].map(|m| body.dimensions().get(m));
    format!("{}, {} by {} by {} mm", body.kind().name(), size[0], size[1], size[2])
}

fn described(body: &Body, on_panels: &[OnPanel], chosen: Option<usize>) -> String {
    let said = |i: usize| match on_panels.get(i).map(|on| on.words.as_str()) {
        Some(words) if !words.is_empty() => format!("{}: {words}", panel_name(body, i)),
        _ => panel_name(body, i),
    };
    let panels: Vec<String> = (0..body.panels().len()).map(said).collect();
    let chosen = chosen.filter(|i| *i < panels.len()).map_or_else(String::new, |i| format!(" Outlined: {}.", panel_name(body, i)));
    format!("The vehicle from its left, its right, before, behind and above. Its panels: {}.{chosen}", panels.join("; "))
}
