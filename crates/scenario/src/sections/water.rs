//! What the water of a supply carries.

use springhouse_core::quality::Quality;
use springhouse_core::scaling::Analysis;

use crate::quantity::{Concentration, Hardness, Share, Temperature};
use crate::typed::{At, section};

/// Hardness of an analysis, as calcium carbonate ("Standard Methods for the Examination of Water and Wastewater", 2340 B).
fn hardness_mg_l(analysis: &Analysis) -> f64 {
    2.497 * analysis.calcium_mg_l + 4.118 * analysis.magnesium_mg_l
}

/// Water of one kind of source, with its defaults.
macro_rules! water {
    (
        $(#[doc = $doc:literal])+
        $name:ident {
            salt: $salt:literal, solids: $solids:literal, iron: $iron:literal, hardness: $hardness:literal,
            chlorine: $chlorine:literal, transmittance: $transmittance:literal,
            $(temperature: $temperature:literal,)?
        }
    ) => {
        section! {
            $(#[doc = $doc])+
            ///
            /// The defaults are invented middling values: put those of an analysis in their place.
            $name {
                /// Total dissolved solids.
                default salt: Concentration = $salt;
                /// Suspended solids.
                default solids: Concentration = $solids;
                /// Iron.
                default iron: Concentration = $iron;
                /// Hardness, as calcium carbonate.
                default hardness: Hardness = $hardness;
                /// Free chlorine.
                default chlorine: Concentration = $chlorine;
                /// Part of ultraviolet light at 254 nm that a centimetre of the water lets through.
                default transmittance: Share = $transmittance;
                $(
                    /// Its temperature; of a cistern or pond, when the run starts.
                    optional temperature: Temperature = "52 °F", $temperature;
                )?
            }
        }

        impl $name {
            /// As typed; what is left out and stands in an analysis is taken from there.
            pub(crate) fn quality(&self, analysis: Option<&Analysis>) -> Quality {
                fn or<T: Copy>(key: At<T>, typed: fn(T) -> f64, found: Option<f64>) -> f64 {
                    found.filter(|_| !key.given).unwrap_or_else(|| typed(key.value))
                }
                Quality {
                    salt_mg_l: or(self.salt, Concentration::mg_l, analysis.map(Analysis::tds_mg_l)),
                    solids_mg_l: self.solids.value.mg_l(),
                    iron_mg_l: self.iron.value.mg_l(),
                    hardness_mg_l: or(self.hardness, Hardness::mg_l, analysis.map(hardness_mg_l)),
                    chlorine_mg_l: self.chlorine.value.mg_l(),
                    transmittance: self.transmittance.value.of_one(),
                }
            }
        }
    };
}

water! {
    /// What the water of a well carries.
    WellWater {
        salt: "350 mg/L", solids: "5 mg/L", iron: "0 mg/L", hardness: "180 mg/L", chlorine: "0 mg/L",
        transmittance: "90 %",
        temperature: "with `weather`, a little over the mean annual air; else `membrane.temperature` or `site.water_temperature`",
    }
}

water! {
    /// What the water of a town line carries.
    TownWater {
        salt: "250 mg/L", solids: "0.5 mg/L", iron: "0 mg/L", hardness: "120 mg/L", chlorine: "0.8 mg/L",
        transmittance: "92 %",
        temperature: "with `weather`, by season; else `membrane.temperature` or `site.water_temperature`",
    }
}

water! {
    /// What the water of a cistern carries.
    CisternWater {
        salt: "20 mg/L", solids: "3 mg/L", iron: "0 mg/L", hardness: "10 mg/L", chlorine: "0 mg/L",
        transmittance: "85 %",
        temperature: "with `weather` normals, that of a well; else `membrane.temperature` or `site.water_temperature`",
    }
}

water! {
    /// What the water of a pond carries.
    PondWater {
        salt: "200 mg/L", solids: "15 mg/L", iron: "0.2 mg/L", hardness: "100 mg/L", chlorine: "0 mg/L",
        transmittance: "70 %",
        temperature: "with `weather`, as that has warmed it by then; else `membrane.temperature` or `site.water_temperature`",
    }
}

water! {
    /// What runs off the land into a pond carries.
    RunoffWater {
        salt: "60 mg/L", solids: "60 mg/L", iron: "0.2 mg/L", hardness: "40 mg/L", chlorine: "0 mg/L",
        transmittance: "55 %",
    }
}
