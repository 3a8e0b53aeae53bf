//! A plant of three supplies, invented: each has its columns and its panel.

use jiff::civil::date;
use springhouse_core::basin::{Basin, BasinCutoff, BasinKind, TopUp};
use springhouse_core::draw::Flow;
use springhouse_core::incident::IncidentKind;
use springhouse_core::observe::{EventKind, Part, SupplyTotals, Trouble};
use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_core::plant::{Parts, Plant};
use springhouse_core::pump::{PumpCurve, PumpPower, SupplyPump};
use springhouse_core::quality::Quality;
use springhouse_core::roof::Roof;
use springhouse_core::supply::{ChangeOver, Control, Drive, Source, Supply};
use springhouse_core::time::Span;
use springhouse_core::town_line::TownLine;
use springhouse_core::treatment::{Stage, StageKind};
use springhouse_core::ultraviolet::Ultraviolet;
use springhouse_report::{Run, csv, plots};
use springhouse_scenario::{DatedDraw, DatedIncident, RainFile, Units};
use springhouse_sim::{ChangeOverSummary, Finding, FindingKind, SupplySummary};

use crate::invented::{Case, HOUSES, event, sound};

fn cistern(parts: &Parts, name: &str) -> Supply {
    let basin = Basin {
        kind: BasinKind::Cistern,
        capacity_l: 8_000.0,
        start_l: 5_000.0,
        intake_l: 160.0,
        full_depth_m: 2.0,
        brim_height_m: -0.3,
        shape: 1.0,
        cutoff: Some(BasinCutoff { stop_l: 800.0, restart_l: 1_600.0, restart_delay: Span::from_s(600.0) }),
        top_up: Some(TopUp { start_l: 3_000.0, stop_l: 3_500.0, flow_lps: 0.2, full_flow_kpa: 150.0 }),
        open: None,
    };
    let curve = PumpCurve::Parabola { shutoff_m: 60.0, loss_m_per_lps2: 30.0 };
    let power = PumpPower::Efficiency { best_flow_lps: 0.7, best_efficiency: 0.45 };
    let control = Control::Switch { cut_in_kpa: 250.0, cut_out_kpa: 380.0 };
    let pump = SupplyPump::new(curve, None, &parts.water, power, 1.0, control);
    let source = Source::Basin { basin, pump };
    Supply { name: name.to_owned(), source, quality: Quality::PURE, temp_c: 12.0, standby: false }
}

fn town_line() -> Supply {
    let source = Source::TownLine(TownLine::new(420.0, (0.6, 300.0)));
    Supply { name: "town line".to_owned(), source, quality: Quality::PURE, temp_c: 12.0, standby: true }
}

fn lamp() -> Stage {
    let light = Ultraviolet {
        rated_mj_cm2: 40.0,
        rated_transmittance: 0.75,
        path_cm: 2.0,
        limit_mj_cm2: 30.0,
        start_h: 0.0,
        life_h: 9_000.0,
        end_share: 0.7,
        power_w: 60.0,
    };
    Stage {
        name: "lamp".to_owned(),
        kind: StageKind::Ultraviolet(light),
        header: Header::Raw,
        rated_lps: 0.5,
        clean_kpa: 7.0,
        limit_kpa: 7.0,
        catch: None,
        backwash: None,
    }
}

/// Totals of a supply that no other has, rising with the rows.
fn totals(index: u32, rows: f64) -> SupplyTotals {
    let each = |place: u32| rows * f64::from(10 * (index + 1) + place) * 0.01;
    SupplyTotals {
        pumped_l: each(1),
        inflow_l: each(2),
        rain_l: 0.0,
        runoff_l: 0.0,
        evaporated_l: 0.0,
        seeped_l: 0.0,
        topped_up_l: each(3),
        returned_l: 0.0,
        leaked_back_l: each(4),
        spilled_l: each(5),
        pump_j: 3.6e6 * each(6),
        run_s: each(7),
    }
}

/// A well, a cistern under a roof and a town line that stands by, with a lamp; the cistern's check valve leaks for a day, its
/// pump fails and the lamp is bypassed, at the same time, and a pipe bursts.
pub(crate) fn supplied(days: u32) -> Case {
    let mut case = sound(days, &HOUSES, false, if days > 30 { 60 } else { 5 });
    let mut parts = Parts::clone(&case.scenario.plant);
    parts.supplies.extend([cistern(&parts, "cistern"), town_line()]);
    parts.change_over = Some(ChangeOver { after: None, back_after: Span::from_s(600.0) });
    parts.stages.push(lamp());
    let burst = parts.outlets.len();
    parts.outlets.push(Outlet::plain("burst at Cottage", Role::Leak, Header::Raw, 400.0));
    case.scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    case.scenario.dated_draws = vec![DatedDraw {
        outlet: burst,
        start: date(2026, 8, 3).at(20, 0, 0, 0),
        length: Span::from_s(7_200.0),
        flow: Flow::from_lps(0.1),
    }];
    let start = date(2026, 8, 3).at(6, 0, 0, 0);
    let incident = |kind| DatedIncident { kind, start, length: Span::from_s(3_600.0) };
    case.scenario.incidents = vec![
        incident(IncidentKind::LeakBack { supply: 1, flow_lps: 0.01 }),
        incident(IncidentKind::AirLost { share: 0.5 }),
    ];
    let roof = Roof { area_m2: 100.0, runoff_share: 0.8, first_flush_mm: 0.5, dry_gap: Span::from_s(21_600.0) };
    case.scenario.rain = vec![RainFile { supply: 1, file: Some("rain.csv".into()), roof }];
    case.scenario.prices_per_m3 = vec![None; 3];

    for (count, row) in (0_u32..).zip(&mut case.outcome.rows) {
        let rows = f64::from(count);
        row.sources = [row.sources[0], 2_000.0 + f64::from(count % 500), 0.0];
        row.pump_on = [row.pump_on[0], count.is_multiple_of(5), count.is_multiple_of(7)];
        row.starts = [u64::from(count / 3), u64::from(count / 4), 0];
        row.totals.supplies = [totals(0, rows), totals(1, rows), totals(2, rows)];
        row.totals.lamps_j = 60.0 * rows;
        row.totals.drained_l = 0.5 * rows;
    }
    let events = &mut case.outcome.events;
    for (hour, part, begins, ends) in [
        (6.0, Part::Pump(1), Trouble::LeakBack, 14.0),
        (8.0, Part::Pump(1), Trouble::Out, 12.0),
        (8.0, Part::Stage(0), Trouble::Bypassed, 12.0),
    ] {
        events.push(event(0, hour, part, EventKind::IncidentBegins(begins), 0.0));
        events.push(event(0, ends, part, EventKind::IncidentEnds(begins), 0.0));
    }
    events.push(event(0, 15.0, Part::Site, EventKind::ChangesOver, 0.0));
    events.push(event(0, 18.0, Part::Site, EventKind::ChangesBack, 10_800.0));
    events.sort_by_key(|event| event.time);
    let summary = &mut case.outcome.summary;
    let supply = |name: &str, kind: &str, standby| SupplySummary {
        name: name.to_owned(),
        kind: kind.to_owned(),
        standby,
        deepest_drawdown_m: None,
        lowest_l: (kind == "cistern").then_some(2_000.0),
        ..summary.supplies[0].clone()
    };
    let more = [supply("cistern", "cistern", false), supply("town line", "town_line", true)];
    summary.supplies.extend(more);
    summary.change_over = Some(ChangeOverSummary { spells: 1, hours: 3.0, first_at: None });
    case
}

/// The same with the cistern alone to live from: it ran down, and the pressure with it.
pub(crate) fn from_a_cistern() -> Case {
    let mut case = supplied(7);
    let mut parts = Parts::clone(&case.scenario.plant);
    parts.supplies.remove(0);
    case.scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    let summary = &mut case.outcome.summary;
    summary.supplies.remove(0);
    summary.verdict.findings = vec![Finding {
        kind: FindingKind::LowLevelTrip,
        falls_short: false,
        part: "cistern".to_owned(),
        at: Some("2026-08-04T07:12:00".to_owned()),
        count: Some(2),
        minutes: None,
        longest_minutes: None,
        longest_at: None,
        litres: None,
        limit: None,
    }];
    summary.pressure.minutes_below_set = 70.0;
    case
}

fn minutes(run: &Run<'_>) -> (Vec<String>, Vec<Vec<String>>) {
    let mut bytes = Vec::new();
    csv::minutes(run, &mut bytes).unwrap();
    let mut table = ::csv::Reader::from_reader(bytes.as_slice());
    let head = table.headers().unwrap().iter().map(str::to_owned).collect();
    (head, table.records().map(|record| record.unwrap().iter().map(str::to_owned).collect()).collect())
}

/// The levels plot as SVG.
fn levels(case: &Case, units: Units) -> String {
    plots::all(&case.run(units)).iter().find(|plot| plot.name == "levels").unwrap().svg().unwrap()
}

/// Its words, a line each, in their order on the page.
fn words(svg: &str) -> Vec<String> {
    let document = resvg::usvg::roxmltree::Document::parse(svg).unwrap();
    let texts = document.descendants().filter(|node| node.has_tag_name("text"));
    texts.map(|node| node.text().unwrap_or_default().trim().to_owned()).collect()
}

#[test]
fn regress_columns_of_three_supplies() {
    let (head, _) = minutes(&supplied(1).run(Units::Us));
    insta::assert_snapshot!(head.join("\n"));
}

#[test]
fn exact_columns_are_those_of_their_supply() {
    let case = supplied(1);
    let (head, rows) = minutes(&case.run(Units::Us));
    let column = |key: &str| -> Vec<f64> {
        let place = head.iter().position(|name| name == key).unwrap_or_else(|| panic!("no column {key}"));
        rows.iter().map(|row| row[place].parse().unwrap()).collect()
    };
    let last = case.outcome.rows.last().unwrap();
    let given = &last.totals.supplies;
    let gains = [
        ("pumped_l", given[0].pumped_l + given[1].pumped_l + given[2].pumped_l),
        ("drained_l", last.totals.drained_l),
        ("lamps_kwh", last.totals.lamps_j / 3.6e6),
        ("energy_kwh", last.totals.energy_j() / 3.6e6),
        ("pumped_l:well", given[0].pumped_l),
        ("pumped_l:cistern", given[1].pumped_l),
        ("pumped_l:town line", given[2].pumped_l),
        ("inflow_l:well", given[0].inflow_l),
        ("inflow_l:cistern", given[1].inflow_l),
        ("inflow_l:town line", given[2].inflow_l),
        ("topped_up_l:cistern", given[1].topped_up_l),
        ("spilled_l:cistern", given[1].spilled_l),
        ("leaked_back_l:cistern", given[1].leaked_back_l),
        ("run_s:well", given[0].run_s),
        ("run_s:cistern", given[1].run_s),
        ("run_s:town line", given[2].run_s),
        ("pump_kwh:well", given[0].pump_j / 3.6e6),
        ("pump_kwh:cistern", given[1].pump_j / 3.6e6),
        ("starts:well", 96.0),
        ("starts:cistern", 72.0),
    ];
    for (key, total) in gains {
        let sum: f64 = column(key).iter().sum();
        // 289 lines, each rounded to three decimals or more.
        assert!((sum - total).abs() < 289.0 * 0.5e-3 && (sum - total).abs() < 0.01 * total, "{key}: {sum} for {total}");
    }
    for (line, row) in case.outcome.rows.iter().enumerate() {
        let on = row.pump_on.map(|on| if on { 1.0 } else { 0.0 });
        for (key, value) in [
            ("drawdown_m:well", row.sources[0]),
            ("water_l:cistern", row.sources[1]),
            ("on:well", on[0]),
            ("on:cistern", on[1]),
            ("on:town line", on[2]),
            ("salt_mg_l", 350.0),
        ] {
            assert_eq!(column(key)[line], value, "{key} in line {line}");
        }
    }
}

#[test]
fn regress_words_on_the_levels_of_three_supplies() {
    insta::assert_snapshot!(words(&levels(&supplied(7), Units::Us)).join("\n"));
}

#[test]
fn every_store_has_a_line_of_its_own() {
    let plain = levels(&supplied(7), Units::Metric);
    for (index, moves) in [(0, true), (1, true), (2, false)] {
        let mut case = supplied(7);
        for row in &mut case.outcome.rows {
            row.sources[index] += 1.5 + 200.0 * f64::from(u8::from(index == 1));
        }
        // A main holds no water.
        assert_eq!(levels(&case, Units::Metric) != plain, moves, "supply {index}");
    }
}

#[test]
fn incidents_are_named_by_part_and_kind() {
    use Trouble as T;
    let told = [
        (Part::Site, T::PowerOut, "power out"),
        (Part::Pump(1), T::Out, "cistern pump out"),
        (Part::Pump(2), T::Out, "town line out"),
        (Part::Pump(0), T::Worn, "well pump worn"),
        (Part::Pump(0), T::LeakBack, "well pump leaks back"),
        (Part::PressureTank, T::AirLost, "pressure tank short of air"),
        (Part::Storage, T::StuckOpen, "storage float stuck open"),
        (Part::Storage, T::StuckShut, "storage float stuck shut"),
        (Part::Stage(0), T::Bypassed, "lamp bypassed"),
        (Part::Stage(0), T::ValvedOff, "lamp valved off"),
        (Part::Site, T::StandbyByHand, "standby put in by hand"),
    ];
    for (part, trouble, name) in told {
        let mut case = supplied(7);
        case.scenario.dated_draws.clear();
        case.outcome.events = vec![event(2, 3.0, part, EventKind::IncidentBegins(trouble), 0.0)];
        let words = words(&levels(&case, Units::Us));
        // Over the panels, and in the key.
        assert_eq!(words.iter().filter(|word| *word == name).count(), 2, "{name} in {words:?}");
    }
}

/// Bands of held pressure in the panels: one more is in the key.
fn bands(svg: &str) -> usize {
    svg.matches("#009E73").count().saturating_sub(1)
}

#[test]
fn pressures_are_named_as_their_controls_are() {
    let mut case = supplied(7);
    assert_eq!(bands(&levels(&case, Units::Metric)), 2);

    // Set alike, the pumps need no names.
    let mut parts = Parts::clone(&case.scenario.plant);
    let alike = Control::Switch { cut_in_kpa: 280.0, cut_out_kpa: 410.0 };
    for supply in &mut parts.supplies {
        if let Source::Well { pump, .. } | Source::Basin { pump, .. } = &mut supply.source {
            pump.control = alike.clone();
        }
    }
    case.scenario.plant = Plant::try_new(parts.clone()).expect("the invented plant can be built");
    let svg = levels(&case, Units::Metric);
    let alike = words(&svg);
    assert_eq!(bands(&svg), 1);
    assert!(alike.contains(&"cut-in".to_owned()) && alike.contains(&"cut-out".to_owned()), "{alike:?}");

    // A drive alone wakes and holds.
    let main = parts.supplies.split_off(1).remove(1);
    if let Source::Well { pump, .. } = &mut parts.supplies[0].source {
        pump.control = Control::Drive(Drive {
            set_kpa: 350.0,
            wake_kpa: 300.0,
            sleep_flow_lps: 0.02,
            sleep_delay: Span::from_s(30.0),
            standby_w: 8.0,
        });
    }
    parts.change_over = None;
    case.scenario.plant = Plant::try_new(parts.clone()).expect("the invented plant can be built");
    case.outcome.summary.pressure.minutes_below_set = 70.0;
    let svg = levels(&case, Units::Metric);
    let driven = words(&svg);
    assert_eq!(bands(&svg), 1);
    assert!(driven.contains(&"Pressure in the tank, kPa".to_owned()), "{driven:?}");
    assert!(driven.contains(&"wake pressure".to_owned()) && driven.contains(&"set pressure".to_owned()), "{driven:?}");
    assert!(driven.join(" ").contains("was under wake pressure for"), "{driven:?}");

    // A town line alone has no control.
    parts.supplies = vec![Supply { standby: false, ..main }];
    parts.pressure_tank = None;
    case.scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    let svg = levels(&case, Units::Metric);
    let main = words(&svg);
    assert_eq!(bands(&svg), 0);
    assert!(main.join(" ").contains("was under the least kept in a main for"), "{main:?}");
    assert!(main.contains(&"Pressure at the meter, kPa".to_owned()), "{main:?}");
    assert!(main.contains(&"static pressure".to_owned()) && main.contains(&"least in a main".to_owned()), "{main:?}");
    assert!(!main.iter().any(|word| word.contains("cut-")), "{main:?}");
}
