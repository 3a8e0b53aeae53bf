//! Thermostats of a heater: what is switched on, looked at once a tick.
//!
//! Two sensors, each at a height. A plain tank heats its top first and its bottom then, one element at a time; a heat pump
//! works by the lower sensor, and elements help by the upper one.

use serde::{Deserialize, Serialize};

/// How a heater with a compressor is run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Mode {
    /// Nothing heats.
    Off,
    /// The compressor alone.
    HeatPumpOnly,
    /// The compressor, and elements where the top gets too cold or the air does not suit the compressor.
    #[default]
    Hybrid,
    /// Elements alone, as in a plain electric tank.
    ElementOnly,
}

/// Where a heater feels its water and when it acts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Controls {
    /// Height of the upper sensor, as a part of the tank's.
    pub upper_sensor: f64,
    /// Height of the lower sensor.
    pub lower_sensor: f64,
    /// An element or a burner starts where its sensor is so much below the set point, and stops at that.
    pub band_k: f64,
    /// The compressor starts where the lower sensor is so much below the set point.
    pub compressor_band_k: f64,
    /// In hybrid mode the upper element starts where the upper sensor is so much below the set point.
    pub help_band_k: f64,
    /// A compressor that stopped stays off so long.
    pub least_off_s: f64,
    /// Whether the compressor waits while an element heats.
    pub one_at_a_time: bool,
}

impl Controls {
    /// Common practice, no source: bands of 5 to 10 K, sensors below the top and above the bottom of the tank.
    pub const TYPICAL: Self = Self {
        upper_sensor: 0.75,
        lower_sensor: 0.25,
        band_k: 6.0,
        compressor_band_k: 5.0,
        help_band_k: 10.0,
        least_off_s: 300.0,
        one_at_a_time: true,
    };
}

/// What is on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[expect(clippy::struct_excessive_bools, reason = "each is a contact of its own, free of the others")]
pub struct Switches {
    /// The compressor and its fan.
    pub compressor: bool,
    /// The upper element.
    pub upper: bool,
    /// The lower element, or the burner.
    pub lower: bool,
    /// How long the compressor has been off.
    pub off_s: f64,
    /// The air has stopped the compressor, and has not come back well within its limits since.
    pub air_out: bool,
}

impl Default for Switches {
    fn default() -> Self {
        Self { compressor: false, upper: false, lower: false, off_s: f64::MAX, air_out: false }
    }
}

/// What thermostats go by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Felt {
    /// Set point of the moment; a set-back or a boost moves it.
    pub set_c: f64,
    /// Upper sensor; `None` without an upper element to switch.
    pub upper_c: Option<f64>,
    /// Lower sensor.
    pub lower_c: f64,
    /// Whether the air suits the compressor.
    pub air_suits: bool,
    /// Whether there is a lower element, or a burner.
    pub has_lower: bool,
}

/// A thermostat: on until the set point, off until a band below it.
fn wants(on: bool, felt_c: f64, set_c: f64, band_k: f64) -> bool {
    felt_c < if on { set_c } else { set_c - band_k }
}

impl Switches {
    /// Whether anything heats.
    #[must_use]
    pub fn is_on(&self) -> bool {
        self.compressor || self.upper || self.lower
    }

    /// Elements of a plain electric tank: the upper first, the lower when that is done.
    pub(super) fn elements(&mut self, controls: &Controls, felt: &Felt) {
        self.upper = felt.upper_c.is_some_and(|upper_c| wants(self.upper, upper_c, felt.set_c, controls.band_k));
        self.lower = !self.upper && felt.has_lower && wants(self.lower, felt.lower_c, felt.set_c, controls.band_k);
    }

    /// A burner works by the lower sensor alone.
    pub(super) fn burner(&mut self, controls: &Controls, felt: &Felt) {
        self.lower = wants(self.lower, felt.lower_c, felt.set_c, controls.band_k);
    }

    /// A compressor with elements to help it.
    pub(super) fn heat_pump(&mut self, controls: &Controls, mode: Mode, felt: &Felt) {
        let compressor = wants(self.compressor, felt.lower_c, felt.set_c, controls.compressor_band_k)
            && felt.air_suits
            && matches!(mode, Mode::HeatPumpOnly | Mode::Hybrid);
        match mode {
            Mode::Off | Mode::HeatPumpOnly => (self.upper, self.lower) = (false, false),
            Mode::Hybrid if felt.air_suits => {
                let helps = |upper_c| wants(self.upper, upper_c, felt.set_c, controls.help_band_k);
                self.upper = felt.upper_c.is_some_and(helps);
                self.lower = false;
            }
            Mode::Hybrid | Mode::ElementOnly => self.elements(controls, felt),
        }
        let waits = controls.one_at_a_time && (self.upper || self.lower);
        self.run_compressor(compressor && !waits && (self.compressor || self.off_s >= controls.least_off_s));
    }

    /// Nothing has power.
    pub(super) fn all_off(&mut self) {
        (self.upper, self.lower) = (false, false);
        self.run_compressor(false);
    }

    fn run_compressor(&mut self, on: bool) {
        if self.compressor && !on {
            self.off_s = 0.0;
        }
        self.compressor = on;
    }

    /// Time passes.
    pub(super) fn pass(&mut self, seconds: f64) {
        if !self.compressor {
            self.off_s += seconds;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CONTROLS: Controls = Controls::TYPICAL;
    const FELT: Felt = Felt { set_c: 50.0, upper_c: Some(50.0), lower_c: 50.0, air_suits: true, has_lower: true };

    #[test]
    fn exact_element_keeps_to_its_band() {
        let mut switches = Switches::default();
        let mut at = |upper_c, lower_c| {
            switches.elements(&CONTROLS, &Felt { upper_c: Some(upper_c), lower_c, ..FELT });
            (switches.upper, switches.lower)
        };
        assert_eq!(at(44.1, 44.1), (false, false));
        assert_eq!(at(43.9, 20.0), (true, false), "the top first");
        assert_eq!(at(49.9, 20.0), (true, false), "up to the set point");
        assert_eq!(at(50.0, 20.0), (false, true), "then the bottom");
        assert_eq!(at(43.9, 49.0), (true, false), "never both");
        assert_eq!(at(50.0, 50.0), (false, false));
    }

    #[test]
    fn exact_modes() {
        let on = |mode, felt: Felt| {
            let mut switches = Switches::default();
            switches.heat_pump(&CONTROLS, mode, &felt);
            (switches.compressor, switches.upper, switches.lower)
        };
        let cool = Felt { lower_c: 40.0, ..FELT };
        let cold = Felt { lower_c: 15.0, upper_c: Some(39.0), ..FELT };
        assert_eq!(on(Mode::Hybrid, cool), (true, false, false));
        assert_eq!(on(Mode::Hybrid, cold), (false, true, false), "one at a time");
        assert_eq!(on(Mode::HeatPumpOnly, cold), (true, false, false));
        assert_eq!(on(Mode::ElementOnly, cold), (false, true, false));
        assert_eq!(on(Mode::Off, cold), (false, false, false));
        let frost = Felt { air_suits: false, ..cool };
        assert_eq!(on(Mode::Hybrid, frost), (false, false, true), "elements stand in");
        assert_eq!(on(Mode::HeatPumpOnly, frost), (false, false, false));
        let bare = Felt { upper_c: None, ..cold };
        assert_eq!(on(Mode::Hybrid, bare), (true, false, false), "nothing to wait for");
        let mut both = Switches::default();
        both.heat_pump(&Controls { one_at_a_time: false, ..CONTROLS }, Mode::Hybrid, &cold);
        assert!(both.compressor && both.upper);
    }

    #[test]
    fn exact_compressor_rests() {
        let mut switches = Switches::default();
        let cool = Felt { lower_c: 40.0, ..FELT };
        switches.heat_pump(&CONTROLS, Mode::Hybrid, &cool);
        switches.all_off();
        for _ in 0..5 {
            switches.heat_pump(&CONTROLS, Mode::Hybrid, &cool);
            assert!(!switches.compressor);
            switches.pass(60.0);
        }
        switches.heat_pump(&CONTROLS, Mode::Hybrid, &cool);
        assert!(switches.compressor);
    }
}
