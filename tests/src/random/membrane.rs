//! Membrane units that can be built: whatever a person can dial.

use proptest::option::of;
use proptest::prelude::*;
use springhouse_core::membrane::Membrane;
use springhouse_core::membrane::element::{Element, Fouling};
use springhouse_core::membrane::fouling::FoulingLaw;
use springhouse_core::membrane::limits::FeedKind;
use springhouse_core::membrane::osmosis::OsmoticModel;
use springhouse_core::membrane::place::{Blend, CalciteBed, Flush, InletTrip, Scale};
use springhouse_core::membrane::unit::{MembraneUnit, UnitPump};
use springhouse_core::membrane::valve::Valves;
use springhouse_core::scaling::{Limits, TypicalWater};
use springhouse_core::time::Span;

use super::power::hours;
use super::pump::{curve, power};

fn element() -> impl Strategy<Value = Element> {
    (0.5..40.0, 0.3..8.0, 0.0..1.0, 0.0..40.0).prop_map(|(area_m2, water, salt, channel_loss_kpa)| Element {
        area_m2,
        water_permeability_l_m2_h_bar: water,
        salt_permeability_l_m2_h: salt,
        water_temp_k: 2_640.0,
        salt_temp_k: 5_180.0,
        channel_loss_kpa,
        channel_exponent: 1.7,
        polarisation: 0.7,
    })
}

/// A valve that is shut, nearly so, or open to some degree.
fn valve() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 1 => 1e-6..1e-3, 4 => 1e-3..0.05]
}

fn unit() -> impl Strategy<Value = MembraneUnit> {
    let pump = (curve(), power()).prop_map(|(curve, power)| UnitPump { curve, power });
    let osmotic = prop_oneof![
        (0.8..1.0).prop_map(|share| OsmoticModel::Chloride { share }),
        (0.7..1.0).prop_map(|coefficient| OsmoticModel::Ideal { coefficient }),
    ];
    (element(), 1..=6_usize, 1..=3_u32, of(pump), (valve(), valve()), (0.0..50.0, 0.0..20.0), 0.5..60.0, osmotic)
        .prop_map(
            |(
                element,
                elements_in_series,
                vessels,
                pump,
                (reject_kv, recycle_kv),
                (product_kpa, drain_kpa),
                loop_volume_l,
                osmotic,
            )| {
                MembraneUnit {
                    element,
                    elements_in_series,
                    vessels,
                    pump,
                    valves: Valves { reject_kv, recycle_kv },
                    product_kpa,
                    drain_kpa,
                    loop_volume_l,
                    osmotic,
                }
            },
        )
}

/// A membrane unit in its place; `basins` are supplies that can take its reject.
pub(super) fn membrane(basins: Vec<usize>, storage_l: f64) -> impl Strategy<Value = Membrane> {
    let seconds = |most: f64| prop_oneof![Just(0.0), 1.0..most].prop_map(Span::from_s);
    let flush = (seconds(300.0), seconds(300.0), 0.0..1.0, 5.0..200.0)
        .prop_map(|(before, after, flow_lps, full_flow_kpa)| Flush { before, after, flow_lps, full_flow_kpa });
    let inlet = (0.0..250.0, 1.0..60.0, 10.0..900.0, 0..4_u32).prop_map(|(kpa, delay, retry_after, retries)| {
        InletTrip { kpa, delay: Span::from_s(delay), retry_after: Span::from_s(retry_after), retries }
    });
    let fouling = (0.4..1.0, 1.0..3.0).prop_map(|(water_share, channel_times)| Fouling { water_share, channel_times });
    let calcite = (0.0..30.0, 10.0..2_000.0, 0.0..100.0).prop_map(|(start_kg, contact_s, calcite_mg_l)| CalciteBed {
        start_kg,
        contact_s,
        calcite_mg_l,
    });
    let reject_to = of(prop::sample::select(if basins.is_empty() { vec![usize::MAX] } else { basins }))
        .prop_map(|supply| supply.filter(|supply| *supply < usize::MAX));
    (
        (unit(), any::<bool>(), any::<bool>()),
        (0.5..30.0, -2.0..5.0),
        fouling,
        flush,
        seconds(600.0),
        inlet,
        any::<bool>(),
        (0.0..20.0, of((0.0..0.05).prop_map(|kv| Blend { kv })), of(calcite)),
        ((reject_to, any::<bool>()), hours(storage_l)),
    )
        .prop_map(
            |(
                (unit, scales, fouls_fast),
                (feed_temp_c, rise_m),
                start_fouling,
                flush,
                divert,
                inlet,
                yields,
                (product_volume_l, blend, calcite),
                ((reject_to, reject_circles), hours),
            )| {
                let usual = FoulingLaw::of(FeedKind::Surface);
                Membrane {
                    unit,
                    feed_temp_c,
                    rise_m,
                    start_fouling,
                    // So fast that a day may bring it to where cleaning is due, and not far beyond.
                    fouling: FoulingLaw { interval_h: if fouls_fast { 40.0 } else { usual.interval_h }, ..usual },
                    scale: scales
                        .then(|| Scale { analysis: TypicalWater::HardWell.analysis(), limits: Limits::UNTREATED }),
                    flush,
                    divert,
                    inlet,
                    yields,
                    product_volume_l,
                    blend,
                    calcite,
                    reject_to,
                    reject_circles,
                    hours,
                }
            },
        )
}
