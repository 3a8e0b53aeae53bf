//! The well.

use springhouse_core::time::Span;
use springhouse_core::well::{self, LowLevelCutoff, PumpTestError, Response, specific_capacity_from_test};

use super::{place, positive, refuse_several};
use crate::diagnostic::Diagnostic;
use crate::sections;
use crate::source::Stretch;
use crate::typed::Reader;

/// The well of a section called `name`.
pub(super) fn well(
    name: &str,
    section: &sections::Well,
    header: Stretch,
    reader: &mut Reader<'_>,
) -> Option<well::Well> {
    let response = response(name, section, header, reader)?;
    Some(well::Well {
        static_depth_m: section.static_level.value.m(),
        pump_depth_m: section.pump_depth.value.m(),
        response,
        cutoff: section.cutoff.as_ref().map(|cutoff| LowLevelCutoff {
            stop_depth_m: cutoff.value.stop_level.value.m(),
            restart_depth_m: cutoff.value.restart_level.value.m(),
            restart_delay: Span::from_s(cutoff.value.restart_delay.value.s()),
        }),
        start_drawdown_m: section.start_drawdown.value.m(),
    })
}

fn response(name: &str, section: &sections::Well, header: Stretch, reader: &mut Reader<'_>) -> Option<Response> {
    let constant = section.constant_level.value.then_some(section.constant_level.place);
    let (capacity, test) = (place(section.specific_capacity.as_ref()), place(section.test.as_ref()));
    let given = [("constant_level", constant), ("specific_capacity", capacity), ("test", test)];
    if refuse_several(name, &given, reader) {
        return None;
    }
    let casings = [
        ("casing_diameter", place(section.casing_diameter.as_ref())),
        ("casing_storage", place(section.casing_storage.as_ref())),
    ];
    if refuse_several(name, &casings, reader) {
        return None;
    }
    if section.constant_level.value {
        warn_of_idle_keys(section, reader);
        return Some(Response::Ideal);
    }
    let casing = casing_l_per_m(section, header, reader);
    if capacity.is_none() && test.is_none() {
        reader.tell(
            Diagnostic::error(format!("`{name}` does not say how it answers to pumping"))
                .at(header, "no `specific_capacity`, `test` or `constant_level` here")
                .help(format!(
                    "from the driller's report: flow, time and drawdown of the pump test in a section `{name}.test`; \
                     or a `specific_capacity`; or `constant_level` for an ideal well"
                )),
        );
    }
    let casing_l_per_m = casing?;
    let specific_capacity_lps_per_m = match (&section.specific_capacity, &section.test) {
        (Some(capacity), _) => capacity.value.lps_per_m(),
        (None, Some(test)) => from_test(&test.value, casing_l_per_m, reader)?,
        (None, None) => return None,
    };
    let entry = section.water_entry.unwrap_or(section.pump_depth);
    Some(Response::Drawdown { casing_l_per_m, specific_capacity_lps_per_m, entry_depth_m: entry.value.m() })
}

fn casing_l_per_m(section: &sections::Well, header: Stretch, reader: &mut Reader<'_>) -> Option<f64> {
    match (&section.casing_storage, &section.casing_diameter) {
        (Some(storage), _) => Some(storage.value.l_per_m()),
        (None, Some(diameter)) => {
            let diameter_m = positive("casing_diameter", diameter.value.m(), diameter.place, reader)?;
            Some(well::casing_l_per_m(1e3 * diameter_m))
        }
        (None, None) => {
            reader.tell(
                Diagnostic::error("`casing_diameter` is missing")
                    .at(header, "no `casing_diameter` here")
                    .note("the water standing in the casing is the first that is pumped")
                    .help(reader.line_to_add(sections::Well::SECTION, "casing_diameter")),
            );
            None
        }
    }
}

fn from_test(test: &sections::WellTest, casing_l_per_m: f64, reader: &mut Reader<'_>) -> Option<f64> {
    let flow = positive("flow", test.flow.value.lps(), test.flow.place, reader);
    let time = positive("time", test.time.value.s(), test.time.place, reader);
    let drawdown = positive("drawdown", test.drawdown.value.m(), test.drawdown.place, reader);
    match specific_capacity_from_test(flow?, time?, drawdown?, casing_l_per_m) {
        Ok(capacity) => Some(capacity),
        Err(PumpTestError::CasingHoldsMore { casing_l, pumped_l }) => {
            let units = reader.units.unwrap_or(crate::display::Units::Us);
            let title = format!(
                "the pump test leaves no inflow: {} were pumped, but the casing alone gave {}",
                units.volume(pumped_l),
                units.volume(casing_l)
            );
            reader.tell(
                Diagnostic::error(title)
                    .at(test.drawdown.place, "over this drawdown")
                    .at(test.time.place, "in this time")
                    .note("check flow, time, drawdown and the diameter of the casing against the driller's report"),
            );
            None
        }
    }
}

fn warn_of_idle_keys(section: &sections::Well, reader: &mut Reader<'_>) {
    let idle = [
        ("casing_diameter", place(section.casing_diameter.as_ref())),
        ("casing_storage", place(section.casing_storage.as_ref())),
        ("water_entry", place(section.water_entry.as_ref())),
    ];
    for (key, place) in idle.into_iter().filter_map(|(key, place)| Some((key, place?))) {
        reader.tell(
            Diagnostic::warning(format!("`{key}` does nothing in a well of constant level"))
                .at(place, "does nothing")
                .at(section.constant_level.place, "because of this"),
        );
    }
}
