//! What pads were kept off on a rectangle: `edge 2: 50; line 1: 20`.

use lastmicron_job::bounds::KEPT_OFF_MM;
use lastmicron_plan::{CarPanel, KeepOff, KeepOffLine, KeptOff};

use crate::problem::Fault;

/// Reads what was kept off on a panel; nothing for an empty text.
///
/// # Errors
/// [`Fault::KeptOff`] for a text of another shape, an edge or a line that the panel doesn't have, or a distance that makes no sense.
pub(crate) fn read(text: &str, panel: &CarPanel) -> Result<KeptOff, Fault> {
    let (mut edges, mut lines) = (Vec::new(), Vec::new());
    for one in text.split(';').map(str::trim).filter(|_| !text.trim().is_empty()) {
        let (what, number, mm) = parts(one).ok_or_else(|| Fault::KeptOff(one.to_owned()))?;
        match what {
            "edge" if number < panel.panel.outline_mm.len() => edges.push(KeepOff { edge: number, mm }),
            "line" if number < panel.lines.len() => lines.push(KeepOffLine { line: number, mm }),
            _ => return Err(Fault::KeptOff(one.to_owned())),
        }
    }
    Ok(KeptOff::of(edges, lines))
}

/// `edge` or `line`, its number, and how far, mm.
fn parts(one: &str) -> Option<(&str, usize, f64)> {
    let (named, mm) = one.split_once(':')?;
    let (what, number) = named.trim().split_once(' ')?;
    let mm: f64 = mm.trim().parse().ok()?;
    (mm > 0.0 && (KEPT_OFF_MM.holds)(mm)).then_some((what, number.trim().parse().ok()?, mm))
}

/// Writes what [`read`] reads.
pub(crate) fn write(kept_off: &KeptOff) -> String {
    let edges = kept_off.edges.iter().map(|off| format!("edge {}: {}", off.edge, off.mm));
    edges.chain(kept_off.lines.iter().map(|off| format!("line {}: {}", off.line, off.mm))).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use lastmicron_film::gauge::Substrate;
    use lastmicron_film::panel::Panel;
    use lastmicron_plan::BodyLine;

    fn panel() -> CarPanel {
        let line = BodyLine { points_mm: vec![[0.0, 300.0], [900.0, 300.0]], radius_mm: 8.0 };
        let panel = Panel::rectangle("door", 900.0, 600.0, Substrate::Steel);
        CarPanel {
            panel,
            undercoat: None,
            hardness: None,
            metallic: None,
            visibility: 1.0,
            work: true,
            lines: vec![line],
            gone_through: Vec::new(),
        }
    }

    #[test]
    fn what_was_kept_off_is_read_and_written() {
        let kept_off = KeptOff { edges: vec![KeepOff { edge: 2, mm: 50.0 }], lines: vec![KeepOffLine { line: 0, mm: 12.5 }] };
        assert_eq!(read("edge 2: 50; line 0: 12.5", &panel()).unwrap(), kept_off);
        assert_eq!(read(" line 0 :12.5;edge  2:50 ", &panel()).unwrap(), kept_off);
        assert_eq!(write(&kept_off), "edge 2: 50; line 0: 12.5");
        assert_eq!((read("", &panel()).unwrap(), write(&KeptOff::default())), (KeptOff::default(), String::new()));
    }

    #[test]
    fn what_is_of_another_shape_or_another_panel_is_refused() {
        for text in [
            "50",
            "edge 2",
            "edge: 50",
            "edge 4: 50",
            "line 1: 20",
            "edge 2: -50",
            "edge 2: 0",
            "edge 2: wide",
            "left 2: 50",
            "edge 2: 50;",
        ] {
            let message = read(text, &panel()).unwrap_err().to_string();
            assert!(message.contains("write edge or line, its number, and mm, like edge 2: 50; line 0: 20"), "{text}: {message}");
        }
    }
}
