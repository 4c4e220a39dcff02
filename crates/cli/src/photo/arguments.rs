//! What can be asked of photographs.

use std::path::PathBuf;

use clap::{Args, Subcommand};

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron photo split spot.jpg --line 1490,0,1520,3999 --untouched 700,2000 --overlay seen.png
  lastmicron photo pair before.jpg after.jpg --json")]
pub(crate) struct PhotoArguments {
    #[command(subcommand)]
    pub(crate) taken: Taken,
}

/// How the photographs were taken.
#[derive(Debug, Subcommand)]
pub(crate) enum Taken {
    /// One photograph of a spot of which one half has been worked and the other is untouched
    Split(SplitArguments),
    /// Two photographs of the same spot, before any work and after
    Pair(PairArguments),
}

const SPLIT_EXAMPLES: &str = "\
Examples:
  lastmicron photo split spot.jpg --line 1490,0,1520,3999 --untouched 700,2000
  lastmicron photo split spot.jpg --line 1490,0,1520,3999 --untouched 700,2000 --overlay seen.png
  lastmicron photo split spot.jpg --line 1490,0,1520,3999 --untouched 700,2000 --row 'spot 1,boot lid,finish:2'";

#[derive(Args, Debug)]
#[command(after_help = SPLIT_EXAMPLES)]
pub(crate) struct SplitArguments {
    /// The photograph: JPEG, PNG or WebP, as the camera took it
    #[arg(value_name = "IMAGE")]
    pub(crate) image: PathBuf,
    /// Two points of the line between the halves, in pixels from the top left of the photograph seen upright, x first; they may lie outside of it
    #[arg(long, value_name = "X1,Y1,X2,Y2", value_parser = numbers::<4>, allow_hyphen_values = true)]
    pub(crate) line: [f64; 4],
    /// A point on the untouched half, in pixels likewise
    #[arg(long, value_name = "X,Y", value_parser = numbers::<2>, allow_hyphen_values = true)]
    pub(crate) untouched: [f64; 2],
    #[command(flatten)]
    pub(crate) wanted: WantedArguments,
}

const PAIR_EXAMPLES: &str = "\
Examples:
  lastmicron photo pair before.jpg after.jpg --overlay seen.png
  lastmicron photo pair before.jpg after.jpg --row 'spot 1,boot lid,finish:2'";

#[derive(Args, Debug)]
#[command(after_help = PAIR_EXAMPLES)]
pub(crate) struct PairArguments {
    /// The photograph of the untouched spot: JPEG, PNG or WebP, as the camera took it
    #[arg(value_name = "BEFORE")]
    pub(crate) before: PathBuf,
    /// The photograph of the same spot worked, from the same place and of the same size
    #[arg(value_name = "AFTER")]
    pub(crate) after: PathBuf,
    #[command(flatten)]
    pub(crate) wanted: WantedArguments,
}

/// What is to come out.
#[derive(Args, Debug)]
pub(crate) struct WantedArguments {
    /// Print the shares as JSON and nothing else
    #[arg(long)]
    pub(crate) json: bool,
    /// Write a picture of the scratches that stand out and of what was compared; it takes the place of one of that name
    #[arg(long, value_name = "FILE.png")]
    pub(crate) overlay: Option<PathBuf>,
    /// Print the photograph as a row of defects.csv, with its header, and nothing else; AFTER is what had been done, like finish:2
    #[arg(long, value_name = "SPOT,PANEL,AFTER", conflicts_with = "json")]
    pub(crate) row: Option<String>,
}

/// So many numbers with commas between them.
fn numbers<const COUNT: usize>(text: &str) -> Result<[f64; COUNT], String> {
    let numbers: Option<Vec<f64>> =
        text.split(',').map(|part| part.trim().parse().ok().filter(|number: &f64| number.is_finite())).collect();
    numbers.and_then(|numbers| numbers.try_into().ok()).ok_or_else(|| format!("give {COUNT} numbers of pixels with commas between them"))
}
