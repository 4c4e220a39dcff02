//! The command `lastmicron`: parse, call, print.

mod arguments;
mod automatic;
mod backup_key;
mod backups;
mod check;
pub mod compute;
mod compute_command;
pub mod demo;
mod doctor;
mod erase;
mod export;
mod failure;
mod files;
mod import;
mod lan;
mod maps;
mod next;
mod papers;
mod pass;
mod people;
mod phone;
mod photo;
mod place;
mod plan;
mod plan_text;
mod progress;
mod records;
mod serve;
mod setup;
mod signing;
mod trouble;
mod verify_file;
mod wording;

use std::io::{self, Write};
use std::process::ExitCode;

use clap::{CommandFactory, Parser};

use arguments::{Arguments, Question};
use failure::{Failure, Status};

fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return usage(&error),
    };
    let mut out = io::stdout().lock();
    let answered = answer(arguments, &mut out).and_then(|()| Ok(out.flush()?));
    match answered {
        Ok(()) => Status::Done.into(),
        Err(failure) => {
            failure.tell();
            failure.status().into()
        }
    }
}

/// Help and version on stdout, mistakes on stderr; a reader that has gone away is nobody's mistake.
fn usage(error: &clap::Error) -> ExitCode {
    let status = if error.use_stderr() { Status::BadInput } else { Status::Done };
    match error.print() {
        Err(gone) if gone.kind() != io::ErrorKind::BrokenPipe => Status::Failed.into(),
        _ => status.into(),
    }
}

fn answer(arguments: Arguments, out: &mut dyn Write) -> Result<(), Failure> {
    match arguments.question {
        Question::Plan(arguments) => plan::run(&arguments, out),
        Question::Next(arguments) => next::run(&arguments, out),
        Question::Pass(arguments) => pass::run(&arguments, out),
        Question::Photo(arguments) => photo::run(&arguments, out),
        Question::Check(arguments) => check::run(&arguments, out),
        Question::Compute(arguments) => compute_command::run(&arguments, out),
        Question::Jobs(arguments) => records::jobs(&arguments, out),
        Question::Export(arguments) => export::run(&arguments, out),
        Question::Import(arguments) => import::run(&arguments, out),
        Question::Verify(arguments) => records::verify(&arguments, out),
        Question::Serve(arguments) => serve::run(&arguments, out),
        Question::Backup(arguments) => backups::backup(&arguments, out),
        Question::Backups(arguments) => backups::list(&arguments, out),
        Question::BackupKey(arguments) => backup_key::run(&arguments, out),
        Question::Restore(arguments) => backups::restore_into(&arguments, out),
        Question::Erase(arguments) => erase::run(&arguments, out),
        Question::Doctor(arguments) => doctor::run(&arguments, out),
        Question::People(arguments) => people::run(&arguments, out),
        Question::Setup(arguments) => setup::run(&arguments, out),
        Question::Demo(arguments) => demo_command(&arguments, out),
        Question::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Arguments::command(), "lastmicron", &mut script);
            Ok(out.write_all(&script)?)
        }
    }
}

fn demo_command(arguments: &demo::DemoArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let told = progress::Told::begin();
    demo::run(arguments, out, &mut |doing| told.tell(doing)).map_err(of_demo)?;
    if arguments.no_app {
        return Ok(());
    }
    // Gone with the demo: nobody's records.
    let folder = tempfile::tempdir().map_err(|error| Failure::failed(format!("no folder for the demo's records: {error}")))?;
    let store = serve::store(folder.path())?;
    demo::fill(&store, jiff::Timestamp::now()).map_err(of_demo)?;
    writeln!(out, "\nTHE APP, with three invented vehicles: one arrived, one half worked, one gone home.")?;
    serve::on(
        serve::shop(std::sync::Arc::new(store))?,
        serve::free_or_any(serve::USUAL_PORT)?.into(),
        "Nothing entered there is kept. Ctrl+C ends it.",
        out,
    )
}

fn of_demo(error: demo::DemoError) -> Failure {
    match error {
        demo::DemoError::Output(error) => Failure::from(error),
        other => Failure::failed(other.to_string()),
    }
}
