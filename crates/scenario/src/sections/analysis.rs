//! A laboratory's sheet of a supply's water.

use springhouse_core::scaling::TypicalWater;

use crate::quantity::{Concentration, Temperature};
use crate::typed::{Number, choice, section};

choice! {
    /// A kind of water, for want of an analysis.
    TypicalWord {
        /// Well in limestone or gravel.
        HardWell = "hard well",
        /// Well in granite or sand.
        SoftWell = "soft well",
        /// Pond, lake or stream.
        Pond = "pond",
        /// Rain off a roof.
        Rain = "rain",
        /// Town mains.
        Town = "town",
    }
}

impl TypicalWord {
    pub(crate) fn water(self) -> TypicalWater {
        match self {
            Self::HardWell => TypicalWater::HardWell,
            Self::SoftWell => TypicalWater::SoftWell,
            Self::Pond => TypicalWater::Pond,
            Self::Rain => TypicalWater::Rain,
            Self::Town => TypicalWater::Town,
        }
    }
}

section! {
    /// A water analysis, from which follows how far a membrane unit may concentrate the water before it leaves scale. Ions are
    /// given as themselves, alkalinity as calcium carbonate, silica as silicon dioxide. `salt` and `hardness` of the supply's
    /// water, where they are left out, are those of the analysis.
    ///
    /// Either `typical`, or at least `ph`, `calcium` and `alkalinity`.
    Analysis {
        /// An invented water typical of its kind, in place of all other keys. An analysis is always better.
        optional typical: TypicalWord = "hard well", "the other keys";
        /// Temperature at which the pH was taken.
        optional temperature: Temperature = "52 °F", "`water_temperature` of `site`";
        /// The pH.
        optional ph: Number<0, 14> = "7.4", "needed without `typical`";
        /// Calcium.
        optional calcium: Concentration = "95 mg/L", "needed without `typical`";
        /// Magnesium.
        optional magnesium: Concentration = "28 mg/L", "0 mg/L";
        /// Sodium.
        optional sodium: Concentration = "22 mg/L", "0 mg/L";
        /// Potassium.
        optional potassium: Concentration = "2 mg/L", "0 mg/L";
        /// Total alkalinity, as calcium carbonate.
        optional alkalinity: Concentration = "290 mg/L", "needed without `typical`";
        /// Chloride.
        optional chloride: Concentration = "40 mg/L", "0 mg/L";
        /// Sulfate.
        optional sulfate: Concentration = "55 mg/L", "0 mg/L";
        /// Nitrate.
        optional nitrate: Concentration = "5 mg/L", "0 mg/L";
        /// Fluoride.
        optional fluoride: Concentration = "0.3 mg/L", "0 mg/L";
        /// Silica, as silicon dioxide.
        optional silica: Concentration = "15 mg/L", "0 mg/L";
        /// Total dissolved solids, as the laboratory measured them.
        optional dissolved_solids: Concentration = "450 mg/L", "the sum of the ions";
    }
}
