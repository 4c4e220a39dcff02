//! Measures photographs whose truth is known, and prints how far off that was.

use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;

use clap::Parser;
use lastmicron_house::photographs::{Judged, Kind, drawn, folder, table};
use lastmicron_rehearsal::photograph::scenes;

/// Are shares measured on photographs right, and do their intervals hold? Draws photographs of which it is known what was polished away, or reads them from a folder,
/// measures them, and prints a table.
///
/// mean error: how far off the estimates were, either way; intervals hold: share of the 95 % intervals that hold the truth;
/// width by mean error: how wide they are by how far off the estimates were. What can't be measured counts as an error of 1.
#[derive(Parser)]
#[command(name = "photographs")]
struct Arguments {
    /// How many photographs of half worked panels; half as many pairs, before and after
    #[arg(long, default_value_t = 48)]
    count: usize,
    /// Size of each
    #[arg(long, default_value_t = 3.0)]
    megapixels: f64,
    /// Seed of what is drawn
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Draw none: measure the photographs that this folder's truth.json lists
    #[arg(long, conflicts_with_all = ["count", "megapixels", "seed"])]
    folder: Option<PathBuf>,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let start = Instant::now();
    let judged = match &arguments.folder {
        Some(path) => folder(path).map_err(|e| e.to_string()),
        None => draw(&arguments),
    };
    let judged = match judged {
        Ok(judged) => judged,
        Err(sentence) => {
            let _ = writeln!(std::io::stderr(), "photographs: {sentence}");
            return ExitCode::FAILURE;
        }
    };
    let seconds = start.elapsed().as_secs_f64() / judged.len().max(1) as f64;
    match write!(std::io::stdout(), "{}\n{seconds:.2} s for each\n", table(&judged)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(_) => ExitCode::FAILURE,
    }
}

fn draw(arguments: &Arguments) -> Result<Vec<Judged>, String> {
    let scenes = scenes::all();
    let of = |kind, count| {
        let in_turn = scenes.iter().cycle().take(count).enumerate();
        in_turn.map(move |(index, scene)| drawn(kind, scene, arguments.megapixels, arguments.seed, index).map_err(|e| e.to_string()))
    };
    of(Kind::Split, arguments.count).chain(of(Kind::Pair, arguments.count / 2)).collect()
}
