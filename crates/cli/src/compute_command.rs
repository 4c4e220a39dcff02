//! `lastmicron compute`: numbers for scripts.

use std::io::{self, IsTerminal, Read, Write};

use crate::arguments::ComputeArguments;
use crate::compute;
use crate::failure::Failure;

/// Most that is read from stdin. Judgement: a field of 100,000 places takes 4 MB.
const MOST_BYTES: u64 = 64 * 1024 * 1024;

pub(crate) fn run(arguments: &ComputeArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let refused = |error: compute::ComputeError| Failure::bad_input(format!("compute {}: {error}", arguments.name));
    let answer =
        if arguments.schema { compute::schema(&arguments.name).map(str::to_owned) } else { compute::run(&arguments.name, &input()?) };
    let answer = answer.map_err(refused)?;
    Ok(writeln!(out, "{}", answer.trim_end())?)
}

fn input() -> Result<String, Failure> {
    let stdin = io::stdin();
    if stdin.is_terminal() {
        let _ = writeln!(io::stderr(), "Reading one JSON object from the keyboard; end with Ctrl-D.");
    }
    let mut bytes = Vec::new();
    stdin.lock().take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| Failure::failed(format!("stdin can't be read: {error}")))?;
    if u64::try_from(bytes.len()).is_ok_and(|length| length > MOST_BYTES) {
        return Err(Failure::bad_input("stdin holds more than 64 MB: split the work"));
    }
    String::from_utf8(bytes).map_err(|_| Failure::bad_input("stdin is not UTF-8 text: give one JSON object"))
}
