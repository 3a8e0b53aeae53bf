//! The columns of `minutes.csv`. A key alone is of the whole plant, `key:NAME` of the part of that name.

use jiff::civil::Date;
use springhouse_core::heater::Source as HeatSource;
use springhouse_core::hot_water::HeaterPlace;
use springhouse_core::incident::IncidentKind;
use springhouse_core::membrane::Membrane;
use springhouse_core::observe::{OutletTotals, SupplyTotals, Totals};
use springhouse_core::outlet::{Header, Role};
use springhouse_core::power::SiteFlows;
use springhouse_core::quality::Constituent;
use springhouse_core::supply::{Source, Supply};
use springhouse_sim::{Day, HeaterEnergy, HeaterNow, Row, names};

use super::by_day::DayColumn;
use crate::numbers::{J_PER_KWH, fixed};
use crate::site::Account;
use crate::{Run, calendar, days};

/// A drive at rest takes a ten-thousandth of a kilowatt hour in a minute: fewer would not add up to the summary's figures.
const KWH_DECIMALS: usize = 9;
/// Money and carbon dioxide go with kilowatt hours.
const COST_DECIMALS: usize = 9;

/// One column: its key and what stands in it.
pub(super) struct Column<'a> {
    pub(super) key: String,
    decimals: usize,
    value: Value<'a>,
}

/// What a column tells of a row.
enum Value<'a> {
    /// Its instant.
    Time(Date),
    /// What is so at its instant.
    Now(Box<dyn Fn(&Row) -> f64 + 'a>),
    /// What a running total has gained since the row before.
    Gain(Box<dyn Fn(&Totals) -> f64 + 'a>),
    /// Energy that a heater took since the row before, of one kind, kWh.
    Heater(usize, fn(HeaterEnergy) -> f64),
    /// Money or carbon dioxide since the row before.
    Account(Account),
    /// Starts of a supply's pump since the row before.
    Starts(usize),
}

impl<'a> Column<'a> {
    fn now(key: impl Into<String>, decimals: usize, value: impl Fn(&Row) -> f64 + 'a) -> Self {
        Self { key: key.into(), decimals, value: Value::Now(Box::new(value)) }
    }

    fn gain(key: impl Into<String>, decimals: usize, total: impl Fn(&Totals) -> f64 + 'a) -> Self {
        Self { key: key.into(), decimals, value: Value::Gain(Box::new(total)) }
    }

    fn litres(key: impl Into<String>, total: impl Fn(&Totals) -> f64 + 'a) -> Self {
        Self::gain(key, 4, total)
    }

    fn energy(key: impl Into<String>, total_j: impl Fn(&Totals) -> f64 + 'a) -> Self {
        Self::gain(key, KWH_DECIMALS, move |totals| total_j(totals) / J_PER_KWH)
    }

    /// What stands in the column of a row that comes after another.
    pub(super) fn cell(&self, row: &Row, before: &Row) -> String {
        match &self.value {
            Value::Time(first_day) => calendar::iso_seconds(*first_day, row.time),
            Value::Now(value) => fixed(value(row), self.decimals),
            Value::Gain(total) => fixed(total(&row.totals) - total(&before.totals), self.decimals),
            Value::Heater(index, kind) => {
                let taken =
                    |row: &Row| row.hot_water.heaters.get(*index).map(|heater| heater.taken).unwrap_or_default();
                fixed(kind(taken(row).since(taken(before))) / J_PER_KWH, self.decimals)
            }
            Value::Account(account) => fixed(account.so_far(row) - account.so_far(before), self.decimals),
            Value::Starts(index) => row.starts[*index].saturating_sub(before.starts[*index]).to_string(),
        }
    }

    /// The same of a whole day, where it tells what has flowed or was done; `None` of what is so at an instant.
    pub(super) fn by_day(self) -> Option<DayColumn<'a>> {
        let decimals = self.decimals;
        let cell: Box<dyn Fn(&Day) -> String + 'a> = match self.value {
            Value::Time(_) | Value::Now(_) => return None,
            Value::Gain(total) => Box::new(move |day| fixed(total(&day.totals), decimals)),
            Value::Heater(index, kind) => Box::new(move |day| {
                fixed(kind(day.heaters.get(index).copied().unwrap_or_default()) / J_PER_KWH, decimals)
            }),
            Value::Account(account) => Box::new(move |day| fixed(account.of_day(day), decimals)),
            Value::Starts(index) => Box::new(move |day| day.starts[index].to_string()),
        };
        Some(DayColumn { key: self.key, cell })
    }
}

/// Every column that the scenario's parts have, in their order.
pub(super) fn all<'a>(run: &Run<'a>) -> Vec<Column<'a>> {
    let mut columns = at_instant(run);
    columns.extend(water(run));
    columns.extend(energy(run));
    columns.extend(has_battery(run).then(|| Column::now(BATTERY, 6, |row| row.stored_j / J_PER_KWH)));
    for (index, supply) in run.scenario.plant.supplies.iter().enumerate() {
        columns.extend(of_supply(run, index, supply));
    }
    columns.extend(run.scenario.plant.membrane.as_ref().map(of_membrane).into_iter().flatten());
    let hot_water = &run.scenario.plant.hot_water;
    for (index, heater) in hot_water.heaters.iter().enumerate() {
        columns.extend(of_heater(index, heater));
    }
    for (index, room) in hot_water.rooms.iter().enumerate() {
        columns.extend(of_room(index, &room.name));
    }
    columns
}

/// What is so at the row's instant.
fn at_instant<'a>(run: &Run<'a>) -> Vec<Column<'a>> {
    let (plant, first_day) = (&run.scenario.plant, run.first_day);
    let mut columns = vec![Column { key: "time".to_owned(), decimals: 0, value: Value::Time(first_day) }];
    // It stands beside the pressure that feeds the house.
    let lowest = || Column::now("lowest_pressure_kpa", 3, |row| row.lowest_house_kpa);
    columns.push(Column::now("pressure_kpa", 3, |row| row.raw_kpa));
    columns.extend((plant.house_header() == Header::Raw).then(lowest));
    if plant.store.is_some() {
        columns.push(Column::now("storage_l", 3, |row| row.storage_l));
        columns.push(Column::now("delivery_pressure_kpa", 3, |row| row.delivery_kpa));
    }
    columns.extend((plant.house_header() == Header::Delivery).then(lowest));
    columns.push(Column::now("wanted_lps", 6, |row| row.wanted_lps));
    columns.push(Column::now("salt_mg_l", 3, |row| row.carried[Constituent::Salt as usize]));
    if days::open_basins(plant).next().is_some() {
        columns.push(Column::now("raw_temp_c", 3, |row| row.raw_temp_c));
    }
    columns
}

/// Water that has flowed through the plant, and to each outlet.
pub(super) fn water<'a>(run: &Run<'a>) -> Vec<Column<'a>> {
    let plant = &run.scenario.plant;
    let outlets = &plant.outlets;
    let sum = |key: &str, role: Role, part: fn(&OutletTotals) -> f64| {
        Column::litres(key, move |totals| {
            let of_role = outlets.iter().zip(&totals.outlets).filter(|(outlet, _)| outlet.role == role);
            of_role.map(|(_, outlet)| part(outlet)).sum()
        })
    };
    let pumped = |totals: &Totals| totals.supplies.iter().map(|supply| supply.pumped_l).sum();
    let mut columns = vec![Column::litres("pumped_l", pumped)];
    if plant.store.is_some() {
        columns.push(Column::litres("filled_l", |totals| totals.filled_l));
        columns.push(Column::litres(format!("spilled_l:{}", names::STORAGE), |totals| totals.spilled_l));
    }
    if run.scenario.incidents.iter().any(|incident| matches!(incident.kind, IncidentKind::AirLost { .. })) {
        columns.push(Column::litres("drained_l", |totals| totals.drained_l));
    }
    columns.push(sum("delivered_l", Role::Building, |outlet| outlet.delivered_l));
    columns.push(sum("lost_l", Role::Building, |outlet| outlet.lost_l));
    if outlets.iter().any(|outlet| outlet.role == Role::RawLoad) {
        columns.push(sum("raw_loads_l", Role::RawLoad, |outlet| outlet.delivered_l));
        columns.push(sum("raw_lost_l", Role::RawLoad, |outlet| outlet.lost_l));
    }
    columns.extend(outlets.iter().enumerate().map(|(index, outlet)| {
        let total = move |totals: &Totals| totals.outlets.get(index).map_or(0.0, |outlet| outlet.delivered_l);
        Column::litres(format!("delivered_l:{}", outlet.name), total)
    }));
    columns
}

/// Energy of the plant, and of what belongs to no supply.
pub(super) fn energy<'a>(run: &Run<'a>) -> Vec<Column<'a>> {
    let plant = &run.scenario.plant;
    let mut columns = vec![Column::energy("energy_kwh", Totals::energy_j)];
    columns.extend(plant.store.as_ref().map(|_| Column::energy("delivery_kwh", |totals| totals.delivery_j)));
    if !plant.hot_water.is_empty() {
        columns.push(Column::energy("heaters_kwh", |totals| totals.heaters_j));
    }
    if plant.stages.iter().any(|stage| stage.ultraviolet().is_some()) {
        columns.push(Column::energy("lamps_kwh", |totals| totals.lamps_j));
    }
    if run.outcome.summary.energy.site.is_some() {
        columns.extend(of_site(run));
    }
    columns
}

/// Energy in the battery.
pub(super) const BATTERY: &str = "battery_kwh";

/// Whether its level is followed.
pub(super) fn has_battery(run: &Run<'_>) -> bool {
    run.outcome.summary.energy.site.is_some() && run.scenario.plant.power.battery.is_some()
}

/// Where the electricity of the site came from, and what it cost.
fn of_site<'a>(run: &Run<'a>) -> Vec<Column<'a>> {
    let flow = |key: &str, of: fn(&SiteFlows) -> f64| Column::energy(key, move |totals| of(&totals.site));
    let account = |key: &str, account: Account| Column {
        key: key.to_owned(),
        decimals: COST_DECIMALS,
        value: Value::Account(account),
    };
    let mut columns = vec![
        flow("solar_kwh", |flows| flows.solar_j),
        flow("own_kwh", SiteFlows::own_j),
        flow("import_kwh", SiteFlows::import_j),
        flow("export_kwh", |flows| flows.exported_j),
        flow("rest_of_house_kwh", |flows| flows.other_j),
    ];
    let generator = run.scenario.plant.power.generator.as_ref();
    columns.extend(generator.map(|_| flow("generator_kwh", |flows| flows.generated_j)));
    columns.push(account("cost", Account::cost(run)));
    columns.push(account("co2_kg", Account::co2_kg(run)));
    columns
}

/// All of one supply.
pub(super) fn of_supply<'a>(run: &Run<'a>, index: usize, supply: &'a Supply) -> Vec<Column<'a>> {
    let key = |key: &str| format!("{key}:{}", supply.name);
    let litres = |name: &str, part: fn(&SupplyTotals) -> f64| {
        Column::litres(key(name), move |totals| part(&totals.supplies[index]))
    };
    let (basin, has_pump) = (supply.source.basin(), supply.source.pump().is_some());
    let mut columns = Vec::new();
    columns.extend(match supply.source {
        Source::Well { .. } => Some(Column::now(key("drawdown_m"), 4, move |row| row.sources[index])),
        Source::Basin { .. } => Some(Column::now(key("water_l"), 3, move |row| row.sources[index])),
        Source::TownLine(_) => None,
    });
    let open = basin.is_some_and(|basin| basin.open.is_some());
    if open {
        columns.push(Column::now(key("salt_mg_l"), 3, move |row| row.sources_salt_mg_l[index]));
        columns.push(Column::now(key("temp_c"), 3, move |row| row.sources_temp_c[index]));
        columns.push(Column::now(key("ice_m"), 4, move |row| row.ice_m[index]));
    }
    columns.push(Column::now(key("on"), 0, move |row| f64::from(u8::from(row.pump_on[index]))));
    columns.push(litres("pumped_l", |totals| totals.pumped_l));
    if basin.is_none() || open || run.scenario.rain.iter().any(|rain| rain.supply == index) {
        columns.push(litres("inflow_l", |totals| totals.inflow_l));
    }
    if open {
        columns.push(litres("rain_l", |totals| totals.rain_l));
        columns.push(litres("runoff_l", |totals| totals.runoff_l));
        columns.push(litres("evaporated_l", |totals| totals.evaporated_l));
        columns.push(litres("seeped_l", |totals| totals.seeped_l));
    }
    if let Some(basin) = basin {
        columns.extend(basin.top_up.as_ref().map(|_| litres("topped_up_l", |totals| totals.topped_up_l)));
        columns.push(litres("spilled_l", |totals| totals.spilled_l));
    }
    if run.scenario.plant.membrane.as_ref().is_some_and(|membrane| membrane.reject_to == Some(index)) {
        columns.push(litres("returned_l", |totals| totals.returned_l));
    }
    if run.scenario.incidents.iter().any(|incident| leaks_back(incident.kind, index)) {
        columns.push(litres("leaked_back_l", |totals| totals.leaked_back_l));
    }
    columns.push(Column::gain(key("run_s"), 3, move |totals| totals.supplies[index].run_s));
    if has_pump {
        columns.push(Column { key: key("starts"), decimals: 0, value: Value::Starts(index) });
        columns.push(Column::energy(key("pump_kwh"), move |totals| totals.supplies[index].pump_j));
    }
    columns
}

/// All of the membrane unit.
pub(super) fn of_membrane<'a>(membrane: &Membrane) -> Vec<Column<'a>> {
    let key = |key: &str| format!("{key}:{}", names::MEMBRANE);
    let mut columns = vec![
        Column::now(key("on"), 0, |row| f64::from(u8::from(row.membrane.on))),
        Column::now(key("loop_salt_mg_l"), 3, |row| row.membrane.loop_salt_mg_l),
        Column::now(key("product_salt_mg_l"), 3, |row| row.membrane.product_salt_mg_l),
        Column::litres(key("feed_l"), Totals::membrane_feed_l),
        Column::litres(key("product_l"), Totals::membrane_stored_l),
        Column::litres(key("diverted_l"), |totals| totals.membrane.diverted_l),
        Column::litres(key("reject_l"), days::rejected_l),
        Column::litres(key("flushed_l"), |totals| totals.membrane.flushed_l),
        Column::litres(key("recycle_l"), |totals| totals.membrane.recycled_l),
        Column::gain(key("run_s"), 3, |totals| totals.membrane.run_s),
    ];
    columns
        .extend(membrane.unit.pump.as_ref().map(|_| Column::energy(key("pump_kwh"), |totals| totals.membrane.pump_j)));
    columns
}

/// A heater at the last minute of the slow clock, and what it took up to then; what its kind lacks has no column.
pub(super) fn of_heater<'a>(index: usize, heater: &HeaterPlace) -> Vec<Column<'a>> {
    let now = |key: &str, decimals: usize, value: fn(&HeaterNow) -> f64| {
        let of_row = move |row: &Row| row.hot_water.heaters.get(index).map_or(0.0, value);
        Column::now(format!("{key}:{}", heater.name), decimals, of_row)
    };
    let on = |key: &str, is_on: fn(&HeaterNow) -> f64| now(key, 0, is_on);
    let (compressor, element) = (
        on("compressor_on", |heater| f64::from(u8::from(heater.compressor_on))),
        on("element_on", |heater| f64::from(u8::from(heater.element_on))),
    );
    let mut columns = vec![now("outlet_c", 3, |heater| heater.outlet_c), now("tank_c", 3, |heater| heater.mean_c)];
    columns.extend(match heater.heater.source {
        HeatSource::HeatPump(..) => vec![compressor, element],
        HeatSource::Electric(_) => vec![element],
        HeatSource::Fuel(_) => vec![on("burner_on", |heater| f64::from(u8::from(heater.burner_on)))],
    });
    columns.push(now("power_w", 2, |heater| heater.power_w));
    let taken = |key: &str, kind: fn(HeaterEnergy) -> f64| {
        let key = format!("{key}:{}", heater.name);
        Column { key, decimals: KWH_DECIMALS, value: Value::Heater(index, kind) }
    };
    columns.push(taken("heater_kwh", |taken| taken.electric_j));
    if matches!(heater.heater.source, HeatSource::Fuel(_)) {
        columns.push(taken("fuel_kwh", |taken| taken.fuel_j));
    }
    columns
}

/// The air of a room that heaters stand in.
fn of_room<'a>(index: usize, name: &str) -> [Column<'a>; 2] {
    let now = |key: &str, decimals: usize, value: fn(&(f64, f64)) -> f64| {
        let of_row = move |row: &Row| row.hot_water.rooms.get(index).map_or(0.0, value);
        Column::now(format!("{key}:{name}"), decimals, of_row)
    };
    [now("room_c", 3, |air| air.0), now("humidity", 4, |air| air.1)]
}

fn leaks_back(kind: IncidentKind, index: usize) -> bool {
    matches!(kind, IncidentKind::LeakBack { supply, .. } if supply == index)
}
