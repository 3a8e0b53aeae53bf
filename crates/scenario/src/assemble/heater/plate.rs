//! From the plate of a heater to the constants that it does not tell.

use springhouse_core::heater::Heater;
use springhouse_core::heater::rating::RatingError;
use springhouse_core::heater::usage::Usage;

use super::super::{place, positive, refuse_several};
use super::kind;
use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::plates::Figure;
use crate::quantity::Volume;
use crate::scenario::HeaterPlate;
use crate::sections::{self, HeaterWord, UsageWord};
use crate::typed::{At, Reader};

/// The heater of a plate, and the plate.
pub(super) fn solved(
    bare: Heater,
    section: &sections::Heater,
    reader: &mut Reader<'_>,
) -> Option<(Heater, HeaterPlate)> {
    // The one constant that the factor tells; see `with_energy_factor`.
    let other = match section.kind.value {
        HeaterWord::HeatPump => ("carnot_share", place(section.carnot_share.as_ref())),
        HeaterWord::Electric => ("loss", place(section.loss.as_ref())),
        HeaterWord::Gas | HeaterWord::Propane => ("flue_loss", place(section.flue_loss.as_ref())),
    };
    let factor = [("energy_factor", place(section.energy_factor.as_ref())), other];
    let rating =
        [("first_hour", place(section.first_hour.as_ref())), ("inlet_mixing", place(section.inlet_mixing.as_ref()))];
    let twice = refuse_several("heater", &factor, reader);
    if refuse_several("heater", &rating, reader) || twice {
        return None;
    }
    let mixed = match &section.first_hour {
        Some(rating) => with_rating(&bare, rating, reader)?,
        None => bare,
    };
    let first_hour_l_of_plate = section.first_hour.map(|rating| rating.value.l());
    let usage = section.usage.map(|word| usage(word.value)).or(first_hour_l_of_plate.map(Usage::of_first_hour));
    let plate = HeaterPlate {
        kind: kind(section.kind.value),
        energy_factor: section.energy_factor.map(|factor| factor.value.0),
        first_hour_l: first_hour_l_of_plate,
        usage,
    };
    let Some(factor) = &section.energy_factor else { return Some((mixed, plate)) };
    match reader.plates.heater(&mixed, Figure::EnergyFactor(factor.value.0, usage)) {
        Ok(heater) => Some((heater, plate)),
        Err(error) => {
            reader.tell(factor_out_of_reach(factor, &error, section));
            None
        }
    }
}

fn usage(word: UsageWord) -> Usage {
    match word {
        UsageWord::VerySmall => Usage::VerySmall,
        UsageWord::Low => Usage::Low,
        UsageWord::Medium => Usage::Medium,
        UsageWord::High => Usage::High,
    }
}

/// The heater with the rating of its plate, or with the nearest within 6 %: a whole draw more may be too much.
fn with_rating(bare: &Heater, rating: &At<Volume>, reader: &mut Reader<'_>) -> Option<Heater> {
    const NEAR: [f64; 6] = [0.98, 1.02, 0.96, 1.04, 0.95, 1.05];
    let wanted_l = positive("first_hour", rating.value.l(), rating.place, reader)?;
    let plates = reader.plates;
    let error = match plates.heater(bare, Figure::FirstHour(wanted_l)) {
        Ok(heater) => return Some(heater),
        Err(error) => error,
    };
    if let RatingError::FirstHour { least, most, .. } = error {
        let within = |part: &&f64| (least..=most).contains(&(**part * wanted_l));
        let near =
            NEAR.iter().filter(within).find_map(|part| plates.heater(bare, Figure::FirstHour(part * wanted_l)).ok());
        if near.is_some() {
            return near;
        }
    }
    let units = reader.units.unwrap_or(Units::Us);
    reader.tell(first_hour_out_of_reach(rating, &error, units));
    None
}

fn first_hour_out_of_reach(rating: &At<Volume>, error: &RatingError, units: Units) -> Diagnostic {
    let label = match error {
        RatingError::FirstHour { least, most, .. } => {
            format!("such a heater can have {} to {}", units.volume(*least), units.volume(*most))
        }
        RatingError::EnergyFactor { .. } => error.to_string(),
    };
    Diagnostic::error("`first_hour` is out of reach of this heater")
        .at(rating.place, label)
        .help("look at `volume` and at the power of what heats it, or leave `first_hour` out")
}

fn factor_out_of_reach<T>(factor: &At<T>, error: &RatingError, section: &sections::Heater) -> Diagnostic {
    let label = match error {
        RatingError::EnergyFactor { least, most, .. } => format!("such a heater can have {least:.2} to {most:.2}"),
        RatingError::FirstHour { .. } => error.to_string(),
    };
    let help = match section.kind.value {
        HeaterWord::HeatPump => "look at `kind`, `loss`, `usage` and `compressor`, or give `carnot_share` instead",
        HeaterWord::Electric => "look at `kind` and `usage`, or give `loss` instead",
        HeaterWord::Gas | HeaterWord::Propane => {
            "look at `efficiency`, `pilot`, `loss` and `usage`, or give `flue_loss` instead"
        }
    };
    let told = Diagnostic::error("`energy_factor` is out of reach of this heater")
        .at(factor.place, label)
        .at(section.kind.place, "the kind");
    match &section.first_hour {
        Some(rating) => told
            .at(rating.place, "with this: an inlet that stirs so much of the tank calls elements in early")
            .help(format!("{help}; or leave `first_hour` out")),
        None => told.help(help),
    }
}
