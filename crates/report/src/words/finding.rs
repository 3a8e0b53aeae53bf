//! Findings in plain words.

use springhouse_core::incident::IncidentKind;
use springhouse_core::time::Time;
use springhouse_scenario::Units;
use springhouse_sim::{Finding, FindingKind, HotWaterSummary, Summary, names, since};

use crate::Run;
use crate::calendar::spoken_iso;
use crate::numbers::{counted, fixed, number, percent, times, volume_hours};
use crate::words::heater;

/// From this share on a shortfall is no small matter.
const LARGE_SHARE: f64 = 0.1;

/// What is said alike of many findings; empty where there is nothing to say.
struct Phrases {
    /// How often: ` twice`.
    often: String,
    /// For how long in all.
    long: String,
    /// When, or when first.
    first: String,
    /// The litres that go with it.
    litres: String,
    /// The litres that did not come.
    missed: String,
}

impl Phrases {
    fn of(finding: &Finding, units: Units) -> Self {
        let often = finding.count.map_or_else(String::new, |count| format!(" {}", times(count)));
        let long =
            finding.minutes.map_or_else(String::new, |minutes| format!(", {} in all", units.duration(60.0 * minutes)));
        let first = finding.at.as_deref().map_or_else(String::new, |at| {
            let word = if finding.count == Some(1) { "on" } else { "first on" };
            format!(", {word} {}", spoken_iso(at))
        });
        let missing_l = finding.litres.filter(|litres| *litres > 0.0);
        let missed = missing_l.map_or_else(String::new, |l| format!("; {} did not come", units.volume(l)));
        Self { often, long, first, litres: units.volume(finding.litres.unwrap_or(0.0)), missed }
    }
}

/// A finding as a sentence without its full stop.
pub(crate) fn finding(run: &Run<'_>, finding: &Finding) -> String {
    let (units, name, summary) = (run.units, &finding.part, &run.outcome.summary);
    let Phrases { often, long, first, litres, missed } = Phrases::of(finding, units);
    match finding.kind {
        FindingKind::RunOut => {
            format!("{name} ran out of water{often}{long}{first}{}{missed}", worst(finding, units))
        }
        FindingKind::Weak => format!("{}{first}{missed}", weak(summary, finding)),
        FindingKind::LowPressure => format!("{}{first}", low_pressure(run, finding)),
        FindingKind::LowLevelTrip => format!("the low-level cut-off stopped the pump of the {name}{often}{first}"),
        FindingKind::SuctionLost => {
            format!("the {name} draws air and can be ruined: the water was down to its intake{often}{long}{first}")
        }
        FindingKind::ManyStarts => format!("{}{first}", many_starts(finding)),
        FindingKind::ShortRuns => {
            let limit = finding.limit.map_or_else(|| "a minute".to_owned(), |limit_s| units.duration(limit_s));
            format!("the {name} ran for less than {limit} at a time{often}{first}")
        }
        FindingKind::ProtectStop => format!("low storage stopped the delivery pump{often}{first}"),
        FindingKind::Spilled => {
            let spilled = if missed.is_empty() { String::new() } else { format!(": {litres} lost") };
            format!("{name} was full and spilled{often}{long}{first}{spilled}")
        }
        FindingKind::Leaked => {
            let often = if finding.count == Some(1) { "" } else { &often };
            format!("{name} let {litres} run away{often}{long}{first}")
        }
        FindingKind::StandbyUsed => format!("the {name} fed the plant{often}{long}{first}"),
        FindingKind::Underdosed => {
            format!("{litres} passed the {name} with less than its least dose: that water counts as not disinfected")
        }
        FindingKind::LongRun => {
            let run = finding.minutes.map_or_else(String::new, |minutes| units.duration(60.0 * minutes));
            format!("the {name} ran for {run} on end, without reaching the pressure that stops it")
        }
        FindingKind::Spent => format!("{litres} passed the {name} untreated: it held all that it can"),
        FindingKind::ServiceDue => format!("the {name} is due for service{first}"),
        FindingKind::Untreated => format!("{litres} passed the {name} untreated, through its bypass"),
        FindingKind::MembraneLockedOut => format!(
            "the {name} was starved of pressure and locked out{often}{long}{first}; it makes no water until it is reset by \
             hand"
        ),
        FindingKind::MembraneTrips => {
            let worst = most_trips(summary, finding);
            format!("too little pressure at its suction stopped the {name}{often}{first}{worst}")
        }
        FindingKind::CleaningDue => format!("the {name} has been due for cleaning{}", at(finding, "since")),
        FindingKind::CalciteLow => calcite_low(summary, name),
        FindingKind::MembraneFouls => {
            let due = at(finding, "by");
            format!("the {name} fouls or scales: it has lost what it may between two cleanings{due}, as the run goes")
        }
        FindingKind::MembraneChlorinated => {
            let limit = number(finding.limit.unwrap_or(0.0));
            format!("{litres} came to the {name} with more than {limit} mg/L of free chlorine, which ruins a membrane")
        }
        FindingKind::RejectReturned => {
            format!("{litres} went from the membrane unit into the {name}, with the salt that was held back")
        }
        FindingKind::PondSaltier => pond_saltier(summary, finding),
        FindingKind::PondDry => {
            format!("the {name} was all but dry: {litres} were left at the lowest{}", at(finding, "on"))
        }
        FindingKind::PondFroze => pond_froze(run, finding),
        FindingKind::Lukewarm => {
            let had =
                if is_heater(summary, name) { format!("the {} gave", heater(name)) } else { format!("{name} had") };
            format!("{had} lukewarm water{often}{long}{first}{}", worst(finding, units))
        }
        FindingKind::ScaldingWater => {
            let limit = units.temperature(finding.limit.unwrap_or(0.0));
            let came = if is_heater(summary, name) {
                format!("came to the taps from the {}", heater(name))
            } else {
                format!("came to the taps of {name}")
            };
            format!("{litres} of water over {limit}, which can scald, {came}")
        }
        FindingKind::GrowthWarm => growth_warm(run, finding),
        FindingKind::HeaterFroze => {
            let long = units.duration(60.0 * finding.minutes.unwrap_or(0.0));
            format!(
                "water of the {} or of its pipe was cold enough to freeze, and to burst them, for {long}",
                heater(name)
            )
        }
        FindingKind::AirUnsuitable => {
            let long = units.duration(60.0 * finding.minutes.unwrap_or(0.0));
            format!("the compressor of the {} waited for {long} in all for air that suits it", heater(name))
        }
        FindingKind::BackupOverloaded => {
            format!("the pumps alone were more than what stands behind the grid can feed: it tripped{often}")
        }
        FindingKind::BackupEnded => {
            let long = units.duration(60.0 * finding.minutes.unwrap_or(0.0));
            format!("with the grid out nobody fed the site for {long} in all{first}")
        }
        FindingKind::SaltyStorage => salty_storage(summary, finding),
        FindingKind::Incident => format!("by the scenario {}{often}{long}{first}", disorders(run, name)),
    }
}

/// When it was, after a word for that.
fn at(finding: &Finding, word: &str) -> String {
    finding.at.as_deref().map_or_else(String::new, |at| format!(" {word} {}", spoken_iso(at)))
}

/// The longest of several spells.
fn worst(finding: &Finding, units: Units) -> String {
    let longest = finding.longest_minutes.zip(finding.longest_at.as_deref());
    longest.map_or_else(String::new, |(minutes, at)| {
        format!(", at worst for {} from {}", units.duration(60.0 * minutes), spoken_iso(at))
    })
}

/// An outlet that got less than it wanted: by how much.
fn weak(summary: &Summary, finding: &Finding) -> String {
    let name = &finding.part;
    let outlet = summary.outlets.iter().find(|outlet| outlet.name == *name);
    let wanted_l = outlet.map_or(0.0, |outlet| outlet.delivered_l + outlet.short_l);
    let share = finding.litres.filter(|_| wanted_l > 0.0).map(|short_l| short_l / wanted_l);
    match share {
        Some(share) if share >= LARGE_SHARE => {
            format!("{name} is badly served: it got {} less water than it wanted", percent(share))
        }
        Some(share) => format!("{name} got {} less water than it wanted", percent(share)),
        None => format!("{name} got less water than it wanted"),
    }
}

/// Pressure that was low: where, under what, for how long.
fn low_pressure(run: &Run<'_>, finding: &Finding) -> String {
    let units = run.units;
    let limit = finding.limit.map_or_else(|| "low".to_owned(), |kpa| format!("under {}", units.pressure(kpa)));
    let long = finding.minutes.map_or_else(String::new, |m| format!(" for {} in all", units.duration(60.0 * m)));
    let place = run.pressure_place().map_or_else(String::new, |place| format!(", {place},"));
    format!("pressure to the buildings{place} was {limit}{long}")
}

/// A pump that starts too often: how often.
fn many_starts(finding: &Finding) -> String {
    let most = finding.count.unwrap_or(0);
    let limit = finding.limit.map_or_else(String::new, |limit| format!(" ({} is the most)", number(limit)));
    format!("the {} made {} in one day, more than is good for it{limit}", finding.part, counted(most, "start"))
}

/// The most trips in a day, where the trips were not all in one.
fn most_trips(summary: &Summary, finding: &Finding) -> String {
    let most = summary.membrane.as_ref().map_or(0, |membrane| membrane.most_trips_in_a_day);
    let fewer = finding.count.is_some_and(|count| most > 1 && count > most);
    if fewer { format!(", at most {} in a day", times(most)) } else { String::new() }
}

/// A bed of calcite of which little is left: how much.
fn calcite_low(summary: &Summary, name: &str) -> String {
    let left = summary.membrane.as_ref().and_then(|membrane| membrane.calcite_left_share);
    let left = percent(left.unwrap_or(0.0));
    format!("{left} of the bed of calcite behind the {name} is left at the end: it is to be refilled")
}

/// A pond that grew saltier: from what to what.
fn pond_saltier(summary: &Summary, finding: &Finding) -> String {
    let supply = summary.supplies.iter().find(|supply| supply.name == finding.part);
    let open = supply.and_then(|supply| supply.open_water.as_ref());
    let (from, to) = open.map_or((0.0, 0.0), |open| (open.start_salt_mg_l, open.most_salt_mg_l));
    let (from, to) = (fixed(from, 0), fixed(to, 0));
    format!("salt in the {} rose from {from} to {to} mg/L{}", finding.part, at(finding, "by"))
}

/// A pond under ice: for how long, and how thick that was.
fn pond_froze(run: &Run<'_>, finding: &Finding) -> String {
    let supply = run.outcome.summary.supplies.iter().find(|supply| supply.name == finding.part);
    let thickest_m = supply.and_then(|supply| supply.open_water.as_ref()).map(|open| open.thickest_ice_m);
    let thick = thickest_m.map_or_else(String::new, |m| format!(", {} at the thickest", run.units.length(m)));
    let long = run.units.duration(60.0 * finding.minutes.unwrap_or(0.0));
    format!("ice lay on the {} for {long} in all{thick}", finding.part)
}

/// Whether a finding is of a heater and not of a building: where several serve one, each is told of.
fn is_heater(summary: &Summary, part: &str) -> bool {
    let is = |of: fn(&HotWaterSummary) -> &str| summary.hot_water.iter().any(|heater| of(heater) == part);
    is(|heater| &heater.heater) && !is(|heater| &heater.building)
}

/// A tank in which Legionella can grow: how cool its outlet was, and for how long.
fn growth_warm(run: &Run<'_>, finding: &Finding) -> String {
    let found = run.outcome.summary.hot_water.iter().find(|heater| heater.heater == finding.part);
    let [_, warm] = volume_hours(run.units, found.map_or(0.0, |heater| heater.growth_l_h));
    let limit = run.units.temperature(finding.limit.unwrap_or(0.0));
    let long = run.units.duration(60.0 * finding.minutes.unwrap_or(0.0));
    format!(
        "the outlet of the {} was under {limit} for {long} on end, with {warm} of water above its inlet as warm as Legionella \
         likes it",
        heater(&finding.part)
    )
}

/// Storage that is salty in spite of a membrane unit: how salty.
fn salty_storage(summary: &Summary, finding: &Finding) -> String {
    let salt = fixed(summary.storage.as_ref().map_or(0.0, |storage| storage.salt_mg_l), 0);
    let limit = number(finding.limit.unwrap_or(0.0));
    format!("water in {} held {salt} mg/L of salt at the end; over {limit} mg/L it can be tasted", finding.part)
}

/// What the scenario did to a part within the run: as a sentence, or several.
fn disorders(run: &Run<'_>, part: &str) -> String {
    let plant = &run.scenario.plant;
    let end = Time::from_day(i64::from(run.outcome.summary.days));
    let mut said: Vec<String> = Vec::new();
    for incident in run.scenario.incidents.iter().filter(|it| names::out_of_order(plant, it.kind) == part) {
        let start = since(incident.start, run.first_day);
        // A battery or generator may have fed meanwhile.
        let is_grid = incident.kind == IncidentKind::PowerOut && plant.power.has_backup();
        let sentence = format!("the {} was {}", if is_grid { "grid" } else { part }, names::disorder(incident.kind));
        if start < end && start + incident.length > Time::ZERO && !said.contains(&sentence) {
            said.push(sentence);
        }
    }
    if said.is_empty() { format!("the {part} was out of order") } else { said.join(", and ") }
}
