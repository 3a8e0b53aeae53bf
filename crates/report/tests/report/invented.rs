//! Invented plants and outcomes: rows and events made by hand, not by the engine.

use jiff::civil::date;
use springhouse_core::delivery::Delivery;
use springhouse_core::hot_water::HotWater;
use springhouse_core::observe::{Event, EventKind, MembraneNow, OutletTotals, Part, Totals, Trouble};
use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_core::plant::{Parts, Plant, Store};
use springhouse_core::power::SitePower;
use springhouse_core::pressure_tank::PressureTank;
use springhouse_core::pump::{PumpCurve, PumpPower, SupplyPump};
use springhouse_core::quality::Quality;
use springhouse_core::storage::{Fill, Storage};
use springhouse_core::supply::{Control, Drive, Source, Supply};
use springhouse_core::time::{Span, Time};
use springhouse_core::water::Water;
use springhouse_core::well::{LowLevelCutoff, Response, Well};
use springhouse_report::Run;
use springhouse_scenario::{Scenario, Units};
use springhouse_sim::{
    Balance, Energy, EnergyPart, Finding, FindingKind, HotWaterNow, Outcome, OutletSummary, Pressure, Row, Summary,
    SupplySummary, Verdict, WaterSummary, WellSummary, Work,
};

/// A scenario and what came of it.
pub(crate) struct Case {
    pub(crate) scenario: Scenario,
    pub(crate) outcome: Outcome,
}

impl Case {
    pub(crate) fn run(&self, units: Units) -> Run<'_> {
        Run { scenario: &self.scenario, outcome: &self.outcome, first_day: self.scenario.start, units }
    }
}

fn tank(volume_l: f64, precharge_kpa: f64) -> PressureTank {
    PressureTank { volume_l, precharge_kpa, air_share: 1.0, start_kpa: precharge_kpa + 30.0, atmospheric_kpa: 101.325 }
}

fn store() -> Store {
    let power = PumpPower::Efficiency { best_flow_lps: 0.8, best_efficiency: 0.5 };
    Store {
        storage: Storage {
            capacity_l: 2_000.0,
            start_l: 1_800.0,
            fill: Fill::FloatSwitch { start_l: 1_500.0, stop_l: 1_900.0, flow_lps: 0.3, full_flow_kpa: 150.0 },
            protect_l: 200.0,
            restart_l: 400.0,
        },
        delivery: Delivery {
            curve: PumpCurve::Parabola { shutoff_m: 60.0, loss_m_per_lps2: 20.0 },
            power,
            drive: Drive {
                set_kpa: 350.0,
                wake_kpa: 280.0,
                sleep_flow_lps: 0.02,
                sleep_delay: Span::from_s(20.0),
                standby_w: 8.0,
            },
            lift_m: 1.0,
            tank: tank(20.0, 245.0),
        },
    }
}

/// A plant of as many like wells as there are names.
pub(crate) fn plant(outlets: &[(&str, Role)], with_store: bool, wells: &[&str]) -> Plant {
    let water = Water { density_kg_m3: 999.7, viscosity_pa_s: 1.3e-3 };
    let curve = PumpCurve::Parabola { shutoff_m: 110.0, loss_m_per_lps2: 60.0 };
    let power = PumpPower::Efficiency { best_flow_lps: 0.7, best_efficiency: 0.45 };
    let header = |role| if with_store && role == Role::Building { Header::Delivery } else { Header::Raw };
    let outlets = outlets.iter().map(|&(name, role)| Outlet::plain(name, role, header(role), 150.0));
    let well = Well {
        static_depth_m: 18.0,
        pump_depth_m: 60.0,
        response: Response::Drawdown { casing_l_per_m: 18.0, specific_capacity_lps_per_m: 0.02, entry_depth_m: 55.0 },
        cutoff: (!with_store).then_some(LowLevelCutoff {
            stop_depth_m: 57.0,
            restart_depth_m: 30.0,
            restart_delay: Span::from_s(1_800.0),
        }),
        start_drawdown_m: 0.0,
    };
    let control = Control::Switch { cut_in_kpa: 280.0, cut_out_kpa: 410.0 };
    let pump = SupplyPump::new(curve, None, &water, power, 1.0, control);
    let source = Source::Well { well, pump };
    let supply = |name: &str| Supply {
        name: name.to_owned(),
        source: source.clone(),
        quality: Quality::PURE,
        temp_c: 12.0,
        standby: false,
    };
    Plant::try_new(Parts {
        supplies: wells.iter().map(|name| supply(name)).collect(),
        change_over: None,
        pressure_tank: Some(tank(300.0, 266.0)),
        stages: Vec::new(),
        reducer_kpa: None,
        membrane: None,
        store: with_store.then(store),
        outlets: outlets.collect(),
        hot_water: HotWater::default(),
        power: SitePower::default(),
        water,
    })
    .expect("the invented plant can be built")
}

pub(crate) fn event(day: i64, hour: f64, part: Part, kind: EventKind, value: f64) -> Event {
    Event { time: Time::from_day(day) + Span::from_s(3_600.0 * hour), part, kind, value }
}

/// Rows of a grid of `grid_min` minutes: storage falls in the day and fills in the night, pressure saws.
fn rows(days: u32, grid_min: u32, with_store: bool, outlets: usize) -> Vec<Row> {
    let mut totals = Totals::default();
    let mut storage_l = 1_800.0_f64;
    let mut saw = 0.0_f64;
    let mut all = Vec::new();
    for step in 0..=(days * 1_440 / grid_min) {
        let minute = step * grid_min;
        let of_day = f64::from(minute % 1_440) / 60.0;
        let day = f64::from(minute / 1_440);
        let drawn = if (6.0..9.0).contains(&of_day) || (17.0..21.5).contains(&of_day) {
            2.6 + 0.3 * day.min(6.0)
        } else {
            0.15
        };
        let pump_on = storage_l < 1_890.0 && of_day % 2.0 < 0.8;
        let filled = if pump_on { 6.0 } else { 0.0 };
        let minutes = f64::from(grid_min);
        storage_l = (storage_l + minutes * (filled - drawn)).clamp(150.0, 1_900.0);
        saw = (saw + drawn * minutes * 3.0) % 130.0;
        let raw_kpa = 410.0 - saw;
        let delivery_kpa = if !with_store {
            0.0
        } else if storage_l <= 200.0 {
            40.0
        } else {
            350.0 - 0.5 * saw
        };
        all.push(Row {
            time: Time::from_s(60.0 * f64::from(minute)),
            raw_kpa,
            sources: [if pump_on { 9.5 } else { 1.25 }, 0.0, 0.0],
            pump_on: [pump_on, false, false],
            starts: [0; 3],
            storage_l: if with_store { storage_l } else { 0.0 },
            delivery_kpa,
            lowest_house_kpa: if with_store { delivery_kpa } else { raw_kpa } - 15.0,
            wanted_lps: drawn / 60.0,
            carried: [350.0, 0.0, 0.0, 0.0, 0.0, 0.0, 12.0],
            sources_salt_mg_l: [350.0, 0.0, 0.0],
            sources_temp_c: [12.0, 0.0, 0.0],
            raw_temp_c: 12.0,
            ice_m: [0.0; 3],
            membrane: MembraneNow::default(),
            hot_water: HotWaterNow::default(),
            stored_j: 0.0,
            totals,
        });
        totals.supplies[0].pumped_l += minutes * filled;
        totals.filled_l += minutes * filled;
        totals.supplies[0].pump_j += if pump_on { 60.0 * minutes * 900.0 } else { 0.0 };
        totals.delivery_j += 60.0 * minutes * 40.0;
        totals.supplies[0].run_s += if pump_on { 60.0 * minutes } else { 0.0 };
        for outlet in totals.outlets.iter_mut().take(outlets) {
            *outlet = OutletTotals { delivered_l: outlet.delivered_l + drawn * minutes / 3.0, lost_l: outlet.lost_l };
        }
    }
    all
}

fn energy(with_store: bool) -> Energy {
    Energy {
        total_kwh: 9.84,
        well_pump_kwh: Some(7.12),
        membrane_pump_kwh: None,
        delivery_kwh: with_store.then_some(2.72),
        heaters_kwh: None,
        kwh_per_m3_delivered: Some(1.5),
        parts: parts(with_store),
        highest_minute_w: 1_150.0,
        site: None,
    }
}

fn summary(scenario: &Scenario, days: u32) -> Summary {
    let role = |role| if role == Role::Building { "building" } else { "raw_load" };
    let outlets = scenario.plant.outlets.iter().map(|outlet| OutletSummary {
        name: outlet.name.clone(),
        role: role(outlet.role).to_owned(),
        delivered_l: 2_660.5,
        short_l: 0.0,
        run_outs: 0,
        run_out_minutes: 0.0,
        longest_run_out_min: 0.0,
        longest_run_out_at: None,
        first_run_out_at: None,
        lowest_tap_kpa: None,
        salt_g: 0.0,
    });
    let with_store = scenario.plant.store.is_some();
    Summary {
        scenario: scenario.name.clone(),
        start: scenario.start.to_string(),
        days,
        seed: 1,
        run: 4,
        version: "0.1.0".to_owned(),
        verdict: Verdict { holds: true, findings: Vec::new() },
        water: WaterSummary {
            delivered_l: 5_321.0,
            short_l: 0.0,
            run_outs: 0,
            run_out_minutes: 0.0,
            lowest_storage_l: with_store.then_some(1_240.0),
            lowest_storage_at: with_store.then(|| "2026-08-04T21:28:12.123456789".to_owned()),
            raw_loads_l: None,
            raw_short_l: None,
            backwash_l: None,
            leaked_l: None,
            drained_l: None,
        },
        outlets: outlets.collect(),
        supplies: vec![SupplySummary {
            name: "well".to_owned(),
            kind: "well".to_owned(),
            standby: false,
            given_l: 5_400.0,
            inflow_l: 5_420.0,
            topped_up_l: None,
            returned_l: None,
            leaked_back_l: None,
            spilled_l: None,
            open_water: None,
            starts: Some(9 * u64::from(days)),
            most_starts_in_a_day: Some(11),
            run_hours: 2.1 * f64::from(days),
            shortest_run_s: Some(184.2),
            short_runs: Some(0),
            short_cycling_spells: Some(0),
            low_level_trips: Some(0),
            deepest_drawdown_m: Some(12.34),
            lowest_l: None,
            lowest_at: None,
            end_l: None,
            salt_mg_l: 350.0,
            pump_kwh: Some(7.12),
            cost: None,
        }],
        change_over: None,
        weather: None,
        treatment: Vec::new(),
        membrane: None,
        storage: None,
        well: Some(WellSummary {
            pumped_l: 5_400.0,
            starts: 9 * u64::from(days),
            most_starts_in_a_day: 11,
            run_hours: 2.1 * f64::from(days),
            shortest_run_s: Some(184.2),
            shortest_cycle_s: Some(1_210.0),
            short_cycling_spells: 0,
            short_cycling_minutes: 0.0,
            low_level_trips: 0,
            deepest_drawdown_m: 12.34,
            mean_pressure_kpa: 344.0,
        }),
        hot_water: Vec::new(),
        rooms: Vec::new(),
        pressure: Pressure { lowest_kpa: 268.0, minutes_below_set: 0.0 },
        energy: energy(with_store),
        balance: Balance {
            water_residual_l: 1e-9,
            salt_residual_g: 1e-9,
            heat_residual_kwh: None,
            power_residual_kwh: None,
        },
        work: Work { segments: 1_000, steps: 5_000, rejected: 3 },
    }
}

fn parts(with_store: bool) -> Vec<EnergyPart> {
    let part = |part: &str, kwh| EnergyPart { part: part.to_owned(), kwh, ..EnergyPart::default() };
    let mut parts = vec![part("well pump", 7.12)];
    parts.extend(with_store.then(|| part("delivery pump", 2.72)));
    parts
}

/// A case with nothing amiss: three or so runs of the pump a day.
pub(crate) fn sound(days: u32, outlets: &[(&str, Role)], with_store: bool, grid_min: u32) -> Case {
    let scenario = Scenario {
        name: "invented".to_owned(),
        title: "House on the ridge, with a cottage".to_owned(),
        start: date(2026, 8, 3),
        days,
        seed: 1,
        units: Units::Metric,
        plant: plant(outlets, with_store, &["well"]),
        schedule: Vec::new(),
        homes: Vec::new(),
        weather: None,
        rain_skips: Vec::new(),
        logs: Vec::new(),
        incidents: Vec::new(),
        dated_draws: Vec::new(),
        rain: Vec::new(),
        prices_per_m3: Vec::new(),
        membrane_design: None,
        heater_plates: Vec::new(),
        energy: None,
    };
    let mut events = Vec::new();
    for day in 0..i64::from(days) {
        for hour in [0.0, 2.0, 7.0, 8.0, 12.5, 18.0, 19.25, 20.0, 22.0] {
            let length = 0.4 + 0.05 * hour % 0.3;
            events.push(event(day, hour, Part::Pump(0), EventKind::PumpStarts, 279.99));
            events.push(event(day, hour + length, Part::Pump(0), EventKind::PumpStops, 410.003));
        }
    }
    let outcome = Outcome {
        summary: summary(&scenario, days),
        events,
        rows: rows(days, grid_min, with_store, outlets.len()),
        days: Vec::new(),
        lukewarm: Vec::new(),
        at_moments: Vec::new(),
    };
    Case { scenario, outcome }
}

pub(crate) const HOUSES: [(&str, Role); 3] =
    [("Main house", Role::Building), ("Cottage", Role::Building), ("Trough", Role::RawLoad)];

/// A building that runs out once and misses water in that time.
pub(crate) fn run_out(case: &mut Case, outlet: usize, (day, hour): (i64, f64), minutes: f64, short_l: f64) {
    let at = Part::Outlet(outlet);
    // The cottage's taps drip.
    let flow_lps = if outlet == 1 { 0.012 } else { 0.0 };
    let (begins, ends) = (
        event(day, hour, at, EventKind::RunOutBegins, flow_lps),
        event(day, hour + minutes / 60.0, at, EventKind::RunOutEnds, 60.0 * minutes),
    );
    for row in &mut case.outcome.rows {
        let share = ((row.time - begins.time).s() / (ends.time - begins.time).s()).clamp(0.0, 1.0);
        row.totals.outlets[outlet].lost_l += share * short_l;
    }
    case.outcome.events.extend([begins, ends]);
    let figures = &mut case.outcome.summary.outlets[outlet];
    figures.short_l += short_l;
    figures.run_outs += 1;
    figures.run_out_minutes += minutes;
    case.outcome.summary.water.run_outs += 1;
    case.outcome.summary.water.run_out_minutes += minutes;
}

pub(crate) fn finding(kind: FindingKind, falls_short: bool, part: &str) -> Finding {
    Finding {
        kind,
        falls_short,
        part: part.to_owned(),
        at: None,
        count: None,
        minutes: None,
        longest_minutes: None,
        longest_at: None,
        litres: None,
        limit: None,
    }
}

/// A week in which nearly everything gives way.
pub(crate) fn troubled() -> Case {
    let mut case = sound(7, &HOUSES, true, 1);
    for (day, hour, minutes, short_l) in [(1, 7.2, 22.0, 70.0), (3, 19.0, 14.0, 42.6), (5, 7.0, 95.0, 300.0)] {
        run_out(&mut case, 1, (day, hour), minutes, short_l);
    }
    run_out(&mut case, 0, (5, 7.1), 78.0, 96.0);
    let events = &mut case.outcome.events;
    events.push(event(1, 7.1, Part::Delivery, EventKind::PressureLow, 280.0));
    events.push(event(1, 7.9, Part::Delivery, EventKind::PressureBack, 2_880.0));
    events.push(event(5, 6.9, Part::Delivery, EventKind::ProtectStop, 199.9));
    events.push(event(2, 13.0, Part::Site, EventKind::IncidentBegins(Trouble::PowerOut), 0.0));
    events.push(event(2, 17.0, Part::Site, EventKind::IncidentEnds(Trouble::PowerOut), 0.0));
    events.push(event(4, 14.0, Part::Pump(0), EventKind::ShortCyclingBegins, 21.4));
    events.push(event(4, 17.0, Part::Pump(0), EventKind::ShortCyclingEnds, 504.0));
    events.sort_by_key(|event| event.time);
    let summary = &mut case.outcome.summary;
    summary.verdict.holds = false;
    let at = |iso: &str| Some(iso.to_owned());
    summary.verdict.findings = vec![
        Finding {
            at: at("2026-08-04T07:12:00.5"),
            count: Some(3),
            minutes: Some(131.0),
            litres: Some(412.6),
            ..finding(FindingKind::RunOut, true, "Cottage")
        },
        Finding {
            at: at("2026-08-08T07:06:00"),
            count: Some(1),
            minutes: Some(78.0),
            litres: Some(96.0),
            ..finding(FindingKind::RunOut, true, "Main house")
        },
        Finding { at: at("2026-08-08T06:54:00"), count: Some(1), ..finding(FindingKind::ProtectStop, true, "storage") },
        Finding { count: Some(510), limit: Some(100.0), ..finding(FindingKind::ManyStarts, true, "well pump") },
        Finding { count: Some(504), limit: Some(60.0), ..finding(FindingKind::ShortRuns, true, "well pump") },
        Finding {
            at: at("2026-08-04T07:06:00"),
            minutes: Some(48.0),
            limit: Some(280.0),
            ..finding(FindingKind::LowPressure, true, "buildings")
        },
        Finding {
            at: at("2026-08-05T13:00:00"),
            count: Some(1),
            minutes: Some(240.0),
            ..finding(FindingKind::Incident, false, "electricity")
        },
    ];
    summary.water = WaterSummary {
        short_l: 508.6,
        run_outs: 4,
        run_out_minutes: 209.0,
        lowest_storage_l: Some(199.9),
        lowest_storage_at: at("2026-08-08T06:54:00"),
        raw_loads_l: Some(840.0),
        raw_short_l: Some(12.0),
        ..summary.water.clone()
    };
    summary.outlets[1] = OutletSummary {
        short_l: 412.6,
        run_outs: 3,
        run_out_minutes: 131.0,
        longest_run_out_min: 95.0,
        longest_run_out_at: None,
        first_run_out_at: at("2026-08-04T07:12:00.5"),
        ..summary.outlets[1].clone()
    };
    summary.outlets[0] =
        OutletSummary { short_l: 96.0, run_outs: 1, run_out_minutes: 78.0, ..summary.outlets[0].clone() };
    if let Some(well) = &mut summary.well {
        well.most_starts_in_a_day = 510;
        well.shortest_run_s = Some(8.4);
    }
    summary.supplies[0].most_starts_in_a_day = Some(510);
    summary.supplies[0].shortest_run_s = Some(8.4);
    summary.pressure.minutes_below_set = 48.0;
    case
}

/// Sixteen outlets with names that no format likes, each of which runs out.
pub(crate) fn crowded(days: u32) -> Case {
    let names: Vec<String> = (0..16)
        .map(|i| match i {
            0 => "<b>&\"'</b>".to_owned(),
            1 => "Name, with comma\nand line\u{7}".to_owned(),
            2 => "A building with a name that is far too long to stand beside its own figures on one line".to_owned(),
            3 => "Äpfelgarten ünd Öl 水".to_owned(),
            n => format!("Building {n}"),
        })
        .collect();
    let outlets: Vec<(&str, Role)> = names.iter().map(|name| (name.as_str(), Role::Building)).collect();
    let mut case = sound(days, &outlets, true, 60);
    for day in 0..i64::from(days) {
        for (outlet, hour) in (0..16).map(|outlet| 1.3 * f64::from(outlet)).enumerate() {
            run_out(&mut case, outlet, (day, hour), 36.0, 5.0 * hour);
        }
    }
    case.outcome.events.sort_by_key(|event| event.time);
    case
}

/// Nothing at all: no row, no event.
pub(crate) fn empty() -> Case {
    let mut case = sound(1, &[("House", Role::Building)], true, 1);
    case.outcome.rows.clear();
    case.outcome.events.clear();
    if let Some(well) = &mut case.outcome.summary.well {
        well.starts = 0;
        well.run_hours = 0.0;
    }
    case.outcome.summary.supplies[0].starts = Some(0);
    case.outcome.summary.supplies[0].run_hours = 0.0;
    case
}

/// A year of a house whose name is in small letters: its pump draws air, its pressure is far too
/// low, and a good part of its water does not come.
pub(crate) fn failing() -> Case {
    let mut case = sound(366, &[("house", Role::Building)], false, 60);
    for day in 0..366 {
        case.outcome.events.push(event(day, 7.0, Part::PressureTank, EventKind::PressureLow, 280.0));
        case.outcome.events.push(event(day, 7.8, Part::PressureTank, EventKind::PressureBack, 2_880.0));
        // Quick turns that no listing leaves out.
        for turn in 0..12 {
            let hour = 15.0 + f64::from(turn) * 0.05;
            case.outcome.events.push(event(day, hour, Part::Pump(0), EventKind::PumpStarts, 280.0));
            case.outcome.events.push(event(day, hour + 0.02, Part::Pump(0), EventKind::PumpStops, 410.0));
        }
    }
    case.outcome.events.sort_by_key(|event| event.time);
    let summary = &mut case.outcome.summary;
    summary.verdict.holds = false;
    summary.verdict.findings = vec![
        Finding {
            at: Some("2026-08-04T07:12:00".to_owned()),
            count: Some(5),
            minutes: Some(1_209.0),
            ..finding(FindingKind::SuctionLost, true, "well pump")
        },
        Finding { litres: Some(984.0), ..finding(FindingKind::Weak, true, "house") },
    ];
    summary.water.short_l = 984.0;
    summary.outlets[0].short_l = 984.0;
    summary.pressure = Pressure { lowest_kpa: 62.0, minutes_below_set: 366.0 * 48.0 };
    case
}
