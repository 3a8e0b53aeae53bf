//! One case, run once: what `benches/instructions.sh` counts.
//!
//! `cargo run --release -p springhouse-benches --example once -- CASE DAYS` prints how many segments the run had; without
//! arguments it prints the names of the cases.

#![expect(clippy::print_stdout, reason = "the script reads it")]

use springhouse_benches::cases;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let cases = cases();
    let [name, days] = arguments.as_slice() else {
        for case in cases {
            println!("{}", case.name);
        }
        return Ok(());
    };
    let case = cases.iter().find(|case| case.name == *name).ok_or("there is no case of that name")?;
    println!("{}", case.run(days.parse()?)?.tally.work.segments);
    Ok(())
}
