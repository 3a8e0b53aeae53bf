//! Electricity of a site told: real runs under an invented sun, with a battery, a generator and outages.

use std::sync::OnceLock;

use jiff::civil::date;
use springhouse_core::draw::Flow;
use springhouse_core::heater::control::Mode;
use springhouse_core::hot_water::SunBoost;
use springhouse_core::incident::IncidentKind;
use springhouse_core::plant::{Parts, Plant};
use springhouse_core::power::{Backup, Battery, Generator, PowerHour, SitePower};
use springhouse_core::solar::{Inverter, SkyModel};
use springhouse_core::time::Span;
use springhouse_report::{csv, plots, text, write};
use springhouse_scenario::energy::{Fuel, Fuels, HouseLoad, SiteEnergy, SunOnRoof, Tariff};
use springhouse_scenario::{DatedDraw, DatedIncident, Scenario, Units};
use springhouse_sim::{Day, Finding, FindingKind, OutageSummary, RunOptions, SiteSummary, run};

use crate::hot_water::{flowing, heated, plot, warmed};
use crate::invented::{Case, HOUSES, finding, sound};
use crate::layout::assert_laid_out;
use crate::membrane::into_a_pond;

const BATTERY: Battery =
    Battery { capacity_j: 8.0 * 3.6e6, power_w: 4_000.0, one_way: 0.95, reserve_share: 0.25, start_share: 0.5 };

const GENERATOR: Generator = Generator {
    power_w: 3_500.0,
    start_after: Span::from_ns(120_000_000_000),
    fuel_l: Some(12.0),
    idle_l_h: 0.6,
    full_l_h: 1.9,
    price_per_l: 1.5,
    kg_per_l: 2.3,
    one_motor: true,
};

const INVERTER: Inverter = Inverter { limit_w: 6_000.0, efficiency: 0.96 };

/// Sun by the hour, bright or dull as the days go; the house takes most in the evening.
fn hours(days: u32, peak_w: f64, house: bool) -> Vec<PowerHour> {
    let hour = |hour: u32| {
        let (day, of_day) = (hour / 24, f64::from(hour % 24) + 0.5);
        let bright = [0.9, 0.55, 1.0, 0.35, 0.12, 0.7, 0.95][usize::try_from(day % 7).unwrap()];
        let season = 0.65 - 0.35 * (core::f64::consts::TAU * (f64::from(day) + 40.0) / 365.0).sin();
        let solar = (core::f64::consts::PI * (of_day - 6.0) / 12.0).sin().max(0.0);
        let evening = (17.0..22.0).contains(&of_day);
        PowerHour {
            solar_w: peak_w * bright * season * solar,
            other_w: if !house {
                0.0
            } else if evening {
                1_100.0
            } else {
                280.0
            },
            import_per_kwh: if evening { 0.42 } else { 0.24 },
            export_per_kwh: 0.08,
            import_kg_per_kwh: 0.4,
            season: 2,
        }
    };
    (0..24 * days).map(hour).collect()
}

fn energy(with_sun: bool) -> SiteEnergy {
    SiteEnergy {
        sun: with_sun.then(|| SunOnRoof { panels: Vec::new(), inverter: INVERTER, sky: SkyModel::HayDavies }),
        tariff: Tariff { fixed_per_day: 0.35, ..Tariff::default() },
        house: HouseLoad::default(),
        fuels: Fuels {
            gas: Fuel { per_kwh: Some(0.06), kg_per_kwh: 0.18 },
            propane: Fuel { per_kwh: Some(0.11), kg_per_kwh: 0.21 },
        },
    }
}

/// A run of a scenario for so many days, with what stands behind the grid and what holds by the hour.
fn run_of(mut scenario: Scenario, days: u32, (grid, power): (Span, SitePower), hours: Vec<PowerHour>) -> Case {
    scenario.days = days;
    scenario.plant =
        Plant::try_new(Parts { power, ..Parts::clone(&scenario.plant) }).expect("the invented plant can be built");
    let options =
        RunOptions { days, grid: Some(grid), daily: true, power: hours, ..RunOptions::from_scenario(&scenario) };
    let outcome = run(&scenario, &options, &mut |_| ()).expect("the invented plant runs");
    // These were of the run, not of a burst pipe.
    scenario.dated_draws.clear();
    Case { scenario, outcome }
}

fn outage(day: i8, hour: i8, hours: f64) -> DatedIncident {
    DatedIncident {
        kind: IncidentKind::PowerOut,
        start: date(2026, 8, day).at(hour, 0, 0, 0),
        length: Span::from_s(3_600.0 * hours),
    }
}

const SPARE: &str = "[[heater]]\nname = \"spare tank\"\nkind = \"electric\"\nvolume = \"30 gal\"\nbuilding = \"Cottage\"\nroom = \"closet\"\n";

/// The plant of the houses with a heater that the sun lets run hotter.
fn boosted(more: &str) -> Scenario {
    let mut scenario = heated(more);
    let mut parts = Parts::clone(&scenario.plant);
    let settings = &mut parts.hot_water.heaters[0].settings;
    settings.mode = Mode::Hybrid;
    settings.sun = Some(SunBoost { surplus_w: 1_200.0, set_c: 62.0, mode: Mode::Hybrid });
    scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    scenario
}

/// Everything: sun, house, battery, generator, and an outage of 40 h from the fourth day on.
pub(crate) fn whole(days: u32, grid_min: i64) -> Case {
    let mut scenario = boosted(SPARE);
    scenario.energy = Some(energy(true));
    scenario.incidents = vec![outage(6, 16, 40.0)];
    let backup = Backup { membrane: false, heaters: true, other_share: 0.5 };
    let power = SitePower { battery: Some(BATTERY), generator: Some(GENERATOR), backup };
    let grid = Span::from_ns(grid_min * Span::MINUTE.ns());
    run_of(scenario, days, (grid, power), hours(days, 7_500.0, true))
}

/// Panels alone on a membrane unit's site, with nothing else in the house; in long runs with a house and a battery.
pub(crate) fn panels(days: u32, grid_min: i64) -> Case {
    let mut scenario = into_a_pond(1).scenario;
    for day in 0..days {
        let start = date(2026, 8, 3).at(8, 0, 0, 0).checked_add(jiff::Span::new().days(day)).unwrap();
        let (flow, length) = (Flow::from_lps(0.12), Span::from_s(5_400.0));
        scenario.dated_draws.push(DatedDraw { outlet: 0, start, length, flow });
    }
    scenario.energy = Some(energy(true));
    let is_long = days > 7;
    let power = SitePower { battery: is_long.then_some(BATTERY), ..SitePower::default() };
    let grid = Span::from_ns(grid_min * Span::MINUTE.ns());
    run_of(scenario, days, (grid, power), hours(days, 4_000.0, is_long))
}

/// A battery alone, and an outage that is too long for it.
pub(crate) fn battery(days: u32) -> Case {
    let mut scenario = boosted("");
    scenario.energy = Some(energy(false));
    scenario.incidents = vec![outage(3, 9, 14.0)];
    let small = Battery { capacity_j: 2.0 * 3.6e6, ..BATTERY };
    let backup = Backup { other_share: 0.3, ..Backup::default() };
    let power = SitePower { battery: Some(small), backup, ..SitePower::default() };
    run_of(scenario, days, (Span::MINUTE, power), hours(days, 0.0, true))
}

fn read(case: &Case, units: Units) -> String {
    let run = case.run(units);
    let caution = text::caution(&run).unwrap_or_default();
    format!("{}\n{}\n{caution}", text::wrapped(&text::headline(&run)), text::body(&run))
}

/// Every case, for the pictures.
pub(crate) fn cases() -> Vec<(&'static str, Case, Units)> {
    vec![
        ("site_week", whole(7, 1), Units::Metric),
        ("site_day", whole(1, 60), Units::Us),
        ("site_quarter", panels(91, 60), Units::Us),
        ("site_panels", panels(2, 1), Units::Us),
        ("site_battery", battery(1), Units::Metric),
    ]
}

#[test]
fn pictures_of_sites_can_be_looked_at() {
    for (name, case, units) in cases() {
        let folder = std::env::var_os("SPRINGHOUSE_PLOTS");
        for plot in plots::all(&case.run(units)) {
            assert_laid_out(name, &plot);
            // Set SPRINGHOUSE_PLOTS to a folder to look at them.
            let Some(folder) = &folder else { continue };
            let place = std::path::Path::new(folder).join(format!("{name}-{}.png", plot.name));
            std::fs::write(place, plot.png().unwrap()).unwrap();
        }
    }
}

/// Days of everything, the grid out from the fourth on and back on the last.
fn days() -> &'static Case {
    static DAYS: OnceLock<Case> = OnceLock::new();
    DAYS.get_or_init(|| whole(6, 10))
}

type Table = Vec<Vec<String>>;

fn table(write: impl FnOnce(&mut Vec<u8>)) -> Table {
    let mut bytes = Vec::new();
    write(&mut bytes);
    let mut table = ::csv::ReaderBuilder::new().has_headers(false).from_reader(bytes.as_slice());
    table.records().map(|record| record.unwrap().iter().map(str::to_owned).collect()).collect()
}

fn tables(case: &Case) -> [Table; 2] {
    let run = case.run(Units::Us);
    [table(|out| csv::minutes(&run, out).unwrap()), table(|out| csv::days(&run, out).unwrap())]
}

fn column(table: &Table, key: &str) -> Option<Vec<f64>> {
    let place = table[0].iter().position(|name| name == key)?;
    Some(table[1..].iter().map(|row| row[place].parse().unwrap()).collect())
}

#[test]
fn exact_columns_of_a_site_add_up_to_the_summary() {
    let case = days();
    let energy = &case.outcome.summary.energy;
    let site = energy.site.as_ref().unwrap();
    let load_kwh = energy.total_kwh + site.rest_of_house_kwh;
    let expected = [
        ("solar_kwh", site.solar_kwh),
        ("own_kwh", site.own_supply_share.unwrap() * load_kwh),
        ("import_kwh", site.import_kwh),
        ("export_kwh", site.export_kwh),
        ("rest_of_house_kwh", site.rest_of_house_kwh),
        ("generator_kwh", site.generator_kwh.unwrap()),
        ("cost", site.cost),
        ("co2_kg", site.co2_kg),
    ];
    let [minutes, days] = tables(case);
    for (key, figure) in expected {
        assert!(figure > 0.0, "{key} tells nothing");
        for table in [&minutes, &days] {
            let sum: f64 = column(table, key).unwrap().iter().sum();
            // Each of 865 cells is rounded to nine decimals.
            assert!((sum - figure).abs() < 1e-6, "{key}: {sum} of {figure}");
        }
    }
    // What burned is in both sums: the fixed price of days alone is less than they have over electricity.
    let gas = energy.parts.iter().find(|part| part.part == "gas heater").unwrap();
    assert!(gas.kwh < 1e-9 && gas.cost.unwrap() > 0.1 && gas.co2_kg.unwrap() > 0.1, "{gas:?}");
    let [levels, ends] = [&minutes, &days].map(|table| column(table, "battery_kwh").unwrap());
    assert_eq!(levels[0], 4.0, "half of 8 kWh");
    let midnights: Vec<f64> =
        levels.iter().skip(1).enumerate().filter(|(row, _)| (row + 1) % 144 == 0).map(|it| *it.1).collect();
    assert_eq!(midnights, ends);
}

#[test]
fn columns_are_of_what_the_site_has() {
    let has = |case: &Case| {
        let keys = ["solar_kwh", "cost", "battery_kwh", "generator_kwh"];
        let [minutes, days] = tables(case);
        let [found, by_day] = [minutes, days].map(|table| keys.map(|key| table[0].iter().any(|name| name == key)));
        assert!(case.outcome.days.is_empty() || found == by_day);
        found
    };
    assert_eq!(has(days()), [true; 4]);
    assert_eq!(has(&panels(1, 60)), [true, true, false, false]);
    assert_eq!(has(&battery(1)), [true, true, true, false]);
    assert_eq!(has(&sound(1, &HOUSES, true, 60)), [false; 4]);
}

/// Whether there is a picture of a name, and what it says in all its words.
fn picture(case: &Case, name: &str) -> Option<String> {
    let plots = plots::all(&case.run(Units::Metric));
    Some(plots.iter().find(|plot| plot.name == name)?.svg().unwrap())
}

#[test]
fn pictures_are_of_what_the_site_has() {
    let sun = |case: &Case| picture(case, "sun").is_some();
    let source = |case: &Case| picture(case, "energy").unwrap().contains("Where it came from");
    let (mut coarse, bare, dark) = (whole(2, 120), sound(2, &HOUSES, true, 60), battery(1));
    assert_eq!([days(), &coarse, &bare, &dark].map(sun), [true, false, false, true]);
    assert_eq!([days(), &coarse, &bare, &dark].map(source), [true, true, false, true]);
    // Neither sun nor battery: there is nothing to see in a day.
    coarse = run_of(heated(""), 1, (Span::HOUR, SitePower::default()), hours(1, 0.0, true));
    assert!(coarse.outcome.summary.energy.site.is_some() && !sun(&coarse) && source(&coarse));
    let place = tempfile::tempdir().unwrap();
    let there = || ["sun.svg", "sun.png"].map(|name| place.path().join(name).is_file());
    write::all(&dark.run(Units::Us), place.path()).unwrap();
    assert_eq!(there(), [true; 2]);
    write::all(&bare.run(Units::Us), place.path()).unwrap();
    assert_eq!(there(), [false; 2]);
}

#[test]
fn exact_the_sunniest_and_the_dullest_day_are_shown() {
    let case = days();
    let title = plot(case, "sun").title().to_owned();
    let by_sun = |a: &&Day, b: &&Day| a.totals.site.solar_j.total_cmp(&b.totals.site.solar_j);
    let days = &case.outcome.days;
    let (most, least) = (days.iter().max_by(by_sun).unwrap(), days.iter().min_by(by_sun).unwrap());
    let said = |day: &Day| {
        let flows = &day.totals.site;
        let [kwh, used] = [flows.solar_j / 3.6e6, 100.0 * flows.own_use_share().unwrap()];
        let kwh = if kwh < 10.0 { format!("{kwh:.2}") } else { format!("{kwh:.1}") };
        format!("{kwh} kWh of sun, {used:.0} % used on the site")
    };
    assert_eq!(title, format!("5 Aug: {}; 7 Aug: {}", said(most), said(least)));
    let svg = picture(case, "sun").unwrap();
    for words in ["Wed 5 Aug 2026, kW", "Fri 7 Aug 2026, kW", "means of 15 min", "in the battery", "grid out"] {
        assert!(svg.contains(words), "{words}");
    }
    // Of one day there is one.
    assert!(!plot(&whole(1, 60), "sun").title().contains(';'));
}

#[test]
fn outages_are_told_of_the_grid_where_something_feeds() {
    let case = battery(1);
    let levels = picture(&case, "levels").unwrap();
    assert!(levels.contains("grid out") && levels.contains("no power") && !levels.contains("power out"));
    let text = flowing(&read(&case, Units::Metric));
    assert!(text.contains("by the scenario the grid was out once, 14 h in all"), "{text}");
    assert!(text.contains("with the grid out nobody fed the site for"), "{text}");
    assert!(text.contains("14 h without the grid: fed "), "{text}");
}

/// A week with known figures.
fn known() -> Case {
    let mut case = warmed(7);
    let mut parts = Parts::clone(&case.scenario.plant);
    parts.power = SitePower { battery: Some(BATTERY), generator: Some(GENERATOR), backup: Backup::default() };
    case.scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    case.scenario.energy = Some(energy(true));
    let summary = &mut case.outcome.summary;
    summary.hot_water[0].kwh_per_l = Some(0.031);
    summary.hot_water[0].season_cop = Some(1.87);
    summary.hot_water[1].kwh_per_l = Some(0.084);
    summary.hot_water[1].season_cop = Some(0.53);
    summary.hot_water[1].fuel_kwh = Some(61.0);
    summary.energy.total_kwh = 27.34;
    let figures =
        [(3.12, 0.40, 1.2, None), (1.02, 0.21, 0.6, None), (11.5, 1.75, 2.4, None), (0.0, 3.66, 11.0, Some(61.0))];
    for (part, (own, cost, co2, fuel)) in summary.energy.parts.iter_mut().zip(figures) {
        (part.own_kwh, part.cost, part.co2_kg, part.fuel_kwh) = (Some(own), Some(cost), Some(co2), fuel);
    }
    summary.energy.site = Some(SiteSummary {
        battery_start_kwh: Some(8.0),
        battery_end_kwh: Some(5.5),
        solar_kwh: 120.0,
        used_on_site_kwh: 66.0,
        export_kwh: 48.0,
        curtailed_kwh: 6.0,
        import_kwh: 40.5,
        battery_in_kwh: Some(31.5),
        battery_out_kwh: Some(28.25),
        generator_kwh: Some(5.5),
        generator_fuel_l: Some(3.75),
        rest_of_house_kwh: 72.66,
        own_use_share: Some(0.55),
        own_supply_share: Some(0.6),
        plant_own_supply_share: Some(0.572),
        cost: 12.3,
        export_income: 3.84,
        plant_cost: 6.02,
        co2_kg: 32.4,
        plant_co2_kg: 15.2,
        by_season: Vec::new(),
        outages: Some(OutageSummary {
            short_kwh: None,
            hours: 7.5,
            battery_hours: 4.0,
            generator_hours: 2.5,
            dark_hours: 1.0,
            first_dark_at: Some("2026-08-06T19:30:00".to_owned()),
            heaters_shed_hours: 0.75,
            membrane_shed_hours: 0.25,
            trips: 2,
            battery_lowest_kwh: Some(0.0),
            battery_lowest_at: Some("2026-08-06T19:30:00".to_owned()),
            fuel_left_l: Some(8.25),
        }),
    });
    case
}

#[test]
fn regress_text_of_a_site() {
    let case = known();
    for (name, units) in [("site_metric", Units::Metric), ("site_us", Units::Us)] {
        let text = read(&case, units);
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        insta::assert_snapshot!(name, text);
    }
}

#[test]
fn exact_text_leaves_out_what_is_not_there() {
    let mut case = known();
    let said = |case: &Case| {
        let text = flowing(&text::body(&case.run(Units::Metric)));
        text.find("Electricity ").map_or_else(String::new, |from| text[from..].to_owned())
    };
    let all = said(&case);
    assert!(
        all.contains("Electricity 100.0 kWh: plant 27.3 kWh, rest of the house 72.7 kWh Sun 120.0 kWh: 55 % used"),
        "{all}"
    );
    assert!(all.contains("Cost 12.30: 16.14 less 3.84 that the grid paid; parts of the plant 6.02 CO2"), "{all}");
    let site = case.outcome.summary.energy.site.as_mut().unwrap();
    (site.solar_kwh, site.own_supply_share, site.plant_own_supply_share) = (0.0, None, None);
    (site.rest_of_house_kwh, site.cost, site.export_income, site.plant_cost, site.co2_kg) = (0.0, 0.0, 0.0, 0.0, 0.0);
    (site.battery_in_kwh, site.battery_out_kwh, site.generator_kwh, site.outages) = (None, None, None, None);
    for part in &mut case.outcome.summary.energy.parts {
        (part.cost, part.co2_kg) = (Some(0.0), Some(0.0));
    }
    let text = said(&case);
    assert!(text.contains("Electricity 27.3 kWh Grid 40.5 kWh imported Energy for water"), "{text}");
    for word in ["Sun", "own", "Battery", "Generator", "Cost", "cost", "CO2", "Outages"] {
        assert!(!text.split(' ').any(|it| it == word), "{word}: {text}");
    }
    case.outcome.summary.energy.site = None;
    assert_eq!(said(&case), "");
}

#[test]
fn dangers_of_a_site_raise_their_caution_once() {
    let words = ["panels are live", "a battery that fails", "carbon monoxide", "the sun has heated beyond"];
    let raised = |case: &Case| {
        let text = flowing(&text::caution(&case.run(Units::Us)).unwrap_or_default());
        words.map(|words| text.matches(words).count())
    };
    let mut case = sound(1, &HOUSES, true, 60);
    assert_eq!(raised(&case), [0; 4]);
    case.scenario.energy = Some(energy(false));
    assert_eq!(raised(&case), [0; 4], "prices alone");
    case.scenario.energy = Some(energy(true));
    assert_eq!(raised(&case), [1, 0, 0, 0]);
    case.scenario.plant = boosted("").plant;
    assert_eq!(raised(&case), [1, 0, 0, 1]);
    case.outcome.summary.verdict.findings = vec![finding(FindingKind::ScaldingWater, false, "House")];
    assert_eq!(raised(&case), [1, 0, 0, 0], "said already");
    assert_eq!(raised(&known()), [1, 1, 1, 0]);
    case.scenario.energy = None;
    let mut parts = Parts::clone(&case.scenario.plant);
    parts.power.generator = Some(GENERATOR);
    case.scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    assert_eq!(raised(&case), [0, 0, 1, 0]);
    // What is said of work on the site, of fire and of where it runs is left to local code.
    let text = flowing(&text::caution(&known().run(Units::Us)).unwrap());
    assert!(
        text.contains("licensed electrician") && text.contains("local code") && text.contains("transfer switch"),
        "{text}"
    );
}

#[test]
fn findings_of_a_site_are_sentences() {
    let mut case = known();
    let trips = Finding { count: Some(2), ..finding(FindingKind::BackupOverloaded, true, "site") };
    case.outcome.summary.verdict.findings = vec![trips];
    let headline = text::headline(&case.run(Units::Us));
    let said = "Falls short: the pumps alone were more than what stands behind the grid can feed: it tripped twice.";
    assert_eq!(headline, said);
    let at = Some("2026-08-06T19:30:00".to_owned());
    case.outcome.summary.verdict.findings =
        vec![Finding { at, minutes: Some(60.0), ..finding(FindingKind::BackupEnded, false, "site") }];
    let text = flowing(&text::body(&case.run(Units::Us)));
    let said = "Note: with the grid out nobody fed the site for 1 h in all, first on Thu 6 Aug 2026, 19:30.";
    assert!(text.starts_with(said), "{text}");
}
