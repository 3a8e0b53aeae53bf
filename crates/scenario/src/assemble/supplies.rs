//! Where water comes from, and the pressure tank behind the pumps.

use std::path::PathBuf;

use springhouse_core::basin::{self, BasinKind};
use springhouse_core::pressure_tank::PressureTank;
use springhouse_core::quality::Quality;
use springhouse_core::roof::Roof;
use springhouse_core::supply::{ChangeOver, Control, Source, Supply};
use springhouse_core::time::Span;
use springhouse_core::town_line::TownLine;
use springhouse_core::water::Water;

use super::{analysis, at_most, positive, pump, weather, well};
use crate::diagnostic::Diagnostic;
use crate::scenario::{RainFile, SiteWeather};
use crate::sections::{self, BasinCutoff, ScenarioFile, SupplyWord, TopUp, WellPump};
use crate::tree::Node;
use crate::typed::{At, Level, Reader, Tried};

/// Tells of sections that are missing, whatever else could be read of the file.
pub(crate) fn refuse_missing(root: &Node, reader: &mut Reader<'_>) {
    let Some(table) = root.as_table() else { return };
    let there = |section: &str| table.get(section).is_some();
    let wells = [["well", "well_pump"], ["second_well", "second_well_pump"]];
    let basins = there("cistern") || there("pond");
    let pumped = basins || wells.iter().flatten().any(|section| there(section));
    if !pumped && !there("town_line") {
        // A file with nothing in it is told of the usual sections only.
        let why = "or another supply in its place: a section `cistern`, `pond` or `town_line`";
        let why = (!table.entries.is_empty()).then_some(why);
        reader.require(table.header, ScenarioFile::SECTION, "well", why);
        reader.require(table.header, ScenarioFile::SECTION, "well_pump", None);
    }
    for [well, pump] in wells {
        if there(well) != there(pump) {
            let missing = if there(well) { pump } else { well };
            reader.require(table.header, ScenarioFile::SECTION, missing, None);
        }
    }
    if !there("pressure_tank") && (pumped || !there("town_line")) {
        reader.require(table.header, ScenarioFile::SECTION, "pressure_tank", None);
    }
}

/// Every supply, in the plant's order.
pub(super) fn supplies(
    file: &ScenarioFile,
    water: &Water,
    weather: Option<&SiteWeather>,
    reader: &mut Reader<'_>,
) -> Option<Vec<Supply>> {
    let lonely = (file.well.is_none() && file.well_pump.is_some())
        || (file.second_well.is_none() && file.second_well_pump.is_some());
    let read: Vec<_> =
        SupplyWord::of(file).into_iter().map(|word| supply(word, file, (water, weather), reader)).collect();
    if lonely || read.is_empty() { None } else { read.into_iter().collect() }
}

fn supply(
    word: SupplyWord,
    file: &ScenarioFile,
    (water, weather): (&Water, Option<&SiteWeather>),
    reader: &mut Reader<'_>,
) -> Option<Supply> {
    let (source, quality, standby) = match word {
        SupplyWord::Well | SupplyWord::SecondWell => from_well(word, file, water, reader)?,
        SupplyWord::Cistern => from_cistern(file, water, reader)?,
        SupplyWord::Pond => from_pond(file, (water, weather.is_some()), reader)?,
        SupplyWord::TownLine => {
            let section = file.town_line.as_ref()?.value.0.as_ref()?;
            let quality = section.water.quality(analysis::of(word, file).as_ref());
            (Source::TownLine(town_line(section, reader)?), quality, section.standby.value)
        }
    };
    let temp_c = weather::supply_c(word, file, weather)?;
    Some(Supply { name: word.word().to_owned(), source, quality, temp_c, standby })
}

fn from_well(
    word: SupplyWord,
    file: &ScenarioFile,
    water: &Water,
    reader: &mut Reader<'_>,
) -> Option<(Source, Quality, bool)> {
    let (section, pump) = match word {
        SupplyWord::SecondWell => (file.second_well.as_ref()?, file.second_well_pump.as_ref()),
        _ => (file.well.as_ref()?, file.well_pump.as_ref()),
    };
    let name = word.pump().unwrap_or_default();
    let well = section.value.0.as_ref().and_then(|well| well::well(word.section(), well, section.place, reader));
    let pump = pump.and_then(|pump| pump::supply_pump(name, pump.value.0.as_ref()?, pump.place, water, reader));
    let section = section.value.0.as_ref()?;
    let quality = section.water.quality(analysis::of(word, file).as_ref());
    Some((Source::Well { well: well?, pump: pump? }, quality, section.standby.value))
}

/// The index of a supply that is named; tells where it is not there.
pub(super) fn index(file: &ScenarioFile, supply: &At<SupplyWord>, reader: &mut Reader<'_>) -> Option<usize> {
    let words = SupplyWord::of(file);
    let found = words.iter().position(|word| *word == supply.value);
    if found.is_none() {
        let known: Vec<_> = words.iter().map(|word| format!("\"{}\"", word.word())).collect();
        reader.tell(
            Diagnostic::error(format!("there is no {} in this plant", supply.value.word()))
                .at(supply.place, format!("no section `{}`", supply.value.section()))
                .note(format!("known: {}", known.join(", "))),
        );
    }
    found
}

/// The keys that a cistern and a pond have.
struct BasinKeys<'a> {
    kind: BasinKind,
    capacity_l: f64,
    start: Level,
    depth_m: f64,
    brim_height_m: f64,
    intake: Level,
    shape: f64,
    cutoff: Option<&'a At<BasinCutoff>>,
    top_up: Option<&'a At<TopUp>>,
}

macro_rules! basin_keys {
    ($section:ident, $kind:ident, $shape:expr) => {
        BasinKeys {
            kind: BasinKind::$kind,
            capacity_l: $section.volume.value.l(),
            start: $section.start.value,
            depth_m: $section.depth.value.m(),
            brim_height_m: $section.brim_height.value.m(),
            intake: $section.intake.value,
            shape: $shape,
            cutoff: $section.cutoff.as_ref(),
            top_up: $section.top_up.as_ref(),
        }
    };
}

fn from_cistern(file: &ScenarioFile, water: &Water, reader: &mut Reader<'_>) -> Option<(Source, Quality, bool)> {
    let section = file.cistern.as_ref()?.value.0.as_ref()?;
    let basin = basin(&basin_keys!(section, Cistern, 1.0));
    let pump = basin_pump("cistern.pump", &section.pump, water, reader)?;
    let quality = section.water.quality(analysis::of(SupplyWord::Cistern, file).as_ref());
    Some((Source::Basin { basin, pump }, quality, section.standby.value))
}

fn from_pond(
    file: &ScenarioFile,
    (water, has_weather): (&Water, bool),
    reader: &mut Reader<'_>,
) -> Option<(Source, Quality, bool)> {
    let section = file.pond.as_ref()?.value.0.as_ref()?;
    let quality = section.water.quality(analysis::of(SupplyWord::Pond, file).as_ref());
    let open = weather::open_water(section, &quality, has_weather, reader);
    let shape = weather::shape(section, reader);
    let pump = basin_pump("pond.pump", &section.pump, water, reader);
    let basin = basin::Basin { open: open?, ..basin(&basin_keys!(section, Pond, shape?)) };
    Some((Source::Basin { basin, pump: pump? }, quality, section.standby.value))
}

fn basin_pump(
    name: &str,
    section: &At<Tried<WellPump>>,
    water: &Water,
    reader: &mut Reader<'_>,
) -> Option<springhouse_core::pump::SupplyPump> {
    pump::supply_pump(name, section.value.0.as_ref()?, section.place, water, reader)
}

fn basin(keys: &BasinKeys<'_>) -> basin::Basin {
    let capacity_l = keys.capacity_l;
    basin::Basin {
        kind: keys.kind,
        capacity_l,
        start_l: keys.start.volume_l(capacity_l),
        intake_l: keys.intake.volume_l(capacity_l),
        full_depth_m: keys.depth_m,
        brim_height_m: keys.brim_height_m,
        shape: keys.shape,
        cutoff: keys.cutoff.map(|cutoff| basin::BasinCutoff {
            stop_l: cutoff.value.stop.value.volume_l(capacity_l),
            restart_l: cutoff.value.restart.value.volume_l(capacity_l),
            restart_delay: Span::from_s(cutoff.value.restart_delay.value.s()),
        }),
        open: None,
        top_up: keys.top_up.map(|top_up| basin::TopUp {
            start_l: top_up.value.start.value.volume_l(capacity_l),
            stop_l: top_up.value.stop.value.volume_l(capacity_l),
            flow_lps: top_up.value.flow.value.lps(),
            full_flow_kpa: top_up.value.full_flow_pressure.value.kpa(),
        }),
    }
}

fn town_line(section: &sections::TownLine, reader: &mut Reader<'_>) -> Option<TownLine> {
    let (static_kpa, residual_kpa) = (section.static_pressure.value.kpa(), section.residual_pressure.value.kpa());
    let flow_lps = positive("flow", section.flow.value.lps(), section.flow.place, reader)?;
    if residual_kpa < static_kpa {
        return Some(TownLine::new(static_kpa, (flow_lps, residual_kpa)));
    }
    reader.tell(
        Diagnostic::error("`residual_pressure` must be less than `static_pressure`")
            .at(section.residual_pressure.place, "left at the flow of the test")
            .at(section.static_pressure.place, "with nothing drawn")
            .note("a service line loses pressure as it flows; a test that shows no loss was too small to tell any")
            .help("take both from one flow test at the meter, with a larger flow"),
    );
    None
}

/// When the standby comes in; tells where there is none.
pub(super) fn change_over(file: &ScenarioFile, supplies: &[Supply], reader: &mut Reader<'_>) -> Option<ChangeOver> {
    let section = file.change_over.as_ref()?;
    if supplies.iter().all(|supply| !supply.standby) {
        reader.tell(
            Diagnostic::warning("`change_over` does nothing: no supply is a standby")
                .at(section.place, "does nothing")
                .help("write standby = true in the section of the supply that waits for the others to fail"),
        );
    }
    let section = section.value.0.as_ref()?;
    Some(ChangeOver {
        after: section.after.map(|after| Span::from_s(after.value.s())),
        back_after: Span::from_s(section.back_after.value.s()),
    })
}

/// The pressure tank, needed where there is a pump; `Some(None)` where there is none.
#[expect(clippy::option_option, reason = "a fault, no tank, and a tank are three cases")]
pub(super) fn pressure_tank(
    file: &ScenarioFile,
    (supplies, atmospheric_kpa): (Option<&[Supply]>, f64),
    reader: &mut Reader<'_>,
) -> Option<Option<PressureTank>> {
    let words = SupplyWord::of(file);
    let pumped = words.iter().any(|word| word.pump().is_some());
    let Some(tank) = &file.pressure_tank else { return if pumped { None } else { Some(None) } };
    if !pumped {
        reader.tell(
            Diagnostic::warning("`pressure_tank` does nothing without a pump")
                .at(tank.place, "isolated while a town line feeds")
                .help("leave it out, or add the pump's supply"),
        );
        return Some(None);
    }
    let start_kpa = match supplies?.iter().find_map(|supply| supply.source.pump()).map(|pump| &pump.control)? {
        Control::Switch { cut_in_kpa, cut_out_kpa } => 0.5 * (cut_in_kpa + cut_out_kpa),
        Control::Drive(drive) => drive.set_kpa,
    };
    let tank = tank.value.0.as_ref()?;
    Some(Some(PressureTank {
        volume_l: tank.volume.value.l() * f64::from(tank.count.value.0),
        precharge_kpa: tank.precharge.value.kpa(),
        air_share: tank.air_left.value.of_one(),
        start_kpa: tank.start_pressure.map_or(start_kpa, |start| start.value.kpa()),
        atmospheric_kpa,
    }))
}

/// What a cubic metre costs, by supply.
pub(super) fn prices_per_m3(file: &ScenarioFile) -> Vec<Option<f64>> {
    let price = file.town_line.as_ref().and_then(|line| line.value.0.as_ref()?.price);
    let of = |word| price.filter(|_| word == SupplyWord::TownLine).map(|price| price.value.per_m3());
    SupplyWord::of(file).into_iter().map(of).collect()
}

/// More roof than any plant has, and little enough that a cloudburst stays a flow.
const MOST_ROOF_M2: f64 = 1e5;

/// The rain on the cistern's roof, if there is one; `None` where the roof cannot be.
pub(super) fn rain(file: &ScenarioFile, reader: &mut Reader<'_>) -> Option<Vec<RainFile>> {
    let cistern = file.cistern.as_ref().and_then(|cistern| cistern.value.0.as_ref());
    let Some(roof) = cistern.and_then(|cistern| cistern.roof.as_ref()) else { return Some(Vec::new()) };
    let place = roof.place;
    let roof = &roof.value;
    if !weather::has_rain(file, roof.rain.is_some(), place, reader) {
        return None;
    }
    let area_m2 = at_most("area", (roof.area.value.m2(), MOST_ROOF_M2), "100000 m2", roof.area.place, reader);
    let runoff_share = pump::share("runoff", &roof.runoff, reader);
    let first_flush_mm = 1e3 * roof.first_flush.value.m();
    if first_flush_mm < 0.0 {
        reader.tell(Diagnostic::error("`first_flush` must not be negative").at(roof.first_flush.place, "too small"));
        return None;
    }
    Some(vec![RainFile {
        supply: SupplyWord::of(file).iter().position(|word| *word == SupplyWord::Cistern)?,
        file: roof.rain.as_ref().map(|rain| PathBuf::from(&rain.value.0)),
        roof: Roof {
            area_m2: area_m2?,
            runoff_share: runoff_share?,
            first_flush_mm,
            dry_gap: Span::from_s(roof.dry_gap.value.s()),
        },
    }])
}
