//! From the plate of a heater to its constants: the US federal test of water heaters, run on the model.
//!
//! 10 CFR 430, Subpart B, Appendix E: the first-hour rating (5.3.3) and the 24-hour simulated-use test (5.4.2, 6.3). Its
//! conditions and procedure were read there; its tables of draws and its equations are from memory. See
//! `docs/physics.md`.

use thiserror::Error;

use super::control::Mode;
use super::layers::Layer;
use super::tank::Tank;
use super::usage::{GALLON_L, Usage};
use super::{Conditions, Heater, HeaterState, HeaterStep, Source, WATER_J_L_K};
use crate::moist_air::MoistAir;
use crate::root::root;

/// Water that comes in, 58 °F; water wanted, 125 °F; air, 67.5 °F and half of saturation (2.2 to 2.4).
pub const INLET_C: f64 = 26.0 / 1.8;
/// Set point.
pub const SET_C: f64 = 93.0 / 1.8;
const AIR_C: f64 = 35.5 / 1.8;
const AIR_HUMIDITY: f64 = 0.5;
const SEA_LEVEL_KPA: f64 = 101.325;

const MINUTE_S: f64 = 60.0;
const HOUR_S: f64 = 3_600.0;
const DAY_S: f64 = 24.0 * HOUR_S;

/// First-hour rating: draw at 3 gal/min, ended when the outlet is 15 °F below that draw's warmest; looked at every 5 s.
const FIRST_HOUR_GAL_MIN: f64 = 3.0;
const DRAW_ENDS_K: f64 = 15.0 / 1.8;
const LOOK_S: f64 = 5.0;
/// A draw that had to be started at the end of the hour lasts so long at least.
const LAST_DRAW_S: f64 = 30.0;
/// Longest draw that is waited for: a heater that heats faster than 3 gal/min has no end.
const LONGEST_DRAW_S: f64 = 4.0 * HOUR_S;

/// Longest time that a cold tank is given to warm up.
const LONGEST_WARM_UP_S: f64 = 2.0 * DAY_S;

/// Recovered means the lower sensor this near to the set point, and nothing on.
const RECOVERED_K: f64 = 1.0;

/// Water and air that a heater meets on the stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TestConditions {
    /// Water that comes in.
    pub inlet_c: f64,
    /// The air around it, which a compressor takes in.
    pub air: MoistAir,
}

impl TestConditions {
    /// Those that plates are given for.
    #[must_use]
    pub fn federal() -> Self {
        Self { inlet_c: INLET_C, air: MoistAir::at(AIR_C, AIR_HUMIDITY, SEA_LEVEL_KPA) }
    }
}

/// What a 24-hour test found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayTest {
    /// Uniform energy factor: heat of the day's draws over their nominal 67 °F, over energy used, corrected for what
    /// the tank holds more or less at the end and for water warmer or colder than nominal.
    pub uef: f64,
    /// Heat into the water over energy used, to the end of the first recovery.
    pub recovery_efficiency: f64,
    /// Energy used, as it was.
    pub used_j: f64,
    /// Heat delivered, as it was.
    pub delivered_j: f64,
    /// Energy of a year of such days.
    pub year_kwh: f64,
}

/// Why a plate's figure is met by no heater of this kind.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum RatingError {
    /// The uniform energy factor is out of reach.
    #[error("a uniform energy factor of {wanted} is out of reach: this heater can have {least:.2} to {most:.2}")]
    EnergyFactor {
        /// What was asked for.
        wanted: f64,
        /// The least that any constant gives,
        least: f64,
        /// and the most.
        most: f64,
    },
    /// The first-hour rating is out of reach.
    #[error(
        "a first-hour rating of {wanted:.0} L is out of reach: inlets give {least:.0} to {most:.0} L, by whole draws"
    )]
    FirstHour {
        /// What was asked for, in litres.
        wanted: f64,
        /// The least that any inlet gives,
        least: f64,
        /// and the most.
        most: f64,
    },
}

/// A heater on the test stand.
struct Stand<'h> {
    heater: &'h Heater,
    mode: Mode,
    meets: TestConditions,
    state: HeaterState,
    power: bool,
    used_j: f64,
    delivered_j: f64,
}

impl<'h> Stand<'h> {
    /// Warmed up from cold by its own source, so that water which that does not reach is cold.
    fn new(heater: &'h Heater, mode: Mode, meets: TestConditions) -> Self {
        let state = HeaterState::at(heater, meets.inlet_c);
        let mut stand = Self { heater, mode, meets, state, power: true, used_j: 0.0, delivered_j: 0.0 };
        let mut left_s = LONGEST_WARM_UP_S;
        stand.step(MINUTE_S, 0.0, |_| ());
        while left_s > 0.0 && !stand.recovered() {
            stand.step(MINUTE_S, 0.0, |_| ());
            left_s -= MINUTE_S;
        }
        stand
    }

    /// Whether nothing heats, for the water is warm.
    fn recovered(&self) -> bool {
        let lower_c = self.heater.tank.temp_at_c(&self.state.layers, self.heater.controls.lower_sensor);
        !self.heats() && lower_c > SET_C - RECOVERED_K
    }

    fn step(&mut self, seconds: f64, litres: f64, each: impl FnMut(Layer)) -> HeaterStep {
        let TestConditions { inlet_c, air } = self.meets;
        let at =
            Conditions { seconds, litres, inlet_c, set_c: SET_C, mode: self.mode, power: self.power, air, intake: air };
        let told = self.heater.step(&mut self.state, &at, each);
        self.used_j += told.electric_j() + told.fuel_j;
        self.delivered_j += told.delivered_j;
        told
    }

    /// Whether anything heats.
    fn heats(&self) -> bool {
        let on = self.state.switches;
        on.compressor || on.upper || on.lower
    }

    /// Mean temperature of its water.
    fn mean_c(&self) -> f64 {
        self.heater.tank.mean_c(&self.state.layers, 0.0, 1.0)
    }
}

/// The 24-hour simulated-use test.
#[must_use]
pub fn day_test(heater: &Heater, mode: Mode, usage: Usage) -> DayTest {
    day_test_in(heater, mode, usage, TestConditions::federal())
}

/// The 24-hour simulated-use test in other water and air, as programmes for cold regions ask for it; nominal heat is that
/// from its own inlet to the set point.
#[must_use]
pub fn day_test_in(heater: &Heater, mode: Mode, usage: Usage, meets: TestConditions) -> DayTest {
    let mut stand = Stand::new(heater, mode, meets);
    stand.power = false;
    for _ in 0..60 {
        stand.step(MINUTE_S, 0.0, |_| ());
    }
    (stand.power, stand.used_j, stand.delivered_j) = (true, 0.0, 0.0);
    let held_j_k = WATER_J_L_K * heater.tank.volume_l;
    let start_c = stand.mean_c();
    // Heat delivered and stored, over energy used: to the end of the first recovery.
    let efficiency = |stand: &Stand<'_>| (stand.delivered_j + held_j_k * (stand.mean_c() - start_c)) / stand.used_j;
    let (mut recovery, mut heated, mut time_s) = (None, false, 0.0);
    let mut run = |stand: &mut Stand<'_>, time_s: &mut f64, until_s: f64, flow_lps: f64| {
        while *time_s < until_s {
            let seconds = MINUTE_S.min(until_s - *time_s);
            stand.step(seconds, flow_lps * seconds, |_| ());
            *time_s += seconds;
            heated |= stand.heats();
            if recovery.is_none() && heated && stand.recovered() {
                recovery = Some(efficiency(stand));
            }
        }
    };
    for (minute, gallons, gal_min) in usage.draws() {
        run(&mut stand, &mut time_s, minute * MINUTE_S, 0.0);
        let end_s = time_s + gallons / gal_min * MINUTE_S;
        run(&mut stand, &mut time_s, end_s, gal_min * GALLON_L / MINUTE_S);
    }
    run(&mut stand, &mut time_s, DAY_S - HOUR_S, 0.0);
    // The last hour has no power.
    stand.power = false;
    run(&mut stand, &mut time_s, DAY_S, 0.0);
    let recovery_efficiency = recovery.unwrap_or_else(|| efficiency(&stand));
    let nominal_j = WATER_J_L_K * usage.day_l() * (SET_C - meets.inlet_c);
    let stored_j = held_j_k * (stand.mean_c() - start_c);
    let corrected_j = stand.used_j + (nominal_j - stand.delivered_j - stored_j) / recovery_efficiency;
    let uef = nominal_j / corrected_j;
    DayTest {
        uef,
        recovery_efficiency,
        used_j: stand.used_j,
        delivered_j: stand.delivered_j,
        year_kwh: 365.0 * nominal_j / uef / 3.6e6,
    }
}

/// A draw of the first-hour rating.
#[derive(Clone, Copy, Default)]
struct Drawn {
    litres: f64,
    /// Sum of litres times temperature.
    warmth: f64,
    /// Temperature at its end.
    end_c: f64,
}

impl Drawn {
    fn mean_c(&self) -> f64 {
        self.warmth / self.litres
    }
}

/// The first-hour rating, in litres.
///
/// Draws from a full tank; the next begins when the topmost heat source has done its part. A draw under way at the end of
/// the hour goes on to its end with the power off; else one is started, which counts by how warm it is.
#[must_use]
pub fn first_hour_l(heater: &Heater, mode: Mode) -> f64 {
    let mut stand = Stand::new(heater, mode, TestConditions::federal());
    let mut time_s = 0.0;
    let mut last = draw_down(&mut stand, &mut time_s, None);
    let mut sum_l = last.litres;
    while time_s < HOUR_S {
        if waits_for_heat(&mut stand, &mut time_s) {
            last = draw_down(&mut stand, &mut time_s, None);
            sum_l += last.litres;
        } else {
            let imposed = draw_down(&mut stand, &mut time_s, Some(last.end_c));
            // Water that is no warmer than where the last draw ended does not count.
            let share = (imposed.mean_c() - last.end_c) / (last.mean_c() - last.end_c);
            sum_l += imposed.litres * share.max(0.0);
        }
    }
    sum_l
}

/// Lets it heat until the upper element, or what heats without one, has done its part; false when the hour is over first.
fn waits_for_heat(stand: &mut Stand<'_>, time_s: &mut f64) -> bool {
    let mut was = stand.state.switches;
    while *time_s < HOUR_S {
        stand.step(LOOK_S, 0.0, |_| ());
        *time_s += LOOK_S;
        let now = stand.state.switches;
        let lower_done = (was.lower && !now.lower) || (was.compressor && !now.compressor);
        if !now.upper && (was.upper || lower_done) {
            return *time_s < HOUR_S;
        }
        was = now;
    }
    false
}

/// Draws until the outlet is 15 °F below its warmest, or for half a minute and until it is below `end_c` where that is given.
fn draw_down(stand: &mut Stand<'_>, time_s: &mut f64, end_c: Option<f64>) -> Drawn {
    let litres = FIRST_HOUR_GAL_MIN * GALLON_L / MINUTE_S * LOOK_S;
    let (mut drawn, mut warmest_c, started_s) = (Drawn::default(), f64::NEG_INFINITY, *time_s);
    loop {
        stand.power = *time_s < HOUR_S;
        let mut warmth = 0.0;
        stand.step(LOOK_S, litres, |piece| warmth += piece.volume_l * piece.temp_c);
        *time_s += LOOK_S;
        drawn.end_c = warmth / litres;
        drawn.litres += litres;
        drawn.warmth += warmth;
        warmest_c = warmest_c.max(drawn.end_c);
        let gone_s = *time_s - started_s;
        let done = match end_c {
            Some(end_c) => drawn.end_c < end_c && gone_s >= LAST_DRAW_S,
            None => drawn.end_c < warmest_c - DRAW_ENDS_K,
        };
        if done || gone_s >= LONGEST_DRAW_S {
            return drawn;
        }
    }
}

/// Litres of a recovered tank without power until its outlet is so much colder than at first.
#[must_use]
pub fn usable_l(heater: &Heater, mode: Mode, drop_k: f64) -> f64 {
    let mut layers = Stand::new(heater, mode, TestConditions::federal()).state.layers;
    let end_c = layers.top().temp_c - drop_k;
    let (mut sum_l, mut warm) = (0.0, true);
    while warm && sum_l < heater.tank.volume_l {
        heater.tank.draw(&mut layers, 1e-3 * heater.tank.volume_l, INLET_C, |piece| {
            warm = warm && piece.temp_c > end_c;
            sum_l += if warm { piece.volume_l } else { 0.0 };
        });
    }
    sum_l
}

/// The heater whose 24-hour test gives a uniform energy factor, by the one constant that plates do not tell: a heat
/// pump's share of Carnot's coefficient, the loss of an electric tank, the loss up the flue of a burner.
///
/// # Errors
/// When no such constant gives it.
pub fn with_energy_factor(heater: &Heater, mode: Mode, usage: Usage, uef: f64) -> Result<Heater, RatingError> {
    const CARNOT_SHARES: (f64, f64) = (0.15, 0.95);
    const TANK_LOSSES_W_K: (f64, f64) = (0.1, 20.0);
    const FLUE_LOSSES_W_K: (f64, f64) = (0.0, 30.0);
    let with = |value: f64| {
        let mut other = *heater;
        match &mut other.source {
            Source::Electric(_) => other.tank.loss_w_k = value,
            Source::HeatPump(pump, _) => pump.carnot_share = value,
            Source::Fuel(burner) => burner.flue_loss_w_k = value,
        }
        other
    };
    let found = |value: f64| day_test(&with(value), mode, usage).uef;
    let (low, high) = match heater.source {
        Source::Electric(_) => TANK_LOSSES_W_K,
        Source::HeatPump(..) => CARNOT_SHARES,
        Source::Fuel(_) => FLUE_LOSSES_W_K,
    };
    let (one, other) = (found(low), found(high));
    let (least, most) = (one.min(other), one.max(other));
    if !(least..=most).contains(&uef) {
        return Err(RatingError::EnergyFactor { wanted: uef, least, most });
    }
    Ok(with(root(|value| found(value) - uef, low, high)))
}

/// The heater whose test gives a first-hour rating within 1 %, by how little its inlet mixes.
///
/// # Errors
/// When no inlet gives it: for the heater is too large or too small, or for a whole draw more would be too much.
pub fn with_first_hour(heater: &Heater, mode: Mode, litres: f64) -> Result<Heater, RatingError> {
    const LOOKS: u32 = 24;
    const MOST_MIXING: f64 = 0.96;
    const WITHIN: f64 = 0.01;
    let with = |inlet_mixing: f64| Heater { tank: Tank { inlet_mixing, ..heater.tank }, ..*heater };
    let over_l = |inlet_mixing: f64| first_hour_l(&with(inlet_mixing), mode) - litres;
    // The rating does not fall steadily, and jumps where a draw more or less fits into the hour.
    let (mut low, mut low_l) = (0.0, over_l(0.0));
    let (mut least_l, mut most_l) = (low_l, low_l);
    for look in 1..=LOOKS {
        let high = MOST_MIXING * f64::from(look) / f64::from(LOOKS);
        let high_l = over_l(high);
        if (low_l >= 0.0) != (high_l >= 0.0) {
            let mixing = root(over_l, low, high);
            if over_l(mixing).abs() <= WITHIN * litres {
                return Ok(with(mixing));
            }
        }
        (low, low_l) = (high, high_l);
        (least_l, most_l) = (least_l.min(high_l), most_l.max(high_l));
    }
    Err(RatingError::FirstHour { wanted: litres, least: litres + least_l, most: litres + most_l })
}
