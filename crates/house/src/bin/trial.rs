//! Plans invented cars, works the plans on the truth, and prints what became of them.

use std::io::Write as _;
use std::process::ExitCode;
use std::time::Instant;

use clap::{Parser, ValueEnum};
use lastmicron_house::table::table;
use lastmicron_house::trial::{More, Tried, try_car};
use lastmicron_plan::Effort;
use lastmicron_rehearsal::{Scenario, families};

/// Is the stated risk honest, and what does the film buy? Plans invented cars whose true film is known, works the plans on it, and prints a table.
///
/// breaches: cars with a worked place below the floor, beside the number that the jobs' limits allow and that the plans stated (+- its sd);
/// bench: breaches of "lowest reading less the usual undercoat less the floor, same process everywhere";
/// gone: share of the defects gone, beside what the plans promised, what an oracle reaches that knows the truth, and the share of that.
#[derive(Parser)]
#[command(name = "trial")]
struct Arguments {
    /// How many cars
    #[arg(long, default_value_t = 240)]
    cars: usize,
    /// Seed of the trial
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Which families of cars
    #[arg(long, value_enum, default_value_t = Which::Usual)]
    families: Which,
    /// Joint films that a plan is chosen on
    #[arg(long, default_value_t = Effort::default().draws)]
    draws: usize,
    /// Compare this many further readings: none, anywhere, one undercoat a panel and the rest anywhere, where the planner advises
    #[arg(long)]
    more: Option<usize>,
}

#[derive(Clone, Copy, ValueEnum)]
enum Which {
    /// Thin single-stage, modern clear, patchy history
    Usual,
    /// Other smoothness, heavy tails, three readings a panel, undercoats stated wrong by up to 3 sd
    Harsh,
    /// Both
    All,
    /// Large orbital, orbital and small pad, rotary: jobs that state machines and pads and no gain, their truth summed up from the physics
    WorkedByPhysics,
}

impl Which {
    fn scenarios(self) -> Vec<Scenario> {
        match self {
            Self::Usual => families::usual(),
            Self::Harsh => families::harsh(),
            Self::All => families::all(),
            Self::WorkedByPhysics => families::worked_by_physics(),
        }
    }
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let mut out = std::io::stdout().lock();
    let arms = arguments.more.map_or(vec![("", More::Nothing)], |n| {
        vec![
            ("the survey alone", More::Nothing),
            ("as many readings anywhere", More::Anywhere(n)),
            ("one undercoat a panel, the rest anywhere", More::Undercoats(n)),
            ("where the planner advises", More::Asked(n)),
        ]
    });
    for (title, more) in arms {
        let written = match run(&arguments, more) {
            Ok((tried, seconds)) => write!(out, "{}{}{:.2} s a car\n\n", heading(title), table(&tried), seconds),
            Err(sentence) => {
                let _ = writeln!(std::io::stderr(), "trial: {sentence}");
                return ExitCode::FAILURE;
            }
        };
        if written.is_err() {
            return ExitCode::FAILURE;
        }
    }
    ExitCode::SUCCESS
}

fn heading(title: &str) -> String {
    if title.is_empty() { String::new() } else { format!("{title}\n") }
}

fn run(arguments: &Arguments, more: More) -> Result<(Vec<Tried>, f64), String> {
    let families = arguments.families.scenarios();
    let effort = Effort { draws: arguments.draws, ..Effort::default() };
    let start = Instant::now();
    let tried: Vec<Tried> = (0..arguments.cars)
        .map(|car| try_car(&families, arguments.seed, car, more, effort))
        .collect::<Result<_, _>>()
        .map_err(|e| e.to_string())?;
    Ok((tried, start.elapsed().as_secs_f64() / arguments.cars.max(1) as f64))
}
