//! What is counted as a run goes.

use serde::{Deserialize, Serialize};

use crate::plant::MOST_OUTLETS;
use crate::supply::MOST_SUPPLIES;
use crate::time::{Span, Time};
use crate::treatment::MOST_STAGES;

/// A cycle shorter than this is short; common practice asks for a run of a minute alone.
pub(super) const SHORT_CYCLE: Span = Span::from_ns(30_000_000_000);
/// After this many short cycles in a row starts and stops are told as one spell.
pub(super) const SPELL_AFTER: u64 = 5;

/// What is counted as a run goes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tally {
    /// By supply, in the order of the plant.
    pub supplies: [SupplyTally; MOST_SUPPLIES],
    /// Spells on the standby supply.
    pub change_overs: Spells,
    /// Times low storage stopped the delivery pump.
    pub protect_stops: Spells,
    /// The membrane unit.
    pub membrane: MembraneTally,
    /// Least water in storage, and when.
    pub lowest_storage_l: f64,
    /// When storage was lowest.
    pub lowest_storage_at: Time,
    /// Spells in which storage spilled.
    pub storage_spills: Spells,
    /// Lowest pressure on the header that feeds the buildings.
    pub lowest_house_kpa: f64,
    /// Spells with that pressure under what the controls hold.
    pub low_pressure: Spells,
    /// Spells in which any building had run out.
    pub run_outs: Spells,
    /// The same by outlet; unused places stay empty.
    pub outlets: [Spells; MOST_OUTLETS],
    /// Lowest pressure at an outlet's fixtures while it drew; unused places and outlets that never drew keep `f64::MAX`.
    pub lowest_tap_kpa: [f64; MOST_OUTLETS],
    /// By stage: since when its service has been due.
    pub service_due: [Option<Time>; MOST_STAGES],
    /// By stage: spells in which an ultraviolet unit gave less than its least dose.
    pub underdoses: [Spells; MOST_STAGES],
    /// Largest mean electric power over one tick.
    pub highest_tick_w: f64,
    /// Electric energy up to the last tick.
    pub tick_j: f64,
    /// Segments, steps taken, steps rejected.
    pub work: Work,
}

/// What is counted of a supply and its pump.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SupplyTally {
    /// Starts of the pump.
    pub starts: u64,
    /// The same by calendar day.
    pub starts_by_day: ByDay,
    /// Time the pump ran, or the main was connected.
    pub run: Span,
    /// Shortest run from start to stop.
    pub shortest_run: Option<Span>,
    /// Longest run from start to stop; in a report, the one under way too.
    pub longest_run: Option<Span>,
    /// Runs from start to stop shorter than a minute.
    pub short_runs: u64,
    /// Shortest time from one start to the next.
    pub shortest_cycle: Option<Span>,
    /// The last start.
    pub last_start: Option<Time>,
    /// Times the low-level cut-off tripped, and the first.
    pub low_level_trips: Spells,
    /// Spells with the water at the pump's intake.
    pub suction_losses: Spells,
    /// Deepest drawdown of a well.
    pub deepest_drawdown_m: f64,
    /// Least water in a basin, and when.
    pub lowest_l: f64,
    /// When a basin was lowest.
    pub lowest_at: Time,
    /// Spells in which a basin spilled.
    pub spills: Spells,
    /// Spells of short-cycling.
    pub short_cycling: Spells,
    /// Starts since the present spell of short-cycling began.
    pub spell_starts: u64,
    /// Cycles in a row that were short, up to the last start.
    pub short_cycles: u64,
    /// Open water at its hours of weather.
    pub open: OpenTally,
}

/// What is seen of open water at every hour of weather.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct OpenTally {
    /// How many hours.
    pub hours: u64,
    /// Most salt while it had a twentieth of its water or more, and when.
    pub saltiest_mg_l: f64,
    /// When it was saltiest.
    pub saltiest_at: Time,
    /// Coldest water; `f64::MAX` where there were no hours.
    pub coldest_c: f64,
    /// Warmest water, and when.
    pub warmest_c: f64,
    /// When it was warmest.
    pub warmest_at: Time,
    /// Hours with ice.
    pub ice_hours: u64,
    /// Thickest ice.
    pub thickest_ice_m: f64,
}

impl OpenTally {
    const NONE: Self = Self {
        hours: 0,
        saltiest_mg_l: 0.0,
        saltiest_at: Time::ZERO,
        coldest_c: f64::MAX,
        warmest_c: 0.0,
        warmest_at: Time::ZERO,
        ice_hours: 0,
        thickest_ice_m: 0.0,
    };

    /// Counts an hour that begins under so much ice.
    pub(super) fn count(&mut self, ice_m: f64) {
        self.hours += 1;
        self.ice_hours += u64::from(ice_m > 0.0);
    }

    /// Keeps what is the most and the least so far.
    pub(super) fn note(&mut self, now: Time, seen: Seen) {
        // The salt of a last puddle says nothing of a pond.
        if seen.share >= PUDDLE_SHARE && seen.salt_mg_l > self.saltiest_mg_l {
            (self.saltiest_mg_l, self.saltiest_at) = (seen.salt_mg_l, now);
        }
        if self.coldest_c == f64::MAX || seen.temp_c > self.warmest_c {
            (self.warmest_c, self.warmest_at) = (seen.temp_c, now);
        }
        self.coldest_c = self.coldest_c.min(seen.temp_c);
        self.thickest_ice_m = self.thickest_ice_m.max(seen.ice_m);
    }
}

/// A pond with less than this part of its water is a puddle. Our own choice.
const PUDDLE_SHARE: f64 = 0.05;

/// What is seen of open water at an instant: water as a part of what it holds, salt, temperature, ice.
#[derive(Clone, Copy)]
pub(super) struct Seen {
    pub share: f64,
    pub salt_mg_l: f64,
    pub temp_c: f64,
    pub ice_m: f64,
}

/// What is counted of the membrane unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct MembraneTally {
    /// Times it started.
    pub starts: u64,
    /// Times too little pressure at its suction stopped it.
    pub trips: u64,
    /// The same by calendar day,
    pub trips_by_day: ByDay,
    /// and the first.
    pub first_trip: Option<Time>,
    /// Times it was cleaned.
    pub cleanings: u64,
    /// The last.
    pub last_cleaned: Option<Time>,
    /// Spells from when cleaning was due to when it was done.
    pub cleaning_due: Spells,
    /// What it had lost at all cleanings, in parts of what may be lost between two.
    pub lost_before: f64,
    /// Spells in which it was locked out.
    pub locked_out: Spells,
    /// Spells from a start to the stop.
    pub runs: Spells,
    /// Product in all when it last started.
    pub product_at_start_l: f64,
}

impl MembraneTally {
    pub(super) fn start(&mut self, now: Time, product_l: f64) {
        self.starts += 1;
        self.runs.begin(now);
        self.product_at_start_l = product_l;
    }

    pub(super) fn stop(&mut self, now: Time) {
        self.runs.end(now);
    }

    pub(super) fn trip(&mut self, now: Time) {
        self.trips += 1;
        self.trips_by_day.count(now);
        self.first_trip.get_or_insert(now);
    }

    /// Counts a cleaning, of a membrane that had lost this part of what may be lost between two.
    pub(super) fn clean(&mut self, now: Time, lost: f64) {
        self.cleanings += 1;
        self.last_cleaned = Some(now);
        self.cleaning_due.end(now);
        self.lost_before += lost;
    }
}

/// How often something happens in a calendar day.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ByDay {
    /// The day of the last; 0 is the first of the run.
    pub day: i64,
    /// How many in that day.
    pub today: u64,
    /// Most in any day.
    pub most: u64,
}

impl ByDay {
    fn count(&mut self, now: Time) {
        let day = now.day();
        if day != self.day {
            self.day = day;
            self.today = 0;
        }
        self.today += 1;
        self.most = self.most.max(self.today);
    }
}

/// How much the engine worked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Work {
    /// Segments, from event to event.
    pub segments: u64,
    /// Integration steps taken.
    pub steps: u64,
    /// Integration steps rejected and taken again.
    pub rejected: u64,
}

/// Spells of one kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Spells {
    /// How many began.
    pub count: u64,
    /// The length in all of those that have ended; in a report, of the one under way too.
    pub total: Span,
    /// The longest.
    pub longest: Span,
    /// When that began.
    pub longest_from: Option<Time>,
    /// When the first began.
    pub first: Option<Time>,
    /// When the one under way began.
    pub since: Option<Time>,
}

impl Spells {
    pub(super) fn begin(&mut self, time: Time) {
        self.count += 1;
        self.first.get_or_insert(time);
        self.since = Some(time);
    }

    /// Ends the spell under way and returns its length.
    pub(super) fn end(&mut self, time: Time) -> Span {
        let since = self.since.take();
        let length = since.map_or(Span::ZERO, |since| time - since);
        self.total += length;
        if length > self.longest {
            (self.longest, self.longest_from) = (length, since);
        }
        length
    }

    /// The spells as they stand at `time`, the one under way counted up to it.
    pub(super) fn at(mut self, time: Time) -> Self {
        if let Some(since) = self.since {
            self.end(time);
            self.since = Some(since);
        }
        self
    }
}

impl Tally {
    pub(super) fn new() -> Self {
        Self {
            supplies: [SupplyTally::new(); _],
            change_overs: Spells::default(),
            protect_stops: Spells::default(),
            membrane: MembraneTally::default(),
            // The largest number there is, not infinity: a saved state may be written as JSON.
            lowest_storage_l: f64::MAX,
            lowest_storage_at: Time::ZERO,
            storage_spills: Spells::default(),
            lowest_house_kpa: f64::MAX,
            low_pressure: Spells::default(),
            run_outs: Spells::default(),
            outlets: [Spells::default(); _],
            lowest_tap_kpa: [f64::MAX; _],
            service_due: [None; _],
            underdoses: [Spells::default(); _],
            highest_tick_w: 0.0,
            tick_j: 0.0,
            work: Work::default(),
        }
    }

    /// Counts the spells under way up to an instant.
    pub(super) fn close_at(&mut self, time: Time) {
        let supplies = self.supplies.iter_mut().flat_map(|supply| {
            [&mut supply.low_level_trips, &mut supply.suction_losses, &mut supply.spills, &mut supply.short_cycling]
        });
        let plant = [
            &mut self.change_overs,
            &mut self.protect_stops,
            &mut self.membrane.locked_out,
            &mut self.membrane.runs,
            &mut self.membrane.cleaning_due,
            &mut self.storage_spills,
            &mut self.low_pressure,
            &mut self.run_outs,
        ];
        for spells in supplies.chain(plant).chain(&mut self.outlets).chain(&mut self.underdoses) {
            *spells = spells.at(time);
        }
    }
}

impl SupplyTally {
    fn new() -> Self {
        Self {
            starts: 0,
            starts_by_day: ByDay::default(),
            run: Span::ZERO,
            shortest_run: None,
            longest_run: None,
            short_runs: 0,
            shortest_cycle: None,
            last_start: None,
            low_level_trips: Spells::default(),
            suction_losses: Spells::default(),
            deepest_drawdown_m: 0.0,
            lowest_l: f64::MAX,
            lowest_at: Time::ZERO,
            spills: Spells::default(),
            short_cycling: Spells::default(),
            short_cycles: 0,
            spell_starts: 0,
            open: OpenTally::NONE,
        }
    }

    /// When the spell of short-cycling under way is over unless another start comes.
    pub(super) fn spell_end(&self) -> Option<Time> {
        let last = self.last_start.filter(|_| self.short_cycles >= SPELL_AFTER);
        last.map(|last| last + SHORT_CYCLE)
    }

    /// Counts a start; returns the time since the last one.
    pub(super) fn start(&mut self, now: Time) -> Option<Span> {
        self.starts += 1;
        self.starts_by_day.count(now);
        let cycle = self.last_start.map(|last| now - last);
        self.last_start = Some(now);
        if let Some(cycle) = cycle {
            self.shortest_cycle = Some(self.shortest_cycle.map_or(cycle, |shortest| shortest.min(cycle)));
        }
        cycle
    }

    pub(super) fn stop(&mut self, now: Time) {
        let Some(start) = self.last_start else { return };
        let run = now - start;
        self.shortest_run = Some(self.shortest_run.map_or(run, |shortest| shortest.min(run)));
        self.longest_run = self.longest_run.max(Some(run));
        self.short_runs += u64::from(run < Span::MINUTE);
    }
}
