//! Pumps, their curves, power, pipes and controls; tanks under pressure.

use proptest::prelude::*;
use springhouse_core::pipe::Pipe;
use springhouse_core::pressure_tank::PressureTank;
use springhouse_core::pump::{PumpCurve, PumpPower, SupplyPump};
use springhouse_core::supply::{Control, Drive};
use springhouse_core::time::Span;

use crate::plants::{ATMOSPHERE_KPA, water};

pub(super) fn tank(volume_l: impl Strategy<Value = f64>) -> impl Strategy<Value = PressureTank> {
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

pub(super) fn curve() -> impl Strategy<Value = PumpCurve> {
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

pub(super) fn power() -> impl Strategy<Value = PumpPower> {
    prop_oneof![
        (0.0..3_000.0).prop_map(|power_w| PumpPower::Constant { power_w }),
        (0.1..2.0, 0.1..0.8)
            .prop_map(|(best_flow_lps, best_efficiency)| PumpPower::Efficiency { best_flow_lps, best_efficiency }),
    ]
}

pub(super) fn pipe() -> impl Strategy<Value = Option<Pipe>> {
    proptest::option::of((1.0..120.0, 20.0..60.0).prop_map(|(length_m, bore_mm)| Pipe {
        length_m,
        bore_mm,
        roughness_mm: 0.0015,
    }))
}

pub(super) fn drive() -> impl Strategy<Value = Drive> {
    (150.0..450.0, prop_oneof![0.3..0.99, 0.99..0.999_99], 0.0..0.1, prop_oneof![Just(0.0), 0.0..120.0]).prop_map(
        |(set_kpa, wake, sleep_flow_lps, sleep_s)| Drive {
            set_kpa,
            wake_kpa: wake * set_kpa,
            sleep_flow_lps,
            sleep_delay: Span::from_s(sleep_s),
            standby_w: 10.0,
        },
    )
}

fn switch() -> impl Strategy<Value = Control> {
    (100.0..300.0, 20.0..200.0)
        .prop_map(|(cut_in_kpa, band_kpa)| Control::Switch { cut_in_kpa, cut_out_kpa: cut_in_kpa + band_kpa })
}

/// A pump in a source: with a pressure switch, or with a drive.
pub(super) fn supply_pump(driven: bool) -> impl Strategy<Value = SupplyPump> {
    let control = if driven { drive().prop_map(Control::Drive).boxed() } else { switch().boxed() };
    (curve(), pipe(), power(), control)
        .prop_map(|(curve, pipe, power, control)| SupplyPump::new(curve, pipe.as_ref(), &water(), power, 0.0, control))
}
