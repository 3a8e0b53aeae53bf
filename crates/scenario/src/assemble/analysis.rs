//! What a laboratory found in the water of a supply.

use springhouse_core::scaling;

use super::{place, refuse_several};
use crate::quantity::Concentration;
use crate::sections::{Analysis, ScenarioFile, SupplyWord};
use crate::source::Stretch;
use crate::typed::{At, Reader, Tried};

/// The section of a supply's analysis.
pub(super) fn section(word: SupplyWord, file: &ScenarioFile) -> Option<&At<Analysis>> {
    fn of<T>(supply: Option<&At<Tried<T>>>) -> Option<&T> {
        supply?.value.0.as_ref()
    }
    match word {
        SupplyWord::Well => of(file.well.as_ref())?.analysis.as_ref(),
        SupplyWord::SecondWell => of(file.second_well.as_ref())?.analysis.as_ref(),
        SupplyWord::Cistern => of(file.cistern.as_ref())?.analysis.as_ref(),
        SupplyWord::Pond => of(file.pond.as_ref())?.analysis.as_ref(),
        SupplyWord::TownLine => of(file.town_line.as_ref())?.analysis.as_ref(),
    }
}

/// The analysis of a supply's water; `None` where there is none or it lacks what it needs, of which [`refuse`] tells.
pub(super) fn of(word: SupplyWord, file: &ScenarioFile) -> Option<scaling::Analysis> {
    let section = &section(word, file)?.value;
    if let Some(typical) = section.typical {
        return Some(typical.value.water().analysis());
    }
    let mg_l = |ion: Option<At<Concentration>>| ion.map_or(0.0, |ion| ion.value.mg_l());
    let usual = || Some(file.site.0.as_ref()?.water_temperature.value.c());
    Some(scaling::Analysis {
        temp_c: section.temperature.map(|temperature| temperature.value.c()).or_else(usual)?,
        ph: section.ph?.value.0,
        calcium_mg_l: section.calcium?.value.mg_l(),
        magnesium_mg_l: mg_l(section.magnesium),
        sodium_mg_l: mg_l(section.sodium),
        potassium_mg_l: mg_l(section.potassium),
        alkalinity_mg_l: section.alkalinity?.value.mg_l(),
        chloride_mg_l: mg_l(section.chloride),
        sulfate_mg_l: mg_l(section.sulfate),
        nitrate_mg_l: mg_l(section.nitrate),
        fluoride_mg_l: mg_l(section.fluoride),
        silica_mg_l: mg_l(section.silica),
        measured_tds_mg_l: section.dissolved_solids.map(|solids| solids.value.mg_l()),
    })
}

/// Tells of analyses that cannot be used; whether there is any.
pub(super) fn refuse(file: &ScenarioFile, reader: &mut Reader<'_>) -> bool {
    let mut refused = false;
    for word in SupplyWord::of(file) {
        let Some(at) = section(word, file) else { continue };
        let keys = keys(&at.value);
        if let Some(typical) = place(at.value.typical.as_ref()) {
            let name = format!("{}.analysis", word.section());
            let other = keys.iter().find(|(_, place)| place.is_some());
            let pair = other.map(|other| [("typical", Some(typical)), *other]);
            refused |= pair.is_some_and(|pair| refuse_several(&name, &pair, reader));
            continue;
        }
        for (key, _) in keys.iter().filter(|(key, place)| place.is_none() && NEEDED.contains(key)) {
            reader.require(at.place, Analysis::SECTION, key, Some("without `typical` an analysis needs it"));
            refused = true;
        }
    }
    refused
}

/// Without these nothing can be said of scale.
const NEEDED: [&str; 3] = ["ph", "calcium", "alkalinity"];

/// The keys of an analysis that `typical` stands for.
fn keys(section: &Analysis) -> [(&'static str, Option<Stretch>); 13] {
    [
        ("ph", place(section.ph.as_ref())),
        ("calcium", place(section.calcium.as_ref())),
        ("alkalinity", place(section.alkalinity.as_ref())),
        ("temperature", place(section.temperature.as_ref())),
        ("magnesium", place(section.magnesium.as_ref())),
        ("sodium", place(section.sodium.as_ref())),
        ("potassium", place(section.potassium.as_ref())),
        ("chloride", place(section.chloride.as_ref())),
        ("sulfate", place(section.sulfate.as_ref())),
        ("nitrate", place(section.nitrate.as_ref())),
        ("fluoride", place(section.fluoride.as_ref())),
        ("silica", place(section.silica.as_ref())),
        ("dissolved_solids", place(section.dissolved_solids.as_ref())),
    ]
}
