//! Buildings and raw loads, and how draws find them by name.

use springhouse_core::outlet::{Header, Outlet, Role};

use crate::sections::{FedBy, ScenarioFile};

/// The outlets in the plant's order: buildings, then raw loads. `None` where one of them could not be read.
pub(super) fn outlets(file: &ScenarioFile) -> Option<Vec<Outlet>> {
    let usual = if file.delivery.is_some() { Header::Delivery } else { Header::Raw };
    let buildings = file.building.iter().map(|building| {
        let building = building.0.as_ref()?;
        let header = building.fed_by.map_or(usual, |fed_by| match fed_by.value {
            FedBy::Delivery => Header::Delivery,
            FedBy::Well => Header::Raw,
        });
        let full_flow_kpa = building.full_flow_pressure.value.kpa();
        Some(Outlet::plain(&building.name.value.0, Role::Building, header, full_flow_kpa))
    });
    let raw_loads = file.raw_load.iter().map(|raw_load| {
        let raw_load = raw_load.0.as_ref()?;
        let full_flow_kpa = raw_load.full_flow_pressure.value.kpa();
        Some(Outlet::plain(&raw_load.name.value.0, Role::RawLoad, Header::Raw, full_flow_kpa))
    });
    buildings.chain(raw_loads).collect()
}

/// The names of the outlets, in the plant's order.
pub(super) struct Names<'a> {
    names: Vec<Option<&'a str>>,
}

impl<'a> Names<'a> {
    pub(super) fn of(file: &'a ScenarioFile) -> Self {
        let buildings = file.building.iter().map(|building| Some(building.0.as_ref()?.name.value.0.as_str()));
        let raw_loads = file.raw_load.iter().map(|raw_load| Some(raw_load.0.as_ref()?.name.value.0.as_str()));
        Self { names: buildings.chain(raw_loads).collect() }
    }

    pub(super) fn position(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|candidate| *candidate == Some(name))
    }

    /// Whether every name could be read: else an unknown one may be that of an unread outlet.
    pub(super) fn complete(&self) -> bool {
        self.names.iter().all(Option::is_some)
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = &'a str> {
        self.names.iter().copied().flatten()
    }
}
