//! People whose draws are made by the year.

use jiff::civil::date;
use springhouse_core::time::Time;
use springhouse_draws::household::{Home, Household, HouseholdStream, Person, PersonKind};

/// By which `benches/instructions.sh` calls it.
pub const HOUSEHOLD_YEAR: &str = "household-year";

/// Four adults and two children in a typical home.
#[must_use]
pub fn six_people() -> Household {
    let kinds = [PersonKind::Adult; 4].into_iter().chain([PersonKind::Child; 2]);
    let people = kinds.enumerate().map(|(i, kind)| Person::typical(&format!("person {i}"), kind)).collect();
    Household { seed: 1, run: 0, first_day: date(2027, 3, 1), homes: vec![Home::typical("house", 0, people)] }
}

/// How many draws six people make in so many days, each made and dropped.
///
/// # Panics
/// If the household of this repository is refused.
#[must_use]
pub fn draws_of_six_people(days: u32) -> usize {
    let stream = HouseholdStream::new(&six_people(), 0).expect("a sound household");
    stream.take_while(|draw| draw.draw.start < Time::from_day(days.into())).map(core::hint::black_box).count()
}
