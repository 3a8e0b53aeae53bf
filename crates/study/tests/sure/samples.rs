//! Points of the unit cube.

use proptest::prelude::*;
use springhouse_study::sure::{Grid, Latin, MOST_AXES, Sobol, SureError};

use crate::table::Table;

/// The coordinates of a row: so many hexadecimal digits each.
fn numerators(text: &str, digits: usize) -> Vec<u64> {
    text.as_bytes().chunks(digits).map(|one| u64::from_str_radix(str::from_utf8(one).unwrap(), 16).unwrap()).collect()
}

fn as_published(place: u64) -> [f64; MOST_AXES] {
    let mut point = [f64::NAN; MOST_AXES];
    Sobol::published(MOST_AXES).unwrap().point(place, &mut point);
    point
}

#[test]
fn external_sobol_of_another_library() {
    let table = Table::read(include_str!("../../../../tests/data/17_sobol.csv"));
    let mut place = 0;
    for row in table.rows() {
        let expected = numerators(row.text("numerators"), 3);
        assert_eq!(expected.len(), 40);
        for (axis, (found, expected)) in as_published(place).into_iter().zip(expected).enumerate() {
            assert_eq!(found, expected as f64 / 1024.0, "point {place}, axis {axis}");
        }
        place += 1;
    }
    assert_eq!(place, 1024);
}

#[test]
fn external_sobol_far_off() {
    let table = Table::read(include_str!("../../../../tests/data/17_sobol_far.csv"));
    let mut rows = 0;
    for row in table.rows() {
        let place = row.number("place") as u64;
        let expected: Vec<f64> =
            numerators(row.text("numerators"), 8).into_iter().map(|of| of as f64 / 4_294_967_296.0).collect();
        assert_eq!(as_published(place).as_slice(), expected, "point {place}");
        rows += 1;
    }
    assert_eq!(rows, 3);
}

const NAMES: [&str; 5] = ["yield", "people", "storage", "price", "rain"];

proptest! {
    #[test]
    fn sobol_fills_all_slices_alike(seed: u64, power in 0_u32..9, block in 0_u64..50) {
        let points = Sobol::shifted(seed, &NAMES).unwrap();
        let slices = 1_u64 << power;
        let mut met = [0_u64; 512].map(|_| [0; 5]);
        let mut at = [0.0; 5];
        for place in block * slices..(block + 1) * slices {
            points.point(place, &mut at);
            for (axis, at) in at.iter().enumerate() {
                prop_assert!(*at > 0.0 && *at < 1.0);
                met[(at * slices as f64) as usize][axis] += 1;
            }
        }
        prop_assert!(met[..slices as usize].iter().all(|met| *met == [1; 5]));
        // The first two axes fill all boxes of one size, however long and narrow.
        for wide in 0..=power {
            let (columns, rows) = (1_u64 << wide, 1_u64 << (power - wide));
            let mut met = vec![0; slices as usize];
            for place in block * slices..(block + 1) * slices {
                points.point(place, &mut at);
                let (column, row) = ((at[0] * columns as f64) as usize, (at[1] * rows as f64) as usize);
                met[column * rows as usize + row] += 1;
            }
            prop_assert!(met.iter().all(|met| *met == 1), "{columns} by {rows}: {met:?}");
        }
    }

    #[test]
    fn latin_has_one_point_in_each_slice(seed: u64, points in 1_usize..400) {
        let sample = Latin::new(seed, &NAMES, points);
        let mut met = vec![[0; 5]; points];
        let mut at = [0.0; 5];
        for place in 0..points {
            sample.point(place, &mut at);
            for (axis, at) in at.iter().enumerate() {
                prop_assert!(*at > 0.0 && *at < 1.0);
                met[(at * points as f64) as usize][axis] += 1;
            }
        }
        prop_assert!(met.iter().all(|met| *met == [1; 5]));
    }

    #[test]
    fn grid_meets_every_combination_in_turn(levels in proptest::collection::vec(1_usize..5, 1..5)) {
        let grid = Grid::new(&levels).unwrap();
        prop_assert_eq!(grid.places(), levels.iter().product::<usize>());
        let mut counted = vec![0; levels.len()];
        let (mut found, mut point) = (counted.clone(), vec![0.0; levels.len()]);
        for place in 0..grid.places() {
            grid.levels(place, &mut found);
            prop_assert_eq!(&found, &counted);
            grid.point(place, &mut point);
            for axis in 0..levels.len() {
                prop_assert_eq!((point[axis] * levels[axis] as f64) as usize, counted[axis]);
                prop_assert!(point[axis] > 0.0 && point[axis] < 1.0);
            }
            // As an odometer counts.
            for axis in (0..levels.len()).rev() {
                counted[axis] = (counted[axis] + 1) % levels[axis];
                if counted[axis] != 0 {
                    break;
                }
            }
        }
    }
}

#[test]
fn an_axis_more_leaves_the_others() {
    let (mut three, mut five) = ([0.0; 3], [0.0; 5]);
    for place in 0..16 {
        Latin::new(4, &NAMES[..3], 16).point(place, &mut three);
        Latin::new(4, &NAMES, 16).point(place, &mut five);
        assert_eq!(three, five[..3]);
        Sobol::shifted(4, &NAMES[..3]).unwrap().point(place as u64, &mut three);
        Sobol::shifted(4, &NAMES).unwrap().point(place as u64, &mut five);
        assert_eq!(three, five[..3]);
        let (mut axes, mut other) = (five.to_vec(), [0.0; 5]);
        axes.dedup();
        assert_eq!(axes.len(), 5, "axes have shifts of their own");
        Sobol::shifted(5, &NAMES).unwrap().point(place as u64, &mut other);
        assert!(five.iter().zip(other).all(|(five, other)| *five != other), "another seed, another shift");
    }
}

#[test]
fn exact_orders_of_slices_have_nothing_to_do_with_one_another() {
    // The correlation of two shuffled orders of n has the mean 0 and the variance 1 / (n - 1); so has that of one with the places.
    const POINTS: usize = 100;
    const SEEDS: usize = 400;
    let (mut sum, mut squares) = (0.0, 0.0);
    for seed in 0..SEEDS as u64 {
        let sample = Latin::new(seed, &NAMES[..2], POINTS);
        let mut products = [0.0; 3];
        let mut at = [0.0; 3];
        for place in 0..POINTS {
            sample.point(place, &mut at[..2]);
            at[2] = (place as f64 + 0.5) / POINTS as f64;
            for (i, product) in products.iter_mut().enumerate() {
                *product += 12.0 * (at[i] - 0.5) * (at[(i + 1) % 3] - 0.5) / POINTS as f64;
            }
        }
        sum += products.iter().sum::<f64>() * (POINTS as f64 - 1.0).sqrt();
        squares += products.iter().map(|product| product * product).sum::<f64>() * (POINTS as f64 - 1.0);
    }
    let all = (3 * SEEDS) as f64;
    println!("correlations: mean {}, variance {}", sum / all, squares / all);
    // Four standard errors of both.
    assert!((sum / all).abs() < 4.0 / all.sqrt(), "{}", sum / all);
    assert!((squares / all - 1.0).abs() < 4.0 * (2.0 / all).sqrt(), "{}", squares / all);
}

#[test]
fn exact_last_points_are_inside() {
    let mut at = [0.0; 5];
    for place in [0, 1, (1 << 52) - 1] {
        Sobol::shifted(0, &NAMES).unwrap().point(place, &mut at);
        assert!(at.iter().all(|at| *at > 0.0 && *at < 1.0), "{at:?}");
        // Half a step of 2^-52 off the edge, and off every other point that could be.
        assert!(at.iter().all(|at| (at / f64::EPSILON).fract() == 0.5), "{at:?}");
    }
}

#[test]
fn too_much_is_refused() {
    assert_eq!(Sobol::published(41).err(), Some(SureError::TooManyAxes(41)));
    assert_eq!(Grid::new(&[3, 0]).err(), Some(SureError::Grid));
    assert_eq!(Grid::new(&[usize::MAX, 2]).err(), Some(SureError::Grid));
    assert_eq!(Grid::new(&[]).unwrap().places(), 1);
}
