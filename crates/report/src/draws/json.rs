//! `draws.json`: what the draws amount to, metric, with the unit in the key.

use serde::Serialize;
use springhouse_core::outlet;
use springhouse_core::time::{Span, Time};
use springhouse_draws::tally::{MOST_SHOWERS, Totals, WINDOWS};

use super::busy::Most;
use super::gather::litres;
use super::words::{END_USES, EndUse};
use super::{Drawn, Spread, text, words};
use crate::calendar;

/// What the keys mean: raised when one changes its meaning or goes.
const SCHEMA: &str = "springhouse-draws/2";

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    version: &'static str,
    scenario: &'a str,
    start: String,
    days: u32,
    seed: u64,
    runs: u64,
    answer: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    people: Option<People>,
    buildings_l_day: Buildings,
    outlets: Vec<Outlet<'a>>,
    hour_shares: [f64; 24],
    peaks: Vec<Peak>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fullest_hour: Option<Fullest>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fullest_morning: Option<Fullest>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fullest_day: Option<Fullest>,
    showers_at_once: Vec<AtOnce>,
    #[serde(skip_serializing_if = "Option::is_none")]
    longest_shower_wait: Option<LongestWait<'a>>,
}

#[derive(Serialize)]
struct People {
    person_days: u64,
    litres_per_person_day: f64,
    litres_per_person_day_by_run: Percentiles,
    uses: Vec<Used>,
}

#[derive(Serialize)]
struct Percentiles {
    p5: f64,
    p50: f64,
    p95: f64,
    p99: f64,
    highest: f64,
}

impl From<Spread> for Percentiles {
    fn from(Spread { p5, p50, p95, p99, highest }: Spread) -> Self {
        Self { p5, p50, p95, p99, highest }
    }
}

#[derive(Serialize)]
struct Used {
    end_use: &'static str,
    litres_per_person_day: f64,
    events_per_day: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    published_litres_per_person_day: Option<f64>,
}

#[derive(Serialize)]
struct Buildings {
    household: f64,
    schedule: f64,
    log: f64,
}

#[derive(Serialize)]
struct Outlet<'a> {
    name: &'a str,
    role: &'static str,
    litres_per_day: f64,
}

#[derive(Serialize)]
struct Peak {
    window_min: i64,
    flow_lps: Percentiles,
}

#[derive(Serialize)]
struct Fullest {
    litres: f64,
    start: String,
    run: u64,
}

#[derive(Serialize)]
struct AtOnce {
    showers: usize,
    share_of_days: f64,
    seconds_per_day: f64,
}

#[derive(Serialize)]
struct LongestWait<'a> {
    queued_s: f64,
    building: &'a str,
    person: &'a str,
    start: String,
    run: u64,
}

/// The file's text, and what `--json` prints: two spaces a level, a newline at the end. Its `answer` is
/// [`text::headline`], in the reader's units.
///
/// # Errors
/// Where a figure has no place in JSON.
pub fn document(drawn: &Drawn<'_>) -> serde_json::Result<String> {
    let Drawn { scenario, options, gathering, .. } = *drawn;
    let (totals, busiest) = (gathering.totals(), gathering.busiest());
    let told = Document {
        schema: SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        scenario: &scenario.name,
        start: options.first_day.to_string(),
        days: options.days,
        seed: options.seed,
        runs: gathering.runs(),
        answer: text::headline(drawn),
        people: totals
            .filter(|_| options.homes.iter().any(|home| !home.people.is_empty()))
            .map(|totals| people(drawn, totals)),
        buildings_l_day: Buildings {
            household: gathering.household_l_day(),
            schedule: gathering.schedule_l_day(),
            log: gathering.log_l_day(),
        },
        outlets: scenario.plant.outlets.iter().zip(gathering.outlets_l_day()).map(outlet).collect(),
        hour_shares: totals.map_or([0.0; 24], Totals::hour_shares),
        peaks: WINDOWS.iter().zip(gathering.gathered().peaks_lps()).map(peak).collect(),
        fullest_hour: busiest.hour.map(|most| fullest(drawn, most)),
        fullest_morning: busiest.morning.map(|most| fullest(drawn, most)),
        fullest_day: busiest.day.as_ref().map(|(most, _)| fullest(drawn, *most)),
        showers_at_once: totals.map(at_once).unwrap_or_default(),
        longest_shower_wait: gathering.wait().map(|wait| LongestWait {
            queued_s: wait.queued.s(),
            building: options.homes.get(usize::from(wait.home)).map_or("", |home| home.name.as_str()),
            person: words::person(&options.homes, wait.home, wait.who),
            start: moment(drawn, wait.start),
            run: wait.run,
        }),
    };
    let mut text = serde_json::to_string_pretty(&told)?;
    text.push('\n');
    Ok(text)
}

fn outlet((outlet, litres_per_day): (&outlet::Outlet, f64)) -> Outlet<'_> {
    Outlet { name: &outlet.name, role: words::role_key(outlet.role), litres_per_day }
}

fn people(drawn: &Drawn<'_>, totals: &Totals) -> People {
    let by_run = drawn.gathering.gathered().litres_per_person_day();
    People {
        person_days: words::person_days(totals),
        litres_per_person_day: totals.litres_per_person_day(),
        litres_per_person_day_by_run: Spread::of(by_run).into(),
        uses: END_USES.iter().map(|end_use| used(end_use, totals)).collect(),
    }
}

fn used(end_use: &EndUse, totals: &Totals) -> Used {
    Used {
        end_use: end_use.key,
        litres_per_person_day: end_use.litres_per_person_day(totals),
        events_per_day: end_use.events_per_day(totals),
        published_litres_per_person_day: end_use.published_l(),
    }
}

fn peak((window, peaks_lps): (&Span, &Vec<f64>)) -> Peak {
    Peak { window_min: window.ns() / Span::MINUTE.ns(), flow_lps: Spread::of(peaks_lps).into() }
}

fn fullest(drawn: &Drawn<'_>, most: Most) -> Fullest {
    Fullest { litres: litres(most.amount), start: moment(drawn, most.start), run: most.run }
}

fn moment(drawn: &Drawn<'_>, time: Time) -> String {
    calendar::iso_seconds(drawn.options.first_day, time)
}

/// For each number of showers that ever ran at once.
fn at_once(totals: &Totals) -> Vec<AtOnce> {
    let of = |showers| AtOnce {
        showers,
        share_of_days: totals.showers_at_once_days(showers),
        seconds_per_day: totals.showers_at_once_s(showers),
    };
    (1..=MOST_SHOWERS).map(of).take_while(|of| of.share_of_days > 0.0).collect()
}
