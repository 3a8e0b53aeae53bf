//! The water and the air at the site.

use springhouse_core::pressure_tank::standard_atmosphere_kpa;
use springhouse_core::water::{COLDEST_C, HOTTEST_C, Water};

use super::{place, refuse_several};
use crate::diagnostic::Diagnostic;
use crate::sections;
use crate::typed::Reader;

pub(super) struct Site {
    pub(super) water: Water,
    pub(super) atmospheric_kpa: f64,
}

/// Altitudes at which people live, with some to spare; the standard atmosphere holds to 11 km.
const ALTITUDES_M: std::ops::RangeInclusive<f64> = -500.0..=6_000.0;
/// Pressures of the air at those altitudes.
const AIR_KPA: std::ops::RangeInclusive<f64> = 40.0..=115.0;

/// `well_c` is how warm a well's water is by the normals of the place, where these are known.
pub(super) fn site(site: &sections::Site, well_c: Option<f64>, reader: &mut Reader<'_>) -> Option<Site> {
    let atmospheric_kpa = atmosphere(site, reader);
    let water = water(site, well_c, reader);
    Some(Site { water: water?, atmospheric_kpa: atmospheric_kpa? })
}

fn atmosphere(site: &sections::Site, reader: &mut Reader<'_>) -> Option<f64> {
    let given = [
        ("altitude", place(Some(&site.altitude))),
        ("atmospheric_pressure", place(site.atmospheric_pressure.as_ref())),
    ];
    if refuse_several("site", &given, reader) {
        return None;
    }
    if let Some(pressure) = &site.atmospheric_pressure {
        if AIR_KPA.contains(&pressure.value.kpa()) {
            return Some(pressure.value.kpa());
        }
        reader.tell(
            Diagnostic::error("`atmospheric_pressure` is no pressure of outdoor air")
                .at(pressure.place, "absolute, from 40 to 115 kPa (5.8 to 16.7 psi)"),
        );
        return None;
    }
    if ALTITUDES_M.contains(&site.altitude.value.m()) {
        return Some(standard_atmosphere_kpa(site.altitude.value.m()));
    }
    reader.tell(
        Diagnostic::error("`altitude` is out of range")
            .at(site.altitude.place, "from -500 to 6000 m (-1640 to 19685 ft) above the sea"),
    );
    None
}

fn water(site: &sections::Site, well_c: Option<f64>, reader: &mut Reader<'_>) -> Option<Water> {
    let temperature = &site.water_temperature;
    let given = [("water_temperature", place(Some(temperature))), ("density", place(site.density.as_ref()))];
    if refuse_several("site", &given, reader) {
        return None;
    }
    match (&site.density, &site.viscosity) {
        (Some(density), Some(viscosity)) => {
            return Some(Water { density_kg_m3: density.value.kg_m3(), viscosity_pa_s: viscosity.value.pa_s() });
        }
        (None, None) => {}
        (Some(density), None) => {
            reader.tell(half("density", "viscosity", density.place));
            return None;
        }
        (None, Some(viscosity)) => {
            reader.tell(half("viscosity", "density", viscosity.place));
            return None;
        }
    }
    if let Some(well_c) = well_c.filter(|_| !temperature.given) {
        return Some(Water::at(well_c));
    }
    if (COLDEST_C..=HOTTEST_C).contains(&temperature.value.c()) {
        return Some(Water::at(temperature.value.c()));
    }
    reader.tell(
        Diagnostic::error("`water_temperature` is no temperature of water in a pipe")
            .at(temperature.place, "from 0 to 95 °C (32 to 203 °F)"),
    );
    None
}

fn half(given: &str, missing: &str, place: crate::source::Stretch) -> Diagnostic {
    Diagnostic::error(format!("`{given}` is given without `{missing}`"))
        .at(place, format!("`{missing}` is missing"))
        .help("give both, or neither: then `water_temperature` counts")
}
