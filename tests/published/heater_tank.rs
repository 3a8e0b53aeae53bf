//! A stratified tank, against closed forms and a fine grid worked out elsewhere.

use proptest::prelude::*;
use springhouse_core::heater::WATER_J_L_K;
use springhouse_core::heater::layers::{Layer, Layers};
use springhouse_core::heater::tank::Tank;

use crate::table::Table;

/// A draw of 12 L/min, litres until it is too cold, and two ways to stand; made by `t11_stratified_tank.py`.
const DRAW: &str = include_str!("../data/11_draw_outlet.csv");
const USABLE: &str = include_str!("../data/11_usable_volume.csv");
const STANDBY_MIXED: &str = include_str!("../data/11_standby_mixed.csv");
const STANDBY_STRATIFIED: &str = include_str!("../data/11_standby_stratified.csv");

/// The tank of the tables.
const TANK: Tank =
    Tank { volume_l: 300.0, height_m: 1.5, loss_w_k: 3.0, inlet_mixing: 0.0, diffusivity_m2_s: Tank::WATER_M2_S };
const HOT_C: f64 = 51.7;
const COLD_C: f64 = 12.0;

/// Pieces of a draw of 12 L/min with no loss, told minute by minute with the litres drawn at their ends.
fn drawn(tank: Tank, litres: f64) -> Vec<(f64, f64)> {
    let tank = Tank { loss_w_k: 0.0, ..tank };
    let mut layers = Layers::uniform(tank.volume_l, HOT_C);
    let (mut pieces, mut sum_l) = (Vec::new(), 0.0);
    while sum_l < litres - 1e-9 {
        tank.draw(&mut layers, 12.0, COLD_C, |piece| {
            sum_l += piece.volume_l;
            pieces.push((sum_l, piece.temp_c));
        });
        tank.stand(&mut layers, 20.0, 60.0);
    }
    pieces
}

fn usable_l(pieces: &[(f64, f64)], temp_c: f64) -> f64 {
    pieces.iter().take_while(|piece| piece.1 >= temp_c).last().map_or(0.0, |piece| piece.0)
}

#[test]
fn external_usable_litres_of_plug_flow() {
    // Two in a thousand of the tank: layers are that thin where the temperature steps.
    let pieces = drawn(TANK, 330.0);
    for row in Table::read(USABLE).rows() {
        let (temp_c, expected_l) = (row.number("T_usable_C"), row.number("L_until_outlet_below_ogata_banks"));
        let found_l = usable_l(&pieces, temp_c);
        assert!((found_l - expected_l).abs() < 2e-3 * TANK.volume_l, "{temp_c} °C: {found_l} L for {expected_l} L");
    }
}

#[test]
fn external_outlet_of_plug_flow() {
    // Layers step by a 20th of the 40 K or hold 0.6 L: so many litres are allowed, and half such a step.
    let pieces = drawn(TANK, 360.0);
    let at = |litres: f64| pieces.iter().find(|piece| piece.0 >= litres).expect("drawn that far").1;
    let mut rows = 0;
    for row in Table::read(DRAW).rows().filter(|row| row.number("volume_L") < 345.0) {
        let (litres, expected_c) = (row.number("volume_L"), row.number("T_out_fv4000"));
        let (early_c, late_c) = (at((litres - 0.6).max(0.0)), at(litres + 0.6));
        assert!(
            late_c - 1.0 < expected_c && expected_c < early_c + 1.0,
            "{litres} L: {late_c} to {early_c} for {expected_c}"
        );
        rows += 1;
    }
    assert!(rows > 50);
}

#[test]
fn exact_stirred_tank_is_one_node() {
    // The table's single mixed node: pieces are means over their litres, so their sums are exact. Nine digits.
    let stirred = Tank { inlet_mixing: 1.0, diffusivity_m2_s: 0.0, loss_w_k: 0.0, ..TANK };
    let mut layers = Layers::uniform(stirred.volume_l, HOT_C);
    let mut sum_l = 0.0;
    for row in Table::read(DRAW).rows() {
        let litres = row.number("volume_L");
        if litres > sum_l {
            stirred.draw(&mut layers, litres - sum_l, COLD_C, |_| ());
            sum_l = litres;
        }
        let (found_c, expected_c) = (layers.top().temp_c, row.number("T_out_1_mixed_nodes"));
        assert!(layers.as_slice().len() == 1 && (found_c - expected_c).abs() < 6e-8, "{litres} L: {found_c}");
    }
}

#[test]
fn exact_jet_stirs_its_part_and_no_more() {
    // With the lowest X of the tank stirred the outlet is hot for (1 - X) V and falls exponentially then: it reaches
    // T at V (1 - X + X ln((T_h - T_c) / (T - T_c))), within a piece of an eighth of the stirred part.
    for mixing in [0.1, 0.3, 0.7] {
        let pieces = drawn(Tank { inlet_mixing: mixing, diffusivity_m2_s: 0.0, ..TANK }, 330.0);
        for temp_c in [50.0, 43.3, 35.0] {
            let expected_l = 300.0 * (1.0 - mixing + mixing * ((HOT_C - COLD_C) / (temp_c - COLD_C)).ln());
            let found_l = usable_l(&pieces, temp_c);
            assert!((found_l - expected_l).abs() < 0.125 * mixing * 300.0, "{mixing}, {temp_c} °C: {found_l} L");
        }
    }
}

#[test]
fn external_mixed_standby() {
    // One closed form; nine digits in the table.
    let mut rows = 0;
    for row in Table::read(STANDBY_MIXED).rows() {
        let mut layers = Layers::uniform(300.0, HOT_C);
        let (mut lost_j, mut left_s) = (0.0, 3_600.0 * row.number("h"));
        while left_s > 0.0 {
            lost_j += TANK.stand(&mut layers, 20.0, 60.0);
            left_s -= 60.0;
        }
        let found_c = layers.top().temp_c;
        assert!((found_c - row.number("T_C")).abs() < 6e-8, "{found_c}");
        assert!((lost_j / 3.6e6 - row.number("energy_lost_kWh")).abs() < 6e-9, "{lost_j}");
        rows += 1;
    }
    assert_eq!(rows, 9);
}

#[test]
fn external_stratified_standby() {
    // Layers step by a 20th of the 40 K or hold 0.6 L, of 3 mm: a point of the table lies within the range of 4 mm about
    // it, give and take half such a step.
    let mut layers = Layers::uniform(300.0, HOT_C);
    TANK.draw(&mut layers, 150.0, COLD_C, |_| ());
    let profile = Table::read(STANDBY_STRATIFIED);
    let (mut hours, mut rows) = (0.0, 0);
    for row in profile.rows() {
        while hours < row.number("h") - 1e-9 {
            for _ in 0..60 {
                TANK.stand(&mut layers, 20.0, 60.0);
            }
            hours += 1.0;
        }
        let (height, expected_c) = (row.number("z_m") / TANK.height_m, row.number("T_series"));
        let low_c = TANK.temp_at_c(&layers, height - 0.004 / 1.5);
        let high_c = TANK.temp_at_c(&layers, height + 0.004 / 1.5);
        assert!(
            low_c - 1.0 < expected_c && expected_c < high_c + 1.0,
            "{hours} h, {height}: {low_c} to {high_c} for {expected_c}"
        );
        rows += 1;
    }
    assert_eq!(rows, 4 * 29);
    // The mean decays as if mixed.
    let mean_c = TANK.mean_c(&layers, 0.0, 1.0);
    let expected_c = 20.0 + (31.85 - 20.0) * (-2.421_401_313e-6_f64 * 86_400.0).exp();
    assert!((mean_c - expected_c).abs() < 1e-8, "{mean_c} for {expected_c}");
}

#[derive(Clone, Copy, Debug)]
enum Step {
    Draw { litres: f64, inlet_c: f64 },
    Heat { from: f64, span: f64, heat_j: f64 },
    Stand { air_c: f64, seconds: f64 },
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let step = prop_oneof![
        (1e-3..400.0, 2.0..60.0).prop_map(|(litres, inlet_c)| Step::Draw { litres, inlet_c }),
        (0.0..0.9, 0.01..0.9, 0.0..2e6).prop_map(|(from, span, heat_j)| Step::Heat { from, span, heat_j }),
        (5.0..30.0, 0.0..7_200.0).prop_map(|(air_c, seconds)| Step::Stand { air_c, seconds }),
        (0.01..3.0, 2.0..60.0).prop_map(|(litres, inlet_c)| Step::Draw { litres, inlet_c }),
    ];
    prop::collection::vec(step, 1..200)
}

proptest! {
    #[test]
    fn any_tank_balances_and_stays_in_order(steps in steps(), mixing in 0.0..1.0_f64, volume_l in 20.0..500.0) {
        let tank = Tank { volume_l, inlet_mixing: if mixing < 0.3 { 0.0 } else { mixing - 0.3 }, ..TANK };
        let mut layers = Layers::uniform(volume_l, 40.0);
        let mut book_j = tank.energy_j(&layers, 0.0);
        let (mut coldest_c, mut hottest_c, mut heated, mut moved_j) = (40.0_f64, 40.0_f64, false, book_j);
        for step in steps {
            match step {
                Step::Draw { litres, inlet_c } => {
                    let (mut out_l, mut out_j) = (0.0, 0.0);
                    tank.draw(&mut layers, litres, inlet_c, |Layer { volume_l, temp_c }| {
                        out_l += volume_l;
                        out_j += WATER_J_L_K * volume_l * temp_c;
                    });
                    prop_assert!((out_l / litres - 1.0).abs() < 1e-12, "{out_l} for {litres}");
                    book_j += WATER_J_L_K * litres * inlet_c - out_j;
                    moved_j += out_j;
                    (coldest_c, hottest_c) = (coldest_c.min(inlet_c), hottest_c.max(inlet_c));
                }
                Step::Heat { from, span, heat_j } => {
                    tank.heat(&mut layers, from, (from + span).min(1.0), heat_j);
                    book_j += heat_j;
                    moved_j += heat_j;
                    heated = true;
                }
                Step::Stand { air_c, seconds } => {
                    book_j -= tank.stand(&mut layers, air_c, seconds);
                    (coldest_c, hottest_c) = (coldest_c.min(air_c), hottest_c.max(air_c));
                }
            }
            let found_j = tank.energy_j(&layers, 0.0);
            prop_assert!((found_j - book_j).abs() < 1e-12 * moved_j, "{step:?}: {found_j} for {book_j}");
            prop_assert!((layers.volume_l() / volume_l - 1.0).abs() < 1e-12);
            let temps = || layers.as_slice().iter().map(|layer| layer.temp_c);
            prop_assert!(layers.as_slice().iter().all(|layer| layer.volume_l > 0.0), "{layers:?}");
            prop_assert!(temps().zip(temps().skip(1)).all(|(low, high)| low <= high + 1e-9), "{layers:?}");
            prop_assert!(temps().all(|temp_c| temp_c > coldest_c - 1e-9), "{layers:?}");
            prop_assert!(heated || temps().all(|temp_c| temp_c < hottest_c + 1e-9), "{layers:?}");
        }
    }
}
