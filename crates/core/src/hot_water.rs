//! Hot water in a plant: heaters, what they serve, and the rooms whose air they breathe.
//!
//! It follows the water and never leads it: a draw is a total flow, and how warm it is to be only splits that between hot and
//! cold. So nothing here changes how much is drawn, or when a pump starts.

pub mod follow;
pub mod tap;

use serde::{Deserialize, Serialize};

use crate::decay::lost;
use crate::heater::control::Mode;
use crate::heater::{Heater, WATER_J_L_K};
use crate::moist_air::MoistAir;
use crate::room::{Room, RoomState};
use crate::time::{Span, Time, is_within};

/// Heaters and rooms of a plant; none where all its water is cold.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct HotWater {
    /// The heaters.
    pub heaters: Vec<HeaterPlace>,
    /// The rooms that they stand in.
    pub rooms: Vec<RoomPlace>,
}

/// A heater, where it stands and what it serves.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeaterPlace {
    /// Its name in results.
    pub name: String,
    /// The building whose fixtures it serves, by the index of its outlet.
    pub outlet: usize,
    /// The heater.
    pub heater: Heater,
    /// How it is run and how hot it is kept, by the clock.
    pub settings: Settings,
    /// What a tempering valve behind it lets out at most; `None` where there is none.
    pub tempering_c: Option<f64>,
    /// The pipe from it to the fixtures; `None` where it is not worth counting.
    pub pipe: Option<HotPipe>,
    /// The room that it stands in, by index.
    pub room: usize,
    /// Temperature of its water when the run starts.
    pub start_c: f64,
}

/// How a heater is run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Settings {
    /// Its set point outside of all windows.
    pub set_c: f64,
    /// Its mode outside of all windows.
    pub mode: Mode,
    /// Hours of the day with other settings: a set-back by night, a boost before the evening. Of two that meet the first listed
    /// counts.
    pub windows: Vec<Window>,
    /// Other settings while the sun leaves enough; they count before those of windows. `None` where it does not go by the sun.
    pub sun: Option<SunBoost>,
}

/// How a heater is run while the sun leaves so much over the rest of the house.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SunBoost {
    /// Power that the sun leaves, from which on it counts; see [`PowerHour::surplus_w`](crate::power::PowerHour::surplus_w).
    pub surplus_w: f64,
    /// The set point then.
    pub set_c: f64,
    /// The mode then.
    pub mode: Mode,
}

/// A part of every day in which a heater is run in another way. It may go on past midnight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Window {
    /// Time of day at which it opens,
    pub start: Span,
    /// and at which it closes.
    pub end: Span,
    /// The set point in it.
    pub set_c: f64,
    /// The mode in it.
    pub mode: Mode,
}

impl Settings {
    /// Set point and mode at an instant, while the sun leaves so much.
    #[must_use]
    pub fn at(&self, time: Time, surplus_w: f64) -> (f64, Mode) {
        if let Some(sun) = self.sun.filter(|sun| surplus_w >= sun.surplus_w) {
            return (sun.set_c, sun.mode);
        }
        let holds = |window: &&Window| is_within(time, window.start, window.end);
        self.windows.iter().find(holds).map_or((self.set_c, self.mode), |window| (window.set_c, window.mode))
    }
}

/// The pipe between a heater and the fixtures: what stands in it cools, and is in the way of hot water.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HotPipe {
    /// Water in it.
    pub volume_l: f64,
    /// Heat that it loses for each kelvin over the room.
    pub loss_w_k: f64,
    /// Hours of the day in which a pump keeps it hot by sending its water round; empty where there is none.
    pub kept_hot: Vec<(Span, Span)>,
    /// Power of that pump.
    pub pump_w: f64,
}

impl HotPipe {
    /// Whether a pump keeps it hot at an instant.
    #[must_use]
    pub fn is_kept_hot(&self, time: Time) -> bool {
        self.kept_hot.iter().any(|(start, end)| is_within(time, *start, *end))
    }

    /// Part of its warmth over the room that water in it loses over a time.
    #[must_use]
    pub fn lost(&self, seconds: f64) -> f64 {
        if self.volume_l <= 0.0 {
            return 0.0;
        }
        lost(self.loss_w_k * seconds / (WATER_J_L_K * self.volume_l))
    }
}

/// A room with heaters in it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoomPlace {
    /// Its name in results.
    pub name: String,
    /// The room.
    pub room: Room,
    /// Its air when the run starts.
    pub start: RoomState,
    /// The air around it where no weather is known, or where it lies within a house.
    pub around: MoistAir,
    /// Part of its loss that goes to the outdoor air; the rest goes to `around`.
    pub outdoors_share: f64,
    /// Part of the electricity of pumps and drives that warms it.
    pub pumps_share: f64,
    /// Heat that the storage tank takes from it for each kelvin that its water is colder.
    pub storage_w_k: f64,
    /// Whether compressors take their air from outdoors and blow it there, and so leave the room alone.
    pub ducted: bool,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn clock(hours: f64) -> Span {
        Span::from_s(3_600.0 * hours)
    }

    #[test]
    fn windows_go_past_midnight_and_the_first_counts() {
        let window = |start, end, set_c| Window { start: clock(start), end: clock(end), set_c, mode: Mode::Hybrid };
        let settings = Settings {
            set_c: 50.0,
            mode: Mode::HeatPumpOnly,
            sun: Some(SunBoost { surplus_w: 800.0, set_c: 65.0, mode: Mode::HeatPumpOnly }),
            windows: vec![window(22.0, 5.0, 45.0), window(4.0, 6.0, 60.0)],
        };
        let at = |day: i64, hours: f64| settings.at(Time::from_day(day) + clock(hours), 799.0);
        assert_eq!(at(0, 21.9), (50.0, Mode::HeatPumpOnly));
        assert_eq!(at(0, 22.0), (45.0, Mode::Hybrid));
        assert_eq!(at(3, 4.5), (45.0, Mode::Hybrid));
        assert_eq!((at(-1, 5.0).0, at(2, 6.0).0), (60.0, 50.0));
        assert_eq!(
            settings.at(Time::from_day(0) + clock(23.0), 800.0),
            (65.0, Mode::HeatPumpOnly),
            "the sun before all"
        );
    }

    #[test]
    fn exact_a_pipe_cools_to_its_room() {
        let pipe = HotPipe { volume_l: 4.0, loss_w_k: 5.0, kept_hot: vec![(clock(6.0), clock(8.0))], pump_w: 20.0 };
        // Its time constant: 4 L of 4130 J/K over 5 W/K.
        let constant_s = 4.0 * WATER_J_L_K / 5.0;
        assert!((pipe.lost(constant_s) + 1.0 / core::f64::consts::E - 1.0).abs() < 1e-15);
        assert!(pipe.is_kept_hot(Time::from_day(1) + clock(6.0)) && !pipe.is_kept_hot(Time::from_day(1) + clock(8.0)));
    }
}
