//! Measures the app under load and prints how soon it answers.

use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Duration;

use clap::Parser;
use lastmicron_house::load::{Load, measure, quantile};

/// How soon does the app answer? Fifty devices send five events a second each, every one of them on the disk before it is acknowledged; a car of 15 panels is read,
/// each reading answered with the panel's page; a job of 20,000 events is opened by a program that was just started.
#[derive(Parser)]
#[command(name = "load")]
struct Arguments {
    /// The built program
    #[arg(value_name = "PROGRAM")]
    program: PathBuf,
    /// For how long devices send, seconds
    #[arg(long, default_value_t = 20, value_name = "S")]
    seconds: u64,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let records = std::env::temp_dir().join(format!("lastmicron-load-{}", std::process::id()));
    let measured = measure(&arguments.program, &records, Duration::from_secs(arguments.seconds));
    let _ = std::fs::remove_dir_all(&records);
    match measured {
        Ok(load) => match std::io::stdout().write_all(told(&load).as_bytes()) {
            Ok(()) => ExitCode::SUCCESS,
            Err(_) => ExitCode::FAILURE,
        },
        Err(error) => {
            let _ = writeln!(std::io::stderr(), "load: {error}");
            ExitCode::FAILURE
        }
    }
}

fn told(load: &Load) -> String {
    let ms = |time: Duration| format!("{:.1} ms", 1000.0 * time.as_secs_f64());
    let times = |sorted: &[Duration]| {
        format!(
            "{} half, {} of 99 in 100, {} all ({})",
            ms(quantile(sorted, 0.5)),
            ms(quantile(sorted, 0.99)),
            ms(quantile(sorted, 1.0)),
            sorted.len()
        )
    };
    let idle = load.idle_bytes.map_or_else(|| "not known".to_owned(), |bytes| format!("{:.1} MB", bytes as f64 / 1e6));
    format!(
        "start to first page   {}\nidle memory           {idle}\nan event recorded     {}\na job of 20,000       {}\na reading answered    {}\n",
        ms(load.start),
        times(&load.events),
        ms(load.long_job),
        times(&load.readings),
    )
}
