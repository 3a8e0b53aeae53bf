//! A question with all of its answers.

use serde::Serialize;

use super::advise::{Advice, Aim, advise};
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
    /// How to get there from the present setting.
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
        let steps = steps(&question, advice.valves)?;
        let at = |season: Season| map(&question, *question.temp_c.get(season));
        let maps =
            Seasons { coldest: at(Season::Coldest)?, typical: at(Season::Typical)?, warmest: at(Season::Warmest)? };
        Ok(Self {
            sensitivity: match sensitivity(&question) {
                Ok(found) => Some(found),
                Err(TuneError::NoProduct) => None,
                Err(error) => return Err(error),
            },
            picture: picture(&question, &advice, &steps, product_unit_l_day)?,
            maps,
            steps,
            advice,
            question,
        })
    }
}
