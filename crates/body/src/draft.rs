//! A body in the making: what is drawn on the left is drawn on the right, and panels fall into the order of a walk round the vehicle.

use lastmicron_film::panel::Panel;
use lastmicron_plan::CarPanel;

use crate::curve::{Spot, mirrored};
use crate::outline::Outline;
use crate::panel::{BodyPanel, Nature, Stand};
use crate::shape::{Part, Shape, View};

/// A body line in the making: from where, to where, and its radius, mm.
pub(crate) type Crease = (Spot, Spot, f64);

/// A panel in the making.
#[derive(Clone, Debug)]
pub(crate) struct Drafted {
    pub(crate) name: String,
    pub(crate) outline: Outline,
    pub(crate) creases: Vec<Crease>,
    pub(crate) stand: Stand,
    pub(crate) nature: Nature,
    /// Name of the mirror image.
    pub(crate) mirror: Option<String>,
}

/// What a shape in the making is.
#[derive(Clone, Debug)]
enum Of {
    Panel(String),
    Other(Part),
}

/// A body in the making.
#[derive(Clone, Debug)]
pub(crate) struct Draft {
    /// Overall length and width, whole mm.
    length: f64,
    width: f64,
    front: Vec<Drafted>,
    left: Vec<Drafted>,
    rear: Vec<Drafted>,
    rear_right: Vec<Drafted>,
    right: Vec<Drafted>,
    top: Vec<Drafted>,
    shapes: Vec<(View, Of, Vec<Spot>)>,
}

impl Draft {
    pub(crate) fn new(length: f64, width: f64) -> Self {
        let none = Vec::new;
        Self {
            length,
            width,
            front: none(),
            left: none(),
            rear: none(),
            rear_right: none(),
            right: none(),
            top: none(),
            shapes: Vec::new(),
        }
    }

    /// A panel of the left side and its mirror image, drawn where they stand.
    pub(crate) fn sides(&mut self, name: &str, outline: Outline, nature: Nature, creases: &[Crease]) {
        let length = self.length;
        self.side_shape(name, &outline.corners());
        let names = ["left", "right"].map(|side| format!("{side} {name}"));
        let over = |[x, y]: Spot| [length - x, y];
        let mirror_outline = outline.moved(over);
        let mirror_creases = creases.iter().map(|(a, b, r)| (over(*a), over(*b), *r)).collect();
        let [left, right] = names;
        let of = |name: &String, mirror: &String, outline, creases, stand| Drafted {
            name: name.clone(),
            outline,
            creases,
            stand,
            nature,
            mirror: Some(mirror.clone()),
        };
        self.left.push(of(&left, &right, outline, creases.to_vec(), Stand::Left));
        self.right.insert(0, of(&right, &left, mirror_outline, mirror_creases, Stand::Right));
    }

    /// A panel left of the middle as seen from behind, and its mirror image.
    pub(crate) fn rear_pair(&mut self, name: &str, outline: Outline, nature: Nature, creases: &[Crease]) {
        let width = self.width;
        let over = |[x, y]: Spot| [width - x, y];
        let names = ["left", "right"].map(|side| format!("{side} {name}"));
        let outlines = [outline.clone(), outline.moved(over)];
        let mirrored_creases = creases.iter().map(|(a, b, r)| (over(*a), over(*b), *r)).collect();
        for (i, (outline, creases)) in outlines.into_iter().zip([creases.to_vec(), mirrored_creases]).enumerate() {
            self.panel_shape(View::Rear, &names[i], &outline.corners());
            let mirror = Some(names[1 - i].clone());
            let drafted = Drafted { name: names[i].clone(), outline, creases, stand: Stand::Rear, nature, mirror };
            if i == 0 { self.rear.push(drafted) } else { self.rear_right.push(drafted) }
        }
    }

    /// A panel that has no mirror image; drawn by [`Draft::panel_shape`].
    pub(crate) fn single(&mut self, name: &str, outline: Outline, stand: Stand, nature: Nature, creases: &[Crease]) {
        let drafted = Drafted { name: name.to_owned(), outline, creases: creases.to_vec(), stand, nature, mirror: None };
        match stand {
            Stand::Front => self.front.push(drafted),
            Stand::Left => self.left.push(drafted),
            Stand::Rear => self.rear.push(drafted),
            Stand::Right => self.right.push(drafted),
            Stand::LeftStep => self.top.push(drafted),
        }
    }

    /// The panel of that name as it shows in a view.
    pub(crate) fn panel_shape(&mut self, view: View, name: &str, corners: &[Spot]) {
        self.shapes.push((view, Of::Panel(name.to_owned()), corners.to_vec()));
    }

    /// Both panels of that name as they show from the sides.
    pub(crate) fn side_shape(&mut self, name: &str, corners: &[Spot]) {
        self.panel_shape(View::Left, &format!("left {name}"), corners);
        let over = mirrored(corners, self.length / 2.0);
        self.panel_shape(View::Right, &format!("right {name}"), &over);
    }

    /// A panel that has no mirror image as it shows from both sides.
    pub(crate) fn single_from_sides(&mut self, name: &str, corners: &[Spot]) {
        self.panel_shape(View::Left, name, corners);
        let over = mirrored(corners, self.length / 2.0);
        self.panel_shape(View::Right, name, &over);
    }

    /// What is no panel, in one view.
    pub(crate) fn part(&mut self, view: View, part: Part, corners: Vec<Spot>) {
        self.shapes.push((view, Of::Other(part), corners));
    }

    /// What is no panel, seen from both sides.
    pub(crate) fn side_part(&mut self, part: Part, corners: &[Spot]) {
        self.part(View::Left, part, corners.to_vec());
        self.part(View::Right, part, mirrored(corners, self.length / 2.0));
    }

    /// What is no panel and stands left and right of the middle, seen from the front or the rear.
    pub(crate) fn end_pair(&mut self, view: View, part: Part, corners: &[Spot]) {
        self.part(view, part, corners.to_vec());
        self.part(view, part, mirrored(corners, self.width / 2.0));
    }

    /// Panels in the order of a walk from the front along the left, and shapes from back to front.
    pub(crate) fn finished(self) -> (Vec<BodyPanel>, Vec<Shape>) {
        let walk = [self.front, self.left, self.rear, self.rear_right, self.right, self.top].concat();
        let number = |name: &str| walk.iter().position(|panel| panel.name == name);
        let panels = walk.iter().map(|drafted| stated(drafted, drafted.mirror.as_deref().and_then(number))).collect();
        let shapes = self.shapes.into_iter().filter_map(|(view, of, outline_mm)| {
            let part = match of {
                Of::Other(part) => part,
                Of::Panel(name) => Part::Panel(number(&name)?),
            };
            Some(Shape { view, part, outline_mm: Outline::free(&outline_mm).corners() })
        });
        (panels, shapes.collect())
    }
}

fn stated(drafted: &Drafted, mirror: Option<usize>) -> BodyPanel {
    let low = drafted.outline.low();
    let placed = drafted.outline.placed();
    let own = |[x, y]: Spot| [x - low[0], y - low[1]];
    let lines = drafted.creases.iter().filter_map(|(a, b, radius_mm)| placed.line(own(*a), own(*b), *radius_mm)).collect();
    let panel = Panel { name: drafted.name.clone(), outline_mm: placed.corners(), substrate: drafted.nature.substrate };
    let stated = CarPanel {
        panel,
        undercoat: None,
        hardness: None,
        metallic: None,
        visibility: drafted.nature.visibility,
        work: true,
        lines,
        gone_through: Vec::new(),
    };
    BodyPanel { stated, stand: drafted.stand, free_edges: placed.free_sides(), mirror }
}
