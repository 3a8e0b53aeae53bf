//! What must hold for any membrane unit: balances, limits in closed form, and what its two valves do.

use proptest::prelude::*;
use springhouse_core::membrane::curve::OperatingCurve;
use springhouse_core::membrane::element::{
    CHANNEL_EXPONENT, Element, Fouling, POLARISATION, SALT_TEMP_K, WATER_TEMP_K,
};
use springhouse_core::membrane::osmosis::OsmoticModel;
use springhouse_core::membrane::unit::{MembraneUnit, NoSteadyState, Operation, UnitAt, UnitPump};
use springhouse_core::membrane::valve::{ValveReading, Valves, valve_lps};
use springhouse_core::pump::{PumpCurve, PumpPower};
use springhouse_core::water::Water;

const INLET_KPA: f64 = 300.0;

fn element() -> Element {
    Element {
        area_m2: 7.2,
        water_permeability_l_m2_h_bar: 3.0,
        salt_permeability_l_m2_h: 0.2,
        water_temp_k: WATER_TEMP_K,
        salt_temp_k: SALT_TEMP_K,
        channel_loss_kpa: 27.4,
        channel_exponent: CHANNEL_EXPONENT,
        polarisation: POLARISATION,
    }
}

/// Three elements in a row behind a pump of 90 - 280 Q² m; its efficiency peaks at 0.5 L/s.
fn skid(valves: Valves) -> MembraneUnit {
    MembraneUnit {
        element: element(),
        elements_in_series: 3,
        vessels: 1,
        pump: Some(UnitPump {
            curve: PumpCurve::Parabola { shutoff_m: 90.0, loss_m_per_lps2: 100.0 },
            power: PumpPower::Efficiency { best_flow_lps: 0.5, best_efficiency: 0.45 },
        }),
        valves,
        product_kpa: 30.0,
        drain_kpa: 0.0,
        loop_volume_l: 12.0,
        osmotic: OsmoticModel::default(),
    }
}

fn at_10_c(unit: &MembraneUnit) -> UnitAt<'_> {
    unit.at(10.0, Fouling::CLEAN, &Water::at(10.0))
}

fn steady(unit: &MembraneUnit) -> Operation {
    at_10_c(unit).steady(INLET_KPA, SALT_MG_L).expect("a steady state")
}

/// Any unit that a person can put together and any state of it.
#[derive(Clone, Debug)]
struct Case {
    unit: MembraneUnit,
    temp_c: f64,
    fouling: Fouling,
    inlet_kpa: f64,
    feed_mg_l: f64,
    loop_mg_l: f64,
}

fn kv() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 1 => 1e-9..1e-4, 4 => 1e-4..0.1]
}

fn salt_mg_l() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 4 => 1.0..3_000.0, 2 => 3_000.0..50_000.0]
}

fn pump() -> impl Strategy<Value = Option<UnitPump>> {
    let curve = prop_oneof![
        (1.0..300.0, 0.1..1_000.0)
            .prop_map(|(shutoff_m, loss_m_per_lps2)| PumpCurve::Parabola { shutoff_m, loss_m_per_lps2 }),
        (20.0..300.0).prop_map(|head_m| {
            let points = [(0.0, head_m), (0.3, 0.9 * head_m), (0.6, 0.65 * head_m), (1.0, 0.2 * head_m)];
            PumpCurve::through(&points).expect("a curve")
        }),
    ];
    let power = PumpPower::Efficiency { best_flow_lps: 0.5, best_efficiency: 0.45 };
    prop_oneof![1 => Just(None), 3 => curve.prop_map(move |curve| Some(UnitPump { curve, power: power.clone() }))]
}

prop_compose! {
    fn any_element()(
        area_m2 in 0.5..40.0,
        water_permeability_l_m2_h_bar in 0.3..10.0,
        salt_permeability_l_m2_h in prop_oneof![1 => Just(0.0), 4 => 1e-3..3.0],
        channel_loss_kpa in prop_oneof![1 => Just(0.0), 4 => 0.1..300.0],
        polarisation in 0.0..1.0,
    ) -> Element {
        Element {
            area_m2,
            water_permeability_l_m2_h_bar,
            salt_permeability_l_m2_h,
            channel_loss_kpa,
            polarisation,
            ..element()
        }
    }
}

prop_compose! {
    fn case()(
        element in any_element(),
        (elements_in_series, vessels) in (1_usize..=6, 1_u32..=3),
        pump in pump(),
        (reject_kv, recycle_kv) in (kv(), kv()),
        (product_kpa, drain_kpa) in (0.0..100.0, -20.0..50.0),
        osmotic in prop_oneof![
            (0.7..1.0).prop_map(|share| OsmoticModel::Chloride { share }),
            (0.8..1.0).prop_map(|coefficient| OsmoticModel::Ideal { coefficient }),
        ],
        temp_c in 0.5..40.0,
        fouling in (0.1..1.0, 1.0..10.0)
            .prop_map(|(water_share, channel_times)| Fouling { water_share, channel_times }),
        inlet_kpa in prop_oneof![1 => Just(0.0), 1 => 0.0..5.0, 6 => 0.0..800.0],
        (feed_mg_l, loop_mg_l) in (salt_mg_l(), salt_mg_l()),
    ) -> Case {
        let valves = Valves { reject_kv, recycle_kv };
        let unit = MembraneUnit {
            element, elements_in_series, vessels, pump, valves, product_kpa, drain_kpa, loop_volume_l: 10.0, osmotic,
        };
        Case { unit, temp_c, fouling, inlet_kpa, feed_mg_l, loop_mg_l }
    }
}

/// What is sound in any operation: nothing is missing or below zero, what the search closed is closed.
fn assert_sound(case: &Case, found: &Operation) {
    let flows = found.flows;
    let numbers = [
        flows.product_lps,
        flows.reject_lps,
        flows.recycle_lps,
        flows.product_salt_mg_s,
        flows.power_w,
        found.vessel_salt_mg_l,
        found.loop_salt_mg_l,
        found.tail_salt_mg_l,
    ];
    assert!(numbers.iter().all(|number| number.is_finite() && *number >= 0.0), "{found:?}");
    assert!(found.vessel_kpa.is_finite() && found.concentrate_kpa.is_finite(), "{found:?}");
    for element in found.elements {
        assert!((0.0..=0.8).contains(&element.recovery), "{found:?}");
        assert!(element.product_salt_mg_l >= 0.0 && element.wall_salt_mg_l >= 0.0, "{found:?}");
        assert!(element.concentrate.salt_mg_l.is_finite(), "{found:?}");
    }
    let vessel_lps = flows.vessel_feed_lps();
    if vessel_lps == 0.0 {
        return;
    }
    let close = |what: &str, left: f64, right: f64, size: f64| {
        assert!((left - right).abs() <= 1e-9 * size, "{what}: {left} and {right}: {case:?}: {found:?}");
    };
    // The valves pass what leaves the vessels; the pump lifts what goes into them.
    let Case { unit, inlet_kpa, feed_mg_l, .. } = case;
    let reject_lps = valve_lps(unit.valves.reject_kv, found.concentrate_kpa - unit.drain_kpa);
    let recycle_lps = valve_lps(unit.valves.recycle_kv, found.concentrate_kpa - inlet_kpa);
    close("reject", flows.reject_lps, reject_lps, vessel_lps);
    close("recycle", flows.recycle_lps, recycle_lps, vessel_lps);
    if let Some(pump) = &unit.pump {
        let lift_kpa = Water::at(case.temp_c).pressure_kpa(pump.curve.head_m(vessel_lps));
        close("pump", found.vessel_kpa - inlet_kpa, lift_kpa, found.vessel_kpa.abs() + lift_kpa.abs());
    }
    // Salt into the vessels is salt out of them, and their feed is fresh and recycled water mixed.
    let salt_mg_s = vessel_lps * found.vessel_salt_mg_l;
    let out_mg_s = flows.product_salt_mg_s + flows.concentrate_lps() * found.tail_salt_mg_l;
    close("salt of the vessels", salt_mg_s, out_mg_s, salt_mg_s);
    let mixed_mg_s = flows.feed_lps() * feed_mg_l + flows.recycle_lps * found.loop_salt_mg_l;
    let most_mg_s = vessel_lps * feed_mg_l.max(found.loop_salt_mg_l);
    close("salt of the mix", salt_mg_s, mixed_mg_s, most_mg_s);
    let by_flows = flows.tail_salt_mg_l(*feed_mg_l, found.loop_salt_mg_l);
    close("tail", found.tail_salt_mg_l * flows.concentrate_lps(), by_flows * flows.concentrate_lps(), most_mg_s);
    let gain_mg_s = flows.concentrate_lps() * (found.tail_salt_mg_l - found.loop_salt_mg_l);
    close("loop", flows.loop_gain_mg_s(*feed_mg_l, found.loop_salt_mg_l), gain_mg_s, most_mg_s);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, ..ProptestConfig::default() })]

    #[test]
    fn any_unit_in_any_state_balances(case in case()) {
        let water = Water::at(case.temp_c);
        let at = case.unit.at(case.temp_c, case.fouling, &water);
        assert_sound(&case, &at.at_loop(case.inlet_kpa, case.feed_mg_l, case.loop_mg_l));
        match at.steady(case.inlet_kpa, case.feed_mg_l) {
            Ok(found) => {
                assert_sound(&case, &found);
                prop_assert!(case.unit.valves.reject_kv > 0.0);
                prop_assert_eq!(found.loop_salt_mg_l.to_bits(), found.tail_salt_mg_l.to_bits());
            }
            Err(NoSteadyState::NoReject) => {
                // Shut, or the concentrate has no more pressure than the drain.
                prop_assert!(case.unit.valves.reject_kv == 0.0 || case.unit.drain_kpa > 0.0);
            }
            Err(NoSteadyState::Still) => {
                let flows = at.at_loop(case.inlet_kpa, case.feed_mg_l, case.loop_mg_l).flows;
                prop_assert_eq!(flows.vessel_feed_lps(), 0.0);
            }
        }
    }

    /// Where no salt passes the membrane, all of it leaves with the reject: `c_0 / (1 - R)`, whatever is recycled.
    #[test]
    fn exact_reject_salt_of_a_tight_membrane(
        (reject_kv, recycle_kv) in (1e-4..0.02, 0.0..0.03),
        salt_mg_l in 10.0..5_000.0,
        inlet_kpa in 50.0..500.0,
    ) {
        let mut unit = skid(Valves { reject_kv, recycle_kv });
        unit.element.salt_permeability_l_m2_h = 0.0;
        let found = at_10_c(&unit).steady(inlet_kpa, salt_mg_l).expect("a steady state");
        let expected = salt_mg_l / (1.0 - found.flows.recovery());
        // The search is carried to 1e-12; what it leaves grows with the concentration.
        prop_assert!((found.tail_salt_mg_l / expected - 1.0).abs() < 1e-9, "{} for {expected}", found.tail_salt_mg_l);
        prop_assert_eq!(found.flows.product_salt_mg_s, 0.0);
    }

    /// More pressure, fresher water and warmer water give more product.
    #[test]
    fn product_follows_pressure_salt_and_temperature(
        (reject_kv, recycle_kv) in (1e-4..0.02, 0.0..0.03),
        salt_mg_l in 10.0..5_000.0,
        inlet_kpa in 0.0..500.0,
        temp_c in 1.0..35.0,
    ) {
        let unit = skid(Valves { reject_kv, recycle_kv });
        let product_lps = |temp_c: f64, inlet_kpa: f64, salt_mg_l: f64| {
            let at = unit.at(temp_c, Fouling::CLEAN, &Water::at(10.0));
            at.at_loop(inlet_kpa, salt_mg_l, 2.0 * salt_mg_l).flows.product_lps
        };
        let here = product_lps(temp_c, inlet_kpa, salt_mg_l);
        prop_assert!(product_lps(temp_c, inlet_kpa + 1.0, salt_mg_l) > here);
        prop_assert!(product_lps(temp_c, inlet_kpa, 1.01 * salt_mg_l) < here);
        prop_assert!(product_lps(temp_c + 0.1, inlet_kpa, salt_mg_l) > here);
    }
}

/// A loop fresher than its feed, and a recycle valve at hardly any pressure: more recycle is fresher water, more product, less
/// loss along the vessels and so more recycle. One feed of the vessels then goes with several salts.
#[test]
fn balances_where_recycle_feeds_itself() {
    let element = Element {
        area_m2: 31.427,
        water_permeability_l_m2_h_bar: 5.7097,
        salt_permeability_l_m2_h: 1.6112,
        channel_loss_kpa: 46.894,
        polarisation: 0.93627,
        ..element()
    };
    let head_m = 52.096;
    let points = [(0.0, head_m), (0.3, 0.9 * head_m), (0.6, 0.65 * head_m), (1.0, 0.2 * head_m)];
    let power = PumpPower::Efficiency { best_flow_lps: 0.5, best_efficiency: 0.45 };
    let unit = MembraneUnit {
        element,
        elements_in_series: 6,
        pump: Some(UnitPump { curve: PumpCurve::through(&points).expect("a curve"), power }),
        product_kpa: 23.656,
        drain_kpa: 33.219,
        osmotic: OsmoticModel::Ideal { coefficient: 0.92734 },
        ..skid(Valves { reject_kv: 0.052_484, recycle_kv: 0.069_102 })
    };
    let fouling = Fouling { water_share: 0.53755, channel_times: 3.6162 };
    for tenths in 0..100 {
        let inlet_kpa = 125.0 + 0.1 * f64::from(tenths);
        let case =
            Case { unit: unit.clone(), temp_c: 27.588, fouling, inlet_kpa, feed_mg_l: 21_364.0, loop_mg_l: 588.85 };
        let at = case.unit.at(case.temp_c, case.fouling, &Water::at(case.temp_c));
        assert_sound(&case, &at.at_loop(case.inlet_kpa, case.feed_mg_l, case.loop_mg_l));
    }
}

/// A skid with a share of its concentrate going back, and its settled state.
const VALVES: Valves = Valves { reject_kv: 0.005, recycle_kv: 0.006 };
const SALT_MG_L: f64 = 1_500.0;

/// The skid at a flow to the drain and one back, its valves set by readings.
///
/// Its pump is large and its curve flat, so that it holds the pressure.
fn skid_at(reject_lps: f64, recycle_lps: f64) -> Operation {
    let curve = PumpCurve::Parabola { shutoff_m: 90.0, loss_m_per_lps2: 10.0 };
    let power = PumpPower::Efficiency { best_flow_lps: 1.0, best_efficiency: 0.45 };
    let mut unit = MembraneUnit { pump: Some(UnitPump { curve, power }), ..skid(VALVES) };
    for _ in 0..60 {
        let found = steady(&unit);
        let reading = ValveReading {
            reject_lps,
            recycle_lps,
            concentrate_kpa: found.concentrate_kpa,
            suction_kpa: INLET_KPA,
            drain_kpa: 0.0,
        };
        unit.valves = reading.valves().expect("pressure at the valves");
    }
    let found = steady(&unit);
    assert!((found.flows.reject_lps / reject_lps - 1.0).abs() < 1e-9, "{found:?}");
    assert!((found.flows.recycle_lps - recycle_lps).abs() < 1e-9, "{found:?}");
    found
}

#[test]
fn settled_loop_is_a_loop_as_salty_as_its_concentrate() {
    let settled = steady(&skid(VALVES));
    let unit = skid(VALVES);
    let again = at_10_c(&unit).at_loop(INLET_KPA, SALT_MG_L, settled.loop_salt_mg_l);
    assert!((again.tail_salt_mg_l / settled.tail_salt_mg_l - 1.0).abs() < 1e-10);
    assert!((again.flows.product_lps / settled.flows.product_lps - 1.0).abs() < 1e-10);
    assert!(again.flows.loop_gain_mg_s(SALT_MG_L, settled.loop_salt_mg_l).abs() < 1e-9 * SALT_MG_L);
}

#[test]
fn recycle_alone_saves_no_water_and_costs_power() {
    let before = skid_at(0.15, 0.15);
    let after = skid_at(0.15, 0.30);
    let (was, is) = (before.flows, after.flows);
    // The same reject, and hardly less product: saltier water, and the pump gives a little less pressure at more flow.
    let waste = |flows: springhouse_core::membrane::unit::Flows| flows.reject_lps / flows.product_lps;
    assert!((waste(is) / waste(was) - 1.0).abs() < 0.05, "{} and {}", waste(was), waste(is));
    assert!(waste(is) > waste(was), "no water is saved");
    assert!(is.power_w / is.product_lps > 1.05 * was.power_w / was.product_lps, "{was:?} {is:?}");
    assert!(is.product_salt_mg_l() > was.product_salt_mg_l());
    assert!(after.elements[0].recovery < before.elements[0].recovery, "more flows past");
}

#[test]
fn reject_moved_to_recycle_raises_recovery_and_tail_salt() {
    let mut last = skid_at(0.30, 0.0);
    for recycle_lps in [0.05, 0.10, 0.15, 0.20, 0.25] {
        let next = skid_at(0.30 - recycle_lps, recycle_lps);
        assert!(next.flows.recovery() > last.flows.recovery(), "{recycle_lps}");
        assert!(next.tail_salt_mg_l > last.tail_salt_mg_l, "{recycle_lps}");
        assert!(next.flows.product_salt_mg_l() > last.flows.product_salt_mg_l(), "{recycle_lps}");
        last = next;
    }
    // From 0.30 to 0.05 L/s of reject: less than a third of the waste for a litre of product.
    assert!(last.flows.recovery() > 0.6 && last.tail_salt_mg_l > 2.0 * SALT_MG_L, "{last:?}");
}

#[test]
fn exact_salt_creeps_up_with_the_reject_shut() {
    let unit = skid(Valves { reject_kv: 0.0, recycle_kv: 0.012 });
    let at = at_10_c(&unit);
    assert_eq!(at.steady(INLET_KPA, SALT_MG_L), Err(NoSteadyState::NoReject));
    let (mut loop_mg_l, mut in_mg, step_s) = (SALT_MG_L, 0.0, 0.5);
    let mut last_lps = f64::INFINITY;
    for _ in 0..1_200 {
        let flows = at.at_loop(INLET_KPA, SALT_MG_L, loop_mg_l).flows;
        assert_eq!(flows.reject_lps, 0.0);
        assert_eq!(flows.feed_lps(), flows.product_lps);
        assert!(flows.product_lps < last_lps, "salt takes the pressure");
        last_lps = flows.product_lps;
        let gain_mg_s = flows.loop_gain_mg_s(SALT_MG_L, loop_mg_l);
        in_mg += step_s * (flows.feed_lps() * SALT_MG_L - flows.product_salt_mg_s);
        loop_mg_l += step_s * gain_mg_s / unit.loop_volume_l;
    }
    // What came in and did not pass is in the loop.
    assert!((in_mg / (unit.loop_volume_l * (loop_mg_l - SALT_MG_L)) - 1.0).abs() < 1e-9);
    assert!(loop_mg_l > 4.0 * SALT_MG_L, "{loop_mg_l}");
}

#[test]
fn nothing_flows_with_both_valves_shut_or_no_pressure() {
    let shut = skid(Valves { reject_kv: 0.0, recycle_kv: 0.0 });
    let found = at_10_c(&shut).at_loop(INLET_KPA, SALT_MG_L, SALT_MG_L);
    assert_eq!((found.flows.feed_lps(), found.flows.vessel_feed_lps()), (0.0, 0.0));
    // The pump stands at its shut-off head.
    let shutoff_kpa = Water::at(10.0).pressure_kpa(90.0);
    assert!((found.concentrate_kpa - INLET_KPA - shutoff_kpa).abs() < 1e-9);
    assert_eq!(at_10_c(&shut).steady(INLET_KPA, SALT_MG_L), Err(NoSteadyState::Still));
    // Next to nothing flows with a valve next to shut.
    let all_but_shut = skid(Valves { reject_kv: 1e-12, recycle_kv: 0.0 });
    let flows = at_10_c(&all_but_shut).at_loop(INLET_KPA, SALT_MG_L, SALT_MG_L).flows;
    assert!(flows.product_lps > 0.0 && flows.product_lps < 1e-6, "{flows:?}");
    let unfed = MembraneUnit { pump: None, ..skid(VALVES) };
    assert_eq!(at_10_c(&unfed).steady(0.0, SALT_MG_L), Err(NoSteadyState::Still));
    assert_eq!(at_10_c(&unfed).at_loop(0.0, SALT_MG_L, SALT_MG_L).flows.vessel_feed_lps(), 0.0);
}

#[test]
fn parallel_vessels_share_the_feed() {
    let one = skid(VALVES);
    let curve = PumpCurve::Parabola { shutoff_m: 90.0, loss_m_per_lps2: 25.0 };
    let power = PumpPower::Efficiency { best_flow_lps: 1.0, best_efficiency: 0.45 };
    let two = MembraneUnit {
        vessels: 2,
        pump: Some(UnitPump { curve, power }),
        valves: Valves { reject_kv: 2.0 * VALVES.reject_kv, recycle_kv: 2.0 * VALVES.recycle_kv },
        ..one
    };
    let [one, two] = [one, two].map(|unit| at_10_c(&unit).steady(INLET_KPA, SALT_MG_L).expect("a steady state"));
    let close = |doubled: f64, single: f64| assert!((doubled / (2.0 * single) - 1.0).abs() < 1e-11);
    close(two.flows.product_lps, one.flows.product_lps);
    close(two.flows.reject_lps, one.flows.reject_lps);
    close(two.flows.power_w, one.flows.power_w);
    assert!((two.tail_salt_mg_l / one.tail_salt_mg_l - 1.0).abs() < 1e-11);
}

/// The largest error of a curve from no inlet pressure on, as shares of the largest of each: flows, salt that passes, power.
fn curve_errors(unit: &MembraneUnit, feed_mg_l: f64, loop_mg_l: f64) -> [f64; 3] {
    const MOST_KPA: f64 = 500.0;
    let at = at_10_c(unit);
    let curve = OperatingCurve::new(&at, feed_mg_l, loop_mg_l, MOST_KPA);
    let numbers = |flows: springhouse_core::membrane::unit::Flows| {
        [flows.product_lps, flows.reject_lps, flows.recycle_lps, flows.product_salt_mg_s, flows.power_w]
    };
    let whole = numbers(at.at_loop(MOST_KPA, feed_mg_l, loop_mg_l).flows);
    let mut worst = [0.0_f64; 5];
    for step in 0..=2_000_u32 {
        let kpa = MOST_KPA * f64::from(step) / 2_000.0;
        let (exact, read) = (numbers(at.at_loop(kpa, feed_mg_l, loop_mg_l).flows), numbers(curve.at(kpa)));
        for ((worst, whole), (exact, read)) in worst.iter_mut().zip(whole).zip(exact.into_iter().zip(read)) {
            assert!(read >= 0.0, "{read} at {kpa} kPa");
            if whole > 0.0 {
                *worst = worst.max((read - exact).abs() / whole);
            }
        }
    }
    // Out of range it stays at the ends.
    assert_eq!(curve.at(2.0 * MOST_KPA), curve.at(MOST_KPA));
    assert_eq!(curve.at(-10.0), curve.at(0.0));
    [worst[0].max(worst[1]).max(worst[2]), worst[3], worst[4]]
}

#[test]
fn operating_curve_follows_the_unit() {
    for (feed_mg_l, loop_mg_l) in [(300.0, 700.0), (1_500.0, 4_000.0), (10_000.0, 12_000.0)] {
        for valves in [VALVES, Valves { recycle_kv: 0.0, ..VALVES }, Valves { reject_kv: 0.0, ..VALVES }] {
            let [flows, salt, power] = curve_errors(&skid(valves), feed_mg_l, loop_mg_l);
            // Nodes are added until the error expected is under 1e-4; where salt takes all of the pump's pressure at the lower
            // end of the range, there is a knee in which more is left.
            let most = if loop_mg_l < 10_000.0 { 1e-4 } else { 5e-4 };
            assert!(flows < most && salt < most && power < most, "{flows} {salt} {power} with {valves:?}");
        }
        // On tap pressure product sets in within the range, and salt passes at once: the curve has a kink and a knee.
        let tap = MembraneUnit { pump: None, elements_in_series: 1, ..skid(VALVES) };
        let [flows, salt, _] = curve_errors(&tap, feed_mg_l, loop_mg_l);
        assert!(flows < 1e-3 && salt < 2e-3, "{flows} {salt}");
    }
}
