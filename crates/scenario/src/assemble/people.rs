//! People and what they draw with.

mod faults;

use jiff::civil::Date;
use springhouse_core::time::Span;
use springhouse_draws::household::{
    Appliance, Around, Baths, Fill, Filling, Fixtures, Habits, Home, Lasting, Outdoor, Outing, Person, PersonKind,
    Routine, Showers, Stay, Taps, Toilets,
};

use super::draws::{NEVER_DRAWN, since_midnight, weekdays};
use super::outlets::Names;
use crate::diagnostic::Diagnostic;
use crate::sections::{self, Building, People, ScenarioFile, WhoWord};
use crate::source::Stretch;
use crate::typed::{At, Reader};

/// The buildings in which people live, and those with a leak or a tap outdoors, which draw though nobody does.
pub(super) fn homes(file: &ScenarioFile, outlets: &Names<'_>, reader: &mut Reader<'_>) -> Option<Vec<Home>> {
    let mut homes = Some(Vec::new());
    for building in &file.building {
        let Some(building) = building.0.as_ref() else {
            homes = None;
            continue;
        };
        if !is_home(building) {
            warn_of_nobody(building, reader);
            continue;
        }
        match (home(building, outlets, reader), &mut homes) {
            (Some(home), Some(homes)) => homes.push(home),
            _ => homes = None,
        }
    }
    let homes = homes?;
    faults::refuse(file, &homes, reader).then_some(homes)
}

/// Whether people live there, or water is drawn though nobody does.
pub(super) fn is_home(building: &Building) -> bool {
    let fixtures = &building.fixtures;
    !building.people.is_empty()
        || fixtures.outdoor_uses_per_day.value.0 > 0.0
        || fixtures.leak.is_some_and(|leak| leak.value.lps() > 0.0)
}

/// Warns of a key that counts for nothing where nobody lives.
fn warn_of_nobody(building: &Building, reader: &mut Reader<'_>) {
    macro_rules! given {
        ($section:expr; $($key:ident)+) => {
            [$(($section.$key.given, $section.$key.place, stringify!($key))),+].into_iter().find(|(given, ..)| *given)
        };
    }
    let given = given!(building.household; together dinner level).or_else(|| {
        given!(building.fixtures;
            showers shower_flow shower_temperature baths bath_volume bath_flow bath_temperature toilets flush_volume
            toilet_flow basins basin_flow kitchen_taps kitchen_flow clothes_washer washer_volume washer_flow washer_cycle
            dishwasher dishwasher_volume dishwasher_flow dishwasher_cycle other_volume other_flow outdoor_volume
            outdoor_flow)
    });
    if let Some((_, place, key)) = given {
        reader.tell(
            Diagnostic::warning(format!(
                "nobody lives in \"{}\", so `{key}` counts for nothing",
                building.name.value.0
            ))
            .at(place, "nobody draws with it")
            .at(building.name.place, "no `people` in this building")
            .help("tell who lives there in `[[building.people]]`, or leave this out"),
        );
    }
}

fn home(building: &Building, outlets: &Names<'_>, reader: &mut Reader<'_>) -> Option<Home> {
    let name = building.name.value.0.clone();
    let mut people = Some(Vec::new());
    let mut names: Vec<(&str, Stretch)> = Vec::new();
    for group in &building.people {
        let read = group.0.as_ref().and_then(|group| {
            let given = &group.value.name;
            if let Some((_, first)) = names.iter().find(|(other, _)| *other == given.value.0) {
                reader.tell(
                    Diagnostic::error(format!("two groups of people are called \"{}\"", given.value.0))
                        .at(given.place, "again")
                        .at(*first, "here first")
                        .help("their names tell them apart: give each group its own"),
                );
                return None;
            }
            names.push((&given.value.0, given.place));
            self::people(&group.value, reader)
        });
        match (read, &mut people) {
            (Some(group), Some(people)) => people.extend(group),
            _ => people = None,
        }
    }
    let household = &building.household;
    Some(Home {
        outlet: outlets.position(&name)?,
        name,
        people: people?,
        fixtures: fixtures(&building.fixtures),
        togetherness: household.together.value.of_one(),
        dinner: since_midnight(household.dinner.value),
        level: household.level.value.0,
    })
}

fn people(group: &People, reader: &mut Reader<'_>) -> Option<Vec<Person>> {
    let kind = match group.who.value {
        WhoWord::Adult => PersonKind::Adult,
        WhoWord::Child => PersonKind::Child,
    };
    let stay = stay(group, reader)?;
    let mut away = Vec::new();
    for absence in &group.away {
        away.push(in_order(&absence.from, &absence.to, reader)?);
    }
    let workdays = match (&group.workdays, stay) {
        (Some(days), _) if days.value.is_empty() => [false; 7],
        (Some(days), Stay::Between { .. }) => {
            reader.tell(
                Diagnostic::error("guests have no workdays")
                    .at(days.place, "to a guest all days are free")
                    .at(group.from.map_or(days.place, |from| from.place), "a stay makes them guests")
                    .help("leave `workdays` out and give the times of their days as `free_day`"),
            );
            return None;
        }
        (Some(days), _) => weekdays(Some(days), NEVER_DRAWN, reader)?,
        (None, Stay::Between { .. }) => [false; 7],
        (None, Stay::Always) => [true, true, true, true, true, false, false],
    };
    warn_of_unused_workday(group, workdays, reader);
    let habits = habits(group, kind, reader)?;
    let (name, count) = (&group.name.value.0, group.count.value.0);
    let named = |i: u32| if count == 1 { name.clone() } else { format!("{name} {}", i + 1) };
    let person = |i| Person { name: named(i), kind, stay, away: away.clone(), workdays, habits };
    Some((0..count).map(person).collect())
}

fn stay(group: &People, reader: &mut Reader<'_>) -> Option<Stay> {
    match (&group.from, &group.to) {
        (None, None) => Some(Stay::Always),
        (Some(from), Some(to)) => in_order(from, to, reader).map(|(from, to)| Stay::Between { from, to }),
        (Some(at), None) | (None, Some(at)) => {
            let missing = if group.from.is_some() { "to" } else { "from" };
            reader.tell(
                Diagnostic::error("a stay needs both its days")
                    .at(at.place, format!("no `{missing}` goes with it"))
                    .help("give `from` and `to` for guests, or neither for those who live there"),
            );
            None
        }
    }
}

fn in_order(from: &At<Date>, to: &At<Date>, reader: &mut Reader<'_>) -> Option<(Date, Date)> {
    if to.value < from.value {
        reader.tell(
            Diagnostic::error("`to` lies before `from`")
                .at(to.place, "the last day")
                .at(from.place, "the first day")
                .help("write the earlier day as `from`"),
        );
        return None;
    }
    Some((from.value, to.value))
}

/// Warns of the times of a workday where no day is one.
fn warn_of_unused_workday(group: &People, workdays: [bool; 7], reader: &mut Reader<'_>) {
    let sections::Routine { wake, leave, home, bed, stays_in, spread } = &group.workday;
    let times = [wake, leave, home, bed].into_iter().find_map(|time| time.map(|time| time.place));
    let given = times.or(spread.map(|spread| spread.place)).or(stays_in.given.then_some(stays_in.place));
    if let Some(place) = given.filter(|_| !workdays.contains(&true)) {
        reader.tell(
            Diagnostic::warning("`workday` counts for nothing: they have no workdays")
                .at(place, "of no day")
                .help("give the times of their days as `free_day`"),
        );
    }
}

fn habits(group: &People, kind: PersonKind, reader: &mut Reader<'_>) -> Option<Habits> {
    let typical = Habits::typical(kind);
    macro_rules! number {
        ($key:ident) => {
            group.$key.map_or(typical.$key, |number| number.value.0)
        };
    }
    let workday = routine(&group.workday, &typical.workday, reader);
    let free = routine(&group.free_day, &typical.free, reader);
    Some(Habits {
        workday: workday?,
        free: free?,
        showers_per_day: number!(showers_per_day),
        shower: Lasting {
            mean: group.shower_length.map_or(typical.shower.mean, |length| Span::from_s(length.value.s())),
            ..typical.shower
        },
        morning_share: group.morning_share.map_or(typical.morning_share, |share| share.value.of_one()),
        baths_per_day: number!(baths_per_day),
        flushes_per_day: number!(flushes_per_day),
        basin_uses_per_day: number!(basin_uses_per_day),
        kitchen_uses_per_day: number!(kitchen_uses_per_day),
        laundry_loads_per_day: number!(laundry_loads_per_day),
        dish_loads_per_day: number!(dish_loads_per_day),
        other_uses_per_day: number!(other_uses_per_day),
        ..typical
    })
}

fn routine(given: &sections::Routine, typical: &Routine, reader: &mut Reader<'_>) -> Option<Routine> {
    let spread = given.spread.map(|spread| Span::from_s(spread.value.s()));
    let around = |at: Option<Span>, typical: Around, spread: Option<Span>| Around {
        at: at.unwrap_or(typical.at),
        spread: spread.unwrap_or(typical.spread),
    };
    let bed = given.bed.map(|bed| {
        let at = since_midnight(bed.value);
        // Before noon it is after midnight.
        if at < Span::from_ns(12 * Span::HOUR.ns()) { at + Span::DAY } else { at }
    });
    let out = typical.out.filter(|_| !given.stays_in.value).map(|out| Outing {
        leave: around(given.leave.map(|leave| since_midnight(leave.value)), out.leave, None),
        home: around(given.home.map(|home| since_midnight(home.value)), out.home, None),
    });
    refuse_outing(given, out, reader).then(|| Routine {
        wake: around(given.wake.map(|wake| since_midnight(wake.value)), typical.wake, spread),
        out,
        bed: around(bed, typical.bed, spread),
    })
}

/// Tells of times out that cannot be kept; whether they can.
fn refuse_outing(given: &sections::Routine, out: Option<Outing>, reader: &mut Reader<'_>) -> bool {
    let (Some(first), stays_in) = (given.leave.or(given.home), given.stays_in) else { return true };
    if stays_in.value {
        reader.tell(
            Diagnostic::error("who stays in does not leave, nor come home")
                .at(first.place, "a time out")
                .at(stays_in.place, "they stay in all day")
                .help("leave out either `stays_in` or the times"),
        );
        return false;
    }
    let Some(out) = out.filter(|out| out.home.at <= out.leave.at) else { return true };
    let clock = |span: Span| {
        let minutes = span.ns() / Span::MINUTE.ns();
        format!("{:02}:{:02}", minutes / 60, minutes % 60)
    };
    let mut told = Diagnostic::error("`home` must be later than `leave`");
    if let Some(home) = given.home {
        told = told.at(home.place, format!("home at {}", clock(out.home.at)));
    }
    if let Some(leave) = given.leave {
        told = told.at(leave.place, format!("out from {}", clock(out.leave.at)));
    }
    for (key, time) in
        [("leave", given.leave.is_none().then_some(out.leave)), ("home", given.home.is_none().then_some(out.home))]
    {
        if let Some(time) = time {
            told = told.note(format!("without `{key}` it is {}", clock(time.at)));
        }
    }
    reader.tell(
        told.note("who is out over midnight, as on a night shift, cannot be told of yet")
            .help("give both times of one day, or `stays_in = true` for those who are in by day"),
    );
    false
}

fn fixtures(given: &sections::Fixtures) -> Fixtures {
    let typical = Fixtures::typical();
    let filling = |volume: &At<crate::quantity::Volume>, flow: &At<crate::quantity::Flow>| Filling {
        litres: volume.value.l(),
        flow_lps: flow.value.lps(),
    };
    let outdoor_uses = given.outdoor_uses_per_day.value.0;
    Fixtures {
        showers: Showers {
            count: given.showers.value.0,
            flow_lps: given.shower_flow.value.lps(),
            temp_c: given.shower_temperature.value.c(),
        },
        baths: Baths {
            count: given.baths.value.0,
            water: filling(&given.bath_volume, &given.bath_flow),
            temp_c: given.bath_temperature.value.c(),
        },
        toilets: Toilets { count: given.toilets.value.0, water: filling(&given.flush_volume, &given.toilet_flow) },
        basins: Taps { count: given.basins.value.0, most_flow_lps: given.basin_flow.value.lps(), ..typical.basins },
        kitchen: Taps {
            count: given.kitchen_taps.value.0,
            most_flow_lps: given.kitchen_flow.value.lps(),
            ..typical.kitchen
        },
        clothes_washer: typical.clothes_washer.filter(|_| given.clothes_washer.value).map(|washer| {
            appliance(washer, filling(&given.washer_volume, &given.washer_flow), given.washer_cycle.value.s())
        }),
        dishwasher: typical.dishwasher.filter(|_| given.dishwasher.value).map(|washer| {
            let water = filling(&given.dishwasher_volume, &given.dishwasher_flow);
            appliance(washer, water, given.dishwasher_cycle.value.s())
        }),
        other: Some(filling(&given.other_volume, &given.other_flow)),
        outdoor: (outdoor_uses > 0.0).then(|| Outdoor {
            uses_per_day: outdoor_uses,
            water: filling(&given.outdoor_volume, &given.outdoor_flow),
        }),
        leak_lps: given.leak.map_or(0.0, |leak| leak.value.lps()),
    }
}

/// A machine whose load takes so much water in a cycle of such a length, shared over its fills as typical.
fn appliance(typical: Appliance, load: Filling, length_s: f64) -> Appliance {
    let all_l: f64 = typical.fills.iter().map(|fill| fill.water.litres).sum();
    let stretch = length_s / typical.length.s();
    let fill = |fill: Fill| Fill {
        after: Span::from_s(stretch * fill.after.s()),
        water: Filling { litres: load.litres * fill.water.litres / all_l, flow_lps: load.flow_lps },
        ..fill
    };
    Appliance { fills: typical.fills.into_iter().map(fill).collect(), length: Span::from_s(length_s) }
}

#[cfg(test)]
mod tests {
    use springhouse_draws::household::MOST_USES_PER_DAY;

    use super::*;
    use crate::typed::Shape;

    /// What the reader accepts the library does, and no more.
    #[test]
    fn exact_most_uses_are_those_of_the_library() {
        let keys: Vec<_> = People::SECTION.fields.iter().chain(sections::Fixtures::SECTION.fields).collect();
        let uses = [
            "basin_uses_per_day",
            "kitchen_uses_per_day",
            "flushes_per_day",
            "other_uses_per_day",
            "outdoor_uses_per_day",
        ];
        for key in uses {
            let field = keys.iter().find(|field| field.name == key).expect("a key");
            let Shape::Number { most, .. } = (field.shape)() else { panic!("{key} is a number") };
            assert_eq!(most.to_string(), MOST_USES_PER_DAY.to_string(), "{key}");
        }
    }

    /// Water is drawn though nobody lives there: by a leak, and by the tap outdoors.
    #[test]
    fn exact_leak_of_nobody() {
        let with = |keys: &str| {
            let starter = crate::starter();
            let (plant, _) = starter.split_once("[[draw]]").expect("draws come last");
            let text = plant.replace("name = \"house\"\n", &format!("name = \"house\"\n[building.fixtures]\n{keys}\n"));
            crate::parse(&text, crate::Format::Toml, "empty").expect("reads")
        };
        let leak = with("leak = \"10 gal/day\"").scenario;
        assert_eq!((leak.homes.len(), leak.homes[0].people.len()), (1, 0));
        assert!((leak.homes[0].expected_l_per_day(|_| true) - 37.854).abs() < 0.001);
        assert_eq!(with("outdoor_uses_per_day = 2").scenario.homes.len(), 1);
        assert_eq!(with("").scenario.homes, Vec::new());
        let nothing = |keys| with(keys).warnings.iter().any(|it| it.title() == "nothing is drawn in this scenario");
        assert!(nothing("") && !nothing("leak = \"10 gal/day\""));
        let warned = |keys| {
            with(keys)
                .warnings
                .iter()
                .any(|it| it.title() == "nobody lives in \"house\", so `showers` counts for nothing")
        };
        assert!(warned("showers = 3") && !warned("leak = \"10 gal/day\""));
    }

    /// The defaults of a scenario are those of the library: figures of the same studies, rounded otherwise.
    #[test]
    fn exact_defaults_are_the_typical_household() {
        let text = crate::starter()
            .replace("name = \"house\"\n", "name = \"house\"\n[[building.people]]\nname = \"two\"\ncount = 2\n");
        let loaded = crate::parse(&text, crate::Format::Toml, "two").expect("reads");
        let home = &loaded.scenario.homes[0];
        let typical = Home::typical("house", home.outlet, home.people.clone());
        assert_eq!((home.togetherness, home.dinner, home.level), (typical.togetherness, typical.dinner, typical.level));
        let (found, expected) = (format!("{:?}", home.fixtures), format!("{:?}", typical.fixtures));
        let numbers = |text: &str| -> Vec<f64> {
            text.split(|c: char| !(c.is_ascii_digit() || c == '.')).filter_map(|number| number.parse().ok()).collect()
        };
        let (found, expected) = (numbers(&found), numbers(&expected));
        assert_eq!(found.len(), expected.len());
        for (found, expected) in found.into_iter().zip(expected) {
            assert!((found - expected).abs() <= 0.01 * expected.abs(), "{found} for {expected}");
        }
        assert_eq!(home.people[1].habits, Habits::typical(PersonKind::Adult));
        assert_eq!(home.people.iter().map(|person| person.name.as_str()).collect::<Vec<_>>(), ["two 1", "two 2"]);
    }
}
