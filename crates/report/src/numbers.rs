//! Numbers as people read them. Quantities with their units in a sentence are written by [`Units`].

use springhouse_scenario::Units;
use springhouse_scenario::quantity::unit::{self, Dimension};

/// Joules in a kilowatt hour.
pub(crate) const J_PER_KWH: f64 = 3.6e6;

/// Kilowatt hours in a US therm: 100,000 BTU of 1055.06 J, rounded as bills do.
const THERM_KWH: f64 = 29.307;
/// Megajoules in a kilowatt hour.
const KWH_MJ: f64 = 3.6;

/// Fuel as it is billed, in therms or megajoules.
pub(crate) fn fuel(units: Units, kwh: f64, decimals: usize) -> String {
    match units {
        Units::Us => format!("{} therms", fixed(kwh / THERM_KWH, decimals)),
        Units::Metric => format!("{} MJ", fixed(KWH_MJ * kwh, decimals)),
    }
}

/// Heat that goes for each kelvin or degree Fahrenheit of difference.
pub(crate) fn heat_loss(units: Units, w_k: f64, decimals: usize) -> String {
    let scale = Scale::of(&unit::HEAT_LOSS, if units == Units::Us { "Btu/h/°F" } else { "W/K" });
    format!("{} {}", fixed(scale.value(w_k), decimals), scale.unit)
}

/// Fuel in a time, as plates of burners have it.
pub(crate) fn burning(units: Units, power_w: f64) -> String {
    match units {
        Units::Us => {
            let scale = Scale::of(&unit::POWER, "Btu/h");
            format!("{} {}", fixed(scale.value(power_w), 0), scale.unit)
        }
        Units::Metric => units.power(power_w),
    }
}

/// A mass in kilograms or pounds.
pub(crate) fn mass(units: Units, kg: f64) -> String {
    /// Grams, in which the scale counts.
    const KG: f64 = 1_000.0;
    let scale = Scale::of(&unit::MASS, if units == Units::Us { "lb" } else { "kg" });
    let value = scale.value(KG * kg);
    format!("{} {}", fixed(value, usize::from(value.abs() < 100.0)), scale.unit)
}

/// Energy with three figures or so.
pub(crate) fn kwh(value: f64) -> String {
    format!("{} kWh", fixed(value, if value.abs() < 10.0 { 2 } else { usize::from(value.abs() < 1_000.0) }))
}

/// Water for a time, in gallon-hours or litre-hours; the first of the two is their symbol, the second their name.
pub(crate) fn volume_hours(units: Units, litre_hours: f64) -> [String; 2] {
    let scale = Scale::volume(units);
    let count = fixed(scale.value(litre_hours), 0);
    let name = if units == Units::Us { "gallon-hours" } else { "litre-hours" };
    [format!("{count} {} h", scale.unit), format!("{count} {name}")]
}

/// A unit for the values of an axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Scale {
    /// Its symbol.
    pub(crate) unit: &'static str,
    base_in_one: f64,
    /// Where a scale of temperatures begins, in this unit.
    offset: f64,
}

impl Scale {
    /// The reader's unit of volume; values come in litres.
    pub(crate) fn volume(units: Units) -> Self {
        Self::of(&unit::VOLUME, if units == Units::Us { "gal" } else { "L" })
    }

    /// The reader's unit of volume for values up to `most_l`: a thousand times larger where they would have six digits.
    pub(crate) fn volume_up_to(units: Units, most_l: f64) -> Self {
        const LONG: f64 = 100_000.0;
        let small = Self::volume(units);
        if small.value(most_l) < LONG {
            return small;
        }
        Self { unit: if units == Units::Us { "kgal" } else { "m3" }, base_in_one: 1_000.0 * small.base_in_one, ..small }
    }

    /// The reader's unit of pressure; values come in kilopascals.
    pub(crate) fn pressure(units: Units) -> Self {
        Self::of(&unit::PRESSURE, if units == Units::Us { "psi" } else { "kPa" })
    }

    /// The reader's unit of depth; values come in metres.
    pub(crate) fn length(units: Units) -> Self {
        Self::of(&unit::LENGTH, if units == Units::Us { "ft" } else { "m" })
    }

    /// The reader's unit of flow; values come in litres a second.
    pub(crate) fn flow(units: Units) -> Self {
        Self::of(&unit::FLOW, if units == Units::Us { "gpm" } else { "L/min" })
    }

    /// The reader's unit of what a membrane makes; values come in litres an hour.
    pub(crate) fn product(units: Units) -> Self {
        let each_s = Self::of(&unit::FLOW, if units == Units::Us { "gpm" } else { "L/h" });
        Self { base_in_one: 3_600.0 * each_s.base_in_one, ..each_s }
    }

    /// The reader's unit of rain; values come in millimetres.
    pub(crate) fn rain(units: Units) -> Self {
        let metres = Self::of(&unit::LENGTH, if units == Units::Us { "in" } else { "mm" });
        Self { base_in_one: 1_000.0 * metres.base_in_one, ..metres }
    }

    /// The reader's unit of temperature; values come in degrees Celsius.
    pub(crate) fn temperature(units: Units) -> Self {
        Self::of(&unit::TEMPERATURE, if units == Units::Us { "°F" } else { "°C" })
    }

    /// The reader's unit of mass; values come in kilograms.
    pub(crate) fn mass(units: Units) -> Self {
        /// Grams, in which the scale counts.
        const KG: f64 = 1_000.0;
        let grams = Self::of(&unit::MASS, if units == Units::Us { "lb" } else { "kg" });
        Self { base_in_one: grams.base_in_one / KG, ..grams }
    }

    /// Water for a time; values come in litre-hours.
    pub(crate) fn volume_hours(units: Units) -> Self {
        Self { unit: if units == Units::Us { "gal h" } else { "L h" }, ..Self::volume(units) }
    }

    /// Parts of a whole; values come as parts of one.
    pub(crate) fn percent() -> Self {
        Self { unit: "%", base_in_one: 0.01, offset: 0.0 }
    }

    /// Values as they come.
    pub(crate) fn as_is(unit: &'static str) -> Self {
        Self { unit, base_in_one: 1.0, offset: 0.0 }
    }

    fn of(dimension: &'static Dimension, unit: &'static str) -> Self {
        let known = dimension.units.iter().find(|known| known.name == unit);
        let (base_in_one, offset) = known.map_or((1.0, 0.0), |known| (known.factor, known.offset));
        Self { unit, base_in_one, offset }
    }

    /// A value of the base unit in this one.
    pub(crate) fn value(self, base: f64) -> f64 {
        base / self.base_in_one - self.offset
    }

    /// A difference of values of the base unit in this one.
    pub(crate) fn difference(self, base: f64) -> f64 {
        base / self.base_in_one
    }
}

/// At most two decimals, and none that say nothing.
pub(crate) fn number(value: f64) -> String {
    let text = fixed(value, 2);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// With a fixed number of decimals, and no minus before a zero.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}

/// A share in percent, with no more digits than say something.
pub(crate) fn percent(share: f64) -> String {
    match 100.0 * share {
        p if p > 0.0 && p < 0.1 => "under 0.1 %".to_owned(),
        p if p < 10.0 => format!("{} %", fixed(p, 1)),
        p => format!("{} %", fixed(p, 0)),
    }
}

/// Decimals with which the largest of some values has three figures, and no more than four.
pub(crate) fn three_figures(values: impl IntoIterator<Item = f64>) -> usize {
    let most = values.into_iter().map(f64::abs).filter(|value| value.is_finite()).fold(0.0, f64::max);
    match most {
        most if most >= 100.0 || most == 0.0 => 0,
        most if most >= 10.0 => 1,
        most if most >= 1.0 => 2,
        most if most >= 0.1 => 3,
        _ => 4,
    }
}

/// A chance in percent, without its sign: a digit after the point only where it says something.
pub(crate) fn chance(share: f64) -> String {
    const MOST: usize = 9;
    let percent = 100.0 * share;
    let (mut near, mut decimals) = (percent.min(100.0 - percent), 0);
    if near <= 0.0 || near >= 10.0 {
        return fixed(percent, 0);
    }
    while decimals == 0 || (near < 1.0 && decimals < MOST) {
        near *= 10.0;
        decimals += 1;
    }
    fixed(percent, decimals)
}

/// Salt as a meter shows it: two figures of little, whole milligrams of much.
pub(crate) fn salt_figure(mg_l: f64) -> String {
    fixed(mg_l, usize::from(mg_l < 10.0))
}

/// Decimals for figures of what a membrane makes, of which `most` is the largest.
pub(crate) fn product_decimals(most: f64) -> usize {
    if most < 10.0 { 2 } else { usize::from(most < 100.0) }
}

/// `once`, `twice`, `3 times`.
pub(crate) fn times(count: u64) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        n => format!("{n} times"),
    }
}

/// `1 day`, `3 days`: a count and its noun, with an `s` unless it is one.
pub(crate) fn counted(count: u64, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}

/// The length of a list as a number to be told.
pub(crate) fn len(list: &[impl Sized]) -> u64 {
    u64::try_from(list.len()).unwrap_or(u64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_scales_follow_their_definitions() {
        let inch_m = 0.0254_f64;
        // A handful of roundings: a few units in the last place.
        assert!((Scale::volume(Units::Us).value(231.0 * inch_m.powi(3) * 1e3) - 1.0).abs() < 1e-14);
        let psi_kpa = 0.453_592_37 * 9.806_65 / inch_m.powi(2) * 1e-3;
        assert!((Scale::pressure(Units::Us).value(psi_kpa) - 1.0).abs() < 1e-14);
        assert_eq!(Scale::volume(Units::Metric).value(7.0), 7.0);
        let (short, long) = (|units| Scale::volume_up_to(units, 99e3), |units| Scale::volume_up_to(units, 400e3));
        assert_eq!([short(Units::Us), short(Units::Metric)], [Units::Us, Units::Metric].map(Scale::volume));
        assert_eq!((long(Units::Us).unit, long(Units::Metric).unit), ("kgal", "m3"));
        assert_eq!(long(Units::Metric).value(400e3), 400.0);
        assert!((long(Units::Us).value(231e6 * inch_m.powi(3)) - 1.0).abs() < 1e-14);
        let gallon_l = 231.0 * inch_m.powi(3) * 1e3;
        assert!((Scale::product(Units::Us).value(60.0 * gallon_l) - 1.0).abs() < 1e-14);
        assert_eq!(Scale::product(Units::Metric).value(90.0), 90.0);
        assert!((Scale::rain(Units::Us).value(25.4) - 1.0).abs() < 1e-14);
        assert_eq!(Scale::rain(Units::Metric).value(25.4), 25.4);
        assert!((Scale::temperature(Units::Us).value(100.0) - 212.0).abs() < 1e-12);
        assert_eq!(Scale::temperature(Units::Metric).value(-7.0), -7.0);
    }

    #[test]
    fn external_heat_in_us_units() {
        // NIST Special Publication 811, appendix B.8: 0.2930711 W in a Btu/h, 0.5275279 W/K in a Btu/(h °F), 3.785412 L in a
        // gallon.
        assert_eq!(heat_loss(Units::Us, 52.752_79, 2), "100.00 Btu/h/°F");
        assert_eq!(burning(Units::Us, 11_722.84), "40000 Btu/h");
        assert_eq!(volume_hours(Units::Us, 378.541_2), ["100 gal h", "100 gallon-hours"]);
        assert_eq!(heat_loss(Units::Metric, 2.04, 1), "2.0 W/K");
        assert_eq!(burning(Units::Metric, 11_722.84), "11.7 kW");
        assert_eq!(volume_hours(Units::Metric, 378.541_2), ["379 L h", "379 litre-hours"]);
    }

    #[test]
    fn exact_chances_never_read_as_none_or_all() {
        let cases = [
            (0.0, "0"),
            (1.0, "100"),
            (0.006, "0.6"),
            (0.0172, "1.7"),
            (0.0956, "9.6"),
            (0.34, "34"),
            (0.996, "99.6"),
            (0.0005, "0.05"),
            (0.000_001, "0.0001"),
            (0.999_999, "99.9999"),
        ];
        for (share, text) in cases {
            assert_eq!(chance(share), text, "{share}");
        }
    }

    #[test]
    fn exact_three_figures() {
        let cases =
            [(&[0.0][..], 0), (&[412.3, 1.0], 0), (&[-41.2], 1), (&[4.0], 2), (&[0.4, f64::NAN], 3), (&[1e-9], 4)];
        for (values, decimals) in cases {
            assert_eq!(three_figures(values.iter().copied()), decimals, "{values:?}");
        }
    }

    #[test]
    fn exact_differences_have_no_zero_of_their_own() {
        let warmer = Scale::temperature(Units::Us);
        assert!((warmer.difference(10.0) - 18.0).abs() < 1e-12 && (warmer.value(10.0) - 50.0).abs() < 1e-12);
        assert!((Scale::mass(Units::Us).value(0.453_592_37) - 1.0).abs() < 1e-14);
        assert_eq!((Scale::mass(Units::Metric).value(3.0), Scale::percent().unit), (3.0, "%"));
        assert!((Scale::volume_hours(Units::Us).value(3.785_411_784) - 1.0).abs() < 1e-14);
    }

    #[test]
    fn numbers_have_no_empty_decimals_and_no_minus_zero() {
        let cases = [(0.0, "0"), (-0.001, "0"), (0.126, "0.13"), (100.0, "100"), (-0.5, "-0.5"), (2_500.0, "2500")];
        for (value, text) in cases {
            assert_eq!(number(value), text, "{value}");
        }
    }
}
