//! Plain words for parts, events and findings.

use springhouse_core::observe::{Event, EventKind, Part};
use springhouse_core::plant::Plant;
use springhouse_scenario::Units;
use springhouse_sim::{Finding, FindingKind, Summary};

use crate::Run;
use crate::calendar::spoken_iso;
use crate::numbers::{counted, number, percent, times};

/// What people call a part.
pub(crate) fn part(plant: &Plant, part: Part) -> &str {
    match part {
        Part::Site => "site",
        Part::Well => "well",
        Part::WellPump => "well pump",
        Part::PressureTank => "pressure tank",
        Part::Storage => "storage",
        Part::Delivery => "delivery pump",
        Part::Outlet(index) => plant.outlets.get(index).map_or("outlet", |outlet| &outlet.name),
    }
}

/// The key of an event in a table.
pub(crate) fn event_key(kind: EventKind) -> &'static str {
    match kind {
        EventKind::PumpStarts => "pump_starts",
        EventKind::PumpStops => "pump_stops",
        EventKind::ShortCyclingBegins => "short_cycling_begins",
        EventKind::ShortCyclingEnds => "short_cycling_ends",
        EventKind::LowLevelStop => "low_level_stop",
        EventKind::LowLevelClears => "low_level_clears",
        EventKind::SuctionLost => "suction_lost",
        EventKind::SuctionRegained => "suction_regained",
        EventKind::TankEmpties => "tank_empties",
        EventKind::FillOpens => "fill_opens",
        EventKind::FillShuts => "fill_shuts",
        EventKind::ProtectStop => "protect_stop",
        EventKind::ProtectClears => "protect_clears",
        EventKind::RunOutBegins => "run_out_begins",
        EventKind::RunOutEnds => "run_out_ends",
        EventKind::PressureLow => "pressure_low",
        EventKind::PressureBack => "pressure_back",
        EventKind::PowerFails => "power_fails",
        EventKind::PowerReturns => "power_returns",
        EventKind::PumpFails => "pump_fails",
        EventKind::PumpMended => "pump_mended",
    }
}

/// Unit of an event's value; empty where it has none.
pub(crate) fn event_unit(kind: EventKind) -> &'static str {
    match kind {
        EventKind::PumpStarts | EventKind::PumpStops | EventKind::TankEmpties | EventKind::PressureLow => "kPa",
        EventKind::ShortCyclingBegins | EventKind::RunOutEnds | EventKind::PressureBack => "s",
        EventKind::ShortCyclingEnds => "starts",
        EventKind::LowLevelStop | EventKind::LowLevelClears => "m",
        EventKind::SuctionLost | EventKind::SuctionRegained | EventKind::RunOutBegins => "L/s",
        EventKind::FillOpens | EventKind::FillShuts | EventKind::ProtectStop | EventKind::ProtectClears => "L",
        EventKind::PowerFails | EventKind::PowerReturns | EventKind::PumpFails | EventKind::PumpMended => "",
    }
}

/// An event as a sentence, in metric units.
pub(crate) fn event(plant: &Plant, event: &Event) -> String {
    let (name, value) = (part(plant, event.part), event.value);
    let units = Units::Metric;
    let kpa = || units.pressure(value);
    let litres = || units.volume(value);
    let depth = || units.length(value);
    let lpm = || units.flow(value);
    match event.kind {
        EventKind::PumpStarts => format!("the well pump starts at {}", kpa()),
        EventKind::PumpStops => format!("the well pump stops at {}", kpa()),
        EventKind::ShortCyclingBegins => {
            format!(
                "the well pump short-cycles, {} from start to start; its starts are not listed",
                units.duration(value)
            )
        }
        EventKind::ShortCyclingEnds => {
            format!("the well pump no longer short-cycles, after {} starts; its starts are listed again", number(value))
        }
        EventKind::LowLevelStop => format!("the low-level cut-off stops the well pump, water {} down", depth()),
        EventKind::LowLevelClears => format!("the well has recovered and its pump may run, water {} down", depth()),
        EventKind::SuctionLost => format!("the water is down to the well pump's intake, which gives {}", lpm()),
        EventKind::SuctionRegained => format!("the well pump's intake is under water again and gives {}", lpm()),
        EventKind::TankEmpties => format!("the pressure tank has no water left to give, at {}", kpa()),
        EventKind::FillOpens => format!("the fill valve opens with {} in storage", litres()),
        EventKind::FillShuts => format!("the fill valve shuts with {} in storage", litres()),
        EventKind::ProtectStop => format!("low storage stops the delivery pump with {} left", litres()),
        EventKind::ProtectClears => format!("the delivery pump may run again with {} in storage", litres()),
        EventKind::RunOutBegins => format!("{name} runs out of water: it gets {}", lpm()),
        EventKind::RunOutEnds => format!("{name} is no longer without water, after {}", units.duration(value)),
        EventKind::PressureLow => format!("pressure to the buildings falls under {}", kpa()),
        EventKind::PressureBack => format!("pressure to the buildings is back after {}", units.duration(value)),
        EventKind::PowerFails => "the electricity fails".to_owned(),
        EventKind::PowerReturns => "the electricity is back".to_owned(),
        EventKind::PumpFails => format!("the {name} goes out of order"),
        EventKind::PumpMended => format!("the {name} is mended"),
    }
}

/// From this share on a shortfall is no small matter.
const LARGE_SHARE: f64 = 0.1;

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

/// A finding as a sentence without its full stop.
pub(crate) fn finding(run: &Run<'_>, finding: &Finding) -> String {
    let (units, name) = (run.units, &finding.part);
    let often = finding.count.map_or_else(String::new, |count| format!(" {}", times(count)));
    let long =
        finding.minutes.map_or_else(String::new, |minutes| format!(", {} in all", units.duration(60.0 * minutes)));
    let first = finding.at.as_deref().map_or_else(String::new, |at| {
        let word = if finding.count == Some(1) { "on" } else { "first on" };
        format!(", {word} {}", spoken_iso(at))
    });
    let missing_l = finding.litres.filter(|litres| *litres > 0.0);
    let missed = missing_l.map_or_else(String::new, |l| format!("; {} did not come", units.volume(l)));
    match finding.kind {
        FindingKind::RunOut => format!("{name} ran out of water{often}{long}{first}{missed}"),
        FindingKind::Weak => format!("{}{first}{missed}", weak(&run.outcome.summary, finding)),
        FindingKind::LowPressure => {
            let limit = finding.limit.map_or_else(|| "low".to_owned(), |kpa| format!("under {}", units.pressure(kpa)));
            let long =
                finding.minutes.map_or_else(String::new, |m| format!(" for {} in all", units.duration(60.0 * m)));
            format!("pressure to the buildings was {limit}{long}{first}")
        }
        FindingKind::LowLevelTrip => format!("the low-level cut-off stopped the well pump{often}{first}"),
        FindingKind::SuctionLost => {
            format!("the well pump draws air and can be ruined: the water was down to its intake{often}{long}{first}")
        }
        FindingKind::ManyStarts => {
            let most = finding.count.unwrap_or(0);
            let limit = finding.limit.map_or_else(String::new, |limit| format!(" ({} is the most)", number(limit)));
            format!("the well pump made {} in one day, more than is good for it{limit}{first}", counted(most, "start"))
        }
        FindingKind::ShortRuns => {
            let limit = finding.limit.map_or_else(|| "a minute".to_owned(), |limit_s| units.duration(limit_s));
            format!("the well pump ran for less than {limit} at a time{often}{first}")
        }
        FindingKind::ProtectStop => format!("low storage stopped the delivery pump{often}{first}"),
        FindingKind::Incident => format!("the scenario put the {name} out of order{often}{long}{first}"),
    }
}
