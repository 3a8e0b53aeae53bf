//! One setting at one temperature.

use serde::Serialize;
use springhouse_core::membrane::valve::Valves;
use springhouse_core::scaling::Saturation;

use super::limit::Limits;

/// One setting, judged at one temperature and inlet pressure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Point {
    /// How far the valves are open.
    pub valves: Valves,
    /// Temperature of the feed, °C.
    pub temp_c: f64,
    /// Pressure at the suction of the pump, with the feed of this setting and what is blended, kPa.
    pub inlet_kpa: f64,
    /// The unit at work; `None` where it has no steady state or makes no product.
    pub work: Option<Work>,
    /// The same with its membranes at their [cleanest](super::Question::cleanest); `None` where that is how they are.
    pub clean: Option<Work>,
    /// Limits that it breaks: what harms a membrane as it is or clean, all else as it is.
    pub breaks: Limits,
}

/// A unit at work, its loop settled.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Work {
    /// Product if it ran all day, L/day; above zero.
    pub product_l_day: f64,
    /// Product, L/s.
    pub product_lps: f64,
    /// Fresh feed, L/s.
    pub feed_lps: f64,
    /// Water of the raw line that goes past the membrane into storage meanwhile, L/s.
    pub blended_lps: f64,
    /// Concentrate to the drain, L/s.
    pub reject_lps: f64,
    /// Concentrate back to the suction, L/s.
    pub recycle_lps: f64,
    /// Feed of the vessels, fresh and recycled, L/s.
    pub vessel_feed_lps: f64,
    /// Product over fresh feed.
    pub recovery: f64,
    /// Product over vessel feed.
    pub vessel_recovery: f64,
    /// Water wasted for each litre of product that comes into storage, L/L: reject, flushes and the first product of each call.
    pub waste_l_per_l: f64,
    /// Mean flux, L/(m² h).
    pub mean_flux_l_m2_h: f64,
    /// Flux of the element that has most, L/(m² h).
    pub highest_flux_l_m2_h: f64,
    /// Concentrate of one vessel, where its crossflow is least, L/s.
    pub vessel_concentrate_lps: f64,
    /// Pressure lost along the element that loses most, kPa.
    pub element_loss_kpa: f64,
    /// Recovery of the element that recovers most.
    pub element_recovery: f64,
    /// Salt at the wall over the mean on the feed side, at that element.
    pub polarisation: f64,
    /// Salt in the product, mg/L.
    pub product_salt_mg_l: f64,
    /// Salt in reject and recycle: that at the tail, mg/L.
    pub reject_salt_mg_l: f64,
    /// How far the reject is saturated with what leaves scale; `None` without an analysis. The index is minus infinity in water
    /// without calcium or alkalinity.
    pub saturation: Option<Saturation>,
    /// Electric power of the pump, W.
    pub pump_w: f64,
    /// Its energy for a cubic metre of product, kWh/m³.
    pub kwh_per_m3: f64,
    /// Hours of operation between cleanings; indicative, and better as a comparison of settings than as a number.
    pub hours_between_cleanings: f64,
    /// Gauge pressure before the vessels, kPa.
    pub vessel_kpa: f64,
    /// Gauge pressure of the concentrate behind the vessels, before the valves, kPa.
    pub concentrate_kpa: f64,
}

impl Work {
    /// What is taken from the raw line, fresh feed and what is blended, L/s.
    #[must_use]
    pub fn taken_lps(&self) -> f64 {
        self.feed_lps + self.blended_lps
    }
}
