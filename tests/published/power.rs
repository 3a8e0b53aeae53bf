//! Prices by the hour, and who gives what on a site, by hand; and what must hold for any site.

use std::path::Path;

use jiff::civil::{Date, date};
use proptest::option::of;
use proptest::prelude::*;
use springhouse_core::power::{Asked, Battery, Charge, Feed, Generator, PowerHour, SiteFlows, SitePower};
use springhouse_core::time::Span;
use springhouse_scenario::energy::{Fuel, Fuels, HouseLoad, SiteEnergy, Tariff, TariffHours};
use springhouse_scenario::load;
use springhouse_sim::{RunOptions, meet_the_grid};

const KWH: f64 = 3.6e6;
const HOUR_S: f64 = 3_600.0;
const MONTHS: [bool; 12] = [true; 12];
const WORKDAYS: [bool; 7] = [true, true, true, true, true, false, false];
const WEEKEND: [bool; 7] = [false, false, false, false, false, true, true];

/// The hours of a run of so many days.
fn hours(tariff: Tariff, house: HouseLoad, first_day: Date, days: u32) -> Vec<PowerHour> {
    let file = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../scenarios/ideal.toml"));
    let mut scenario = load(file).expect("a ready scenario is sound").scenario;
    let mut options = RunOptions { first_day, days, ..RunOptions::from_scenario(&scenario) };
    meet_the_grid(&scenario, None, &mut options);
    assert!(options.power.is_empty(), "nothing is told of energy");
    let fuel = Fuel { per_kwh: None, kg_per_kwh: 0.0 };
    scenario.energy = Some(SiteEnergy { sun: None, tariff, house, fuels: Fuels { gas: fuel, propane: fuel } });
    meet_the_grid(&scenario, None, &mut options);
    assert_eq!(options.power.len(), 24 * days as usize);
    assert!(options.power.iter().all(|hour| hour.is_sound() && hour.solar_w == 0.0));
    options.power
}

fn between(start_h: u8, end_h: u8, weekdays: [bool; 7], import_per_kwh: f64) -> TariffHours {
    let (import_per_kwh, export_per_kwh) = (Some(import_per_kwh), None);
    TariffHours { start_h, end_h, weekdays, months: MONTHS, import_per_kwh, export_per_kwh }
}

/// Workdays dear from 17 to 21; summer's nights cheap from 22 to 6 if they begin on a workday; weekends in between.
fn tariff() -> Tariff {
    let mut summer = [false; 12];
    summer[5..8].fill(true);
    let night = TariffHours { months: summer, export_per_kwh: Some(0.03), ..between(22, 6, WORKDAYS, 0.10) };
    Tariff {
        import_per_kwh: 0.20,
        export_per_kwh: 0.06,
        fixed_per_day: 0.5,
        kg_per_kwh: 0.4,
        hours: vec![between(17, 21, WORKDAYS, 0.40), night, between(0, 24, WEEKEND, 0.15)],
    }
}

/// A kilowatt, all day.
fn constant() -> HouseLoad {
    HouseLoad { kwh_per_day: 24.0, ..HouseLoad::default() }
}

/// What a kilowatt costs on each of the days.
fn costs(hours: &[PowerHour]) -> Vec<f64> {
    let flows = |hour: &PowerHour| {
        let asked = Asked { seconds: HOUR_S, plant_j: 0.0, other_j: hour.other_w * HOUR_S };
        SitePower::default().share_out(Feed::Grid, hour, &asked, &mut Charge::default())
    };
    hours.chunks(24).map(|day| day.iter().map(|hour| flows(hour).import_cost).sum()).collect()
}

fn assert_near(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-12 * expected.abs(), "{found} for {expected}");
}

#[test]
fn exact_cost_of_a_kilowatt_by_hand() {
    let friday = date(2027, 8, 27);
    let hours = hours(tariff(), constant(), friday, 7);
    let by_hand = [
        // Friday: 6 h of the night from Thursday, 11 h of the day, 4 dear ones, one more, 2 of the night.
        0.6 + 2.2 + 1.6 + 0.2 + 0.2,
        // Saturday: 6 h of the night from Friday, then the weekend.
        0.6 + 18.0 * 0.15,
        // Sunday: no night begins on a Saturday.
        24.0 * 0.15,
        // Monday: nor on a Sunday.
        1.2 + 2.2 + 1.6 + 0.2 + 0.2,
        // Tuesday, the last of August.
        4.8,
        // The first of September: what is left of August's last night, and no other.
        0.6 + 2.2 + 1.6 + 0.6,
        1.2 + 2.2 + 1.6 + 0.6,
    ];
    for (found, expected) in costs(&hours).into_iter().zip(by_hand) {
        assert_near(found, expected);
    }
    let exports = |hour: usize| hours[hour].export_per_kwh;
    assert_eq!(
        (exports(5), exports(6), exports(18), exports(22), exports(5 * 24 + 22)),
        (0.03, 0.06, 0.06, 0.03, 0.06)
    );
    assert!(hours.iter().all(|hour| hour.import_kg_per_kwh == 0.4));
}

#[test]
fn exact_first_hours_count() {
    let saturday = date(2027, 8, 28);
    let mut weekend_first = tariff();
    weekend_first.hours.rotate_right(1);
    assert_near(costs(&hours(weekend_first, constant(), saturday, 1))[0], 24.0 * 0.15);
    // The first counts although it has no price of its own: that outside holds.
    let mut silent = tariff();
    silent.hours.insert(0, TariffHours { import_per_kwh: None, ..between(0, 6, [true; 7], 0.0) });
    assert_near(costs(&hours(silent, constant(), saturday, 1))[0], 1.2 + 18.0 * 0.15);
}

#[test]
fn exact_hours_that_end_as_they_begin_are_a_day() {
    let mondays = [true, false, false, false, false, false, false];
    let tariff = Tariff { import_per_kwh: 0.2, hours: vec![between(5, 5, mondays, 0.1)], ..Tariff::default() };
    let hours = hours(tariff, constant(), date(2027, 8, 29), 4);
    let cheap: Vec<usize> = (0..96).filter(|hour| hours[*hour].import_per_kwh == 0.1).collect();
    assert_eq!(cheap, (24 + 5..48 + 5).collect::<Vec<_>>());
}

#[test]
fn exact_house_and_season_follow_the_calendar() {
    let mut by_hour = [0.0; 24];
    (by_hour[7], by_hour[19]) = (0.25, 0.75);
    let mut by_month = [1.0; 12];
    (by_month[7], by_month[8]) = (0.5, 1.5);
    let house = HouseLoad { kwh_per_day: 12.0, by_hour, by_month };
    let found = hours(Tariff::default(), house, date(2027, 8, 31), 2);
    let power = |hour: usize| found[hour].other_w;
    assert_eq!([power(6), power(7), power(19)], [0.0, 1_500.0, 4_500.0]);
    assert_eq!([power(24 + 7), power(24 + 19), power(24 + 20)], [4_500.0, 13_500.0, 0.0]);
    for (month, before, after) in [(3, 0, 1), (6, 1, 2), (9, 2, 3), (12, 3, 0)] {
        let first = date(2028, month, 1);
        let eve = first.yesterday().expect("a day");
        let found = hours(Tariff::default(), constant(), eve, 2);
        assert!(found[..24].iter().all(|hour| hour.season == before), "the day before {first}");
        assert!(found[24..].iter().all(|hour| hour.season == after), "{first}");
    }
}

fn battery() -> Battery {
    // A round trip of 0.81; a kilowatt-hour is kept.
    Battery { capacity_j: 4.0 * KWH, power_w: 2_000.0, one_way: 0.9, reserve_share: 0.25, start_share: 0.25 }
}

fn with(battery: Option<Battery>, generator: Option<Generator>) -> SitePower {
    SitePower { battery, generator, ..SitePower::default() }
}

/// So many equal steps of an hour, with the plant and the house taking so many watts.
/// A charge that the sun has put in.
fn by_the_sun(energy_j: f64) -> Charge {
    Charge { energy_j, own_j: energy_j, ..Charge::default() }
}

fn hour(site: &SitePower, feed: Feed, hour: &PowerHour, plant_w: f64, charge: &mut Charge, steps: u32) -> SiteFlows {
    let seconds = HOUR_S / f64::from(steps);
    let asked = Asked { seconds, plant_j: plant_w * seconds, other_j: hour.other_w * seconds };
    (0..steps).fold(SiteFlows::default(), |sum, _| sum.plus(&site.share_out(feed, hour, &asked, charge)))
}

#[test]
fn exact_day_of_sun_and_battery_by_hand() {
    let site = with(Some(battery()), None);
    for steps in [1, 60] {
        let (mut all, mut charge) = (SiteFlows::default(), by_the_sun(KWH));
        for clock_h in 0..24 {
            let import_per_kwh = if clock_h < 6 {
                0.10
            } else if (17..21).contains(&clock_h) {
                0.40
            } else {
                0.25
            };
            let given = PowerHour {
                solar_w: if (9..15).contains(&clock_h) { 3_000.0 } else { 0.0 },
                other_w: 200.0,
                import_per_kwh,
                export_per_kwh: 0.08,
                import_kg_per_kwh: 0.4,
                season: 0,
            };
            all = all.plus(&hour(&site, Feed::Grid, &given, 300.0, &mut charge, steps));
        }
        // Half a kilowatt all day, of which the sun serves 6 h; it leaves 2.5 kW. The battery takes 2 of them in the first
        // hour and holds 2.8 kWh then; in the second it takes the last 1.2 / 0.9; what is left is sold: 0.5, 7/6, and 10.
        // After the sun it gives 3 x 0.9 = 2.7 kWh, 5.4 h long; the grid gives 9 h before the sun, 0.6 and 3 h after.
        let kwh =
            |found_j: f64, expected: f64| assert!((found_j / KWH - expected).abs() < 1e-9, "{found_j} for {expected}");
        kwh(all.solar_j, 18.0);
        kwh(all.plant_j, 7.2);
        kwh(all.load_j(), 12.0);
        kwh(all.direct_j, 3.0);
        kwh(all.charged_j, 10.0 / 3.0);
        kwh(all.discharged_j, 2.7);
        kwh(all.exported_j, 35.0 / 3.0);
        kwh(all.imported_j, 6.3);
        kwh(all.topped_up_j + all.curtailed_j + all.generated_j + all.short_j, 0.0);
        kwh(charge.energy_j, 1.0);
        let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found} for {expected}");
        near(all.discharged_j / all.charged_j, 0.81);
        near(all.own_use_share().expect("sun"), (3.0 + 10.0 / 3.0) / 18.0);
        near(all.own_supply_share().expect("a load"), 5.7 / 12.0);
        // Bought: 6 h cheap and 3 h not before the sun; 0.3 kWh dear from 20 to 21, and 3 h after.
        near(all.import_cost, 3.0 * 0.10 + 1.5 * 0.25 + 0.3 * 0.40 + 1.5 * 0.25);
        near(all.export_income, 35.0 / 3.0 * 0.08);
        near(all.co2_kg, 6.3 * 0.4);
        near(all.cost(), 1.17 - 2.8 / 3.0);
    }
}

#[test]
fn exact_reserve_is_topped_up_from_the_grid() {
    let night = PowerHour { other_w: 500.0, import_per_kwh: 0.2, ..PowerHour::default() };
    let mut charge = by_the_sun(0.5 * KWH);
    let flows = hour(&with(Some(battery()), None), Feed::Grid, &night, 0.0, &mut charge, 1);
    // Half a kilowatt-hour is lacking: 0.5 / 0.9 from the grid beside the load, and none of it is given to the load.
    assert_near(flows.topped_up_j, 0.5 / 0.9 * KWH);
    assert_near(flows.imported_j, 0.5 * KWH);
    assert_near(flows.import_cost, 0.2 * (0.5 + 0.5 / 0.9));
    assert_near(charge.energy_j, KWH);
    assert_eq!(flows.discharged_j, 0.0);
    // Half a kilowatt of battery power, 0.3 of it taken by the sun's for as long: 0.2 kWh are left for the grid.
    let slow = Battery { power_w: 500.0, ..battery() };
    let dim = PowerHour { solar_w: 800.0, other_w: 500.0, ..PowerHour::default() };
    let mut charge = by_the_sun(0.5 * KWH);
    let flows = hour(&with(Some(slow), None), Feed::Grid, &dim, 0.0, &mut charge, 1);
    assert_near(flows.charged_j, 0.3 * KWH);
    assert_near(flows.topped_up_j, 0.2 * KWH);
    assert_near(charge.energy_j, (0.5 + 0.9 * 0.5) * KWH);
}

#[test]
fn exact_outage_takes_the_reserve_too() {
    let site = with(Some(battery()), None);
    let dusk = PowerHour { solar_w: 200.0, other_w: 300.0, ..PowerHour::default() };
    let mut charge = by_the_sun(KWH);
    // 1.1 kW are asked, 0.2 come from the sun and 0.9 of the battery, which just has them: 1 x 0.9.
    let flows = hour(&site, Feed::Battery, &dusk, 800.0, &mut charge, 60);
    assert_near(flows.discharged_j, 0.9 * KWH);
    assert_near(flows.direct_j, 0.2 * KWH);
    assert!(flows.short_j < 1e-9 * KWH && charge.energy_j < 1e-9 * KWH, "{flows:?}, {charge:?}");
    // In the next minute it has nothing, and the engine is told by how much.
    let asked = Asked { seconds: 60.0, plant_j: 48_000.0, other_j: 0.0 };
    let flows = site.share_out(Feed::Battery, &PowerHour::default(), &asked, &mut Charge::default());
    assert_eq!((flows.short_j, flows.imported_j), (48_000.0, 0.0));
    // The sun charges it while the grid is out, and what it cannot take is lost.
    let noon = PowerHour { solar_w: 3_000.0, export_per_kwh: 1.0, ..PowerHour::default() };
    let mut charge = by_the_sun(0.0);
    let flows = hour(&site, Feed::Battery, &noon, 500.0, &mut charge, 60);
    assert_near(flows.charged_j, 2.0 * KWH);
    assert_near(flows.curtailed_j, 0.5 * KWH);
    assert_near(charge.energy_j, 1.8 * KWH);
    assert_eq!(flows.export_income, 0.0);
}

fn generator() -> Generator {
    Generator {
        power_w: 4_000.0,
        start_after: Span::MINUTE,
        fuel_l: None,
        idle_l_h: 0.4,
        full_l_h: 1.6,
        price_per_l: 1.5,
        kg_per_l: 2.3,
        one_motor: false,
    }
}

#[test]
fn exact_fuel_of_the_generator_by_hand() {
    // 0.4 L/h without load and 1.6 at 4 kW: 0.7 at 1 kW.
    let site = with(None, Some(generator()));
    let noon = PowerHour { solar_w: 600.0, other_w: 400.0, ..PowerHour::default() };
    let flows = hour(&site, Feed::Generator, &noon, 600.0, &mut Charge::default(), 60);
    assert_near(flows.generated_j, KWH);
    assert_near(flows.fuel_l, 0.7);
    assert_near(flows.fuel_cost, 0.7 * 1.5);
    assert_near(flows.co2_kg, 0.7 * 2.3);
    // Nothing steadies the panels without a battery.
    assert_eq!((flows.direct_j, flows.own_use_share()), (0.0, Some(0.0)));
    assert_near(flows.curtailed_j, 0.6 * KWH);
    assert_near(generator().fuel_l(0.0, 1_800.0), 0.2);
    assert_near(generator().fuel_l(4.0 * KWH, HOUR_S), 1.6);
    // With one, 0.6 kW of the 1 kW are the sun's, and the battery keeps what it has.
    let mut charge = by_the_sun(2.0 * KWH);
    let flows = hour(&with(Some(battery()), Some(generator())), Feed::Generator, &noon, 600.0, &mut charge, 60);
    assert_near(flows.generated_j, 0.4 * KWH);
    assert_near(flows.fuel_l, 0.4 + 0.3 * 0.4);
    assert_eq!((charge.energy_j, flows.discharged_j), (2.0 * KWH, 0.0));
}

fn any_site() -> impl Strategy<Value = SitePower> {
    let battery =
        (1.0..1e9, 1.0..2e4, 0.4..=1.0, 0.0..=1.0).prop_map(|(capacity_j, power_w, one_way, reserve_share)| Battery {
            capacity_j,
            power_w,
            one_way,
            reserve_share,
            start_share: 0.0,
        });
    (of(battery), of(Just(generator()))).prop_map(|(battery, generator)| with(battery, generator))
}

fn any_hour() -> impl Strategy<Value = PowerHour> {
    let watts = || prop_oneof![Just(0.0), 0.0..2e4];
    (watts(), watts(), 0.0..1.0, -0.2..1.0).prop_map(|(solar_w, other_w, import_per_kwh, export_per_kwh)| PowerHour {
        solar_w,
        other_w,
        import_per_kwh,
        export_per_kwh,
        import_kg_per_kwh: 0.4,
        season: 0,
    })
}

fn any_feed() -> impl Strategy<Value = Feed> {
    prop_oneof![Just(Feed::Grid), Just(Feed::Battery), Just(Feed::Generator), Just(Feed::Nobody)]
}

proptest! {
    /// Whatever the site and its hours: energy goes somewhere, the battery holds what it can, and shares are shares.
    #[test]
    fn exact_energy_of_any_site_goes_somewhere(
        site in any_site(), fill in 0.0..=1.0,
        steps in proptest::collection::vec((any_feed(), any_hour(), prop_oneof![Just(0.0), 0.0..2e4], 1.0..3_600.0), 1..60),
    ) {
        let battery = site.battery.unwrap_or(Battery { capacity_j: 0.0, ..battery() });
        let first_j = fill * battery.capacity_j;
        let (mut charge, mut all) = (Charge { energy_j: first_j, ..Charge::default() }, SiteFlows::default());
        let mut paid = 0.0;
        for (feed, hour, plant_w, seconds) in steps {
            let asked = Asked { seconds, plant_j: plant_w * seconds, other_j: hour.other_w * seconds };
            let before_j = charge.energy_j;
            let flows = site.share_out(feed, &hour, &asked, &mut charge);
            let stored_j = charge.energy_j;
            paid += flows.topped_up_j / KWH * hour.import_per_kwh;
            prop_assert!((0.0..=stored_j).contains(&charge.own_j), "{charge:?}");
            prop_assert!((0.0..=flows.discharged_j).contains(&flows.discharged_own_j), "{flows:?}");
            let scale_j = flows.solar_j + flows.load_j();
            prop_assert!(flows.residual_j().abs() <= 1e-12 * scale_j, "{flows:?}");
            prop_assert!((0.0..=battery.capacity_j).contains(&stored_j), "{stored_j} of {}", battery.capacity_j);
            let parts = [
                flows.direct_j, flows.charged_j, flows.discharged_j, flows.topped_up_j, flows.imported_j,
                flows.exported_j, flows.curtailed_j, flows.generated_j, flows.short_j, flows.fuel_l,
            ];
            prop_assert!(parts.iter().all(|part| *part >= 0.0), "{flows:?}");
            let most_j = battery.power_w * seconds * (1.0 + 1e-12);
            prop_assert!(flows.charged_j + flows.topped_up_j <= most_j, "{flows:?}");
            prop_assert!(feed != Feed::Grid || flows.discharged_j <= most_j, "{flows:?}");
            if feed == Feed::Grid {
                // On the grid the reserve is never given away.
                let kept_j = before_j.min(battery.reserve_share * battery.capacity_j);
                prop_assert!(stored_j >= kept_j * (1.0 - 1e-12), "{stored_j} of {kept_j}");
                prop_assert_eq!(flows.short_j + flows.curtailed_j + flows.generated_j, 0.0);
            } else {
                prop_assert_eq!(flows.import_j() + flows.exported_j, 0.0);
            }
            all = all.plus(&flows);
        }
        for share in [all.own_use_share(), all.own_supply_share()].into_iter().flatten() {
            prop_assert!((0.0..=1.0 + 1e-12).contains(&share), "{share}");
        }
        let into_j = battery.one_way * (all.charged_j + all.topped_up_j);
        let (out_j, change_j) = (all.discharged_j / battery.one_way, charge.energy_j - first_j);
        prop_assert!((into_j - out_j - change_j).abs() <= 1e-9 * (into_j + out_j + first_j), "{all:?}");
        // What the grid was paid for what it put in is paid by what comes out, and by what is still in.
        prop_assert!((paid - all.discharged_cost - charge.cost).abs() <= 1e-9 * (1.0 + paid), "{paid} for {charge:?}");
    }
}
