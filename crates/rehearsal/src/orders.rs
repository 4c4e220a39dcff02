//! Orders to work by: which sets on which sections, which edges and lines to stay off. A plan says more; working needs no more.

use lastmicron_film::panel::Panel;
use lastmicron_plan::{Car, CarPanel, KeepOff, KeepOffLine, Plan};
use lastmicron_polish::Step;

/// A side of a section lies between these, mm, shorter only where the panel is: one arm's reach, and what one application keeps wet.
const SHORTEST_SIDE_MM: f64 = 250.0;
const LONGEST_SIDE_MM: f64 = 600.0;

/// Rounding of a section's corners that is forgiven, mm.
pub(crate) const FORGIVEN_MM: f64 = 0.5;

/// What to do on one panel.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelOrders {
    /// Edges to stay off.
    pub keep_off: Vec<KeepOff>,
    /// Body lines to stay off.
    pub keep_off_lines: Vec<KeepOffLine>,
    /// Sections, tiling the panel.
    pub sections: Vec<SectionOrders>,
}

/// What to do on one section.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionOrders {
    /// Lower left corner, mm.
    pub x_mm: f64,
    /// Lower left corner, mm.
    pub y_mm: f64,
    /// Size, mm.
    pub width_mm: f64,
    /// Size, mm.
    pub height_mm: f64,
    /// Sets in the order of work.
    pub steps: Vec<Step>,
}

/// Why orders can't be worked.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Unlawful {
    /// Panels are missing, too many, or in another order.
    #[error("the orders are for {ordered} panels, the car has {present}")]
    Panels {
        /// Panels in the orders.
        ordered: usize,
        /// Panels of the car.
        present: usize,
    },
    /// A section is too small or too large.
    #[error("{panel}: a section side of {side_mm} mm; 250 to 600 mm, smaller only where the panel is")]
    Side {
        /// Name of the panel.
        panel: String,
        /// The side, mm.
        side_mm: f64,
    },
    /// A place is in no section, or in several.
    #[error("{panel}: the place ({x_mm}, {y_mm}) mm is in {sections} sections instead of one")]
    Tiling {
        /// Name of the panel.
        panel: String,
        /// The place, mm.
        x_mm: f64,
        /// The place, mm.
        y_mm: f64,
        /// Sections that claim it.
        sections: usize,
    },
    /// A step names no process of the job, or no sets.
    #[error("{panel}: a step with process {process} and {sets} sets: a process of the job and one set or more")]
    Step {
        /// Name of the panel.
        panel: String,
        /// Index of the process.
        process: usize,
        /// Sets.
        sets: u32,
    },
    /// An edge that the panel does not have, or a band of no width.
    #[error("{panel}: stay off edge {edge} by {mm} mm: an edge of the panel and 0 mm or more")]
    KeepOff {
        /// Name of the panel.
        panel: String,
        /// Number of the edge.
        edge: usize,
        /// Width of the band, mm.
        mm: f64,
    },
    /// A body line that the panel does not have, or a band of no width.
    #[error("{panel}: stay off body line {line} by {mm} mm: a line of the panel and 0 mm or more")]
    KeepOffLine {
        /// Name of the panel.
        panel: String,
        /// Index of the line.
        line: usize,
        /// Width of the band on either side, mm.
        mm: f64,
    },
    /// A panel that must stay as it is would be worked.
    #[error("{panel} must be left alone, and the orders work it")]
    LeftAlone {
        /// Name of the panel.
        panel: String,
    },
}

/// The orders that a plan gives, panels in the order of the car.
#[must_use]
pub fn orders_of(plan: &Plan) -> Vec<PanelOrders> {
    let section = |s: &lastmicron_plan::SectionPlan| SectionOrders {
        x_mm: s.x_mm,
        y_mm: s.y_mm,
        width_mm: s.width_mm,
        height_mm: s.height_mm,
        steps: s.steps.clone(),
    };
    let orders = |p: &lastmicron_plan::PanelPlan| PanelOrders {
        keep_off: p.keep_off.clone(),
        keep_off_lines: p.keep_off_lines.clone(),
        sections: p.sections.iter().map(section).collect(),
    };
    plan.panels.iter().map(orders).collect()
}

impl SectionOrders {
    /// Whether a place of a panel is in this section: places on a shared border belong to the upper or right one.
    pub(crate) fn holds(&self, [x_mm, y_mm]: [f64; 2], [width_mm, height_mm]: [f64; 2]) -> bool {
        let within = |at: f64, low: f64, size: f64, full: f64| {
            let high = low + size;
            at >= low - FORGIVEN_MM && (at < high - FORGIVEN_MM || high >= full - FORGIVEN_MM)
        };
        within(x_mm, self.x_mm, self.width_mm, width_mm) && within(y_mm, self.y_mm, self.height_mm, height_mm)
    }
}

/// Checks all that can be said of orders without a place: sides, steps, edges, panels to be left alone.
pub(crate) fn check(car: &Car, orders: &[PanelOrders]) -> Result<(), Unlawful> {
    if orders.len() != car.panels.len() {
        return Err(Unlawful::Panels { ordered: orders.len(), present: car.panels.len() });
    }
    for (of_panel, orders) in car.panels.iter().zip(orders) {
        check_edges(&of_panel.panel, &orders.keep_off)?;
        check_lines(of_panel, &orders.keep_off_lines)?;
        for section in &orders.sections {
            check_sides(&of_panel.panel, section)?;
            check_steps(&of_panel.panel.name, &section.steps, car.processes.len())?;
            if !of_panel.work && !section.steps.is_empty() {
                return Err(Unlawful::LeftAlone { panel: of_panel.panel.name.clone() });
            }
        }
    }
    Ok(())
}

fn check_edges(panel: &Panel, keep_off: &[KeepOff]) -> Result<(), Unlawful> {
    let wrong = keep_off.iter().find(|k| k.edge >= panel.outline_mm.len() || !k.mm.is_finite() || k.mm < 0.0);
    wrong.map_or(Ok(()), |k| Err(Unlawful::KeepOff { panel: panel.name.clone(), edge: k.edge, mm: k.mm }))
}

fn check_lines(panel: &CarPanel, keep_off: &[KeepOffLine]) -> Result<(), Unlawful> {
    let wrong = keep_off.iter().find(|k| k.line >= panel.lines.len() || !k.mm.is_finite() || k.mm < 0.0);
    wrong.map_or(Ok(()), |k| Err(Unlawful::KeepOffLine { panel: panel.panel.name.clone(), line: k.line, mm: k.mm }))
}

fn check_sides(panel: &Panel, section: &SectionOrders) -> Result<(), Unlawful> {
    for (side_mm, full_mm) in [section.width_mm, section.height_mm].into_iter().zip(panel.size_mm()) {
        let lawful = f64::min(SHORTEST_SIDE_MM, full_mm) - FORGIVEN_MM..=LONGEST_SIDE_MM + FORGIVEN_MM;
        if !lawful.contains(&side_mm) {
            return Err(Unlawful::Side { panel: panel.name.clone(), side_mm });
        }
    }
    Ok(())
}

fn check_steps(panel: &str, steps: &[Step], processes: usize) -> Result<(), Unlawful> {
    let wrong = steps.iter().find(|s| s.process >= processes || s.sets == 0);
    wrong.map_or(Ok(()), |s| Err(Unlawful::Step { panel: panel.to_owned(), process: s.process, sets: s.sets }))
}
