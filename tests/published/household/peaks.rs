//! The highest flow of a day against tables by which pipes are sized.

use super::{alone, home, tallied};
use crate::units::GPM_LPS;

/// Fixtures of the typical home: number, fixture units of each in a private home (International Residential Code P2903.6,
/// from memory), and chance of being in use in the busiest hour with flow in tenths of a gal/min (Peak water demand study,
/// 2017, from memory).
const FIXTURES: [(u32, f64, f64, usize); 7] = [
    // Toilets with a tank, lavatories.
    (2, 2.2, 0.010, 30),
    (2, 0.7, 0.020, 15),
    // A shower, and a tub with a shower.
    (1, 1.4, 0.045, 20),
    (1, 1.4, 0.055, 55),
    // Kitchen, dishwasher, clothes washer.
    (1, 1.4, 0.020, 22),
    (1, 1.4, 0.005, 13),
    (1, 1.4, 0.055, 35),
];

/// Fixture units and demand in gal/min with flush tanks: International Plumbing Code table E103.3(3), from memory.
const DEMAND: [(f64, f64); 7] =
    [(5.0, 9.4), (6.0, 10.7), (8.0, 12.8), (10.0, 14.6), (12.0, 16.0), (15.0, 17.5), (20.0, 19.6)];

/// On the straight line between two rows of [`DEMAND`].
fn demand_gpm(units: f64) -> f64 {
    let rows = DEMAND.windows(2).find(|rows| units <= rows[1].0).expect("within the table");
    rows[0].1 + (units - rows[0].0) / (rows[1].0 - rows[0].0) * (rows[1].1 - rows[0].1)
}

/// The flow in gal/min that is not exceeded with this chance at an instant of the busiest hour, each fixture on its own: by
/// convolution, on steps of 0.1 gal/min.
fn not_exceeded_gpm(fixtures: &[(u32, f64, f64, usize)], share: f64) -> f64 {
    let each = fixtures.iter().flat_map(|&(count, _, chance, tenths)| (0..count).map(move |_| (chance, tenths)));
    let mut chances = vec![1.0];
    for (chance, tenths) in each {
        let mut sum = vec![0.0; chances.len() + tenths];
        for (at, before) in chances.iter().enumerate() {
            sum[at] += before * (1.0 - chance);
            sum[at + tenths] += before * chance;
        }
        chances = sum;
    }
    let mut below = 0.0;
    for (tenths, chance) in chances.iter().enumerate() {
        below += chance;
        if below >= share {
            return tenths as f64 / 10.0;
        }
    }
    0.0
}

/// The older table counts on more use at once than one home makes, so its demand is above our highest minute of a day; the
/// newer chances are of one instant of the busiest hour, of which a day has many, so what is exceeded at one in a hundred
/// of those is exceeded within a day more often.
#[test]
fn external_peak_of_the_day() {
    let units: f64 = FIXTURES.iter().map(|&(count, units, ..)| f64::from(count) * units).sum();
    let (least, most) = (not_exceeded_gpm(&FIXTURES, 0.99), demand_gpm(units));
    assert!((units - 12.8).abs() < 1e-9 && (most - 16.4).abs() < 1e-9, "{units} units, {most} gpm");
    let mut before = 0.0;
    for (adults, children) in [(2, 0), (2, 2), (4, 2)] {
        let totals = tallied(&alone(home("house", adults, children)), 3_650).totals;
        let [one_minute, ..] = totals.daily_peaks();
        let found = one_minute.quantile_lps(0.99) / GPM_LPS;
        assert!(least < found && found < most, "{found} gpm of {adults} and {children} for {least} to {most}");
        assert!(found > before, "{found} gpm after {before}");
        before = found;
    }
}

/// By hand: of two fixtures of 1 and 2 gal/min, each in use at one in ten, both are at one in a hundred, the larger alone at
/// nine, the smaller alone at nine.
#[test]
fn exact_convolution() {
    let of = [(1, 0.0, 0.1, 10), (1, 0.0, 0.1, 20)];
    for (share, gpm) in [(0.80, 0.0), (0.82, 1.0), (0.89, 1.0), (0.91, 2.0), (0.98, 2.0), (0.995, 3.0)] {
        assert_eq!(not_exceeded_gpm(&of, share), gpm, "{share}");
    }
}
