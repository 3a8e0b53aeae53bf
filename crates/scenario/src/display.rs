//! Results in the units a person reads.

use crate::quantity::unit::{self, Dimension};

/// The units a person reads results in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Units {
    /// Gallons, feet, pounds per square inch, degrees Fahrenheit.
    Us,
    /// Litres, metres, kilopascals, degrees Celsius.
    Metric,
}

/// From this part of an acre or hectare on an area is told in those.
const LEAST_LAND: f64 = 0.25;
/// As many digits after the point as any flow is given.
const MOST_DECIMALS: i32 = 5;

impl Units {
    /// The US unit or the metric one.
    fn choose<T>(self, us: T, metric: T) -> T {
        match self {
            Self::Us => us,
            Self::Metric => metric,
        }
    }

    /// A volume in gallons or litres.
    #[must_use]
    pub fn volume(self, volume_l: f64) -> String {
        self.in_unit(&unit::VOLUME, self.choose("gal", "L"), volume_l, 1)
    }

    /// A flow in gallons or litres a minute.
    #[must_use]
    pub fn flow(self, flow_lps: f64) -> String {
        // The yield of a slow well is small, but all there is: its digits count however small it is.
        let name = self.choose("gpm", "L/min");
        let value = unit::FLOW.named(name).map_or(flow_lps, |unit| flow_lps / unit.factor);
        if value.abs() >= 1.0 {
            return self.in_unit(&unit::FLOW, name, flow_lps, 2);
        }
        let mut decimals = 3;
        while decimals < MOST_DECIMALS && value.abs() * 10_f64.powi(decimals) < 100.0 {
            decimals += 1;
        }
        format!("{} {name}", plain(&format!("{value:.*}", usize::try_from(decimals).unwrap_or(2))))
    }

    /// A gauge pressure in pounds per square inch or kilopascals.
    #[must_use]
    pub fn pressure(self, pressure_kpa: f64) -> String {
        self.in_unit(&unit::PRESSURE, self.choose("psi", "kPa"), pressure_kpa, 1)
    }

    /// A length in feet or metres; less than one of them in inches or millimetres.
    #[must_use]
    pub fn length(self, length_m: f64) -> String {
        let one_m = self.choose(0.304_8, 1.0);
        let name =
            if length_m == 0.0 || length_m.abs() >= one_m { self.choose("ft", "m") } else { self.choose("in", "mm") };
        self.in_unit(&unit::LENGTH, name, length_m, 2)
    }

    /// A depth of rain or of what evaporates, in inches or millimetres.
    #[must_use]
    pub fn depth_mm(self, depth_mm: f64) -> String {
        self.in_unit(&unit::LENGTH, self.choose("in", "mm"), 1e-3 * depth_mm, self.choose(2, 1))
    }

    /// An area in square feet or square metres; of land, from an acre or a hectare on, in those.
    #[must_use]
    pub fn area(self, area_m2: f64) -> String {
        let (large, small) = self.choose(("acre", "ft2"), ("ha", "m2"));
        let is_large = unit::AREA.named(large).is_some_and(|unit| area_m2 >= LEAST_LAND * unit.factor);
        self.in_unit(&unit::AREA, if is_large { large } else { small }, area_m2, if is_large { 2 } else { 0 })
    }

    /// A temperature in degrees Fahrenheit or Celsius.
    #[must_use]
    pub fn temperature(self, temperature_c: f64) -> String {
        self.in_unit(&unit::TEMPERATURE, self.choose("°F", "°C"), temperature_c, 1)
    }

    /// A power in watts or kilowatts.
    #[must_use]
    pub fn power(self, power_w: f64) -> String {
        self.in_unit(&unit::POWER, if power_w.abs() < 10_000.0 { "W" } else { "kW" }, power_w, 1)
    }

    /// A length of time in days, hours, minutes and seconds, the two largest that count.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::self_only_used_in_recursion,
        reason = "`as` saturates, and the number is not negative; every habit counts time alike"
    )]
    pub fn duration(self, seconds: f64) -> String {
        if seconds < 0.0 {
            return format!("-{}", Self::duration(self, seconds.abs()));
        }
        if seconds < 60.0 {
            return format!("{} s", rounded(seconds, 1));
        }
        let grain_s: u32 = if seconds < 3_600.0 { 1 } else { 60 };
        let whole_s = (seconds / f64::from(grain_s)).round() as u64 * u64::from(grain_s);
        let parts = [
            (whole_s / 86_400, if whole_s / 86_400 == 1 { "day" } else { "days" }),
            (whole_s / 3_600 % 24, "h"),
            (whole_s / 60 % 60, "min"),
            (whole_s % 60, "s"),
        ];
        let counted = parts.iter().skip_while(|(count, _)| *count == 0).take(2).filter(|(count, _)| *count > 0);
        counted.map(|(count, unit)| format!("{count} {unit}")).collect::<Vec<_>>().join(" ")
    }

    /// A value of any dimension, given in base units.
    pub(crate) fn quantity(self, dimension: &'static Dimension, base: f64) -> String {
        let is = |other: &'static Dimension| std::ptr::eq(dimension, other);
        if is(&unit::VOLUME) {
            self.volume(base)
        } else if is(&unit::FLOW) {
            self.flow(base)
        } else if is(&unit::PRESSURE) {
            self.pressure(base)
        } else if is(&unit::LENGTH) {
            self.length(base)
        } else if is(&unit::TEMPERATURE) {
            self.temperature(base)
        } else if is(&unit::POWER) {
            self.power(base)
        } else if is(&unit::HEAT_LOSS) {
            self.in_unit(dimension, self.choose("Btu/h/°F", "W/K"), base, 2)
        } else if is(&unit::HEAT_CAPACITY) {
            self.in_unit(dimension, self.choose("Btu/°F", "kJ/K"), base, 0)
        } else if is(&unit::DURATION) {
            self.duration(base)
        } else if is(&unit::SPECIFIC_CAPACITY) {
            self.in_unit(dimension, self.choose("gpm/ft", "L/min/m"), base, 2)
        } else if is(&unit::VOLUME_PER_LENGTH) {
            self.in_unit(dimension, self.choose("gal/ft", "L/m"), base, 2)
        } else if is(&unit::AREA) {
            self.in_unit(dimension, self.choose("ft2", "m2"), base, 2)
        } else if is(&unit::SPEED) {
            self.in_unit(dimension, self.choose("mph", "m/s"), base, 1)
        } else if is(&unit::DEPTH_RATE) {
            self.in_unit(dimension, self.choose("in/day", "mm/day"), base, 2)
        } else if is(&unit::SUN) {
            self.in_unit(dimension, "MJ/m2", base, 2)
        } else if is(&unit::MASS) {
            self.in_unit(dimension, self.choose("lb", "kg"), base, 2)
        } else if is(&unit::CONCENTRATION) || is(&unit::HARDNESS) {
            self.in_unit(dimension, "mg/L", base, 2)
        } else if is(&unit::DOSE) {
            self.in_unit(dimension, "mJ/cm2", base, 2)
        } else if is(&unit::FLUX) {
            self.in_unit(dimension, self.choose("gfd", "L/m2/h"), base, 2)
        } else if is(&unit::PERMEABILITY) {
            self.in_unit(dimension, self.choose("gfd/psi", "L/m2/h/bar"), base, 3)
        } else if is(&unit::FLOW_COEFFICIENT) {
            self.in_unit(dimension, self.choose("Cv", "Kv"), base, 3)
        } else if is(&unit::ENERGY) {
            self.in_unit(dimension, "kWh", base, 2)
        } else if is(&unit::ENERGY_PRICE) {
            self.in_unit(dimension, "/kWh", base, 4)
        } else if is(&unit::EMISSION) {
            self.in_unit(dimension, self.choose("lb/kWh", "kg/kWh"), base, 3)
        } else if is(&unit::PRICE) {
            self.in_unit(dimension, self.choose("/kgal", "/m3"), base, 2)
        } else {
            let own = dimension.units.last().map_or("", |unit| unit.name);
            self.in_unit(dimension, own, base, 2)
        }
    }

    /// A value that is not zero and must not read as another: with as many decimals as that takes.
    pub(crate) fn apart(self, dimension: &'static Dimension, base: f64, other: f64) -> String {
        const MOST: usize = 9;
        let text = self.quantity(dimension, base);
        let Some((name, unit)) = text.split_once(' ').and_then(|(_, name)| Some((name, dimension.named(name)?))) else {
            return text;
        };
        let shown = |value: f64, decimals: usize| plain(&format!("{:.decimals$}", value / unit.factor - unit.offset));
        let differ = |decimals: &usize| {
            let (own, other) = (shown(base, *decimals), shown(other, *decimals));
            own != other && (base == 0.0 || own != "0")
        };
        // Of less than one few digits are told.
        let is_plain = base == 0.0 || (base / unit.factor - unit.offset).abs() >= 1.0;
        if is_plain && self.quantity(dimension, other) != text {
            return text;
        }
        // Two more, so that the limit itself is told and not a number near it.
        (0..=MOST).find(differ).map_or(text.clone(), |decimals| format!("{} {name}", shown(base, decimals + 2)))
    }

    /// Three digits that count, but no more than `decimals` after the point.
    #[expect(clippy::unused_self, reason = "reads as one family with its callers")]
    fn in_unit(self, dimension: &'static Dimension, name: &'static str, base: f64, decimals: usize) -> String {
        let Some(unit) = dimension.named(name) else { return format!("{base}") };
        format!("{} {name}", rounded(base / unit.factor - unit.offset, decimals))
    }
}

/// From here on a number is told by its exponent: nobody counts so many digits.
const MANY_DIGITS: f64 = 1e12;

/// A number as it stands, or by its exponent where it has many digits.
pub(crate) fn brief(value: f64) -> String {
    if value.abs() < MANY_DIGITS { value.to_string() } else { format!("{value:.3e}") }
}

/// Three digits that count, at most `decimals` of them after the point, no trailing zeros.
fn rounded(value: f64, decimals: usize) -> String {
    if value.abs() >= MANY_DIGITS {
        return brief(value);
    }
    let whole_digits = [10.0, 100.0].iter().filter(|bound| value.abs() >= **bound).count() + 1;
    plain(&format!("{value:.*}", decimals.min(3_usize.saturating_sub(whole_digits))))
}

/// A decimal number without trailing zeros, and without the sign of a zero.
fn plain(text: &str) -> String {
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_values_come_back_in_both_habits() {
        assert_eq!(Units::Us.volume(378.541_178_4), "100 gal");
        assert_eq!(Units::Us.volume(12.3), "3.2 gal");
        assert_eq!(Units::Metric.volume(5_678.4), "5678 L");
        assert_eq!(Units::Us.flow(0.063_090_196_4), "1 gpm");
        assert_eq!(Units::Metric.flow(0.1), "6 L/min");
        assert_eq!(Units::Us.flow(0.006_750_651), "0.107 gpm");
        assert_eq!(Units::Us.flow(0.000_067_506_51), "0.00107 gpm");
        assert_eq!(Units::Us.flow(1e-12), "0 gpm");
        assert_eq!(Units::Us.pressure(275.790_291_73), "40 psi");
        assert_eq!(Units::Metric.pressure(275.79), "276 kPa");
        assert_eq!(Units::Us.length(18.288), "60 ft");
        assert_eq!(Units::Us.length(0.031_75), "1.25 in");
        assert_eq!(Units::Metric.length(-12.346), "-12.3 m");
        assert_eq!(Units::Us.temperature(11.111_111), "52 °F");
        assert_eq!(Units::Us.power(559.27), "559 W");
        assert_eq!(Units::Metric.volume(-0.000_1), "0 L");
    }

    #[test]
    fn exact_limits_can_be_told_apart_and_long_numbers_are_short() {
        let gallons = |base, other| Units::Us.apart(&unit::VOLUME, base, other);
        // The least volume of a tank, a litre, is 0.264 gal.
        assert_eq!([gallons(0.0, 1.0), gallons(1.0, 0.0)], ["0 gal", "0.264 gal"]);
        assert_eq!([gallons(0.1, 0.0), gallons(0.098, 0.1)], ["0.0264 gal", "0.025889 gal"]);
        assert_eq!(gallons(378.541_178_4, 1.0), "100 gal");
        assert_eq!(Units::Metric.volume(1e300), "1.000e300 L");
        assert_eq!([brief(1e300), brief(0.5), brief(-4.0)], ["1.000e300", "0.5", "-4"]);
    }

    #[test]
    fn exact_lengths_of_time() {
        let duration = |seconds| Units::Us.duration(seconds);
        assert_eq!(duration(0.0), "0 s");
        assert_eq!(duration(45.25), "45.2 s");
        assert_eq!(duration(59.99), "60 s");
        assert_eq!(duration(90.0), "1 min 30 s");
        assert_eq!(duration(5_400.0), "1 h 30 min");
        assert_eq!(duration(3_599.7), "1 h");
        assert_eq!(duration(86_400.0), "1 day");
        assert_eq!(duration(183_600.0), "2 days 3 h");
        assert_eq!(duration(-60.0), "-1 min");
    }
}
