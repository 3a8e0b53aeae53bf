//! The sequence of Sobol'.

use springhouse_random::Stream;

use super::directions::{MOST_AXES, OTHERS};
use crate::sure::SureError;

/// Bits of a coordinate: with half of a last bit added it is still a number of 53.
const BITS: usize = 52;

/// Points that fill the unit cube evenly however many are taken: I. M. Sobol', USSR Comput. Math. Math. Phys. 7 (1967) 86, in
/// the order of I. A. Antonov & V. M. Saleev (same journal, 19 (1979) 252).
///
/// Any `2^m` points from a multiple of `2^m` on have one in each of `2^m` slices of every axis.
#[derive(Clone, Debug)]
pub struct Sobol {
    /// For each axis what every bit of a place does.
    axes: Vec<[u64; BITS]>,
    /// What is added to every point without carrying; `None` leaves the sequence as published.
    shifts: Option<Vec<u64>>,
}

impl Sobol {
    /// As published: its first point is the corner of the cube, on its edge.
    ///
    /// # Errors
    /// With more axes than the table has.
    pub fn published(axes: usize) -> Result<Self, SureError> {
        if axes > MOST_AXES {
            return Err(SureError::TooManyAxes(axes));
        }
        Ok(Self { axes: (0..axes).map(directions).collect(), shifts: None })
    }

    /// Shifted bit by bit, by chance of each axis' own: no point is on the edge, each is as likely anywhere, and slices are as
    /// evenly filled as before (P. L'Ecuyer & C. Lemieux, Recent advances in randomized quasi-Monte Carlo methods, 2002,
    /// section on digital shifts).
    ///
    /// # Errors
    /// With more axes than the table has.
    pub fn shifted(seed: u64, axes: &[&str]) -> Result<Self, SureError> {
        let shift = |name: &&str| bits(Stream::new(seed, 0, &[name], "digital shift").on(0).unit());
        Ok(Self { shifts: Some(axes.iter().map(shift).collect()), ..Self::published(axes.len())? })
    }

    /// A point, by its place below 2^52.
    #[expect(clippy::cast_precision_loss, reason = "52 bits and a half fit")]
    pub fn point(&self, place: u64, into: &mut [f64]) {
        const STEP: f64 = f64::EPSILON;
        let gray = place ^ (place >> 1);
        for (axis, (directions, at)) in self.axes.iter().zip(into).enumerate() {
            let mut sum = 0;
            let mut rest = gray;
            for direction in directions {
                if rest == 0 {
                    break;
                }
                sum ^= direction * (rest & 1);
                rest >>= 1;
            }
            *at = match &self.shifts {
                None => sum as f64 * STEP,
                Some(shifts) => ((sum ^ shifts[axis]) as f64 + 0.5) * STEP,
            };
        }
    }
}

/// A unit number as the bits of a coordinate.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to below 2^52")]
fn bits(unit: f64) -> u64 {
    (unit / f64::EPSILON) as u64
}

/// The direction numbers of an axis: S. Joe & F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008) 2635, equation 2.
fn directions(axis: usize) -> [u64; BITS] {
    // m of the k-th bit, from 0, is a whole number below 2^(k + 1).
    let mut m = [1_u64; BITS];
    if let Some(&(degree, coefficients, first)) = axis.checked_sub(1).and_then(|other| OTHERS.get(other)) {
        m[..degree].copy_from_slice(first);
        for k in degree..BITS {
            m[k] = m[k - degree] ^ (m[k - degree] << degree);
            for i in 1..degree {
                if coefficients >> (degree - 1 - i) & 1 == 1 {
                    m[k] ^= m[k - i] << i;
                }
            }
        }
    }
    let mut k = 0;
    m.map(|m| {
        k += 1;
        m << (BITS - k)
    })
}
