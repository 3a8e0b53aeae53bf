//! A stratified tank: layers that move up with a draw, lose heat, conduct it to each other, and mix where one would be
//! warmer than the one above.
//!
//! A draw moves layers as they are, so that nothing mixes but what the jet of the inlet mixes; conduction then works
//! between layers wherever they have come to. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use super::WATER_J_L_K;
use super::layers::{Layer, Layers, MOST_LAYERS};
use crate::decay::lost;

/// Part of the mixed zone that comes in between two looks at it.
const JET_PART: f64 = 0.125;

/// Conduction works on layers as thin as this part of the tank,
const FINE: f64 = 1.0 / 512.0;
/// where the step between two is this part of the tank's range, or more; but for a step of so little. A quarter of that moves the
/// heats of a month by three parts in ten thousand at most; see `docs/physics.md`.
const STEP_PART: f64 = 1.0 / 20.0;
const LEAST_STEP_K: f64 = 0.25;
/// Layers closer than this part of such a step may be mixed.
const MIX_PART: f64 = 0.25;
/// Places that conduction leaves for draws and heat.
const SPARE: usize = 16;

/// A storage tank for hot water, a standing cylinder that is always full.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tank {
    /// What it holds.
    pub volume_l: f64,
    /// How high the water stands in it.
    pub height_m: f64,
    /// Heat lost through its wall for each kelvin of difference, spread over the height.
    pub loss_w_k: f64,
    /// Part of the tank, from the bottom up, that the jet of the inlet mixes, 0 to 1.
    pub inlet_mixing: f64,
    /// How fast heat spreads between layers; [`Tank::WATER_M2_S`], or more for the wall's part.
    pub diffusivity_m2_s: f64,
}

impl Tank {
    /// Diffusivity of still water at 30 °C: 0.618 W/(m K) over 4.16 MJ/(m³ K).
    pub const WATER_M2_S: f64 = 1.5e-7;

    /// Part of the tank mixed by the inlet where nothing tells: what gives plain tanks their usual first-hour rating.
    pub const INLET_MIXING: f64 = 0.2;

    /// Heat of the water over that at a reference.
    #[must_use]
    pub fn energy_j(&self, layers: &Layers, reference_c: f64) -> f64 {
        layers.as_slice().iter().map(|layer| WATER_J_L_K * layer.volume_l * (layer.temp_c - reference_c)).sum()
    }

    /// Mean temperature between two heights, each a part of the tank's.
    #[must_use]
    pub fn mean_c(&self, layers: &Layers, from: f64, to: f64) -> f64 {
        layers.mean_c(from * self.volume_l, to * self.volume_l)
    }

    /// Temperature at a height, as a part of the tank's.
    #[must_use]
    pub fn temp_at_c(&self, layers: &Layers, height: f64) -> f64 {
        // From the nearer end.
        if height > 0.5 {
            layers.under((1.0 - height) * self.volume_l).temp_c
        } else {
            layers.over(height * self.volume_l).temp_c
        }
    }

    /// Draws hot water from the top while as much comes in at the bottom; each piece that leaves is told, warmest first.
    ///
    /// The inflow mixes with the lowest part of the tank as with a stirred store, `T = T_in + (T_0 - T_in) exp(-V / V_m)`,
    /// and what it drives out rises above that part.
    pub fn draw(&self, layers: &mut Layers, litres: f64, inlet_c: f64, mut each: impl FnMut(Layer)) {
        let zone_l = self.inlet_mixing.clamp(0.0, 1.0) * self.volume_l;
        let stirred = zone_l > FINE * self.volume_l;
        let most_l = if stirred { JET_PART * zone_l } else { self.volume_l };
        let (mut left_l, mut came) = (litres, 0);
        while left_l > 0.0 {
            let step_l = left_l.min(most_l);
            let inflow = Layer { volume_l: step_l, temp_c: inlet_c };
            layers.make_room(2);
            if stirred {
                self.push_stirred(layers, zone_l, inflow);
            } else {
                layers.push(0, inflow, self.volume_l);
            }
            layers.take_off(step_l, self.volume_l, &mut each);
            left_l -= step_l;
            came += 1;
        }
        // Water colder or warmer than what it meets turns over.
        layers.overturn(0, came + 1);
    }

    /// Puts an inflow into the stirred zone, and what that drives out above it; there must be room for two.
    fn push_stirred(&self, layers: &mut Layers, zone_l: f64, inflow: Layer) {
        let top = layers.cut(zone_l.min(self.volume_l), self.volume_l);
        layers.mix(0, top);
        let zone = layers.as_slice()[0];
        let turns = inflow.volume_l / zone.volume_l;
        let over_k = zone.temp_c - inflow.temp_c;
        let lost = lost(turns);
        layers.as_mut_slice()[0].temp_c = inflow.temp_c + over_k * (1.0 - lost);
        let driven_out = Layer { volume_l: inflow.volume_l, temp_c: inflow.temp_c + over_k * lost / turns };
        layers.push(1, driven_out, self.volume_l);
    }

    /// Puts heat in from one height up to another, each a part of the tank's; what gets warmer than the water above rises.
    pub fn heat(&self, layers: &mut Layers, from: f64, to: f64, heat_j: f64) {
        self.spread(layers, from, to, heat_j, |_| 1.0);
    }

    /// Temperature of a coil around the lowest part of the tank that gives its heat with so much of a mean difference:
    /// where the water is warmer than the coil it takes none. The coil reaches up to `top`, over 0 up to 1.
    #[must_use]
    pub fn coil_c(&self, layers: &Layers, top: f64, approach_k: f64) -> f64 {
        let span_l = top * self.volume_l;
        // Upwards, as long as the coil is warmer than the layer that comes next.
        let (mut under_l, mut sum) = (0.0, 0.0);
        let approach = approach_k * span_l;
        for layer in layers.as_slice() {
            if layer.temp_c * under_l - sum >= approach {
                break;
            }
            let left_l: f64 = span_l - under_l;
            if layer.volume_l >= left_l {
                sum += left_l * layer.temp_c;
                under_l = span_l;
                break;
            }
            under_l += layer.volume_l;
            sum += layer.volume_l * layer.temp_c;
        }
        (approach + sum) / under_l
    }

    /// Puts in the heat of a coil around the lowest part of the tank; each layer takes it in proportion to how much colder
    /// than the coil it is.
    pub fn heat_by_coil(&self, layers: &mut Layers, top: f64, coil_c: f64, heat_j: f64) {
        // Where the coil ends there is an edge, warm water over the coil or not: it keeps layers beside it from being thick.
        layers.make_room(1);
        layers.cut(top.min(1.0) * self.volume_l, self.volume_l);
        self.spread(layers, 0.0, top, heat_j, |layer| coil_c - layer.temp_c);
    }

    /// Puts heat in from one height up to another, in proportion to volume and weight, and up to the first layer without weight.
    fn spread(&self, layers: &mut Layers, from: f64, to: f64, heat_j: f64, weight: impl Fn(&Layer) -> f64) {
        let low = if from > 0.0 {
            layers.make_room(1);
            layers.cut(from * self.volume_l, self.volume_l)
        } else {
            0
        };
        let (mut left_l, mut weights_l) = ((to.min(1.0) - from.max(0.0)) * self.volume_l, 0.0);
        let (mut high, mut last_part) = (low, 0.0);
        for layer in &layers.as_slice()[low..] {
            let weight = weight(layer);
            if left_l <= 0.0 || weight <= 0.0 {
                break;
            }
            last_part = if left_l < layer.volume_l { left_l / layer.volume_l } else { 1.0 };
            weights_l += weight * last_part * layer.volume_l;
            left_l -= layer.volume_l;
            high += 1;
        }
        let heated = &mut layers.as_mut_slice()[low..high];
        let Some((last, full)) = heated.split_last_mut() else { return };
        let k_by_weight = heat_j / (WATER_J_L_K * weights_l);
        for layer in full {
            layer.temp_c += weight(layer) * k_by_weight;
        }
        // What is heated of a layer rises through the rest of it.
        last.temp_c += last_part * weight(last) * k_by_weight;
        // Below, those that were warmer still are, if none got warmer than the coil.
        layers.overturn(if k_by_weight < 1.0 { high.saturating_sub(2).max(low) } else { low }, high);
    }

    /// Lets the tank stand; heat lost to air of a temperature.
    pub fn stand(&self, layers: &mut Layers, air_c: f64, seconds: f64) -> f64 {
        self.conduct(layers, seconds);
        self.lose(layers, self.loss_w_k, air_c, seconds)
    }

    /// Lets all water lose heat to air of a temperature, so much for each kelvin over it; the heat lost.
    pub(super) fn lose(&self, layers: &mut Layers, loss_w_k: f64, air_c: f64, seconds: f64) -> f64 {
        let heat_j_k = WATER_J_L_K * self.volume_l;
        WATER_J_L_K * layers.cool(lost(loss_w_k * seconds / heat_j_k), air_c, self.volume_l)
    }

    /// Conduction between layers, by one implicit step: stable and free of overshoot for any length of time.
    pub(super) fn conduct(&self, layers: &mut Layers, seconds: f64) {
        layers.true_up(self.volume_l);
        if layers.as_slice().len() == 1 {
            return;
        }
        self.fit(layers);
        let slice = layers.as_mut_slice();
        // Litres of exchange between a layer and the one above it: diffusivity, time and area over the distance of their
        // middles, which for a cylinder is in proportion to their volumes.
        let m_l = self.height_m / self.volume_l;
        let spread_l2 = self.diffusivity_m2_s * seconds / (m_l * m_l);
        // Thomas's elimination of a tridiagonal system, upwards and back.
        let mut factors = [0.0; MOST_LAYERS];
        let (mut under_l, mut under_factor, mut under_c) = (0.0, 0.0, 0.0);
        let mut rest = slice.iter_mut().peekable();
        for factor in &mut factors {
            let Some(layer) = rest.next() else { break };
            let volume_l = layer.volume_l;
            let exchange_l = rest.peek().map_or(0.0, |above| spread_l2 / (0.5 * (volume_l + above.volume_l)));
            let pivot_l = volume_l + exchange_l + under_l * (1.0 - under_factor);
            *factor = exchange_l / pivot_l;
            layer.temp_c = (volume_l * layer.temp_c + under_l * under_c) / pivot_l;
            (under_l, under_factor, under_c) = (exchange_l, *factor, layer.temp_c);
        }
        let mut above_c = 0.0;
        for (layer, factor) in slice.iter_mut().zip(&factors).rev() {
            layer.temp_c += factor * above_c;
            above_c = layer.temp_c;
        }
    }

    /// Cuts thin layers where the temperature steps, and mixes those that conduction no longer needs.
    ///
    /// Beside a step a layer wants to be no thicker than the square of the step allows.
    fn fit(&self, layers: &mut Layers) {
        let range_k = layers.top().temp_c - layers.as_slice()[0].temp_c;
        let step_k = LEAST_STEP_K.max(STEP_PART * range_k);
        let fine_l = FINE * self.volume_l;
        // Whether a layer is no thicker than wanted beside such a step.
        let (thin_l, thin_l_k2) = (fine_l, fine_l * step_k * step_k);
        let is_thin = |volume_l: f64, over_k: f64| volume_l <= thin_l || volume_l * over_k * over_k <= thin_l_k2;
        let near_k = MIX_PART * step_k;
        let list = layers.as_mut_slice();
        let mut last = 0;
        for i in 1..list.len() {
            let (one, other) = (list[last], list[i]);
            let volume_l = one.volume_l + other.volume_l;
            let mixes = (other.temp_c - one.temp_c).abs() < near_k
                && (last == 0 || is_thin(volume_l, other.temp_c - list[last - 1].temp_c))
                && list.get(i + 1).is_none_or(|next| is_thin(volume_l, next.temp_c - one.temp_c));
            if mixes {
                list[last] = one.mixed(other);
            } else {
                last += 1;
                list[last] = other;
            }
        }
        layers.keep(last + 1);
        let mut i = 0;
        while let [lower, upper, ..] = layers.as_slice()[i..] {
            if layers.as_slice().len() + SPARE > MOST_LAYERS {
                return;
            }
            let over_k = upper.temp_c - lower.temp_c;
            let is_thick = |layer: &Layer| !is_thin(0.5 * layer.volume_l, over_k);
            if is_thick(&lower) || is_thick(&upper) {
                let over = (step_k / over_k).abs().max(1.0);
                let thin_l = fine_l * over * over;
                if is_thick(&upper) {
                    layers.as_mut_slice()[i + 1].volume_l -= thin_l;
                    layers.insert(i + 1, Layer { volume_l: thin_l, ..upper });
                }
                if is_thick(&lower) {
                    layers.as_mut_slice()[i].volume_l -= thin_l;
                    layers.insert(i + 1, Layer { volume_l: thin_l, ..lower });
                    i += 1;
                }
            }
            i += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TANK: Tank =
        Tank { volume_l: 100.0, height_m: 1.0, loss_w_k: 0.0, inlet_mixing: 0.0, diffusivity_m2_s: Tank::WATER_M2_S };

    /// Half of it at 10 °C, half at 50 °C.
    fn halves() -> Layers {
        let mut layers = Layers::uniform(100.0, 50.0);
        TANK.draw(&mut layers, 50.0, 10.0, |_| ());
        layers
    }

    #[test]
    fn exact_coil_warms_what_is_colder_than_itself() {
        // 8 K over 100 L: a coil of 26 °C is 16 K warmer than the colder half, and takes no part in the other.
        let mut layers = halves();
        let coil_c = TANK.coil_c(&layers, 1.0, 8.0);
        assert!((coil_c - 26.0).abs() < 1e-12, "{coil_c}");
        TANK.heat_by_coil(&mut layers, 1.0, coil_c, WATER_J_L_K * 50.0);
        assert!((TANK.temp_at_c(&layers, 0.1) - 11.0).abs() < 1e-12 && layers.top().temp_c == 50.0, "{layers:?}");
        // 30 K: one of 60 °C gives five parts to the colder half for one to the warmer.
        let mut layers = halves();
        let coil_c = TANK.coil_c(&layers, 1.0, 30.0);
        assert!((coil_c - 60.0).abs() < 1e-12, "{coil_c}");
        TANK.heat_by_coil(&mut layers, 1.0, coil_c, WATER_J_L_K * 60.0);
        assert!((TANK.temp_at_c(&layers, 0.1) - 11.0).abs() < 1e-12, "{layers:?}");
        assert!((layers.top().temp_c - 50.2).abs() < 1e-12, "{layers:?}");
        // In the mean over its own height: up to 0.25 it is all cold.
        assert!((TANK.coil_c(&layers, 0.25, 8.0) - 19.0).abs() < 1e-12);
    }

    #[test]
    fn exact_heat_rises_to_what_is_as_warm() {
        // Heat between 0.2 and 0.3 warms all the cold water above 0.2 alike, then what is below stays.
        let mut layers = halves();
        TANK.heat(&mut layers, 0.2, 0.3, WATER_J_L_K * 30.0);
        assert!((TANK.mean_c(&layers, 0.2, 0.5) - 11.0).abs() < 1e-12, "{layers:?}");
        assert!((TANK.temp_at_c(&layers, 0.49) - 11.0).abs() < 1e-12 && TANK.temp_at_c(&layers, 0.1) == 10.0);
        assert_eq!(layers.top().temp_c, 50.0);
    }

    #[test]
    fn exact_colder_water_than_the_bottom_stays_there_and_warmer_rises() {
        let mut layers = halves();
        TANK.draw(&mut layers, 10.0, 30.0, |_| ());
        assert!((TANK.temp_at_c(&layers, 0.0) - (500.0 + 300.0) / 60.0).abs() < 1e-12, "{layers:?}");
    }

    #[test]
    fn exact_slivers_of_a_draw_spoil_no_conduction() {
        // What is left of a minute by rounding, or by a piece of a nanosecond, over a stirred zone that got colder meanwhile.
        let tank = Tank { inlet_mixing: 0.4, ..TANK };
        let mut layers = Layers::uniform(100.0, 51.0);
        TANK.draw(&mut layers, 50.0, 50.0, |_| ());
        for _ in 0..4 {
            tank.draw(&mut layers, 2e-14, 5.0, |_| ());
            layers.as_mut_slice()[0].temp_c -= 0.1;
        }
        let before_j = tank.energy_j(&layers, 0.0);
        tank.stand(&mut layers, 10.0, 60.0);
        assert!(layers.as_slice().windows(2).all(|pair| pair[0].temp_c <= pair[1].temp_c + 1e-9), "{layers:?}");
        assert!((tank.energy_j(&layers, 0.0) / before_j - 1.0).abs() < 1e-12, "{layers:?}");
    }

    #[test]
    fn exact_litres_do_not_drift() {
        // A year of small draws: the layers hold the tank to a few roundings, each time that they conduct.
        let mut layers = halves();
        for i in 0..200_000 {
            TANK.draw(&mut layers, 0.1 + 0.01 * f64::from(i % 7), 10.0 + f64::from(i % 11), |_| ());
            TANK.heat(&mut layers, 0.05, 0.1, 3e4);
            if i % 5 == 4 {
                assert!((layers.volume_l() / 100.0 - 1.0).abs() < 2e-14, "{}", layers.volume_l());
                TANK.conduct(&mut layers, 300.0);
            }
        }
        assert!((layers.volume_l() / 100.0 - 1.0).abs() < 2e-15, "{}", layers.volume_l());
    }
}
