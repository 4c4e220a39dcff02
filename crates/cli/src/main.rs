//! The command `lastmicron`: parse, call, print.

mod arguments;
mod check;
pub mod compute;
mod compute_command;
pub mod demo;
mod failure;
mod files;
mod maps;
mod next;
mod pass;
mod photo;
mod plan;
mod plan_json;
mod plan_text;
mod progress;
mod serve;

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
        Question::Serve(arguments) => serve::run(&arguments, out),
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
    demo::run(arguments, out, &mut |doing| told.tell(doing)).map_err(|error| match error {
        demo::DemoError::Output(error) => Failure::from(error),
        demo::DemoError::Folder { .. } => Failure::failed(error.to_string()),
        other => Failure::failed(other.to_string()),
    })
}
