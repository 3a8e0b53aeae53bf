//! Whether a laboratory's sheet can be believed, and agrees with what its supply is said to carry.

use springhouse_core::scaling::{Analysis, Balance};

use crate::assemble::analysis;
use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::quantity::{Concentration, Quantity as _};
use crate::sections::{ScenarioFile, SupplyWord};
use crate::source::Stretch;
use crate::typed::{At, Reader};

/// Dissolved solids of a supply and of its analysis may differ by so much: samples of two days do.
const MOST_SALT_OFF: f64 = 0.25;

pub(super) fn tell(file: &ScenarioFile, reader: &mut Reader<'_>, units: Units) {
    for word in SupplyWord::of(file) {
        let (Some(at), Some(found)) = (analysis::section(word, file), analysis::of(word, file)) else { continue };
        let told = [
            unbalanced(&found, at.place),
            wrong_sum(&found, at.value.dissolved_solids.map(|solids| solids.place)),
            other_salt(&found, at.place, salt(word, file), units),
        ];
        for warning in told.into_iter().flatten() {
            reader.tell(warning);
        }
    }
}

/// The key `salt` of a supply's water.
fn salt(word: SupplyWord, file: &ScenarioFile) -> Option<At<Concentration>> {
    Some(match word {
        SupplyWord::Well => file.well.as_ref()?.value.0.as_ref()?.water.salt,
        SupplyWord::SecondWell => file.second_well.as_ref()?.value.0.as_ref()?.water.salt,
        SupplyWord::Cistern => file.cistern.as_ref()?.value.0.as_ref()?.water.salt,
        SupplyWord::Pond => file.pond.as_ref()?.value.0.as_ref()?.water.salt,
        SupplyWord::TownLine => file.town_line.as_ref()?.value.0.as_ref()?.water.salt,
    })
}

fn unbalanced(found: &Analysis, place: Stretch) -> Option<Diagnostic> {
    let (verdict, note) = match found.balance() {
        Balance::Sound => return None,
        Balance::Doubtful => ("are doubtful", "usable, with care"),
        Balance::Unsound => ("do not balance", "something is wrong or missing: what is made of it may be far off"),
    };
    let (cations, anions) = (found.cations_meq_l(), found.anions_meq_l());
    let title =
        format!("the charges of this analysis {verdict}: they differ by {:.0} %", found.charge_error_percent().abs());
    let short = if cations > anions { "alkalinity, chloride and sulfate" } else { "sodium, calcium and magnesium" };
    Some(
        Diagnostic::warning(title)
            .at(place, format!("positive {cations:.1} meq/L, negative {anions:.1} meq/L"))
            .note(note)
            .help(format!("look for an ion left out or in other units, first among {short}")),
    )
}

fn wrong_sum(found: &Analysis, place: Option<Stretch>) -> Option<Diagnostic> {
    let (ratio, place) = (found.tds_ratio()?, place?);
    if found.is_tds_consistent()? {
        return None;
    }
    let title =
        format!("the dissolved solids are {:.0} % of what the ions of this analysis leave when dried", 100.0 * ratio);
    Some(
        Diagnostic::warning(title)
            .at(place, "100 to 120 % would agree")
            .note("as water dries, half of its bicarbonate is driven off; the rest of the ions stays")
            .help("look for an ion left out or in other units"),
    )
}

fn other_salt(found: &Analysis, place: Stretch, salt: Option<At<Concentration>>, units: Units) -> Option<Diagnostic> {
    let salt = salt.filter(|salt| salt.given)?;
    let (of_sheet, of_supply) = (found.tds_mg_l(), salt.value.mg_l());
    ((of_sheet - of_supply).abs() > MOST_SALT_OFF * of_sheet.max(of_supply)).then(|| {
        let shown = |mg_l| units.quantity(Concentration::DIMENSION, mg_l);
        let title = format!("`salt` is {}, but the analysis has {}", shown(of_supply), shown(of_sheet));
        Diagnostic::warning(title)
            .at(salt.place, "of the supply's water")
            .at(place, "its analysis")
            .help("leave out `salt`: it is then that of the analysis")
    })
}
