//! The command line.

use std::path::{Path, PathBuf};

use clap::{Args, Parser, Subcommand, ValueEnum};
use jiff::civil::{Date, DateTime};
use springhouse_core::time::Span;
use springhouse_scenario::quantity::unit::{Dimension, FLOW, TEMPERATURE};
use springhouse_scenario::quantity::{clock, parse::parse};
use springhouse_scenario::{Scenario, Units};
use springhouse_sim::RunOptions;
use springhouse_study::tune::Aim;

use crate::many::args::{GatherArgs, RankArgs, SizeArgs, SweepArgs};

/// Simulates the daily operation of a private water system: a house on its own well.
#[derive(Debug, Parser)]
#[command(
    version,
    arg_required_else_help = true,
    max_term_width = 100,
    after_help = "\
Examples:
  springhouse new house.toml      write a scenario to start from
  springhouse check house.toml    read it back in plain words
  springhouse run house.toml      simulate it; tables and plots go to out/house/
  springhouse tune house.toml     how to set the valves of its membrane unit
  springhouse draws house.toml    what is drawn in it, and how much at once
  springhouse compare outage house.toml   a day without the grid: nothing, battery, generator
  springhouse sweep house.toml --vary 'storage.volume=300 gal,500 gal'   how often each runs out
  springhouse rate house.toml     its water heaters on the federal test, beside their plates

It computes; it does not replace a well test, local code or licensed people."
)]
pub(crate) struct Cli {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Simulate a scenario: verdict first, tables and plots to a folder
    Run(RunArgs),
    /// Advise how to set the two valves of a scenario's membrane unit
    Tune(TuneArgs),
    /// Tell what people and schedule draw: every draw, peaks over many runs, two pictures
    Draws(DrawsArgs),
    /// Put the water heaters of a scenario to the US federal test, beside what their plates say
    Rate(RateArgs),
    /// Run a scenario in several ways: other heaters, other hours, more or less behind the grid
    Compare(CompareArgs),
    /// Run variants of a scenario side by side, each on many mornings: how often each falls short
    Sweep(SweepArgs),
    /// Find the smallest value, or the cheapest, that holds what is wanted
    Size(SizeArgs),
    /// Tell which inputs matter: by single steps, then by shares of the variance
    Rank(RankArgs),
    /// Join the parts of a study that was made in parts
    Gather(GatherArgs),
    /// Read a scenario and say in plain words what it describes
    Check(CheckArgs),
    /// Write a commented scenario to start from
    New(NewArgs),
    /// Print the JSON Schema of scenarios, for editors
    Schema,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  springhouse run house.toml --days 30 --from 2027-07-01
  springhouse run house.toml --draws meter.csv --out results/july
  springhouse run house.toml --json --no-files | jq .water

A log is either draws, with the columns start,building,flow_lps,duration_s, or a meter, with time,litres:
see docs/logs.md, also for gallons.

Exit codes: 0 fine, 1 something failed, 2 bad use or scenario, 3 short under --strict.")]
pub(crate) struct RunArgs {
    /// Scenario file, .toml or .json
    pub(crate) scenario: PathBuf,
    #[command(flatten)]
    pub(crate) run_of: RunOf,
    /// Number of the run, from 0: another of the same seed, with other mornings and other weather, as `draws --runs` counts them
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true, allow_negative_numbers = true)]
    pub(crate) run: u64,
    /// Logged draws or meter readings, a CSV, instead of all the scenario's draws; may be repeated
    #[arg(long, value_name = "FILE")]
    pub(crate) draws: Vec<PathBuf>,
    /// Seconds from one line of minutes.csv to the next [default: 60, wider from ten weeks on]; changes no result
    #[arg(
        long,
        value_name = "SECONDS",
        allow_negative_numbers = true,
        value_parser = clap::value_parser!(u32).range(1..=86_400)
    )]
    pub(crate) grid: Option<u32>,
    /// Exit with 3 when the verdict falls short
    #[arg(long)]
    pub(crate) strict: bool,
    #[command(flatten)]
    pub(crate) output: Output,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  springhouse tune house.toml --aim least-waste
  springhouse tune house.toml --coldest 45F --warmest 62F --product '900 gal/day' --hours 10

Exit codes: 0 fine, 1 something failed, 2 bad use or scenario, 3 no setting within limits, under --strict.")]
pub(crate) struct TuneArgs {
    /// Scenario file with a membrane unit, .toml or .json
    pub(crate) scenario: PathBuf,
    /// What the valves are set for: enough product at the least cost, least waste, gentlest on the membranes
    #[arg(long, value_enum, default_value_t = AimWord::Enough)]
    pub(crate) aim: AimWord,
    /// Coldest water [default: 2 °C (4 °F) under typical for a well, 8 °C (14 °F) for other water]
    #[arg(long, value_name = "TEMPERATURE", value_parser = temperature, allow_hyphen_values = true)]
    pub(crate) coldest: Option<f64>,
    /// Warmest water [default: as much above typical]
    #[arg(long, value_name = "TEMPERATURE", value_parser = temperature, allow_hyphen_values = true)]
    pub(crate) warmest: Option<f64>,
    /// Wanted product [default: the schedule's mean day behind storage and a fifth more]
    #[arg(long, value_name = "FLOW", value_parser = flow, allow_hyphen_values = true)]
    pub(crate) product: Option<f64>,
    /// Hours of a day in which the unit may run [default: 24]
    #[arg(long, value_name = "HOURS", value_parser = hours, allow_hyphen_values = true)]
    pub(crate) hours: Option<f64>,
    /// Exit with 3 when no setting keeps all limits
    #[arg(long)]
    pub(crate) strict: bool,
    #[command(flatten)]
    pub(crate) output: Output,
}

/// Aims as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum AimWord {
    // Wanted product at the least cost in water, energy and salt
    Enough,
    // Least waste, however little product that is and whatever it costs
    LeastWaste,
    // Wanted product with few cleanings
    Gentlest,
}

impl From<AimWord> for Aim {
    fn from(word: AimWord) -> Self {
        match word {
            AimWord::Enough => Self::Enough,
            AimWord::LeastWaste => Self::LeastWaste,
            AimWord::Gentlest => Self::Gentlest,
        }
    }
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  springhouse draws house.toml --days 365 --runs 20
  springhouse draws house.toml --from 2027-12-20 --days 14 --out guests

They are what is wished of the plant, not what comes of it; `run` tells that.

Exit codes: 0 fine, 1 something failed, 2 bad use or scenario.")]
pub(crate) struct DrawsArgs {
    /// Scenario file, .toml or .json
    pub(crate) scenario: PathBuf,
    #[command(flatten)]
    pub(crate) run_of: RunOf,
    /// Runs that people's chance is told by; one where nobody is told of
    #[arg(
        long,
        value_name = "N",
        default_value_t = 100,
        allow_negative_numbers = true,
        value_parser = clap::value_parser!(u32).range(1..=100_000)
    )]
    pub(crate) runs: u32,
    #[command(flatten)]
    pub(crate) output: Output,
}

/// What differs from the run that a scenario tells of.
#[derive(Args, Clone, Copy, Debug)]
pub(crate) struct RunOf {
    /// Days to run, instead of the scenario's
    #[arg(
        long,
        value_name = "N",
        allow_negative_numbers = true,
        value_parser = clap::value_parser!(u32).range(1..=3660)
    )]
    pub(crate) days: Option<u32>,
    /// First day, as 2027-06-04, instead of the scenario's
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub(crate) from: Option<Date>,
    /// Seed of everything random, instead of the scenario's
    #[arg(long, value_name = "N", allow_negative_numbers = true)]
    pub(crate) seed: Option<u64>,
}

impl RunOf {
    /// The run of a scenario, with that.
    pub(crate) fn options(self, scenario: &Scenario) -> RunOptions {
        let told = RunOptions::from_scenario(scenario);
        RunOptions {
            first_day: self.from.unwrap_or(told.first_day),
            days: self.days.unwrap_or(told.days),
            seed: self.seed.unwrap_or(told.seed),
            ..told
        }
    }
}

/// What comes of a command, and where it goes.
#[derive(Args, Debug)]
pub(crate) struct Output {
    /// Folder for the files [default: out/NAME of the scenario]
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Write no files
    #[arg(long, conflicts_with = "out")]
    pub(crate) no_files: bool,
    /// Units of text and pictures, us or metric, instead of the scenario's
    #[arg(long, value_parser = units_word)]
    pub(crate) units: Option<UnitsWord>,
    /// Print the result as JSON (metric) and nothing else
    #[arg(long)]
    pub(crate) json: bool,
    /// Print the answer only; no warnings, no progress
    #[arg(long, short)]
    pub(crate) quiet: bool,
}

impl Output {
    /// The units in which a scenario is told.
    pub(crate) fn units(&self, scenario: &Scenario) -> Units {
        self.units.map_or(scenario.units, Into::into)
    }

    /// The folder for the files of a scenario; `None` where none are wanted.
    pub(crate) fn folder(&self, scenario: &Scenario) -> Option<PathBuf> {
        let folder = || self.out.clone().unwrap_or_else(|| Path::new("out").join(&scenario.name));
        (!self.no_files).then(folder)
    }
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  springhouse rate house.toml
  springhouse rate house.toml --json | jq .heaters

It computes; it is not a certified test.

Exit codes: 0 fine, 1 something failed, 2 bad use or scenario.")]
pub(crate) struct RateArgs {
    /// Scenario file with water heaters, .toml or .json
    pub(crate) scenario: PathBuf,
    /// Units of the text, us or metric, instead of the scenario's
    #[arg(long, value_parser = units_word)]
    pub(crate) units: Option<UnitsWord>,
    /// Print the result as JSON (metric) and nothing else
    #[arg(long)]
    pub(crate) json: bool,
    /// Print the answer only; no warnings
    #[arg(long, short)]
    pub(crate) quiet: bool,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  springhouse compare heaters house.toml --days 365
  springhouse compare hours house.toml
  springhouse compare outage house.toml --at '2027-07-04 06:00' --for '24 h'

All ways meet the same mornings and the same weather.

Exit codes: 0 fine, 1 something failed, 2 bad use or scenario.")]
pub(crate) struct CompareArgs {
    /// What to compare
    #[arg(value_enum)]
    pub(crate) what: What,
    /// Scenario file, .toml or .json
    pub(crate) scenario: PathBuf,
    #[command(flatten)]
    pub(crate) run_of: RunOf,
    /// Of an outage: when it begins [default: the scenario's own, else 06:00 of the second day]
    #[arg(long, value_name = "MOMENT", value_parser = moment, allow_hyphen_values = true)]
    pub(crate) at: Option<DateTime>,
    /// Of an outage: how long it lasts [default: the scenario's own, else 24 h]
    #[arg(long = "for", value_name = "DURATION", value_parser = duration, allow_hyphen_values = true)]
    pub(crate) lasts: Option<Span>,
    #[command(flatten)]
    pub(crate) output: Output,
}

/// Comparisons as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum What {
    /// Heat pump alone, hybrid, electric, gas and propane
    Heaters,
    /// Membrane unit and heaters at any time, in the best hours, and while the sun leaves enough
    Hours,
    /// A time without the grid: with nothing behind it, a battery, a generator, both
    Outage,
}

#[derive(Args, Debug)]
#[command(after_help = "Example:\n  springhouse check house.toml --units metric")]
pub(crate) struct CheckArgs {
    /// Scenario file, .toml or .json
    pub(crate) scenario: PathBuf,
    /// Units of the text, us or metric, instead of the scenario's
    #[arg(long, value_parser = units_word)]
    pub(crate) units: Option<UnitsWord>,
}

#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  springhouse new house.toml\n  springhouse new - | less")]
pub(crate) struct NewArgs {
    /// File to write; - prints it
    #[arg(default_value = "house.toml")]
    pub(crate) file: PathBuf,
    /// Write over a file that is there
    #[arg(long)]
    pub(crate) force: bool,
}

/// Units as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum UnitsWord {
    /// Gallons, feet, psi
    Us,
    /// Litres, metres, kPa
    Metric,
}

impl From<UnitsWord> for Units {
    fn from(word: UnitsWord) -> Self {
        match word {
            UnitsWord::Us => Self::Us,
            UnitsWord::Metric => Self::Metric,
        }
    }
}

pub(crate) fn units_word(text: &str) -> Result<UnitsWord, &'static str> {
    match text {
        "us" => Ok(UnitsWord::Us),
        "metric" => Ok(UnitsWord::Metric),
        _ => Err("write us (gallons, feet, psi) or metric (litres, metres, kPa)"),
    }
}

fn temperature(text: &str) -> Result<f64, &'static str> {
    quantity(text, &TEMPERATURE, "write a temperature with its unit, as 45F or 7C")
}

fn flow(text: &str) -> Result<f64, &'static str> {
    let help = "write a flow above zero with its unit, as '900 gal/day' or '3400 L/day'";
    quantity(text, &FLOW, help).and_then(|lps| if lps > 0.0 { Ok(lps) } else { Err(help) })
}

/// In base units of its dimension.
fn quantity(text: &str, dimension: &Dimension, help: &'static str) -> Result<f64, &'static str> {
    parse(text, dimension).map_err(|_| help)
}

fn hours(text: &str) -> Result<f64, &'static str> {
    let within = |hours: &f64| *hours > 0.0 && *hours <= 24.0;
    text.parse().ok().filter(within).ok_or("write hours of a day, above 0 to 24, as 10")
}

fn duration(text: &str) -> Result<Span, &'static str> {
    let help = "write a length of time above zero with its unit, as '24 h' or '90 min'";
    let seconds = clock::duration_s(text).map_err(|_| help)?;
    if seconds > 0.0 && seconds <= 1e9 { Ok(Span::from_s(seconds)) } else { Err(help) }
}

fn moment(text: &str) -> Result<DateTime, &'static str> {
    clock::date_time(text).ok_or("a moment is written year-month-day hour:minute: write '2027-07-04 06:00'")
}

fn date(text: &str) -> Result<Date, &'static str> {
    if clock::is_no_day(text) {
        return Err("the calendar has no such day");
    }
    clock::date(text).ok_or("a date is written year-month-day: write 2027-06-07 for the 7th of June")
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::Cli;

    #[test]
    fn help_fits_a_screen() {
        let mut cli = Cli::command();
        cli.build();
        for command in cli.get_subcommands_mut() {
            let help = command.render_help().to_string();
            assert!(help.lines().count() <= 40, "{help}");
            assert!(help.lines().all(|line| line.chars().count() <= 100), "{help}");
        }
    }

    #[test]
    fn definitions_agree_with_each_other() {
        Cli::command().debug_assert();
    }
}
