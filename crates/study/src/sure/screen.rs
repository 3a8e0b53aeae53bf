//! Which inputs matter at all, in few runs: effects of single steps.
//!
//! M. D. Morris, Factorial sampling plans for preliminary computational experiments, Technometrics 33 (1991) 161; the mean of
//! effects without their signs: F. Campolongo, J. Cariboni & A. Saltelli, An effective screening design for sensitivity
//! analysis of large models, Environmental Modelling & Software 22 (2007) 1509.

use springhouse_random::Stream;

use super::SureError;
use super::sample::below;

/// What steps of an input did, as the change of the result over that of its unit number.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Effect {
    /// Mean of the effects.
    pub mean: f64,
    /// Mean of their sizes: how much the input matters.
    pub size: f64,
    /// Standard deviation: how far the effect hangs on where the others, or itself, are.
    pub deviation: f64,
}

/// Points of paths through the unit cube, one after the other: each path begins somewhere and then steps once along each axis,
/// by half of it, in an order and directions by chance.
///
/// The levels are the middles of `levels` slices, where Morris has `0` to `1` in equal steps, since a distribution without an
/// end has no value at those. A path more leaves those before it as they were.
///
/// # Errors
/// Where the number of levels is not even.
#[expect(clippy::cast_precision_loss, reason = "levels are few")]
pub fn paths(seed: u64, axes: usize, levels: usize, paths: usize) -> Result<Vec<f64>, SureError> {
    if levels < 2 || !levels.is_multiple_of(2) {
        return Err(SureError::Levels(levels));
    }
    let stream = Stream::new(seed, 0, &["elementary effects"], "paths");
    let mut points = Vec::with_capacity(paths * (axes + 1) * axes);
    let mut order: Vec<usize> = Vec::with_capacity(axes);
    for path in 0..paths {
        let mut source = stream.on(i64::try_from(path).unwrap_or(i64::MAX));
        let begin = points.len();
        for _ in 0..axes {
            points.push((below(&mut source, levels) as f64 + 0.5) / levels as f64);
        }
        order.clear();
        order.extend(0..axes);
        for last in (1..axes).rev() {
            order.swap(last, below(&mut source, last + 1));
        }
        for (step, &axis) in order.iter().enumerate() {
            let from = begin + step * axes;
            points.extend_from_within(from..from + axes);
            let at = &mut points[from + axes + axis];
            // Half of the levels are below the middle: from each there is one way.
            *at += if *at < 0.5 { 0.5 } else { -0.5 };
        }
    }
    Ok(points)
}

/// The effects of each input, out of points of paths and the result at each.
///
/// # Errors
/// Where there are fewer than two whole paths, or points that follow one another differ in none or several of their inputs.
#[expect(clippy::cast_precision_loss, reason = "nobody makes 2^53 runs")]
pub fn effects(axes: usize, points: &[f64], results: &[f64]) -> Result<Vec<Effect>, SureError> {
    let each = axes + 1;
    let count = results.len() / each;
    if axes == 0 || count < 2 || !results.len().is_multiple_of(each) || points.len() != results.len() * axes {
        return Err(SureError::Rows { each, found: results.len() });
    }
    let mut found = vec![0.0; axes * count];
    let mut stepped = vec![usize::MAX; axes];
    for to in (0..results.len()).filter(|to| to % each != 0) {
        let (here, there) = (&points[(to - 1) * axes..][..axes], &points[to * axes..][..axes]);
        let mut changed = (0..axes).filter(|&axis| here[axis] != there[axis]);
        let path = to / each;
        match (changed.next(), changed.next()) {
            (Some(axis), None) if stepped[axis] != path => {
                stepped[axis] = path;
                found[axis * count + path] = (results[to] - results[to - 1]) / (there[axis] - here[axis]);
            }
            _ => return Err(SureError::Step(to - 1, to)),
        }
    }
    let n = count as f64;
    let one = |effects: &[f64]| {
        let mean = effects.iter().sum::<f64>() / n;
        let size = effects.iter().map(|effect| effect.abs()).sum::<f64>() / n;
        let squares: f64 = effects.iter().map(|effect| (effect - mean) * (effect - mean)).sum();
        Effect { mean, size, deviation: (squares / (n - 1.0)).sqrt() }
    };
    Ok(found.chunks(count).map(one).collect())
}
