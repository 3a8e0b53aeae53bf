//! What goes out of order.

use jiff::ToSpan as _;
use jiff::civil::Time;
use springhouse_core::incident::IncidentKind;
use springhouse_core::time::Span;

use super::positive;
use crate::diagnostic::Diagnostic;
use crate::scenario::DatedIncident;
use crate::sections::{Incident, IncidentWord, ScenarioFile};
use crate::typed::Reader;

pub(super) fn incidents(file: &ScenarioFile, reader: &mut Reader<'_>) -> Option<Vec<DatedIncident>> {
    let read: Vec<_> = file
        .incident
        .iter()
        .map(|incident| {
            let incident = incident.0.as_ref()?;
            refuse_outside_run(incident, file, reader);
            dated(incident, file, reader)
        })
        .collect();
    read.into_iter().collect()
}

fn dated(incident: &Incident, file: &ScenarioFile, reader: &mut Reader<'_>) -> Option<DatedIncident> {
    let length = Span::from_s(incident.length.value.s());
    let positive = positive("length", length.s(), incident.length.place, reader);
    if incident.kind.value == IncidentWord::DeliveryPump && file.delivery.is_none() {
        reader.tell(
            Diagnostic::error("there is no delivery pump that could be out of order")
                .at(incident.kind.place, "no section `delivery`"),
        );
        return None;
    }
    positive?;
    Some(DatedIncident {
        kind: match incident.kind.value {
            IncidentWord::Power => IncidentKind::PowerOut,
            IncidentWord::WellPump => IncidentKind::SupplyOut { supply: 0 },
            IncidentWord::DeliveryPump => IncidentKind::DeliveryPumpOut,
        },
        start: incident.start.value.0,
        length,
    })
}

fn refuse_outside_run(incident: &Incident, file: &ScenarioFile, reader: &mut Reader<'_>) {
    let (Some(first), Some(days)) = (file.start.value.0, file.days.value.0) else { return };
    let from = first.to_datetime(Time::midnight());
    let Ok(to) = from.checked_add(i64::from(days.0).days()) else { return };
    if incident.start.value.0 < from || incident.start.value.0 >= to {
        reader.tell(
            Diagnostic::error("an incident must begin within the run")
                .at(incident.start.place, format!("the run goes from {first}, for {} days", days.0)),
        );
    }
}
