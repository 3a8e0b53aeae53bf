//! Wells, cisterns, ponds and town lines; one or several that feed at once, and a standby.

use proptest::option::of;
use proptest::prelude::*;
use springhouse_core::basin::{Basin, BasinCutoff, BasinKind, TopUp};
use springhouse_core::pond::{Catchment, OpenWater};
use springhouse_core::quality::Quality;
use springhouse_core::supply::{ChangeOver, Source, Supply};
use springhouse_core::time::Span;
use springhouse_core::town_line::TownLine;
use springhouse_core::well::{LowLevelCutoff, Response, Well};

use super::pump::supply_pump;

fn response() -> impl Strategy<Value = Response> {
    let drawdown =
        (prop_oneof![Just(0.0), 0.1..50.0], -4.0..1.0, 1.0..80.0).prop_map(|(casing_l_per_m, exponent, entry)| {
            let specific_capacity_lps_per_m = 10.0_f64.powf(exponent);
            Response::Drawdown { casing_l_per_m, specific_capacity_lps_per_m, entry_depth_m: 10.0 + entry }
        });
    prop_oneof![Just(Response::Ideal), drawdown.clone(), drawdown]
}

fn well() -> impl Strategy<Value = Well> {
    let cutoff = of((0.1..0.9, 0.1..0.9, 0.0..4_000.0));
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

fn basin() -> impl Strategy<Value = Basin> {
    let cutoff = of((0.0..0.3, 0.31..1.0, 0.0..4_000.0));
    let top_up = of((0.0..0.5, 0.51..1.0, 0.01..1.0, 1.0..250.0));
    let shape = (prop_oneof![Just(1.0), 1.0..4.0], 0.5..4.0, -5.0..5.0);
    let intake = prop_oneof![1 => Just(0.0), 3 => 0.0..0.1];
    (any::<bool>(), 200.0..20_000.0, 0.0..=1.0, (shape, intake), cutoff, top_up, of(open_water())).prop_map(
        |(pond, capacity_l, start, ((shape, full_depth_m, brim_height_m), intake), cutoff, top_up, open)| Basin {
            kind: if pond { BasinKind::Pond } else { BasinKind::Cistern },
            capacity_l,
            start_l: start * capacity_l,
            intake_l: intake * capacity_l,
            full_depth_m,
            brim_height_m,
            shape,
            cutoff: cutoff.map(|(stop, restart, delay_s)| BasinCutoff {
                stop_l: capacity_l * (intake + stop * (1.0 - intake)),
                restart_l: capacity_l * (intake + restart * (1.0 - intake)),
                restart_delay: Span::from_s(delay_s),
            }),
            top_up: top_up.map(|(start, stop, flow_lps, full_flow_kpa)| TopUp {
                start_l: start * capacity_l,
                stop_l: stop * capacity_l,
                flow_lps,
                full_flow_kpa,
            }),
            open,
        },
    )
}

/// What a basin has under the open sky; it may lose all its water in a day.
fn open_water() -> impl Strategy<Value = OpenWater> {
    let catchment = (0.0..5_000.0, 30.0..=100.0, quality()).prop_map(|(area_m2, curve_number, quality)| Catchment {
        area_m2,
        curve_number,
        quality,
    });
    let seepage = prop_oneof![3 => 0.0..50.0, 1 => 0.0..1_000.0];
    (of(catchment), 0.0..3.0, seepage, 0.0..20.0, 0.0..20.0).prop_map(
        |(catchment, evaporation_factor, seepage_mm_day, settling_m_day, clearest_mg_l)| OpenWater {
            catchment,
            evaporation_factor,
            seepage_mm_day,
            settling_m_day,
            clearest_mg_l,
        },
    )
}

fn town_line() -> impl Strategy<Value = TownLine> {
    (150.0..700.0, 0.05..2.0, 0.0..0.95)
        .prop_map(|(static_kpa, flow_lps, residual)| TownLine::new(static_kpa, (flow_lps, residual * static_kpa)))
}

/// A source with a pump.
fn pumped(driven: bool) -> BoxedStrategy<Source> {
    let well = (well(), supply_pump(driven)).prop_map(|(well, pump)| Source::Well { well, pump });
    let basin = (basin(), supply_pump(driven)).prop_map(|(basin, pump)| Source::Basin { basin, pump });
    prop_oneof![2 => well, 1 => basin].boxed()
}

fn quality() -> impl Strategy<Value = Quality> {
    (0.0..2_000.0, 0.0..100.0, 0.0..5.0, 0.0..500.0, 0.0..2.0, 0.1..=1.0).prop_map(
        |(salt_mg_l, solids_mg_l, iron_mg_l, hardness_mg_l, chlorine_mg_l, transmittance)| Quality {
            salt_mg_l,
            solids_mg_l,
            iron_mg_l,
            hardness_mg_l,
            chlorine_mg_l,
            transmittance,
        },
    )
}

/// Sources that can feed one header at once.
fn group(most: usize) -> BoxedStrategy<Vec<Source>> {
    let switched = proptest::collection::vec(pumped(false), 1..=most);
    let driven = pumped(true).prop_map(|source| vec![source]);
    let town = town_line().prop_map(|line| vec![Source::TownLine(line)]);
    prop_oneof![4 => switched, 1 => driven, 1 => town].boxed()
}

fn change_over() -> impl Strategy<Value = ChangeOver> {
    (of(0.0..3_000.0), 0.0..3_000.0).prop_map(|(after_s, back_s): (Option<f64>, f64)| ChangeOver {
        after: after_s.map(Span::from_s),
        back_after: Span::from_s(back_s),
    })
}

/// First supplies and perhaps a standby, with the rule by which it comes in.
pub(super) fn supplies() -> impl Strategy<Value = (Vec<Supply>, Option<ChangeOver>)> {
    let qualities = proptest::collection::vec((quality(), 0.0..35.0), 3);
    (group(2), of((group(1), change_over())), qualities).prop_map(|(first, second, qualities)| {
        let (standby, rule) = second.map_or((Vec::new(), None), |(standby, rule)| (standby, Some(rule)));
        let sources = first.into_iter().map(|source| (source, false)).chain(standby.into_iter().map(|it| (it, true)));
        let supplies = sources.zip(qualities).enumerate().map(|(i, ((source, standby), (quality, temp_c)))| Supply {
            name: format!("supply {i}"),
            source,
            quality,
            temp_c,
            standby,
        });
        (supplies.collect(), rule)
    })
}
