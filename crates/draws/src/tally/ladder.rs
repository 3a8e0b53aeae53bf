//! How often a flow was how high, on a ladder of fixed rungs.

/// Counts of flows, on rungs 1 % apart from 0.001 to 10 000 L/s: quantiles hold within half a per cent, whatever the
/// number of days. What is lower stands on the lowest rung and counts as zero.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    rungs: Vec<u64>,
    count: u64,
    sum_lps: f64,
}

const LOWEST_LPS: f64 = 0.001;
/// `ln 1.01`, and `ln 1e7` over it.
const RUNG: f64 = 0.009_950_330_853_168_083;
const RUNGS: usize = 1_622;

impl Ladder {
    pub(crate) fn new() -> Self {
        Self { rungs: vec![0; RUNGS], count: 0, sum_lps: 0.0 }
    }

    pub(crate) fn add(&mut self, flow_lps: f64) {
        self.rungs[rung(flow_lps)] += 1;
        self.count += 1;
        self.sum_lps += flow_lps;
    }

    pub(crate) fn merge(&mut self, other: &Self) {
        for (mine, others) in self.rungs.iter_mut().zip(&other.rungs) {
            *mine += others;
        }
        self.count += other.count;
        self.sum_lps += other.sum_lps;
    }

    /// How many flows were counted.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.count
    }

    /// Their mean in L/s; zero if there were none.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "days are far fewer than 2^53")]
    pub fn mean_lps(&self) -> f64 {
        if self.count == 0 { 0.0 } else { self.sum_lps / self.count as f64 }
    }

    /// The flow in L/s that a share of them, from 0 to 1, does not exceed.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "days are far fewer than 2^53")]
    pub fn quantile_lps(&self, share: f64) -> f64 {
        let wanted = share.clamp(0.0, 1.0) * self.count as f64;
        let mut below = 0;
        for (count, number) in self.rungs.iter().zip(0_u32..) {
            below += count;
            if *count > 0 && below as f64 >= wanted {
                return middle(number);
            }
        }
        0.0
    }
}

/// The middle of a rung; nothing for the lowest.
fn middle(number: u32) -> f64 {
    if number == 0 { 0.0 } else { LOWEST_LPS * libm::exp(RUNG * (f64::from(number) - 0.5)) }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "held to the rungs there are")]
fn rung(flow_lps: f64) -> usize {
    if flow_lps < LOWEST_LPS {
        return 0;
    }
    (1 + (libm::log(flow_lps / LOWEST_LPS) / RUNG) as usize).min(RUNGS - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_quantiles_within_half_a_rung() {
        let mut ladder = Ladder::new();
        for flow in 1..=100 {
            ladder.add(0.01 * f64::from(flow));
        }
        for share in [0.05, 0.5, 0.95, 1.0] {
            let found = ladder.quantile_lps(share);
            assert!((found / share - 1.0).abs() < 0.005_01, "{share}: {found}");
        }
        assert!((ladder.mean_lps() - 0.505).abs() < 1e-12);
    }

    #[test]
    fn odd_flows_have_a_rung() {
        let mut ladder = Ladder::new();
        for flow in [0.0, 0.000_9, 0.001, 10_000.0, 1e300] {
            ladder.add(flow);
        }
        assert_eq!((ladder.count(), ladder.quantile_lps(0.3)), (5, 0.0));
        assert!(ladder.quantile_lps(1.0) > 9_000.0);
        assert_eq!(Ladder::new().quantile_lps(0.5), 0.0);
    }
}
