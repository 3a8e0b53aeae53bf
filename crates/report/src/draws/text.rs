//! What the draws amount to in plain text: the answer first, then who takes how much, how much at once, and when.

use springhouse_core::outlet::Role;
use springhouse_core::time::{Span, Time};
use springhouse_draws::tally::{MOST_SHOWERS, Totals, WINDOWS};

use super::busy::Most;
use super::gather::litres;
use super::words::{self, END_USES};
use super::{Drawn, Spread};
use crate::calendar;
use crate::numbers::{Scale, counted, fixed, percent};
use crate::text::{push_table, wrapped};
use crate::tune::text::{Cells, push_table as push_columns};

/// The place of five minutes among [`WINDOWS`]: long enough for a person to notice, short enough to be a peak.
const FIVE_MINUTES: usize = 1;

/// The answer in one sentence.
#[must_use]
pub fn headline(drawn: &Drawn<'_>) -> String {
    let Drawn { gathering, units, .. } = *drawn;
    let all_l_day = gathering.household_l_day() + gathering.schedule_l_day() + gathering.log_l_day();
    if all_l_day <= 0.0 {
        return "Nothing is drawn in buildings.".to_owned();
    }
    let each = match gathering.totals().map_or(0.0, Totals::litres_per_person_day) {
        litres if litres > 0.0 => format!(", {} of it by each person", units.volume(litres)),
        _ => String::new(),
    };
    let peaks = Spread::of(&gathering.gathered().peaks_lps()[FIVE_MINUTES]);
    let (within, most) = drawn.hardly_exceeded(&peaks);
    format!("{} a day{each}; {within}no 5 minutes bring more than {most}.", units.volume(all_l_day))
}

/// What was gathered: the scenario's title, first and last day, and how many runs.
#[must_use]
pub fn subject(drawn: &Drawn<'_>) -> String {
    let Drawn { scenario, options, gathering, .. } = *drawn;
    let name = if scenario.title.is_empty() { &scenario.name } else { &scenario.title };
    let days = counted(u64::from(options.days), "day");
    format!(
        "{name}: {}, {days}, {}",
        calendar::stretch(options.first_day, options.days),
        counted(gathering.runs(), "run")
    )
}

/// The tables. Ends with a newline.
#[must_use]
pub fn body(drawn: &Drawn<'_>) -> String {
    let mut text = String::new();
    if let Some(totals) = drawn.gathering.totals().filter(|totals| words::person_days(totals) > 0) {
        push_columns(&mut text, &uses(drawn, totals));
        text.push_str(&wrapped(
            "Studies: Residential end uses of water, version 2 (2016), a household of 2.65 people; for comparison, no target.",
        ));
        text.push('\n');
    }
    if drawn.gathering.busiest().day.is_some() {
        push_columns(&mut text, &peaks(drawn));
        text.push('\n');
    }
    push_table(&mut text, &figures(drawn));
    text
}

fn uses(drawn: &Drawn<'_>, totals: &Totals) -> Vec<Cells> {
    let scale = Scale::volume(drawn.units);
    let volume = |litres: f64| format!("{} {}", fixed(scale.value(litres), 1), scale.unit);
    let head = ["Indoors and out", "a person and day", "in studies", "times a day"];
    let mut lines = vec![head.map(str::to_owned).to_vec()];
    for end_use in &END_USES {
        let (litres, times) = (end_use.litres_per_person_day(totals), end_use.events_per_day(totals));
        if times <= 0.0 && end_use.published_l().is_none() {
            continue;
        }
        let published = end_use.published_l().map_or_else(String::new, volume);
        lines.push(vec![end_use.name.to_owned(), volume(litres), published, fixed(times, 1)]);
    }
    let all_published: f64 = END_USES.iter().filter_map(words::EndUse::published_l).sum();
    lines.push(vec!["All".to_owned(), volume(totals.litres_per_person_day()), volume(all_published)]);
    lines
}

/// The highest mean flows, and how they differ between runs.
fn peaks(drawn: &Drawn<'_>) -> Vec<Cells> {
    let many = drawn.gathering.runs() > 1;
    let head = ["Peak flow of a run", "5 %", "half", "95 %", "99 % of runs", "highest"];
    let mut lines =
        vec![if many { head.map(str::to_owned).to_vec() } else { vec!["Peak flow".to_owned(), String::new()] }];
    for (window, peaks_lps) in WINDOWS.iter().zip(drawn.gathering.gathered().peaks_lps()) {
        let Spread { p5, p50, p95, p99, highest } = Spread::of(peaks_lps);
        let flows = if many { vec![p5, p50, p95, p99, highest] } else { vec![highest] };
        let name = format!("over {} min", window.ns() / Span::MINUTE.ns());
        lines.push([name].into_iter().chain(flows.into_iter().map(|lps| drawn.units.flow(lps))).collect());
    }
    lines
}

fn figures(drawn: &Drawn<'_>) -> Vec<(&'static str, String)> {
    let Drawn { scenario, options, gathering, units } = *drawn;
    let mut rows = Vec::new();
    let busiest = gathering.busiest();
    let full =
        |most: Most, told: String| format!("{} {told}{}", units.volume(litres(most.amount)), of_run(drawn, most.run));
    let at = |time: Time| calendar::at(options.first_day, time);
    let date = |time: Time| calendar::spoken_date(at(time).date());
    let day = busiest.day.as_ref().map(|(most, _)| *most);
    rows.extend(busiest.hour.map(|most| {
        ("Fullest hour", full(most, format!("from {} on {}", at(most.start).strftime("%H:%M"), date(most.start))))
    }));
    rows.extend(
        busiest.morning.map(|most| ("Fullest morning", full(most, format!("from 5 to 11 on {}", date(most.start))))),
    );
    rows.extend(day.map(|most| ("Fullest day", full(most, format!("on {}", date(most.start))))));
    if let Some(totals) = gathering.totals().filter(|_| day.is_some()) {
        rows.push(("By time of day", parts_of_day(totals)));
    }
    if options.homes.iter().any(|home| !home.people.is_empty()) {
        rows.extend(gathering.totals().map(|totals| ("Showers at once", at_once(totals))));
        let wait = gathering.wait().map_or_else(
            || "nobody waited".to_owned(),
            |wait| {
                let person = words::person(&options.homes, wait.home, wait.who);
                let (long, since) = (units.duration(wait.queued.s()), calendar::spoken(at(wait.start)));
                format!("{long} at most: {person}, {since}{}", of_run(drawn, wait.run))
            },
        );
        rows.push(("Wait for a shower", wait));
    }
    let told = [("Schedule", gathering.schedule_l_day()), ("Log", gathering.log_l_day())];
    let told = told.into_iter().filter(|(_, litres)| *litres > 0.0);
    rows.extend(told.map(|(name, litres)| (name, format!("{} a day in buildings", units.volume(litres)))));
    let apart = scenario.plant.outlets.iter().zip(gathering.outlets_l_day());
    let apart = apart.filter(|(outlet, litres)| outlet.role != Role::Building && *litres > 0.0);
    let apart: Vec<String> =
        apart.map(|(outlet, litres)| format!("{} {} a day", outlet.name, units.volume(litres))).collect();
    if !apart.is_empty() {
        rows.push(("Not counted above", apart.join(", ")));
    }
    rows
}

/// The number of a run, where there are several.
fn of_run(drawn: &Drawn<'_>, run: u64) -> String {
    if drawn.gathering.runs() > 1 { format!(", run {run}") } else { String::new() }
}

/// Shares of all litres.
fn parts_of_day(totals: &Totals) -> String {
    let shares = totals.hour_shares();
    let parts = [("0 to 5 h", 0..5), ("5 to 11 h", 5..11), ("11 to 17 h", 11..17), ("17 to 24 h", 17..24)];
    let told = parts.map(|(name, hours)| format!("{name} {}", percent(shares[hours].iter().sum())));
    told.join(", ")
}

/// On how many days so many showers ran at once, up to the most that ever did.
fn at_once(totals: &Totals) -> String {
    let days = |least: &usize| totals.showers_at_once_days(*least);
    let told = (2..=MOST_SHOWERS).take_while(|least| days(least) > 0.0);
    let told: Vec<String> = told.map(|least| format!("{least} on {} of days", percent(days(&least)))).collect();
    if told.is_empty() { "never two".to_owned() } else { told.join(", ") }
}
