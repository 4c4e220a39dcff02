//! `lastmicron check`: is a job folder in order?

use std::io::Write;

use lastmicron_folder::Checked;
use lastmicron_job::Job;

use crate::arguments::CheckArguments;
use crate::failure::Failure;

pub(crate) fn run(arguments: &CheckArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let Checked { contents, findings } =
        lastmicron_folder::read(&arguments.folder).map_err(|error| Failure::of_folder(&arguments.folder, &error))?;
    writeln!(out, "{}: in order. {}", arguments.folder.display(), summary(&contents.job))?;
    for finding in findings {
        writeln!(out, "{finding}")?;
    }
    Ok(())
}

/// What the folder holds, in a line.
fn summary(job: &Job) -> String {
    let car = &job.car;
    let some = |count: usize, one: &str, more: &str| format!("{count} {}", if count == 1 { one } else { more });
    let photographs = car.counts.iter().filter(|count| count.is_measured()).count();
    let photographed = if photographs == 0 {
        String::new()
    } else {
        format!(", {}", some(photographs, "photograph of defects", "photographs of defects"))
    };
    format!(
        "{}, {}, {}, {}, {}{photographed}, {}.",
        some(car.panels.len(), "panel", "panels"),
        some(car.readings.len(), "reading", "readings"),
        some(car.processes.len(), "process", "processes"),
        some(car.worked.len(), "place worked", "places worked"),
        some(car.counts.len() - photographs, "count of defects", "counts of defects"),
        some(job.gloss.len(), "reading of gloss", "readings of gloss")
    )
}
