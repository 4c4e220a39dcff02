//! One panel while it is read: its topcoat as far as it is known, what each section bears, and where to read next.

use kurbo::{BezPath, Circle, Point, Rect, Shape as _};
use lastmicron_plan::survey::{PanelSurvey, Word};
use lastmicron_plan::{CarPanel, Reading};
use lastmicron_units::Unit;

use crate::figure::{counted, in_unit};
use crate::film_pane::{Shows, contour_numbers, field, lowest, lowest_mark};
use crate::hatch::{Lean, hatch};
use crate::labels::{Taken, baseline, text_box};
use crate::legend::{LEGEND_PT, legend};
use crate::place::{Placed, boxed, fitting_scale, segment};
use crate::readings;
use crate::scales::Scale;
use crate::scene::{Class, Mark, Room, Scene, TextAt, stroke, text};

/// Round the panel, so that a place on its very edge can be marked, points.
const MARGIN_PT: f64 = 9.0;
/// Radius of the mark of the place to read, points.
const NEXT_PT: f64 = 6.0;

/// A panel's drawing, and how its places stand in it.
#[derive(Clone, Debug, PartialEq)]
pub struct SurveyMap {
    /// The drawing.
    pub scene: Scene,
    /// The panel's lower left in it, points from the upper left.
    pub origin_pt: [f64; 2],
    /// Points a millimetre.
    pub pt_per_mm: f64,
}

impl SurveyMap {
    /// The same with a test spot's outline upon it, and its name in the middle: its lower left corner and its size, mm.
    #[must_use]
    pub fn with_spot(mut self, name: &str, corner_mm: [f64; 2], size_mm: [f64; 2]) -> Self {
        let point = |place_mm: [f64; 2]| {
            Point::new(self.origin_pt[0] + place_mm[0] * self.pt_per_mm, self.origin_pt[1] - place_mm[1] * self.pt_per_mm)
        };
        let area = Rect::from_points(point(corner_mm), point([corner_mm[0] + size_mm[0], corner_mm[1] + size_mm[1]]));
        self.scene.marks.push(stroke(Class::SpotCasing, boxed(area)));
        self.scene.marks.push(stroke(Class::Spot, boxed(area)));
        self.scene.marks.push(text(Class::Label, baseline(area.center(), Class::Label.letter_pt()), TextAt::Middle, name));
        self.scene.description.push_str(&format!(
            " Test spot {name}: {:.0} by {:.0} mm, from {:.0} mm across and {:.0} mm up.",
            size_mm[0], size_mm[1], corner_mm[0], corner_mm[1]
        ));
        self
    }
}

/// A panel as it is read. `place_mm` is where the next reading is to be taken, `floor_um` the floor where one is agreed; where it isn't, nothing is drawn of what sections bear.
#[must_use]
pub fn survey_map(
    panel: &CarPanel,
    survey: &PanelSurvey,
    read: &[Reading],
    place_mm: Option<[f64; 2]>,
    floor_um: Option<f64>,
    unit: Unit,
    room: Room,
) -> SurveyMap {
    let wide = room.width_pt - 2.0 * MARGIN_PT;
    let pt_per_mm = fitting_scale(panel.panel.size_mm(), wide, room.height_pt - 2.0 * MARGIN_PT - LEGEND_PT);
    let [w, _] = panel.panel.size_mm();
    let placed = Placed::new(panel.panel.size_mm(), Point::new((room.width_pt - w * pt_per_mm) / 2.0, MARGIN_PT), pt_per_mm);
    let scale = Scale::of_topcoat(survey.film.as_slice(), unit);
    let field = field(panel, survey.film.as_ref(), Shows::Mean, &scale, &placed);
    let outline = placed.polygon(&panel.panel.outline_mm);
    let mut taken = Taken::default();
    let mut upon = Vec::new();
    if let Some([x, y]) = place_mm {
        let p = placed.point(x, y);
        taken.take(Rect::from_center_size(p, (2.0 * NEXT_PT, 2.0 * NEXT_PT)));
        upon.extend(next_mark(p));
    }
    let (marks_read, _) = readings::marks(read, survey.panel, &placed, &mut taken);
    upon.extend(marks_read);
    if let Some(film) = &survey.film
        && let Some((node, place)) = lowest(panel, film)
    {
        upon.extend(lowest_mark(place, &in_unit(film.topcoat_mean_um[node], unit), &placed, &mut taken));
    }
    let numbers = contour_numbers(&field, |place| placed.holds(panel, place), &scale, unit, &mut taken);
    let mut clipped = field.marks;
    clipped.extend(panel.lines.iter().map(|line| stroke(Class::BodyLine, placed.line(&line.points_mm))));
    let (borne, words) = if floor_um.is_some() { sections(survey, &placed, panel, &mut taken) } else { (Vec::new(), Vec::new()) };
    clipped.extend(borne);
    let mut marks = vec![
        Mark::Clipped { id: format!("lm-{}-survey", survey.panel), area: outline.clone(), marks: clipped },
        stroke(Class::Outline, outline),
    ];
    marks.extend(numbers);
    marks.extend(words);
    marks.extend(upon);
    let corner = Point::new(MARGIN_PT, placed.frame.y1 + MARGIN_PT);
    marks.extend(legend(&scale, Shows::Mean, unit, floor_um, corner, wide));
    let scene = Scene {
        width_pt: room.width_pt,
        height_pt: corner.y + LEGEND_PT,
        title: panel.panel.name.clone(),
        description: described(panel, survey, place_mm, unit),
        marks,
    };
    SurveyMap { scene, origin_pt: [placed.frame.x0, placed.frame.y1], pt_per_mm }
}

/// A ring with a cross that leaves its middle free, on a light casing, so that it shows on any colour.
fn next_mark(p: Point) -> [Mark; 2] {
    let mut path: BezPath = Circle::new(p, NEXT_PT * 0.7).to_path(0.05);
    for (dx, dy) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
        let at = |r: f64| Point::new(p.x + dx * r * NEXT_PT, p.y + dy * r * NEXT_PT);
        path.extend(segment(at(0.35), at(1.1)));
    }
    [stroke(Class::NextCasing, path.clone()), stroke(Class::Next, path)]
}

/// Sections that bear less than the plan's process: hatched where they are to be left alone, named where only mild work is borne.
fn sections(survey: &PanelSurvey, placed: &Placed, panel: &CarPanel, taken: &mut Taken) -> (Vec<Mark>, Vec<Mark>) {
    let (mut areas, mut words) = (Vec::new(), Vec::new());
    for section in survey.sections.iter().filter(|section| section.word < Word::Work) {
        let area = placed.rect(section.x_mm, section.y_mm, section.width_mm, section.height_mm);
        if section.word == Word::LeaveAlone {
            let mut lines = BezPath::new();
            hatch(&mut lines, area, 7.0, Lean::Right);
            areas.push(stroke(Class::ContourCasing, lines.clone()));
            areas.push(stroke(Class::LeftAlone, lines));
        }
        areas.push(stroke(Class::Section, boxed(area)));
        let (letter, said) = (Class::Label.letter_pt(), if section.word == Word::LeaveAlone { "leave" } else { "mild" });
        let place = text_box(said, letter, area.center());
        if placed.holds(panel, place) && taken.try_take(place) {
            words.push(text(Class::Label, baseline(area.center(), letter), TextAt::Middle, said));
        }
    }
    (areas, words)
}

fn described(panel: &CarPanel, survey: &PanelSurvey, place_mm: Option<[f64; 2]>, unit: Unit) -> String {
    let [w, h] = panel.panel.size_mm();
    let film = survey.film.as_ref().map_or_else(
        || "Nothing is known of its film.".to_owned(),
        |film| {
            let smallest = film.smallest_um;
            format!("Its smallest topcoat is {} to {}, 9 times in 10.", in_unit(smallest.p05, unit), in_unit(smallest.p95, unit))
        },
    );
    let next = place_mm.map_or_else(String::new, |[x, y]| format!(" Read next at {x:.0} mm across, {y:.0} mm up."));
    format!("{}, {w:.0} by {h:.0} mm, with {}. {film}{next}", panel.panel.name, counted(survey.readings, "reading", "readings"))
}
