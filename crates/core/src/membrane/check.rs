//! Numbers of a membrane unit that make no sense.

use super::element::{Element, MOST_POLARISATION};
use super::osmosis::OsmoticModel;
use super::unit::MembraneUnit;
use super::vessel::MOST_ELEMENTS;
use crate::pump::PumpCurve;

/// A number that is not finite or not in the range that makes sense for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// Which, as a key of the plant.
    pub key: &'static str,
    /// What was found.
    pub value: f64,
    /// The least that is accepted.
    pub least: f64,
    /// The most that is accepted.
    pub most: f64,
}

impl MembraneUnit {
    /// Every number out of range, in order. A unit without any can be solved at any pressure, salt and temperature.
    #[must_use]
    pub fn out_of_range(&self) -> Vec<OutOfRange> {
        let mut found = Vec::new();
        let mut range = |key: &'static str, value: f64, least: f64, most: f64| {
            if !(least..=most).contains(&value) {
                found.push(OutOfRange { key, value, least, most });
            }
        };
        let Element {
            area_m2,
            water_permeability_l_m2_h_bar,
            salt_permeability_l_m2_h,
            water_temp_k,
            salt_temp_k,
            channel_loss_kpa,
            channel_exponent,
            polarisation,
        } = self.element;
        range("membrane.element.area", area_m2, 0.1, 100.0);
        range("membrane.element.water_permeability", water_permeability_l_m2_h_bar, 0.01, 100.0);
        range("membrane.element.salt_permeability", salt_permeability_l_m2_h, 0.0, 100.0);
        range("membrane.element.water_temperature_constant", water_temp_k, 0.0, 10_000.0);
        range("membrane.element.salt_temperature_constant", salt_temp_k, 0.0, 10_000.0);
        range("membrane.element.channel_loss", channel_loss_kpa, 0.0, 10_000.0);
        range("membrane.element.channel_exponent", channel_exponent, 1.0, 2.0);
        range("membrane.element.polarisation", polarisation, 0.0, MOST_POLARISATION);
        let count = |count: usize| u32::try_from(count).map_or(f64::INFINITY, f64::from);
        range("membrane.elements", count(self.elements_in_series), 1.0, count(MOST_ELEMENTS));
        range("membrane.vessels", f64::from(self.vessels), 1.0, 100.0);
        // A pump of constant flow has no head of its own to raise the feed by: the plant refuses it.
        if let Some(pump) = self.pump.as_ref().filter(|pump| !matches!(pump.curve, PumpCurve::Constant { .. })) {
            let shutoff_m = pump.curve.shutoff_m();
            range("membrane.pump.curve", shutoff_m, 1.0, 1_000.0);
            if let PumpCurve::Parabola { loss_m_per_lps2, .. } = pump.curve {
                range("membrane.pump.curve", loss_m_per_lps2, 1e-6, 1e9);
            }
        }
        range("membrane.valves.reject", self.valves.reject_kv, 0.0, 10.0);
        range("membrane.valves.recycle", self.valves.recycle_kv, 0.0, 10.0);
        range("membrane.product_pressure", self.product_kpa, 0.0, 1_000.0);
        range("membrane.drain_pressure", self.drain_kpa, -50.0, 1_000.0);
        range("membrane.loop_volume", self.loop_volume_l, 0.1, 10_000.0);
        match self.osmotic {
            OsmoticModel::Chloride { share } => range("membrane.osmotic.share", share, 0.0, 2.0),
            OsmoticModel::Ideal { coefficient } => range("membrane.osmotic.coefficient", coefficient, 0.0, 2.0),
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::membrane::plate::NominalSize;
    use crate::membrane::unit::UnitPump;
    use crate::membrane::valve::Valves;
    use crate::pump::PumpPower;

    #[test]
    fn every_number_out_of_range_is_named() {
        let element = NominalSize::In4By40.element();
        let good = MembraneUnit {
            element: Element { water_permeability_l_m2_h_bar: 3.0, salt_permeability_l_m2_h: 0.2, ..element },
            elements_in_series: 1,
            vessels: 1,
            pump: None,
            valves: Valves { reject_kv: 0.0, recycle_kv: 0.0 },
            product_kpa: 0.0,
            drain_kpa: 0.0,
            loop_volume_l: 5.0,
            osmotic: OsmoticModel::default(),
        };
        assert_eq!(good.out_of_range(), []);
        let ideal =
            UnitPump { curve: PumpCurve::Constant { flow_lps: 0.5 }, power: PumpPower::Constant { power_w: 500.0 } };
        let bad = MembraneUnit {
            element: Element { polarisation: 1.5, ..element },
            elements_in_series: 7,
            pump: Some(ideal),
            drain_kpa: f64::NAN,
            ..good
        };
        let keys: Vec<_> = bad.out_of_range().iter().map(|found| found.key).collect();
        let expected = [
            "membrane.element.water_permeability",
            "membrane.element.polarisation",
            "membrane.elements",
            "membrane.drain_pressure",
        ];
        assert_eq!(keys, expected);
    }
}
