//! The daily schedule.

use springhouse_core::draw::{DrawKind, Flow};
use springhouse_core::time::Span;
use springhouse_draws::DailyDraw;

use super::outlets::Names;
use super::positive;
use crate::diagnostic::Diagnostic;
use crate::nearest::nearest;
use crate::sections::{Draw, DrawWord, ScenarioFile, Weekday};
use crate::typed::{At, Reader, Text, TimeOfDay};

const DAY_S: f64 = 86_400.0;

pub(super) fn schedule(file: &ScenarioFile, outlets: &Names<'_>, reader: &mut Reader<'_>) -> Option<Vec<DailyDraw>> {
    if file.draw.is_empty() && file.log.is_empty() {
        reader.tell(
            Diagnostic::warning("nothing is drawn in this scenario")
                .help("add a section `draw` for each draw of the day, or a `log` of recorded draws"),
        );
    }
    let draws: Vec<_> =
        file.draw.iter().map(|draw| draw.0.as_ref().and_then(|draw| daily_draw(draw, outlets, reader))).collect();
    draws.into_iter().collect()
}

fn daily_draw(draw: &Draw, outlets: &Names<'_>, reader: &mut Reader<'_>) -> Option<DailyDraw> {
    let outlet = outlet(&draw.building, outlets, reader);
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
    })
}

fn outlet(building: &At<Text>, outlets: &Names<'_>, reader: &mut Reader<'_>) -> Option<usize> {
    let name = &building.value.0;
    let found = outlets.position(name);
    if found.is_none() && outlets.complete() {
        let label = match nearest(name, outlets.iter()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => "unknown".to_owned(),
        };
        let names: Vec<_> = outlets.iter().map(|name| format!("\"{name}\"")).collect();
        let fault = Diagnostic::error(format!("there is no building or raw load \"{name}\"")).at(building.place, label);
        reader.tell(if names.is_empty() {
            fault.help("add a section `building` of that name")
        } else {
            fault.note(format!("known: {}", names.join(", ")))
        });
    }
    found
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
