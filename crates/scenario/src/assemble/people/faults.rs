//! What is wrong with people is told at the key that says so.

use springhouse_draws::household::{Fault, Home, Household, Place};

use crate::diagnostic::Diagnostic;
use crate::sections::{Building, Fixtures, People, Routine, ScenarioFile};
use crate::source::Stretch;
use crate::typed::Reader;

/// A key and where it stands; of one that is not given, its section.
type Key = (&'static str, Stretch);

/// Tells of numbers of which no household can be made; whether there are none.
pub(super) fn refuse(file: &ScenarioFile, homes: &[Home], reader: &mut Reader<'_>) -> bool {
    let Some(first_day) = file.start.value.0 else { return true };
    let faults = Household { seed: 0, run: 0, first_day, homes: homes.to_vec() }.faults();
    let mut told: Vec<Key> = Vec::new();
    for fault in &faults {
        let Place { home, person, .. } = *fault.at();
        let home = home.and_then(|home| homes.get(home));
        let mut buildings = file.building.iter().filter_map(|building| building.0.as_ref());
        let building = home.and_then(|home| buildings.find(|building| building.name.value.0 == home.name));
        let group = building.zip(person).and_then(|(building, person)| group(building, person));
        let key = match (fault, building, group) {
            (Fault::OutOfRange { key, .. }, _, Some(group)) => key_of_people(group, key),
            (Fault::OutOfRange { key, .. }, Some(building), None) => key_of_fixtures(&building.fixtures, key),
            _ => None,
        };
        // One key may be at fault for several people, or in several fills of a machine: the first is told.
        if key.is_some_and(|key| told.contains(&key)) {
            continue;
        }
        told.extend(key);
        let error = Diagnostic::error(fault.to_string());
        reader.tell(match (key, group, building) {
            (Some((key, place)), ..) => error.at(place, format!("follows from `{key}`")),
            (None, Some(group), _) => error.at(group.name.place, "of these people"),
            (None, None, Some(building)) => error.at(building.name.place, "in this building"),
            (None, None, None) => error,
        });
    }
    faults.is_empty()
}

/// The group of which somebody is.
fn group(building: &Building, person: usize) -> Option<&People> {
    let mut first_of_next = 0;
    building.people.iter().filter_map(|group| Some(&group.0.as_ref()?.value)).find(|group| {
        first_of_next += group.count.value.0 as usize;
        person < first_of_next
    })
}

fn key_of_people(group: &People, key: &str) -> Option<Key> {
    if key == "shower.mean" {
        return Some(("shower_length", group.shower_length?.place));
    }
    let (day, time) = key.split_once('.')?;
    let Routine { spread, .. } = if day == "workday" { &group.workday } else { &group.free_day };
    time.ends_with(".spread").then_some(("spread", (*spread)?.place))
}

/// Of litres, and of the time that they take, it is the volume.
fn key_of_fixtures(fixtures: &Fixtures, key: &str) -> Option<Key> {
    macro_rules! key {
        ($key:ident) => {
            (stringify!($key), fixtures.$key.place)
        };
    }
    // Fills of a machine are numbered: `clothes_washer.fills[1].litres`.
    let (fixture, of_it) = (key.split('.').next()?, key.rsplit('.').next()?);
    let is_flow = of_it == "flow_lps" || of_it == "most_flow_lps";
    Some(match (fixture, of_it) {
        ("leak_lps", _) => ("leak", fixtures.leak?.place),
        ("showers", "temp_c") => key!(shower_temperature),
        ("showers", _) if is_flow => key!(shower_flow),
        ("baths", "temp_c") => key!(bath_temperature),
        ("baths", _) if is_flow => key!(bath_flow),
        ("baths", _) => key!(bath_volume),
        ("toilets", _) if is_flow => key!(toilet_flow),
        ("toilets", _) => key!(flush_volume),
        ("basins", _) if is_flow => key!(basin_flow),
        ("kitchen", _) if is_flow => key!(kitchen_flow),
        ("clothes_washer", "length" | "after") => key!(washer_cycle),
        ("clothes_washer", _) if is_flow => key!(washer_flow),
        ("clothes_washer", _) => key!(washer_volume),
        ("dishwasher", "length" | "after") => key!(dishwasher_cycle),
        ("dishwasher", _) if is_flow => key!(dishwasher_flow),
        ("dishwasher", _) => key!(dishwasher_volume),
        ("other", _) if is_flow => key!(other_flow),
        ("other", _) => key!(other_volume),
        ("outdoor", _) if is_flow => key!(outdoor_flow),
        ("outdoor", _) => key!(outdoor_volume),
        _ => return None,
    })
}
