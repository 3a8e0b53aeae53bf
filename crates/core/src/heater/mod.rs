//! Water heaters: a tank, what heats it, and the thermostats between them.
//!
//! [`tank`] is the stratified store and [`layers`] what it is made of; [`heat_pump`] a compressor; [`control`] switches;
//! [`rating`] finds constants from what is printed on the plate, by the days of [`usage`]. See `docs/physics.md`.

pub mod control;
pub mod heat_pump;
pub mod layers;
pub mod rating;
pub mod tank;
pub mod usage;

use serde::{Deserialize, Serialize};

use self::control::{Controls, Felt, Mode, Switches};
use self::heat_pump::HeatPump;
use self::layers::{Layer, Layers};
use self::tank::Tank;
use crate::moist_air::MoistAir;

/// Heat of a litre of water for each kelvin: 988 kg/m³ and 4180 J/(kg K), those of 50 °C. A tank is full of hot water, and it
/// is hot litres that leave it.
pub const WATER_J_L_K: f64 = 0.988 * 4_180.0;

/// A thermostat opens within a step where the water has come so far over its set point: sensors are felt late.
const OVERSHOOT_K: f64 = 1.0;

/// Layers conduct heat to each other once in so long: in that time it goes a centimetre far, much less than what an inlet stirs, and
/// it is the dearest part of a step.
const CONDUCTS_EVERY_S: f64 = 300.0;

/// Part of the tank's height that an element or a burner heats.
const HEATED_SPAN: f64 = 0.05;

/// A water heater with a tank.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Heater {
    /// Its tank.
    pub tank: Tank,
    /// What heats it.
    pub source: Source,
    /// Its thermostats.
    pub controls: Controls,
}

/// What heats a tank.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Source {
    /// Elements alone.
    Electric(Elements),
    /// A compressor, and elements to help it.
    HeatPump(HeatPump, Elements),
    /// A burner of gas or propane under the tank.
    Fuel(Burner),
}

/// Resistance elements in the water.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Elements {
    /// The one that the upper sensor switches.
    pub upper: Option<Element>,
    /// The one that the lower sensor switches.
    pub lower: Option<Element>,
}

/// A resistance element.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Element {
    /// Its power, all of which reaches the water.
    pub power_w: f64,
    /// Its height, as a part of the tank's.
    pub height: f64,
}

impl Elements {
    /// Two of 4.5 kW, at a third from the top and near the bottom (common practice, no source).
    pub const TYPICAL: Self = Self {
        upper: Some(Element { power_w: 4_500.0, height: 0.68 }),
        lower: Some(Element { power_w: 4_500.0, height: 0.08 }),
    };
}

/// A burner under a tank with its flue through it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Burner {
    /// Fuel that it burns, by its upper heating value.
    pub input_w: f64,
    /// Part of that which reaches the water.
    pub efficiency: f64,
    /// Fuel of a standing pilot, of which as large a part reaches the water; zero where a spark lights it.
    pub pilot_w: f64,
    /// Heat that a flue at rest draws out of the water for each kelvin over the room.
    pub flue_loss_w_k: f64,
    /// Electric power of controls and fan.
    pub electric_w: f64,
}

impl Burner {
    /// One of 40,000 Btu/h with a standing pilot under an old-fashioned flue (common practice, no source).
    pub const TYPICAL: Self =
        Self { input_w: 11_723.0, efficiency: 0.78, pilot_w: 120.0, flue_loss_w_k: 3.0, electric_w: 0.0 };
}

/// What changes in a heater.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeaterState {
    /// Its water.
    pub layers: Layers,
    /// What is on.
    pub switches: Switches,
    /// Time for which layers have not conducted heat to each other yet.
    pub apart_s: f64,
}

/// What a heater meets over a step of 60 s or less, in which it all holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// How long.
    pub seconds: f64,
    /// Hot water drawn over it.
    pub litres: f64,
    /// The water that comes in for it.
    pub inlet_c: f64,
    /// Set point of the moment.
    pub set_c: f64,
    /// How it is run; without a compressor anything but off heats.
    pub mode: Mode,
    /// Whether there is power; a burner with a standing pilot needs none.
    pub power: bool,
    /// Air of the room.
    pub air: MoistAir,
    /// Air that a compressor takes in: that of the room, or by a duct another.
    pub intake: MoistAir,
}

/// What a heater did over a step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct HeaterStep {
    /// Heat that left with the water, over what came in with the inlet's.
    pub delivered_j: f64,
    /// Heat put into the water.
    pub heat_j: f64,
    /// Electricity of the compressor,
    pub compressor_j: f64,
    /// of its fan,
    pub fan_j: f64,
    /// of the elements,
    pub element_j: f64,
    /// and of a burner's controls and fan.
    pub controls_j: f64,
    /// Fuel burned.
    pub fuel_j: f64,
    /// Heat lost through the tank's wall into the room.
    pub loss_j: f64,
    /// Heat lost up the flue at rest.
    pub flue_j: f64,
    /// Sensible heat that the coil took from the air,
    pub sensible_j: f64,
    /// latent heat,
    pub latent_j: f64,
    /// and the water that ran off.
    pub condensate_kg: f64,
}

impl HeaterStep {
    /// All electricity.
    #[must_use]
    pub fn electric_j(&self) -> f64 {
        self.compressor_j + self.fan_j + self.element_j + self.controls_j
    }

    /// What the room gains by it where a compressor takes in its air: loss of the tank and the fan's heat less what the coil took.
    #[must_use]
    pub fn room_gains_j(&self) -> f64 {
        self.loss_j + self.fan_j - self.sensible_j
    }
}

impl HeaterState {
    /// Water of one temperature, all off.
    #[must_use]
    pub fn at(heater: &Heater, temp_c: f64) -> Self {
        Self { layers: Layers::uniform(heater.tank.volume_l, temp_c), switches: Switches::default(), apart_s: 0.0 }
    }

    /// Temperature of the water that leaves next.
    #[must_use]
    pub fn outlet_c(&self) -> f64 {
        self.layers.top().temp_c
    }
}

impl Heater {
    /// Lets a step pass: thermostats act, the draw leaves, heat goes in, the tank loses some. Pieces of the draw are told as
    /// they leave.
    ///
    /// Over any step the water's gain is `heat_j - delivered_j - loss_j - flue_j`.
    pub fn step(&self, state: &mut HeaterState, at: &Conditions, mut each: impl FnMut(Layer)) -> HeaterStep {
        let HeaterState { layers, switches, apart_s } = state;
        self.switch(layers, switches, at);
        let mut told = HeaterStep::default();
        self.tank.draw(layers, at.litres, at.inlet_c, |piece| {
            told.delivered_j += WATER_J_L_K * piece.volume_l * (piece.temp_c - at.inlet_c);
            each(piece);
        });
        match &self.source {
            Source::Electric(elements) => self.heat_by(elements, layers, *switches, at, &mut told),
            Source::HeatPump(pump, elements) => {
                self.heat_by(elements, layers, *switches, at, &mut told);
                if switches.compressor {
                    self.pump_heat(pump, layers, at, &mut told);
                }
            }
            Source::Fuel(burner) => self.burn(burner, layers, *switches, at, &mut told),
        }
        switches.pass(at.seconds);
        *apart_s += at.seconds;
        if *apart_s >= CONDUCTS_EVERY_S {
            self.tank.conduct(layers, *apart_s);
            *apart_s = 0.0;
        }
        // A burner at rest has its flue beside the wall.
        let flue_w_k = match &self.source {
            Source::Fuel(burner) if !switches.lower => burner.flue_loss_w_k,
            _ => 0.0,
        };
        let loss_w_k = self.tank.loss_w_k + flue_w_k;
        let lost_j = self.tank.lose(layers, loss_w_k, at.air.temp_c, at.seconds);
        told.flue_j = if flue_w_k > 0.0 { lost_j * flue_w_k / loss_w_k } else { 0.0 };
        told.loss_j = lost_j - told.flue_j;
        told
    }

    fn switch(&self, layers: &Layers, switches: &mut Switches, at: &Conditions) {
        if let Source::HeatPump(pump, _) = &self.source {
            switches.air_out = !pump.suits(&at.intake, switches.air_out);
        }
        let (has_upper, has_lower) = match &self.source {
            Source::Electric(elements) | Source::HeatPump(_, elements) => {
                (elements.upper.is_some(), elements.lower.is_some())
            }
            Source::Fuel(_) => (false, true),
        };
        let felt = Felt {
            set_c: at.set_c,
            upper_c: has_upper.then(|| self.tank.temp_at_c(layers, self.controls.upper_sensor)),
            lower_c: self.tank.temp_at_c(layers, self.controls.lower_sensor),
            air_suits: !switches.air_out,
            has_lower,
        };
        let powered = at.power || matches!(&self.source, Source::Fuel(burner) if burner.pilot_w > 0.0);
        match &self.source {
            _ if !powered || at.mode == Mode::Off => switches.all_off(),
            Source::Electric(_) => switches.elements(&self.controls, &felt),
            Source::HeatPump(..) => switches.heat_pump(&self.controls, at.mode, &felt),
            Source::Fuel(_) => switches.burner(&self.controls, &felt),
        }
    }

    fn heat_by(&self, elements: &Elements, layers: &mut Layers, on: Switches, at: &Conditions, told: &mut HeaterStep) {
        let at_work = [elements.upper.filter(|_| on.upper), elements.lower.filter(|_| on.lower)];
        for element in at_work.into_iter().flatten() {
            let height = element.height.min(1.0 - HEATED_SPAN);
            let heat_j = self.most_j(layers, height, at.set_c, element.power_w * at.seconds);
            self.tank.heat(layers, height, height + HEATED_SPAN, heat_j);
            told.element_j += heat_j;
            told.heat_j += heat_j;
        }
    }

    /// So much heat, or what the water over a height takes until a thermostat opens within a step.
    fn most_j(&self, layers: &Layers, height: f64, set_c: f64, heat_j: f64) -> f64 {
        let (mut under_l, from_l) = (0.0, height * self.tank.volume_l);
        let mut most_j = 0.0;
        for layer in layers.as_slice() {
            let over_l: f64 = under_l + layer.volume_l;
            if over_l > from_l {
                most_j += WATER_J_L_K * (over_l - from_l.max(under_l)) * (set_c + OVERSHOOT_K - layer.temp_c).max(0.0);
                if most_j >= heat_j {
                    return heat_j;
                }
            }
            under_l = over_l;
        }
        most_j
    }

    fn pump_heat(&self, pump: &HeatPump, layers: &mut Layers, at: &Conditions, told: &mut HeaterStep) {
        let condensing_c = self.tank.coil_c(layers, pump.condenser_top, pump.condenser_approach_k);
        let rates = pump.at(&at.intake, condensing_c);
        let cooled = at.intake.cooled(rates.coil_w, pump.air_kg_s);
        let wanted_j = rates.heat_w * at.seconds;
        let heat_j = self.most_j(layers, 0.0, at.set_c, wanted_j);
        let seconds = if heat_j < wanted_j { heat_j / rates.heat_w } else { at.seconds };
        self.tank.heat_by_coil(layers, pump.condenser_top, condensing_c, heat_j);
        told.heat_j += heat_j;
        told.compressor_j = rates.compressor_w * seconds;
        told.fan_j = rates.fan_w * seconds;
        told.sensible_j = cooled.sensible_w * seconds;
        told.latent_j = cooled.latent_w * seconds;
        told.condensate_kg = cooled.condensate_kg_s * seconds;
    }

    fn burn(&self, burner: &Burner, layers: &mut Layers, on: Switches, at: &Conditions, told: &mut HeaterStep) {
        let input_j = if on.lower {
            let wanted_j = burner.efficiency * burner.input_w * at.seconds;
            self.most_j(layers, 0.0, at.set_c, wanted_j) / burner.efficiency
        } else {
            0.0
        };
        told.fuel_j = burner.pilot_w * at.seconds + input_j;
        told.heat_j = burner.efficiency * told.fuel_j;
        told.controls_j = if at.power { burner.electric_w * at.seconds } else { 0.0 };
        if told.heat_j > 0.0 {
            self.tank.heat(layers, 0.0, HEATED_SPAN, told.heat_j);
        }
    }
}
