//! A question with all of its answers.

use serde::Serialize;

use super::advise::{Advice, Aim, advise};
use super::cure::Cure;
use super::feeding::Feeding;
use super::map::{Map, map};
use super::picture::{Picture, picture};
use super::question::{Question, TuneError};
use super::season::{Season, Seasons};
use super::sensitivity::{Sensitivity, sensitivity};
use super::steps::{Step, steps};

/// Everything that is told of a unit's valves.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tuning {
    /// What was asked.
    pub question: Question,
    /// The setting that serves the aim.
    pub advice: Advice,
    /// What other aims would have, where this one can be had within limits.
    pub others: Vec<Advice>,
    /// What cures scale that no setting keeps off.
    pub cure: Option<Cure>,
    /// Whether what feeds the unit can.
    pub feeding: Option<Feeding>,
    /// How to get from the present setting to [what is told](Self::told); none where both are the same, or nothing known keeps
    /// scale off.
    pub steps: Vec<Step>,
    /// What a turn is worth; `None` where the unit makes no product as it is set.
    pub sensitivity: Option<Sensitivity>,
    /// Settings of both valves, season by season.
    pub maps: Seasons<Map>,
    /// What is to be drawn.
    pub picture: Picture,
}

impl Tuning {
    /// Answers a question; `product_unit_l_day` is the unit in which lines of equal product are to be round.
    ///
    /// # Errors
    /// When the question cannot be answered.
    pub fn of(question: Question, aim: Aim, product_unit_l_day: f64) -> Result<Self, TuneError> {
        let advice = advise(&question, aim)?;
        let cure = Cure::of(&question, &advice)?;
        let dosed = cure.as_ref().and_then(|cure| cure.with_antiscalant.as_deref());
        // What is told and drawn is what to do, so with an antiscalant where that is what it takes.
        let told = Question { antiscalant: question.antiscalant || dosed.is_some(), ..question.clone() };
        let target = dosed.unwrap_or(&advice);
        let steps = if cure.is_none() || dosed.is_some() { steps(&told, target.valves)? } else { Vec::new() };
        let picture = picture(&told, target, &steps, product_unit_l_day)?;
        let feeding = Feeding::of(&told, target);
        let others = if advice.within_limits {
            let others = Aim::ALL.into_iter().filter(|other| *other != aim);
            others.map(|other| advise(&question, other)).collect::<Result<Vec<_>, _>>()?
        } else {
            Vec::new()
        };
        let at = |season: Season| map(&question, *question.temp_c.get(season));
        let maps =
            Seasons { coldest: at(Season::Coldest)?, typical: at(Season::Typical)?, warmest: at(Season::Warmest)? };
        Ok(Self {
            sensitivity: match sensitivity(&question) {
                Ok(found) => Some(found),
                Err(TuneError::NoProduct) => None,
                Err(error) => return Err(error),
            },
            picture,
            feeding,
            maps,
            others,
            cure,
            steps,
            advice,
            question,
        })
    }

    /// The advice to be told: with an antiscalant where no setting keeps scale off without.
    #[must_use]
    pub fn told(&self) -> &Advice {
        self.cure.as_ref().and_then(|cure| cure.with_antiscalant.as_deref()).unwrap_or(&self.advice)
    }
}
