//! Logged draws and rain: files that the scenario or the command line names.

use std::fs::File;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use springhouse_core::draw::Draw;
use springhouse_core::incident::Inflow;
use springhouse_core::roof::RainStep;
use springhouse_core::time::Time;
use springhouse_draws::{DailyDraw, read_log};
use springhouse_report::calendar;
use springhouse_scenario::Scenario;
use springhouse_sim::SiteAir;
use springhouse_weather::{rain_before_mm, read_rain};

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

/// Where the rain of a run comes from: files beside the scenario, or the weather over it.
pub(crate) struct Rain<'a> {
    pub(crate) folder: &'a Path,
    pub(crate) air: Option<&'a SiteAir>,
    pub(crate) first_day: Date,
    pub(crate) days: u32,
}

impl Rain<'_> {
    /// The rain of a file, or of the weather where there is none; and what somebody should look at.
    pub(crate) fn steps(&self, file: Option<&Path>) -> Result<(Vec<RainStep>, Option<String>), Fault> {
        let Some(file) = file else {
            return Ok((self.air.map(SiteAir::rain).unwrap_or_default(), None));
        };
        let file = self.folder.join(file);
        let name = file.display().to_string();
        let open = File::open(&file)
            .map_err(|error| Fault::Bad(format!("error: the rain in {name} cannot be read: {error}")))?;
        let steps = read_rain(open, &name, self.first_day).map_err(|errors| Fault::Bad(errors.to_string()))?;
        let warning = uncovered(&name, &steps, (self.first_day, self.days));
        Ok((steps, warning))
    }
}

/// What runs into basins off the roofs that a scenario has; and what somebody should look at.
pub(crate) fn off_roofs(scenario: &Scenario, rain: &Rain<'_>) -> Result<(Vec<Inflow>, Vec<String>), Fault> {
    let (mut inflows, mut warnings) = (Vec::new(), Vec::new());
    for gathered in &scenario.rain {
        let (steps, warning) = rain.steps(gathered.file.as_deref())?;
        inflows.extend(gathered.roof.inflows(gathered.supply, &steps));
        warnings.extend(warning);
    }
    Ok((inflows, warnings))
}

/// Tells the schedule on which days its valves stay shut after rain; returns what somebody should look at.
pub(crate) fn skip_after_rain(
    scenario: &Scenario,
    rain: &Rain<'_>,
    schedule: &mut [DailyDraw],
) -> Result<Vec<String>, Fault> {
    let mut warnings = Vec::new();
    for skip in &scenario.rain_skips {
        let (steps, warning) = rain.steps(skip.file.as_deref())?;
        warnings.extend(warning);
        for valve in schedule.iter_mut().filter(|valve| valve.outlet == skip.outlet) {
            let wet =
                |day: &i64| rain_before_mm(&steps, Time::from_day(*day) + valve.start, skip.within) >= skip.amount_mm;
            // The evening before the run may cross into it.
            valve.skips = (-1..i64::from(rain.days)).filter(wet).collect();
        }
    }
    // A record that a roof gathers, too, is told of once.
    warnings.dedup();
    Ok(warnings)
}

/// What is said of a record of rain that does not cover the run: what is missing would pass for drought.
fn uncovered(name: &str, steps: &[RainStep], (first_day, days): (Date, u32)) -> Option<String> {
    let (first, last) = (steps.first()?.start, steps.last()?.end);
    let end = Time::from_day(i64::from(days));
    if first <= Time::ZERO && last >= end {
        return None;
    }
    let covers = if first >= end || last <= Time::ZERO { "none" } else { "not all" };
    let at = |time: Time| calendar::at(first_day, time).strftime("%Y-%m-%d %H:%M").to_string();
    Some(format!(
        "warning: {name} covers {covers} of the run: its rain goes from {} to {}, the run to {}; outside of it counts as \
         dry; see --from and --days",
        at(first),
        at(last),
        at(end)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn rain_that_does_not_cover_the_run_is_told() {
        let steps = [RainStep { start: Time::from_day(2), end: Time::from_day(5), depth_mm: 3.0 }];
        let told = |first: i64, days: u32| {
            let shift = |time: Time| time - (Time::from_day(first) - Time::ZERO);
            let steps = steps.map(|step| RainStep { start: shift(step.start), end: shift(step.end), ..step });
            uncovered("rain.csv", &steps, (date(2027, 6, i8::try_from(first).unwrap() + 1), days)).unwrap_or_default()
        };
        // From the 3rd up to the 6th.
        assert_eq!(told(2, 3), "");
        assert_eq!(told(3, 1), "");
        for (first, days, covers) in [(2, 4, "not all"), (1, 4, "not all"), (5, 1, "none"), (0, 2, "none")] {
            let said = told(first, days);
            let span = "its rain goes from 2027-06-03 00:00 to 2027-06-06 00:00, the run to 2027-06-";
            assert!(said.starts_with(&format!("warning: rain.csv covers {covers} of the run: {span}")), "{said}");
        }
    }
}
