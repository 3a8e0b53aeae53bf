//! Logged draws: files that the scenario or the command line names.

use std::fs::File;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use springhouse_core::draw::Draw;
use springhouse_draws::read_log;
use springhouse_scenario::Scenario;

use crate::fault::Fault;

/// The files of logged draws that a scenario names, which stand beside it.
pub(crate) fn beside(scenario: &Scenario, scenario_file: &Path) -> Vec<PathBuf> {
    let folder = scenario_file.parent().unwrap_or(Path::new(""));
    scenario.logs.iter().map(|log| folder.join(log)).collect()
}

/// All draws of some files in order of start.
pub(crate) fn read(files: &[PathBuf], scenario: &Scenario, first_day: Date) -> Result<Vec<Draw>, Fault> {
    let outlets: Vec<String> = scenario.plant.outlets.iter().map(|outlet| outlet.name.clone()).collect();
    let mut draws = Vec::new();
    let mut faults = Vec::new();
    for file in files {
        let name = file.display().to_string();
        match File::open(file) {
            Err(error) => faults.push(format!("error: the draws in {name} cannot be read: {error}")),
            Ok(open) => match read_log(open, &name, first_day, &outlets) {
                Ok(read) => draws.extend(read),
                Err(errors) => faults.push(errors.to_string()),
            },
        }
    }
    if !faults.is_empty() {
        return Err(Fault::Bad(faults.join("\n")));
    }
    // Stable: draws that start together keep the order of their files.
    draws.sort_by_key(|draw| draw.start);
    Ok(draws)
}
