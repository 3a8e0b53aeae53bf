//! One case, run once: what `benches/instructions.sh` counts.
//!
//! `cargo run --release -p springhouse-benches --example once -- CASE DAYS` prints how many segments the run had, or how many
//! draws people made; without arguments it prints the names of the cases, each with the days of its long run.

#![expect(clippy::print_stdout, reason = "the script reads it")]

use springhouse_benches::{HOUSEHOLD_YEAR, cases, draws_of_six_people};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let cases = cases();
    let [name, days] = arguments.as_slice() else {
        for case in cases {
            println!("{} 7", case.name);
        }
        println!("{HOUSEHOLD_YEAR} 366");
        return Ok(());
    };
    let days = days.parse()?;
    if name == HOUSEHOLD_YEAR {
        println!("{}", draws_of_six_people(days));
        return Ok(());
    }
    let case = cases.iter().find(|case| case.name == *name).ok_or("there is no case of that name")?;
    println!("{}", case.run(days)?.tally.work.segments);
    Ok(())
}
