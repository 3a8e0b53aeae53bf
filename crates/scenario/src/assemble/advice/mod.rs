//! What is sound in itself, but asks more of the well or of a pump than is known of them: told once the whole is put
//! together.

mod analysis;
mod energy;
mod membrane;
mod readings;
mod treatment;

use springhouse_core::outlet::{Header, Outlet, Role};

use super::{draws, first_well};
use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::scenario::{Scenario, l_per_day};
use crate::sections::{Incident, IncidentWord, ScenarioFile, WellPump};
use crate::typed::{At, Reader, Tried};

/// Draws above this share of what the well gives for good leave little for a dry season: common practice, without a source.
const MUCH_OF_THE_WELL: f64 = 0.8;
/// A pump test shorter than this tells more of the casing than of the aquifer: common practice, without a source.
const SHORT_TEST_S: f64 = 3_600.0;
const DAY_S: f64 = 86_400.0;

pub(super) fn tell(file: &ScenarioFile, scenario: &Scenario, reader: &mut Reader<'_>) {
    let units = reader.units.unwrap_or(Units::Us);
    let told = [
        overdrawn_well(file, scenario, units),
        short_test(file, units),
        past_the_curve(file, scenario, units),
        unguarded_basin(file.cistern.as_ref(), "cistern", |cistern| cistern.cutoff.is_some()),
        unguarded_basin(file.pond.as_ref(), "pond", |pond| pond.cutoff.is_some()),
        low_reducer(file, scenario, units),
        float_stuck_both_ways(file),
        readings::odd(file, scenario, units),
    ];
    for warning in told.into_iter().flatten() {
        reader.tell(warning);
    }
    treatment::tell(file, scenario, reader, units);
    analysis::tell(file, reader, units);
    membrane::tell(file, scenario, reader, units);
    energy::tell(file, scenario, reader, units);
}

/// A cistern or pond whose pump nothing stops at low water.
fn unguarded_basin<T>(section: Option<&At<Tried<T>>>, word: &str, guarded: impl Fn(&T) -> bool) -> Option<Diagnostic> {
    let at = section?;
    if at.value.0.as_ref().is_none_or(guarded) {
        return None;
    }
    Some(
        Diagnostic::warning(format!("nothing stops the pump of the {word} at low water"))
            .at(at.place, "no `cutoff` here")
            .note("a pump that draws air is soon ruined")
            .help(format!("a section `{word}.cutoff` with `stop` and `restart` describes a float switch that does")),
    )
}

/// A reducer that leaves the fixtures of a building less than they need for their full flow.
fn low_reducer(file: &ScenarioFile, scenario: &Scenario, units: Units) -> Option<Diagnostic> {
    let reducer = file.pressure_reducer.as_ref()?.value.0.as_ref()?.set_pressure;
    let plant = &scenario.plant;
    let needed_kpa = |outlet: &Outlet| outlet.full_flow_kpa + outlet.offset_kpa(&plant.water);
    let fed = plant.outlets.iter().filter(|outlet| outlet.role == Role::Building && outlet.header == Header::Raw);
    let worst = fed.reduce(|most, other| if needed_kpa(other) > needed_kpa(most) { other } else { most })?;
    (needed_kpa(worst) > reducer.value.kpa()).then(|| {
        let (set, needed) = (units.pressure(reducer.value.kpa()), units.pressure(needed_kpa(worst)));
        Diagnostic::warning(format!(
            "behind the reducer there is at most {set}, but {} needs {needed} for the full flow of its fixtures",
            worst.name
        ))
        .at(reducer.place, "low for the fixtures")
        .note("what is needed is `full_flow_pressure` with the height of the fixtures, and more in a service pipe")
        .help("set the reducer higher, or check `full_flow_pressure` and `rise` of that building")
    })
}

/// A float that is stuck open and shut at once.
fn float_stuck_both_ways(file: &ScenarioFile) -> Option<Diagnostic> {
    let incidents = || file.incident.iter().filter_map(|incident| Some(&incident.0.as_ref()?.value));
    let of = |word: IncidentWord| incidents().filter(move |incident| incident.kind.value == word);
    let start_s =
        |incident: &Incident, from: &Incident| incident.start.value.0.duration_since(from.start.value.0).as_secs_f64();
    let length_s = |incident: &Incident| incident.length.map_or(0.0, |length| length.value.s());
    let meet = |open: &Incident, shut: &Incident| {
        let after_s = start_s(shut, open);
        after_s < length_s(open) && -after_s < length_s(shut)
    };
    let (open, shut) = of(IncidentWord::FloatOpen)
        .flat_map(|open| of(IncidentWord::FloatShut).map(move |shut| (open, shut)))
        .find(|(open, shut)| meet(open, shut))?;
    Some(
        Diagnostic::warning("the float of the storage tank is stuck open and shut at once")
            .at(shut.kind.place, "stuck shut")
            .at(open.kind.place, "stuck open meanwhile")
            .help("let one end before the other begins"),
    )
}

fn overdrawn_well(file: &ScenarioFile, scenario: &Scenario, units: Units) -> Option<Diagnostic> {
    // What a second supply adds is not known here.
    let mut first = scenario.plant.supplies.iter().filter(|supply| !supply.standby);
    let (Some(only), None) = (first.next(), first.next()) else { return None };
    only.source.well()?;
    let share = scenario.share_of_well().filter(|share| *share > MUCH_OF_THE_WELL)?;
    let sustained_lps = scenario.sustained_lps()?;
    let a_day = |l: f64| format!("{} a day", units.volume(l));
    let (taken, given) = (a_day(scenario.needed_l_per_day()), a_day(DAY_S * sustained_lps));
    let draws = match &scenario.plant.membrane {
        Some(_) => "the draws by schedule, with what the membrane unit rejects for them",
        None => "the draws by schedule",
    };
    let title = if share > 1.0 {
        format!("{draws} ({taken}) are more than the well gives for good ({given})")
    } else {
        format!("{draws} ({taken}) are {:.0} % of what the well gives for good ({given})", 100.0 * share)
    };
    let lowest = units.length(scenario.lowest_depth_m()?);
    let (well, _) = first_well(file)?;
    let warning = Diagnostic::warning(title).at(well, format!("pumped without a pause, water at {lowest}"));
    // Of equals the first: the place does not depend on anything but the order of the file.
    let largest = (draws::places(file).zip(&scenario.schedule))
        .map(|(place, draw)| (place, l_per_day(draw)))
        .reduce(|most, other| if other.1 > most.1 { other } else { most });
    let warning = match largest {
        Some((place, l)) => warning.at(place, format!("the largest draw: {}", a_day(l))),
        None => warning,
    };
    Some(if share > 1.0 {
        warning.note("storage only puts off the day on which the water ends").help("draw less, or find more water")
    } else {
        warning.note("a dry season, or a pump that rests for part of the day, leaves too little")
    })
}

fn short_test(file: &ScenarioFile, units: Units) -> Option<Diagnostic> {
    let test = &first_well(file)?.1.test.as_ref()?.value;
    (test.time.value.s() < SHORT_TEST_S).then(|| {
        let title = format!("a pump test of {} says little about the aquifer", units.duration(test.time.value.s()));
        Diagnostic::warning(title)
            .at(test.time.place, "less than an hour")
            .note("the level may go on falling for hours: the well may give less than is computed from this test")
            .help("take flow and drawdown from the end of a longer test where the driller's report has one")
    })
}

fn past_the_curve(file: &ScenarioFile, scenario: &Scenario, units: Units) -> Option<Diagnostic> {
    let pump: &At<Tried<WellPump>> = match &file.well {
        Some(_) => file.well_pump.as_ref()?,
        None => file.second_well_pump.as_ref()?,
    };
    let section = pump.value.0.as_ref()?;
    let last = section.curve.as_ref()?.value.last()?;
    let (plant, (well, pump)) = (&scenario.plant, scenario.well()?);
    let (low, low_place) = match (&section.cut_in, &section.drive) {
        (Some(cut_in), _) => ("cut_in", cut_in.place),
        (None, Some(drive)) => ("wake_pressure", drive.value.wake_pressure.map_or(drive.place, |wake| wake.place)),
        (None, None) => return None,
    };
    let cut_in_kpa = pump.control.low_kpa();
    let flow_lps = pump.flow_lps(1.0, well.static_depth_m, cut_in_kpa, &plant.water);
    (flow_lps > last.flow.value.lps()).then(|| {
        Diagnostic::warning(format!(
            "with the water at rest the pump gives {} at `{low}`: more than the last point of its curve",
            units.flow(flow_lps)
        ))
        .at(last.flow.place, "the curve is continued from here")
        .at(low_place, units.pressure(cut_in_kpa))
        .note("a pump may not be allowed to run with so little head: see its data sheet")
        .help("add a point of more flow from the data sheet; if it has none, throttle the pump or take a smaller one")
    })
}
