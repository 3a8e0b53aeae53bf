//! What would help where limits cannot be kept, and what must be minded.

use springhouse_study::tune::{Limit, Limits};

use super::{Tuned, broken, words};

/// Sentences on limits that no setting keeps, the hardest first; none where all are kept.
pub(super) fn warnings(tuned: &Tuned<'_>) -> Vec<String> {
    let advice = &tuned.tuning.advice;
    let mut said: Vec<String> = advice.conflicts.iter().map(|group| conflict(tuned, *group)).collect();
    if !advice.within_limits && said.is_empty() {
        said.push("the place between the limits is narrower than the map can tell".to_owned());
    }
    if tuned.tuning.question.analysis.is_none() {
        let most = words::share(tuned.tuning.question.most_recovery());
        said.push(format!(
            "without an analysis of the feed scale cannot be judged, so recovery is held to {most}; add `analysis` to the supply"
        ));
    }
    said
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
