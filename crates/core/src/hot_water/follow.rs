//! All heaters and rooms of a plant over a step, and what they add up to.

#[cfg(test)]
mod tests;

use serde::{Deserialize, Serialize};

use super::tap::{PlaceConditions, PlaceState, PlaceStep, WarmDraw};
use super::{HeaterPlace, HotWater, RoomPlace};
use crate::heater::control::{Mode, Switches};
use crate::heater::layers::Layers;
use crate::heater::{Source, WATER_J_L_K};
use crate::moist_air::MoistAir;
use crate::observe::{Event, EventKind, Observer, Part};
use crate::room::{Room, RoomGains, RoomState};
use crate::time::{Span, Time};

/// Legionella grows in water between these, and is killed in an outlet that is kept at the third or over (published ranges,
/// from memory).
pub const GROWS_FROM_C: f64 = 25.0;
/// The warmer end of where it grows.
pub const GROWS_TO_C: f64 = 45.0;
/// What the outlet of a tank is to be kept at.
pub const OUTLET_LEAST_C: f64 = 60.0;

/// No more of a tank counts as the zone of its inlet, however much that stirs.
const MOST_INLET_ZONE: f64 = 0.2;

/// Less in the range of growth than what stands in a tank for an hour or two is the step between hot and cold as it passes by.
/// Our own choice.
pub const GROWTH_TOLD_L_S: f64 = 100.0 * 3_600.0;
/// A tank whose outlet comes to [`OUTLET_LEAST_C`] once a day is kept hot: thermostats have their band. Our own choice.
pub const COOL_TOLD_S: f64 = 24.0 * 3_600.0;

/// A time of lukewarm water is over once it has been for this long: one shower after another is one. Our own choice.
pub const SPELL_GAP: Span = Span::from_ns(5 * Span::MINUTE.ns());

/// What changes in the hot water of a plant.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct HotState {
    /// By heater.
    pub heaters: Vec<HeaterRun>,
    /// By room.
    pub rooms: Vec<RoomRun>,
}

/// A heater in a run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeaterRun {
    /// Its water and switches.
    pub place: PlaceState,
    /// Its heat at the start, over 0 °C, in tank and pipe.
    start_j: f64,
    /// Electric power over the last step.
    pub power_w: f64,
    /// What it did so far.
    pub totals: HeaterTotals,
}

/// A room in a run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoomRun {
    /// Its air.
    pub state: RoomState,
    /// What it did so far.
    pub totals: RoomTotals,
}

/// What a heater did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct HeaterTotals {
    /// Hot water that left the tank for taps.
    pub taken_l: f64,
    /// Heat that reached the taps, over the cold water of the moment.
    pub at_taps_j: f64,
    /// Heat put into the water.
    pub heat_j: f64,
    /// Heat lost by tank and flue,
    pub standby_j: f64,
    /// and by the pipe.
    pub pipe_loss_j: f64,
    /// Electricity of compressor and fan,
    pub compressor_j: f64,
    /// of elements,
    pub element_j: f64,
    /// and of controls and the pump of a loop.
    pub other_j: f64,
    /// Heat that the compressor put into the water.
    pub pumped_j: f64,
    /// Fuel burned.
    pub fuel_j: f64,
    /// Lowest temperature at its outlet.
    pub lowest_outlet_c: f64,
    /// Time in which the outlet was cooler than [`OUTLET_LEAST_C`],
    pub cool_outlet_s: f64,
    /// up to now without a pause,
    pub cool_s: f64,
    /// and the longest such time.
    pub longest_cool_s: f64,
    /// Litre-seconds between [`GROWS_FROM_C`] and [`GROWS_TO_C`] above the zone of the inlet.
    pub growth_l_s: f64,
    /// Time for which it has been heating, or should have been: from a call for heat until none is left; up to now,
    pub heating_s: f64,
    /// and the longest such time.
    pub longest_heating_s: f64,
    /// How often the compressor started,
    pub compressor_starts: u64,
    /// and an element or the burner.
    pub element_starts: u64,
    /// Time in which some of its water, in tank or pipe, was at 0 °C or under: it would have frozen.
    pub frozen_s: f64,
    /// Time in which a compressor waited for air that suits it.
    pub air_wait_s: f64,
    /// Time in which some tap was lukewarm,
    pub lukewarm_s: f64,
    /// how often it began,
    pub spells: u64,
    /// the spell that lasts; of no length where none does,
    pub spell: Spell,
    /// and the longest.
    pub longest: Spell,
    /// Water that ran off while somebody waited for the pipe to get hot.
    pub waited_l: f64,
    /// Hot water over [`SCALDS_FROM_C`](super::tap::SCALDS_FROM_C) that came to a tap.
    pub scalding_l: f64,
}

/// A time of lukewarm water.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Spell {
    /// In the step that begins here it began,
    pub start: Time,
    /// and in the one that ends here it was felt last.
    pub end: Time,
    /// How long the water ran lukewarm.
    pub seconds: f64,
    /// The coolest of it.
    pub coolest_c: f64,
}

/// What a room went through.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoomTotals {
    /// Its lowest temperature,
    pub lowest_c: f64,
    /// and the highest.
    pub highest_c: f64,
    /// Sensible heat that compressors took from it,
    pub sensible_j: f64,
    /// latent heat,
    pub latent_j: f64,
    /// and the water that ran off their coils.
    pub condensate_kg: f64,
}

/// What heaters and rooms meet over a step of 60 s or less, in which it all holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surroundings {
    /// When it starts,
    pub time: Time,
    /// and how long it is.
    pub seconds: f64,
    /// Whether there is power.
    pub power: bool,
    /// Whether compressors and elements have it too; a burner needs little, and has it with the pumps.
    pub electric_heat: bool,
    /// Whether one of them waits while another heats,
    pub one_motor: bool,
    /// What the sun leaves over the rest of the house; see [`PowerHour::surplus_w`](crate::power::PowerHour::surplus_w).
    pub surplus_w: f64,
    /// The air outdoors, where it is known.
    pub outdoors: Option<MoistAir>,
    /// Electricity of pumps and drives.
    pub pumps_w: f64,
    /// Water in the storage tank, where there is one.
    pub storage_c: Option<f64>,
}

impl HotState {
    /// The stated start.
    #[must_use]
    pub fn at_start(of: &HotWater) -> Self {
        let heaters = of.heaters.iter().map(|heater| {
            let place = PlaceState::at_start(heater);
            let totals = HeaterTotals { lowest_outlet_c: heater.start_c, ..HeaterTotals::default() };
            HeaterRun { start_j: heat_j(&place), place, power_w: 0.0, totals }
        });
        let rooms = of.rooms.iter().map(|room| {
            let (lowest_c, highest_c) = (room.start.temp_c, room.start.temp_c);
            let totals = RoomTotals { lowest_c, highest_c, sensible_j: 0.0, latent_j: 0.0, condensate_kg: 0.0 };
            RoomRun { state: room.start, totals }
        });
        Self { heaters: heaters.collect(), rooms: rooms.collect() }
    }

    /// Electricity of all heaters and the pumps of their loops so far.
    #[must_use]
    pub fn electric_j(&self) -> f64 {
        self.heaters.iter().map(|heater| heater.totals.electric_j()).sum()
    }
}

impl HeaterRun {
    /// Heat that came in less heat that went out and what the water now holds more: rounding alone.
    #[must_use]
    pub fn residual_j(&self) -> f64 {
        let HeaterTotals { heat_j: put_in_j, standby_j, pipe_loss_j, at_taps_j, .. } = self.totals;
        put_in_j - standby_j - pipe_loss_j - at_taps_j - self.gained_j()
    }

    /// Whether it can be one of a place.
    pub(crate) fn fits(&self, of: &HeaterPlace) -> bool {
        let full = |layers: &Layers, volume_l: f64| (layers.volume_l() / volume_l - 1.0).abs() < 1e-6;
        let pipe_l = of.pipe.as_ref().map(|pipe| pipe.volume_l).filter(|volume_l| *volume_l > 0.0);
        let pipe = match (&self.place.pipe, pipe_l) {
            (Some(layers), Some(volume_l)) => full(layers, volume_l),
            (kept, pipe_l) => kept.is_none() && pipe_l.is_none(),
        };
        pipe && full(&self.place.heater.layers, of.heater.tank.volume_l)
    }

    /// Heat that is stored now less that at the start of the run.
    #[must_use]
    pub fn gained_j(&self) -> f64 {
        heat_j(&self.place) - self.start_j
    }

    /// Heat stored over 0 °C, in tank and pipe.
    #[must_use]
    pub fn stored_j(&self) -> f64 {
        heat_j(&self.place)
    }
}

impl HotWater {
    /// Whether nothing of a plant's water is warm.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.heaters.is_empty()
    }

    /// Lets a step pass; `draws` gives what is wanted of a heater, and the cold water there.
    pub fn step<O, D>(
        &self,
        state: &mut HotState,
        at: &Surroundings,
        draws: impl Fn(&HeaterPlace) -> (D, f64),
        observer: &mut O,
    ) where
        O: Observer,
        D: Iterator<Item = WarmDraw> + Clone,
    {
        let burns = |number: usize| matches!(self.heaters[number].heater.source, Source::Fuel(_));
        let is_on = |of: &HeaterRun| of.place.heater.switches.is_on();
        let electric = |number: &usize| !burns(*number) && is_on(&state.heaters[*number]);
        let mut heats = if at.one_motor { (0..state.heaters.len()).find(electric) } else { None };
        for (index, (place, run)) in self.rooms.iter().zip(&mut state.rooms).enumerate() {
            let outside = place.outside(at.outdoors);
            let air = run.state.air(outside.pressure_kpa);
            let intake = if place.ducted { at.outdoors.unwrap_or(place.around) } else { air };
            let mut gains_j = place.pumps_share * at.pumps_w * at.seconds;
            let mut dried_kg = 0.0;
            for (number, (heater, of)) in self.heaters.iter().zip(&mut state.heaters).enumerate() {
                if heater.room != index {
                    continue;
                }
                let (wanted, cold_c) = draws(heater);
                let &Surroundings { time, seconds, surplus_w, .. } = at;
                let waits = at.one_motor && heats.is_some_and(|other| other != number);
                let power = at.power && (burns(number) || at.electric_heat && !waits);
                let meets = PlaceConditions { time, seconds, cold_c, power, surplus_w, air, intake };
                let was_on = of.place.heater.switches;
                let told = heater.step(&mut of.place, &meets, &wanted);
                if at.one_motor && heats.is_none() && !burns(number) && is_on(of) {
                    heats = Some(number);
                }
                of.note((number, heater, was_on), &meets, &told, observer);
                gains_j += told.pipe_loss_j + told.loop_pump_j;
                if place.ducted {
                    gains_j += told.heater.loss_j;
                } else {
                    gains_j += told.heater.room_gains_j();
                    dried_kg += told.heater.condensate_kg;
                    run.totals.sensible_j += told.heater.sensible_j;
                    run.totals.latent_j += told.heater.latent_j;
                }
                run.totals.condensate_kg += told.heater.condensate_kg;
            }
            let gains = RoomGains { heat_w: gains_j / at.seconds, moisture_kg_s: -dried_kg / at.seconds };
            let (room, around) = place.beside_storage(at.storage_c, outside);
            run.state = room.after(run.state, &around, gains, at.seconds);
            run.totals.lowest_c = run.totals.lowest_c.min(run.state.temp_c);
            run.totals.highest_c = run.totals.highest_c.max(run.state.temp_c);
        }
    }
}

impl RoomPlace {
    /// The room with what a cool storage tank takes from it, as a second way that its heat goes.
    fn beside_storage(&self, storage_c: Option<f64>, outside: MoistAir) -> (Room, MoistAir) {
        let (Some(storage_c), true) = (storage_c, self.storage_w_k > 0.0) else { return (self.room, outside) };
        let loss_w_k = self.room.loss_w_k + self.storage_w_k;
        let temp_c = (self.room.loss_w_k * outside.temp_c + self.storage_w_k * storage_c) / loss_w_k;
        (Room { loss_w_k, ..self.room }, MoistAir { temp_c, ..outside })
    }

    /// The air that it loses to.
    fn outside(&self, outdoors: Option<MoistAir>) -> MoistAir {
        let Some(outdoors) = outdoors else { return self.around };
        let share = self.outdoors_share;
        let mixed = |there: f64, here: f64| share * there + (1.0 - share) * here;
        MoistAir {
            temp_c: mixed(outdoors.temp_c, self.around.temp_c),
            humidity_kg_kg: mixed(outdoors.humidity_kg_kg, self.around.humidity_kg_kg),
            pressure_kpa: self.around.pressure_kpa,
        }
    }
}

impl HeaterRun {
    fn note<O: Observer>(
        &mut self,
        (number, of, was_on): (usize, &HeaterPlace, Switches),
        at: &PlaceConditions,
        told: &PlaceStep,
        observer: &mut O,
    ) {
        let (totals, heater) = (&mut self.totals, &told.heater);
        let had = [totals.air_wait_s > 0.0, totals.scalding_l > 0.0, totals.lets_grow()];
        totals.taken_l += told.taken_l;
        totals.at_taps_j += told.at_taps_j;
        totals.heat_j += heater.heat_j;
        totals.standby_j += heater.loss_j + heater.flue_j;
        totals.pipe_loss_j += told.pipe_loss_j;
        totals.compressor_j += heater.compressor_j + heater.fan_j;
        totals.element_j += heater.element_j;
        totals.other_j += heater.controls_j + told.loop_pump_j;
        self.power_w = (heater.electric_j() + told.loop_pump_j) / at.seconds;
        totals.fuel_j += heater.fuel_j;
        if heater.compressor_j > 0.0 {
            totals.pumped_j += heater.heat_j - heater.element_j;
        }
        totals.waited_l += told.waited_l;
        totals.scalding_l += told.scalding_l;
        let outlet_c = self.place.heater.outlet_c();
        totals.lowest_outlet_c = totals.lowest_outlet_c.min(outlet_c);
        let cool_s = if outlet_c < OUTLET_LEAST_C { at.seconds } else { 0.0 };
        totals.cool_outlet_s += cool_s;
        totals.cool_s = if cool_s > 0.0 { totals.cool_s + cool_s } else { 0.0 };
        totals.longest_cool_s = totals.longest_cool_s.max(totals.cool_s);
        let zone_l = of.heater.tank.inlet_mixing.min(MOST_INLET_ZONE) * of.heater.tank.volume_l;
        let growing_l = growing_l(&self.place.heater.layers, zone_l);
        totals.growth_l_s += growing_l * at.seconds;
        let now_on = self.place.heater.switches;
        totals.compressor_starts += u64::from(now_on.compressor && !was_on.compressor);
        totals.element_starts += u64::from((now_on.upper || now_on.lower) && !(was_on.upper || was_on.lower));
        // A pilot alone is no recovery; a compressor that waits, or a tank without power, has not recovered.
        let heats = now_on.is_on() || calls_for_heat(of, &self.place, at);
        totals.heating_s = if heats { totals.heating_s + at.seconds } else { 0.0 };
        totals.longest_heating_s = totals.longest_heating_s.max(totals.heating_s);
        let is_frozen = |layers: &Layers| layers.as_slice().iter().any(|layer| layer.temp_c <= 0.0);
        if self.place.heater.layers.bottom().temp_c <= 0.0 || self.place.pipe.as_ref().is_some_and(is_frozen) {
            totals.frozen_s += at.seconds;
        }
        if waits_for_air(of, &self.place, at) {
            totals.air_wait_s += at.seconds;
        }
        let now = [totals.air_wait_s > 0.0, totals.scalding_l > 0.0, totals.lets_grow()];
        let mut tell = |kind, value| {
            observer.event(&Event { time: at.time, part: Part::Heater(number), kind, value });
        };
        if now != had {
            let firsts = [
                (EventKind::AirUnsuitable, at.intake.temp_c),
                (EventKind::ScaldingWater, told.hottest_c),
                (EventKind::GrowthWarm, totals.growth_l_s / 3_600.0),
            ];
            for ((kind, value), (had, now)) in firsts.into_iter().zip(had.into_iter().zip(now)) {
                if now && !had {
                    tell(kind, value);
                }
            }
        }
        match totals.feel(at, told) {
            Some(Felt::Begins(temp_c)) => tell(EventKind::LukewarmBegins, temp_c),
            Some(Felt::Ends(spell)) => {
                tell(EventKind::LukewarmEnds, spell.seconds);
                observer.lukewarm(number, &spell);
            }
            None => (),
        }
    }
}

/// What people say of the water.
enum Felt {
    Begins(f64),
    Ends(Spell),
}

/// Whether the lower thermostat calls for heat, be there something to give it or not.
fn calls_for_heat(of: &HeaterPlace, state: &PlaceState, at: &PlaceConditions) -> bool {
    let (set_c, mode) = of.settings.at(at.time, at.surplus_w);
    let controls = &of.heater.controls;
    let band_k = match of.heater.source {
        Source::HeatPump(..) if mode != Mode::ElementOnly => controls.compressor_band_k,
        _ => controls.band_k,
    };
    let lower_c = of.heater.tank.temp_at_c(&state.heater.layers, controls.lower_sensor);
    mode != Mode::Off && lower_c < set_c - band_k
}

/// Whether a compressor would heat if the air suited it.
fn waits_for_air(of: &HeaterPlace, state: &PlaceState, at: &PlaceConditions) -> bool {
    let runs = || matches!(of.settings.at(at.time, at.surplus_w).1, Mode::HeatPumpOnly | Mode::Hybrid);
    at.power && state.heater.switches.air_out && runs() && calls_for_heat(of, state, at)
}

impl HeaterTotals {
    /// Keeps the spells of lukewarm water.
    fn feel(&mut self, at: &PlaceConditions, told: &PlaceStep) -> Option<Felt> {
        if told.lukewarm_s <= 0.0 && self.spell.seconds <= 0.0 {
            return None;
        }
        let end = at.time + Span::from_s(at.seconds);
        if told.lukewarm_s <= 0.0 {
            let is_over = end - self.spell.end >= SPELL_GAP;
            return is_over.then(|| Felt::Ends(core::mem::take(&mut self.spell)));
        }
        let begins = self.spell.seconds <= 0.0;
        if begins {
            self.spells += 1;
            self.spell = Spell { start: at.time, end, seconds: 0.0, coolest_c: told.coolest_c };
        }
        self.lukewarm_s += told.lukewarm_s;
        self.spell.end = end;
        self.spell.seconds += told.lukewarm_s;
        self.spell.coolest_c = self.spell.coolest_c.min(told.coolest_c);
        if self.spell.seconds > self.longest.seconds {
            self.longest = self.spell;
        }
        begins.then_some(Felt::Begins(told.coolest_c))
    }

    /// Whether Legionella can have grown: warm water above the zone of the inlet, and an outlet that was cool for a day or more.
    #[must_use]
    pub fn lets_grow(&self) -> bool {
        self.growth_l_s > GROWTH_TOLD_L_S && self.longest_cool_s >= COOL_TOLD_S
    }

    /// All electricity.
    #[must_use]
    pub fn electric_j(&self) -> f64 {
        self.compressor_j + self.element_j + self.other_j
    }

    /// Heat of the compressor over its electricity and its fan's; `None` where it never ran.
    #[must_use]
    pub fn cop(&self) -> Option<f64> {
        (self.compressor_j > 0.0).then(|| self.pumped_j / self.compressor_j)
    }
}

/// Water in which Legionella grows, over the lowest part of a tank as long as that is cold in the mean.
fn growing_l(layers: &Layers, zone_l: f64) -> f64 {
    // Layers are in order: what grows stands between two edges.
    let (mut from_l, mut to_l) = (0.0, 0.0);
    for layer in layers.as_slice() {
        if layer.temp_c > GROWS_TO_C {
            break;
        }
        to_l += layer.volume_l;
        if layer.temp_c < GROWS_FROM_C {
            from_l = to_l;
        }
    }
    if from_l < zone_l.min(to_l) && layers.mean_c(0.0, zone_l) < GROWS_FROM_C {
        from_l = zone_l.min(to_l);
    }
    to_l - from_l
}

fn heat_j(place: &PlaceState) -> f64 {
    let of = |layers: &Layers| layers.as_slice().iter().map(|it| WATER_J_L_K * it.volume_l * it.temp_c).sum::<f64>();
    of(&place.heater.layers) + place.pipe.as_ref().map_or(0.0, of)
}
