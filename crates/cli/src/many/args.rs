//! The command line of studies.

use std::path::PathBuf;

use clap::Args;
use springhouse_report::runs::{Begun, Part};
use springhouse_scenario::quantity::parse::parse;
use springhouse_scenario::quantity::unit::SHARE;

use crate::args::{RunOf, UnitsWord, units_word};

/// A study: a file of its own, or a scenario with what is varied of it.
#[derive(Args, Debug)]
pub(crate) struct StudyOf {
    /// Study file, .toml; or a scenario, with --vary or --uncertain
    #[arg(value_name = "STUDY")]
    pub(crate) file: PathBuf,
    /// Values of a key: 'storage.volume=300 gal,500 gal' or '=300 gal..1400 gal/12'
    #[arg(long, value_name = "KEY=VALUES")]
    pub(crate) vary: Vec<String>,
    /// Ends of what nobody knows: `well.static_level=40 ft..60 ft`
    #[arg(long, value_name = "KEY=LOW..HIGH")]
    pub(crate) uncertain: Vec<String>,
    /// Figure of summary.json to keep of each run, with --vary
    #[arg(long, value_name = "PATH")]
    pub(crate) figure: Vec<String>,
    /// Runs of each variant, instead of the study's
    #[arg(
        long,
        value_name = "N",
        allow_negative_numbers = true,
        value_parser = clap::value_parser!(u32).range(1..=10_000_000)
    )]
    pub(crate) runs: Option<u32>,
    #[command(flatten)]
    pub(crate) run_of: RunOf,
}

/// How a study is worked on, and where its files go.
#[derive(Args, Debug)]
pub(crate) struct WorkArgs {
    /// Folder for the files [default: out/NAME of the study]
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Go on with an interrupted study
    #[arg(long)]
    pub(crate) resume: bool,
    /// Throw away what another study left in the folder
    #[arg(long, conflicts_with = "resume")]
    pub(crate) afresh: bool,
    #[command(flatten)]
    pub(crate) manner: Manner,
}

/// Where runs are made, and which of them.
#[derive(Debug)]
pub(crate) struct Work {
    pub(crate) place: PathBuf,
    pub(crate) begun: Begun,
    pub(crate) part: Option<Part>,
    pub(crate) quiet: bool,
}

/// How many threads, and what is printed.
#[derive(Args, Debug)]
pub(crate) struct Manner {
    /// Threads to work on; changes no result
    #[arg(
        long,
        value_name = "N",
        allow_negative_numbers = true,
        value_parser = clap::value_parser!(u16).range(1..=1024)
    )]
    pub(crate) threads: Option<u16>,
    /// Units of text and pictures, us or metric
    #[arg(long, value_parser = units_word)]
    pub(crate) units: Option<UnitsWord>,
    /// Print the answer only; no progress
    #[arg(long, short)]
    pub(crate) quiet: bool,
}

impl WorkArgs {
    pub(crate) fn begun(&self) -> Begun {
        match (self.resume, self.afresh) {
            (true, _) => Begun::Resume,
            (_, true) => Begun::Discard,
            _ => Begun::Refuse,
        }
    }
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  springhouse sweep scenarios/studies/storage-people.toml
  springhouse sweep house.toml --vary 'storage.volume=300 gal..1400 gal/12' --days 3 --runs 200
  springhouse sweep study.toml --part 3/8 --out parts/3

Run 7 of every variant meets the same mornings and weather, so that differences are sure after few runs.

Exit codes: 0 fine, 1 something failed, 2 bad use, study or scenario.")]
pub(crate) struct SweepArgs {
    #[command(flatten)]
    pub(crate) study: StudyOf,
    /// Make one part of the runs, as 3/8, for `gather`
    #[arg(long, value_name = "N/OF", value_parser = part)]
    pub(crate) part: Option<Part>,
    #[command(flatten)]
    pub(crate) work: WorkArgs,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  springhouse size scenarios/studies/storage-people.toml
  springhouse size house.toml --vary 'storage.volume=300 gal..1400 gal' --days 3 --runs 500 --chance '1 %'
  springhouse size house.toml --vary 'heater[1].volume=40 gal,50 gal,65 gal,80 gal' \\
    --mean 'hot_water[1].lukewarm_minutes <= 5'

Exit codes: 0 fine, 1 something failed, 2 bad use, study or scenario.")]
pub(crate) struct SizeArgs {
    #[command(flatten)]
    pub(crate) study: StudyOf,
    /// Most runs that may fall short, as '1 %'
    #[arg(long, value_name = "SHARE", value_parser = share)]
    pub(crate) chance: Option<f64>,
    /// Limit of a mean, as `water.run_out_minutes <= 5`
    #[arg(long, value_name = "LIMIT", conflicts_with = "chance")]
    pub(crate) mean: Option<String>,
    /// Folder for size.csv [default: out/NAME of the study]
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) manner: Manner,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  springhouse rank scenarios/studies/dry-summer.toml
  springhouse rank study.toml --of water.short_l --rows 256

What is varied and what is uncertain are the inputs, and with them mornings and weather.

Exit codes: 0 fine, 1 something failed, 2 bad use, study or scenario.")]
pub(crate) struct RankArgs {
    #[command(flatten)]
    pub(crate) study: StudyOf,
    /// Figure that is told of; rank.csv has all
    #[arg(long, value_name = "PATH")]
    pub(crate) of: Option<String>,
    /// Paths of single steps, to see what matters at all
    #[arg(
        long,
        value_name = "N",
        default_value_t = 10,
        allow_negative_numbers = true,
        value_parser = clap::value_parser!(u32).range(2..=100_000)
    )]
    pub(crate) paths: u32,
    /// Rows of runs for the shares of the variance; 0 makes none
    #[arg(
        long,
        value_name = "N",
        default_value_t = 128,
        allow_negative_numbers = true,
        value_parser = clap::value_parser!(u32).range(0..=1_000_000)
    )]
    pub(crate) rows: u32,
    #[command(flatten)]
    pub(crate) work: WorkArgs,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Example:
  springhouse gather parts/* --out out/storage

The files are the same, to the byte, as those of the study made in one go.

Exit codes: 0 fine, 1 something failed, 2 bad use or folders that are no parts of one study.")]
pub(crate) struct GatherArgs {
    /// Folders of all parts of a study, in any order
    #[arg(value_name = "DIR", required = true)]
    pub(crate) folders: Vec<PathBuf>,
    /// Folder for the files [default: out/NAME of the study]
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Throw away another study, or an interrupted one, in that folder
    #[arg(long)]
    pub(crate) afresh: bool,
    /// Print the answer only
    #[arg(long, short)]
    pub(crate) quiet: bool,
}

fn part(text: &str) -> Result<Part, &'static str> {
    const HELP: &str = "write which part of how many, as 3/8 for the third of eight";
    let (part, of) = text.split_once('/').ok_or(HELP)?;
    let (part, of): (u64, u64) = (part.trim().parse().map_err(|_| HELP)?, of.trim().parse().map_err(|_| HELP)?);
    if (1..=of).contains(&part) && of <= 100_000 { Ok(Part { part, of }) } else { Err(HELP) }
}

fn share(text: &str) -> Result<f64, &'static str> {
    let help = "write a share from 0 to below 100 %, as '1 %'";
    parse(text, &SHARE).ok().filter(|share| *share < 1.0).ok_or(help)
}
