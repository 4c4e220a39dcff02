//! `lastmicron plan`: what to do on every section of every panel.

use std::io::{self, Write};
use std::path::Path;

use lastmicron_folder::{Checked, Contents};
use lastmicron_look::gloss;
use lastmicron_paper::{Page, plan_pdf};
use lastmicron_plan::{Effort, Outcome, plan};
use lastmicron_units::Unit;

use crate::arguments::{EffortArguments, PlanArguments};
use crate::failure::Failure;
use crate::progress::while_telling;
use crate::{files, maps, plan_json, plan_text};

pub(crate) fn run(arguments: &PlanArguments, out: &mut dyn Write) -> Result<(), Failure> {
    if let Some(path) = &arguments.pdf {
        files::outside_job(path, &arguments.folder)?;
    }
    let contents = read_job(&arguments.folder)?;
    let effort = effort(arguments.effort);
    let unit = arguments.unit.unwrap_or_else(|| usual_unit(&contents));
    // Film in JSON is in um, whatever the person's unit.
    let told_in = if arguments.json { Unit::Micrometre } else { unit };
    let read = gloss::judge(&contents.job.gloss);
    let read = read.map_err(|error| Failure::bad_input(format!("{}: {error}", arguments.folder.display())))?;
    let outcome = while_telling("planning", || plan(&contents.job.car, effort, told_in));
    let outcome = outcome.map_err(|error| Failure::bad_input(format!("{}: {error}", arguments.folder.display())))?;
    write_papers(arguments, &contents, &outcome, unit)?;
    if arguments.json {
        return Ok(writeln!(out, "{:#}", plan_json::json(&contents.job.car, &outcome, &read))?);
    }
    let text = plan_text::text(&contents.job, &outcome, &read, unit);
    Ok(out.write_all(text.as_bytes())?)
}

/// Reads a job folder; what should be known of it is said on stderr.
pub(crate) fn read_job(folder: &Path) -> Result<Contents, Failure> {
    let Checked { contents, findings } = lastmicron_folder::read(folder).map_err(|error| Failure::of_folder(folder, &error))?;
    for finding in findings {
        let _ = writeln!(io::stderr(), "lastmicron: {finding}");
    }
    Ok(contents)
}

/// How much computing was asked for.
pub(crate) fn effort(arguments: EffortArguments) -> Effort {
    Effort { draws: usize::try_from(arguments.draws).unwrap_or(usize::MAX), seed: arguments.seed }
}

/// The unit that most readings were entered in.
pub(crate) fn usual_unit(contents: &Contents) -> Unit {
    let count =
        |unit: Unit| contents.jottings.iter().filter_map(|jotting| jotting.entered).filter(|entered| entered.unit() == unit).count();
    // Of equals the first is meant, and the last is what max_by_key gives.
    Unit::ALL.into_iter().rev().max_by_key(|unit| count(*unit)).unwrap_or(Unit::Micrometre)
}

fn write_papers(arguments: &PlanArguments, contents: &Contents, outcome: &Outcome, unit: Unit) -> Result<(), Failure> {
    let page = if arguments.letter { Page::Letter } else { Page::A4 };
    if let Some(path) = &arguments.pdf {
        let pdf = while_telling("writing the PDF", || plan_pdf(&contents.job, outcome, page, unit));
        let pdf = pdf.map_err(|error| Failure::failed(format!("{}: {error}", path.display())))?;
        files::write(path, &pdf)?;
    }
    if let Some(folder) = &arguments.maps {
        maps::write(folder, &contents.job.car, outcome, unit)?;
    }
    Ok(())
}
