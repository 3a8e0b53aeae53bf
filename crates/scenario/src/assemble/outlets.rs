//! Buildings, raw loads, backwashes and bursts, and how draws and incidents find them by name.

use std::path::PathBuf;

use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_core::plant::Store;
use springhouse_core::supply::{Source, Supply};
use springhouse_core::time::Span;

use super::pump::optional_pipe;
use super::{positive, weather};
use crate::scenario::RainSkip;
use crate::sections::{FedBy, IncidentWord, ScenarioFile, Stage};
use crate::source::Stretch;
use crate::typed::{At, Reader, Tried};

/// Pressure from which a backwash passes its flow: 20 psi, as that of buildings and raw loads.
const BACKWASH_FULL_FLOW_KPA: f64 = 137.895_145_863_367_2;

/// The outlets in the plant's order: buildings, raw loads, backwashes, bursts. `None` where one of them could not be read.
pub(super) fn outlets(
    file: &ScenarioFile,
    names: &Names<'_>,
    (supplies, store): (&[Supply], Option<&Store>),
    mut told: Vec<Outlet>,
) -> Vec<Outlet> {
    for stage in names.washed.iter().filter_map(|i| file.stage.get(*i)?.0.as_ref()) {
        let name = format!("{} backwash", stage.value.name.value.0);
        told.push(Outlet::plain(&name, Role::Backwash, Header::Raw, BACKWASH_FULL_FLOW_KPA));
    }
    for burst in &names.bursts {
        let Some(at) = told.get(burst.outlet) else { continue };
        let (header, treated) = (at.header, at.treated);
        let name = format!("burst at {}", at.name);
        let full_flow_kpa = most_kpa(header, supplies, store);
        told.push(Outlet { treated, ..Outlet::plain(&name, Role::Leak, header, full_flow_kpa) });
    }
    told
}

/// The highest pressure that controls work up to on a header, or a main has.
fn most_kpa(header: Header, supplies: &[Supply], store: Option<&Store>) -> f64 {
    let of = |supply: &Supply| match &supply.source {
        Source::Well { pump, .. } | Source::Basin { pump, .. } => pump.control.high_kpa(),
        Source::TownLine(line) => line.static_kpa(),
    };
    match (header, store) {
        (Header::Delivery, Some(store)) => store.delivery.drive.set_kpa,
        _ => supplies.iter().map(of).fold(0.0, f64::max),
    }
}

/// The buildings and raw loads; `None` where one of them could not be read.
pub(super) fn named(file: &ScenarioFile, reader: &mut Reader<'_>) -> Option<Vec<Outlet>> {
    let usual = if file.delivery.is_some() { Header::Delivery } else { Header::Raw };
    let mut read = Vec::new();
    for building in &file.building {
        read.push(building.0.as_ref().and_then(|building| {
            let header = building.fed_by.map_or(usual, |fed_by| match fed_by.value {
                FedBy::Delivery => Header::Delivery,
                FedBy::Well => Header::Raw,
            });
            let full_flow_kpa = building.full_flow_pressure.value.kpa();
            let service = optional_pipe(building.service.as_ref(), reader)?;
            let plain = Outlet::plain(&building.name.value.0, Role::Building, header, full_flow_kpa);
            Some(Outlet { rise_m: building.rise.value.m(), service, ..plain })
        }));
    }
    for raw_load in &file.raw_load {
        read.push(raw_load.0.as_ref().and_then(|raw_load| {
            let full_flow_kpa = raw_load.full_flow_pressure.value.kpa();
            let service = optional_pipe(raw_load.service.as_ref(), reader)?;
            let plain = Outlet::plain(&raw_load.name.value.0, Role::RawLoad, Header::Raw, full_flow_kpa);
            let (rise_m, device_kpa) = (raw_load.rise.value.m(), raw_load.backflow_loss.value.kpa());
            Some(Outlet { rise_m, device_kpa, service, ..plain })
        }));
    }
    read.into_iter().collect()
}

/// The raw loads whose valves stay shut after rain.
pub(super) fn rain_skips(file: &ScenarioFile, names: &Names<'_>, reader: &mut Reader<'_>) -> Option<Vec<RainSkip>> {
    let mut skips = Some(Vec::new());
    for raw_load in file.raw_load.iter().filter_map(|raw_load| raw_load.0.as_ref()) {
        let Some(at) = raw_load.rain_skip.as_ref() else { continue };
        let skip = &at.value;
        if !weather::has_rain(file, skip.rain.is_some(), at.place, reader) {
            skips = None;
            continue;
        }
        let (amount, within) = (&skip.amount, &skip.within);
        let read = positive("amount", amount.value.m(), amount.place, reader)
            .zip(positive("within", within.value.s(), within.place, reader))
            .zip(names.position(&raw_load.name.value.0));
        match (read, &mut skips) {
            (Some(((amount_m, within_s), outlet)), Some(skips)) => skips.push(RainSkip {
                outlet,
                file: skip.rain.as_ref().map(|rain| PathBuf::from(&rain.value.0)),
                amount_mm: 1e3 * amount_m,
                within: Span::from_s(within_s),
            }),
            _ => skips = None,
        }
    }
    skips
}

/// A pipe that bursts, once for each place where it does.
struct Burst {
    /// The outlet where it does.
    outlet: usize,
    /// Where that is named.
    place: Stretch,
}

/// The names of the outlets and their places in the plant.
pub(crate) struct Names<'a> {
    /// Buildings, then raw loads; `None` for one that could not be read.
    named: Vec<Option<(&'a str, Stretch)>>,
    /// Stages of the file that are washed.
    washed: Vec<usize>,
    washes: Vec<Stretch>,
    bursts: Vec<Burst>,
}

impl<'a> Names<'a> {
    pub(crate) fn of(file: &'a ScenarioFile) -> Self {
        let buildings = file.building.iter().map(|building| building.0.as_ref().map(|building| &building.name));
        let raw_loads = file.raw_load.iter().map(|raw_load| raw_load.0.as_ref().map(|raw_load| &raw_load.name));
        let names = buildings.chain(raw_loads).map(|name| name.map(|name| (name.value.0.as_str(), name.place)));
        let wash = |(i, stage): (usize, &Tried<At<Stage>>)| Some((i, stage.0.as_ref()?.value.backwash.as_ref()?.place));
        let (washed, washes) = file.stage.iter().enumerate().filter_map(wash).unzip();
        let mut all = Self { named: names.collect(), washed, washes, bursts: Vec::new() };
        for incident in file.incident.iter().filter_map(|incident| Some(&incident.0.as_ref()?.value)) {
            let Some(at) = incident.at.as_ref().filter(|_| incident.kind.value == IncidentWord::Burst) else {
                continue;
            };
            if let Some(outlet) = all.position(&at.value.0)
                && all.bursts.iter().all(|burst| burst.outlet != outlet)
            {
                all.bursts.push(Burst { outlet, place: at.place });
            }
        }
        all
    }

    /// The building or raw load of a name.
    pub(super) fn position(&self, name: &str) -> Option<usize> {
        self.named.iter().position(|candidate| candidate.is_some_and(|(candidate, _)| candidate == name))
    }

    /// The outlet that takes the wash water of a stage of the file.
    pub(super) fn backwash(&self, stage: usize) -> Option<usize> {
        Some(self.named.len() + self.washed.iter().position(|washed| *washed == stage)?)
    }

    /// The outlet of a pipe that bursts at a building or raw load.
    pub(super) fn burst(&self, outlet: usize) -> Option<usize> {
        let burst = self.bursts.iter().position(|burst| burst.outlet == outlet)?;
        Some(self.named.len() + self.washed.len() + burst)
    }

    /// Where an outlet is named.
    pub(crate) fn place(&self, outlet: usize) -> Stretch {
        let named = self.named.iter().map(|name| name.map(|(_, place)| place));
        let washes = self.washes.iter().map(|place| Some(*place));
        let bursts = self.bursts.iter().map(|burst| Some(burst.place));
        named.chain(washes).chain(bursts).nth(outlet).flatten().unwrap_or_default()
    }

    /// Whether every name could be read: else an unknown one may be that of an unread outlet.
    pub(super) fn complete(&self) -> bool {
        self.named.iter().all(Option::is_some)
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = &'a str> {
        self.named.iter().flatten().map(|(name, _)| *name)
    }
}
