//! The figures of the membrane unit.

use jiff::civil::Date;
use serde::Serialize;
use springhouse_core::engine::{MembraneReport, Report};
use springhouse_core::membrane::Membrane;
use springhouse_core::plant::Plant;
use springhouse_core::time::{Span, Time};

use super::{iso, kwh};

/// The membrane unit. All fresh feed is product for storage, product to waste, reject or flush.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MembraneSummary {
    /// Fresh feed, flushes included.
    pub feed_l: f64,
    /// Product that came into storage.
    pub product_l: f64,
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
    /// Times it was locked out.
    pub lock_outs: u64,
    /// Hours it was locked out.
    pub locked_out_hours: f64,
    /// When it first was, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub locked_out_at: Option<String>,
    /// Salt in the product that came into storage.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub product_salt_mg_l: Option<f64>,
    /// Salt in the reject.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reject_salt_mg_l: Option<f64>,
    /// Salt in the loop at the end.
    pub loop_salt_mg_l: f64,
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
    /// The day on which cleaning will be due if all goes on as in the run, ISO 8601. Indicative.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next_cleaning: Option<String>,
    /// Water taken with more free chlorine than a membrane bears, where there was some.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chlorinated_l: Option<f64>,
}

/// A cleaning further off than this is no plan. Our own choice: ten years.
const FARTHEST: Span = Span::from_ns(3_650 * Span::DAY.ns());

/// When a membrane that was clean when the run began has lost what may be lost, if it goes on as it did in the run; in the run
/// itself where it has lost more.
pub(crate) fn next_cleaning(lost_share: f64, now: Time) -> Option<Time> {
    let left_s = now.s() * (1.0 - lost_share) / lost_share;
    (lost_share > 0.0 && left_s <= FARTHEST.s()).then(|| now + Span::from_s(left_s))
}

/// A part over a whole; nothing where there is no whole.
fn over(part: f64, whole: f64) -> Option<f64> {
    (whole > 0.0).then(|| part / whole)
}

pub(super) fn membrane(plant: &Plant, first_day: Date, report: &Report) -> Option<MembraneSummary> {
    let (unit, end) = (plant.membrane.as_ref()?, report.membrane.as_ref()?);
    Some(summary(unit, end, first_day, report))
}

fn summary(membrane: &Membrane, end: &MembraneReport, first_day: Date, report: &Report) -> MembraneSummary {
    let (made, tally, carried) = (&report.totals.membrane, &report.tally.membrane, &end.carried);
    let feed_l = report.totals.taken_l;
    let product_l = report.totals.filled_l;
    // What came in while it made water.
    let fresh_l = feed_l - made.flushed_l;
    let (reject_l, vessel_feed_l) = (fresh_l - made.product_l, fresh_l + made.recycled_l);
    let mg_l = |grams: f64, litres: f64| over(1e3 * grams, litres);
    let passed = mg_l(made.product_salt_g, made.product_l).zip(mg_l(carried.feed_salt_g, fresh_l));
    let run_hours = made.run_s / 3_600.0;
    MembraneSummary {
        feed_l,
        product_l,
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
        lock_outs: tally.locked_out.count,
        locked_out_hours: tally.locked_out.total.s() / 3_600.0,
        locked_out_at: tally.locked_out.first.map(|time| iso(first_day, time)),
        product_salt_mg_l: mg_l(carried.stored_salt_g, product_l),
        reject_salt_mg_l: mg_l(carried.reject_salt_g, reject_l),
        loop_salt_mg_l: end.now.loop_salt_mg_l,
        rejection: passed.and_then(|(product, feed)| Some(1.0 - over(product, feed)?)),
        flux_l_m2_h: over(made.product_l, membrane.unit.area_m2() * run_hours),
        specific_kwh_per_m3: membrane.unit.pump.as_ref().and_then(|_| over(1e3 * kwh(made.pump_j), product_l)),
        water_share: end.fouling.water_factor,
        channel_times: end.fouling.loss_factor,
        next_cleaning: next_cleaning(end.fouling.share_of_interval(), report.time)
            .and_then(|time| Some(iso(first_day, time).split_once('T')?.0.to_owned())),
        chlorinated_l: Some(carried.chlorinated_l).filter(|litres| *litres > 0.0),
    }
}
