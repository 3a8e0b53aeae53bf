//! What is known of a setting, as keys and numbers: the columns of the map and the objects in JSON.

use serde::ser::{Serialize, SerializeMap, Serializer};
use springhouse_study::tune::{Point, Work};

use super::words;

/// A key with its unit, the decimals that say something, and where the figure stands.
pub(super) struct Figure {
    pub(super) key: &'static str,
    pub(super) decimals: usize,
    of: fn(&Point) -> Option<f64>,
}

impl Figure {
    /// The figure of a setting; `None` where it has none: nothing works, no analysis is known, or the index is infinite.
    pub(super) fn of(&self, point: &Point) -> Option<f64> {
        (self.of)(point).filter(|value| value.is_finite())
    }
}

/// Flow coefficients in cubic metres an hour at 1 bar, as scenarios have them, for one of L/s at 1 kPa.
const KV_M3_H: f64 = 36.0;

macro_rules! work {
    ($key:literal, $decimals:literal, $of:expr) => {
        Figure {
            key: $key,
            decimals: $decimals,
            of: |point| {
                let of: fn(&Work) -> f64 = $of;
                point.work.as_ref().map(of)
            },
        }
    };
}

pub(super) const FIGURES: [Figure; 28] = [
    Figure { key: "temp_c", decimals: 2, of: |point| Some(point.temp_c) },
    Figure { key: "inlet_kpa", decimals: 1, of: |point| Some(point.inlet_kpa) },
    Figure { key: "reject_kv_m3_h", decimals: 5, of: |point| Some(KV_M3_H * point.valves.reject_kv) },
    Figure { key: "recycle_kv_m3_h", decimals: 5, of: |point| Some(KV_M3_H * point.valves.recycle_kv) },
    work!("reject_lps", 5, |work| work.reject_lps),
    work!("recycle_lps", 5, |work| work.recycle_lps),
    work!("feed_lps", 5, |work| work.feed_lps),
    work!("product_lps", 5, |work| work.product_lps),
    work!("product_l_day", 1, |work| work.product_l_day),
    work!("waste_l_per_l", 4, |work| work.waste_l_per_l),
    work!("recovery", 4, |work| work.recovery),
    work!("vessel_recovery", 4, |work| work.vessel_recovery),
    work!("element_recovery", 4, |work| work.element_recovery),
    work!("flux_l_m2_h", 3, |work| work.mean_flux_l_m2_h),
    work!("highest_flux_l_m2_h", 3, |work| work.highest_flux_l_m2_h),
    work!("vessel_concentrate_lps", 5, |work| work.vessel_concentrate_lps),
    work!("polarisation", 4, |work| work.polarisation),
    work!("product_salt_mg_l", 2, |work| work.product_salt_mg_l),
    work!("tail_salt_mg_l", 1, |work| work.reject_salt_mg_l),
    Figure { key: "langelier_index", decimals: 3, of: |point| Some(point.work.as_ref()?.saturation?.lsi) },
    Figure { key: "gypsum_saturation", decimals: 4, of: |point| Some(point.work.as_ref()?.saturation?.gypsum) },
    Figure { key: "silica_saturation", decimals: 4, of: |point| Some(point.work.as_ref()?.saturation?.silica) },
    work!("pump_w", 1, |work| work.pump_w),
    work!("kwh_per_m3", 4, |work| work.kwh_per_m3),
    work!("hours_between_cleanings", 0, |work| work.hours_between_cleanings),
    work!("element_loss_kpa", 2, |work| work.element_loss_kpa),
    work!("vessel_kpa", 1, |work| work.vessel_kpa),
    work!("concentrate_kpa", 1, |work| work.concentrate_kpa),
];

/// A setting in JSON.
pub(super) struct Told<'a>(pub(super) &'a Point);

impl Serialize for Told<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        for figure in &FIGURES {
            if let Some(value) = figure.of(self.0) {
                map.serialize_entry(figure.key, &value)?;
            }
        }
        let breaks: Vec<_> = self.0.breaks.iter().map(words::limit_key).collect();
        map.serialize_entry("breaks", &breaks)?;
        map.end()
    }
}
