//! `lastmicron pass`: what one set of a machine and a pad does.

mod chosen;
mod kinds;
mod pass_json;
mod pass_text;
mod section_text;

use std::io::Write;
use std::path::Path;

use lastmicron_draw::Room;
use lastmicron_folder::Contents;
use lastmicron_paper::{Page, PaperError, SetWorked, With, figure, pass_document, pass_pdf};
use lastmicron_plan::{Effort, Rate, line_radii_mm, rates};
use lastmicron_polish::pass::Pass;
use lastmicron_polish::transfer::{Exposure, Transfer};
use lastmicron_polish::{Belief, USUAL_SCATTER};
use lastmicron_units::Unit;

use crate::arguments::PassArguments;
use crate::failure::Failure;
use crate::files;
use crate::place;
use crate::plan::{read_job, usual_unit};
use crate::progress::while_telling;
use chosen::{Chosen, choose};

/// Room for the drawing on a screen.
const ROOM: Room = Room { width_pt: 760.0, height_pt: 760.0 };

pub(crate) fn run(arguments: &PassArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let (Some(folder), Some(name)) = (&arguments.folder, &arguments.process) else {
        return Ok(out.write_all(kinds::text().as_bytes())?);
    };
    let papers: Vec<&Path> = [&arguments.svg, &arguments.pdf].into_iter().flatten().map(std::path::PathBuf::as_path).collect();
    if let [svg, pdf] = papers.as_slice()
        && place::is_same(svg, pdf)
    {
        return Err(Failure::bad_input("--svg and --pdf name the same file: give each its own"));
    }
    papers.iter().try_for_each(|path| files::outside_job(path, folder))?;
    let contents = read_job(folder)?;
    let refused = |why: String| Failure::bad_input(format!("{}: {why}", folder.display()));
    let chosen = choose(&contents.job.car, name, arguments).map_err(refused)?;
    let rate = while_telling("working out what one set takes", || rates(&contents.job.car, Effort::default()));
    let rate = rate.map_err(|error| refused(error.to_string()))?.get(chosen.process).copied();
    let rate = rate.ok_or_else(|| Failure::failed("the plan has no rate for this process"))?;
    let transfer = transfer(&chosen).map_err(|why| refused(format!("process '{name}' can't be worked so: {why}")))?;
    let pass = pass(&contents, &chosen, rate, transfer).map_err(|why| refused(format!("process '{name}' can't be worked so: {why}")))?;
    let with = With { machine: &chosen.machine, pad: &chosen.pad, used: &chosen.used };
    let carried = chosen.own.as_ref().zip(transfer).map(|(own, transfer)| {
        let from = With { machine: &own.machine, pad: &own.pad, used: &own.used };
        (from, transfer)
    });
    let process = contents.job.car.processes.get(chosen.process).map_or(name.as_str(), |process| process.name.as_str());
    let set = SetWorked {
        job: &contents.job.title,
        process,
        with,
        stages: &chosen.stages,
        rate: &rate,
        carried,
        assumed: &chosen.assumed,
        pass: &pass,
    };
    let unit = usual_unit(&contents);
    write_papers(arguments, &set, unit)?;
    if arguments.json {
        return Ok(writeln!(out, "{:#}", pass_json::json(&set))?);
    }
    Ok(out.write_all(pass_text::text(&set, unit).as_bytes())?)
}

/// How the process's own rate is carried to what was chosen; none where it is its own use, or where it states none.
fn transfer(chosen: &Chosen) -> Result<Option<Transfer>, String> {
    let Some(own) = chosen.own.as_ref().filter(|own| own.machine != chosen.machine || own.pad != chosen.pad || own.used != chosen.used)
    else {
        return Ok(None);
    };
    let exposure = |machine, pad, used| Exposure::of(machine, pad, used).map_err(|why| why.to_string());
    let (from, to) = (exposure(&own.machine, &own.pad, &own.used)?, exposure(&chosen.machine, &chosen.pad, &chosen.used)?);
    Ok(Some(from.to(&to).doubted(chosen.kind_log_sd)))
}

fn pass(contents: &Contents, chosen: &Chosen, rate: Rate, transfer: Option<Transfer>) -> Result<Pass, String> {
    let car = &contents.job.car;
    let own = Belief { mean: rate.posterior_um.mean, sd: rate.posterior_um.sd };
    // Where the process states no use, its rate is meant for this one, known as well as the machine is.
    let as_meant = (chosen.kind_log_sd > 0.0).then_some(Transfer { ratio: 1.0, log_sd: chosen.kind_log_sd });
    let set_um = transfer.or(as_meant).map_or(own, |transfer| transfer.belief(own));
    let radii_mm = line_radii_mm(&car.panels);
    let scatter = car.scatter.unwrap_or(USUAL_SCATTER);
    let pass = while_telling("working out where the pad takes it", || {
        Pass::of(&chosen.machine, &chosen.pad, &chosen.used, set_um, scatter, &radii_mm)
    });
    pass.map_err(|why| why.to_string())
}

/// Both papers are made before either is written.
fn write_papers(arguments: &PassArguments, set: &SetWorked<'_>, unit: Unit) -> Result<(), Failure> {
    let failed = |path: &Path, error: &PaperError| Failure::failed(format!("{}: {error}", path.display()));
    let pdf = arguments.pdf.as_ref().map(|path| {
        let pdf = while_telling("writing the PDF", || pass_pdf(&pass_document(set, Page::A4, unit)));
        pdf.map(|pdf| (path, pdf)).map_err(|error| failed(path, &error))
    });
    let pdf = pdf.transpose()?;
    if let Some(path) = &arguments.svg {
        files::write(path, figure(set, unit, ROOM).svg().as_bytes())?;
    }
    if let Some((path, pdf)) = pdf {
        files::write(path, &pdf)?;
    }
    Ok(())
}
