//! One spiral-wound element: what passes it at a feed flow, salt and pressure.
//!
//! The mean salt on the feed side is that of feed and concentrate, the salt at the wall `exp(k R)` times it with the
//! element's recovery `R`, and pressure is taken at the middle of the channel. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use super::osmosis::{CELSIUS_K, Osmosis, STANDARD_K};
use crate::water::{COLDEST_C, HOTTEST_C};

/// The most of its feed that an element is taken to pass.
///
/// Far beyond any guide (see [`super::limits`]), where a mean of feed and concentrate says nothing any more: it only bounds
/// what happens with a valve all but shut.
pub const MOST_RECOVERY: f64 = 0.8;

/// Course of the water permeability over temperature, K: published charts are between 2,260 and 3,020.
pub const WATER_TEMP_K: f64 = 2_640.0;

/// Course of the salt permeability over temperature, K: 6 % more salt passes for each degree at 25 °C (Water Quality
/// Association, education kit X-4).
pub const SALT_TEMP_K: f64 = 5_180.0;

/// Exponent of the channel's loss over the flow: common practice for the nets of spiral-wound elements.
pub const CHANNEL_EXPONENT: f64 = 1.7;

/// Exponent of concentration polarisation over recovery: common practice, 1.15 at a recovery of 20 %.
pub const POLARISATION: f64 = 0.7;

/// Largest exponent of concentration polarisation: beyond, the law would take more salt through an element at
/// [`MOST_RECOVERY`] than its feed brings.
pub const MOST_POLARISATION: f64 = 1.0;

/// An element.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Element {
    /// Membrane area.
    pub area_m2: f64,
    /// Water that passes a square metre in an hour for each bar (100 kPa) of net driving pressure, clean, at 25 °C.
    pub water_permeability_l_m2_h_bar: f64,
    /// Litres of feed an hour whose salt passes a square metre, at 25 °C.
    pub salt_permeability_l_m2_h: f64,
    /// Course of the water permeability over temperature, `exp(K (1 / 298.15 - 1 / T))`.
    pub water_temp_k: f64,
    /// The same of the salt permeability.
    pub salt_temp_k: f64,
    /// Pressure lost along the clean feed channel at a mean flow of 1 L/s.
    pub channel_loss_kpa: f64,
    /// Exponent of that loss over the flow.
    pub channel_exponent: f64,
    /// Exponent of concentration polarisation over the element's recovery, 0 to [`MOST_POLARISATION`].
    pub polarisation: f64,
}

/// How far a membrane has fouled.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fouling {
    /// Water permeability as a share of that of a clean one.
    pub water_share: f64,
    /// Loss along the channel as a multiple of that of a clean one.
    pub channel_times: f64,
}

impl Fouling {
    /// As new.
    pub const CLEAN: Self = Self { water_share: 1.0, channel_times: 1.0 };
}

/// Permeability at a temperature as a share of that at 25 °C, `exp(K (1 / 298.15 - 1 / T))`; held to 0 to 95 °C.
#[must_use]
pub fn temperature_factor(course_k: f64, temp_c: f64) -> f64 {
    let kelvin = temp_c.clamp(COLDEST_C, HOTTEST_C) + CELSIUS_K;
    libm::exp(course_k * (1.0 / STANDARD_K - 1.0 / kelvin))
}

impl Element {
    /// Product flow at 25 °C that stands for one at another temperature: the first step of normalising a record.
    ///
    /// ASTM D4516 divides by the ratio of net driving pressures too; dividing a reading by what the model gives at the same
    /// pressures, salt and temperature does both.
    #[must_use]
    pub fn product_at_25_c_lps(&self, product_lps: f64, temp_c: f64) -> f64 {
        product_lps / temperature_factor(self.water_temp_k, temp_c)
    }

    /// The element at a temperature and with so much fouling, against a pressure in its product pipe.
    #[must_use]
    pub fn at(&self, temp_c: f64, fouling: Fouling, product_kpa: f64, osmosis: Osmosis) -> ElementAt {
        let water = temperature_factor(self.water_temp_k, temp_c) * fouling.water_share;
        let salt = temperature_factor(self.salt_temp_k, temp_c);
        ElementAt {
            // Never quite shut, so that no quotient is without a value.
            water_lps_kpa: (water * self.water_permeability_l_m2_h_bar * self.area_m2 / 360_000.0).max(1e-15),
            salt_lps: salt * self.salt_permeability_l_m2_h * self.area_m2 / 3_600.0,
            channel_kpa: self.channel_loss_kpa * fouling.channel_times,
            channel_exponent: self.channel_exponent,
            polarisation: self.polarisation,
            product_kpa,
            osmosis,
        }
    }
}

/// Flowing water: its flow, salt and pressure.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stream {
    /// Flow.
    pub flow_lps: f64,
    /// Salt.
    pub salt_mg_l: f64,
    /// Pressure, gauge.
    pub pressure_kpa: f64,
}

/// What becomes of a feed in an element.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Passage {
    /// Product.
    pub product_lps: f64,
    /// Salt in the product; with no product, what its first drop would have.
    pub product_salt_mg_l: f64,
    /// Salt at the wall of the membrane.
    pub wall_salt_mg_l: f64,
    /// Product over feed.
    pub recovery: f64,
    /// What leaves at the end.
    pub concentrate: Stream,
}

impl Passage {
    /// Product through a square metre in an hour, L/(m² h).
    #[must_use]
    pub fn flux_l_m2_h(&self, area_m2: f64) -> f64 {
        3_600.0 * self.product_lps / area_m2
    }
}

/// An [`Element`] at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ElementAt {
    /// Water for each kPa of net driving pressure.
    pub(super) water_lps_kpa: f64,
    /// Feed whose salt passes.
    pub(super) salt_lps: f64,
    /// Loss along the channel at a mean flow of 1 L/s.
    pub(super) channel_kpa: f64,
    channel_exponent: f64,
    polarisation: f64,
    /// Pressure in the product pipe.
    pub(super) product_kpa: f64,
    pub(super) osmosis: Osmosis,
}

/// The element at a trial recovery: values, and their slopes against it.
#[derive(Clone, Copy)]
struct Trial {
    /// Pressure to spare over what the recovery needs.
    spare_kpa: (f64, f64),
    product_salt_mg_l: (f64, f64),
    wall_salt_mg_l: (f64, f64),
    loss_kpa: (f64, f64),
}

/// A positive number to a power: a fraction of the work of the full function, which is exact to the last bit.
fn power(base: f64, exponent: f64) -> f64 {
    libm::exp(exponent * libm::log(base))
}

impl ElementAt {
    /// Pressure lost along the channel at a mean flow.
    #[must_use]
    pub(super) fn loss_kpa(&self, flow_lps: f64) -> f64 {
        self.channel_kpa * power(flow_lps, self.channel_exponent)
    }

    fn trial(&self, feed: &Stream, unturned_kpa: f64, recovery: f64) -> Trial {
        let (r, c, k) = (recovery, feed.salt_mg_l, self.polarisation);
        let leak = self.salt_lps / feed.flow_lps;
        let left = 1.0 - r;
        let polarised = libm::exp(k * r);
        // R c_p = leak (c_wall - c_p), with c_wall = e^kR (c + c_c) / 2 and c_c = (c - R c_p) / (1 - R), is linear in c_p.
        let top = leak * polarised * c * (2.0 - r);
        let top_slope = leak * polarised * c * (k * (2.0 - r) - 1.0);
        let bottom = 2.0 * left * (r + leak) + leak * polarised * r;
        let bottom_slope = 2.0 * (1.0 - 2.0 * r - leak) + leak * polarised * (1.0 + k * r);
        let (product, product_slope) = if leak > 0.0 {
            let product = top / bottom;
            (product, (top_slope - product * bottom_slope) / bottom)
        } else {
            (0.0, 0.0)
        };
        let mean = 0.5 * (c * (2.0 - r) - r * product) / left;
        let mean_slope = (mean - 0.5 * (c + product + r * product_slope)) / left;
        let wall = polarised * mean;
        let wall_slope = k * wall + polarised * mean_slope;
        let narrowed = 1.0 - 0.5 * r;
        let loss = unturned_kpa * power(narrowed, self.channel_exponent);
        let loss_slope = -0.5 * self.channel_exponent * loss / narrowed;
        let (at_wall_kpa, at_wall_slope) = self.osmosis.kpa_and_slope(wall);
        let (behind_kpa, behind_slope) = self.osmosis.kpa_and_slope(product);
        let needed = feed.flow_lps / self.water_lps_kpa;
        Trial {
            spare_kpa: (
                feed.pressure_kpa - self.product_kpa - 0.5 * loss - (at_wall_kpa - behind_kpa) - needed * r,
                -0.5 * loss_slope - at_wall_slope * wall_slope + behind_slope * product_slope - needed,
            ),
            product_salt_mg_l: (product, product_slope),
            wall_salt_mg_l: (wall, wall_slope),
            loss_kpa: (loss, loss_slope),
        }
    }

    /// What becomes of a feed. `guess` is a recovery to start from, such as that of a feed like it.
    ///
    /// The recovery is held to 0..=[`MOST_RECOVERY`]: where the pressure is below that in the product pipe nothing passes, and
    /// no product goes back. Since salt passes too, no osmotic pressure stops the product wholly, it only makes it salty.
    #[must_use]
    pub fn pass(&self, feed: &Stream, guess: f64) -> Passage {
        if feed.flow_lps <= 0.0 {
            // Nothing moves: product and wall are as salty as the feed would make them.
            let product_salt_mg_l = if self.salt_lps > 0.0 { feed.salt_mg_l } else { 0.0 };
            let concentrate = Stream { flow_lps: 0.0, ..*feed };
            return Passage { product_salt_mg_l, wall_salt_mg_l: feed.salt_mg_l, concentrate, ..Passage::default() };
        }
        let unturned_kpa = self.loss_kpa(feed.flow_lps);
        // Newton's method in a shrinking bracket: three or four steps, one or two from a good guess; the rest is in reserve. The
        // bracket opens beyond both ends, so that they are tried when a step leads there.
        let (mut low, mut high) = (-1.0, 2.0);
        let mut recovery = if guess > 0.0 && guess < MOST_RECOVERY { guess } else { 0.1 };
        let mut trial = self.trial(feed, unturned_kpa, recovery);
        for step in 0..MOST_STEPS {
            let change = trial.change();
            let held = if trial.spare_kpa.0 > 0.0 { recovery == MOST_RECOVERY } else { recovery == 0.0 };
            if held || change.abs() <= CLOSE * recovery {
                break;
            }
            if trial.spare_kpa.0 > 0.0 {
                low = recovery;
            } else {
                high = recovery;
            }
            let next = (recovery + change).clamp(0.0, MOST_RECOVERY);
            let inside = next > low && next < high && step < MOST_STEPS / 2;
            recovery = if inside { next } else { 0.5 * (low.max(0.0) + high.min(MOST_RECOVERY)) };
            trial = self.trial(feed, unturned_kpa, recovery);
        }
        trial.passage(feed, recovery)
    }
}

/// Most steps of the search for an element's recovery; half of them may be bisections, which carry to rounding.
const MOST_STEPS: u32 = 120;

/// Steps under this share of the recovery are taken along the slopes and end the search: their square is under rounding.
const CLOSE: f64 = 1e-8;

impl Trial {
    /// The step of Newton's method.
    fn change(&self) -> f64 {
        -self.spare_kpa.0 / self.spare_kpa.1
    }

    /// The passage at a recovery that is all but found.
    fn passage(&self, feed: &Stream, recovery: f64) -> Passage {
        let change = self.change();
        let change = if change.abs() <= CLOSE * recovery { change } else { 0.0 };
        let recovery = (recovery + change).min(MOST_RECOVERY);
        let along = |(value, slope): (f64, f64)| value + slope * change;
        let product_lps = recovery * feed.flow_lps;
        let product_salt_mg_l = along(self.product_salt_mg_l);
        let flow_lps = feed.flow_lps - product_lps;
        Passage {
            product_lps,
            product_salt_mg_l,
            wall_salt_mg_l: along(self.wall_salt_mg_l),
            recovery,
            concentrate: Stream {
                flow_lps,
                salt_mg_l: (feed.flow_lps * feed.salt_mg_l - product_lps * product_salt_mg_l) / flow_lps,
                pressure_kpa: feed.pressure_kpa - along(self.loss_kpa),
            },
        }
    }
}
