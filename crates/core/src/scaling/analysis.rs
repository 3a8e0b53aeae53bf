//! A water analysis, whether it can be believed, and the same water concentrated.

use serde::{Deserialize, Serialize};

use crate::treatment::{Stage, StageKind};

/// What a laboratory found in a water. Concentrations are those of the ions themselves, 0 where there is nothing or nothing
/// is known, but for alkalinity and silica.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Analysis {
    /// Temperature.
    pub temp_c: f64,
    /// At that temperature.
    pub ph: f64,
    /// Ca²⁺.
    pub calcium_mg_l: f64,
    /// Mg²⁺.
    pub magnesium_mg_l: f64,
    /// Na⁺.
    pub sodium_mg_l: f64,
    /// K⁺.
    pub potassium_mg_l: f64,
    /// Total alkalinity as calcium carbonate; taken as bicarbonate, which it nearly all is between pH 6 and 8.5.
    pub alkalinity_mg_l: f64,
    /// Cl⁻.
    pub chloride_mg_l: f64,
    /// SO₄²⁻.
    pub sulfate_mg_l: f64,
    /// NO₃⁻.
    pub nitrate_mg_l: f64,
    /// F⁻.
    pub fluoride_mg_l: f64,
    /// Silica as silicon dioxide.
    pub silica_mg_l: f64,
    /// Total dissolved solids as the laboratory measured them; `None` takes the sum.
    pub measured_tds_mg_l: Option<f64>,
}

/// How well the charges of an analysis balance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Balance {
    /// Within 5 %, or within 0.2 meq/L in water of little salt.
    Sound,
    /// Within 10 %: usable, with care.
    Doubtful,
    /// Beyond: something is wrong or missing.
    Unsound,
}

/// Waters for want of an analysis: invented values, typical of their kind, without a source. An analysis is always better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum TypicalWater {
    /// Well in limestone or gravel.
    HardWell,
    /// Well in granite or sand.
    SoftWell,
    /// Pond, lake or stream.
    Pond,
    /// Rain off a roof.
    Rain,
    /// Town mains.
    Town,
}

/// Milligrams of a milliequivalent (IUPAC atomic weights).
pub(super) mod equivalent_mg {
    pub(in crate::scaling) const CALCIUM: f64 = 20.039;
    pub(in crate::scaling) const MAGNESIUM: f64 = 12.152_5;
    pub(in crate::scaling) const SODIUM: f64 = 22.989_77;
    pub(in crate::scaling) const POTASSIUM: f64 = 39.098_3;
    pub(in crate::scaling) const CARBONATE: f64 = 50.043_5; // CaCO₃
    pub(in crate::scaling) const CHLORIDE: f64 = 35.453;
    pub(in crate::scaling) const SULFATE: f64 = 48.03;
    pub(in crate::scaling) const NITRATE: f64 = 62.005;
    pub(in crate::scaling) const FLUORIDE: f64 = 18.998_4;
}

/// Bicarbonate of an alkalinity of one.
const BICARBONATE: f64 = 61.016_8 / equivalent_mg::CARBONATE;

/// Ions in moles a litre, bicarbonate standing for the alkalinity.
#[derive(Clone, Copy)]
pub(super) struct Moles {
    pub(super) calcium: f64,
    pub(super) magnesium: f64,
    pub(super) sodium: f64,
    pub(super) bicarbonate: f64,
    pub(super) sulfate: f64,
    /// All other ions, of charge one.
    pub(super) others: f64,
}

impl Analysis {
    /// The water behind the softeners among some stages, each of which exchanges a share of calcium and magnesium for sodium.
    #[must_use]
    pub fn softened<'s>(self, stages: impl IntoIterator<Item = &'s Stage>) -> Self {
        use equivalent_mg::{CALCIUM, MAGNESIUM, SODIUM};
        let softeners = stages.into_iter().filter(|stage| matches!(stage.kind, StageKind::Softener));
        softeners.filter_map(|stage| stage.catch).fold(self, |water, catch| {
            let exchanged_meq_l = catch.share * (water.calcium_mg_l / CALCIUM + water.magnesium_mg_l / MAGNESIUM);
            Self {
                calcium_mg_l: water.calcium_mg_l * (1.0 - catch.share),
                magnesium_mg_l: water.magnesium_mg_l * (1.0 - catch.share),
                sodium_mg_l: water.sodium_mg_l + SODIUM * exchanged_meq_l,
                ..water
            }
        })
    }

    /// Positive charges, in milliequivalents a litre. Hydrogen ions are left out: they count below pH 5 only.
    #[must_use]
    pub fn cations_meq_l(&self) -> f64 {
        self.calcium_mg_l / equivalent_mg::CALCIUM
            + self.magnesium_mg_l / equivalent_mg::MAGNESIUM
            + self.sodium_mg_l / equivalent_mg::SODIUM
            + self.potassium_mg_l / equivalent_mg::POTASSIUM
    }

    /// Negative charges, in milliequivalents a litre.
    #[must_use]
    pub fn anions_meq_l(&self) -> f64 {
        self.alkalinity_mg_l / equivalent_mg::CARBONATE
            + self.chloride_mg_l / equivalent_mg::CHLORIDE
            + self.sulfate_mg_l / equivalent_mg::SULFATE
            + self.nitrate_mg_l / equivalent_mg::NITRATE
            + self.fluoride_mg_l / equivalent_mg::FLUORIDE
    }

    /// Charges that do not balance, in per cent of all: above zero where cations are too many. Zero for pure water.
    #[must_use]
    pub fn charge_error_percent(&self) -> f64 {
        let (cations, anions) = (self.cations_meq_l(), self.anions_meq_l());
        if cations + anions > 0.0 { 100.0 * (cations - anions) / (cations + anions) } else { 0.0 }
    }

    /// Whether the charges balance.
    #[must_use]
    pub fn balance(&self) -> Balance {
        let (cations, anions) = (self.cations_meq_l(), self.anions_meq_l());
        let error = self.charge_error_percent().abs();
        if error <= 5.0 || (anions <= 3.0 && (cations - anions).abs() <= 0.2) {
            Balance::Sound
        } else if error <= 10.0 {
            Balance::Doubtful
        } else {
            Balance::Unsound
        }
    }

    /// All that is dissolved but gases: measured, or the sum of what was found.
    #[must_use]
    pub fn tds_mg_l(&self) -> f64 {
        self.measured_tds_mg_l.unwrap_or_else(|| self.sum_mg_l(BICARBONATE))
    }

    /// Measured dissolved solids over those worked out; `None` where they were not measured. Half the bicarbonate is driven
    /// off as the residue dries: 0.6 of the alkalinity stays.
    #[must_use]
    pub fn tds_ratio(&self) -> Option<f64> {
        Some(self.measured_tds_mg_l? / self.sum_mg_l(0.6))
    }

    /// Whether dissolved solids agree with the ions, 1.0 to 1.2 of them; `None` where they were not measured.
    #[must_use]
    pub fn is_tds_consistent(&self) -> Option<bool> {
        self.tds_ratio().map(|ratio| (1.0..=1.2).contains(&ratio))
    }

    fn sum_mg_l(&self, of_alkalinity: f64) -> f64 {
        of_alkalinity * self.alkalinity_mg_l
            + self.calcium_mg_l
            + self.magnesium_mg_l
            + self.sodium_mg_l
            + self.potassium_mg_l
            + self.chloride_mg_l
            + self.sulfate_mg_l
            + self.nitrate_mg_l
            + self.fluoride_mg_l
            + self.silica_mg_l
    }

    /// The reject water of a membrane that keeps back the share `rejection` of everything but gases, where
    /// `volume_factor` litres of this water (1 or more) leave one litre of reject, the permeate being well mixed.
    ///
    /// Concentrations rise by `1 + rejection (volume_factor - 1)`. Carbon dioxide passes, so the pH rises by the logarithm of
    /// that: an estimate by mass balance, high by up to 0.1 since activities fall (see `docs/physics.md`).
    #[must_use]
    pub fn concentrated(&self, volume_factor: f64, rejection: f64) -> Self {
        let factor = 1.0 + rejection * (volume_factor - 1.0);
        Self { ph: self.ph + libm::log10(factor), ..self.times(factor) }
    }

    /// All that is dissolved a factor more; the pH is left as it is.
    pub(super) fn times(&self, factor: f64) -> Self {
        Self {
            temp_c: self.temp_c,
            ph: self.ph,
            calcium_mg_l: factor * self.calcium_mg_l,
            magnesium_mg_l: factor * self.magnesium_mg_l,
            sodium_mg_l: factor * self.sodium_mg_l,
            potassium_mg_l: factor * self.potassium_mg_l,
            alkalinity_mg_l: factor * self.alkalinity_mg_l,
            chloride_mg_l: factor * self.chloride_mg_l,
            sulfate_mg_l: factor * self.sulfate_mg_l,
            nitrate_mg_l: factor * self.nitrate_mg_l,
            fluoride_mg_l: factor * self.fluoride_mg_l,
            silica_mg_l: factor * self.silica_mg_l,
            measured_tds_mg_l: self.measured_tds_mg_l.map(|tds| factor * tds),
        }
    }

    pub(super) fn moles(&self) -> Moles {
        let mol_l = |mg_l: f64, equivalent_mg: f64, charge: f64| 1e-3 * mg_l / (charge * equivalent_mg);
        Moles {
            calcium: self.calcium_mol_l(),
            magnesium: mol_l(self.magnesium_mg_l, equivalent_mg::MAGNESIUM, 2.0),
            sodium: mol_l(self.sodium_mg_l, equivalent_mg::SODIUM, 1.0),
            bicarbonate: self.bicarbonate_mol_l(),
            sulfate: mol_l(self.sulfate_mg_l, equivalent_mg::SULFATE, 2.0),
            others: mol_l(self.potassium_mg_l, equivalent_mg::POTASSIUM, 1.0)
                + mol_l(self.chloride_mg_l, equivalent_mg::CHLORIDE, 1.0)
                + mol_l(self.nitrate_mg_l, equivalent_mg::NITRATE, 1.0)
                + mol_l(self.fluoride_mg_l, equivalent_mg::FLUORIDE, 1.0),
        }
    }

    pub(super) fn calcium_mol_l(&self) -> f64 {
        0.5e-3 * self.calcium_mg_l / equivalent_mg::CALCIUM
    }

    pub(super) fn bicarbonate_mol_l(&self) -> f64 {
        1e-3 * self.alkalinity_mg_l / equivalent_mg::CARBONATE
    }

    /// Calcium as calcium carbonate.
    pub(super) fn calcium_hardness_mg_l(&self) -> f64 {
        self.calcium_mg_l * equivalent_mg::CARBONATE / equivalent_mg::CALCIUM
    }
}

impl TypicalWater {
    /// Values for want of an analysis; their charges balance within 2 %.
    #[must_use]
    pub fn analysis(self) -> Analysis {
        let [temp_c, ph, calcium, magnesium, sodium, potassium, alkalinity, chloride, sulfate, nitrate, silica] =
            match self {
                Self::HardWell => [12.0, 7.4, 95.0, 28.0, 22.0, 2.0, 290.0, 40.0, 55.0, 0.0, 15.0],
                Self::SoftWell => [11.0, 6.8, 12.0, 4.0, 12.0, 1.5, 45.0, 12.0, 10.0, 2.0, 18.0],
                Self::Pond => [15.0, 7.6, 28.0, 7.0, 10.0, 3.0, 85.0, 14.0, 15.0, 4.0, 4.0],
                Self::Rain => [10.0, 5.8, 1.5, 0.3, 1.5, 0.3, 2.5, 2.5, 2.0, 1.0, 0.0],
                Self::Town => [12.0, 7.6, 45.0, 10.0, 25.0, 3.0, 110.0, 35.0, 40.0, 5.0, 6.0],
            };
        Analysis {
            temp_c,
            ph,
            calcium_mg_l: calcium,
            magnesium_mg_l: magnesium,
            sodium_mg_l: sodium,
            potassium_mg_l: potassium,
            alkalinity_mg_l: alkalinity,
            chloride_mg_l: chloride,
            sulfate_mg_l: sulfate,
            nitrate_mg_l: nitrate,
            fluoride_mg_l: 0.0,
            silica_mg_l: silica,
            measured_tds_mg_l: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TYPICAL: [TypicalWater; 5] =
        [TypicalWater::HardWell, TypicalWater::SoftWell, TypicalWater::Pond, TypicalWater::Rain, TypicalWater::Town];

    #[test]
    fn exact_equivalents_balance() {
        // A milliequivalent of each ion: 4 of 4, then 4 of 5.
        let mut water = Analysis {
            temp_c: 25.0,
            ph: 7.0,
            calcium_mg_l: 20.039,
            magnesium_mg_l: 12.152_5,
            sodium_mg_l: 22.989_77,
            potassium_mg_l: 39.098_3,
            alkalinity_mg_l: 50.043_5,
            chloride_mg_l: 35.453,
            sulfate_mg_l: 48.03,
            nitrate_mg_l: 62.005,
            fluoride_mg_l: 0.0,
            silica_mg_l: 10.0,
            measured_tds_mg_l: None,
        };
        assert!((water.cations_meq_l() - 4.0).abs() < 1e-15 && (water.anions_meq_l() - 4.0).abs() < 1e-15);
        assert_eq!((water.balance(), water.is_tds_consistent()), (Balance::Sound, None));
        water.fluoride_mg_l = 18.998_4;
        assert!((water.charge_error_percent() + 100.0 / 9.0).abs() < 1e-12);
        assert_eq!(water.balance(), Balance::Unsound);
        water.fluoride_mg_l *= 0.6;
        assert_eq!(water.balance(), Balance::Doubtful);
    }

    #[test]
    fn water_of_little_salt_is_let_off() {
        let mut water = TypicalWater::Rain.analysis();
        water.sulfate_mg_l = 0.0;
        assert!(water.charge_error_percent() > 10.0);
        assert_eq!(water.balance(), Balance::Sound);
    }

    #[test]
    fn typical_waters_balance() {
        for water in TYPICAL {
            let error = water.analysis().charge_error_percent();
            assert!(error.abs() < 2.0, "{water:?}: {error} %");
        }
    }

    #[test]
    fn dried_residue_is_compared_without_half_the_bicarbonate() {
        let mut water = TypicalWater::HardWell.analysis();
        let residue = water.tds_mg_l() - (BICARBONATE - 0.6) * 290.0;
        water.measured_tds_mg_l = Some(1.1 * residue);
        assert!(water.tds_ratio().is_some_and(|ratio| (ratio - 1.1).abs() < 1e-12));
        assert_eq!(water.is_tds_consistent(), Some(true));
        water.measured_tds_mg_l = Some(0.9 * residue);
        assert_eq!(water.is_tds_consistent(), Some(false));
    }

    #[test]
    fn exact_salt_is_conserved() {
        // Feed = permeate + reject: with f litres of feed and f - 1 of permeate, which carries (1 - r) of the feed's salt.
        for rejection in [0.0, 0.5, 0.97, 1.0] {
            for factor in [1.0, 1.5, 4.0, 10.0] {
                for water in TYPICAL.map(TypicalWater::analysis) {
                    let reject = water.concentrated(factor, rejection);
                    let permeate_mg_l = (1.0 - rejection) * water.sodium_mg_l;
                    let all = factor * water.sodium_mg_l - (factor - 1.0) * permeate_mg_l;
                    assert!((reject.sodium_mg_l / all - 1.0).abs() < 1e-14);
                    assert!((reject.tds_mg_l() / water.tds_mg_l() - all / water.sodium_mg_l).abs() < 1e-13);
                    assert!((reject.charge_error_percent() - water.charge_error_percent()).abs() < 1e-11);
                }
            }
        }
    }
}
