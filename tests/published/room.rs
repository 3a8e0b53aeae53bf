//! A room that a heat pump cools, against closed forms worked out elsewhere.

use springhouse_core::moist_air::MoistAir;
use springhouse_core::room::{Room, RoomGains, RoomState};

use crate::table::Table;

/// Five rooms at eight times, checked there by integration; made by `t12_hpwh_room.py`.
const ROOMS: &str = include_str!("../data/12_room.csv");
/// Three rooms cooled on and off for ever; made by the same.
const CYCLES: &str = include_str!("../data/12_room_periodic.csv");

fn after(room: &Room, temp_c: f64, outside_c: f64, heat_w: f64, seconds: f64) -> f64 {
    let outside = MoistAir { temp_c: outside_c, humidity_kg_kg: 0.0, pressure_kpa: 101.325 };
    let gains = RoomGains { heat_w, moisture_kg_s: 0.0 };
    room.after(RoomState { temp_c, humidity_kg_kg: 0.0 }, &outside, gains, seconds).temp_c
}

#[test]
fn external_rooms_cooled_from_the_start() {
    // Nine digits. What is taken with `k (T - 20 °C)` is a loss of `k` to a neighbour of 20 °C.
    let mut rows = 0;
    for row in Table::read(ROOMS).rows() {
        let (loss_w_k, less_w_k) = (row.number("UA_W_K"), row.number("k_W_K"));
        let room =
            Room { heat_j_k: row.number("C_J_K"), loss_w_k: loss_w_k + less_w_k, volume_m3: 30.0, air_changes_h: 0.0 };
        let around_c = (loss_w_k * row.number("T_out_C") + less_w_k * 20.0) / room.loss_w_k;
        let minutes = row.number("t_min");
        let found_c = after(&room, row.number("T0_C"), around_c, -row.number("Qx_W"), 60.0 * minutes);
        let expected_c = row.number("T_room_C");
        assert!((found_c - expected_c).abs() < 6e-8, "{} at {minutes} min: {found_c}", row.text("case"));
        rows += 1;
    }
    assert_eq!(rows, 40);
}

#[test]
fn external_rooms_cooled_on_and_off() {
    // Minute by minute until a cycle repeats itself; nine digits in the table.
    let mut rows = 0;
    for row in Table::read(CYCLES).rows() {
        let (heat_j_k, loss_w_k) = (row.number("C_J_K"), row.number("UA_W_K"));
        let room = Room { heat_j_k, loss_w_k, volume_m3: 30.0, air_changes_h: 0.0 };
        let outside_c = row.number("T_out_C");
        let run = |mut temp_c: f64, heat_w: f64, column: &str| {
            let mut left_s = row.number(column);
            while left_s > 0.0 {
                temp_c = after(&room, temp_c, outside_c, heat_w, 60.0);
                left_s -= 60.0;
            }
            temp_c
        };
        let (mut low_c, mut high_c) = (0.0, outside_c);
        for _ in 0..200 {
            low_c = run(high_c, -row.number("Qx_W"), "on_s");
            high_c = run(low_c, 0.0, "off_s");
        }
        assert!((low_c - row.number("T_min_C")).abs() < 6e-8, "{low_c}");
        assert!((high_c - row.number("T_max_C")).abs() < 6e-8, "{high_c}");
        rows += 1;
    }
    assert_eq!(rows, 3);
}
