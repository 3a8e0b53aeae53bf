//! What goes out of order.

use jiff::ToSpan as _;
use jiff::civil::{DateTime, Time};
use springhouse_core::draw;
use springhouse_core::incident::{IncidentKind, LEAST_SPEED};
use springhouse_core::pressure_tank::LEAST_AIR_SHARE;
use springhouse_core::time::Span;

use super::draws::unknown_outlet;
use super::kinds::{Kind, refuse_foreign};
use super::outlets::Names;
use super::pump::share_from;
use super::{place, positive, stages, supplies, wanted_lps};
use crate::diagnostic::Diagnostic;
use crate::scenario::{DatedDraw, DatedIncident};
use crate::sections::{Incident, IncidentWord, ScenarioFile, SupplyWord};
use crate::source::Stretch;
use crate::typed::{At, Reader, Text, word_of};
use springhouse_table::nearest;

/// What goes out of order: of the plant's parts, and pipes that burst.
#[derive(Default)]
pub(super) struct OutOfOrder {
    pub(super) incidents: Vec<DatedIncident>,
    pub(super) dated_draws: Vec<DatedDraw>,
}

/// A cleaning takes a working day: alkali, then acid, each heated, pumped round and left to soak. Our own choice within common
/// practice, no source.
const CLEANING: Span = Span::from_ns(8 * Span::HOUR.ns());

/// A cartridge is changed in some minutes. Our own choice.
const CHANGE: Span = Span::from_ns(10 * Span::MINUTE.ns());

/// An incident comes at most so often in a run.
const MOST_TIMES: usize = 1_000;

/// What an incident leads to.
#[derive(Clone, Copy)]
enum Outcome {
    Kind(IncidentKind),
    Burst { outlet: usize, flow: draw::Flow },
}

pub(super) fn incidents(
    file: &ScenarioFile,
    names: &Names<'_>,
    atmospheric_kpa: Option<f64>,
    reader: &mut Reader<'_>,
) -> Option<OutOfOrder> {
    let mut told = Some(OutOfOrder::default());
    for incident in &file.incident {
        let read = incident.0.as_ref().and_then(|at| {
            let incident = &at.value;
            refuse_outside_run(incident, file, reader);
            let case = Case { incident, header: at.place, file, names, atmospheric_kpa };
            let length = case.length(reader);
            let outcome = case.outcome(reader);
            let starts = length.and_then(|length| case.starts(length, reader));
            Some((starts?, length?, outcome?))
        });
        // All are read, though one fails.
        let (Some(told), Some((starts, length, outcome))) = (&mut told, read) else {
            told = None;
            continue;
        };
        for start in starts {
            match outcome {
                Outcome::Kind(kind) => told.incidents.push(DatedIncident { kind, start, length }),
                Outcome::Burst { outlet, flow } => told.dated_draws.push(DatedDraw { outlet, start, length, flow }),
            }
        }
    }
    told
}

/// An incident and what it may speak of.
struct Case<'a> {
    incident: &'a Incident,
    header: Stretch,
    file: &'a ScenarioFile,
    names: &'a Names<'a>,
    atmospheric_kpa: Option<f64>,
}

impl Case<'_> {
    fn outcome(&self, reader: &mut Reader<'_>) -> Option<Outcome> {
        use IncidentWord as Word;
        let word = word_of::<IncidentWord>(self.incident.kind.value as usize);
        let kind = Kind { what: "an incident", word, place: self.incident.kind.place };
        if refuse_foreign(&kind, &own_keys(self.incident), reader) {
            return None;
        }
        let file = self.file;
        Some(Outcome::Kind(match self.incident.kind.value {
            Word::Power => IncidentKind::PowerOut,
            Word::WellPump => {
                let well = SupplyWord::of(file).iter().position(|word| *word == SupplyWord::Well);
                self.there(well.is_some(), "well pump that could be out of order", "`well`", reader)?;
                IncidentKind::SupplyOut { supply: well? }
            }
            Word::Supply => IncidentKind::SupplyOut { supply: self.supply(false, reader)? },
            Word::DeliveryPump => {
                self.there(file.delivery.is_some(), "delivery pump that could be out of order", "`delivery`", reader)?;
                IncidentKind::DeliveryPumpOut
            }
            Word::Membrane => {
                self.there(file.membrane.is_some(), "membrane unit that could be out of order", "`membrane`", reader)?;
                IncidentKind::MembraneOut
            }
            Word::MembraneCleaned => {
                self.there(file.membrane.is_some(), "membrane unit that could be cleaned", "`membrane`", reader)?;
                IncidentKind::MembraneCleaned
            }
            Word::WornPump => {
                let supply = self.supply(true, reader);
                let speed = self.key("speed", self.incident.speed.as_ref(), reader);
                let speed = speed.and_then(|speed| share_from("speed", speed, LEAST_SPEED, reader));
                IncidentKind::PumpWorn { supply: supply?, speed: speed? }
            }
            Word::CheckValve => {
                let supply = self.supply(true, reader);
                let flow_lps = self.flow_lps(reader);
                IncidentKind::LeakBack { supply: supply?, flow_lps: flow_lps? }
            }
            Word::LowPrecharge => IncidentKind::AirLost { share: self.low_precharge(reader)? },
            Word::AirLost => {
                self.tank(reader)?;
                let left = self.key("air_left", self.incident.air_left.as_ref(), reader)?;
                IncidentKind::AirLost { share: share_from("air_left", left, self.least_air(), reader)? }
            }
            Word::FloatOpen => self.float(true, reader)?,
            Word::FloatShut => self.float(false, reader)?,
            Word::StageBypassed => IncidentKind::StageBypassed { stage: self.stage(reader)? },
            Word::StageShut => IncidentKind::StageShut { stage: self.stage(reader)? },
            Word::StageChanged => IncidentKind::StageChanged { stage: self.stage(reader)? },
            Word::Burst => return self.burst(reader),
            Word::Standby => {
                let standby = crate::assemble::standby(file);
                self.there(standby, "standby supply that could be put in", "supply with `standby = true`", reader)?;
                IncidentKind::StandbyByHand
            }
        }))
    }

    fn length(&self, reader: &mut Reader<'_>) -> Option<Span> {
        match (self.incident.length, self.incident.kind.value) {
            (None, IncidentWord::MembraneCleaned) => return Some(CLEANING),
            (None, IncidentWord::StageChanged) => return Some(CHANGE),
            _ => {}
        }
        let at = self.key("length", self.incident.length.as_ref(), reader)?;
        positive("length", at.value.s(), at.place, reader).map(Span::from_s)
    }

    /// When it begins, every time up to the end of the scenario's run.
    fn starts(&self, length: Span, reader: &mut Reader<'_>) -> Option<Vec<DateTime>> {
        let first = self.incident.start.value.0;
        let Some(every) = &self.incident.every else { return Some(vec![first]) };
        let every_s = every.value.s();
        if every_s <= length.s() {
            reader.tell(
                Diagnostic::error("`every` must be longer than the incident lasts")
                    .at(every.place, "it would not be over before it begins again"),
            );
            return None;
        }
        let (start, days) = (self.file.start.value.0?, self.file.days.value.0?.0);
        let end = start.to_datetime(Time::midnight()).checked_add(i64::from(days).days()).ok()?;
        let mut starts = Vec::new();
        let mut next = first;
        while starts.is_empty() || next < end {
            if starts.len() >= MOST_TIMES {
                reader.tell(
                    Diagnostic::error(format!("an incident may come at most {MOST_TIMES} times in a run"))
                        .at(every.place, "too often for so long a run"),
                );
                return None;
            }
            starts.push(next);
            next = next.checked_add(jiff::SignedDuration::try_from_secs_f64(every_s).ok()?).ok()?;
        }
        Some(starts)
    }

    /// Tells where the plant lacks the part that is to be out of order.
    fn there(&self, there: bool, what: &str, section: &str, reader: &mut Reader<'_>) -> Option<()> {
        if !there {
            let missing =
                if section.starts_with('`') { format!("no section {section}") } else { format!("no {section}") };
            reader.tell(Diagnostic::error(format!("there is no {what}")).at(self.incident.kind.place, missing));
        }
        there.then_some(())
    }

    /// A key that this kind needs.
    fn key<'k, T>(&self, key: &str, given: Option<&'k T>, reader: &mut Reader<'_>) -> Option<&'k T> {
        if given.is_none() {
            let kind = word_of::<IncidentWord>(self.incident.kind.value as usize);
            let why = format!("an incident of kind \"{kind}\" needs it");
            reader.require(self.header, Incident::SECTION, key, Some(&why));
        }
        given
    }

    fn supply(&self, pumped: bool, reader: &mut Reader<'_>) -> Option<usize> {
        let supply = self.key("supply", self.incident.supply.as_ref(), reader)?;
        let index = supplies::index(self.file, supply, reader)?;
        let word = supply.value.word();
        if pumped && supply.value.pump().is_none() {
            reader.tell(
                Diagnostic::error(format!("a {word} has no pump and no check valve that are simulated"))
                    .at(supply.place, "no pump")
                    .at(self.incident.kind.place, "of a pump")
                    .help("name a supply with a pump, or let the kind be \"supply out\""),
            );
            return None;
        }
        Some(index)
    }

    fn flow_lps(&self, reader: &mut Reader<'_>) -> Option<f64> {
        let flow = self.key("flow", self.incident.flow.as_ref(), reader)?;
        wanted_lps("flow", flow, reader)
    }

    fn tank(&self, reader: &mut Reader<'_>) -> Option<()> {
        let there = self.file.pressure_tank.is_some();
        self.there(there, "pressure tank that could lose air", "`pressure_tank`", reader)
    }

    /// The least share of the tank's air that may be left, of what it starts with.
    fn least_air(&self) -> f64 {
        let tank = self.file.pressure_tank.as_ref().and_then(|tank| tank.value.0.as_ref());
        LEAST_AIR_SHARE / tank.map_or(1.0, |tank| tank.air_left.value.of_one()).clamp(LEAST_AIR_SHARE, 1.0)
    }

    /// The part of a sound tank's gas that a lower precharge leaves in it: by the ratio of the absolute pressures.
    fn low_precharge(&self, reader: &mut Reader<'_>) -> Option<f64> {
        self.tank(reader)?;
        let low = self.key("precharge", self.incident.precharge.as_ref(), reader)?;
        let sound = &self.file.pressure_tank.as_ref()?.value.0.as_ref()?.precharge;
        if low.value.kpa() < sound.value.kpa() {
            let atmospheric_kpa = self.atmospheric_kpa?;
            return Some((low.value.kpa() + atmospheric_kpa) / (sound.value.kpa() + atmospheric_kpa));
        }
        reader.tell(
            Diagnostic::error("a low `precharge` must be less than that of the sound tank")
                .at(low.place, "not less")
                .at(sound.place, "the sound tank's"),
        );
        None
    }

    fn float(&self, open: bool, reader: &mut Reader<'_>) -> Option<IncidentKind> {
        self.there(self.file.storage.is_some(), "storage tank whose float could be stuck", "`storage`", reader)?;
        Some(IncidentKind::FloatStuck { open })
    }

    /// The stage named, by its index in the plant.
    fn stage(&self, reader: &mut Reader<'_>) -> Option<usize> {
        let stage = self.key("stage", self.incident.stage.as_ref(), reader)?;
        // A name that is not known may be that of a stage that could not be read.
        let order = stages::order(self.file)?;
        let names = order.iter().filter_map(|i| Some(self.file.stage.get(*i)?.0.as_ref()?.value.name.value.0.as_str()));
        let names: Vec<_> = names.collect();
        let found = names.iter().position(|name| *name == stage.value.0);
        if found.is_none() {
            reader.tell(unknown_stage(stage, &names));
        }
        found
    }

    fn burst(&self, reader: &mut Reader<'_>) -> Option<Outcome> {
        let at = self.key("at", self.incident.at.as_ref(), reader);
        let flow_lps = self.flow_lps(reader);
        let at = at?;
        let Some(outlet) = self.names.position(&at.value.0) else {
            if self.names.complete() {
                reader.tell(unknown_outlet(&at.value.0, &[at.place], self.names));
            }
            return None;
        };
        Some(Outcome::Burst { outlet: self.names.burst(outlet)?, flow: draw::Flow::from_lps(flow_lps?) })
    }
}

fn unknown_stage(stage: &At<Text>, names: &[&str]) -> Diagnostic {
    let label = match nearest(&stage.value.0, names.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => "unknown".to_owned(),
    };
    let fault =
        Diagnostic::error(format!("there is no stage of treatment \"{}\"", stage.value.0)).at(stage.place, label);
    if names.is_empty() {
        return fault.help("add a section `stage` of that name");
    }
    let names: Vec<_> = names.iter().map(|name| format!("\"{name}\"")).collect();
    fault.note(format!("known: {}", names.join(", ")))
}

type OwnKey = (&'static str, Option<Stretch>, &'static [&'static str]);

/// The keys that belong to some kinds only.
fn own_keys(incident: &Incident) -> [OwnKey; 7] {
    [
        ("supply", place(incident.supply.as_ref()), &["supply out", "worn pump", "check valve leaks"]),
        ("speed", place(incident.speed.as_ref()), &["worn pump"]),
        ("flow", place(incident.flow.as_ref()), &["check valve leaks", "burst"]),
        ("precharge", place(incident.precharge.as_ref()), &["low precharge"]),
        ("air_left", place(incident.air_left.as_ref()), &["air lost"]),
        ("stage", place(incident.stage.as_ref()), &["stage bypassed", "stage shut", "stage changed"]),
        ("at", place(incident.at.as_ref()), &["burst"]),
    ]
}

fn refuse_outside_run(incident: &Incident, file: &ScenarioFile, reader: &mut Reader<'_>) {
    let (Some(first), Some(days)) = (file.start.value.0, file.days.value.0) else { return };
    let from = first.to_datetime(Time::midnight());
    let Ok(to) = from.checked_add(i64::from(days.0).days()) else { return };
    if incident.start.value.0 < from || incident.start.value.0 >= to {
        reader.tell(
            Diagnostic::error("an incident must begin within the run")
                .at(incident.start.place, format!("the run goes from {first}, for {} days", days.0)),
        );
    }
}
