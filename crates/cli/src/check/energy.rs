//! Electricity on the site: panels, battery, generator, what they feed, prices, and the rest of the house.

use springhouse_core::power::{Battery, Generator, SitePower};
use springhouse_core::solar::Panels;
use springhouse_scenario::energy::{HouseLoad, SunOnRoof, Tariff, TariffHours};
use springhouse_scenario::motors::sum_w;
use springhouse_scenario::{Scenario, Units};

use super::{DAY_S, Said, row};

const WEEKDAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const COMPASS: [&str; 8] = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
const KWH_J: f64 = 3.6e6;
const HOUR_S: f64 = 3_600.0;

pub(super) fn energy(scenario: &Scenario, units: Units) -> Vec<Said> {
    let Some(site) = &scenario.energy else { return Vec::new() };
    let power = &scenario.plant.power;
    let mut rows = Vec::new();
    rows.extend(site.sun.iter().flat_map(|sun| panels(sun, units)));
    rows.extend(power.battery.iter().map(|it| row("Battery", battery(it, units))));
    rows.extend(power.generator.iter().flat_map(|it| generator(it, units)));
    if power.has_backup() {
        rows.extend(motors(scenario, units));
    }
    rows.extend(feeders(power, site.sun.is_some()).map(|said| row("Without grid", said.to_owned())));
    if power.has_backup() {
        rows.push(row("", backup(power, (scenario, &site.house), units)));
    }
    rows.extend(tariff(&site.tariff));
    if site.house.kwh_per_day > 0.0 {
        rows.push(row("Rest of house", house(&site.house, units)));
    }
    rows
}

fn panels(sun: &SunOnRoof, units: Units) -> Vec<Said> {
    let field = |panels: &Panels| {
        let (rated, tilt) = (units.power(panels.rated_w), plain(panels.tilt_deg, 0));
        format!("{rated} as rated, tilted by {tilt}° and facing {}", facing(panels))
    };
    let mut rows: Vec<_> = sun.panels.iter().map(|panels| row("Panels", field(panels))).collect();
    let rated_w = sun.panels.iter().map(|panels| panels.rated_w * (1.0 - panels.losses_share)).sum::<f64>();
    let (most, left) = (units.power(sun.inverter.limit_w), units.power(rated_w));
    rows.push(row("", format!("{left} of them are left after losses; the inverter gives at most {most}")));
    rows
}

/// The nearest of eight directions, with the degrees where it is not that one.
fn facing(panels: &Panels) -> String {
    let eighths = (panels.azimuth_deg / 45.0).round();
    let word = COMPASS.iter().cycle().zip(0_u8..=8).find(|(_, eighth)| f64::from(*eighth) >= eighths);
    let word = word.map_or("", |(word, _)| *word);
    let off = (panels.azimuth_deg - 45.0 * eighths).abs() > 0.5;
    if off { format!("{word} ({}°)", plain(panels.azimuth_deg, 0)) } else { word.to_owned() }
}

fn battery(battery: &Battery, units: Units) -> String {
    let reserve = match battery.reserve_share {
        0.0 => String::new(),
        1.0 => ", all of it for outages alone".to_owned(),
        share => format!(", {} of it for outages alone", energy_of(share * battery.capacity_j)),
    };
    format!(
        "holds {}{reserve}; full it gives {}; gives and takes up to {}; of what goes in {:.0} % come out",
        energy_of(battery.capacity_j),
        energy_of(battery.capacity_j * battery.one_way),
        units.power(battery.power_w),
        100.0 * battery.one_way * battery.one_way
    )
}

fn generator(generator: &Generator, units: Units) -> Vec<Said> {
    let burns = |l_h: f64| format!("{} an hour", fuel(l_h, units));
    let said = format!(
        "gives up to {}, from {} after the grid has gone and while no battery feeds; takes {} at that, {} without load",
        units.power(generator.power_w),
        units.duration(generator.start_after.s()),
        burns(generator.full_l_h),
        burns(generator.idle_l_h)
    );
    let mut rows = vec![row("Generator", said)];
    rows.extend(generator.fuel_l.map(|fuel_l| {
        let lasts = |l_h: f64| {
            if l_h > 0.0 { units.duration(HOUR_S * fuel_l / l_h) } else { "any time".to_owned() }
        };
        let (full, idle) = (lasts(generator.full_l_h), lasts(generator.idle_l_h));
        row("", format!("its {} of fuel last {full} at the most power, {idle} without load", fuel(fuel_l, units)))
    }));
    let turns = if generator.one_motor {
        "on it one big motor runs at a time: pumps of supplies first, then the membrane unit, then heaters"
    } else {
        "on it big motors may run at once"
    };
    rows.push(row("", turns.to_owned()));
    rows
}

/// What pumps take at their usual work, beside what feeds them.
fn motors(scenario: &Scenario, units: Units) -> Vec<Said> {
    let all = scenario.motors();
    if all.is_empty() {
        return Vec::new();
    }
    let each: Vec<_> = all.iter().map(|motor| format!("{} {}", motor.name, units.power(motor.power_w))).collect();
    let power = &scenario.plant.power;
    let battery = power.battery.map(|battery| ("battery", battery.power_w, false));
    let generator = power.generator.map(|it| ("generator", it.power_w, it.one_motor));
    let beside = battery.into_iter().chain(generator).map(|(feeder, gives_w, one_motor)| {
        let takes = units.power(sum_w(&scenario.motors_together(one_motor)));
        let turns = if one_motor { "in turns" } else { "at once" };
        format!("{takes} {turns} on the {feeder} of {}", units.power(gives_w))
    });
    let beside: Vec<_> = beside.collect();
    vec![
        row("Motors", format!("at their usual work: {}", each.join(", "))),
        row(
            "",
            format!(
                "up to {}; as it starts a motor takes several times its power, which is not computed",
                beside.join(", ")
            ),
        ),
    ]
}

/// Who feeds the site while the grid is out; nothing to say where nobody was to be expected.
fn feeders(power: &SitePower, has_sun: bool) -> Option<&'static str> {
    Some(match (power.battery.is_some(), power.generator.is_some(), has_sun) {
        (true, true, true) => "the battery feeds, and the sun with it; the generator once that is empty",
        (true, true, false) => "the battery feeds, and the generator once that is empty",
        (true, false, true) => "the battery feeds, and the sun with it; nobody once that is empty",
        (true, false, false) => "the battery feeds, and nobody once that is empty",
        (false, true, true) => {
            "the generator feeds; without a battery to steady it the inverter of the panels stands still"
        }
        (false, true, false) => "the generator feeds",
        (false, false, true) => "nobody feeds: without a battery to steady it the inverter of the panels stands still",
        (false, false, false) => return None,
    })
}

fn fuel(volume_l: f64, units: Units) -> String {
    match units {
        Units::Us => format!("{} gal", plain(volume_l / GALLON_L, 2)),
        Units::Metric => format!("{} L", plain(volume_l, 2)),
    }
}

const GALLON_L: f64 = 3.785_411_784;

fn backup(power: &SitePower, (scenario, house): (&Scenario, &HouseLoad), units: Units) -> String {
    let (plant, backup) = (&scenario.plant, &power.backup);
    let either = |fed: bool| if fed { "" } else { "no " };
    let mut fed = vec!["pumps".to_owned()];
    if plant.membrane.is_some() {
        fed.push(format!("{}membrane unit", either(backup.membrane)));
    }
    if !plant.hot_water.heaters.is_empty() {
        fed.push(format!("{}water heaters", either(backup.heaters)));
    }
    if house.kwh_per_day > 0.0 {
        fed.push(format!("{:.0} % of the rest of the house", 100.0 * backup.other_share));
    }
    let lasts = match (&power.battery, backup.other_share * house.kwh_per_day) {
        (Some(battery), kwh_day) if kwh_day > 0.0 => {
            let full_kwh = battery.capacity_j / KWH_J * battery.one_way;
            format!(
                "; for that part of the house alone a full battery lasts {}, pumps come on top",
                units.duration(DAY_S * full_kwh / kwh_day)
            )
        }
        _ => String::new(),
    };
    format!("fed: {}{lasts}", fed.join(", "))
}

fn tariff(tariff: &Tariff) -> Vec<Said> {
    let (import, export) = (price(tariff.import_per_kwh), price(tariff.export_per_kwh));
    let fixed =
        if tariff.fixed_per_day > 0.0 { format!("; {} a day", plain(tariff.fixed_per_day, 4)) } else { String::new() };
    let carbon = plain(tariff.kg_per_kwh, 3);
    // What stands for a tariff that is left out costs nothing.
    let is_free = *tariff == Tariff { kg_per_kwh: tariff.kg_per_kwh, ..Tariff::default() };
    let prices = if is_free {
        "none: energy from the grid is counted at no price".to_owned()
    } else {
        format!("{import} a kWh from the grid, {export} to it{fixed}")
    };
    let said = format!("{prices}; {carbon} kg of carbon dioxide for a kWh from it");
    let hours = tariff.hours.iter().map(|hours| row("", self::hours(hours)));
    std::iter::once(row("Prices", said)).chain(hours).collect()
}

fn hours(hours: &TariffHours) -> String {
    let whole_day = hours.start_h == 0 && hours.end_h == 24;
    let clock = if whole_day {
        "all day".to_owned()
    } else {
        format!("from {:02}:00 to {:02}:00", hours.start_h, hours.end_h % 24)
    };
    let days = named(&WEEKDAYS, &hours.weekdays).map_or_else(String::new, |days| format!(" on {days}"));
    let months = named(&MONTHS, &hours.months).map_or_else(String::new, |months| format!(" in {months}"));
    let import = hours.import_per_kwh.map(|per_kwh| format!("{} from the grid", price(per_kwh)));
    let export = hours.export_per_kwh.map(|per_kwh| format!("{} to it", price(per_kwh)));
    let prices: Vec<_> = [import, export].into_iter().flatten().collect();
    format!("{clock}{days}{months}: {}", prices.join(", "))
}

/// Those that are meant, runs of three or more by their ends; `None` where all are.
fn named(names: &[&str], meant: &[bool]) -> Option<String> {
    if meant.iter().all(|meant| *meant) {
        return None;
    }
    let mut runs: Vec<Vec<&str>> = vec![Vec::new()];
    for (name, meant) in names.iter().zip(meant) {
        match runs.last_mut() {
            Some(run) if *meant => run.push(*name),
            _ => runs.push(Vec::new()),
        }
    }
    let told = runs.iter().filter_map(|run| match run.as_slice() {
        [] => None,
        [first, _, .., last] => Some(format!("{first} to {last}")),
        few => Some(few.join(", ")),
    });
    Some(told.collect::<Vec<_>>().join(", "))
}

/// A day of the mean, its busiest hour, and the months that take most and least.
fn house(house: &HouseLoad, units: Units) -> String {
    let most = |parts: &[f64]| {
        let all = parts.iter().copied().enumerate();
        all.reduce(|most, other| if other.1 > most.1 { other } else { most }).unwrap_or((0, 0.0))
    };
    let (hour, share) = most(&house.by_hour);
    let kwh = |kwh: f64| format!("{} kWh", plain(kwh, 1));
    let (mean, peak) = (kwh(house.kwh_per_day), units.power(1e3 * house.kwh_per_day * share));
    let (month, times) = most(&house.by_month);
    let months = if house.by_month.iter().all(|part| *part == house.by_month[0]) {
        String::new()
    } else {
        let name = MONTHS.get(month).copied().unwrap_or_default();
        format!(", {} in {name}", kwh(times * house.kwh_per_day))
    };
    format!("{mean} a day in the mean{months}; most from {hour:02}:00 to {:02}:00, {peak}", (hour + 1) % 24)
}

fn energy_of(joules: f64) -> String {
    format!("{} kWh", plain(joules / KWH_J, 2))
}

fn price(per_kwh: f64) -> String {
    plain(per_kwh, 4)
}

/// Rounded, without zeros at the end.
fn plain(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;
    use springhouse_scenario::{Format, parse, starter};

    const MONTH: &str = "{ high = \"60 °F\", low = \"40 °F\", rain = \"3 in\", wet_days = 9 }";

    fn told(sections: &str, units: Units) -> Vec<String> {
        let starter = starter().replace("[site]\n", "[site]\nlatitude = 44\n");
        let weather = format!("[weather]\nmonths = [{}]\n", [MONTH; 12].join(", "));
        let loaded = parse(&format!("{starter}\n{weather}{sections}"), Format::Toml, "plant.toml");
        let scenario = loaded.unwrap_or_else(|faults| panic!("{faults}")).scenario;
        energy(&scenario, units).into_iter().map(|(part, said)| format!("{part}|{said}")).collect()
    }

    #[test]
    fn exact_words_on_panels() {
        let field = |azimuth: &str| format!("[[panels]]\npower = \"2 kW\"\n{azimuth}");
        let facing = |azimuth: &str| {
            let told = told(&field(azimuth), Units::Us);
            told[0].split("facing ").nth(1).unwrap_or_default().to_owned()
        };
        for (azimuth, words) in [
            ("", "south"),
            ("azimuth = 0\n", "north"),
            ("azimuth = 22\n", "north (22°)"),
            ("azimuth = 23\n", "north-east (23°)"),
            ("azimuth = 315\n", "north-west"),
            ("azimuth = 350\n", "north (350°)"),
            ("azimuth = 360\n", "north"),
        ] {
            assert_eq!(facing(azimuth), words);
        }
        let two = format!("{}{}", field("losses = \"10 %\"\n"), field("losses = \"0 %\"\n"));
        let told = told(&format!("{two}[inverter]\npower = \"3 kW\"\n"), Units::Metric);
        assert_eq!(told[1], "Panels|2000 W as rated, tilted by 30° and facing south");
        assert_eq!(told[2], "|3800 W of them are left after losses; the inverter gives at most 3000 W");
    }

    #[test]
    fn exact_words_on_battery_and_generator() {
        let sections = "[battery]\ncapacity = \"10 kWh\"\npower = \"4 kW\"\nround_trip = \"81 %\"\nreserve = \"25 %\"\n\
                        [generator]\npower = \"3 kW\"\ntank = \"12 L\"\nfull_load_fuel = \"2 L/h\"\nno_load_fuel = \"0.5 L/h\"\n\
                        start_after = \"10 min\"\n[rest_of_house]\nper_day = \"20 kWh\"\n";
        let found = told(sections, Units::Metric);
        let expected = [
            "Battery|holds 10 kWh, 2.5 kWh of it for outages alone; full it gives 9 kWh; gives and takes up to 4000 W; of what goes \
             in 81 % come out",
            "Generator|gives up to 3000 W, from 10 min after the grid has gone and while no battery feeds; takes 2 L an hour at \
             that, 0.5 L an hour without load",
            "|its 12 L of fuel last 6 h at the most power, 1 day without load",
            "|on it one big motor runs at a time: pumps of supplies first, then the membrane unit, then heaters",
        ];
        assert_eq!(found[..4], expected);
        let w = found[4].strip_prefix("Motors|at their usual work: well pump ").unwrap_or_default();
        let beside = format!(
            "|up to {w} at once on the battery of 4000 W, {w} in turns on the generator of 3000 W; as it starts a motor takes several \
             times its power, which is not computed"
        );
        assert_eq!(found[5], beside);
        let expected = [
            "Without grid|the battery feeds, and the generator once that is empty",
            // Of 10 kWh 90 % come out, and 30 % of 20 kWh are wanted a day: a day and a half.
            "|fed: pumps, 30 % of the rest of the house; for that part of the house alone a full battery lasts 1 day 12 h, pumps \
             come on top",
            "Prices|none: energy from the grid is counted at no price; 0.39 kg of carbon dioxide for a kWh from it",
        ];
        assert_eq!(found[6..9], expected);
    }

    #[test]
    fn exact_words_on_who_feeds_without_the_grid() {
        let panels = "[[panels]]\npower = \"2 kW\"\n";
        let battery = "[battery]\ncapacity = \"10 kWh\"\npower = \"4 kW\"\n";
        let generator = "[generator]\npower = \"3 kW\"\nfull_load_fuel = \"2 L/h\"\n";
        let words = |sections: String| {
            let found = told(&sections, Units::Metric);
            found.iter().find_map(|said| Some(said.strip_prefix("Without grid|")?.to_owned()))
        };
        let stands = "without a battery to steady it the inverter of the panels stands still";
        for (sections, expected) in [
            (panels.to_owned(), format!("nobody feeds: {stands}")),
            (format!("{panels}{generator}"), format!("the generator feeds; {stands}")),
            (
                format!("{panels}{battery}"),
                "the battery feeds, and the sun with it; nobody once that is empty".to_owned(),
            ),
            (
                format!("{panels}{battery}{generator}"),
                "the battery feeds, and the sun with it; the generator once that is empty".to_owned(),
            ),
            (battery.to_owned(), "the battery feeds, and nobody once that is empty".to_owned()),
            (generator.to_owned(), "the generator feeds".to_owned()),
        ] {
            assert_eq!(words(sections), Some(expected));
        }
        assert_eq!(words("[tariff]\nimport = \"0.2 /kWh\"\n".to_owned()), None);
    }

    #[test]
    fn exact_words_on_prices_and_the_house() {
        let sections = "[tariff]\nimport = \"180 /MWh\"\nexport = \"0.05 /kWh\"\nfixed_per_day = 0.5\n\
                        [[tariff.hours]]\nstart = \"16:00\"\nend = \"00:00\"\nweekdays = [\"fri\", \"mon\", \"tue\", \"wed\"]\n\
                        months = [\"dec\", \"jan\"]\nimport = \"0.3 /kWh\"\n\
                        [[tariff.hours]]\nstart = \"00:00\"\nend = \"00:00\"\nweekdays = [\"sat\", \"sun\"]\nexport = \"0.1 /kWh\"\n\
                        [rest_of_house]\nper_day = \"24 kWh\"\nby_month = [2, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 0]\n";
        let expected = [
            "Prices|0.18 a kWh from the grid, 0.05 to it; 0.5 a day; 0.39 kg of carbon dioxide for a kWh from it",
            "|from 16:00 to 00:00 on Mon to Wed, Fri in Jan, Dec: 0.3 from the grid",
            "|all day on Sat, Sun: 0.1 to it",
        ];
        let found = told(sections, Units::Us);
        assert_eq!(found[..3], expected);
        assert!(
            found[3].starts_with("Rest of house|24 kWh a day in the mean, 48 kWh in Jan; most from 18:00 to 19:00")
        );
        assert!(told("", Units::Us).is_empty());
    }
}
