//! A stage of treatment on a line: what it takes out of the water, and the pressure it costs.
//!
//! Loss at a flow `Q` is `clean (Q / Q_r)^2 + cake (Q / Q_r)`, both at the rated flow `Q_r`: housing and bed lose with the
//! square, the cake of what was caught in proportion to the flow (Ruth 1935) and to its mass. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::outlet::Header;
use crate::quality::Constituent;
use crate::ultraviolet::Ultraviolet;

/// The most stages of treatment a plant may have: the engine keeps them in arrays of fixed size.
pub const MOST_STAGES: usize = 8;

/// A stage of treatment.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stage {
    /// Its name in results.
    pub name: String,
    /// What kind it is.
    pub kind: StageKind,
    /// The line it stands on: behind the raw header's side taps, or behind the delivery pump.
    pub header: Header,
    /// Flow at which the losses are stated.
    pub rated_lps: f64,
    /// Pressure lost at the rated flow when clean.
    pub clean_kpa: f64,
    /// Pressure lost at the rated flow with all caught that it can hold: time to change it.
    pub limit_kpa: f64,
    /// What it catches; `None` catches nothing and its loss stays.
    pub catch: Option<Catch>,
    /// How it is washed; `None` is changed by hand.
    pub backwash: Option<Backwash>,
}

/// What a stage does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum StageKind {
    /// Holds back suspended solids.
    Sediment,
    /// Activated carbon: takes chlorine out of the water, given time.
    Carbon(Carbon),
    /// Takes out iron; washed backwards.
    IronFilter,
    /// Exchanges hardness for sodium; regenerated. Leaves the salt as it is.
    Softener,
    /// Ultraviolet light.
    Ultraviolet(Ultraviolet),
}

/// A bed of activated carbon.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Carbon {
    /// Volume of the bed.
    pub bed_l: f64,
    /// Empty-bed contact time that it needs for its work.
    pub contact_s: f64,
}

impl Carbon {
    /// Empty-bed contact time at a flow, `V / Q`.
    #[must_use]
    pub fn contact_s(&self, flow_lps: f64) -> f64 {
        self.bed_l / flow_lps
    }

    /// Part of the chlorine that passes at a flow: `0.01^(contact / needed)`.
    ///
    /// Dechlorination falls off by halves over equal lengths of bed (the half-dechlorination length of DIN 19603), hence
    /// exponentially with contact time. That 1 % is left after the time needed is common practice, no source.
    #[must_use]
    pub fn passes(&self, flow_lps: f64) -> f64 {
        libm::pow(0.01, self.contact_s(flow_lps) / self.contact_s)
    }
}

/// What a stage catches.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Catch {
    /// Which constituent.
    pub constituent: Constituent,
    /// Part of it that is caught, 0 to 1; in a carbon bed, of what has the contact time.
    pub share: f64,
    /// What it can hold until it is changed, washed or regenerated.
    pub capacity_g: f64,
    /// What it holds when the run starts.
    pub start_g: f64,
}

/// Washing by a raw load of its own, on a schedule.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Backwash {
    /// Index of the outlet that takes the wash water. While it draws, water passes the stage by untreated; as it ends, the
    /// stage is clean by the share of the wash water that came.
    pub outlet: usize,
}

impl Stage {
    /// What the cake costs at the rated flow with `caught_g` in it. What a softener exchanges and carbon takes up leaves none.
    #[must_use]
    pub fn cake_kpa(&self, caught_g: f64) -> f64 {
        match (&self.kind, self.catch) {
            (StageKind::Sediment | StageKind::IronFilter, Some(catch)) => {
                (self.limit_kpa - self.clean_kpa) * caught_g / catch.capacity_g
            }
            _ => 0.0,
        }
    }

    /// Pressure lost at a flow with `caught_g` caught.
    #[must_use]
    pub fn loss_kpa(&self, flow_lps: f64, caught_g: f64) -> f64 {
        let share = flow_lps / self.rated_lps;
        self.clean_kpa * share * share + self.cake_kpa(caught_g) * share
    }

    /// What a bed can still hold; a sediment filter holds whatever comes, at a growing loss.
    #[must_use]
    pub fn room_g(&self, caught_g: f64) -> f64 {
        match (&self.kind, self.catch) {
            (StageKind::Sediment, _) | (_, None) => f64::INFINITY,
            (_, Some(catch)) => (catch.capacity_g - caught_g).max(0.0),
        }
    }

    /// Whether a bed holds all that it can.
    #[must_use]
    pub fn is_spent(&self, caught_g: f64) -> bool {
        self.room_g(caught_g) <= 0.0
    }

    /// Part of the constituent it catches that passes at a flow.
    ///
    /// A bed with an exhausted capacity lets all of it through; a sediment filter goes on catching, at a growing loss.
    #[must_use]
    pub fn passes(&self, flow_lps: f64, caught_g: f64) -> f64 {
        let Some(catch) = self.catch else { return 1.0 };
        match self.kind {
            _ if self.is_spent(caught_g) => 1.0,
            StageKind::Carbon(carbon) => 1.0 - catch.share * (1.0 - carbon.passes(flow_lps)),
            _ => 1.0 - catch.share,
        }
    }

    /// Whether the stage puts out a light.
    #[must_use]
    pub fn ultraviolet(&self) -> Option<&Ultraviolet> {
        match &self.kind {
            StageKind::Ultraviolet(ultraviolet) => Some(ultraviolet),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stage(kind: StageKind) -> Stage {
        Stage {
            name: "stage".into(),
            kind,
            header: Header::Raw,
            rated_lps: 0.5,
            clean_kpa: 20.0,
            limit_kpa: 100.0,
            catch: Some(Catch { constituent: Constituent::Solids, share: 0.9, capacity_g: 400.0, start_g: 0.0 }),
            backwash: None,
        }
    }

    #[test]
    fn clean_stage_has_no_cake_and_a_full_one_its_limit() {
        let filter = stage(StageKind::Sediment);
        assert_eq!(filter.cake_kpa(0.0).to_bits(), 0.0_f64.to_bits());
        for (flow_lps, caught_g, expected_kpa) in [
            (0.0, 400.0, 0.0),
            (0.5, 0.0, 20.0),
            (0.5, 400.0, 100.0),
            // Half of the flow: a quarter of the housing's loss and half of the cake's.
            (0.25, 0.0, 5.0),
            (0.25, 400.0, 45.0),
            // Half of the cake.
            (0.5, 200.0, 60.0),
            // It goes on catching, at a growing loss.
            (0.5, 800.0, 180.0),
        ] {
            let found_kpa = filter.loss_kpa(flow_lps, caught_g);
            assert!((found_kpa - expected_kpa).abs() < 1e-12, "{found_kpa} kPa at {flow_lps} L/s with {caught_g} g");
        }
    }

    #[test]
    fn stage_that_catches_nothing_has_no_cake() {
        let bare = Stage { catch: None, ..stage(StageKind::Softener) };
        assert_eq!(bare.cake_kpa(1_000.0).to_bits(), 0.0_f64.to_bits());
        assert_eq!(bare.passes(0.5, 1_000.0), 1.0);
    }

    #[test]
    fn bed_breaks_through_and_a_sediment_filter_does_not() {
        for kind in [StageKind::IronFilter, StageKind::Softener] {
            let bed = stage(kind);
            assert!((bed.passes(0.5, 399.9) - 0.1).abs() < 1e-15);
            assert_eq!(bed.passes(0.5, 400.0), 1.0);
        }
        assert!((stage(StageKind::Sediment).passes(0.5, 4_000.0) - 0.1).abs() < 1e-15);
    }

    #[test]
    fn exact_carbon_leaves_a_hundredth_after_its_contact_time() {
        let carbon = Carbon { bed_l: 30.0, contact_s: 60.0 };
        assert_eq!(carbon.contact_s(0.5), 60.0);
        // Twice the time squares what is left, half the time takes its root.
        for (flow_lps, left) in [(0.5, 0.01), (0.25, 1e-4), (1.0, 0.1)] {
            let found = carbon.passes(flow_lps);
            assert!((found - left).abs() < 1e-15, "{found} at {flow_lps} L/s");
        }
        // Still water has all the time there is; a torrent has none.
        assert_eq!(carbon.passes(0.0), 0.0);
        assert!(carbon.passes(1e9) > 0.999_999);
        // A share that the bed never catches passes whatever the time.
        let bed = stage(StageKind::Carbon(carbon));
        assert!((bed.passes(0.5, 0.0) - (1.0 - 0.9 * 0.99)).abs() < 1e-15);
        assert!((bed.passes(0.0, 0.0) - 0.1).abs() < 1e-15);
        assert_eq!(bed.passes(0.0, 400.0), 1.0);
    }
}
