//! Logged draws and rain: files that the scenario or the command line names.

use std::fs::File;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use springhouse_core::draw::Draw;
use springhouse_core::incident::Inflow;
use springhouse_draws::read_log;
use springhouse_scenario::Scenario;
use springhouse_weather::read_rain;

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

/// What runs into basins off the roofs that a scenario has, from its files of rain.
pub(crate) fn rain(scenario: &Scenario, scenario_file: &Path, first_day: Date) -> Result<Vec<Inflow>, Fault> {
    let folder = scenario_file.parent().unwrap_or(Path::new(""));
    let mut inflows = Vec::new();
    let mut faults = Vec::new();
    for rain in &scenario.rain {
        let file = folder.join(&rain.file);
        let name = file.display().to_string();
        match File::open(&file) {
            Err(error) => faults.push(format!("error: the rain in {name} cannot be read: {error}")),
            Ok(open) => match read_rain(open, &name, first_day) {
                Ok(steps) => inflows.extend(rain.roof.inflows(rain.supply, &steps)),
                Err(errors) => faults.push(errors.to_string()),
            },
        }
    }
    if faults.is_empty() { Ok(inflows) } else { Err(Fault::Bad(faults.join("\n"))) }
}
