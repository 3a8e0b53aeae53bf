//! The supplies of a scenario: their words, sections and order.

use crate::sections::{ScenarioFile, SupplyWord};
use crate::source::Stretch;
use crate::typed::{At, word_of};

/// In the plant's order.
const ALL: [SupplyWord; 5] =
    [SupplyWord::Well, SupplyWord::SecondWell, SupplyWord::Cistern, SupplyWord::Pond, SupplyWord::TownLine];

impl SupplyWord {
    /// Those that a scenario has, in the plant's order.
    pub(crate) fn of(file: &ScenarioFile) -> Vec<Self> {
        ALL.into_iter().filter(|word| word.header(file).is_some()).collect()
    }

    /// What it is called in a scenario and in results.
    pub(crate) fn word(self) -> &'static str {
        word_of::<Self>(self as usize)
    }

    /// Its section.
    pub(crate) fn section(self) -> &'static str {
        match self {
            Self::Well => "well",
            Self::SecondWell => "second_well",
            Self::Cistern => "cistern",
            Self::Pond => "pond",
            Self::TownLine => "town_line",
        }
    }

    /// The section of its pump.
    pub(crate) fn pump(self) -> Option<&'static str> {
        match self {
            Self::Well => Some("well_pump"),
            Self::SecondWell => Some("second_well_pump"),
            Self::Cistern => Some("cistern.pump"),
            Self::Pond => Some("pond.pump"),
            Self::TownLine => None,
        }
    }

    /// The header of its section, where that is there.
    pub(crate) fn header(self, file: &ScenarioFile) -> Option<Stretch> {
        fn place<T>(section: Option<&At<T>>) -> Option<Stretch> {
            section.map(|at| at.place)
        }
        match self {
            Self::Well => place(file.well.as_ref()),
            Self::SecondWell => place(file.second_well.as_ref()),
            Self::Cistern => place(file.cistern.as_ref()),
            Self::Pond => place(file.pond.as_ref()),
            Self::TownLine => place(file.town_line.as_ref()),
        }
    }
}
