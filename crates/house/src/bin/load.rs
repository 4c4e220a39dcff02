//! Measures the app under load and prints how soon it answers.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Duration;

use clap::Parser;
use lastmicron_house::load::{Load, Sample, Soak, measure, quantile, soak};

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
    /// Instead, let ten devices send for so many minutes, and look at what the program holds
    #[arg(long, value_name = "MIN")]
    soak: Option<u64>,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let records = std::env::temp_dir().join(format!("lastmicron-load-{}", std::process::id()));
    let measured = match arguments.soak {
        Some(minutes) => soaked(&arguments.program, &records, Duration::from_secs(60 * minutes)),
        None => measure(&arguments.program, &records, Duration::from_secs(arguments.seconds)).map(|load| told(&load)),
    };
    let _ = std::fs::remove_dir_all(&records);
    match measured {
        Ok(told) => match std::io::stdout().write_all(told.as_bytes()) {
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

/// Looks at what the program holds 180 times, and prints each as it is seen.
fn soaked(program: &Path, records: &Path, sending: Duration) -> std::io::Result<String> {
    let seen = soak(program, records, sending, sending / 180, |Sample { at, resident_bytes, descriptors, log_bytes }| {
        let line = format!(
            "{:>6.0} s  {:>7.1} MB  {descriptors:>4} open  {:>6.2} MB of log\n",
            at.as_secs_f64(),
            mb(*resident_bytes),
            mb(*log_bytes)
        );
        let _ = std::io::stdout().write_all(line.as_bytes());
    })?;
    Ok(grown(&seen))
}

fn grown(soak: &Soak) -> String {
    let growth = soak.growth_an_hour().map_or_else(|| "not known".to_owned(), |growth| format!("{:+.1} % an hour", 100.0 * growth));
    let descriptors = soak.descriptors().map_or_else(|| "not known".to_owned(), |(least, most)| format!("{least} to {most}"));
    format!(
        "events                {}\nmemory after warm-up  {growth}\ndescriptors           {descriptors}\nlargest log           {:.2} MB\n",
        soak.events,
        mb(soak.largest_log_bytes())
    )
}

fn mb(bytes: u64) -> f64 {
    bytes as f64 / 1e6
}
