//! How far valves of a unit are worth opening: from all but shut to where the pump runs out, or hardly anything is recovered and
//! crossflow is ample.

use springhouse_core::membrane::valve::Valves;

use super::judge::Judge;
use super::point::Work;
use super::question::TuneError;
use super::season::Season;

/// Least recovery that is looked at; less where a single element may not recover more than that.
const LEAST_RECOVERY: f64 = 0.2;
/// The part of an element's most recovery that is looked at too.
const BELOW_ELEMENT: f64 = 0.8;
/// Ample crossflow, as a multiple of the least of the design.
const AMPLE: f64 = 1.25;
/// Product over reject at the most recovery that is looked at, 95 %.
const MOST_PRODUCT_SHARE: f64 = 19.0;
/// How much finer recycle is divided near shut than near fully open.
const FINER: f64 = 64.0;
/// All but shut for any unit, L/s at 1 kPa, and how often that is doubled in search of a bound: to 859, wider than any valve of a
/// unit and within what a setting may be.
const ALL_BUT_SHUT_KV: f64 = 1e-7;
const MOST_DOUBLINGS: u32 = 33;
/// Halvings of the step in which a bound is found: to a tenth of a per cent.
const HALVINGS: u32 = 10;

/// A place on the map: 0 is least open, 1 most open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Place {
    pub(super) reject: f64,
    pub(super) recycle: f64,
}

/// The openings that a map spans.
#[derive(Clone, Copy, Debug)]
pub(super) struct Axes {
    /// Least and most opening of the reject valve, L/s at 1 kPa,
    reject: (f64, f64),
    /// and of the recycle valve.
    recycle: (f64, f64),
}

impl Axes {
    pub(super) fn of(judge: &Judge<'_>) -> Result<Self, TuneError> {
        let question = judge.question;
        let least_recovery = LEAST_RECOVERY.min(BELOW_ELEMENT * judge.design().most_recovery);
        let ample_lps = AMPLE * judge.design().least_concentrate_lps;
        let runs_out = |work: &Work| judge.most_pump_lps().is_some_and(|most| work.vessel_feed_lps >= most);
        let wide = |reject_kv: f64, season: Season| {
            let found = judge.point(Valves { reject_kv, recycle_kv: 0.0 }, season).work;
            found.is_none_or(|work| {
                runs_out(&work) || (work.recovery <= least_recovery && work.vessel_concentrate_lps >= ample_lps)
            })
        };
        let most_reject_kv =
            Season::ALL.map(|season| bound(|kv| wide(kv, season))).into_iter().fold(ALL_BUT_SHUT_KV, f64::max);
        let widest = Season::ALL
            .into_iter()
            .filter_map(|season| judge.point(Valves { reject_kv: 0.5 * most_reject_kv, recycle_kv: 0.0 }, season).work)
            .max_by(|a, b| a.product_lps.total_cmp(&b.product_lps))
            .ok_or(TuneError::NoProduct)?;
        // With the reject shut further there is more pressure, hence more product and more recovery than this counts on.
        let lift_kpa = question.unit.pump.as_ref().map_or(0.0, |pump| {
            springhouse_core::water::Water::at(question.temp_c.coldest).pressure_kpa(pump.curve.shutoff_m())
        });
        let most_kpa = question.suction.typical.rest_kpa + lift_kpa - question.unit.drain_kpa;
        let least_lps = widest.product_lps / MOST_PRODUCT_SHARE;
        let least_reject_kv = (least_lps / most_kpa.max(1.0).sqrt()).min(0.25 * most_reject_kv);
        let recycle = if question.unit.pump.is_some() {
            let over = |recycle_kv: f64| {
                let found = judge.point(Valves { reject_kv: least_reject_kv, recycle_kv }, Season::Typical).work;
                found.is_none_or(|work| runs_out(&work))
            };
            (0.0, bound(over))
        } else {
            // Nothing flows back without a pump, so the valve may stay as it is.
            (question.unit.valves.recycle_kv, question.unit.valves.recycle_kv)
        };
        Ok(Self { reject: (least_reject_kv, most_reject_kv), recycle })
    }

    /// Whether recycle can be set at all.
    pub(super) fn recycles(&self) -> bool {
        self.recycle.0 < self.recycle.1
    }

    /// The place of an opening of the recycle valve; `None` where it lies outside of what is spanned.
    pub(super) fn recycle_place(&self, recycle_kv: f64) -> Option<f64> {
        let (shut, most) = self.recycle;
        let share = (recycle_kv - shut) / (most - shut);
        (0.0..=1.0).contains(&share).then(|| libm::log1p(share * (FINER - 1.0)) / libm::log(FINER))
    }

    /// The valves at a place: the reject's openings rise by the same factor from step to step, and so do those of the recycle
    /// but near shut.
    pub(super) fn valves(&self, place: Place) -> Valves {
        let Self { reject: (least, widest), recycle: (shut, most) } = *self;
        let risen = |factor: f64, share: f64| libm::exp(share * libm::log(factor));
        let share = (risen(FINER, place.recycle) - 1.0) / (FINER - 1.0);
        Valves { reject_kv: least * risen(widest / least, place.reject), recycle_kv: shut + (most - shut) * share }
    }
}

/// The least opening at which something holds that holds for all that are wider.
fn bound(holds: impl Fn(f64) -> bool) -> f64 {
    let mut high = ALL_BUT_SHUT_KV;
    for _ in 0..MOST_DOUBLINGS {
        if holds(high) {
            break;
        }
        high *= 2.0;
    }
    let mut low = 0.5 * high;
    for _ in 0..HALVINGS {
        let middle = (low * high).sqrt();
        if holds(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::super::fixtures;
    use super::*;

    #[test]
    fn a_bound_that_never_comes_can_still_be_set() {
        assert!((500.0..=1_000.0).contains(&bound(|_| false)));
    }

    #[test]
    fn exact_bounds_are_where_they_say() {
        let question = fixtures::home();
        let judge = Judge::of(&question);
        let axes = Axes::of(&judge).unwrap();
        let least = axes.valves(Place { reject: 0.0, recycle: 0.0 });
        let most = axes.valves(Place { reject: 1.0, recycle: 0.0 });
        assert_eq!((least.recycle_kv, most.recycle_kv), (0.0, 0.0));
        let recovery = |valves, season| judge.point(valves, season).work.unwrap().recovery;
        assert!(Season::ALL.into_iter().all(|season| recovery(least, season) > 0.9));
        let at_most = Season::ALL.map(|season| recovery(most, season));
        assert!(
            at_most.iter().all(|recovery| *recovery < 0.2) || {
                let feed = judge.point(most, Season::Warmest).work.unwrap().vessel_feed_lps;
                feed >= judge.most_pump_lps().unwrap()
            }
        );
        let all_back = judge.point(axes.valves(Place { reject: 0.0, recycle: 1.0 }), Season::Typical).work.unwrap();
        // The bound is found to a tenth of a per cent of the opening.
        assert!((all_back.vessel_feed_lps / judge.most_pump_lps().unwrap() - 1.0).abs() < 1e-3, "{all_back:?}");
    }

    #[test]
    fn exact_openings_rise_by_the_same_factor() {
        let axes = Axes { reject: (1e-4, 1e-2), recycle: (0.0, 0.063) };
        let middle = axes.valves(Place { reject: 0.5, recycle: 0.5 });
        assert!((middle.reject_kv - 1e-3).abs() < 1e-15);
        // (8 - 1) / (64 - 1) of the most.
        assert!((middle.recycle_kv - 0.007).abs() < 1e-15);
        assert!((axes.recycle_place(0.007).unwrap() - 0.5).abs() < 1e-14);
        assert_eq!(axes.recycle_place(0.07), None);
    }

    #[test]
    fn without_a_pump_recycle_stays_as_it_is() {
        let question = fixtures::without_pump();
        let axes = Axes::of(&Judge::of(&question)).unwrap();
        assert!(!axes.recycles());
        assert_eq!(axes.valves(Place { reject: 0.3, recycle: 0.7 }).recycle_kv, question.unit.valves.recycle_kv);
    }
}
