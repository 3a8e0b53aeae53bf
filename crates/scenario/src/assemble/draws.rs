//! The daily schedule.

use springhouse_core::draw::{DrawKind, Flow, Warmth};
use springhouse_core::time::Span;
use springhouse_draws::{DailyDraw, EVERY_MONTH};

use super::outlets::Names;
use super::people;
use super::{positive, wanted_lps};
use crate::diagnostic::Diagnostic;
use crate::quantity;
use crate::sections::{DrawWord, MonthWord, ScenarioFile, Weekday};
use crate::source::Stretch;
use crate::typed::{At, Reader, TimeOfDay};
use springhouse_table::nearest;

const DAY_S: f64 = 86_400.0;
/// Water is drawn no hotter.
const HOTTEST_DRAW_C: f64 = 100.0;
/// At most so many places are shown of one name that is not known.
const MOST_PLACES: usize = 5;

macro_rules! clocked {
    ($section:ident, $temperature:expr) => {
        Clocked {
            start: &$section.start,
            length: &$section.length,
            flow: &$section.flow,
            kind: $section.kind.value,
            temperature: $temperature,
            weekdays: $section.weekdays.as_ref(),
            months: $section.months.as_ref(),
            what: "a draw",
        }
    };
}

pub(super) fn schedule(file: &ScenarioFile, outlets: &Names<'_>, reader: &mut Reader<'_>) -> Option<Vec<DailyDraw>> {
    let has_valve = file.raw_load.iter().any(|load| load.0.as_ref().is_none_or(|load| !load.valve.is_empty()));
    let has_home = file.building.iter().any(|it| it.0.as_ref().is_none_or(people::is_home));
    if file.draw.is_empty() && file.log.is_empty() && !has_valve && !has_home {
        reader.tell(
            Diagnostic::warning("nothing is drawn in this scenario")
                .help("add `building.people` who live there, a section `draw` for each draw of the day, or a `log` of recorded draws"),
        );
    }
    refuse_unknown_outlets(file, outlets, reader);
    let mut draws = Vec::new();
    for draw in &file.draw {
        draws.push(draw.0.as_ref().and_then(|draw| {
            daily_draw(outlets.position(&draw.building.value.0), &clocked!(draw, draw.temperature), reader)
        }));
    }
    for raw_load in file.raw_load.iter().filter_map(|raw_load| raw_load.0.as_ref()) {
        let outlet = outlets.position(&raw_load.name.value.0);
        for valve in &raw_load.valve {
            draws.push(valve.0.as_ref().and_then(|valve| daily_draw(outlet, &clocked!(valve, None), reader)));
        }
    }
    for (i, stage) in file.stage.iter().enumerate() {
        if let Some(wash) = stage.0.as_ref().and_then(|stage| stage.value.backwash.as_ref()) {
            let wash = &wash.value;
            let clocked = Clocked {
                start: &wash.start,
                length: &wash.length,
                flow: &wash.flow,
                kind: DrawWord::Timed,
                temperature: None,
                weekdays: None,
                months: None,
                what: "a wash",
            };
            let (every, offset) = (wash.every.value.0, wash.first.value.0);
            let draw = daily_draw(outlets.backwash(i), &clocked, reader);
            draws.push(draw.map(|draw| DailyDraw { every, offset, ..draw }));
        }
    }
    draws.into_iter().collect()
}

/// Where the flows of the schedule stand in the file, in the order of the schedule.
pub(super) fn places(file: &ScenarioFile) -> impl Iterator<Item = Stretch> {
    let draws = file.draw.iter().filter_map(|draw| Some(draw.0.as_ref()?.flow.place));
    let raw_loads = file.raw_load.iter().filter_map(|raw_load| raw_load.0.as_ref());
    let valves = raw_loads.flat_map(|raw_load| &raw_load.valve).filter_map(|valve| Some(valve.0.as_ref()?.flow.place));
    let washes =
        file.stage.iter().filter_map(|stage| Some(stage.0.as_ref()?.value.backwash.as_ref()?.value.flow.place));
    draws.chain(valves).chain(washes)
}

/// Tells of every name that no outlet has, once, with the draws that name it.
fn refuse_unknown_outlets(file: &ScenarioFile, outlets: &Names<'_>, reader: &mut Reader<'_>) {
    if !outlets.complete() {
        return;
    }
    let mut unknown: Vec<(&str, Vec<Stretch>)> = Vec::new();
    for building in file.draw.iter().filter_map(|draw| Some(&draw.0.as_ref()?.building)) {
        let name = building.value.0.as_str();
        if outlets.position(name).is_some() {
            continue;
        }
        match unknown.iter_mut().find(|(other, _)| *other == name) {
            Some((_, places)) => places.push(building.place),
            None => unknown.push((name, vec![building.place])),
        }
    }
    for (name, places) in unknown {
        reader.tell(unknown_outlet(name, &places, outlets));
    }
}

pub(super) fn unknown_outlet(name: &str, places: &[Stretch], outlets: &Names<'_>) -> Diagnostic {
    let label = match nearest(name, outlets.iter()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => "unknown".to_owned(),
    };
    let labels = std::iter::once(label).chain(std::iter::repeat_with(|| "also here".to_owned()));
    let title = format!("there is no building or raw load \"{name}\"");
    let fault = places
        .iter()
        .zip(labels)
        .take(MOST_PLACES)
        .fold(Diagnostic::error(title), |fault, (place, label)| fault.at(*place, label));
    let fault = match places.len().saturating_sub(MOST_PLACES) {
        0 => fault,
        1 => fault.note("it is named by one more draw"),
        more => fault.note(format!("it is named by {more} more draws")),
    };
    let names: Vec<_> = outlets.iter().map(|name| format!("\"{name}\"")).collect();
    if names.is_empty() {
        fault.help("add a section `building` of that name")
    } else {
        fault.note(format!("known: {}", names.join(", ")))
    }
}

/// A draw by the clock.
struct Clocked<'a> {
    start: &'a At<TimeOfDay>,
    length: &'a At<quantity::Duration>,
    flow: &'a At<quantity::Flow>,
    kind: DrawWord,
    temperature: Option<At<quantity::Temperature>>,
    weekdays: Option<&'a At<Vec<Weekday>>>,
    months: Option<&'a At<Vec<MonthWord>>>,
    /// What it is called in messages.
    what: &'static str,
}

fn daily_draw(outlet: Option<usize>, draw: &Clocked<'_>, reader: &mut Reader<'_>) -> Option<DailyDraw> {
    // To the engine's nanoseconds: a draw that ends as it starts is none.
    let length = Span::from_s(draw.length.value.s());
    let lasts = positive("length", length.s(), draw.length.place, reader);
    if draw.length.value.s() > DAY_S {
        let fault = Diagnostic::error(format!("{} lasts at most a day", draw.what)).at(draw.length.place, "too long");
        reader.tell(match draw.what {
            "a draw" => fault.help("write \"24 h\" for one that never ends: it comes every day"),
            _ => fault.help("write how long the whole wash takes; `every` says on which days it comes"),
        });
        return None;
    }
    let flow = Flow::from_lps(draw.flow.value.lps());
    let flows = wanted_lps("flow", draw.flow, reader);
    let flows = flows.and_then(|_| positive("flow", flow.lps(), draw.flow.place, reader));
    let weekdays = weekdays(draw.weekdays, NEVER_DRAWN, reader);
    let months = months(draw.months, NEVER_DRAWN, reader);
    let warmth = warmth(draw.temperature, reader);
    let (_, _) = (lasts?, flows?);
    Some(DailyDraw {
        outlet: outlet?,
        start: since_midnight(draw.start.value),
        length,
        flow,
        kind: match draw.kind {
            DrawWord::Timed => DrawKind::Timed,
            DrawWord::Volume => DrawKind::Volume,
        },
        warmth: warmth?,
        weekdays: weekdays?,
        every: 1,
        offset: 0,
        skips: Vec::new(),
        months: months?,
    })
}

fn warmth(given: Option<At<quantity::Temperature>>, reader: &mut Reader<'_>) -> Option<Warmth> {
    let Some(given) = given else { return Some(Warmth::COLD) };
    let temp_c = given.value.c();
    if temp_c > 0.0 && temp_c <= HOTTEST_DRAW_C {
        return Some(Warmth::from_c(temp_c));
    }
    reader.tell(
        Diagnostic::error("no tap gives water of this `temperature`")
            .at(given.place, "above 0 °C (32 °F), at most 100 °C (212 °F)")
            .help("leave `temperature` out for a draw of cold water"),
    );
    None
}

pub(super) fn since_midnight(time: TimeOfDay) -> Span {
    let (hours, minutes, seconds) = (time.0.hour(), time.0.minute(), time.0.second());
    Span::from_s(3_600.0 * f64::from(hours) + 60.0 * f64::from(minutes) + f64::from(seconds))
}

/// What comes of no day or month at all.
pub(super) const NEVER_DRAWN: &str = "the draw would never come";

/// The months that are given; `never` says what comes of none.
pub(super) fn months(given: Option<&At<Vec<MonthWord>>>, never: &str, reader: &mut Reader<'_>) -> Option<[bool; 12]> {
    let Some(given) = given else { return Some(EVERY_MONTH) };
    if given.value.is_empty() {
        reader.tell(
            Diagnostic::error(format!("`months` is empty: {never}"))
                .at(given.place, "no month")
                .help("leave `months` out for all year"),
        );
        return None;
    }
    let mut months = [false; 12];
    for month in &given.value {
        *months.get_mut(*month as usize)? = true;
    }
    Some(months)
}

/// The days of the week that are given; `never` says what comes of none.
pub(super) fn weekdays(given: Option<&At<Vec<Weekday>>>, never: &str, reader: &mut Reader<'_>) -> Option<[bool; 7]> {
    let Some(given) = given else { return Some([true; 7]) };
    if given.value.is_empty() {
        reader.tell(
            Diagnostic::error(format!("`weekdays` is empty: {never}"))
                .at(given.place, "no day")
                .help("leave `weekdays` out for every day"),
        );
        return None;
    }
    let mut days = [false; 7];
    for weekday in &given.value {
        let day = days.get_mut(*weekday as usize)?;
        if *day {
            reader.tell(Diagnostic::error("`weekdays` names a day twice").at(given.place, "a day stands here twice"));
            return None;
        }
        *day = true;
    }
    Some(days)
}
