//! The figures of the membrane unit.

use jiff::civil::Date;
use serde::Serialize;
use springhouse_core::engine::{MembraneReport, Report};
use springhouse_core::membrane::Membrane;
use springhouse_core::plant::Plant;
use springhouse_core::time::{Span, Time};

use super::{iso, kwh};

/// The membrane unit. All fresh feed is product for storage, product to waste, reject or flush; its salt goes the same ways, or
/// stays in the unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MembraneSummary {
    /// Fresh feed, flushes included.
    pub feed_l: f64,
    /// Product that came into storage.
    pub product_l: f64,
    /// Water of the raw line that went past it into storage, where a blend is set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub blended_l: Option<f64>,
    /// Product that went to waste in the first minutes after a start.
    pub diverted_l: f64,
    /// Concentrate that left the unit while it made water.
    pub reject_l: f64,
    /// Water that flushes took.
    pub flushed_l: f64,
    /// Concentrate that went back to the suction.
    pub recycle_l: f64,
    /// Feed of the vessels: fresh and recycled, while it made water.
    pub vessel_feed_l: f64,
    /// Product into storage over all fresh feed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub recovery: Option<f64>,
    /// All product over the feed of the vessels.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vessel_recovery: Option<f64>,
    /// Hours it made water.
    pub run_hours: f64,
    /// Times it started.
    pub starts: u64,
    /// Times too little pressure at its suction stopped it.
    pub trips: u64,
    /// The first of them, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first_trip_at: Option<String>,
    /// Most of them in one calendar day.
    pub most_trips_in_a_day: u64,
    /// Times it was locked out.
    pub lock_outs: u64,
    /// Hours it was locked out.
    pub locked_out_hours: f64,
    /// When it first was, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub locked_out_at: Option<String>,
    /// Salt in the product that came into storage, as it left the membrane: before calcite and what is blended.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub product_salt_mg_l: Option<f64>,
    /// Salt in the reject.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reject_salt_mg_l: Option<f64>,
    /// Salt in the loop at the end.
    pub loop_salt_mg_l: f64,
    /// Salt in the fresh feed, flushes included.
    pub feed_salt_g: f64,
    /// Salt in the product that came into storage, likewise.
    pub product_salt_g: f64,
    /// Salt in the product that went to waste.
    pub diverted_salt_g: f64,
    /// Salt in the reject.
    pub reject_salt_g: f64,
    /// Salt that flushes carried out.
    pub flushed_salt_g: f64,
    /// Salt that the loop and the product side hold at the end beyond what they held at the start.
    pub salt_gain_g: f64,
    /// Calcite that dissolved in the product on its way to storage, where there is a bed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calcite_kg: Option<f64>,
    /// Part of the bed that is left at the end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calcite_left_share: Option<f64>,
    /// One less the salt of all product, as it left the membrane, over that of the fresh feed it was made from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rejection: Option<f64>,
    /// Mean flow of product through each square metre while it made water.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flux_l_m2_h: Option<f64>,
    /// Energy of its pump for each cubic metre that came into storage, where it has a pump.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub specific_kwh_per_m3: Option<f64>,
    /// Permeability to water at the end, as a share of that of a new membrane.
    pub water_share: f64,
    /// Loss of head in its channels at the end, over that of a new membrane.
    pub channel_times: f64,
    /// Times it was cleaned.
    pub cleanings: u64,
    /// When it last was, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub last_cleaned_at: Option<String>,
    /// Since when cleaning has been due at the end, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cleaning_due_at: Option<String>,
    /// The day on which cleaning will be due if all goes on as in the run, or has been due, ISO 8601. Indicative.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next_cleaning: Option<String>,
    /// Water taken with more free chlorine than a membrane bears, where there was some.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chlorinated_l: Option<f64>,
}

/// A cleaning further off than this is no plan. Our own choice: ten years.
const FARTHEST: Span = Span::from_ns(3_650 * Span::DAY.ns());

/// How fast a membrane fouls: what it lost in a run, clean as that began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Wear {
    /// In parts of what may be lost between two cleanings: since the last one, and in all of the run.
    since: f64,
    in_all: f64,
    /// Since when cleaning has been due.
    due: Option<Time>,
    now: Time,
}

impl Wear {
    pub(crate) fn of(end: &MembraneReport, report: &Report) -> Self {
        let (tally, since) = (&report.tally.membrane, end.fouling.share_of_interval());
        Self { since, in_all: tally.lost_before + since, due: tally.cleaning_due.since, now: report.time }
    }

    /// How long it takes from one cleaning to the next.
    pub(crate) fn interval(&self) -> Option<Span> {
        let interval_s = self.now.s() / self.in_all;
        (self.in_all > 0.0 && interval_s <= FARTHEST.s()).then(|| Span::from_s(interval_s))
    }

    /// When cleaning is due if all goes on as in the run, or since when it has been.
    pub(crate) fn next_cleaning(&self) -> Option<Time> {
        let left_s = self.now.s() * (1.0 - self.since) / self.in_all;
        let foretold = || (self.in_all > 0.0 && left_s <= FARTHEST.s()).then(|| self.now + Span::from_s(left_s));
        self.due.or_else(foretold)
    }
}

/// A part over a whole; nothing where there is no whole.
fn over(part: f64, whole: f64) -> Option<f64> {
    (whole > 0.0).then(|| part / whole)
}

pub(super) fn membrane(plant: &Plant, first_day: Date, report: &Report) -> Option<MembraneSummary> {
    let (unit, end) = (plant.membrane.as_ref()?, report.membrane.as_ref()?);
    Some(summary(unit, end, first_day, report))
}

/// Part of the bed of calcite that is left, where there is one.
pub(crate) fn calcite_left_share(membrane: &Membrane, end: &MembraneReport) -> Option<f64> {
    let bed = membrane.calcite.as_ref()?;
    over(bed.start_kg - 1e-3 * end.carried.calcite_g, bed.start_kg)
}

fn summary(membrane: &Membrane, end: &MembraneReport, first_day: Date, report: &Report) -> MembraneSummary {
    let (made, tally, carried) = (&report.totals.membrane, &report.tally.membrane, &end.carried);
    let feed_l = report.totals.membrane_feed_l();
    let product_l = report.totals.membrane_stored_l();
    let bed = membrane.calcite.as_ref();
    // What came in while it made water.
    let fresh_l = feed_l - made.flushed_l;
    let (reject_l, vessel_feed_l) = (fresh_l - made.product_l, fresh_l + made.recycled_l);
    let mg_l = |grams: f64, litres: f64| over(1e3 * grams, litres);
    let passed = mg_l(made.product_salt_g, made.product_l).zip(mg_l(carried.feed_salt_g, fresh_l));
    let run_hours = made.run_s / 3_600.0;
    MembraneSummary {
        feed_l,
        product_l,
        blended_l: membrane.blend.map(|_| made.blended_l),
        diverted_l: made.diverted_l,
        reject_l,
        flushed_l: made.flushed_l,
        recycle_l: made.recycled_l,
        vessel_feed_l,
        recovery: over(product_l, feed_l),
        vessel_recovery: over(made.product_l, vessel_feed_l),
        run_hours,
        starts: tally.starts,
        trips: tally.trips,
        first_trip_at: tally.first_trip.map(|time| iso(first_day, time)),
        most_trips_in_a_day: tally.trips_by_day.most,
        lock_outs: tally.locked_out.count,
        locked_out_hours: tally.locked_out.total.s() / 3_600.0,
        locked_out_at: tally.locked_out.first.map(|time| iso(first_day, time)),
        product_salt_mg_l: mg_l(carried.stored_salt_g, product_l),
        reject_salt_mg_l: mg_l(carried.reject_salt_g, reject_l),
        loop_salt_mg_l: end.now.loop_salt_mg_l,
        feed_salt_g: carried.feed_salt_g + carried.flush_feed_salt_g,
        product_salt_g: carried.stored_salt_g,
        diverted_salt_g: carried.diverted_salt_g,
        reject_salt_g: carried.reject_salt_g,
        flushed_salt_g: carried.flushed_salt_g,
        salt_gain_g: end.held_salt_g - carried.start_salt_g,
        calcite_kg: bed.map(|_| 1e-3 * carried.calcite_g),
        calcite_left_share: calcite_left_share(membrane, end),
        rejection: passed.and_then(|(product, feed)| Some(1.0 - over(product, feed)?)),
        flux_l_m2_h: over(made.product_l, membrane.unit.area_m2() * run_hours),
        specific_kwh_per_m3: membrane.unit.pump.as_ref().and_then(|_| over(1e3 * kwh(made.pump_j), product_l)),
        water_share: end.fouling.water_factor,
        channel_times: end.fouling.loss_factor,
        cleanings: tally.cleanings,
        last_cleaned_at: tally.last_cleaned.map(|time| iso(first_day, time)),
        cleaning_due_at: tally.cleaning_due.since.map(|time| iso(first_day, time)),
        next_cleaning: Wear::of(end, report)
            .next_cleaning()
            .and_then(|time| Some(iso(first_day, time).split_once('T')?.0.to_owned())),
        chlorinated_l: Some(carried.chlorinated_l).filter(|litres| *litres > 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_wear_tells_the_next_cleaning() {
        let days = |days: i64| Time::from_day(days);
        let wear = |since: f64, in_all: f64| Wear { since, in_all, due: None, now: days(12) };
        // Half an interval in 12 days, clean at their start.
        let half = wear(0.5, 0.5);
        assert_eq!((half.interval(), half.next_cleaning()), (Some(days(24) - Time::ZERO), Some(days(24))));
        // An interval and a half, the last half of one since a cleaning: four days to go.
        let cleaned = wear(0.5, 1.5);
        assert_eq!((cleaned.interval(), cleaned.next_cleaning()), (Some(days(8) - Time::ZERO), Some(days(16))));
        let due = Wear { due: Some(days(9)), ..wear(1.25, 1.25) };
        assert_eq!(due.next_cleaning(), Some(days(9)));
        // Nothing lost, or next to nothing, foretells none.
        assert_eq!((wear(0.0, 0.0).interval(), wear(0.0, 0.0).next_cleaning()), (None, None));
        assert_eq!(wear(1e-4, 1e-4).next_cleaning(), None);
    }
}
