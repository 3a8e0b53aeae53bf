//! What the water carries: mixed in stores, taken out by treatment, piece by piece.
//!
//! Water moves whatever it carries, so this follows the trajectory and never leads it. Over a piece every store is well mixed
//! and fed and emptied steadily, by the volumes that the ports say: the closed form of [`crate::mixing`] is exact where
//! rates are constant, and of the second order in the length of a step where they are not. What leaves a store is what it
//! held and got less what it keeps, so grams are conserved to rounding.

mod membrane;

pub use self::membrane::MOST_CHLORINE_MG_L;

use serde::{Deserialize, Serialize};

use super::flows::{Flows, Hydraulics};
use super::lines::{Demand, in_line};
use super::mode::Mode;
use super::state::{
    BLENDED, DRAWN, LEVELS, Levels, Ports, SERVED, SMALL, SOURCE, SPILLED, STORAGE, SupplyPort, TAKEN, TANK, of_supply,
};
use crate::ledger::CarriedLedger;
use crate::mixing::remaining;
use crate::outlet::Header;
use crate::plant::{MOST_OUTLETS, Plant};
use crate::quality::{CARRIED, Carried, Constituent, Quality};
use crate::supply::{MOST_SUPPLIES, Source};
use crate::time::Span;
use crate::treatment::{MOST_STAGES, Stage, StageKind};

/// What a stage has done in a run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct StageTotals {
    /// What it holds, g.
    pub caught_g: f64,
    /// Water treated, L.
    pub treated_l: f64,
    /// Water that passed it by through its bypass, L.
    pub bypassed_l: f64,
    /// Water that passed it by while it was washed, L.
    pub washing_l: f64,
    /// Water that came when it held all that it can, L.
    pub spent_l: f64,
    /// Water that had less than the contact time, or than the least dose, L.
    pub under_l: f64,
    /// Hours its lamp has burned.
    pub lamp_h: f64,
}

/// What has gone through the membrane unit in a run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct MembraneCarried {
    /// Salt in the fresh feed while it made water, g.
    pub feed_salt_g: f64,
    /// Fresh feed while it made water, L, and its warmth, litres times °C.
    pub feed_l: f64,
    /// See [`Self::feed_l`].
    pub feed_l_c: f64,
    /// Salt in the raw water that flushes took, g.
    pub flush_feed_salt_g: f64,
    /// Salt in the concentrate that left it, g; flushes not counted.
    pub reject_salt_g: f64,
    /// Salt that flushes carried out of the loop, g.
    pub flushed_salt_g: f64,
    /// Salt in the product that came into storage, g.
    pub stored_salt_g: f64,
    /// Calcite that has dissolved in the product on its way to storage, g.
    pub calcite_g: f64,
    /// Salt in the product that went to waste, g.
    pub diverted_salt_g: f64,
    /// Salt in the loop and on the product side when the run began, g.
    pub start_salt_g: f64,
    /// Water taken with more free chlorine than [`MOST_CHLORINE_MG_L`], flushes included, L.
    pub chlorinated_l: f64,
}

/// What the water carries at an instant, and what has come of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Waters {
    /// Concentrations in tanks and basins, by level; of a well and a main, that of its water.
    pub held: [Carried; LEVELS],
    /// In the loop of the membrane unit, and on its product side.
    pub looped: Carried,
    pub product: Carried,
    pub membrane: MembraneCarried,
    /// Grams in stores at the start.
    start_g: Carried,
    in_g: Carried,
    out_g: Carried,
    removed_g: Carried,
    /// What last left the raw and the delivery header, and what came to the end of their lines.
    pub headers: [Carried; 2],
    pub ends: [Carried; 2],
    /// By stage: wash water that came in the wash under way, and that was wanted, L.
    washes: [(f64, f64); MOST_STAGES],
    /// Salt to each outlet, g.
    pub salt_g: [f64; MOST_OUTLETS],
    pub stages: [StageTotals; MOST_STAGES],
}

/// Some water and the grams in it.
#[derive(Clone, Copy, Debug)]
struct Parcel {
    volume_l: f64,
    grams: Carried,
}

impl Parcel {
    const NONE: Self = Self { volume_l: 0.0, grams: [0.0; CARRIED] };

    fn of(volume_l: f64, concentration: &Carried) -> Self {
        Self { volume_l, grams: concentration.map(|c| 1e-3 * c * volume_l) }
    }

    fn add(&mut self, other: &Self) {
        self.volume_l += other.volume_l;
        for (grams, more) in self.grams.iter_mut().zip(&other.grams) {
            *grams += more;
        }
    }

    /// Concentration, mg/L; `otherwise` where there is next to no water.
    fn concentration(&self, otherwise: &Carried) -> Carried {
        if self.volume_l > LEAST_L { self.grams.map(|grams| 1e3 * grams / self.volume_l) } else { *otherwise }
    }
}

/// Less water than this has no concentration to speak of: rounding.
const LEAST_L: f64 = 1e-9;

fn add_grams(sum: &mut Carried, grams: &Carried, sign: f64) {
    for (sum, more) in sum.iter_mut().zip(grams) {
        *sum += sign * more;
    }
}

impl Waters {
    pub(super) fn at_start(plant: &Plant, levels: &Levels) -> Self {
        let mut waters = Self {
            held: [[0.0; CARRIED]; _],
            looped: [0.0; _],
            product: [0.0; _],
            membrane: MembraneCarried::default(),
            start_g: [0.0; _],
            in_g: [0.0; _],
            out_g: [0.0; _],
            removed_g: [0.0; _],
            headers: [[0.0; CARRIED]; 2],
            ends: [[0.0; CARRIED]; 2],
            washes: [(0.0, 0.0); _],
            salt_g: [0.0; _],
            stages: [StageTotals::default(); _],
        };
        for (i, supply) in plant.supplies.iter().enumerate() {
            waters.held[SOURCE + i] = supply.carried();
        }
        // Tanks start with what the first supply's water carries, behind the treatment that stands before them.
        let first = plant.supplies.iter().position(|supply| !supply.standby).unwrap_or(0);
        let mut water = waters.held[SOURCE + first];
        waters.held[TANK] = water;
        for (i, stage) in plant.stages.iter().enumerate() {
            waters.stages[i].caught_g = stage.catch.map_or(0.0, |catch| catch.start_g);
            waters.stages[i].lamp_h = stage.ultraviolet().map_or(0.0, |unit| unit.start_h);
            if let (Header::Raw, Some(catch)) = (stage.header, stage.catch) {
                water[catch.constituent as usize] *= stage.passes(stage.rated_lps, catch.start_g);
            }
        }
        waters.ends[Header::Raw as usize] = water;
        // The membrane unit stood flushed, and storage holds what it makes.
        if plant.membrane.is_some() {
            waters.looped = water;
            let start = membrane::start(plant, water[Constituent::Salt as usize]);
            waters.product = membrane::made(&water, start.salt_share);
            water = membrane::stored(plant, &water, &waters.product, &start);
            waters.membrane.start_salt_g = waters.in_membrane_g(plant)[Constituent::Salt as usize];
        }
        waters.held[STORAGE] = water;
        waters.held[SMALL] = water;
        waters.headers = [waters.held[TANK], water];
        waters.ends[Header::Delivery as usize] = water;
        for (i, stage) in plant.stages.iter().enumerate() {
            if let (Header::Delivery, Some(catch)) = (stage.header, stage.catch) {
                let passes = stage.passes(stage.rated_lps, waters.stages[i].caught_g);
                waters.ends[Header::Delivery as usize][catch.constituent as usize] *= passes;
            }
        }
        waters.start_g = waters.stock_g(plant, levels);
        waters
    }

    /// Grams in tanks and basins.
    fn stock_g(&self, plant: &Plant, levels: &Levels) -> Carried {
        let mut stock_g = [0.0; CARRIED];
        for (level, concentration) in self.held.iter().enumerate() {
            let basin = level.checked_sub(SOURCE).and_then(|i| plant.supplies.get(i)?.source.basin());
            if level < SOURCE || basin.is_some() {
                add_grams(&mut stock_g, &Parcel::of(levels[level], concentration).grams, 1.0);
            }
        }
        add_grams(&mut stock_g, &self.in_membrane_g(plant), 1.0);
        stock_g
    }

    /// Grams in the loop and on the product side of the membrane unit.
    pub(super) fn in_membrane_g(&self, plant: &Plant) -> Carried {
        let Some(membrane) = &plant.membrane else { return [0.0; CARRIED] };
        let mut held = Parcel::of(membrane.unit.loop_volume_l, &self.looped);
        held.add(&Parcel::of(membrane.product_volume_l, &self.product));
        held.grams
    }

    pub(super) fn ledger(&self, plant: &Plant, levels: &Levels) -> CarriedLedger {
        let stock_g = self.stock_g(plant, levels);
        let mut gain_g = stock_g;
        add_grams(&mut gain_g, &self.start_g, -1.0);
        let (in_g, out_g, removed_g) = (self.in_g, self.out_g, self.removed_g);
        CarriedLedger { in_g, out_g, removed_g, gain_g, stock_g }
    }

    /// A constituent of what leaves a header at known rates; what last left it where nothing does.
    pub(super) fn leaving(&self, header: Header, constituent: Constituent, flows: &Flows) -> f64 {
        let k = constituent as usize;
        let (mut lps, mut sum) = (0.0, 0.0);
        let mut add = |level: usize, flow_lps: f64| {
            if flow_lps > 0.0 {
                lps += flow_lps;
                sum += flow_lps * self.held[level][k];
            }
        };
        match header {
            Header::Raw => {
                (0..MOST_SUPPLIES).for_each(|i| add(SOURCE + i, flows.ports[of_supply(i, SupplyPort::Pumped)]));
                add(TANK, -flows.levels[TANK]);
            }
            Header::Delivery => {
                add(STORAGE, flows.ports[DRAWN]);
                add(SMALL, -flows.levels[SMALL]);
            }
        }
        if lps > 0.0 { sum / lps } else { self.headers[header as usize][k] }
    }

    /// Lets solids sink to the ground of a basin.
    pub(super) fn settle_solids(&mut self, level: usize, volume_l: f64, settles_mg_l: f64) {
        let solids = Constituent::Solids as usize;
        self.held[level][solids] -= settles_mg_l;
        self.removed_g[solids] += 1e-3 * settles_mg_l * volume_l;
    }

    /// Brings the water in a basin to a temperature: air and sun warm or cool it.
    pub(super) fn warm(&mut self, level: usize, volume_l: f64, to_c: f64) {
        let temp = Constituent::Temperature as usize;
        let gained = 1e-3 * (to_c - self.held[level][temp]) * volume_l;
        self.held[level][temp] = to_c;
        if gained > 0.0 {
            self.in_g[temp] += gained;
        } else {
            self.out_g[temp] -= gained;
        }
    }

    /// Water that leaves the plant.
    fn lose(&mut self, parcel: &Parcel) {
        add_grams(&mut self.out_g, &parcel.grams, 1.0);
    }

    /// Drains water from the pressure tank.
    pub(super) fn drain_tank(&mut self, volume_l: f64) {
        self.lose(&Parcel::of(volume_l, &self.held[TANK]));
    }

    /// Ends the wash of a stage: it loses what it held in the share of the wash water that came through it.
    /// Returns that share.
    pub(super) fn end_wash(&mut self, stage: usize, in_line: bool) -> f64 {
        let (came_l, wanted_l) = core::mem::take(&mut self.washes[stage]);
        let share = if wanted_l > 0.0 && in_line { (came_l / wanted_l).min(1.0) } else { 0.0 };
        self.stages[stage].caught_g *= 1.0 - share;
        share
    }

    /// Moves on over a piece, or a first part of it.
    pub(super) fn advance(&mut self, passage: &Passage<'_>) {
        let given = self.take_from_sources(passage);
        let raw = self.leave_header(Header::Raw, TANK, given, passage);
        self.give_to_sources(passage, &raw);
        self.serve(Header::Raw, false, passage, &raw);
        let line = self.treat(Header::Raw, passage, &raw);
        let filled = self.fill(passage, &line);
        self.serve(Header::Raw, true, passage, &line);
        if passage.hydraulics.plant.store.is_some() {
            let within_l = (passage.from[STORAGE].max(0.0), passage.to[STORAGE].max(0.0));
            let drawn = self.mix(STORAGE, &filled, within_l, (passage.ports[DRAWN], passage.ports[SPILLED]));
            let header = self.leave_header(Header::Delivery, SMALL, drawn, passage);
            self.serve(Header::Delivery, false, passage, &header);
            let line = self.treat(Header::Delivery, passage, &header);
            self.serve(Header::Delivery, true, passage, &line);
        }
        let lamps_s = if passage.mode.has_power() { passage.length.s() } else { 0.0 };
        for (i, stage) in passage.hydraulics.plant.stages.iter().enumerate() {
            if stage.ultraviolet().is_some() {
                self.stages[i].lamp_h += lamps_s / 3_600.0;
            }
            if let (Some(wash), true) = (stage.backwash, passage.demand.washing[i]) {
                self.washes[i].0 += passage.outlet_l(wash.outlet);
                self.washes[i].1 += passage.demand.lps[wash.outlet] * passage.length.s();
            }
        }
    }

    /// Water that the supplies give to the raw header; basins mix on the way.
    fn take_from_sources(&mut self, passage: &Passage<'_>) -> Parcel {
        let mut given = Parcel::NONE;
        for (i, supply) in passage.hydraulics.plant.supplies.iter().enumerate() {
            let out = match supply.source {
                // What it gets comes from further down the line, and is mixed in then.
                Source::Basin { .. } if passage.fed_back_l(i) > 0.0 || passage.returned_to() == Some(i) => {
                    Parcel::of(passage.supply_l(i, SupplyPort::Pumped), &self.held[SOURCE + i])
                }
                Source::Basin { .. } => self.through_basin(i, Parcel::NONE, passage),
                Source::Well { .. } | Source::TownLine(_) => {
                    let out = Parcel::of(passage.supply_l(i, SupplyPort::Pumped), &self.held[SOURCE + i]);
                    add_grams(&mut self.in_g, &out.grams, 1.0);
                    out
                }
            };
            given.add(&out);
        }
        given
    }

    /// Water from the raw header back to the sources; a basin that gets some is isolated or stands still.
    fn give_to_sources(&mut self, passage: &Passage<'_>, raw: &Carried) {
        for (i, supply) in passage.hydraulics.plant.supplies.iter().enumerate() {
            let back_l = passage.fed_back_l(i);
            // A basin that takes what the membrane unit rejects waits for that.
            if back_l > 0.0 && passage.returned_to() != Some(i) {
                let back = Parcel::of(back_l, raw);
                if matches!(supply.source, Source::Basin { .. }) {
                    let rest = self.through_basin(i, back, passage);
                    self.lose(&rest);
                } else {
                    self.lose(&back);
                }
            }
        }
    }

    /// Moves a basin on; `fed` comes from the header, beside what runs in. Returns what it gives to the header, where that has
    /// not been taken before.
    fn through_basin(&mut self, i: usize, fed: Parcel, passage: &Passage<'_>) -> Parcel {
        let (level, supply) = (SOURCE + i, &passage.hydraulics.plant.supplies[i]);
        let inflow = self.runs_into(i, fed, passage);
        let hour_l = |lps: f64| lps * passage.length.s();
        let hour = &passage.mode.supplies[i].hour;
        let (evaporated_l, seeped_l) = (hour_l(hour.evaporates_lps), hour_l(hour.seeps_lps));
        let mut given_l = passage.supply_l(i, SupplyPort::Pumped);
        let (mut from_l, to_l) = (passage.from[level].max(0.0), passage.to[level].max(0.0));
        if passage.returned_to() == Some(i) || passage.fed_back_l(i) > 0.0 {
            from_l -= given_l;
            given_l = 0.0;
        }
        let lost_l = passage.supply_l(i, SupplyPort::Overflowed) + seeped_l;
        // As if nothing had evaporated: then what has goes, and leaves all but its warmth behind.
        let given = self.mix(level, &inflow, (from_l, to_l + evaporated_l), (given_l, lost_l));
        if evaporated_l > 0.0 && to_l > LEAST_L && supply.source.is_open() {
            let more = (to_l + evaporated_l) / to_l;
            for (k, held) in self.held[level].iter_mut().enumerate() {
                if k == Constituent::Temperature as usize {
                    self.out_g[k] += 1e-3 * *held * evaporated_l;
                } else {
                    *held *= more;
                }
            }
        }
        given
    }

    /// What comes into a basin: off a roof, with rain and runoff, and what is fed to it.
    fn runs_into(&mut self, i: usize, fed: Parcel, passage: &Passage<'_>) -> Parcel {
        let supply = &passage.hydraulics.plant.supplies[i];
        let hour = &passage.mode.supplies[i].hour;
        let mut inflow = Parcel::NONE;
        if hour.in_lps() > 0.0 {
            let runoff = supply.source.basin().and_then(|basin| basin.open.as_ref()?.catchment.as_ref());
            let runoff = runoff.map_or(Quality::PURE, |catchment| catchment.quality);
            let [rain_l, runoff_l] = [hour.rain_lps, hour.runoff_lps].map(|lps| lps * passage.length.s());
            inflow.add(&Parcel::of(rain_l, &Quality::PURE.carried_at(hour.temp_c)));
            inflow.add(&Parcel::of(runoff_l, &runoff.carried_at(hour.temp_c)));
        }
        let roof_l = passage.supply_l(i, SupplyPort::Inflow) - inflow.volume_l;
        if passage.mode.supplies[i].roof_lps > 0.0 {
            inflow.add(&Parcel::of(roof_l, &supply.carried()));
        }
        add_grams(&mut self.in_g, &inflow.grams, 1.0);
        inflow.add(&fed);
        inflow
    }

    /// Water from the end of the raw line to fill storage, by way of the membrane unit where there is one; returns what comes
    /// into storage.
    fn fill(&mut self, passage: &Passage<'_>, line: &Carried) -> Parcel {
        let Some(running) = &passage.hydraulics.membrane else { return Parcel::of(passage.ports[TAKEN], line) };
        let blended_l = passage.ports[BLENDED];
        let taken = Parcel::of(passage.ports[TAKEN] - blended_l, line);
        let (mut filled, mut waste) = self.through_membrane(running, taken, passage);
        if let Some(bed) = &running.membrane.calcite {
            self.through_calcite(bed, &mut filled, passage.length);
        }
        filled.add(&Parcel::of(blended_l, line));
        match passage.returned_to() {
            Some(basin) => {
                waste.add(&Parcel::of(passage.fed_back_l(basin), &self.headers[Header::Raw as usize]));
                let rest = self.through_basin(basin, waste, passage);
                // Nothing but rounding, unless the basin was all but empty.
                self.lose(&rest);
            }
            None => self.lose(&waste),
        }
        filled
    }

    /// Lets water through a well-mixed store that goes from one volume to another, gives some and loses some; returns what
    /// it gives.
    fn mix(
        &mut self,
        level: usize,
        inflow: &Parcel,
        (from_l, to_l): (f64, f64),
        (given_l, lost_l): (f64, f64),
    ) -> Parcel {
        let before = Parcel::of(from_l, &self.held[level]);
        let entering = inflow.concentration(&self.held[level]);
        let left = remaining(from_l, to_l, inflow.volume_l);
        for (held, c) in self.held[level].iter_mut().zip(&entering) {
            *held = c + (*held - c) * left;
        }
        let after = Parcel::of(to_l, &self.held[level]);
        let out_l = given_l + lost_l;
        let mut given = Parcel { volume_l: given_l, grams: [0.0; CARRIED] };
        for k in 0..CARRIED {
            let out_g = before.grams[k] + inflow.grams[k] - after.grams[k];
            let lost_g = if out_l > LEAST_L { out_g * lost_l / out_l } else { 0.0 };
            self.out_g[k] += lost_g;
            given.grams[k] = out_g - lost_g;
        }
        given
    }

    /// A header with a pressure tank on a tee: the tank takes what is to spare and gives what is short. Returns the
    /// concentration of what leaves the header.
    fn leave_header(&mut self, header: Header, level: usize, supplied: Parcel, passage: &Passage<'_>) -> Carried {
        let gain_l = passage.to[level] - passage.from[level];
        let mut blend = supplied;
        if gain_l < 0.0 {
            blend.add(&Parcel::of(-gain_l, &self.held[level]));
        }
        let leaving = blend.concentration(&self.headers[header as usize]);
        self.headers[header as usize] = leaving;
        if gain_l > 0.0 {
            let mut unkept = Parcel::of(passage.from[level], &self.held[level]);
            unkept.add(&Parcel::of(gain_l, &leaving));
            let share = gain_l / passage.to[level].max(gain_l);
            for (held, c) in self.held[level].iter_mut().zip(&leaving) {
                *held += share * (c - *held);
            }
            add_grams(&mut unkept.grams, &Parcel::of(passage.to[level], &self.held[level]).grams, -1.0);
            // Nothing but rounding, and what a tank that swings about empty would have had in less than no water.
            self.lose(&unkept);
        }
        leaving
    }

    /// Water to the outlets of a header, ahead of or behind its treatment.
    fn serve(&mut self, header: Header, treated: bool, passage: &Passage<'_>, water: &Carried) {
        for (i, outlet) in passage.hydraulics.plant.outlets.iter().enumerate() {
            if outlet.header == header && outlet.treated == treated && passage.demand.lps[i] > 0.0 {
                let parcel = Parcel::of(passage.outlet_l(i), water);
                self.salt_g[i] += parcel.grams[Constituent::Salt as usize];
                self.lose(&parcel);
            }
        }
    }

    /// Treats the water on a line; returns what it carries behind.
    fn treat(&mut self, header: Header, passage: &Passage<'_>, water: &Carried) -> Carried {
        let plant = passage.hydraulics.plant;
        let mut water = *water;
        if !plant.stages.iter().any(|stage| stage.header == header) {
            self.ends[header as usize] = water;
            return water;
        }
        let outlets = plant.outlets.iter().enumerate().filter(|(_, o)| o.header == header && o.treated);
        let fill_l = if header == Header::Raw { passage.ports[TAKEN] } else { 0.0 };
        let volume_l: f64 = outlets.map(|(i, _)| passage.outlet_l(i)).sum::<f64>() + fill_l;
        if volume_l <= 0.0 {
            return water;
        }
        let flow_lps = volume_l / passage.length.s();
        for (i, stage) in plant.stages.iter().enumerate().filter(|(_, stage)| stage.header == header) {
            let totals = &mut self.stages[i];
            if !in_line(i, &passage.mode.faults, passage.demand.washing[i]) {
                let by = if passage.mode.faults.bypassed[i] { &mut totals.bypassed_l } else { &mut totals.washing_l };
                *by += volume_l;
                continue;
            }
            if falls_short(stage, flow_lps, water[Constituent::Absorbance as usize], totals.lamp_h, passage.mode) {
                totals.under_l += volume_l;
            }
            let mut caught_share = 1.0;
            if let Some(catch) = stage.catch {
                let k = catch.constituent as usize;
                let wanted_g = 1e-3 * water[k] * (1.0 - stage.passes(flow_lps, totals.caught_g)) * volume_l;
                let grams = wanted_g.min(stage.room_g(totals.caught_g));
                if stage.is_spent(totals.caught_g) {
                    caught_share = 0.0;
                } else if wanted_g > grams {
                    caught_share = grams / wanted_g;
                }
                totals.caught_g += grams;
                self.removed_g[k] += grams;
                water[k] -= 1e3 * grams / volume_l;
            }
            totals.treated_l += caught_share * volume_l;
            totals.spent_l += (1.0 - caught_share) * volume_l;
        }
        self.ends[header as usize] = water;
        water
    }
}

/// Whether water gets less contact time than a bed needs, or less than the least dose of light.
pub(super) fn falls_short(stage: &Stage, flow_lps: f64, absorbance: f64, lamp_h: f64, mode: &Mode) -> bool {
    match &stage.kind {
        StageKind::Carbon(carbon) => carbon.contact_s(flow_lps) < carbon.contact_s,
        StageKind::Ultraviolet(unit) => {
            let dose = unit.dose_mj_cm2(flow_lps, stage.rated_lps, absorbance, lamp_h);
            !mode.has_power() || dose < unit.limit_mj_cm2
        }
        StageKind::Sediment | StageKind::IronFilter | StageKind::Softener => false,
    }
}

/// What has gone where from the start of a piece to an instant within it.
pub(super) struct Passage<'a> {
    pub hydraulics: &'a Hydraulics<'a>,
    pub mode: &'a Mode,
    pub demand: &'a Demand,
    pub ports: &'a Ports,
    pub from: &'a Levels,
    pub to: &'a Levels,
    pub length: Span,
}

impl Passage<'_> {
    /// The basin that takes what the membrane unit rejects.
    fn returned_to(&self) -> Option<usize> {
        self.hydraulics.reject_basin(self.mode)
    }

    fn outlet_l(&self, i: usize) -> f64 {
        self.demand.lps[i] * self.ports[SERVED + i]
    }

    fn supply_l(&self, i: usize, port: SupplyPort) -> f64 {
        self.ports[of_supply(i, port)]
    }

    /// Water that a supply gets from the raw header.
    fn fed_back_l(&self, i: usize) -> f64 {
        self.supply_l(i, SupplyPort::ToppedUp) + self.supply_l(i, SupplyPort::LeakedBack)
    }
}
