//! Times of lukewarm water, and who met them.

use springhouse_core::draw::Draw;
use springhouse_core::hot_water::follow::Spell;
use springhouse_core::hot_water::tap::{LUKEWARM_K, is_felt};
use springhouse_core::plant::Plant;

use crate::run::{RunError, RunOptions, household};

/// A time of lukewarm water.
#[derive(Clone, Debug, PartialEq)]
pub struct Lukewarm {
    /// Index of the heater.
    pub heater: usize,
    /// When it began and ended, how long the water ran lukewarm, and its coolest.
    pub spell: Spell,
    /// People of the building who drew water then that should have been warmer, by name, each once, in order of time; nobody
    /// where draws are told by schedule or log.
    pub who: Vec<String>,
}

/// Finds who met times of lukewarm water; in order of their starts.
pub(crate) fn with_people(
    plant: &Plant,
    options: &RunOptions,
    spells: Vec<(usize, Spell)>,
) -> Result<Vec<Lukewarm>, RunError> {
    let mut told: Vec<Lukewarm> =
        spells.into_iter().map(|(heater, spell)| Lukewarm { heater, spell, who: Vec::new() }).collect();
    told.sort_by_key(|it| (it.spell.start, it.heater));
    let Some(last) = told.iter().map(|it| it.spell.end).max() else { return Ok(told) };
    let Some(mut people) = household(options)? else { return Ok(told) };
    // The same draws that the run met: who draws is no part of a draw, and is asked for only here.
    let mut first = 0;
    while let Some(found) = people.next().filter(|found| found.draw.start < last) {
        let planner = people.planner();
        let home = planner.home(usize::from(found.home));
        let name = home.and_then(|home| home.people.get(usize::from(found.who))).map(|person| &person.name);
        // What is over before this draw starts meets no later one.
        while told.get(first).is_some_and(|it| it.spell.end <= found.draw.start) {
            first += 1;
        }
        let began = told.iter_mut().skip(first).take_while(|it| it.spell.start < found.draw.end);
        for it in began.filter(|it| meets(plant, it, &found.draw)) {
            it.who.extend(name.filter(|name| !it.who.contains(name)).cloned());
        }
    }
    Ok(told)
}

/// Whether a draw was cooler than wanted in a time of lukewarm water that began before it ends.
fn meets(plant: &Plant, lukewarm: &Lukewarm, draw: &Draw) -> bool {
    let serves = plant.hot_water.heaters.get(lukewarm.heater).is_some_and(|heater| heater.outlet == draw.outlet);
    let wanted_c = draw.warmth.temp_c().filter(|_| is_felt(draw));
    let misses = wanted_c.is_some_and(|wanted_c| wanted_c - LUKEWARM_K > lukewarm.spell.coolest_c);
    serves && misses && draw.start < lukewarm.spell.end
}
