//! The command `springhouse`: reads the command line, has the work done, prints what came of it.
//!
//! Results go to standard output, all else to standard error. Exit codes: 0 fine, 1 something failed, 2 bad use or a bad
//! scenario, 3 the verdict falls short under `--strict`.

mod args;
mod check;
mod compare;
mod draws;
mod fault;
mod logs;
mod many;
mod new;
mod out;
mod progress;
mod rate;
mod run;
mod tune;
mod weather;

use std::process::ExitCode;

use clap::Parser;

use args::{Cli, Command};
use fault::Fault;
use out::Out;

fn main() -> ExitCode {
    let mut out = Out::default();
    let done = match Cli::try_parse() {
        Ok(cli) => obey(&cli.command, &mut out).and_then(|()| out.finish()),
        Err(usage) => {
            // Help goes to standard output, misuse to standard error; a reader that has gone is no matter.
            let _ = usage.print();
            return ExitCode::from(u8::try_from(usage.exit_code()).unwrap_or(2));
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            if let Some(message) = fault.message() {
                out.note(&message);
            }
            fault.exit_code()
        }
    }
}

fn obey(command: &Command, out: &mut Out) -> Result<(), Fault> {
    match command {
        Command::Run(args) => run::run(args, out),
        Command::Sweep(args) => many::sweep(args, out),
        Command::Size(args) => many::size(args, out),
        Command::Rank(args) => many::rank(args, out),
        Command::Gather(args) => many::gather(args, out),
        Command::Check(args) => check::check(args, out),
        Command::Tune(args) => tune::tune(args, out),
        Command::Draws(args) => draws::draws(args, out),
        Command::Rate(args) => rate::rate(args, out),
        Command::Compare(args) => compare::compare(args, out),
        Command::New(args) => new::new(args, out),
        Command::Schema => out.result(&springhouse_scenario::json_schema()),
    }
}
