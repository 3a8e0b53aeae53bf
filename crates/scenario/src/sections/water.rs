//! What the water of a supply carries.

use springhouse_core::quality::Quality;

use crate::quantity::{Concentration, Hardness, Share};
use crate::typed::section;

/// Water of one kind of source, with its defaults.
macro_rules! water {
    (
        $(#[doc = $doc:literal])+
        $name:ident {
            salt: $salt:literal, solids: $solids:literal, iron: $iron:literal, hardness: $hardness:literal,
            chlorine: $chlorine:literal, transmittance: $transmittance:literal,
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
            }
        }

        impl $name {
            pub(crate) fn quality(&self) -> Quality {
                Quality {
                    salt_mg_l: self.salt.value.mg_l(),
                    solids_mg_l: self.solids.value.mg_l(),
                    iron_mg_l: self.iron.value.mg_l(),
                    hardness_mg_l: self.hardness.value.mg_l(),
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
    }
}

water! {
    /// What the water of a town line carries.
    TownWater {
        salt: "250 mg/L", solids: "0.5 mg/L", iron: "0 mg/L", hardness: "120 mg/L", chlorine: "0.8 mg/L",
        transmittance: "92 %",
    }
}

water! {
    /// What the water of a cistern carries.
    CisternWater {
        salt: "20 mg/L", solids: "3 mg/L", iron: "0 mg/L", hardness: "10 mg/L", chlorine: "0 mg/L",
        transmittance: "85 %",
    }
}

water! {
    /// What the water of a pond carries.
    PondWater {
        salt: "200 mg/L", solids: "15 mg/L", iron: "0.2 mg/L", hardness: "100 mg/L", chlorine: "0 mg/L",
        transmittance: "70 %",
    }
}
