//! What cures scale that no setting of the valves keeps off.

use serde::Serialize;
use springhouse_core::scaling::{LargestFactors, Limits as Scaling};

use super::advise::{Advice, advise};
use super::limit::Limits;
use super::question::{Question, TuneError};
use super::season::Season;

/// What scale takes that no valve gives.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cure {
    /// What leaves scale at every setting.
    pub scale: Limits,
    /// Waste at which the reject would be within its limits in every season, as far as scale goes, L/L; `None` where the feed
    /// leaves scale as it is.
    pub without_l_per_l: Option<f64>,
    /// How the valves could be set with an antiscalant; `None` where one is dosed, or does not help.
    pub with_antiscalant: Option<Box<Advice>>,
}

impl Cure {
    /// What there is to be said of scale that nothing keeps off; `None` where some setting does.
    pub(super) fn of(question: &Question, advice: &Advice) -> Result<Option<Self>, TuneError> {
        let alone = advice.conflicts.iter().filter(|group| group.len() == 1);
        let scale: Limits = alone.flat_map(|group| group.iter()).filter(|limit| limit.is_scale()).collect();
        if scale.is_empty() {
            return Ok(None);
        }
        let with_antiscalant = if question.antiscalant {
            None
        } else {
            let dosed = advise(&Question { antiscalant: true, ..question.clone() }, advice.aim)?;
            dosed.within_limits.then(|| Box::new(dosed))
        };
        Ok(Some(Self { scale, without_l_per_l: without_l_per_l(question), with_antiscalant }))
    }
}

/// The least waste at which no limit of scaling is exceeded in any season.
fn without_l_per_l(question: &Question) -> Option<f64> {
    let limits = if question.antiscalant { Scaling::ANTISCALANT } else { Scaling::UNTREATED };
    let mut least = f64::INFINITY;
    for season in Season::ALL {
        let analysis = question
            .analysis
            .map(|analysis| springhouse_core::scaling::Analysis { temp_c: *question.temp_c.get(season), ..analysis })?;
        let LargestFactors { lsi, gypsum, silica } = limits.largest_factors(&analysis, 1.0);
        least = least.min(lsi?).min(gypsum?).min(silica?);
    }
    (least > 1.0).then(|| 1.0 / (least - 1.0))
}

#[cfg(test)]
mod tests {
    use super::super::{Aim, Limit, fixtures};
    use super::*;

    #[test]
    fn exact_water_that_scales_as_it_is_needs_an_antiscalant() {
        let question = Question { antiscalant: false, ..fixtures::home() };
        let advice = advise(&question, Aim::Enough).unwrap();
        let cure = Cure::of(&question, &advice).unwrap().unwrap();
        assert_eq!((cure.scale, cure.without_l_per_l), (Limits::NONE.with(Limit::Calcite), None));
        // With one it is the question of the fixture.
        let dosed = advise(&fixtures::home(), Aim::Enough).unwrap();
        assert_eq!(cure.with_antiscalant.map(|advice| advice.valves), Some(dosed.valves));
        assert_eq!(Cure::of(&fixtures::home(), &dosed).unwrap(), None);
    }
}
