//! The storage tank and its filling.

use springhouse_core::storage::{self, Fill};

use super::{place, refuse_several};
use crate::diagnostic::Diagnostic;
use crate::sections::{self, ScenarioFile};
use crate::source::Stretch;
use crate::typed::Reader;

pub(super) fn storage(
    section: &sections::Storage,
    header: Stretch,
    file: &ScenarioFile,
    reader: &mut Reader<'_>,
) -> Option<storage::Storage> {
    let fill = match &file.membrane {
        Some(membrane) => by_membrane(section, membrane.place, file, reader)?,
        None => by_valve(section, header, reader)?,
    };
    let capacity_l = section.volume.value.l();
    let full_l = fill.full_l();
    Some(storage::Storage {
        capacity_l,
        start_l: section.start.map_or(full_l, |start| start.value.volume_l(capacity_l)),
        fill,
        protect_l: section.protect.value.volume_l(capacity_l),
        restart_l: section.restart.value.volume_l(capacity_l),
    })
}

/// A membrane unit fills the tank, by its own floats.
fn by_membrane(
    section: &sections::Storage,
    membrane: Stretch,
    file: &ScenarioFile,
    reader: &mut Reader<'_>,
) -> Option<Fill> {
    let valves =
        [("float_switch", place(section.float_switch.as_ref())), ("float_valve", place(section.float_valve.as_ref()))];
    let mut refused = false;
    for (key, place) in valves.into_iter().filter_map(|(key, place)| Some((key, place?))) {
        refused = true;
        reader.tell(
            Diagnostic::error(format!("`storage` has a `{key}`, but a membrane unit fills it"))
                .at(place, "fills it too")
                .at(membrane, "the unit")
                .note("raw water through the valve would make the water in the tank as salty as that of the supply")
                .help(format!("put its levels into `membrane.floats`, and leave `{key}` out")),
        );
    }
    let idle = [
        ("fill_flow", place(section.fill_flow.as_ref())),
        ("fill_full_flow_pressure", place(Some(&section.fill_full_flow_pressure))),
    ];
    for (key, place) in idle.into_iter().filter_map(|(key, place)| Some((key, place?))) {
        reader.tell(
            Diagnostic::warning(format!("`{key}` does nothing in a tank that a membrane unit fills"))
                .at(place, "does nothing")
                .at(membrane, "because of this"),
        );
    }
    let floats = &file.membrane.as_ref()?.value.0.as_ref()?.floats.value;
    let capacity_l = section.volume.value.l();
    let (start_l, stop_l) = (floats.start.value.volume_l(capacity_l), floats.stop.value.volume_l(capacity_l));
    (!refused).then_some(Fill::Membrane { start_l, stop_l })
}

fn by_valve(section: &sections::Storage, header: Stretch, reader: &mut Reader<'_>) -> Option<Fill> {
    let given =
        [("float_switch", place(section.float_switch.as_ref())), ("float_valve", place(section.float_valve.as_ref()))];
    let both = refuse_several("storage", &given, reader);
    if section.fill_flow.is_none() {
        reader.require(header, sections::Storage::SECTION, "fill_flow", None);
    }
    if both {
        return None;
    }
    let capacity_l = section.volume.value.l();
    let full_flow_kpa = section.fill_full_flow_pressure.value.kpa();
    if let Some(float) = &section.float_switch {
        let start_l = float.value.start.value.volume_l(capacity_l);
        let stop_l = float.value.stop.value.volume_l(capacity_l);
        return Some(Fill::FloatSwitch { start_l, stop_l, flow_lps: section.fill_flow?.value.lps(), full_flow_kpa });
    }
    if let Some(float) = &section.float_valve {
        let open_l = float.value.open.value.volume_l(capacity_l);
        let shut_l = float.value.shut.value.volume_l(capacity_l);
        return Some(Fill::FloatValve { open_l, shut_l, flow_lps: section.fill_flow?.value.lps(), full_flow_kpa });
    }
    reader.tell(
        Diagnostic::error("`storage` does not say how it is filled")
            .at(header, "no `float_switch` or `float_valve` here")
            .help(
                "add a section `storage.float_switch` with `start` and `stop`, \
                 or `storage.float_valve` with `open` and `shut`; or a `membrane` unit",
            ),
    );
    None
}
