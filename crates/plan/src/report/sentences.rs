//! Why, in sentences.

use super::sections::Told;
use super::unmeasured::is_readable;
use super::{Made, Verdict};
use crate::before::Before;
use crate::car::BodyLine;
use crate::chance::Chance;
use crate::fit;
use crate::outcome::{Finding, KeepOffLine, Plan, SectionPlan};
use crate::tape::border;
use crate::through;
use crate::treatment::MOST_SETS;
use crate::uses;
use lastmicron_film::gauge::{Layer, Substrate};

/// A film in the unit that the sentences are for: "0.3 um".
pub(crate) fn film(made: &Made, um: f64) -> String {
    format!("{:.*} {}", made.unit.decimals(), um / made.unit.micrometres(), made.unit)
}

/// A mean correction this near to the goal has reached it: the draws tell no finer.
const NEARLY: f64 = 0.015;

/// A risk of this share of its limit and more uses it: a search seldom comes nearer.
const NEAR_LIMIT: f64 = 0.9;

/// From this chance on a panel is told as resprayed. Judgement: a warning that is wrong twice in three costs a reading, a missing one a panel.
pub const RESPRAYED: f64 = 0.3;

/// Why a section, made of the problem's `tiles` with the same done `before`, gets this much and no more.
pub(super) fn why(made: &Made, verdict: &Verdict, (tiles, before): (&[usize], &Before), told: &SectionPlan) -> String {
    let (car, now) = (made.car, verdict.chosen.treatment[tiles[0]]);
    let treatment = &made.treatments[now];
    let gone = |t: usize| made.treatments[t].correction_after(before, made.drawn);
    let (gone_now, enough) = (gone(now), car.goal.correction - NEARLY);
    let is_done = now == 0 && !before.is_nothing();
    if is_done && told.correction.mean.max(gone_now) >= enough {
        return "worked already: the goal is reached".to_owned();
    }
    if told.correction.mean >= enough {
        return "goal reached".to_owned();
    }
    if now > 0 && gone_now >= enough {
        return "goal reached where it is worked; what is kept off for the edges is not".to_owned();
    }
    let options = |i: usize| verdict.chosen.options(made.problem, i);
    let gains_more = |t: &usize| gone(*t) > gone_now + 0.005;
    let may_follow = |t: &usize| before.leaves_sets_for(&made.treatments[*t].steps);
    let mut stronger = now + 1..made.treatments.len();
    let here = match (now, is_done) {
        (_, true) => "worked already",
        (0, false) => "left alone",
        (_, false) => "stopped here",
    };
    let Some(next) = stronger.clone().filter(may_follow).find(gains_more) else {
        return match (stronger.any(|t| gains_more(&t)), is_done) {
            (true, _) => format!("{here}: no section is given more than {MOST_SETS} sets in all"),
            (false, true) => format!("{here}: no treatment gains more"),
            (false, false) => "no treatment gains more".to_owned(),
        };
    };
    if tiles.iter().all(|&i| options(i)[next].fits && options(i)[next].film <= 0.0) {
        return "left alone: all of it lies where edges are kept off".to_owned();
    }
    if !tiles.iter().all(|&i| options(i)[next].fits) {
        return format!("{here}: narrower than the pad of the next step");
    }
    let gained = 100.0 * (gone(next) - gone_now);
    let more = format!("the next step would gain {gained:.0} % for {}", film(made, made.treatments[next].mean_um - treatment.mean_um));
    if !tiles.iter().all(|&i| options(i)[next].within_spend) {
        return format!("the spend is used: {more} and go beyond it where most is taken, {}", most_taken(made, tiles));
    }
    let of_section = |risk: f64| Chance::counted(risk, made.drawn.film.second_half().len());
    let (below, through) = (verdict.below_under(tiles, next), verdict.through_under(tiles, next));
    // Draws that go wrong here may go wrong elsewhere as they are, so the sum may be a little too much.
    if verdict.all.below + below - told.risk > NEAR_LIMIT * car.limits.risk {
        return format!("{here}: {more}, with {} of going below the floor there: more than the vehicle's limit leaves", of_section(below));
    }
    if car.limits.through_risk.is_some_and(|limit| verdict.all.through + through - told.through_risk > NEAR_LIMIT * limit) {
        return format!(
            "{here}: {more}, with {} of reaching the undercoat there: more than the vehicle's limit leaves",
            of_section(through)
        );
    }
    let minutes: f64 = tiles.iter().map(|&i| made.problem.tiles[i].minutes[next] - made.problem.tiles[i].minutes[now]).sum();
    if verdict.all.minutes + minutes > made.minutes {
        return format!("{here}: {more}; the hours are used");
    }
    format!("{here}: {more}, which is not worth the film or a border that shows")
}

/// Where most is taken of what the problem's `tiles` are on.
fn most_taken(made: &Made, tiles: &[usize]) -> &'static str {
    let panel = made.problem.panels[made.problem.tiles[tiles[0]].panel].panel;
    if made.car.panels[panel].lines.is_empty() { "which is nearest the edges" } else { "which is nearest an edge or a body line" }
}

/// Sentences on a panel.
pub(super) fn panel_notes(made: &Made, panel: usize, told: &Told, off_lines: &[KeepOffLine]) -> Vec<String> {
    let posterior = &made.drawn.knowledge.posterior;
    let car_panel = &made.car.panels[panel];
    let mut notes = Vec::new();
    if !car_panel.work {
        notes.push("to stay as it is: not planned, not counted".to_owned());
        return notes;
    }
    if !car_panel.may_be_worked() {
        return notes;
    }
    if let Some(off) = off_lines.first() {
        let lines: Vec<String> = off_lines.iter().filter_map(|off| Some(course(off.line, car_panel.lines.get(off.line)?))).collect();
        notes.push(format!(
            "stay {:.0} mm off {} on both sides with the machine, and tape there: a pad takes most on a line",
            off.mm,
            lines.join(" and ")
        ));
    }
    if made.rooms[panel].is_none() {
        let why = if is_readable(car_panel) {
            "not measured: read it before it is worked. Until then"
        } else {
            "no gauge of this kind reads film on plastic:"
        };
        notes.push(format!("{why} its risk is not known and not part of the vehicle's"));
    }
    let respray = posterior.respray_probability(panel);
    if made.rooms[panel].is_some() && respray > RESPRAYED {
        let read = if posterior.undercoat_was_read(panel) { "" } else { "; an undercoat reading on it would tell" };
        notes.push(format!("reads like a respray (probability {respray:.2}): how much of the added film is topcoat is hardly known{read}"));
    }
    let thin = posterior.thin_edge_probability(panel);
    if made.rooms[panel].is_some() && thin > 0.7 {
        notes.push(format!("film thins towards the edges (probability {thin:.2})"));
    }
    if car_panel.panel.substrate == Substrate::Galvanised {
        notes.push("galvanised: a magnetic gauge counts the zinc as film, so the undercoat stated must include it".to_owned());
    }
    let differs = |i: usize, j: usize| told.in_all[i] != told.in_all[j] && border(&told.sections[i], &told.sections[j]).is_some();
    let borders = (0..told.sections.len()).flat_map(|i| (0..i).filter(move |&j| differs(i, j))).count();
    if borders > 0 {
        let plural = if borders == 1 { "border" } else { "borders" };
        notes.push(format!("{borders} {plural} between sections worked differently may show: end on a body line, tape or trim, and blend with the last step"));
    }
    notes
}

/// A body line by its number and its ends.
fn course(line: usize, of: &BodyLine) -> String {
    match (of.points_mm.first(), of.points_mm.last()) {
        (Some([ax, ay]), Some([bx, by])) => format!("body line {} from ({ax:.0}, {ay:.0}) to ({bx:.0}, {by:.0}) mm", line + 1),
        _ => format!("body line {}", line + 1),
    }
}

/// What the person should know.
pub(super) fn findings(made: &Made, verdict: &Verdict, plan: &Plan) -> Vec<Finding> {
    let (car, knowledge) = (made.car, made.drawn.knowledge);
    let mut findings = Vec::new();
    for wild in knowledge.posterior.wild_readings() {
        let reading = &car.readings[wild.observation];
        findings.push(Finding {
            panel: Some(reading.panel),
            line: reading.line,
            sentence: format!(
                "at ({:.0}, {:.0}) mm reads {}, far from its neighbours (probability of a wild reading {:.2}): weighed down; read it again",
                reading.x_mm,
                reading.y_mm,
                film(made, reading.value.micrometres()),
                wild.probability
            ),
        });
    }
    for (k, panel) in plan.panels.iter().enumerate() {
        if panel.measured && panel.respray > RESPRAYED {
            let sentence = format!("reads like a respray (probability {:.2}): a high reading is no licence", panel.respray);
            findings.push(Finding { panel: Some(k), line: None, sentence });
        }
        if !panel.measured && car.panels[k].may_be_worked() {
            findings.push(Finding { panel: Some(k), line: None, sentence: "not measured".to_owned() });
        }
    }
    findings.extend(through::findings(car));
    findings.extend(taken_up(made, verdict));
    findings.extend(fit::findings(car));
    findings.extend(uses::findings(car, plan));
    findings.extend(too_fine(made));
    if !car.readings.iter().any(|r| r.layer != Layer::Total) {
        findings.push(Finding {
            panel: None,
            line: None,
            sentence: "no undercoat reading: how much of the build is topcoat rests on what the job states of the undercoat".to_owned(),
        });
    }
    if !car.readings.iter().any(|r| !r.after.is_empty()) {
        let sentence = "no reading after work: what a set takes rests on what the job states; a test spot would tell".to_owned();
        findings.push(Finding { panel: None, line: None, sentence });
    }
    if car.counts.is_empty() {
        let sentence = "no defects counted: how deep they are rests on what is usual; counts on a test spot would tell".to_owned();
        findings.push(Finding { panel: None, line: None, sentence });
    }
    findings
}

/// Limits that what was worked before is beyond as it stands.
fn taken_up(made: &Made, verdict: &Verdict) -> impl Iterator<Item = Finding> {
    let (films, limits, stands) = (made.drawn.film.second_half().len(), made.car.limits, verdict.stands());
    [("is below the floor", stands.below, Some(limits.risk)), ("has reached the undercoat", stands.through, limits.through_risk)]
        .into_iter()
        .filter(|(_, stands, limit)| limit.is_some_and(|limit| *stands > limit))
        .map(move |(what, stands, _)| Finding {
            panel: None,
            line: None,
            sentence: format!(
                "what was worked already takes up the allowed risk: {} that some place of it {what}; a reading there would tell more",
                Chance::counted(stands, films)
            ),
        })
}

/// Limits that are finer than the films can show: with none seen among n, no chance below 3 / n is shown (see [`Chance`]).
fn too_fine(made: &Made) -> impl Iterator<Item = Finding> {
    let films = made.drawn.film.second_half().len() as f64;
    let limits = made.car.limits;
    let fine = move |&(_, limit): &(&str, f64)| limit * films < 3.0;
    [("below the floor", Some(limits.risk)), ("to the undercoat", limits.through_risk)]
        .into_iter()
        .filter_map(|(what, limit)| Some((what, limit?)))
        .filter(fine)
        .map(move |(what, limit)| Finding {
            panel: None,
            line: None,
            sentence: format!(
                "the limit of {} {what} is finer than {films} films can show: it takes {:.0} or more of them to say that it is kept",
                Chance::stated(limit),
                (3.0 / limit).ceil().min(1e12)
            ),
        })
}
