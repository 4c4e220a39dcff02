//! `lastmicron demo`: the main job on an invented car, then its sealed truth.

mod estate;
mod sealed;
mod summary;
mod ten;
mod truth_json;
mod workshop;

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use lastmicron_folder::{Contents, WriteError};
use lastmicron_plan::{Effort, Outcome, PlanError, plan};
use lastmicron_rehearsal::{Rehearsal, ScenarioError, Unlawful, rehearse};
use lastmicron_store::Store;
use lastmicron_units::Unit;

/// What the person asked of the demo.
#[derive(Clone, Debug, PartialEq, Eq, clap::Args)]
pub struct DemoArguments {
    /// Draw another car of the same kind
    #[arg(long, default_value_t = 1, value_name = "N")]
    pub seed: u64,
    /// End after the car, without the app
    #[arg(long)]
    pub no_app: bool,
    /// Write the car's job folder to DIR/job, and its truth to DIR/truth.json
    #[arg(long, value_name = "DIR")]
    pub write: Option<PathBuf>,
}

/// Why there is no demo.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// The scenario gives no car.
    #[error(transparent)]
    Scenario(#[from] ScenarioError),
    /// There is no plan.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The plan can't be worked: a mistake in the planner.
    #[error("the plan can't be worked as it stands: {0}")]
    Unlawful(#[from] Unlawful),
    /// The job folder can't be written.
    #[error(transparent)]
    Job(#[from] WriteError),
    /// Another file or folder can't be written.
    #[error("{}: {cause}", path.display())]
    Folder {
        /// The file or folder.
        path: PathBuf,
        /// Why.
        cause: io::Error,
    },
    /// The invented workshop's record can't be kept.
    #[error("the record of the invented workshop: {0}")]
    Record(String),
    /// The system's time can't be written.
    #[error("the system's time is beyond what a record holds")]
    Clock,
    /// The terminal or the pipe is gone.
    #[error(transparent)]
    Output(#[from] io::Error),
}

/// A car of the demo with its plan.
struct Planned {
    rehearsal: Rehearsal,
    outcome: Outcome,
}

/// Makes the job, plans it, opens the truth, and shows ten cars in a table. `progress` is told what takes time.
///
/// # Errors
/// [`DemoError`] when a file can't be written or `out` is gone; others would be mistakes in the program.
pub fn run(arguments: &DemoArguments, out: &mut dyn Write, progress: &mut dyn FnMut(&str)) -> Result<(), DemoError> {
    progress("planning the estate");
    let car = plan_car(arguments.seed)?;
    if let Some(folder) = &arguments.write {
        write_folder(folder, &car.rehearsal)?;
    }
    summary::write(&car, out)?;
    sealed::write(&car, out)?;
    ten::write(&car, out, progress)?;
    if let Some(folder) = &arguments.write {
        writeln!(
            out,
            "\nWritten: {}, a job to plan, and {}, which a planner must not read.",
            folder.join("job").display(),
            folder.join("truth.json").display()
        )?;
    }
    Ok(())
}

/// Puts three invented vehicles into a store, for the app: one arrived, one half worked, one gone home.
///
/// # Errors
/// [`DemoError`] when the store can't keep them; others would be mistakes in the program.
pub fn fill(store: &dyn Store, now: Timestamp) -> Result<(), DemoError> {
    workshop::fill(store, now)
}

fn plan_car(seed: u64) -> Result<Planned, DemoError> {
    let rehearsal = rehearse(&estate::scenario(), seed)?;
    let outcome = plan(&rehearsal.car, Effort::default(), Unit::Micrometre)?;
    Ok(Planned { rehearsal, outcome })
}

fn write_folder(folder: &Path, rehearsal: &Rehearsal) -> Result<(), DemoError> {
    let at = |path: &Path| {
        let path = path.to_owned();
        |cause| DemoError::Folder { path, cause }
    };
    std::fs::create_dir_all(folder).map_err(at(folder))?;
    lastmicron_folder::write(&Contents::from(estate::job(rehearsal.car.clone())), &folder.join("job"))?;
    let truth = folder.join("truth.json");
    std::fs::write(&truth, truth_json::text(rehearsal)).map_err(at(&truth))
}
