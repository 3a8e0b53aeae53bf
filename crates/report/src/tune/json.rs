//! `tune.json`: the advice, metric, with the unit in the key.

use serde::Serialize;
use springhouse_core::membrane::limits::FeedKind;
use springhouse_sim::names;
use springhouse_study::tune::{Advice, Change, Cure, Feeding, LimitState, Seasons, Step, Swing, Turn};

use super::figures::Told;
use super::{Tuned, help, text, words};

/// What the keys mean: raised when one changes its meaning or goes.
const SCHEMA: &str = "springhouse-tune/2";

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    version: &'static str,
    scenario: &'a str,
    aim: &'static str,
    within_limits: bool,
    answer: Answer,
    asked: Asked,
    advised: Seasons<Told<'a>>,
    at_lowest_inlet: Told<'a>,
    at_highest_inlet: Told<'a>,
    present: Seasons<Told<'a>>,
    limits: Vec<Kept>,
    conflicts: Vec<Vec<&'static str>>,
    other_aims: Vec<Other<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cure: Option<Cured<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    feeding: Option<Fed>,
    steps: Vec<Turned<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    recycle_doubled: Option<Changed<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tenth_of_reject_to_recycle: Option<Changed<'a>>,
    warnings: Vec<String>,
}

/// The setting in typical water; no flows where the unit makes no water.
#[derive(Serialize)]
struct Answer {
    text: String,
    #[serde(flatten)]
    flows: Option<AnswerFlows>,
}

#[derive(Serialize)]
struct AnswerFlows {
    reject_lps: f64,
    recycle_lps: f64,
    product_l_day: f64,
    waste_l_per_l: f64,
}

#[derive(Serialize)]
struct Asked {
    #[serde(skip_serializing_if = "Option::is_none")]
    product_l_day: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    hours_per_day: Option<f64>,
    temp_c: Seasons<f64>,
    inlet_kpa: Swing<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    supply: Option<String>,
    feed_salt_mg_l: f64,
    feed: &'static str,
    analysed: bool,
    antiscalant: bool,
    most_recovery: f64,
    most_product_salt_mg_l: f64,
    rated_kpa: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pump_curve_end_lps: Option<f64>,
}

#[derive(Serialize)]
struct Other<'a> {
    aim: &'static str,
    advised: Told<'a>,
}

#[derive(Serialize)]
struct Cured<'a> {
    scale: Vec<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    without_l_per_l: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    with_antiscalant: Option<Told<'a>>,
}

#[derive(Serialize)]
#[expect(clippy::struct_field_names, reason = "the unit stands in each key")]
struct Fed {
    feed_lps: f64,
    mean_feed_lps: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    supply_pump_lps: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    well_yield_lps: Option<f64>,
}

#[derive(Serialize)]
struct Kept {
    limit: &'static str,
    season: &'static str,
    found: f64,
    allowed: f64,
    unit: &'static str,
    /// How much of what is allowed is used.
    used: f64,
    binds: bool,
    /// Of membranes as they are, or at their cleanest.
    membranes: &'static str,
}

#[derive(Serialize)]
struct Turned<'a> {
    valve: &'static str,
    turn: &'static str,
    read: Told<'a>,
    breaks_in_any_season: Vec<&'static str>,
}

#[derive(Serialize)]
struct Changed<'a> {
    product_share: f64,
    waste_share: f64,
    pump_power_share: f64,
    energy_share: f64,
    product_salt_share: f64,
    tail_salt_share: f64,
    to: Told<'a>,
}

/// The file's text, and what `--json` prints: two spaces a level, a newline at the end. Its `answer.text` is the first line of
/// [`text::headline`], in the reader's units.
///
/// # Errors
/// Where a figure has no place in JSON.
pub fn advice(tuned: &Tuned<'_>) -> serde_json::Result<String> {
    let tuning = tuned.tuning;
    let (question, found) = (&tuning.question, &tuning.advice);
    let told = Document {
        schema: SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        scenario: &tuned.scenario.name,
        aim: words::aim_key(found.aim),
        within_limits: found.within_limits,
        answer: Answer {
            text: text::headline(tuned),
            flows: tuning.told().advised.typical.work.as_ref().map(|work| AnswerFlows {
                reject_lps: work.reject_lps,
                recycle_lps: work.recycle_lps,
                product_l_day: work.product_l_day,
                waste_l_per_l: work.waste_l_per_l,
            }),
        },
        asked: Asked {
            product_l_day: question.want.map(|want| want.product_l_day),
            hours_per_day: question.want.map(|want| want.hours_per_day),
            temp_c: question.temp_c,
            inlet_kpa: Swing {
                lowest: found.at_lowest_inlet.inlet_kpa,
                typical: found.advised.typical.inlet_kpa,
                highest: found.at_highest_inlet.inlet_kpa,
            },
            supply: question.gives.map(|gives| names::supply(&tuned.scenario.plant, gives.supply)),
            feed_salt_mg_l: question.feed_salt_mg_l,
            feed: match question.feed {
                FeedKind::Well => "well",
                FeedKind::Surface => "surface",
                FeedKind::Product => "product",
            },
            analysed: question.analysis.is_some(),
            antiscalant: question.antiscalant,
            most_recovery: question.most_recovery(),
            most_product_salt_mg_l: question.most_product_salt_mg_l(),
            rated_kpa: question.rated_kpa,
            pump_curve_end_lps: question.pump_end_lps,
        },
        advised: Seasons::of(|season| Told(found.advised.get(season))),
        at_lowest_inlet: Told(&found.at_lowest_inlet),
        at_highest_inlet: Told(&found.at_highest_inlet),
        present: Seasons::of(|season| Told(found.present.get(season))),
        limits: found.limits.iter().filter(|state| state.found.is_finite()).map(kept).collect(),
        conflicts: found.conflicts.iter().map(|group| group.iter().map(words::limit_key).collect()).collect(),
        other_aims: tuning.others.iter().map(other).collect(),
        cure: tuning.cure.as_ref().map(cured),
        feeding: tuning.feeding.as_ref().map(fed),
        steps: tuning.steps.iter().map(turned).collect(),
        recycle_doubled: tuning.sensitivity.as_ref().and_then(|found| found.recycle_doubled.as_ref()).map(changed),
        tenth_of_reject_to_recycle: tuning
            .sensitivity
            .as_ref()
            .and_then(|found| found.reject_to_recycle.as_ref())
            .map(changed),
        warnings: help::warnings(tuned),
    };
    let mut text = serde_json::to_string_pretty(&told)?;
    text.push('\n');
    Ok(text)
}

fn kept(state: &LimitState) -> Kept {
    Kept {
        limit: words::limit_key(state.limit),
        season: words::season(state.season),
        found: state.found,
        allowed: state.allowed,
        unit: words::limit_unit(state.limit),
        used: libm::pow(10.0, state.over),
        binds: state.binds,
        membranes: if state.clean { "cleanest" } else { "now" },
    }
}

fn typical(advice: &Advice) -> Told<'_> {
    Told(&advice.advised.typical)
}

fn other(advice: &Advice) -> Other<'_> {
    Other { aim: words::aim_key(advice.aim), advised: typical(advice) }
}

fn cured(cure: &Cure) -> Cured<'_> {
    Cured {
        scale: cure.scale.iter().map(words::limit_key).collect(),
        without_l_per_l: cure.without_l_per_l,
        with_antiscalant: cure.with_antiscalant.as_deref().map(typical),
    }
}

fn fed(feeding: &Feeding) -> Fed {
    Fed {
        feed_lps: feeding.feed_lps,
        mean_feed_lps: feeding.mean_lps,
        supply_pump_lps: feeding.gives.pump_lps,
        well_yield_lps: feeding.gives.yield_lps,
    }
}

fn turned(step: &Step) -> Turned<'_> {
    Turned {
        valve: words::valve(step.valve),
        turn: match step.turn {
            Turn::Open => "open",
            Turn::Close => "close",
        },
        read: Told(&step.read),
        breaks_in_any_season: step.breaks.iter().map(words::limit_key).collect(),
    }
}

fn changed(change: &Change) -> Changed<'_> {
    Changed {
        product_share: change.product_share,
        waste_share: change.waste_share,
        pump_power_share: change.pump_power_share,
        energy_share: change.energy_share,
        product_salt_share: change.product_salt_share,
        tail_salt_share: change.reject_salt_share,
        to: Told(&change.to),
    }
}
