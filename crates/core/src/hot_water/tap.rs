//! Warm draws at the taps: what leaves the heater for them, what stands in the pipe before it comes, and what is too cool.
//!
//! Taps are turned to hot until the water is as warm as wanted. All is constant while one layer leaves the pipe and one the
//! tank, so a step is done layer by layer. See `docs/physics.md`.

use serde::{Deserialize, Serialize};

use super::{HeaterPlace, HotPipe};
use crate::draw::{Draw, DrawKind};
use crate::heater::layers::{Layer, Layers};
use crate::heater::{Conditions, HeaterState, HeaterStep, WATER_J_L_K};
use crate::moist_air::MoistAir;
use crate::time::Time;

/// Water so much cooler than wanted is lukewarm. Our choice: less is not complained of.
pub const LUKEWARM_K: f64 = 2.0;

/// A draw by volume that is wanted hotter than this is an appliance's, which heats what lacks: no person fills a bath so hot.
pub const HOTTEST_FELT_C: f64 = 45.0;

/// Whether a person feels a draw: who stands under it, or fills something no hotter than a person likes it.
#[must_use]
pub fn is_felt(draw: &Draw) -> bool {
    let warmth = draw.warmth;
    let felt = |wanted_c| draw.kind == DrawKind::Timed || wanted_c <= HOTTEST_FELT_C;
    !warmth.is_by_appliance() && warmth.temp_c().is_some_and(felt)
}

/// Hotter water scalds within minutes: at 49 °C in five (published burn times, from memory).
pub const SCALDS_FROM_C: f64 = 49.0;

/// What a loop that is kept hot cools on its way round; its flow follows. Common practice, no source.
const LOOP_DROP_K: f64 = 5.0;

/// Less hot water than this is none: what rounding makes of a draw that is wanted as warm as the cold water.
const LEAST_HOT_L: f64 = 1e-9;

/// At most this part of the tank leaves it before its outlet is looked at again.
const DRAWN_PART: f64 = 1.0 / 64.0;

/// A draw of warm water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WarmDraw {
    /// What comes, hot and cold together.
    pub flow_lps: f64,
    /// How warm it is wanted.
    pub wanted_c: f64,
    /// Whether a person feels it.
    pub felt: bool,
}

/// What changes in a heater and the pipe behind it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlaceState {
    /// The heater.
    pub heater: HeaterState,
    /// Water in the pipe, from the heater to the taps.
    pub pipe: Option<Layers>,
}

/// What a heater and its pipe meet over a step of 60 s or less, in which it all holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaceConditions {
    /// When it starts,
    pub time: Time,
    /// and how long it is.
    pub seconds: f64,
    /// The cold water.
    pub cold_c: f64,
    /// Whether there is power.
    pub power: bool,
    /// What the sun leaves over the rest of the house; see [`PowerHour::surplus_w`](crate::power::PowerHour::surplus_w).
    pub surplus_w: f64,
    /// Air of the room.
    pub air: MoistAir,
    /// Air that a compressor takes in.
    pub intake: MoistAir,
}

/// What happened over a step.
///
/// The tank's water gains `heater.heat_j - heater.loss_j - heater.flue_j - taken_j - circulated_j`, that of the pipe
/// `taken_j + circulated_j - at_taps_j - pipe_loss_j`, all over the cold water of the step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PlaceStep {
    /// What the heater did; the draw is not in it.
    pub heater: HeaterStep,
    /// Hot water that left the tank for the taps,
    pub taken_l: f64,
    /// and its heat over the cold water.
    pub taken_j: f64,
    /// Heat that reached the taps, over the cold water.
    pub at_taps_j: f64,
    /// Heat lost from the pipe.
    pub pipe_loss_j: f64,
    /// Heat that a loop took from the tank,
    pub circulated_j: f64,
    /// and the electricity of its pump.
    pub loop_pump_j: f64,
    /// Seconds in which some tap was lukewarm though the pipe was hot,
    pub lukewarm_s: f64,
    /// and the coolest of it; infinite without.
    pub coolest_c: f64,
    /// Water that ran off while somebody waited for the pipe to get hot.
    pub waited_l: f64,
    /// Hot water over [`SCALDS_FROM_C`] that came to a tap,
    pub scalding_l: f64,
    /// and the hottest that came.
    pub hottest_c: f64,
}

impl PlaceStep {
    /// Notes how people find the water.
    fn feel(&mut self, wanted: impl Iterator<Item = WarmDraw>, (hot_c, entering_c): (f64, f64), seconds: f64) {
        let mut is_lukewarm = false;
        for draw in wanted.filter(|it| it.flow_lps > 0.0 && it.felt) {
            let least_c = draw.wanted_c - LUKEWARM_K;
            if hot_c >= least_c {
                continue;
            }
            if entering_c >= least_c {
                self.waited_l += draw.flow_lps * seconds;
            } else {
                is_lukewarm = true;
                self.coolest_c = self.coolest_c.min(hot_c);
            }
        }
        if is_lukewarm {
            self.lukewarm_s += seconds;
        }
    }
}

impl PlaceState {
    /// Water of one temperature in tank and pipe, all off.
    #[must_use]
    pub fn at_start(place: &HeaterPlace) -> Self {
        let pipe = place.pipe.as_ref().filter(|pipe| pipe.volume_l > 0.0);
        Self {
            heater: HeaterState::at(&place.heater, place.start_c),
            pipe: pipe.map(|pipe| Layers::uniform(pipe.volume_l, place.tempered_c(place.start_c))),
        }
    }

    /// Takes hot water off the tap's end of the pipe while as much comes in from the heater.
    fn move_on(&mut self, pipe: Option<&HotPipe>, entering_c: f64, litres: f64) {
        if let (Some(water), Some(pipe)) = (&mut self.pipe, pipe) {
            water.pass(Layer { volume_l: litres, temp_c: entering_c }, pipe.volume_l, |_| ());
        }
    }

    /// The water that comes next, and how much of it there is.
    fn next(&self, entering_c: f64) -> Layer {
        self.pipe.as_ref().map_or(Layer { volume_l: f64::INFINITY, temp_c: entering_c }, Layers::top)
    }
}

impl HeaterPlace {
    /// Lets a step pass: taps draw, a loop goes round, the heater heats, tank and pipe cool.
    pub fn step(
        &self,
        state: &mut PlaceState,
        at: &PlaceConditions,
        wanted: &(impl Iterator<Item = WarmDraw> + Clone),
    ) -> PlaceStep {
        let mut told = PlaceStep { coolest_c: f64::INFINITY, ..PlaceStep::default() };
        if wanted.clone().next().is_some() {
            self.serve(state, at, wanted, &mut told);
        }
        if let Some(pipe) = &self.pipe
            && pipe.is_kept_hot(at.time)
            && at.power
        {
            self.circulate(pipe, state, at, &mut told);
        }
        let (set_c, mode) = self.settings.at(at.time, at.surplus_w);
        let &PlaceConditions { seconds, cold_c: inlet_c, power, air, intake, .. } = at;
        let heater_at = Conditions { seconds, litres: 0.0, inlet_c, set_c, mode, power, air, intake };
        told.heater = self.heater.step(&mut state.heater, &heater_at, |_| ());
        if let (Some(pipe), Some(water)) = (&self.pipe, &mut state.pipe) {
            told.pipe_loss_j = WATER_J_L_K * water.cool(pipe.lost(seconds), air.temp_c, pipe.volume_l);
        }
        told
    }

    /// What a tempering valve makes of hot water.
    fn tempered_c(&self, hot_c: f64) -> f64 {
        self.tempering_c.map_or(hot_c, |most_c| hot_c.min(most_c))
    }

    fn serve(
        &self,
        state: &mut PlaceState,
        at: &PlaceConditions,
        wanted: &(impl Iterator<Item = WarmDraw> + Clone),
        told: &mut PlaceStep,
    ) {
        let cold_c = at.cold_c;
        let mut left_s = at.seconds;
        while left_s > 0.0 {
            let outlet = state.heater.layers.top();
            // Mixing makes nothing colder than the cold water.
            let entering_c = self.tempered_c(outlet.temp_c).max(cold_c.min(outlet.temp_c));
            let next = state.next(entering_c);
            let hot_lps: f64 = wanted.clone().map(|it| it.flow_lps * hot_share(it.wanted_c, next.temp_c, cold_c)).sum();
            if hot_lps * left_s < LEAST_HOT_L {
                return;
            }
            // A tank colder than the cold water gives all of what its pipe takes.
            let from_tank =
                if entering_c >= outlet.temp_c { 1.0 } else { hot_share(entering_c, outlet.temp_c, cold_c) };
            let most_l = outlet.volume_l.min(DRAWN_PART * self.heater.tank.volume_l);
            let seconds = left_s.min(next.volume_l / hot_lps).min(most_l / (hot_lps * from_tank));
            let (litres, taken_l) = (hot_lps * seconds, hot_lps * from_tank * seconds);
            let mut taken_j = 0.0;
            self.heater.tank.draw(&mut state.heater.layers, taken_l, cold_c, |piece| {
                taken_j += WATER_J_L_K * piece.volume_l * (piece.temp_c - cold_c);
            });
            // A full list of layers mixes some to make room: what left is not quite what stood at the outlet.
            let entering_c = cold_c + taken_j / (WATER_J_L_K * litres);
            let at_tap_c = if state.pipe.is_some() { next.temp_c } else { entering_c };
            told.taken_l += taken_l;
            told.taken_j += taken_j;
            told.at_taps_j += WATER_J_L_K * litres * (at_tap_c - cold_c);
            told.hottest_c = told.hottest_c.max(at_tap_c);
            if at_tap_c > SCALDS_FROM_C {
                told.scalding_l += litres;
            }
            told.feel(wanted.clone(), (at_tap_c, entering_c), seconds);
            state.move_on(self.pipe.as_ref(), entering_c, litres);
            left_s -= seconds;
        }
    }

    /// Sends water round a loop: hot from the tank, and back into the bottom of the tank.
    fn circulate(&self, pipe: &HotPipe, state: &mut PlaceState, at: &PlaceConditions, told: &mut PlaceStep) {
        told.loop_pump_j = pipe.pump_w * at.seconds;
        let entering_c = self.tempered_c(state.heater.outlet_c());
        let loses_w = pipe.loss_w_k * (entering_c - at.air.temp_c).max(0.0);
        let mut left_l = loses_w / (WATER_J_L_K * LOOP_DROP_K) * at.seconds;
        while left_l >= LEAST_HOT_L {
            let Some(water) = &state.pipe else { return };
            let outlet = state.heater.layers.top();
            let entering_c = self.tempered_c(outlet.temp_c);
            // The bottom of the tank stirs what comes back: of so much the mean counts, and the part of it that goes through the tank. A
            // loop hotter than what comes, as after a set-back, goes round on its own.
            let coming = |litres: f64| {
                let back_c = water.top_mean_c(litres);
                let is_warmed = entering_c > back_c;
                (litres, back_c, if is_warmed { hot_share(entering_c, outlet.temp_c, back_c) } else { 0.0 })
            };
            let (mut litres, mut back_c, mut from_tank) = coming(left_l.min(pipe.volume_l));
            let most_l = outlet.volume_l.min(DRAWN_PART * self.heater.tank.volume_l) / from_tank;
            if most_l < litres {
                (litres, back_c, from_tank) = coming(most_l);
            }
            if from_tank <= 0.0 {
                return;
            }
            let mut taken_j = 0.0;
            self.heater.tank.draw(&mut state.heater.layers, litres * from_tank, back_c, |piece| {
                taken_j += WATER_J_L_K * piece.volume_l * (piece.temp_c - back_c);
            });
            told.circulated_j += taken_j;
            state.move_on(Some(pipe), back_c + taken_j / (WATER_J_L_K * litres), litres);
            left_l -= litres;
        }
    }
}

/// The hot part of a mixture that is as warm as wanted; all of it where the hot water is no warmer than that.
fn hot_share(wanted_c: f64, hot_c: f64, cold_c: f64) -> f64 {
    if wanted_c <= cold_c {
        0.0
    } else if hot_c <= wanted_c {
        1.0
    } else {
        (wanted_c - cold_c) / (hot_c - cold_c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::heater::control::{Controls, Mode};
    use crate::heater::tank::Tank;
    use crate::heater::{Elements, Heater, Source};
    use crate::hot_water::Settings;
    use crate::time::Span;

    const COLD_C: f64 = 10.0;

    /// A plain tank, off, that loses nothing.
    fn place(start_c: f64) -> HeaterPlace {
        let tank = Tank { volume_l: 200.0, height_m: 1.2, loss_w_k: 0.0, inlet_mixing: 0.0, diffusivity_m2_s: 0.0 };
        HeaterPlace {
            name: "heater".to_owned(),
            outlet: 0,
            heater: Heater { tank, source: Source::Electric(Elements::TYPICAL), controls: Controls::TYPICAL },
            settings: Settings { set_c: start_c, mode: Mode::Off, windows: Vec::new(), sun: None },
            tempering_c: None,
            pipe: None,
            room: 0,
            start_c,
        }
    }

    fn pipe(volume_l: f64, loss_w_k: f64) -> HotPipe {
        HotPipe { volume_l, loss_w_k, kept_hot: Vec::new(), pump_w: 0.0 }
    }

    fn at(minute: u32) -> PlaceConditions {
        let time = Time::from_s(60.0 * f64::from(minute));
        let air = MoistAir::at(20.0, 0.5, 101.325);
        PlaceConditions { time, seconds: 60.0, cold_c: COLD_C, power: true, surplus_w: 0.0, air, intake: air }
    }

    fn shower(place: &HeaterPlace, state: &mut PlaceState, minute: u32, wanted_c: f64) -> PlaceStep {
        place.step(
            state,
            &at(minute),
            &[WarmDraw { flow_lps: 0.1, wanted_c, felt: wanted_c <= HOTTEST_FELT_C }].into_iter(),
        )
    }

    fn energy_j(layers: &Layers) -> f64 {
        layers.as_slice().iter().map(|layer| WATER_J_L_K * layer.volume_l * (layer.temp_c - COLD_C)).sum()
    }

    #[test]
    fn exact_share_of_hot_water_by_hand() {
        // 40 °C out of 60 and 10 °C is six tenths of hot water.
        let place = place(60.0);
        let told = shower(&place, &mut PlaceState::at_start(&place), 0, 40.0);
        assert!((told.taken_l - 3.6).abs() < 1e-12 && (told.scalding_l - 3.6).abs() < 1e-12, "{told:?}");
        assert!((told.at_taps_j / (WATER_J_L_K * 6.0 * 30.0) - 1.0).abs() < 1e-12);
        assert_eq!((told.lukewarm_s, told.waited_l), (0.0, 0.0));
    }

    #[test]
    fn exact_tempered_water_takes_the_same_heat_and_scalds_nobody() {
        let place = HeaterPlace { tempering_c: Some(48.0), ..place(60.0) };
        let told = shower(&place, &mut PlaceState::at_start(&place), 0, 40.0);
        assert!((told.taken_l - 3.6).abs() < 1e-12 && told.scalding_l == 0.0, "{told:?}");
    }

    #[test]
    fn exact_cold_pipe_is_waited_for() {
        // Two litres of the room's 20 °C stand in the way of a tap that is all turned to hot: 20 s, then the mixture.
        let place = HeaterPlace { pipe: Some(pipe(2.0, 0.0)), ..place(60.0) };
        let mut state = PlaceState::at_start(&place);
        state.pipe = Some(Layers::uniform(2.0, 20.0));
        let told = shower(&place, &mut state, 0, 40.0);
        assert!((told.waited_l - 2.0).abs() < 1e-9 && told.lukewarm_s == 0.0, "{told:?}");
        assert!((told.taken_l - 2.0 - 0.6 * 4.0).abs() < 1e-9, "{told:?}");
        assert!(shower(&place, &mut state, 1, 40.0).waited_l < 1e-9);
    }

    #[test]
    fn exact_tank_too_cool_is_lukewarm_to_people_alone() {
        let place = place(36.0);
        let mut state = PlaceState::at_start(&place);
        let told = shower(&place, &mut state, 0, 40.0);
        assert_eq!((told.lukewarm_s, told.coolest_c, told.waited_l), (60.0, 36.0, 0.0));
        assert!((told.taken_l - 6.0).abs() < 1e-12, "all hot");
        assert_eq!(shower(&place, &mut state, 1, 37.9).lukewarm_s, 0.0);
        assert_eq!(shower(&place, &mut state, 2, 60.0).lukewarm_s, 0.0);
    }

    #[test]
    fn exact_pipe_cools_as_water_at_rest_does() {
        let place = HeaterPlace { pipe: Some(pipe(3.0, 8.0)), ..place(60.0) };
        let mut state = PlaceState::at_start(&place);
        for minute in 0..30 {
            place.step(&mut state, &at(minute), &core::iter::empty());
        }
        let expected_c = 20.0 + 40.0 * libm::exp(-8.0 * 1_800.0 / (WATER_J_L_K * 3.0));
        assert!((state.pipe.unwrap().top().temp_c - expected_c).abs() < 1e-9);
    }

    #[test]
    fn exact_draw_as_warm_as_the_cold_water_takes_nothing() {
        // Rounding makes a share of some 1e-17 of it: a layer of that in a pipe ends up with no volume, or less.
        let place = HeaterPlace { pipe: Some(pipe(3.0, 5.0)), ..place(60.0) };
        let mut state = PlaceState::at_start(&place);
        for minute in 0..600_u32 {
            let is_shower = minute % 10 == 0;
            let wanted_c = if is_shower { 40.0 } else { COLD_C + f64::from(minute % 7) * 1e-15 * COLD_C };
            let told = shower(&place, &mut state, minute, wanted_c);
            assert!(is_shower || told.taken_l == 0.0, "{told:?}");
            let layers = state.pipe.as_ref().unwrap();
            assert!(layers.as_slice().iter().all(|layer| layer.volume_l > 1e-9), "{layers:?}");
        }
    }

    #[test]
    fn exact_tank_colder_than_the_cold_water_is_drawn_from() {
        let place = place(5.0);
        let mut state = PlaceState::at_start(&place);
        let told = shower(&place, &mut state, 0, 40.0);
        assert!((told.taken_l - 6.0).abs() < 1e-9 && told.at_taps_j < 0.0, "{told:?}");
    }

    #[test]
    fn loop_kept_hot_cools_by_five_kelvin_and_nobody_waits() {
        let day = (Span::ZERO, Span::DAY);
        let kept = HotPipe { kept_hot: vec![day], pump_w: 30.0, ..pipe(4.0, 4.0) };
        let mut place = HeaterPlace { pipe: Some(kept), ..place(60.0) };
        place.heater.tank.volume_l = 20_000.0;
        let mut state = PlaceState::at_start(&place);
        let mut last = PlaceStep::default();
        for minute in 0..120 {
            last = place.step(&mut state, &at(minute), &core::iter::empty());
        }
        // Steady: it gives what it loses, a little under 4 W/K times 40 K as its end is cooler than its start.
        let gives_w = last.circulated_j / 60.0;
        assert!((gives_w * 60.0 / last.pipe_loss_j - 1.0).abs() < 0.02, "{last:?}");
        assert!((140.0..160.0).contains(&gives_w), "{gives_w}");
        let end_c = state.pipe.as_ref().unwrap().top().temp_c;
        assert!((54.0..56.5).contains(&end_c), "{end_c}");
        assert_eq!(last.loop_pump_j, 1_800.0);
        assert_eq!(shower(&place, &mut state, 120, 40.0).waited_l, 0.0);
    }

    #[test]
    fn exact_heat_is_kept_whatever_is_drawn() {
        let kept = HotPipe { kept_hot: vec![(Span::ZERO, Span::HOUR)], ..pipe(5.0, 3.0) };
        let mut place = HeaterPlace { pipe: Some(kept), tempering_c: Some(52.0), ..place(58.0) };
        place.heater.tank.inlet_mixing = 0.2;
        place.heater.tank.loss_w_k = 2.0;
        place.settings.mode = Mode::Hybrid;
        let mut state = PlaceState::at_start(&place);
        for minute in 0..180_u32 {
            let before = (energy_j(&state.heater.layers), energy_j(state.pipe.as_ref().unwrap()));
            let flows = [0.0, 0.05, 0.13, 0.3];
            let draws = [(minute % 4, 41.0), (minute / 7 % 3, 24.0), (minute / 40 % 2, 60.0)];
            let wanted = draws.map(|(i, wanted_c)| WarmDraw { flow_lps: flows[i as usize], wanted_c, felt: true });
            let told = place.step(&mut state, &at(minute), &wanted.into_iter());
            let heater = told.heater;
            let tank_j = heater.heat_j - heater.loss_j - heater.flue_j - told.taken_j - told.circulated_j;
            let pipe_j = told.taken_j + told.circulated_j - told.at_taps_j - told.pipe_loss_j;
            assert!((energy_j(&state.heater.layers) - before.0 - tank_j).abs() < 1e-12 * before.0, "{minute} {told:?}");
            assert!((energy_j(state.pipe.as_ref().unwrap()) - before.1 - pipe_j).abs() < 1e-12 * before.0, "{minute}");
        }
    }
}
