//! What stands behind the grid, and hours of sun and prices.

use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use springhouse_core::membrane::RunHours;
use springhouse_core::power::{Backup, Battery, Generator, PowerHour, SitePower};
use springhouse_core::time::Span;

fn seconds(most: f64) -> impl Strategy<Value = Span> {
    prop_oneof![Just(0.0), 1.0..most].prop_map(Span::from_s)
}

/// Battery, generator, both or neither: some so small that they fail.
pub(super) fn site_power() -> impl Strategy<Value = SitePower> {
    let battery = (1e5..5e7, 200.0..8e3, 0.8..=1.0, 0.0..=1.0, 0.0..=1.0).prop_map(
        |(capacity_j, power_w, one_way, reserve_share, start_share)| Battery {
            capacity_j,
            power_w,
            one_way,
            reserve_share,
            start_share,
        },
    );
    let generator = ((200.0..8e3, seconds(3_600.0), of(0.0..20.0)), (0.0..1.0, 1.0..3.0), any::<bool>()).prop_map(
        |((power_w, start_after, fuel_l), (idle_l_h, full_l_h), one_motor)| Generator {
            power_w,
            start_after,
            fuel_l,
            idle_l_h,
            full_l_h,
            price_per_l: 1.5,
            kg_per_l: 2.3,
            one_motor,
        },
    );
    let backup = (any::<bool>(), any::<bool>(), 0.0..=1.0).prop_map(|(membrane, heaters, other_share)| Backup {
        membrane,
        heaters,
        other_share,
    });
    (of(battery), of(generator), backup).prop_map(|(battery, generator, backup)| SitePower {
        battery,
        generator,
        backup,
    })
}

/// An hour of sun, house and prices.
pub(super) fn power_hour() -> impl Strategy<Value = PowerHour> {
    let sun = prop_oneof![Just(0.0), 0.0..8e3];
    let season = 0..4_u8;
    (sun, 0.0..4e3, 0.0..1.0, -0.1..0.5, 0.0..1.0, season).prop_map(
        |(solar_w, other_w, import_per_kwh, export_per_kwh, import_kg_per_kwh, season)| PowerHour {
            solar_w,
            other_w,
            import_per_kwh,
            export_per_kwh,
            import_kg_per_kwh,
            season,
        },
    )
}

/// Hours to which a membrane unit is held, with storage of so much.
pub(super) fn hours(capacity_l: f64) -> impl Strategy<Value = Option<RunHours>> {
    let window = (seconds(86_400.0), seconds(86_400.0));
    let hours =
        (vec(window, 0..3), of(1.0..6e3), (0.0..1.0, 0.0..1.0)).prop_map(move |(windows, surplus_w, (a, b))| {
            let (urgent_l, relaxed_l) = (f64::min(a, b) * capacity_l, f64::max(a, b) * capacity_l);
            RunHours { windows, surplus_w, urgent_l, relaxed_l: f64::max(relaxed_l, urgent_l + 1.0) }
        });
    of(hours)
}
