//! From typed-in sections to a checked scenario.
//!
//! Each part is put together as far as its own section could be read; what contradicts itself is told here, what cannot be
//! built by the core and told in the scenario's words by [`faults`](crate::faults).

mod advice;
mod analysis;
mod draws;
mod energy;
mod heater;
mod incidents;
mod kinds;
mod membrane;
pub(crate) mod outlets;
mod people;
mod pump;
mod site;
pub(crate) mod stages;
mod storage;
pub(crate) mod supplies;
mod weather;
mod well;

use std::path::PathBuf;

use jiff::ToSpan as _;
use springhouse_core::draw::MOST_FLOW_LPS;
use springhouse_core::hot_water::HotWater;
use springhouse_core::plant::{Parts, Plant, Store};

use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::faults::{self, Faults};
use crate::quantity::Flow;
use crate::scenario::{PumpTest, Scenario, SiteWeather};
use crate::sections::{ScenarioFile, UnitsWord, Well};
use crate::source::Stretch;
use crate::tree::Node;
use crate::typed::{At, Reader, Tried};

pub(crate) fn scenario(file: &ScenarioFile, root: &Node, stem: &str, reader: &mut Reader<'_>) -> Option<Scenario> {
    let name = name(file, stem, reader);
    let weather = weather::weather(file, reader);
    let well_c = weather::well_c(weather.as_ref().and_then(Option::as_ref));
    let site = file.site.0.as_ref().and_then(|site| site::site(site, well_c, reader));
    let outlets = outlets::Names::of(file);
    let air_kpa = site.as_ref().map(|site| site.atmospheric_kpa);
    let heaters = heater::hot_water(file, &outlets, air_kpa, reader);
    let hot_water = heaters.as_ref().map_or_else(HotWater::default, |(hot_water, _)| hot_water.clone());
    let plant = site.as_ref().zip(weather.as_ref());
    let plant =
        plant.and_then(|(site, weather)| plant_of(file, root, (site, weather.as_ref(), &outlets), hot_water, reader));
    let schedule = draws::schedule(file, &outlets, reader);
    let rain_skips = outlets::rain_skips(file, &outlets, reader);
    let homes = people::homes(file, &outlets, reader);
    let out_of_order = incidents::incidents(file, &outlets, site.map(|site| site.atmospheric_kpa), reader);
    let rain = supplies::rain(file, reader);
    let energy = energy::energy(file, root, reader);
    let design = membrane::design(file, plant.as_ref(), reader);
    refuse_end_of_time(file, reader);
    let (name, out_of_order, (_, heater_plates)) = (name?, out_of_order?, heaters?);
    let scenario = Scenario {
        title: file
            .title
            .as_ref()
            .map_or_else(|| Some(name.clone()), |title| Some(title.value.0.as_ref()?.0.clone()))?,
        name,
        start: file.start.value.0?,
        days: file.days.value.0?.0,
        seed: file.seed.value.0?.0.into(),
        units: match file.units.value.0? {
            UnitsWord::Us => Units::Us,
            UnitsWord::Metric => Units::Metric,
        },
        plant: plant?,
        schedule: schedule?,
        homes: homes?,
        logs: file.log.iter().map(|log| Some(PathBuf::from(&log.0.as_ref()?.file.value.0))).collect::<Option<_>>()?,
        incidents: out_of_order.incidents,
        dated_draws: out_of_order.dated_draws,
        weather: weather?,
        rain: rain?,
        rain_skips: rain_skips?,
        prices_per_m3: supplies::prices_per_m3(file),
        membrane_design: design?,
        heater_plates,
        energy: energy?,
    };
    advice::tell(file, &scenario, reader);
    Some(scenario)
}

/// The pump test of the first well, unless that is described otherwise.
pub(crate) fn pump_test(file: &ScenarioFile) -> Option<PumpTest> {
    let test = &first_well(file)?.1.test.as_ref()?.value;
    Some(PumpTest { flow_lps: test.flow.value.lps(), drawdown_m: test.drawdown.value.m() })
}

/// The calendar ends with the year 9999.
fn refuse_end_of_time(file: &ScenarioFile, reader: &mut Reader<'_>) {
    let (Some(start), Some(days)) = (file.start.value.0, file.days.value.0) else { return };
    // One day more than the run, for a draw that crosses its last midnight.
    if start.checked_add((i64::from(days.0) + 1).days()).is_err() {
        reader.tell(Diagnostic::error("the run goes on past the end of the calendar").at(file.start.place, "too late"));
    }
}

/// The scenario's name: as given, or made from the file's name.
fn name(file: &ScenarioFile, stem: &str, reader: &mut Reader<'_>) -> Option<String> {
    let Some(given) = &file.name else { return Some(plain_name(stem, "scenario")) };
    given_name(&given.value.0.as_ref()?.0, given.place, "scenario", reader)
}

fn fits_a_name(letter: char) -> bool {
    letter.is_ascii_alphanumeric() || letter == '-' || letter == '_'
}

/// A text as the name of a folder.
pub(crate) fn plain_name(text: &str, otherwise: &str) -> String {
    let name: String = text.chars().map(|letter| if fits_a_name(letter) { letter } else { '-' }).collect();
    let name = name.trim_matches('-').to_owned();
    if name.is_empty() { otherwise.to_owned() } else { name }
}

/// A name that was given, if it can name a folder.
pub(crate) fn given_name(text: &str, place: Stretch, otherwise: &str, reader: &mut Reader<'_>) -> Option<String> {
    if text.chars().all(fits_a_name) {
        return Some(text.to_owned());
    }
    reader.tell(
        Diagnostic::error("`name` may hold letters a to z, digits, `-` and `_` only")
            .at(place, "names a folder")
            .help(format!("write \"{}\", and put the words into `title`", plain_name(text, otherwise))),
    );
    None
}

/// The first well and the header of its section.
fn first_well(file: &ScenarioFile) -> Option<(Stretch, &Well)> {
    let well = file.well.as_ref().or(file.second_well.as_ref())?;
    Some((well.place, well.value.0.as_ref()?))
}

/// Whether a supply is a standby.
fn standby(file: &ScenarioFile) -> bool {
    fn is<T>(section: Option<&At<Tried<T>>>, standby: impl Fn(&T) -> bool) -> bool {
        section.and_then(|at| at.value.0.as_ref()).is_some_and(standby)
    }
    is(file.well.as_ref(), |well| well.standby.value)
        || is(file.second_well.as_ref(), |well| well.standby.value)
        || is(file.cistern.as_ref(), |cistern| cistern.standby.value)
        || is(file.pond.as_ref(), |pond| pond.standby.value)
        || is(file.town_line.as_ref(), |line| line.standby.value)
}

fn plant_of(
    file: &ScenarioFile,
    root: &Node,
    (site, weather, names): (&site::Site, Option<&SiteWeather>, &outlets::Names<'_>),
    hot_water: HotWater,
    reader: &mut Reader<'_>,
) -> Option<Plant> {
    let supplies = supplies::supplies(file, &site.water, weather, reader);
    let tank = supplies::pressure_tank(file, (supplies.as_deref(), site.atmospheric_kpa), reader);
    let change_over = supplies.as_deref().and_then(|supplies| supplies::change_over(file, supplies, reader));
    let stages = stages::stages(file, names, reader);
    let membrane = membrane::membrane(file, &site.water, (supplies.as_deref(), stages.as_deref()), reader);
    let store = store(file, site, reader);
    let power = energy::site_power(file, root, reader);
    let named = outlets::named(file, reader);
    let unread = analysis::refuse(file, reader)
        || file.change_over.as_ref().is_some_and(|section| section.value.0.is_none())
        || file.pressure_reducer.as_ref().is_some_and(|section| section.value.0.is_none());
    let (supplies, store) = (supplies?, store?);
    let parts = Parts {
        outlets: outlets::outlets(file, names, (&supplies, store.as_ref()), named?),
        water: site.water.clone(),
        supplies,
        change_over,
        pressure_tank: tank?,
        stages: stages?,
        membrane: membrane?,
        reducer_kpa: file
            .pressure_reducer
            .as_ref()
            .and_then(|reducer| Some(reducer.value.0.as_ref()?.set_pressure.value.kpa())),
        store,
        hot_water,
        power: power?,
    };
    if unread {
        return None;
    }
    let told = Faults::new(file, root, names, reader.source, reader.units.unwrap_or(Units::Us));
    match Plant::try_new(parts.clone()) {
        Ok(plant) => {
            for warning in faults::warnings(&plant) {
                reader.tell(told.warning(&warning));
            }
            Some(plant)
        }
        Err(found) => {
            for fault in told.causes(&found) {
                reader.tell(told.fault(fault, &parts));
            }
            None
        }
    }
}

/// Storage and delivery, which go together; `Some(None)` where neither is there.
#[expect(clippy::option_option, reason = "a fault, no storage, and storage are three cases")]
fn store(file: &ScenarioFile, site: &site::Site, reader: &mut Reader<'_>) -> Option<Option<Store>> {
    match (&file.storage, &file.delivery) {
        (None, None) => Some(None),
        (Some(storage), None) => {
            reader.tell(lonely("storage", "delivery", "nothing takes water out of this tank", storage.place));
            None
        }
        (None, Some(delivery)) => {
            reader.tell(lonely("delivery", "storage", "this pump has no tank to take water from", delivery.place));
            None
        }
        (Some(storage), Some(delivery)) => {
            let (storage_place, delivery_place) = (storage.place, delivery.place);
            let storage = storage.value.0.as_ref().and_then(|keys| storage::storage(keys, storage_place, file, reader));
            let delivery =
                delivery.value.0.as_ref().and_then(|keys| pump::delivery(keys, delivery_place, site, reader));
            Some(Some(Store { storage: storage?, delivery: delivery? }))
        }
    }
}

fn lonely(section: &str, partner: &str, label: &str, place: Stretch) -> Diagnostic {
    Diagnostic::error(format!("`{section}` and `{partner}` go together"))
        .at(place, label)
        .help(format!("add a section `{partner}`, or leave out `{section}`: the house then hangs on the pressure tank"))
}

/// Of two or more keys that exclude each other, tells of those given if there is more than one.
fn refuse_several(section: &str, given: &[(&str, Option<Stretch>)], reader: &mut Reader<'_>) -> bool {
    let both: Vec<_> = given.iter().filter_map(|(key, place)| Some((*key, (*place)?))).collect();
    let (Some((first, first_place)), Some((second, second_place))) = (both.first(), both.get(1)) else { return false };
    reader.tell(
        Diagnostic::error(format!("`{section}` has both `{first}` and `{second}`, which exclude each other"))
            .at(*second_place, format!("keep this or `{first}`"))
            .at(*first_place, format!("`{first}` is here")),
    );
    true
}

/// Where a key was typed.
fn place<T>(at: Option<&At<T>>) -> Option<Stretch> {
    at.filter(|at| at.given).map(|at| at.place)
}

/// A value that must be above zero and no more than `most`, which `accepted` says in the reader's words.
fn at_most(
    key: &str,
    (value, most): (f64, f64),
    accepted: &str,
    place: Stretch,
    reader: &mut Reader<'_>,
) -> Option<f64> {
    let value = positive(key, value, place, reader)?;
    if value <= most {
        return Some(value);
    }
    reader.tell(Diagnostic::error(format!("`{key}` must be at most {accepted}")).at(place, "too large"));
    None
}

/// A share that cannot be more than the whole.
fn at_most_one(key: &str, share: f64, place: Stretch, reader: &mut Reader<'_>) -> Option<f64> {
    if (0.0..=1.0).contains(&share) {
        return Some(share);
    }
    reader.tell(Diagnostic::error(format!("`{key}` must be at most 100 %")).at(place, "too large"));
    None
}

/// A flow that a draw or a leak may want.
fn wanted_lps(key: &str, flow: &At<Flow>, reader: &mut Reader<'_>) -> Option<f64> {
    at_most(key, (flow.value.lps(), MOST_FLOW_LPS), MOST_FLOW, flow.place, reader)
}

/// [`MOST_FLOW_LPS`] as it is written.
const MOST_FLOW: &str = "10000 L/s (158000 gpm)";

/// Refuses a value that is not above zero.
fn positive(key: &str, value: f64, place: Stretch, reader: &mut Reader<'_>) -> Option<f64> {
    if value > 0.0 {
        return Some(value);
    }
    reader.tell(Diagnostic::error(format!("`{key}` must be more than zero")).at(place, "not more than zero"));
    None
}
