//! What was assumed where a job states nothing, each with its source.

use lastmicron_polish::EdgeGain;

use super::Made;
use super::sentences::film;
use crate::car::System;
use crate::knowledge::carried_from;
use crate::paint;

/// What is taken near edges and lines, by process.
fn gains(made: &Made) -> Vec<String> {
    let (car, gains) = (made.car, &made.drawn.knowledge.gains);
    let said = |gain: EdgeGain| {
        let [mean, sd] = [gain.gain.mean, gain.gain.sd].map(|share| 100.0 * share);
        format!("{mean:.0} % more is taken (give or take {sd:.0}), falling off over {:.0} mm", gain.reach_mm)
    };
    let all_alike = (0..car.processes.len()).all(|process| car.equipment.of(process).is_none());
    let mut lines: Vec<String> = Vec::new();
    for (number, process) in car.processes.iter().enumerate() {
        let stated = car.equipment.of(number).is_some();
        let at_edge = said(gains.at_edges(number));
        let line = match (car.edge, stated) {
            (Some(_), _) => None,
            (None, true) => Some(format!(
                "{}: at an edge {at_edge}: from its pad's contact, with no more than a quarter of the pad over the edge (judgement)",
                process.name
            )),
            (None, false) if all_alike => Some(format!("at an edge {at_edge}: judgement from a soft pad half over an edge")),
            (None, false) => Some(format!("{}: at an edge {at_edge}: judgement from a soft pad half over an edge", process.name)),
        };
        lines.extend(line.filter(|line| !lines.contains(line)));
        for (radius_mm, gain) in gains.at_lines(number) {
            let source = if stated { "from its pad's contact" } else { "judgement: from the contact of a soft pad of 140 mm" };
            lines.push(format!("{}: on a body line of {radius_mm} mm {}: {source}", process.name, said(gain)));
        }
    }
    lines
}

/// Which rates are carried over from others.
fn carried_over(made: &Made) -> Vec<String> {
    let said = |(process, p): (usize, &lastmicron_polish::Process)| {
        let (other, transfer) = carried_from(made.car, process)?;
        Some(format!(
            "{} has the polish of {}: what it takes is {:.2} times what {} takes, by F v t / A, as far as that is surer than what is stated of it (the ratio is known to a tenth at best, and less the farther the two uses are apart: judgement)",
            p.name, made.car.processes[other].name, transfer.ratio, made.car.processes[other].name
        ))
    };
    made.car.processes.iter().enumerate().filter_map(said).collect()
}

/// What was assumed, each with its source.
pub(super) fn assumptions(made: &Made) -> Vec<String> {
    let (car, knowledge) = (made.car, made.drawn.knowledge);
    let mut lines = Vec::new();
    match car.paint.undercoat {
        Some(u) => lines.push(format!(
            "undercoat {}, give or take {}: stated in the job, taken as heavy-tailed",
            film(made, u.mean_um),
            film(made, u.sd_um)
        )),
        None => {
            let published = paint::published_undercoat(car.paint.system);
            let u = published.undercoat;
            lines.push(format!("undercoat {}, give or take {}: {}", film(made, u.mean_um), film(made, u.sd_um), published.source));
        }
    }
    if car.paint.undercoat.and_then(|u| u.panel_sd_um).is_none() {
        lines.push(format!("undercoat differs by {} from panel to panel, or a third less or more: judgement", paint::USUAL_PANEL_SD_UM));
    }
    let (sd, length) = (knowledge.posterior.field_sd_um(), knowledge.posterior.field_length_mm());
    lines.push(format!(
        "within a panel film varies by {} (sd, give or take {}) over {:.0} mm (give or take {:.0}): from the readings and a wide prior (judgement, nothing published was found)",
        film(made, sd.mean), film(made, sd.sd), length.mean, length.sd
    ));
    lines.extend(gains(made));
    lines.extend(carried_over(made));
    if car.edge.is_none() && (0..car.processes.len()).any(|process| car.equipment.of(process).is_some()) {
        lines.push(
            "near edges and beside lines strokes can't make the time under a pad as even as these gains have it: on invented cars 5 % fewer of the defects were gone than promised, and no more film (the project's own trial)"
                .to_owned(),
        );
    }
    if car.scatter.is_none() {
        let s = knowledge.scatter;
        let uneven = knowledge.gains.unevenness();
        let of_it = if uneven > 0.0 { format!(", of which strokes side by side make {:.0} %", 100.0 * uneven) } else { String::new() };
        lines.push(format!(
            "rates differ by {:.0} % from panel to panel and {:.0} % from section to section{of_it}: judgement",
            100.0 * s.panel,
            100.0 * s.section
        ));
    }
    lines.push("edges may be thin by 2 to 7 um over 15 to 60 mm on some panels: common practice, no source".to_owned());
    lines.push("85 to 90 % is the usual place to stop: common practice, no source".to_owned());
    if car.processes.iter().all(|p| p.marks.is_none()) {
        lines.push(
            "no marks of the work itself are counted: the job states none; on soft paint look after a wipe and again the next day"
                .to_owned(),
        );
    }
    if car.paint.metallic && car.paint.system == System::SingleStage {
        lines.push("flake in single-stage paint: only the mildest process is used (common practice, no source)".to_owned());
    }
    lines
}
