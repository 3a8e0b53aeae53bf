//! The daily schedule.

use springhouse_core::draw::{DrawKind, Flow};
use springhouse_core::time::Span;
use springhouse_draws::DailyDraw;

use super::outlets::Names;
use super::positive;
use crate::diagnostic::Diagnostic;
use crate::nearest::nearest;
use crate::sections::{Draw, DrawWord, ScenarioFile, Weekday};
use crate::source::Stretch;
use crate::typed::{At, Reader, TimeOfDay};

const DAY_S: f64 = 86_400.0;
/// At most so many places are shown of one name that is not known.
const MOST_PLACES: usize = 5;

pub(super) fn schedule(file: &ScenarioFile, outlets: &Names<'_>, reader: &mut Reader<'_>) -> Option<Vec<DailyDraw>> {
    if file.draw.is_empty() && file.log.is_empty() {
        reader.tell(
            Diagnostic::warning("nothing is drawn in this scenario")
                .help("add a section `draw` for each draw of the day, or a `log` of recorded draws"),
        );
    }
    refuse_unknown_outlets(file, outlets, reader);
    let draws: Vec<_> =
        file.draw.iter().map(|draw| draw.0.as_ref().and_then(|draw| daily_draw(draw, outlets, reader))).collect();
    draws.into_iter().collect()
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

fn unknown_outlet(name: &str, places: &[Stretch], outlets: &Names<'_>) -> Diagnostic {
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

fn daily_draw(draw: &Draw, outlets: &Names<'_>, reader: &mut Reader<'_>) -> Option<DailyDraw> {
    let outlet = outlets.position(&draw.building.value.0);
    // To the engine's nanoseconds: a draw that ends as it starts is none.
    let length = Span::from_s(draw.length.value.s());
    let lasts = positive("length", length.s(), draw.length.place, reader);
    if draw.length.value.s() > DAY_S {
        reader.tell(
            Diagnostic::error("a draw lasts at most a day")
                .at(draw.length.place, "too long")
                .help("write \"24 h\" for one that never ends: it comes every day"),
        );
        return None;
    }
    let flow = Flow::from_lps(draw.flow.value.lps());
    let flows = positive("flow", flow.lps(), draw.flow.place, reader);
    let weekdays = weekdays(draw.weekdays.as_ref(), reader);
    let (_, _) = (lasts?, flows?);
    Some(DailyDraw {
        outlet: outlet?,
        start: since_midnight(draw.start.value),
        length,
        flow,
        kind: match draw.kind.value {
            DrawWord::Timed => DrawKind::Timed,
            DrawWord::Volume => DrawKind::Volume,
        },
        weekdays: weekdays?,
        every: 1,
        offset: 0,
    })
}

fn since_midnight(time: TimeOfDay) -> Span {
    let (hours, minutes, seconds) = (time.0.hour(), time.0.minute(), time.0.second());
    Span::from_s(3_600.0 * f64::from(hours) + 60.0 * f64::from(minutes) + f64::from(seconds))
}

fn weekdays(given: Option<&At<Vec<Weekday>>>, reader: &mut Reader<'_>) -> Option<[bool; 7]> {
    let Some(given) = given else { return Some([true; 7]) };
    if given.value.is_empty() {
        reader.tell(
            Diagnostic::error("`weekdays` is empty: the draw would never come")
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
