//! The storage tank and its filling.

use springhouse_core::storage::{self, Fill};

use super::{place, refuse_several};
use crate::diagnostic::Diagnostic;
use crate::sections;
use crate::source::Stretch;
use crate::typed::Reader;

pub(super) fn storage(
    section: &sections::Storage,
    header: Stretch,
    reader: &mut Reader<'_>,
) -> Option<storage::Storage> {
    let fill = fill(section, header, reader)?;
    let capacity_l = section.volume.value.l();
    let full_l = match fill {
        Fill::FloatSwitch { stop_l, .. } => stop_l,
        Fill::FloatValve { shut_l, .. } => shut_l,
    };
    Some(storage::Storage {
        capacity_l,
        start_l: section.start.map_or(full_l, |start| start.value.volume_l(capacity_l)),
        fill,
        protect_l: section.protect.value.volume_l(capacity_l),
        restart_l: section.restart.value.volume_l(capacity_l),
    })
}

fn fill(section: &sections::Storage, header: Stretch, reader: &mut Reader<'_>) -> Option<Fill> {
    let given =
        [("float_switch", place(section.float_switch.as_ref())), ("float_valve", place(section.float_valve.as_ref()))];
    if refuse_several("storage", &given, reader) {
        return None;
    }
    let capacity_l = section.volume.value.l();
    let (flow_lps, full_flow_kpa) = (section.fill_flow.value.lps(), section.fill_full_flow_pressure.value.kpa());
    if let Some(float) = &section.float_switch {
        let start_l = float.value.start.value.volume_l(capacity_l);
        let stop_l = float.value.stop.value.volume_l(capacity_l);
        return Some(Fill::FloatSwitch { start_l, stop_l, flow_lps, full_flow_kpa });
    }
    if let Some(float) = &section.float_valve {
        let open_l = float.value.open.value.volume_l(capacity_l);
        let shut_l = float.value.shut.value.volume_l(capacity_l);
        return Some(Fill::FloatValve { open_l, shut_l, flow_lps, full_flow_kpa });
    }
    reader.tell(
        Diagnostic::error("`storage` does not say how it is filled")
            .at(header, "no `float_switch` or `float_valve` here")
            .help(
                "add a section `storage.float_switch` with `start` and `stop`, \
                 or `storage.float_valve` with `open` and `shut`",
            ),
    );
    None
}
