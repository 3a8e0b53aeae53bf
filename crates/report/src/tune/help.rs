//! What would help where limits cannot be kept, and what must be minded.

use springhouse_core::membrane::limits::MOST_TEMP_C;
use springhouse_scenario::Units;
use springhouse_sim::names;
use springhouse_study::tune::{Advice, Aim, Cure, Limit, Limits, Point, Season, Seasons};

use super::{Tuned, broken, text, words};
use crate::numbers::fixed;
use crate::phrase::capitalised;

/// Sentences on limits that no setting keeps, the hardest first; none where all are kept.
pub(super) fn warnings(tuned: &Tuned<'_>) -> Vec<String> {
    let advice = &tuned.tuning.advice;
    let cured_of = tuned.tuning.cure.as_ref().map_or(Limits::NONE, |cure| cure.scale);
    let told_below = |group: &&Limits| !group.without(cured_of).is_empty();
    let mut said: Vec<String> =
        advice.conflicts.iter().filter(told_below).map(|group| conflict(tuned, *group)).collect();
    if !advice.within_limits && said.is_empty() && cured_of.is_empty() {
        said.push("the place between the limits is narrower than the map can tell".to_owned());
    }
    said.extend(tuned.tuning.cure.as_ref().map(|cure| cured(tuned, cure)));
    said.extend(feeding(tuned));
    said.extend(pump_end(tuned));
    said.extend(dead_head(tuned));
    let question = &tuned.tuning.question;
    if question.temp_c.warmest > MOST_TEMP_C {
        let [warm, most] = [question.temp_c.warmest, MOST_TEMP_C].map(|temp_c| tuned.units.temperature(temp_c));
        said.push(format!("water of {warm} is warmer than elements stand, {most}"));
    }
    if tuned.tuning.question.analysis.is_none() {
        let most = words::share(tuned.tuning.question.most_recovery());
        said.push(format!(
            "without an analysis of the feed scale cannot be judged, so recovery is held to {most}; add `analysis` to the supply"
        ));
    }
    said
}

/// The answer where scale is not a matter of valves.
pub(super) fn cure_headline(tuned: &Tuned<'_>, cure: &Cure) -> String {
    let scale = words::listed(cure.scale, words::limit);
    let without = format!("No setting of the valves keeps {scale} off");
    let dosed = cure.with_antiscalant.as_deref();
    if let Some(work) = dosed.and_then(|advice| advice.advised.typical.work.as_ref()) {
        let (set, gives) = (text::setting(tuned, work), text::gives(tuned, work));
        return format!("{without}: dose an antiscalant, then set {set}; {gives}.");
    }
    let dosed = if tuned.tuning.question.antiscalant {
        "not even with the antiscalant"
    } else {
        "and with an antiscalant none keeps all limits either"
    };
    let helps = match cure.without_l_per_l {
        _ if softener_helps(cure) => "soften the feed",
        Some(_) => "it takes another source, or less recovery than this unit can be set to",
        None => "it takes another source",
    };
    format!("{without}, {dosed}: {helps}.")
}

/// Whether all that leaves scale is made of what a softener takes out: calcium is, silica is not.
fn softener_helps(cure: &Cure) -> bool {
    !cure.scale.contains(Limit::Silica)
}

/// What scale that nothing keeps off takes, in numbers.
fn cured(tuned: &Tuned<'_>, cure: &Cure) -> String {
    let volume = words::one_volume(tuned.units);
    let scale = words::listed(cure.scale, words::limit);
    let low = match cure.without_l_per_l {
        None => "the feed leaves scale as it is, so recovering less of it is no help".to_owned(),
        Some(waste) => format!(
            "less recovery would keep it off only from {} {volume} wasted for each on, which this unit cannot be set to",
            fixed(waste, 1)
        ),
    };
    let dosed = cure.with_antiscalant.as_deref().and_then(|advice| advice.advised.typical.work.as_ref());
    let dosed = dosed.map_or_else(String::new, |work| {
        format!("; with an antiscalant it could be set to waste {} {volume} for each", words::waste(work))
    });
    let soft = if softener_helps(cure) {
        "a softener ahead of the unit takes out what it is made of"
    } else {
        "a softener does not take silica out"
    };
    format!("no setting keeps {scale} off: {low}{dosed}; {soft}")
}

/// Whether the supply can feed the unit.
fn feeding(tuned: &Tuned<'_>) -> Vec<String> {
    let Some(feeding) = &tuned.tuning.feeding else { return Vec::new() };
    let plant = &tuned.scenario.plant;
    let blend = if tuned.tuning.question.blend.is_some() { " with its blend" } else { "" };
    let [fed, mean] = [feeding.feed_lps, feeding.mean_lps].map(|lps| words::flow(tuned.units, lps) + blend);
    let mut said = Vec::new();
    if let Some(pump) = feeding.weak_pump_lps() {
        said.push(format!(
            "so set the unit takes {fed}, and the {} gives {} at the pressure that is reckoned with: the pressure falls and it \
             makes less",
            names::pump(plant, feeding.gives.supply),
            words::flow(tuned.units, pump)
        ));
    }
    if let Some(most) = feeding.slow_well_lps() {
        let gives = words::flow(tuned.units, most);
        let well = names::supply(plant, feeding.gives.supply);
        said.push(if feeding.mean_lps > most {
            format!(
                "so set the unit takes {mean} by the mean of the day, and the {well} gives {gives} for good: it cannot feed it"
            )
        } else {
            format!(
                "while it runs the unit takes {fed}, and the {well} gives {gives} for good: its level falls, and it must rest; by \
                 the mean of the day it takes {mean}"
            )
        });
    }
    said
}

/// A pump that runs beyond what is known of it.
fn pump_end(tuned: &Tuned<'_>) -> Option<String> {
    /// Less beyond is not told apart by a meter.
    const METERS: f64 = 1.01;
    let (advice, end_lps) = (tuned.tuning.told(), tuned.tuning.question.pump_end_lps?);
    let most = |points: &Seasons<Point>| {
        let flows = Season::ALL.into_iter().filter_map(|season| points.get(season).work.as_ref());
        flows.map(|work| work.vessel_feed_lps).fold(0.0, f64::max)
    };
    let found = [("as it is set now", most(&advice.present)), ("at the setting above", most(&advice.advised))];
    let beyond = found.iter().find(|(_, flow_lps)| *flow_lps > METERS * end_lps)?;
    let [passes, end] = [beyond.1, end_lps].map(|lps| words::flow(tuned.units, lps));
    Some(format!(
        "{} the pump of the unit passes {passes}, more than the last point of its curve, {end}: what is told of it is a guess",
        beyond.0
    ))
}

/// A pump that alone can bring more pressure than vessels are built for.
fn dead_head(tuned: &Tuned<'_>) -> Option<String> {
    let question = &tuned.tuning.question;
    let pump = question.unit.pump.as_ref()?;
    let lift_kpa = tuned.scenario.plant.water.pressure_kpa(pump.curve.shutoff_m());
    let most_kpa = question.suction.highest.rest_kpa + lift_kpa;
    let [most, rated] = [most_kpa, question.rated_kpa].map(|kpa| words::pressure(tuned.units, kpa));
    (most_kpa > question.rated_kpa).then(|| {
        format!(
            "with its valves shut the pump brings the membranes to {most}, and they are taken to be built for {rated} \
             (`rated_pressure`)"
        )
    })
}

/// Whether another aim would have the valves where they are advised, as near as meters tell.
pub(super) fn same_setting(tuned: &Tuned<'_>, other: &Advice) -> bool {
    const METERS: f64 = 0.01;
    let near = |a: f64, b: f64| (a - b).abs() <= METERS * a.max(b);
    let (here, there) = (tuned.tuning.advice.advised.typical.work, other.advised.typical.work);
    here.zip(there).is_some_and(|(here, there)| {
        near(here.reject_lps, there.reject_lps) && near(here.recycle_lps, there.recycle_lps)
    })
}

/// Why aims agree on a setting.
pub(super) fn why_same(tuned: &Tuned<'_>) -> String {
    let advice = &tuned.tuning.advice;
    let binds: Limits = advice.limits.iter().filter(|state| state.binds).map(|state| state.limit).collect();
    if binds.contains(Limit::Product) {
        return "less product than is wanted is all that could be gained".to_owned();
    }
    if binds.is_empty() {
        return "what saves water saves energy and membranes too, as far as the valves go".to_owned();
    }
    let leaves = if binds.len() == 1 { "leaves" } else { "leave" };
    format!("{} {leaves} no other that is better for any of them", words::listed(binds, words::limit))
}

/// Why an aim may waste less than the least waste: what it saves is dearer than it is worth.
pub(super) fn wastes_less<'a>(aims: impl Iterator<Item = &'a Advice> + Clone, units: Units) -> Option<String> {
    let works = |advice: &'a Advice| Some((advice.aim, advice.advised.typical.work.as_ref()?));
    let (_, least) = aims.clone().filter_map(works).find(|(aim, _)| *aim == Aim::LeastWaste)?;
    let (aim, less) = aims
        .filter_map(works)
        .filter(|(_, work)| words::waste(work) != words::waste(least) && work.waste_l_per_l < least.waste_l_per_l)
        .min_by(|a, b| a.1.waste_l_per_l.total_cmp(&b.1.waste_l_per_l))?;
    let [dear, usual] = [less, least].map(|work| words::energy(units, work.kwh_per_m3));
    let volume = words::energy_volume(units);
    Some(format!(
        "{} wastes a little less than least-waste, but takes {dear} for each {volume} and not {usual}: too much for so little \
         water.",
        capitalised(words::aim_key(aim))
    ))
}

fn conflict(tuned: &Tuned<'_>, group: Limits) -> String {
    if group.contains(Limit::Works) {
        return "the unit makes no water however its valves are set: look at its pump and its inlet pressure"
            .to_owned();
    }
    let what = if group.len() == 1 {
        format!("no setting keeps {} within its limit", words::listed(group, words::limit))
    } else {
        format!("no setting keeps {} at once", words::listed(group, words::limit))
    };
    format!("{what}; what would help: {}", helps(tuned, group))
}

/// What eases the limits of a group.
fn helps(tuned: &Tuned<'_>, group: Limits) -> String {
    let any = |limits: &[Limit]| limits.iter().any(|limit| group.contains(*limit));
    let question = &tuned.tuning.question;
    let mut helps: Vec<&str> = Vec::new();
    if any(&[Limit::Feed, Limit::ElementLoss, Limit::VesselLoss]) {
        helps.push("vessels side by side instead of elements in series");
    }
    if any(&[Limit::Pressure]) {
        helps.push("a pump of less head, or vessels and elements built for more (`rated_pressure`)");
    }
    if any(&[Limit::Calcite, Limit::Gypsum, Limit::Silica]) && !question.antiscalant {
        helps.push("an antiscalant");
    }
    if any(&[Limit::Calcite, Limit::Gypsum]) {
        helps.push("a softer feed (a softener ahead of it)");
    }
    if any(&[Limit::Silica]) {
        helps.push("a feed of less silica");
    }
    if any(&[Limit::Flux, Limit::ElementRecovery, Limit::Polarisation]) {
        helps.push("more membrane area, so that each element works less");
    }
    if any(&[Limit::Concentrate, Limit::Pump, Limit::ElementRecovery]) {
        helps.push(if question.unit.pump.is_some() {
            "a pump that passes more at this pressure"
        } else {
            "a pump, which can recycle"
        });
    }
    if any(&[Limit::Concentrate]) && question.unit.vessels > 1 {
        helps.push("elements in series instead of vessels side by side");
    }
    if any(&[Limit::Product]) {
        if !any(&[Limit::Flux, Limit::ElementRecovery, Limit::Polarisation]) {
            helps.push("more membrane area");
        }
        helps.push("less product wanted");
        if question.want.is_some_and(|want| want.hours_per_day < 24.0) {
            helps.push("more hours a day");
        }
    }
    if any(&[Limit::ProductSalt]) {
        helps.push("an element that keeps back more");
    }
    if helps.is_empty() {
        helps.push("a unit made for this water");
    }
    helps.join(", or ")
}

/// What is beyond at the present setting, in a sentence.
pub(super) fn present(tuned: &Tuned<'_>) -> Option<String> {
    let breaks = broken(&tuned.tuning.advice.present);
    (!breaks.is_empty()).then(|| format!("As it is set now: {}.", words::listed(breaks, words::beyond)))
}

/// What to mind, whatever was found.
pub(super) const CAUTIONS: [&str; 3] = [
    "a membrane unit stands under high pressure: turn valves slowly, and never shut the reject while it runs. Commissioning, \
     wiring and work on pressure vessels are for licensed people, by the maker's sheet and local code.",
    "limits are those of design guides and common practice; the makers of membrane and antiscalant may say otherwise, and \
     theirs count. The time between cleanings is indicative: it compares settings and is no date.",
    "the advice is worked out from the scenario. Read the gauges when it is set, and have the product tested.",
];
