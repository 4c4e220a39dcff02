//! What pads were kept off while sets were done.

use lastmicron_plan::{CarPanel, KeepOff, KeepOffLine, KeptOff};

use super::done::Where;
use super::read::number;
use super::reason::Reason;
use crate::bounds::KEPT_OFF_MM;
use crate::event::SetDone;

/// What was kept off on the sections of an event, which lie on one panel then.
pub(super) fn kept_off(said: &SetDone, place: &Where, panels: &[CarPanel]) -> Result<KeptOff, Reason> {
    let (edges, lines) = (said.keep_off.as_deref().unwrap_or_default(), said.keep_off_lines.as_deref().unwrap_or_default());
    if edges.is_empty() && lines.is_empty() {
        return Ok(KeptOff::default());
    }
    let panel = one_panel(place, panels).ok_or(Reason::OneOf("the sections, all of one panel, on which edges or lines were kept off"))?;
    let name = &panel.panel.name;
    let (of_outline, of_panel) = (panel.panel.outline_mm.len(), panel.lines.len());
    let edge = |off: &crate::event::EdgeKeptOff| {
        let edge = numbered(off.edge, "edge", of_outline, name)?;
        Ok(KeepOff { edge, mm: number(&off.mm, "keep_off", &KEPT_OFF_MM)? })
    };
    let line = |off: &crate::event::LineKeptOff| {
        let line = numbered(off.line, "body line", of_panel, name)?;
        Ok(KeepOffLine { line, mm: number(&off.mm, "keep_off_lines", &KEPT_OFF_MM)? })
    };
    let edges = edges.iter().map(edge).collect::<Result<Vec<_>, Reason>>()?;
    let lines = lines.iter().map(line).collect::<Result<Vec<_>, Reason>>()?;
    Ok(KeptOff::of(edges, lines))
}

/// The panel on which all of some sections lie.
fn one_panel<'p>(place: &Where, panels: &'p [CarPanel]) -> Option<&'p CarPanel> {
    let Where::Sections(sections) = place else { return None };
    let first = sections.first()?.panel;
    panels.get(first).filter(|_| sections.iter().all(|section| section.panel == first))
}

fn numbered(number: u32, what: &'static str, count: usize, panel: &str) -> Result<usize, Reason> {
    let at = usize::try_from(number).ok().filter(|at| *at < count);
    at.ok_or_else(|| Reason::NotOfPanel { what, number, count, panel: panel.to_owned() })
}
