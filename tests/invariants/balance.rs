//! Water is neither made nor lost, no level leaves its tank, nothing is ever not a number, and a day takes bounded work.

use proptest::prelude::*;
use springhouse_core::engine::{Engine, Options, Report};
use springhouse_core::observe::{Observer, Sample};
use springhouse_core::plant::Plant;
use springhouse_core::supply::{MOST_SUPPLIES, Source};
use springhouse_core::time::{Span, Time};
use springhouse_tests::random::{CASE_LENGTH, Case, case};

/// A crossing is rounded up to a nanosecond, in which a tank moves by less than this.
const ROUNDING_L: f64 = 1e-6;
/// More pieces in a day than any sane plant needs: one a second for every control.
const MOST_WORK: u64 = 1_000_000;

struct Inside<'p> {
    plant: &'p Plant,
    rows: u64,
    last_l: [f64; MOST_SUPPLIES],
}

impl Observer for Inside<'_> {
    fn row(&mut self, sample: &Sample<'_>) {
        self.rows += 1;
        let values = [
            sample.raw_kpa,
            sample.storage_l,
            sample.delivery_kpa,
            sample.lowest_house_kpa,
            sample.totals.energy_j(),
            sample.totals.filled_l,
            sample.totals.drawn_l,
            sample.totals.taken_l,
            sample.totals.membrane.product_l,
            sample.membrane.loop_salt_mg_l,
            sample.membrane.product_salt_mg_l,
        ];
        let mut all = values.iter().chain(&sample.sources).chain(&sample.carried);
        assert!(all.all(|value| value.is_finite()), "not finite: {sample:?}");
        // Near a steady state the step is as long as stability allows, and levels swing within a few tolerances.
        let swing = 10.0 * Options::default().tolerance_l;
        assert!(sample.raw_kpa >= 0.0 && sample.delivery_kpa >= 0.0, "suction: {sample:?}");
        for (i, supply) in self.plant.supplies.iter().enumerate() {
            let within = match &supply.source {
                // A check valve that leaks back may raise the water over its standing level.
                Source::Well { well, .. } => f64::NEG_INFINITY..=well.intake_drawdown_m() + swing,
                // Its brim is kept as well as levels are where what runs in follows pressures, as a unit's reject does.
                Source::Basin { basin, .. } => -swing..=basin.capacity_l + swing,
                Source::TownLine(_) => 0.0..=0.0,
            };
            assert!(within.contains(&sample.sources[i]), "outside source {i}: {sample:?}");
            let given_l = sample.totals.supplies[i].pumped_l;
            // Where a starved pump's flow changes its law within a step, a port is held only as well as the levels are.
            assert!(
                given_l >= self.last_l[i] - 10.0 * swing,
                "pumped backwards by {} L: {sample:?}",
                self.last_l[i] - given_l
            );
            self.last_l[i] = given_l;
        }
        let capacity_l = self.plant.store.as_ref().map_or(0.0, |store| store.storage.capacity_l);
        assert!((-ROUNDING_L..=capacity_l + ROUNDING_L).contains(&sample.storage_l), "outside storage: {sample:?}");
        // Rounding, where hardly any water is left.
        assert!(sample.carried.iter().all(|c| *c >= -1e-6), "less than nothing in the water: {sample:?}");
    }
}

fn run(case: &Case) -> Report {
    let mut inside = Inside { plant: &case.plant, rows: 0, last_l: [0.0; _] };
    let options = Options { grid: Some(Span::from_s(37.0)), ..Options::default() };
    let draws = case.draws.iter().copied();
    let mut engine = Engine::start(&case.plant, &case.outside, draws, options, &mut inside).expect("starts");
    engine.run_until(Time::ZERO + CASE_LENGTH, &mut inside).expect("runs");
    assert_eq!(inside.rows, 86_400 / 37 + 1);
    engine.report()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, ..ProptestConfig::default() })]

    #[test]
    fn water_balance_closes(case in case()) {
        let report = run(&case);
        let ledger = &report.ledger;
        let most = 1e-9 * ledger.scale_l();
        prop_assert!(ledger.residual_l().abs() <= most, "residuals {:?} L", ledger.residuals_l());
        for (constituent, residual_g) in ledger.carried.residuals_g().into_iter().enumerate() {
            let most = 1e-9 * ledger.carried.scale_g(constituent);
            prop_assert!(residual_g.abs() <= most, "constituent {constituent}: {:?}", ledger.carried);
        }
        let work = report.tally.work;
        prop_assert!(work.segments + work.steps + work.rejected < MOST_WORK, "{work:?}");
    }

    #[test]
    fn no_outlet_gets_more_than_it_wants(case in case()) {
        let report = run(&case);
        for (i, totals) in report.totals.outlets.iter().enumerate() {
            let wanted_l: f64 = case
                .draws
                .iter()
                .filter(|draw| draw.outlet == i)
                .map(|draw| {
                    // What was drawn before the run is not its affair.
                    let wanted = draw.end.min(Time::ZERO + CASE_LENGTH) - draw.start.max(Time::ZERO);
                    draw.flow.lps() * wanted.max(Span::ZERO).s()
                })
                .sum();
            prop_assert!(totals.delivered_l >= 0.0 && totals.lost_l >= 0.0);
            // All that was wanted came, was lost, or is still waited for.
            let told_l = totals.delivered_l + totals.lost_l + report.waiting_l[i];
            // What comes to an outlet is held to the tolerance in each step, and steps add up.
            let steps = f64::from(u32::try_from(report.tally.work.steps).expect("some thousands"));
            let slack_l = steps.max(100.0) * Options::default().tolerance_l;
            prop_assert!((told_l - wanted_l).abs() <= slack_l, "outlet {i}: {told_l} of {wanted_l} L");
        }
    }
}
