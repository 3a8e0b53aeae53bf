//! Random plants, draws and incidents for property tests: anything a person could write down and that can be built.

use proptest::collection::vec;
use proptest::prelude::*;
use springhouse_core::draw::{Draw, DrawKind, Flow};
use springhouse_core::incident::{Incident, IncidentKind};
use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_core::pipe::Pipe;
use springhouse_core::plant::{Parts, Plant, Store};
use springhouse_core::pressure_tank::PressureTank;
use springhouse_core::pump::{PumpCurve, PumpPower, WellPump};
use springhouse_core::storage::{Fill, Storage};
use springhouse_core::time::{Span, Time};
use springhouse_core::well::{LowLevelCutoff, Response, Well};

use crate::plants::{ATMOSPHERE_KPA, water};

/// A plant and what happens to it.
#[derive(Clone, Debug)]
pub struct Case {
    /// The plant.
    pub plant: Plant,
    /// What is drawn from it, in order of start.
    pub draws: Vec<Draw>,
    /// What goes out of order.
    pub incidents: Vec<Incident>,
}

/// Length of the runs the cases are made for.
pub const CASE_LENGTH: Span = Span::DAY;

fn tank(volume_l: impl Strategy<Value = f64>) -> impl Strategy<Value = PressureTank> {
    // Half of the tanks are sound; the others have lost air.
    (volume_l, 0.0..350.0, prop_oneof![Just(1.0), 0.01..1.0], 0.0..400.0).prop_map(
        |(volume_l, precharge_kpa, air_share, start_kpa)| PressureTank {
            volume_l,
            precharge_kpa,
            air_share,
            start_kpa,
            atmospheric_kpa: ATMOSPHERE_KPA,
        },
    )
}

fn response() -> impl Strategy<Value = Response> {
    let drawdown =
        (prop_oneof![Just(0.0), 0.1..50.0], -4.0..1.0, 1.0..80.0).prop_map(|(casing_l_per_m, exponent, entry)| {
            let specific_capacity_lps_per_m = libm_pow10(exponent);
            Response::Drawdown { casing_l_per_m, specific_capacity_lps_per_m, entry_depth_m: 10.0 + entry }
        });
    prop_oneof![Just(Response::Ideal), drawdown.clone(), drawdown]
}

fn libm_pow10(exponent: f64) -> f64 {
    10.0_f64.powf(exponent)
}

fn well() -> impl Strategy<Value = Well> {
    let cutoff = proptest::option::of((0.1..0.9, 0.1..0.9, 0.0..4_000.0));
    (response(), 5.0..80.0, cutoff, 0.0..1.0).prop_map(|(response, column_m, cutoff, start)| Well {
        static_depth_m: 10.0,
        pump_depth_m: 10.0 + column_m,
        response,
        cutoff: cutoff.map(|(stop, restart, delay_s)| LowLevelCutoff {
            stop_depth_m: 10.0 + column_m * stop,
            restart_depth_m: 10.0 + column_m * stop * restart,
            restart_delay: Span::from_s(delay_s),
        }),
        start_drawdown_m: start * column_m,
    })
}

fn curve() -> impl Strategy<Value = PumpCurve> {
    let two = (60.0..200.0, 0.1..0.9, 0.05..3.0)
        .prop_map(|(head, part, flow)| PumpCurve::through(&[(0.0, head), (flow, head * part)]));
    let four = (60.0..200.0, 0.05..3.0, 0.7..0.99, 0.4..0.69, 0.0..0.39).prop_map(|(head, flow, a, b, c)| {
        PumpCurve::through(&[(0.0, head), (0.4 * flow, head * a), (0.7 * flow, head * b), (flow, head * c)])
    });
    prop_oneof![
        two.prop_filter_map("no curve", Result::ok),
        four.prop_filter_map("no curve", Result::ok),
        (0.05..2.0).prop_map(|flow_lps| PumpCurve::Constant { flow_lps }),
    ]
}

fn power() -> impl Strategy<Value = PumpPower> {
    prop_oneof![
        (0.0..3_000.0).prop_map(|power_w| PumpPower::Constant { power_w }),
        (0.1..2.0, 0.1..0.8)
            .prop_map(|(best_flow_lps, best_efficiency)| PumpPower::Efficiency { best_flow_lps, best_efficiency }),
    ]
}

fn pipe() -> impl Strategy<Value = Option<Pipe>> {
    proptest::option::of((1.0..120.0, 20.0..60.0).prop_map(|(length_m, bore_mm)| Pipe {
        length_m,
        bore_mm,
        roughness_mm: 0.0015,
    }))
}

fn well_pump() -> impl Strategy<Value = WellPump> {
    (curve(), pipe(), power(), 100.0..300.0, 20.0..200.0).prop_map(|(curve, pipe, power, cut_in_kpa, band)| {
        WellPump::new(curve, pipe.as_ref(), &water(), power, 0.0, (cut_in_kpa, cut_in_kpa + band))
    })
}

fn store() -> impl Strategy<Value = Store> {
    let levels = vec(0.0..1.0, 4).prop_map(|mut levels| {
        levels.sort_by(f64::total_cmp);
        levels
    });
    let fill = (any::<bool>(), 0.02..2.0, 1.0..250.0);
    let delivery = (
        curve(),
        power(),
        tank(5.0..100.0),
        150.0..450.0,
        prop_oneof![0.3..0.99, 0.99..0.999_99],
        0.0..0.1,
        prop_oneof![Just(0.0), 0.0..120.0],
    );
    (levels, fill, 100.0..10_000.0, 0.0..1.0, delivery).prop_map(
        |(levels, (switch, flow_lps, full_flow_kpa), capacity_l, start, delivery)| {
            let at = |i: usize| capacity_l * levels[i];
            let fill = if switch {
                Fill::FloatSwitch { start_l: at(2), stop_l: at(3), flow_lps, full_flow_kpa }
            } else {
                Fill::FloatValve { open_l: at(2), shut_l: at(3), flow_lps, full_flow_kpa }
            };
            let (curve, power, tank, set_kpa, wake, sleep_flow_lps, sleep_s) = delivery;
            let delivery = springhouse_core::delivery::Delivery {
                curve,
                power,
                set_kpa,
                wake_kpa: wake * set_kpa,
                sleep_flow_lps,
                sleep_delay: Span::from_s(sleep_s),
                standby_w: 10.0,
                lift_m: 1.0,
                tank,
            };
            let storage = Storage { capacity_l, start_l: start * at(3), fill, protect_l: at(0), restart_l: at(1) };
            Store { storage, delivery }
        },
    )
}

fn outlets(header: Header) -> impl Strategy<Value = Vec<Outlet>> {
    let raw_load = Outlet { name: "field".into(), role: Role::RawLoad, header: Header::Raw, full_flow_kpa: 100.0 };
    (10.0..300.0, 10.0..300.0, any::<bool>()).prop_map(move |(first_kpa, second_kpa, has_raw_load)| {
        let building =
            |name: &str, full_flow_kpa| Outlet { name: name.into(), role: Role::Building, header, full_flow_kpa };
        let mut outlets = vec![building("house", first_kpa), building("barn", second_kpa)];
        outlets.extend(has_raw_load.then(|| raw_load.clone()));
        outlets
    })
}

/// A plant of any layout that can be built.
pub fn plant() -> impl Strategy<Value = Plant> {
    let store = proptest::option::of(store());
    (well(), well_pump(), tank(20.0..500.0), store)
        .prop_flat_map(|(well, well_pump, pressure_tank, store)| {
            let header = if store.is_some() { Header::Delivery } else { Header::Raw };
            outlets(header).prop_map(move |outlets| {
                Plant::try_new(Parts {
                    water: water(),
                    well: well.clone(),
                    well_pump: well_pump.clone(),
                    pressure_tank: pressure_tank.clone(),
                    store: store.clone(),
                    outlets,
                })
            })
        })
        .prop_filter_map("cannot be built", Result::ok)
}

fn draws() -> impl Strategy<Value = Vec<Draw>> {
    let draw = (0..86_400_i64, 1..5_000_i64, 0..3_usize, 0..900_i64, any::<bool>()).prop_map(
        |(start_s, length_s, outlet, flow_mlps, volume)| Draw {
            start: Time::from_ns(start_s * 1_000_000_000),
            end: Time::from_ns((start_s + length_s) * 1_000_000_000),
            outlet,
            flow: Flow::from_nl_per_s(flow_mlps * 1_000_000),
            kind: if volume { DrawKind::Volume } else { DrawKind::Timed },
        },
    );
    vec(draw, 0..60).prop_map(|mut draws| {
        draws.sort_by_key(|draw| draw.start);
        draws
    })
}

fn incidents() -> impl Strategy<Value = Vec<Incident>> {
    let kind =
        prop_oneof![Just(IncidentKind::PowerOut), Just(IncidentKind::WellPumpOut), Just(IncidentKind::DeliveryPumpOut)];
    let incident = (kind, 0..86_400_i64, 1..40_000_i64).prop_map(|(kind, start_s, length_s)| Incident {
        kind,
        start: Time::from_ns(start_s * 1_000_000_000),
        end: Time::from_ns((start_s + length_s) * 1_000_000_000),
    });
    vec(incident, 0..3)
}

/// A plant, a day of draws and incidents.
pub fn case() -> impl Strategy<Value = Case> {
    (plant(), draws(), incidents()).prop_map(|(plant, mut draws, incidents)| {
        for draw in &mut draws {
            draw.outlet %= plant.outlets.len();
        }
        Case { plant, draws, incidents }
    })
}
