//! A set for reading in a bay.

use lastmicron_paper::{DepthLine, Page, PassDocument, SetWorked, pass_document};
use lastmicron_units::Unit;

use super::section_text;
use crate::plan_text::{cautions, wrapped};

/// The whole answer: with what, the section in digits, edges and lines, heat, the pad, where the model ends, and the usual care.
pub(super) fn text(set: &SetWorked<'_>, unit: Unit) -> String {
    // The words are those of the page; its drawing is not printed here.
    let document = pass_document(set, Page::A4, unit);
    let title = wrapped(&document.title, "", "");
    let width = title.lines().map(|line| line.chars().count()).max().unwrap_or(0);
    let mut text = format!("{title}{}\n", "=".repeat(width));
    for fact in &document.facts {
        text += &wrapped(&format!("{}.", fact.value), &format!("  {:<14}", fact.name), &" ".repeat(16));
    }
    text += &items("Assumed where nothing is stated", &document.assumed);
    if let Ok(section) = &set.pass.section {
        text += "\nA section worked by one set, from above\n";
        text += &section_text::text(section, unit);
    }
    text += &profile(&format!("Across an edge, {} by mm from it, at equal time under the pad", document.unit), &document.edge);
    for line in &document.lines {
        text += &profile(&format!("Over {}, {} by mm from the line, to either side", line.name, document.unit), &line.depths);
    }
    text += &heat(&document);
    text += "\nThe pad\n";
    text += &wrapped(&document.residue, "  ", "  ");
    let nowhere = ["Nowhere: on flats, edges and the job's lines the foam stays within it.".to_owned()];
    text += &items("Where the model leaves its range", if document.findings.is_empty() { &nowhere } else { &document.findings });
    text + &cautions()
}

fn items(heading: &str, sentences: &[String]) -> String {
    if sentences.is_empty() {
        return String::new();
    }
    let items: String = sentences.iter().map(|sentence| wrapped(sentence, "  - ", "    ")).collect();
    format!("\n{heading}\n{items}")
}

fn profile(heading: &str, depths: &[DepthLine]) -> String {
    let mut text = format!("\n{heading}\n  {:>5}  {:>7}  {:>16}  {:>16}\n", "mm", "mean", "19 times in 20", "times the middle");
    for line in depths {
        text += &format!("  {:>5}  {:>7}  {:>16}  {:>16}\n", line.mm, line.mean, line.range, line.times);
    }
    text
}

fn heat(document: &PassDocument) -> String {
    let still = format!("pad then held still for {} s", document.held_still_s);
    let mut text = format!("\nHeat, an estimate of the order\n  {:<18}{:<24}{still}\n", "panel", "after a set");
    for line in &document.heat {
        text += &format!("  {:<18}{:<24}{}\n", line.material, line.worked, line.held_still);
    }
    text + &document.heat_notes.iter().map(|note| wrapped(note, "  - ", "    ")).collect::<String>()
}
