//! The membrane unit.

mod element;

use springhouse_core::membrane;
use springhouse_core::membrane::fouling::FoulingLaw;
use springhouse_core::membrane::limits::{FeedKind, usual_most_kpa};
use springhouse_core::membrane::osmosis::OsmoticModel;
use springhouse_core::membrane::place::{Blend, CalciteBed, Flush, InletTrip, RunHours, Scale};
use springhouse_core::membrane::plate::UnitPlate;
use springhouse_core::membrane::unit::{MembraneUnit, UnitPump};
use springhouse_core::membrane::valve::{self, ValveReading};
use springhouse_core::outlet::Header;
use springhouse_core::plant::Plant;
use springhouse_core::scaling::{self, Analysis};
use springhouse_core::supply::Supply;
use springhouse_core::time::Span;
use springhouse_core::treatment::Stage;
use springhouse_core::water::Water;

use super::{analysis, energy, heater, place, positive, pump, refuse_several, supplies};
use crate::diagnostic::Diagnostic;
use crate::scenario::MembraneDesign;
use crate::sections::{self, Readings, ScenarioFile, SupplyWord, Valves};
use crate::source::Stretch;
use crate::typed::{At, Reader};

/// Water on the feed side and on the product side, as shares of the room that elements take up: assumed, no source.
const LOOP_SHARE: f64 = 0.5;
const PRODUCT_SHARE: f64 = 0.125;
const DAY_S: f64 = 86_400.0;
/// A flow coefficient in litres a second at 1 kPa: a cubic metre an hour is 1/3.6 of a litre a second, 1 bar is 100 kPa.
const KV_LPS: f64 = 1.0 / 36.0;

/// The unit of a scenario; `Some(None)` where it has none.
#[expect(clippy::option_option, reason = "a fault, no unit, and a unit are three cases")]
pub(super) fn membrane(
    file: &ScenarioFile,
    water: &Water,
    (supplies, stages): (Option<&[Supply]>, Option<&[Stage]>),
    reader: &mut Reader<'_>,
) -> Option<Option<membrane::Membrane>> {
    let Some(at) = &file.membrane else { return Some(None) };
    let homeless = file.storage.is_none() && file.delivery.is_none();
    if homeless {
        reader.tell(
            Diagnostic::error("`membrane` needs `storage` and `delivery`")
                .at(at.place, "its product has nowhere to go")
                .help("add the sections `storage`, the tank that it fills, and `delivery`, the pump behind that"),
        );
    }
    let section = at.value.0.as_ref()?;
    let unit = unit(section, at.place, water, reader);
    let blend = match &section.blend {
        Some(blend) => self::blend(&blend.value, section.product_pressure.value.kpa(), reader).map(Some),
        None => Some(None),
    };
    let reject_to = match &section.reject_to {
        Some(supply) => supplies::index(file, supply, reader).map(Some),
        None => Some(None),
    };
    let hours = match &section.hours {
        Some(at) => hours(at, file, reader).map(Some),
        None => Some(None),
    };
    if section.reject_circles.value && section.reject_to.is_none() {
        reader.tell(
            Diagnostic::error("`reject_circles` needs `reject_to`")
                .at(section.reject_circles.place, "its reject goes to a drain")
                .help("name the pond or cistern that takes the reject, as `reject_to = \"pond\"`, or leave this out"),
        );
        return None;
    }
    if homeless {
        return None;
    }
    let usual = file.site.0.as_ref()?.water_temperature;
    let first = supplies?.iter().position(|supply| !supply.standby);
    let first_c = first.and_then(|first| Some(supplies?.get(first)?.temp_c)).unwrap_or(usual.value.c());
    let (inlet, feed_temp_c) =
        (&section.inlet, section.temperature.map_or(first_c, |temperature| temperature.value.c()));
    let analysis = first.and_then(|first| analysis::of(*SupplyWord::of(file).get(first)?, file));
    let limits = if section.antiscalant.value { scaling::Limits::ANTISCALANT } else { scaling::Limits::UNTREATED };
    let analysis = analysis.map(|analysis| {
        let raw = stages.into_iter().flatten().filter(|stage| stage.header == Header::Raw);
        Analysis { temp_c: feed_temp_c, ..analysis.softened(raw) }
    });
    let calcite = match &section.calcite {
        Some(calcite) => self::calcite(&calcite.value, calcite.place, analysis.as_ref(), reader).map(Some),
        None => Some(None),
    };
    Some(Some(membrane::Membrane {
        fouling: FoulingLaw::of(feed(section, supplies?)),
        scale: analysis.map(|analysis| Scale { analysis, limits }),
        unit: unit?,
        feed_temp_c,
        rise_m: section.rise.value.m(),
        start_fouling: membrane::element::Fouling {
            water_share: section.fouling.water_share.value.of_one(),
            channel_times: section.fouling.channel_times.value.0,
        },
        flush: flush(section),
        divert: Span::from_s(section.divert.value.s()),
        inlet: InletTrip {
            kpa: inlet.trip_pressure.value.kpa(),
            delay: Span::from_s(inlet.delay.value.s()),
            retry_after: Span::from_s(inlet.retry_after.value.s()),
            retries: inlet.retries.value.0,
        },
        yields: section.yields.value,
        product_volume_l: section
            .product_volume
            .map_or_else(|| PRODUCT_SHARE * room_l(section), |volume| volume.value.l()),
        blend: blend?,
        calcite: calcite?,
        reject_to: reject_to?,
        reject_circles: section.reject_circles.value,
        hours: hours?,
    }))
}

/// Storage is made this much fuller than `always_below`, where nothing says how full.
const RELAXED_SHARE: f64 = 0.1;

fn hours(at: &At<sections::RunHours>, file: &ScenarioFile, reader: &mut Reader<'_>) -> Option<RunHours> {
    let section = &at.value;
    if section.window.is_empty() && section.surplus.is_none() {
        reader.tell(
            Diagnostic::error("`hours` of the membrane unit say nothing of when it may run")
                .at(at.place, "neither `window` nor `surplus`")
                .help("add a line like: window = [{ start = \"09:00\", end = \"16:00\" }]"),
        );
        return None;
    }
    let windows = section.window.iter().map(|at| {
        let window = &at.0.as_ref()?.value;
        heater::hours(&window.start, &window.end, reader)
    });
    let windows: Vec<_> = windows.collect();
    let surplus_w = match &section.surplus {
        Some(surplus) => energy::surplus_w(file, surplus, reader).map(Some),
        None => Some(None),
    };
    let capacity_l = file.storage.as_ref()?.value.0.as_ref()?.volume.value.l();
    let urgent_l = section.always_below.value.volume_l(capacity_l);
    let relaxed_l = section
        .until
        .map_or((urgent_l + RELAXED_SHARE * capacity_l).min(capacity_l), |until| until.value.volume_l(capacity_l));
    if let Some(until) = section.until.filter(|_| relaxed_l > capacity_l) {
        let fault = Diagnostic::error("`until` is more than the storage tank holds").at(until.place, "never there");
        reader.tell(fault.help("let it be less than `stop` of the floats, or leave it out"));
        return None;
    }
    Some(RunHours { windows: windows.into_iter().collect::<Option<_>>()?, surplus_w: surplus_w?, urgent_l, relaxed_l })
}

fn blend(blend: &sections::Blend, product_kpa: f64, reader: &mut Reader<'_>) -> Option<Blend> {
    let (flow, suction) = (&blend.flow, &blend.suction_pressure);
    positive("flow", flow.value.lps(), flow.place, reader)?;
    let kv = valve::valve_kv(flow.value.lps(), suction.value.kpa() - product_kpa);
    if kv.is_none() {
        reader.tell(
            Diagnostic::error("no pressure drives the flow of `blend`")
                .at(suction.place, "not above that of the product pipe")
                .help("give the pressure that the gauge at the suction showed when the flow was read"),
        );
    }
    Some(Blend { kv: kv? })
}

/// Part of the ions that a membrane is taken to let pass, for what calcite does to its product: from 1 to 10 %, what dissolves
/// differs by 5 %.
const PASSES: f64 = 0.03;

fn calcite(
    calcite: &sections::Calcite,
    header: Stretch,
    feed: Option<&Analysis>,
    reader: &mut Reader<'_>,
) -> Option<CalciteBed> {
    let calcite_mg_l = match (&calcite.dissolves, feed) {
        (Some(given), _) => given.value.mg_l(),
        (None, Some(feed)) => feed.product(PASSES).hardened().calcite_mg_l,
        (None, None) => {
            reader.tell(
                Diagnostic::error("nothing says how much calcite dissolves in the product")
                    .at(header, "`dissolves` is not given, and the first supply has no `analysis`")
                    .help("give the supply's `analysis`, whose pH and alkalinity say it, or `dissolves = \"35 mg/L\"`"),
            );
            return None;
        }
    };
    let (mass, contact) = (&calcite.mass, &calcite.contact_time);
    Some(CalciteBed {
        start_kg: 1e-3 * positive("mass", mass.value.g(), mass.place, reader)?,
        contact_s: positive("contact_time", contact.value.s(), contact.place, reader)?,
        calcite_mg_l,
    })
}

fn unit(section: &sections::Membrane, header: Stretch, water: &Water, reader: &mut Reader<'_>) -> Option<MembraneUnit> {
    let osmotic = osmotic(section, reader);
    let element = osmotic.and_then(|osmotic| element::element(&section.element, osmotic, reader));
    let pump = match &section.pump {
        Some(at) => {
            pump::membrane(&at.value, at.place, water, reader).map(|(curve, power)| Some(UnitPump { curve, power }))
        }
        None => Some(None),
    };
    let valves = valves(section, header, reader);
    Some(MembraneUnit {
        element: element?,
        elements_in_series: usize::try_from(section.elements.value.0).ok()?,
        vessels: section.vessels.value.0,
        pump: pump?,
        valves: valves?,
        product_kpa: section.product_pressure.value.kpa(),
        drain_kpa: section.drain_pressure.value.kpa(),
        loop_volume_l: section.loop_volume.map_or_else(|| LOOP_SHARE * room_l(section), |volume| volume.value.l()),
        osmotic: osmotic?,
    })
}

/// The room that the elements take up, as cylinders.
fn room_l(section: &sections::Membrane) -> f64 {
    const INCH_DM: f64 = 0.254;
    let size = section.element.value.size.value;
    let radius_dm = 0.5 * INCH_DM * size.size().diameter_in();
    let one_l = std::f64::consts::PI * radius_dm * radius_dm * INCH_DM * size.length_in();
    one_l * f64::from(section.elements.value.0) * f64::from(section.vessels.value.0)
}

fn osmotic(section: &sections::Membrane, reader: &mut Reader<'_>) -> Option<OsmoticModel> {
    let osmotic = &section.osmotic;
    let given = [("share", place(Some(&osmotic.share))), ("coefficient", place(osmotic.coefficient.as_ref()))];
    if refuse_several("membrane.osmotic", &given, reader) {
        return None;
    }
    Some(match osmotic.coefficient {
        Some(coefficient) => OsmoticModel::Ideal { coefficient: coefficient.value.0 },
        None => OsmoticModel::Chloride { share: pump::share("share", &osmotic.share, reader)? },
    })
}

fn flush(section: &sections::Membrane) -> Flush {
    match &section.flush {
        Some(flush) => Flush {
            before: Span::from_s(flush.value.before.value.s()),
            after: Span::from_s(flush.value.after.value.s()),
            flow_lps: flush.value.flow.value.lps(),
            full_flow_kpa: flush.value.full_flow_pressure.value.kpa(),
        },
        // Nothing flows for no time; the pressure is any that is sound.
        None => Flush { before: Span::ZERO, after: Span::ZERO, flow_lps: 0.0, full_flow_kpa: 100.0 },
    }
}

fn valves(section: &sections::Membrane, header: Stretch, reader: &mut Reader<'_>) -> Option<valve::Valves> {
    let given = [("readings", place(section.readings.as_ref())), ("valves", place(section.valves.as_ref()))];
    if refuse_several("membrane", &given, reader) {
        return None;
    }
    match (&section.readings, &section.valves) {
        (_, Some(valves)) => Some(opened(&valves.value)),
        (Some(readings), None) => read_off(&readings.value, section.drain_pressure.value.kpa(), reader),
        (None, None) => {
            reader.tell(
                Diagnostic::error("`membrane` does not say how far its valves are open")
                    .at(header, "no `readings` or `valves` here")
                    .help(
                        "add a section `membrane.readings` with `reject`, `recycle`, `concentrate_pressure` and \
                         `suction_pressure` as its gauges show them while it makes water",
                    ),
            );
            None
        }
    }
}

fn opened(valves: &Valves) -> valve::Valves {
    valve::Valves { reject_kv: KV_LPS * valves.reject.value.kv(), recycle_kv: KV_LPS * valves.recycle.value.kv() }
}

/// The valves that pass what the gauges show.
fn read_off(readings: &Readings, drain_kpa: f64, reader: &mut Reader<'_>) -> Option<valve::Valves> {
    let reading = ValveReading {
        reject_lps: readings.reject.value.lps(),
        recycle_lps: readings.recycle.value.lps(),
        concentrate_kpa: readings.concentrate_pressure.value.kpa(),
        suction_kpa: readings.suction_pressure.value.kpa(),
        drain_kpa,
    };
    let valves = reading.valves();
    if valves.is_none() {
        let (concentrate, suction) = (&readings.concentrate_pressure, &readings.suction_pressure);
        let backwards = reading.recycle_lps > 0.0 && reading.concentrate_kpa <= reading.suction_kpa;
        let (flow, behind) = if backwards { ("recycle", "`suction_pressure`") } else { ("reject", "the drain") };
        let fault = Diagnostic::error(format!("`{flow}` flows, but no pressure drives it"))
            .at(concentrate.place, format!("not above that of {behind}"));
        let fault = if backwards { fault.at(suction.place, "at the suction") } else { fault };
        reader.tell(fault.help("read all gauges at one moment, while the unit makes water"));
    }
    valves
}

/// What judging the unit needs beside the plant; `Some(None)` without a unit.
#[expect(clippy::option_option, reason = "a fault, no unit, and a unit are three cases")]
pub(super) fn design(
    file: &ScenarioFile,
    plant: Option<&Plant>,
    reader: &mut Reader<'_>,
) -> Option<Option<MembraneDesign>> {
    let Some(at) = &file.membrane else { return Some(None) };
    let section = at.value.0.as_ref()?;
    let plate = match &section.plate {
        Some(plate) => Some(plate_of(&plate.value, reader)?),
        None => None,
    };
    Some(Some(MembraneDesign {
        analyses: SupplyWord::of(file).into_iter().map(|word| analysis::of(word, file)).collect(),
        antiscalant: section.antiscalant.value,
        feed: feed(section, &plant?.supplies),
        diameter_in: section.element.value.size.value.size().diameter_in(),
        rated_kpa: section.rated_pressure.map_or_else(
            || usual_most_kpa(section.element.value.test_pressure.map(|test| test.value.kpa())),
            |rated| rated.value.kpa(),
        ),
        pump_end_lps: section
            .pump
            .as_ref()
            .and_then(|pump| pump.value.curve.value.last())
            .map(|point| point.flow.value.lps()),
        plate,
    }))
}

/// Where the feed comes from: a well if the first supply is one, where nothing is said.
fn feed(section: &sections::Membrane, supplies: &[Supply]) -> FeedKind {
    let first = supplies.iter().find(|supply| !supply.standby);
    let is_well = first.is_some_and(|supply| supply.source.well().is_some());
    let usual = if is_well { FeedKind::Well } else { FeedKind::Surface };
    section.feed.map_or(usual, |feed| feed.value.kind())
}

fn plate_of(plate: &sections::Plate, reader: &mut Reader<'_>) -> Option<UnitPlate> {
    let At { value: product, place, .. } = plate.product;
    Some(UnitPlate {
        product_l_day: DAY_S * positive("product", product.lps(), place, reader)?,
        inlet_kpa: plate.inlet_pressure.value.kpa(),
        salt_mg_l: plate.salt.value.mg_l(),
        temp_c: plate.temperature.value.c(),
    })
}
