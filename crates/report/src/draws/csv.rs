//! `draws.csv` and `wishes.csv`: every draw and every wish of run 0, metric.

use std::io::{self, Write};

use ::csv::Writer;
use springhouse_core::draw::{Draw, Flow, Warmth};
use springhouse_draws::household::{HouseholdDraw, Wish};
use springhouse_sim::{RunError, RunOptions};

use super::merged::{Merged, Source};
use super::{Drawn, words};
use crate::calendar::{self, iso_millis};
use crate::numbers::fixed;

const DRAWS: [&str; 13] = [
    "start", "end", "source", "building", "person", "use", "part", "flow_lps", "litres", "kind", "wanted_c",
    "waited_s", "queued_s",
];
const WISHES: [&str; 11] =
    ["day", "building", "person", "use", "order", "start", "length_s", "flow_lps", "litres", "kind", "wanted_c"];

/// Run 0 of the options.
fn first_run(drawn: &Drawn<'_>) -> RunOptions {
    RunOptions { run: 0, ..drawn.options.clone() }
}

/// What was gathered can be drawn, so this is not met.
fn failed(error: &RunError) -> ::csv::Error {
    io::Error::other(error.to_string()).into()
}

/// Writes the draws that start within the run, in order of start; of those that start together first the schedule's, then
/// people's, then a log's. Raw loads and washes are among them.
///
/// # Errors
/// When `out` cannot be written to.
pub fn draws(drawn: &Drawn<'_>, out: impl Write) -> ::csv::Result<()> {
    let (options, outlets) = (first_run(drawn), &drawn.scenario.plant.outlets);
    let mut table = Writer::from_writer(out);
    table.write_record(DRAWS)?;
    let (merged, _) = Merged::of(&options).map_err(|error| failed(&error))?;
    for (draw, source) in merged {
        let outlet = outlets.get(draw.outlet).map_or("", |outlet| outlet.name.as_str());
        let [start, end] = [draw.start, draw.end].map(|time| iso_millis(options.first_day, time));
        let (source, whose) = match source {
            Source::Schedule => ("schedule", None),
            Source::Log => ("log", None),
            Source::Household(of) => ("household", Some(of)),
        };
        let wanted_c = wanted_c(draw.warmth.temp_c());
        let [person, use_, part, waited_s, queued_s] = whose.map_or_else(Default::default, |of| told(&options, &of));
        let Draw { flow, kind, .. } = draw;
        let [flow, litres, kind] = [flow_lps(flow), fixed(words::draw_litres(&draw), 3), words::kind_key(kind).into()];
        table.write_record([
            start,
            end,
            source.into(),
            outlet.into(),
            person,
            use_,
            part,
            flow,
            litres,
            kind,
            wanted_c,
            waited_s,
            queued_s,
        ])?;
    }
    table.flush()?;
    Ok(())
}

/// What only people's draws have: person, use, part and waits.
fn told(options: &RunOptions, of: &HouseholdDraw) -> [String; 5] {
    let person = words::person(&options.homes, of.home, of.who).to_owned();
    let [waited_s, queued_s] = [of.waited, of.queued].map(|span| fixed(span.s(), 1));
    [person, words::use_key(of.use_).to_owned(), of.part.to_string(), waited_s, queued_s]
}

fn flow_lps(flow: Flow) -> String {
    fixed(flow.lps(), 5)
}

fn wanted_c(temp_c: Option<f64>) -> String {
    temp_c.map_or_else(String::new, |temp_c| fixed(temp_c, 1))
}

/// Writes what people wish on each day of the run, before anybody waits for anything: in order of day, building, person,
/// use and number, so that a guest more is some lines more. A load of an appliance is one line without flow.
///
/// # Errors
/// When `out` cannot be written to.
pub fn wishes(drawn: &Drawn<'_>, out: impl Write) -> ::csv::Result<()> {
    let options = first_run(drawn);
    let mut table = Writer::from_writer(out);
    table.write_record(WISHES)?;
    let (_, planner) = Merged::of(&options).map_err(|error| failed(&error))?;
    let mut wishes = Vec::new();
    for day in 0..i64::from(options.days) {
        planner.wishes_of_day(day, &mut wishes);
        wishes.sort_unstable_by_key(|wish| (wish.home, wish.who, wish.use_, wish.order));
        for wish in &wishes {
            let load = wish.flow == Flow::ZERO;
            let Wish { home, who, use_, order, kind, temp_c, start, length, flow, .. } = *wish;
            let draw = Draw { start, end: start + length, outlet: 0, flow, kind, warmth: Warmth::COLD };
            let amounts = [flow_lps(flow), fixed(words::draw_litres(&draw), 3)];
            let [flow, litres] = if load { Default::default() } else { amounts };
            table.write_record([
                calendar::date(options.first_day, wish.day).to_string(),
                words::home(&planner, home).to_owned(),
                words::person(&options.homes, home, who).to_owned(),
                words::use_key(use_).to_owned(),
                order.to_string(),
                iso_millis(options.first_day, wish.start),
                fixed(wish.length.s(), 1),
                flow,
                litres,
                words::kind_key(kind).to_owned(),
                wanted_c(temp_c),
            ])?;
        }
    }
    table.flush()?;
    Ok(())
}
