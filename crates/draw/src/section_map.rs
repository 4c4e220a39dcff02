//! One section to work, large enough to be found on the panel: where it lies, what is kept off, what is done already.

use kurbo::{BezPath, Point, Rect};
use lastmicron_plan::{CarPanel, KeepOff, KeepOffLine};

use crate::edges::{EDGE_MARGIN_PT, kept_off, kept_off_lines, names};
use crate::figure::counted;
use crate::hatch::{Lean, hatch};
use crate::labels::{Taken, baseline, text_box};
use crate::place::{Placed, boxed, fitting_scale};
use crate::scene::{Class, Mark, Room, Scene, TextAt, stroke, text};

/// How a section stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It waits.
    Waits,
    /// It is being worked.
    Begun,
    /// It is done.
    Done,
    /// It was stopped before its end.
    Stopped,
    /// It is left as it is.
    Left,
}

/// A section in the drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionAt {
    /// Lower left corner, mm.
    pub corner_mm: [f64; 2],
    /// Size, mm.
    pub size_mm: [f64; 2],
    /// How it stands.
    pub standing: Standing,
}

impl Standing {
    /// The word on the drawing.
    const fn word(self) -> &'static str {
        match self {
            Self::Waits => "",
            Self::Begun => "begun",
            Self::Done => "done",
            Self::Stopped => "stopped",
            Self::Left => "leave",
        }
    }
}

/// The panel with its sections; the one of index `chosen` has a heavy outline. Bands to stay off are hatched closely, sections that are left as they are widely.
#[must_use]
pub fn section_map(
    panel: &CarPanel,
    sections: &[SectionAt],
    chosen: Option<usize>,
    keep_off: (&[KeepOff], &[KeepOffLine]),
    room: Room,
) -> Scene {
    let margin = 2.0 * EDGE_MARGIN_PT;
    let size_mm = panel.panel.size_mm();
    let pt_per_mm = fitting_scale(size_mm, room.width_pt - margin, room.height_pt - margin);
    let corner = Point::new((room.width_pt - size_mm[0] * pt_per_mm) / 2.0, EDGE_MARGIN_PT);
    let placed = Placed::new(size_mm, corner, pt_per_mm);
    let area = |section: &SectionAt| placed.rect(section.corner_mm[0], section.corner_mm[1], section.size_mm[0], section.size_mm[1]);
    let outline = placed.polygon(&panel.panel.outline_mm);
    let id = "lm-section";
    let mut clipped = Vec::new();
    for section in sections.iter().filter(|section| section.standing == Standing::Left) {
        let mut lines = BezPath::new();
        hatch(&mut lines, area(section), 7.0, Lean::Right);
        clipped.push(stroke(Class::LeftAlone, lines));
    }
    clipped.extend(kept_off(panel, keep_off.0, &placed, id));
    clipped.extend(kept_off_lines(panel, keep_off.1, &placed, id));
    clipped.extend(sections.iter().map(|section| stroke(Class::Section, boxed(area(section)))));
    clipped.extend(panel.lines.iter().map(|line| stroke(Class::BodyLine, placed.line(&line.points_mm))));
    let mut taken = Taken::default();
    let words = sections.iter().flat_map(|section| word(section.standing.word(), area(section), &mut taken)).collect::<Vec<Mark>>();
    let mut marks =
        vec![Mark::Clipped { id: format!("{id}-panel"), area: outline.clone(), marks: clipped }, stroke(Class::Outline, outline)];
    marks.extend(chosen.and_then(|at| sections.get(at)).map(|section| stroke(Class::Chosen, boxed(area(section).inset(-1.6)))));
    marks.extend(words);
    marks.extend(names(panel, keep_off.0, &placed, &mut taken));
    let height_pt = placed.frame.y1 + EDGE_MARGIN_PT;
    Scene { width_pt: room.width_pt, height_pt, title: panel.panel.name.clone(), description: described(panel, sections, chosen), marks }
}

fn word(said: &str, area: Rect, taken: &mut Taken) -> Option<Mark> {
    let letter = Class::Steps.letter_pt();
    let place = text_box(said, letter, area.center());
    let fits = !said.is_empty() && place.width() <= area.width() && taken.try_take(place);
    fits.then(|| text(Class::Steps, baseline(area.center(), letter), TextAt::Middle, said))
}

fn described(panel: &CarPanel, sections: &[SectionAt], chosen: Option<usize>) -> String {
    let count = |standing: Standing| sections.iter().filter(|section| section.standing == standing).count();
    let place = chosen.and_then(|at| sections.get(at)).map_or_else(String::new, |section| {
        let ([x, y], [w, h]) = (section.corner_mm, section.size_mm);
        format!(" Outlined: {w:.0} by {h:.0} mm, from {x:.0} mm across and {y:.0} mm up.")
    });
    format!(
        "{}: {}, {} done, {} stopped, {} left alone.{place}",
        panel.panel.name,
        counted(sections.len(), "section", "sections"),
        count(Standing::Done),
        count(Standing::Stopped),
        count(Standing::Left)
    )
}
