//! Electricity on the site: sun, battery, generator, prices, and the rest of the house.

use springhouse_core::power::{self, SitePower};
use springhouse_core::solar::{self, SkyModel};
use springhouse_core::time::Span;

use super::at_most;
use super::draws::{months, since_midnight, weekdays};
use crate::diagnostic::Diagnostic;
use crate::display::brief;
use crate::energy::{self, Fuel, Fuels, HouseLoad, SiteEnergy, SunOnRoof};
use crate::quantity::{Power, Share};
use crate::sections::{self, FuelWord, ScenarioFile, SkyWord};
use crate::source::Stretch;
use crate::tree::Node;
use crate::typed::{At, Number, Reader, TimeOfDay};

/// What a site may have; beyond these a unit is wrong.
const MOST_W: f64 = 10e6;
const MOST_KWH: f64 = 100e3;
const MOST_FUEL_LPS: f64 = 1.0;
const MOST_PER_KWH: f64 = 1e6;
const MOST_KG_PER_KWH: f64 = 10.0;
/// Panels lose less than this to dirt and wiring, or they are broken; each kelvin takes less; an inverter gives on more.
const MOST_LOSSES: f64 = 0.9;
const MOST_PER_K: f64 = 0.01;
const LEAST_EFFICIENCY: f64 = 0.5;
const DAY_S: f64 = 86_400.0;
const KWH_J: f64 = 3.6e6;
const HOUR_S: f64 = 3_600.0;
const HOURS: usize = 24;

/// Fuel of a generator without load over that at its most power, where nothing tells. Common practice, no source.
const USUAL_NO_LOAD: f64 = 0.3;
/// Carbon dioxide of energy from the grid where no tariff is given: the default of its key.
const USUAL_KG_PER_KWH: f64 = 0.39;

/// Carbon dioxide of fuels, and the energy of propane: 40 CFR 98, table C-1, from memory. Kilograms a gallon follow from
/// kilograms and gallons for a million Btu by the upper heating value.
const GASOLINE_KG_GAL: f64 = 8.78;
const DIESEL_KG_GAL: f64 = 10.21;
const PROPANE_KG_MBTU: f64 = 62.87;
const GAS_KG_MBTU: f64 = 53.06;
const PROPANE_MBTU_GAL: f64 = 0.091;
const GALLON_L: f64 = 3.785_411_784;
/// Kilowatt-hours in a million Btu.
const MBTU_KWH: f64 = 1_055.055_852_62 / 3.6;

/// How a day's energy is spread over its hours where nothing tells: little by night, a rise in the morning, most in the evening.
/// Our own choice.
const USUAL_HOURS: [f64; HOURS] = [
    2.4, 2.1, 2.0, 2.0, 2.0, 2.4, 3.8, 5.0, 4.6, 4.0, 3.8, 4.0, 4.4, 4.2, 3.9, 4.0, 4.6, 6.0, 7.4, 7.4, 6.6, 5.6, 4.2,
    3.2,
];

/// Sun, prices and the rest of the house; `Some(None)` where nothing of the site's electricity is given.
#[expect(clippy::option_option, reason = "a fault, nothing, and something are three cases")]
pub(super) fn energy(file: &ScenarioFile, root: &Node, reader: &mut Reader<'_>) -> Option<Option<SiteEnergy>> {
    let sun = sun(file, root, reader);
    let usual = energy::Tariff { kg_per_kwh: USUAL_KG_PER_KWH, ..energy::Tariff::default() };
    let prices = match &file.tariff {
        Some(at) => at.value.0.as_ref().and_then(|section| tariff(section, reader)),
        None => Some((usual, fuels(None, None))),
    };
    let house = match &file.rest_of_house {
        Some(at) => at.value.0.as_ref().and_then(|section| house(section, reader)),
        None => Some(HouseLoad::default()),
    };
    let given = !file.panels.is_empty()
        || file.battery.is_some()
        || file.generator.is_some()
        || file.tariff.is_some()
        || file.rest_of_house.is_some();
    let (sun, (tariff, fuels), house) = (sun?, prices?, house?);
    Some(given.then_some(SiteEnergy { sun, tariff, house, fuels }))
}

/// What stands behind the grid.
pub(super) fn site_power(file: &ScenarioFile, root: &Node, reader: &mut Reader<'_>) -> Option<SitePower> {
    let battery = match &file.battery {
        Some(at) => at.value.0.as_ref().and_then(|section| battery(section, reader)).map(Some),
        None => Some(None),
    };
    let generator = match &file.generator {
        Some(at) => at.value.0.as_ref().and_then(|section| generator(section, reader)).map(Some),
        None => Some(None),
    };
    let backup = file.backup.0.as_ref()?;
    if file.battery.is_none() && file.generator.is_none() {
        if let Some(at) = typed_section("backup", root) {
            reader.tell(
                Diagnostic::error("`backup` says what is fed while the grid is out, but nothing feeds it")
                    .at(at, "no `battery` or `generator`")
                    .help("add a section `battery` or `generator`, or leave `backup` out"),
            );
            return None;
        }
        return Some(SitePower::default());
    }
    let backup = power::Backup {
        membrane: backup.membrane.value,
        heaters: backup.heaters.value,
        other_share: backup.house.value.of_one(),
    };
    Some(SitePower { battery: battery?, generator: generator?, backup })
}

/// Where a section stands that counts as empty when it is left out.
fn typed_section(name: &str, root: &Node) -> Option<Stretch> {
    let node = &root.as_table()?.get(name)?.node;
    Some(node.as_table().map_or(node.place, |table| table.header))
}

fn battery(section: &sections::Battery, reader: &mut Reader<'_>) -> Option<power::Battery> {
    let capacity = &section.capacity;
    let help = "write what its plate says, or leave the section `battery` out where there is none";
    let some_kwh = above_zero("capacity", capacity.value.kwh(), capacity.place, help, reader);
    let capacity_kwh =
        some_kwh.and_then(|kwh| at_most("capacity", (kwh, MOST_KWH), "100000 kWh", capacity.place, reader));
    let power_w = power_w("power", &section.power, reader);
    Some(power::Battery {
        capacity_j: KWH_J * capacity_kwh?,
        power_w: power_w?,
        one_way: section.round_trip.value.of_one().sqrt(),
        reserve_share: section.reserve.value.of_one(),
        start_share: section.start.map_or(1.0, |start| start.value.of_one()),
    })
}

fn generator(section: &sections::Generator, reader: &mut Reader<'_>) -> Option<power::Generator> {
    let power_w = power_w("power", &section.power, reader);
    let full = &section.full_load_fuel;
    let full_l_h =
        HOUR_S * at_most("full_load_fuel", (full.value.lps(), MOST_FUEL_LPS), "3600 L/h", full.place, reader)?;
    let idle_l_h = section.no_load_fuel.map_or(USUAL_NO_LOAD * full_l_h, |idle| HOUR_S * idle.value.lps());
    if let Some(idle) = section.no_load_fuel.filter(|_| idle_l_h > full_l_h) {
        reader.tell(
            Diagnostic::error("a generator takes more fuel under load than without")
                .at(idle.place, "without load")
                .at(full.place, "at its most power")
                .help("leave `no_load_fuel` out for 30 % of `full_load_fuel`"),
        );
        return None;
    }
    let tank = section.tank.map(|tank| {
        let help = "leave `tank` out where there is always more fuel";
        above_zero("tank", tank.value.l(), tank.place, help, reader)
    });
    let after = &section.start_after;
    if after.value.s() > DAY_S {
        let fault = Diagnostic::error("`start_after` must be at most 1 day").at(after.place, "too large");
        reader.tell(fault.help("it is counted from when the grid goes, whatever a battery does meanwhile"));
        return None;
    }
    let kg_gal = match section.fuel.value {
        FuelWord::Gasoline => GASOLINE_KG_GAL,
        FuelWord::Diesel => DIESEL_KG_GAL,
        FuelWord::Propane => PROPANE_KG_MBTU * PROPANE_MBTU_GAL,
    };
    Some(power::Generator {
        power_w: power_w?,
        start_after: Span::from_s(section.start_after.value.s()),
        fuel_l: match tank {
            Some(fuel_l) => Some(fuel_l?),
            None => None,
        },
        idle_l_h,
        full_l_h,
        price_per_l: section.fuel_price.map_or(0.0, |price| 1e-3 * price.value.per_m3()),
        kg_per_l: kg_gal / GALLON_L,
        one_motor: section.one_motor_at_a_time.value,
    })
}

/// The panels and their inverter; `Some(None)` without any.
#[expect(clippy::option_option, reason = "a fault, no panels, and panels are three cases")]
fn sun(file: &ScenarioFile, root: &Node, reader: &mut Reader<'_>) -> Option<Option<SunOnRoof>> {
    let Some(first) = file.panels.first() else {
        let Some(inverter) = typed_section("inverter", root) else { return Some(None) };
        reader.tell(
            Diagnostic::error("`inverter` stands behind panels, and there are none")
                .at(inverter, "nothing feeds it")
                .help(
                    "add a section `[[panels]]` with their `power`; the inverter of a battery is a part of `battery`",
                ),
        );
        return None;
    };
    let read: Vec<_> = file.panels.iter().map(|at| panels(&at.0.as_ref()?.value, reader)).collect();
    if file.weather.is_none() {
        reader.tell(
            Diagnostic::error("`panels` need the weather, and there is none")
                .at(first.0.as_ref()?.place, "how much sun falls on them?")
                .help("add the section `weather` with the normals of the place, and `latitude` to `site`"),
        );
        return None;
    }
    let panels = read.into_iter().collect::<Option<Vec<_>>>()?;
    let rated_w = panels.iter().map(|panels| panels.rated_w).sum();
    let (inverter, sky) = inverter(file.inverter.0.as_ref()?, rated_w, reader)?;
    Some(Some(SunOnRoof { panels, inverter, sky }))
}

fn panels(section: &sections::Panels, reader: &mut Reader<'_>) -> Option<solar::Panels> {
    let rated_w = power_w("power", &section.power, reader);
    let losses_share = within("losses", &section.losses, (0.0, MOST_LOSSES), "it is usually from 10 to 20 %", reader);
    let per_k = within(
        "loss_per_kelvin",
        &section.loss_per_kelvin,
        (0.0, MOST_PER_K),
        "it is usually from 0.25 to 0.5 %: the data sheet has it as a coefficient of power, in % for 1 °C",
        reader,
    );
    let help = "it is usually 20 %, over fresh snow up to 80 %";
    let albedo = within("ground", &section.ground, (0.0, 1.0), help, reader);
    Some(solar::Panels {
        tilt_deg: section.tilt.value.0,
        azimuth_deg: section.azimuth.value.0,
        rated_w: rated_w?,
        per_k: -per_k?,
        losses_share: losses_share?,
        albedo: albedo?,
    })
}

fn inverter(
    section: &sections::Inverter,
    rated_w: f64,
    reader: &mut Reader<'_>,
) -> Option<(solar::Inverter, SkyModel)> {
    let limit_w = match &section.power {
        Some(power) => power_w("power", power, reader),
        None => Some(rated_w),
    };
    let help = "it is usually from 94 to 98 %: the data sheet has it";
    let part = within("efficiency", &section.efficiency, (LEAST_EFFICIENCY, 1.0), help, reader);
    let sky = match section.sky.value {
        SkyWord::HayDavies => SkyModel::HayDavies,
        SkyWord::Isotropic => SkyModel::Isotropic,
    };
    Some((solar::Inverter { limit_w: limit_w?, efficiency: part? }, sky))
}

fn power_w(key: &str, power: &At<Power>, reader: &mut Reader<'_>) -> Option<f64> {
    let help = "write the power of its plate, or leave the whole section out where there is none";
    above_zero(key, power.value.w(), power.place, help, reader)?;
    at_most(key, (power.value.w(), MOST_W), "10000 kW", power.place, reader)
}

/// A value above zero; else what to do is told.
fn above_zero(key: &str, value: f64, place: Stretch, help: &str, reader: &mut Reader<'_>) -> Option<f64> {
    if value > 0.0 {
        return Some(value);
    }
    let fault = Diagnostic::error(format!("`{key}` must be more than zero")).at(place, "not more than zero");
    reader.tell(fault.help(help));
    None
}

/// A share from `least` to `most`; else what is usual is told.
fn within(key: &str, share: &At<Share>, (least, most): (f64, f64), help: &str, reader: &mut Reader<'_>) -> Option<f64> {
    let found = share.value.of_one();
    let (bound, limit, label) = if found > most {
        ("most", most, "too large")
    } else if found < least {
        ("least", least, "too small")
    } else {
        return Some(found);
    };
    let fault = Diagnostic::error(format!("`{key}` must be at {bound} {} %", brief(100.0 * limit)));
    reader.tell(fault.at(share.place, label).help(help));
    None
}

/// Power that the sun must leave for something; `None` where no panels give any, which is told.
pub(super) fn surplus_w(file: &ScenarioFile, surplus: &At<Power>, reader: &mut Reader<'_>) -> Option<f64> {
    if file.panels.is_empty() {
        reader.tell(
            Diagnostic::error("`surplus` is what `panels` leave, and there are none")
                .at(surplus.place, "nothing makes it")
                .help("add a section `[[panels]]` with their `power`, or leave this out"),
        );
        return None;
    }
    at_most("surplus", (surplus.value.w(), MOST_W), "10000 kW", surplus.place, reader)
}

fn tariff(section: &sections::Tariff, reader: &mut Reader<'_>) -> Option<(energy::Tariff, Fuels)> {
    let read: Vec<_> = section.hours.iter().map(|at| tariff_hours(at.0.as_ref()?, reader)).collect();
    let tariff = energy::Tariff {
        import_per_kwh: section.import.value.per_kwh(),
        export_per_kwh: section.export.value.per_kwh(),
        fixed_per_day: section.fixed_per_day.value.0,
        kg_per_kwh: section.carbon.value.kg_per_kwh(),
        hours: read.into_iter().collect::<Option<_>>()?,
    };
    let within = [
        ("import", tariff.import_per_kwh, section.import.place),
        ("export", tariff.export_per_kwh, section.export.place),
    ];
    for (key, price, place) in within {
        bounded_price(key, price, place, reader)?;
    }
    if tariff.kg_per_kwh > MOST_KG_PER_KWH {
        let fault = Diagnostic::error("`carbon` must be at most 10 kg/kWh (22 lb/kWh)");
        reader.tell(fault.at(section.carbon.place, "too large").help("coal makes about 1 kg/kWh"));
        return None;
    }
    Some((
        tariff,
        fuels(section.gas.map(|gas| gas.value.per_kwh()), section.propane.map(|propane| 1e-3 * propane.value.per_m3())),
    ))
}

fn bounded_price(key: &str, per_kwh: f64, place: Stretch, reader: &mut Reader<'_>) -> Option<f64> {
    if per_kwh <= MOST_PER_KWH {
        return Some(per_kwh);
    }
    reader.tell(Diagnostic::error(format!("`{key}` must be at most 1000000 /kWh")).at(place, "too large"));
    None
}

fn fuels(gas_per_kwh: Option<f64>, propane_per_l: Option<f64>) -> Fuels {
    let propane_kwh_l = PROPANE_MBTU_GAL * MBTU_KWH / GALLON_L;
    Fuels {
        gas: Fuel { per_kwh: gas_per_kwh, kg_per_kwh: GAS_KG_MBTU / MBTU_KWH },
        propane: Fuel {
            per_kwh: propane_per_l.map(|per_l| per_l / propane_kwh_l),
            kg_per_kwh: PROPANE_KG_MBTU / MBTU_KWH,
        },
    }
}

fn tariff_hours(at: &At<sections::TariffHours>, reader: &mut Reader<'_>) -> Option<energy::TariffHours> {
    let section = &at.value;
    let hours = full_hour("start", &section.start, reader).zip(full_hour("end", &section.end, reader));
    let weekdays = weekdays(section.weekdays.as_ref(), "these prices would never hold", reader);
    let months = months(section.months.as_ref(), "these prices would never hold", reader);
    if section.import.is_none() && section.export.is_none() {
        reader.tell(
            Diagnostic::error("hours of a tariff need `import`, `export` or both")
                .at(at.place, "changes nothing")
                .help("add a line like: import = \"0.31 /kWh\""),
        );
        return None;
    }
    let mut prices = [None; 2];
    let given = [("import", section.import), ("export", section.export)];
    for ((key, given), price) in given.into_iter().zip(&mut prices) {
        if let Some(given) = given {
            *price = Some(bounded_price(key, given.value.per_kwh(), given.place, reader)?);
        }
    }
    let [import_per_kwh, export_per_kwh] = prices;
    let (start_h, end_h) = hours?;
    let end_h = if end_h == 0 { 24 } else { end_h };
    if start_h == end_h {
        reader.tell(
            Diagnostic::error("`start` and `end` are the same time of day")
                .at(section.end.place, "ends as it begins")
                .at(section.start.place, "begins here")
                .help("for a whole day let it be from \"00:00\" to \"00:00\""),
        );
        return None;
    }
    Some(energy::TariffHours { start_h, end_h, weekdays: weekdays?, months: months?, import_per_kwh, export_per_kwh })
}

/// The hour of a time of day that is a full one.
fn full_hour(key: &str, time: &At<TimeOfDay>, reader: &mut Reader<'_>) -> Option<u8> {
    let of_day_s = since_midnight(time.value).s();
    let hour = u8::try_from(time.value.0.hour()).ok()?;
    if of_day_s == HOUR_S * f64::from(hour) {
        return Some(hour);
    }
    reader.tell(
        Diagnostic::error(format!("`{key}` of a tariff's hours must be a full hour"))
            .at(time.place, "between two hours")
            .help(format!("write {key} = \"{hour:02}:00\": electricity is counted by the hour")),
    );
    None
}

fn house(section: &sections::RestOfHouse, reader: &mut Reader<'_>) -> Option<HouseLoad> {
    let per_day = &section.per_day;
    let kwh_per_day = at_most("per_day", (per_day.value.kwh(), MOST_KWH), "100000 kWh", per_day.place, reader);
    let by_hour = match &section.by_hour {
        Some(given) => shares("by_hour", given, "a day has 24 hours", reader),
        None => Some(of_sum(USUAL_HOURS, 1.0)),
    };
    let by_month = match &section.by_month {
        Some(given) => shares("by_month", given, "a year has 12 months", reader).map(|parts| of_sum(parts, 12.0)),
        None => Some([1.0; 12]),
    };
    Some(HouseLoad { kwh_per_day: kwh_per_day?, by_hour: by_hour?, by_month: by_month? })
}

/// So many numbers, made to add up to 1.
fn shares<const N: usize>(
    key: &str,
    given: &At<Vec<Number<0, 1_000_000>>>,
    why: &str,
    reader: &mut Reader<'_>,
) -> Option<[f64; N]> {
    let found = given.value.len();
    let Ok(numbers) = <[f64; N]>::try_from(given.value.iter().map(|number| number.0).collect::<Vec<_>>()) else {
        let count = if found == 1 { "1 number".to_owned() } else { format!("{found} numbers") };
        reader.tell(
            Diagnostic::error(format!("`{key}` has {count}, but {why}"))
                .at(given.place, format!("{N} numbers are wanted"))
                .help("any scale will do: only how they compare counts"),
        );
        return None;
    };
    if numbers.iter().all(|number| *number <= 0.0) {
        let fault = Diagnostic::error(format!("`{key}` is 0 throughout: the energy of `per_day` falls nowhere"));
        reader.tell(fault.at(given.place, "no number over 0").help(format!("leave `{key}` out for the usual one")));
        return None;
    }
    Some(of_sum(numbers, 1.0))
}

fn of_sum<const N: usize>(numbers: [f64; N], wanted: f64) -> [f64; N] {
    let sum: f64 = numbers.iter().sum();
    numbers.map(|number| number / sum * wanted)
}
