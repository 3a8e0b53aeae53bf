//! What a turn of the valves is worth.

use serde::Serialize;
use springhouse_core::membrane::valve::{ValveReading, Valves};

use super::judge::Judge;
use super::point::{Point, Work};
use super::question::{Question, TuneError};
use super::season::Season;

/// The part of the reject flow that is moved to the recycle.
const MOVED: f64 = 0.1;

/// What two changes of flows do to the unit as it is set now, in typical water.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sensitivity {
    /// The unit as it is set.
    pub present: Point,
    /// Twice the recycle flow at the same reject flow; `None` where nothing is recycled or the pump cannot do it.
    pub recycle_doubled: Option<Change>,
    /// A tenth of the reject flow is recycled instead; `None` where the pump cannot do it.
    pub reject_to_recycle: Option<Change>,
}

/// What a change of flows does. Shares are changes over what was there before: 0.1 is a tenth more.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Change {
    /// The unit afterwards.
    pub to: Point,
    /// Of the product flow.
    pub product_share: f64,
    /// Of the reject for each litre of product.
    pub waste_share: f64,
    /// Of the pump's power; zero without a pump.
    pub pump_power_share: f64,
    /// Of the pump's energy for a cubic metre of product; zero without a pump.
    pub energy_share: f64,
    /// Of the salt in the product; zero where it has none.
    pub product_salt_share: f64,
    /// Of the salt at the tail; zero where it has none.
    pub reject_salt_share: f64,
}

/// What doubling the recycle and moving flow from reject to recycle would do.
///
/// # Errors
/// When the question cannot be answered or the unit makes no product as it is set.
pub fn sensitivity(question: &Question) -> Result<Sensitivity, TuneError> {
    question.check()?;
    let judge = Judge::of(question);
    let present = judge.point(question.unit.valves, Season::Typical);
    let work = present.work.ok_or(TuneError::NoProduct)?;
    let change = |reject_lps: f64, recycle_lps: f64| {
        let to = with_flows(&judge, question, &present, (reject_lps, recycle_lps))?;
        Some(changed(&work, to.work.as_ref()?, &to))
    };
    let moved_lps = MOVED * work.reject_lps;
    let recycles = question.unit.pump.is_some();
    Ok(Sensitivity {
        present,
        recycle_doubled: change(work.reject_lps, 2.0 * work.recycle_lps).filter(|_| work.recycle_lps > 0.0),
        reject_to_recycle: change(work.reject_lps - moved_lps, work.recycle_lps + moved_lps).filter(|_| recycles),
    })
}

fn changed(from: &Work, to: &Work, point: &Point) -> Change {
    let share = |of: fn(&Work) -> f64| if of(from) > 0.0 { of(to) / of(from) - 1.0 } else { 0.0 };
    Change {
        to: *point,
        product_share: share(|work| work.product_lps),
        waste_share: share(|work| work.waste_l_per_l),
        pump_power_share: share(|work| work.pump_w),
        energy_share: share(|work| work.kwh_per_m3),
        product_salt_share: share(|work| work.product_salt_mg_l),
        reject_salt_share: share(|work| work.reject_salt_mg_l),
    }
}

/// How closely flows are met, and how often valves are corrected for it.
const CLOSE: f64 = 1e-10;
const MOST_CORRECTIONS: u32 = 300;

/// The unit with its valves set so that these flows of reject and recycle are read; `None` where no setting gives them.
///
/// Valves are set for the pressure that was found with the last setting, halfway each time: pressure falls as valves open, and
/// going all the way would overshoot on a steep pump curve.
fn with_flows(judge: &Judge<'_>, question: &Question, from: &Point, wanted_lps: (f64, f64)) -> Option<Point> {
    let mut point = *from;
    for _ in 0..MOST_CORRECTIONS {
        let work = point.work.as_ref()?;
        let off = |found: f64, wanted: f64| (found - wanted).abs() > CLOSE * wanted;
        if !off(work.reject_lps, wanted_lps.0) && !off(work.recycle_lps, wanted_lps.1) {
            return Some(point);
        }
        let reading = ValveReading {
            reject_lps: wanted_lps.0,
            recycle_lps: wanted_lps.1,
            concentrate_kpa: work.concentrate_kpa,
            suction_kpa: point.inlet_kpa,
            drain_kpa: question.unit.drain_kpa,
        };
        let (set, last) = (reading.valves()?, point.valves);
        let halfway = Valves {
            reject_kv: 0.5 * (set.reject_kv + last.reject_kv),
            recycle_kv: 0.5 * (set.recycle_kv + last.recycle_kv),
        };
        point = judge.point(halfway, Season::Typical);
    }
    None
}

#[cfg(test)]
mod tests {
    use springhouse_core::pump::PumpCurve;

    use super::super::fixtures;
    use super::*;

    #[test]
    fn exact_flows_are_those_asked_for() {
        let question = fixtures::home();
        let found = sensitivity(&question).unwrap();
        let before = found.present.work.unwrap();
        let doubled = found.recycle_doubled.unwrap().to.work.unwrap();
        assert!((doubled.recycle_lps / before.recycle_lps - 2.0).abs() < 1e-9);
        assert!((doubled.reject_lps / before.reject_lps - 1.0).abs() < 1e-9);
        let moved = found.reject_to_recycle.unwrap().to.work.unwrap();
        assert!((moved.reject_lps / before.reject_lps - 0.9).abs() < 1e-9);
        let concentrate_lps = |work: &Work| work.reject_lps + work.recycle_lps;
        assert!((concentrate_lps(&moved) / concentrate_lps(&before) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn regress_facts_of_the_trade() {
        let found = sensitivity(&fixtures::home()).unwrap();
        let (doubled, moved) = (found.recycle_doubled.unwrap(), found.reject_to_recycle.unwrap());
        // Twice the recycle saves no water: the pump gives more flow at less head, so there is a little less product.
        assert!((0.0..0.05).contains(&doubled.waste_share), "{doubled:#?}");
        assert!((0.02..0.10).contains(&doubled.pump_power_share), "{doubled:#?}");
        assert!((0.02..0.10).contains(&doubled.product_salt_share), "{doubled:#?}");
        // A tenth of the reject moved to the recycle is a tenth less waste, and as much salt in less reject.
        assert!((-0.11..-0.08).contains(&moved.waste_share), "{moved:#?}");
        assert!((0.03..0.10).contains(&moved.reject_salt_share), "{moved:#?}");
        assert!(moved.product_share.abs() < 0.01 && moved.pump_power_share.abs() < 0.01, "{moved:#?}");
    }

    #[test]
    fn regress_on_a_flat_pump_curve_recycle_alone_changes_no_waste() {
        let mut question = fixtures::home();
        if let Some(pump) = &mut question.unit.pump {
            pump.curve = PumpCurve::Parabola { shutoff_m: 65.0, loss_m_per_lps2: 0.1 };
        }
        let doubled = sensitivity(&question).unwrap().recycle_doubled.unwrap();
        // What is left is the loss along the channels and the salt that came back.
        assert!((0.0..0.01).contains(&doubled.waste_share), "{doubled:#?}");
    }

    #[test]
    fn without_a_pump_nothing_is_recycled() {
        let found = sensitivity(&fixtures::without_pump()).unwrap();
        assert_eq!((found.recycle_doubled, found.reject_to_recycle), (None, None));
    }
}
