//! Cautions: what was found, or what stands on the site, can hurt somebody.

use springhouse_core::hot_water::tap::SCALDS_FROM_C;
use springhouse_core::plant::Plant;
use springhouse_sim::{FindingKind, Summary};

use super::wrapped;
use crate::Run;

/// The cautions that what was found raises, if any. Ends with a newline.
#[must_use]
pub fn caution(run: &Run<'_>) -> Option<String> {
    let mut cautions = raised(&run.scenario.plant, &run.outcome.summary);
    cautions.extend(of_power(run));
    let told = cautions.iter().map(|caution| wrapped(&format!("Caution: {caution}")));
    (!cautions.is_empty()).then(|| told.collect::<String>() + "More in docs/cautions.md.\n")
}

fn raised(plant: &Plant, summary: &Summary) -> Vec<&'static str> {
    let found = |kinds: &[FindingKind]| summary.verdict.findings.iter().any(|f| kinds.contains(&f.kind));
    let (dry, pressure_lost) =
        (found(&[FindingKind::SuctionLost]), found(&[FindingKind::RunOut, FindingKind::LowPressure]));
    let worked_on = dry
        || found(&[
            FindingKind::LowLevelTrip,
            FindingKind::ManyStarts,
            FindingKind::ShortRuns,
            FindingKind::ProtectStop,
            FindingKind::MembraneLockedOut,
        ]);
    let mut cautions = Vec::new();
    if dry {
        cautions.push(
            "a pump that runs dry overheats and can be ruined within minutes. Do not run it so; ask a well \
             professional about a low-level cut-off and about what the well can give.",
        );
    }
    if pressure_lost {
        cautions.push(
            "pipes that lose pressure can draw foul water in. Have backflow protection checked, and ask the health \
             authority before drinking after a loss of pressure.",
        );
    }
    if plant.supplies.iter().any(|supply| supply.source.basin().is_some()) {
        cautions.push(
            "water of a pond or off a roof is not drinking water without treatment designed for it and looked after; it is \
             kept apart from well and main physically, not by a valve, as local code asks.",
        );
    } else if plant.supplies.len() > 1 && plant.change_over.is_some() {
        cautions.push(
            "two supplies on one header are a cross-connection unless they are kept apart as local code and the water \
             supplier ask.",
        );
    }
    if found(&[FindingKind::PondFroze]) {
        cautions.push("ice on a pond may not bear: keep people and animals off it.");
    }
    if found(&[FindingKind::Underdosed, FindingKind::Untreated]) {
        cautions.push(
            "water that was not treated as planned may be unfit to drink: ask the health authority whether to boil it, \
             and have it tested.",
        );
    }
    if plant.membrane.is_some() {
        cautions.push(
            "water behind a membrane has few minerals and eats into metal: pipe and fittings can give off lead and copper. \
             Ask how it must be treated, and have it tested at the tap.",
        );
        cautions.push(
            "where the reject of a membrane unit may go, to a drain, a septic field, the ground or a pond, is for local code \
             to say.",
        );
    }
    if found(&[FindingKind::MembraneChlorinated]) {
        cautions.push(
            "a membrane that chlorine has harmed lets through what it should hold back. Have its product tested before \
             anyone drinks it.",
        );
    }
    if found(&[FindingKind::ScaldingWater]) {
        cautions.push(
            "water at 60 °C (140 °F) burns in seconds, at 49 °C (120 °F) in minutes, children and the old sooner. A \
             tempering valve at the heater and anti-scald valves at the fixtures keep it off the skin; what is asked for is \
             for local code and licensed people to say.",
        );
    }
    if found(&[FindingKind::GrowthWarm]) {
        cautions.push(
            "Legionella grows in water that is warm and stands. It is common to keep a tank at 60 °C (140 °F) and temper \
             behind it, and to keep the water of pipes moving; what is right for a house is for local code, the health \
             authority and licensed people to say.",
        );
    }
    if worked_on {
        cautions.push(
            "lock the power off and let the pressure down before anyone touches pump, switch or tank; wiring and well \
             work are for licensed people.",
        );
    }
    cautions
}

/// What feeds the site beside the grid.
fn of_power(run: &Run<'_>) -> Vec<&'static str> {
    let (plant, energy) = (&run.scenario.plant, run.scenario.energy.as_ref());
    let power = &plant.power;
    let mut cautions = Vec::new();
    let (has_panels, has_battery) = (energy.is_some_and(|energy| energy.sun.is_some()), power.battery.is_some());
    if has_panels {
        cautions.push(
            "panels are live as long as there is light, and a battery always, whatever is switched off. They and their \
             disconnects are work for a licensed electrician, and feeding the grid needs its operator's leave.",
        );
    } else if has_battery {
        cautions.push(
            "a battery is live, whatever is switched off. It and its disconnects are work for a licensed electrician.",
        );
    }
    if power.battery.is_some() {
        cautions.push(
            "a battery that fails burns hot and gives off poisonous gas. Where it may stand, how far from doors, and what \
             alarm it needs is for local code and the fire authority to say.",
        );
    }
    if power.generator.is_some() {
        cautions.push(
            "a generator makes carbon monoxide, which kills and does not smell: it runs outdoors only, away from windows and \
             doors. It feeds a house through a transfer switch, never through a socket, which can kill who works on the line.",
        );
    }
    // What was found says so already.
    let scalded = run.outcome.summary.verdict.findings.iter().any(|it| it.kind == FindingKind::ScaldingWater);
    let boosted =
        plant.hot_water.heaters.iter().any(|heater| heater.settings.sun.is_some_and(|sun| sun.set_c > SCALDS_FROM_C));
    if boosted && !scalded {
        cautions.push(
            "water that the sun has heated beyond 49 °C (120 °F) scalds: a heater that is let run hotter needs a tempering \
             valve, as local code and its maker ask.",
        );
    }
    cautions
}
