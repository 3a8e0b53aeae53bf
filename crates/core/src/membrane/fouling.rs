//! What a membrane loses as it works: permeability to what settles on it, and head to what settles in its channels.
//!
//! `dw/dt = -w k`, `k = k_design (J / J_design)^n (beta / beta_design) + k_scale excess`: at its design flux a membrane loses a
//! tenth of its flow in the usual time between two cleanings, faster with more flux, and much faster where the water at its
//! wall leaves scale. A cleaning brings most of it back. Indicative: orders of magnitude and directions by common practice,
//! calibrated to nothing but that practice. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use super::element::Fouling;
use super::limits::FeedKind;

/// Flow that is lost when a membrane is due for cleaning: a tenth (US Army TM 10-4610-309-14).
const DUE_FLOW_LOSS: f64 = 0.1;

/// Head in the channels that is gained by then. Common practice, no source.
const DUE_HEAD_GAIN: f64 = 0.15;

/// Water at the wall over that in the channel at which design fluxes hold: an element that recovers 15 %, `exp(0.7 * 0.15)`.
const DESIGN_WALL_FACTOR: f64 = 1.11;

/// How fast a membrane fouls and what cleaning it brings back.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FoulingLaw {
    /// Mean flux at which the interval holds, litres an hour and square metre.
    pub design_flux_lmh: f64,
    /// Hours of operation at that flux until cleaning is due.
    pub interval_h: f64,
    /// How much faster it goes with more flux: with this power.
    pub flux_power: f64,
    /// Hours until cleaning is due in water that is ten times over a limit of scaling.
    pub scale_h: f64,
    /// Share of what was lost that a cleaning brings back, 0 to 1; the rest is lost for good.
    pub recovered: f64,
}

/// How a membrane is run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// Mean flux.
    pub flux_lmh: f64,
    /// Concentration at the wall over that in the channel, 1 or more.
    pub wall_factor: f64,
    /// How far the reject is beyond the limits of scaling: [`Limits::excess`](crate::scaling::Limits::excess).
    pub scale_excess: f64,
}

/// How fouled a membrane is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FoulingState {
    /// Permeability to water as a share of that when new,
    pub water_factor: f64,
    /// and after the last cleaning.
    pub cleaned_water_factor: f64,
    /// Loss of head in the channels over that when new,
    pub loss_factor: f64,
    /// and after the last cleaning.
    pub cleaned_loss_factor: f64,
}

impl FoulingState {
    /// How far it has fouled now.
    #[must_use]
    pub fn now(&self) -> Fouling {
        Fouling { water_share: self.water_factor, channel_times: self.loss_factor }
    }

    /// As it was last cleaned.
    #[must_use]
    pub fn as_cleaned(fouling: Fouling) -> Self {
        let Fouling { water_share, channel_times } = fouling;
        Self {
            water_factor: water_share,
            cleaned_water_factor: water_share,
            loss_factor: channel_times,
            cleaned_loss_factor: channel_times,
        }
    }

    /// Part of what may be lost between two cleanings that has been lost since the last; at 1 cleaning is due.
    #[must_use]
    pub fn share_of_interval(&self) -> f64 {
        let flow = libm::log(self.water_factor / self.cleaned_water_factor) / libm::log1p(-DUE_FLOW_LOSS);
        let head = libm::log(self.loss_factor / self.cleaned_loss_factor) / libm::log1p(DUE_HEAD_GAIN);
        flow.max(head)
    }

    /// Whether less than half of that has been lost, to be seen without a logarithm; it may have been where this says no.
    pub(crate) fn is_far_from_due(&self) -> bool {
        self.water_factor > (1.0 - 0.4 * DUE_FLOW_LOSS) * self.cleaned_water_factor
            && self.loss_factor < (1.0 + 0.4 * DUE_HEAD_GAIN) * self.cleaned_loss_factor
    }

    /// A new membrane.
    pub const NEW: Self =
        Self { water_factor: 1.0, cleaned_water_factor: 1.0, loss_factor: 1.0, cleaned_loss_factor: 1.0 };
}

impl FoulingLaw {
    /// By common practice, without a source: design fluxes are the middle of the guides' ranges (24 to 30, 17 to 24, 34 to
    /// 51 L/m² h; from memory), and cleanings come every three to twelve months of steady operation.
    #[must_use]
    pub fn of(feed: FeedKind) -> Self {
        const MONTH_H: f64 = 730.5;
        let (design_flux_lmh, months) = match feed {
            FeedKind::Well => (27.0, 6.0),
            FeedKind::Surface => (20.0, 3.0),
            FeedKind::Product => (42.0, 12.0),
        };
        let interval_h = months * MONTH_H;
        Self { design_flux_lmh, interval_h, flux_power: 2.0, scale_h: 24.0, recovered: 0.92 }
    }

    /// Cleanings that come due an hour: the inverse of [`Self::interval_h`] at the design flux in water without scale.
    #[must_use]
    pub fn rate_per_h(&self, conditions: &Conditions) -> f64 {
        let flux = libm::pow(conditions.flux_lmh.max(0.0) / self.design_flux_lmh, self.flux_power);
        let settles = flux * conditions.wall_factor / (DESIGN_WALL_FACTOR * self.interval_h);
        settles + conditions.scale_excess / self.scale_h
    }

    /// The membrane after some hours of operation under constant conditions. However the hours are cut up, the end is the same.
    #[must_use]
    pub fn after(&self, state: FoulingState, conditions: &Conditions, hours: f64) -> FoulingState {
        let cleanings = self.rate_per_h(conditions) * hours;
        FoulingState {
            water_factor: state.water_factor * libm::exp(cleanings * libm::log1p(-DUE_FLOW_LOSS)),
            loss_factor: state.loss_factor * libm::exp(cleanings * libm::log1p(DUE_HEAD_GAIN)),
            ..state
        }
    }

    /// The membrane once cleaned: of what it lost since the last cleaning, most is back.
    #[must_use]
    pub fn cleaned(&self, state: FoulingState) -> FoulingState {
        let back = |now: f64, before: f64| now + self.recovered * (before - now);
        let water = back(state.water_factor, state.cleaned_water_factor);
        let loss = back(state.loss_factor, state.cleaned_loss_factor);
        FoulingState { water_factor: water, cleaned_water_factor: water, loss_factor: loss, cleaned_loss_factor: loss }
    }

    /// Hours of operation under these conditions until cleaning is due: a tenth of the flow lost since the last one, or the
    /// loss in the channels up by 15 %. Indicative. Zero when it is due now, infinite when nothing settles.
    #[must_use]
    pub fn hours_to_cleaning(&self, state: &FoulingState, conditions: &Conditions) -> f64 {
        let left = (1.0 - state.share_of_interval()).max(0.0);
        if left > 0.0 { left / self.rate_per_h(conditions) } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn design(fouling: &FoulingLaw) -> Conditions {
        let flux_lmh = fouling.design_flux_lmh;
        Conditions { flux_lmh, wall_factor: DESIGN_WALL_FACTOR, scale_excess: 0.0 }
    }

    #[test]
    fn exact_a_tenth_is_lost_in_an_interval_at_design_flux() {
        for feed in [FeedKind::Well, FeedKind::Surface, FeedKind::Product] {
            let fouling = FoulingLaw::of(feed);
            let worn = fouling.after(FoulingState::NEW, &design(&fouling), fouling.interval_h);
            assert!((worn.water_factor - 0.9).abs() < 1e-14 && (worn.loss_factor - 1.15).abs() < 1e-14, "{worn:?}");
            let hours = fouling.hours_to_cleaning(&FoulingState::NEW, &design(&fouling));
            assert!((hours / fouling.interval_h - 1.0).abs() < 1e-14);
        }
    }

    #[test]
    fn exact_cleaning_brings_its_share_back() {
        let fouling = FoulingLaw::of(FeedKind::Well);
        let mut state = FoulingState::NEW;
        for cleanings in 1..=8 {
            let worn = fouling.after(state, &design(&fouling), fouling.interval_h);
            assert!(fouling.hours_to_cleaning(&worn, &design(&fouling)) < 1e-9);
            state = fouling.cleaned(worn);
            // Of the tenth that was lost, 8 % are lost for good, each time.
            let expected = (0..cleanings).fold(1.0, |left, _| left * (1.0 - 0.1 * 0.08));
            assert!((state.water_factor - expected).abs() < 1e-14);
            assert_eq!(state.cleaned_water_factor, state.water_factor);
            let hours = fouling.hours_to_cleaning(&state, &design(&fouling));
            assert!((hours / fouling.interval_h - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn exact_flux_wall_and_scale_hasten_it() {
        let fouling = FoulingLaw::of(FeedKind::Surface);
        let sound = design(&fouling);
        let base = fouling.rate_per_h(&sound);
        let double = fouling.rate_per_h(&Conditions { flux_lmh: 2.0 * sound.flux_lmh, ..sound });
        assert!((double / base - 4.0).abs() < 1e-14);
        let wall = fouling.rate_per_h(&Conditions { wall_factor: 1.2 * sound.wall_factor, ..sound });
        assert!((wall / base - 1.2).abs() < 1e-14);
        let scale = fouling.rate_per_h(&Conditions { scale_excess: 0.5, ..sound });
        assert!((scale - base - 0.5 / 24.0).abs() < 1e-16);
    }

    #[test]
    fn nothing_settles_at_rest() {
        let fouling = FoulingLaw::of(FeedKind::Well);
        let rest = Conditions { flux_lmh: 0.0, wall_factor: 1.0, scale_excess: 0.0 };
        assert_eq!(fouling.after(FoulingState::NEW, &rest, 1e6), FoulingState::NEW);
        assert_eq!(fouling.hours_to_cleaning(&FoulingState::NEW, &rest), f64::INFINITY);
    }
}
