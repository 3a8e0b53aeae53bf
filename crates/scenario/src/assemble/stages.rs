//! Treatment.

use springhouse_core::outlet::Header;
use springhouse_core::quality::Constituent;
use springhouse_core::treatment::{self, Backwash, Carbon, Catch, StageKind};
use springhouse_core::ultraviolet::Ultraviolet;

use super::kinds::{Kind, refuse_foreign};
use super::outlets::Names;
use super::{place, positive};
use crate::diagnostic::Diagnostic;
use crate::sections::{ScenarioFile, Stage, StageLine, StageWord};
use crate::source::Stretch;
use crate::typed::{Reader, word_of};

const CARBON: &[&str] = &["carbon"];
const ULTRAVIOLET: &[&str] = &["ultraviolet"];
/// Those that hold what they take out.
/// Those whose loss grows with what they caught.
const FILTERS: &[&str] = &["sediment", "iron filter"];
const BEDS: &[&str] = &["sediment", "carbon", "iron filter", "softener"];

/// What is not given of an ultraviolet unit: common practice, without a source.
const USUAL_RATED_TRANSMITTANCE: f64 = 0.75;
const USUAL_PATH_CM: f64 = 2.0;
const USUAL_LEAST_MJ_CM2: f64 = 40.0;
const USUAL_LAMP_LIFE_H: f64 = 9_000.0;
const USUAL_LAMP_END: f64 = 0.7;
/// Contact time of activated carbon for chlorine: common practice, without a source.
const USUAL_CONTACT_S: f64 = 30.0;
const HOUR_S: f64 = 3_600.0;

/// The stages, in the plant's order.
pub(super) fn stages(file: &ScenarioFile, names: &Names<'_>, reader: &mut Reader<'_>) -> Option<Vec<treatment::Stage>> {
    refuse_same_names(file, reader);
    let read: Vec<_> = (0..file.stage.len()).map(|i| stage(file, i, names, reader)).collect();
    let mut read: Vec<_> = read.into_iter().map(|stage| stage.map(Some)).collect::<Option<_>>()?;
    order(file)?.into_iter().map(|i| read.get_mut(i)?.take()).collect()
}

/// The stages of the file by their index, in the plant's order; `None` where one could not be read.
pub(crate) fn order(file: &ScenarioFile) -> Option<Vec<usize>> {
    let lines = file.stage.iter().map(|stage| Some(line(&stage.0.as_ref()?.value, file) == Header::Delivery));
    let mut order: Vec<_> = lines.collect::<Option<Vec<_>>>()?.into_iter().enumerate().collect();
    order.sort_by_key(|(_, delivered)| *delivered);
    Some(order.into_iter().map(|(i, _)| i).collect())
}

fn line(stage: &Stage, file: &ScenarioFile) -> Header {
    let usual = stage.kind.value == StageWord::Ultraviolet && file.delivery.is_some();
    let delivered = stage.behind.map_or(usual, |behind| behind.value == StageLine::Delivery);
    if delivered { Header::Delivery } else { Header::Raw }
}

fn refuse_same_names(file: &ScenarioFile, reader: &mut Reader<'_>) {
    let names: Vec<_> = file.stage.iter().filter_map(|stage| Some(&stage.0.as_ref()?.value.name)).collect();
    for (i, second) in names.iter().enumerate() {
        if let Some(first) = names.iter().take(i).find(|first| first.value == second.value) {
            reader.tell(
                Diagnostic::error(format!("two stages are called \"{}\"", second.value.0))
                    .at(second.place, "second")
                    .at(first.place, "first")
                    .help("incidents find them by name: give each its own"),
            );
        }
    }
}

fn stage(file: &ScenarioFile, index: usize, names: &Names<'_>, reader: &mut Reader<'_>) -> Option<treatment::Stage> {
    let at = file.stage.get(index)?.0.as_ref()?;
    let section = &at.value;
    let word = word_of::<StageWord>(section.kind.value as usize);
    let kind = Kind { what: "a stage", word, place: section.kind.place };
    if refuse_foreign(&kind, &own_keys(section), reader) {
        return None;
    }
    let needs = Needs { header: at.place, why: format!("a stage of kind \"{word}\" needs it") };
    let rated_lps = positive("rated_flow", section.rated_flow.value.lps(), section.rated_flow.place, reader);
    let catch = catch(section, &needs, reader);
    let kind = stage_kind(section, &needs, reader);
    let clean_kpa = section.clean_loss.value.kpa();
    Some(treatment::Stage {
        name: section.name.value.0.clone(),
        kind: kind?,
        header: line(section, file),
        rated_lps: rated_lps?,
        clean_kpa,
        limit_kpa: match &section.change_at_loss {
            Some(loss) => loss.value.kpa(),
            None if section.is_filter() => CHANGE_AT_KPA.max(clean_kpa),
            None => clean_kpa,
        },
        catch: catch?,
        backwash: match &section.backwash {
            Some(_) => Some(Backwash { outlet: names.backwash(index)? }),
            None => None,
        },
    })
}

/// A filter's loss when it is full, where nothing is said: 15 psi. Common practice, no source.
const CHANGE_AT_KPA: f64 = 103.421_359_397_525_4;

/// What a missing key is told with.
struct Needs {
    header: Stretch,
    why: String,
}

impl Needs {
    /// A key that this kind needs.
    fn key<T>(&self, key: &str, given: Option<T>, reader: &mut Reader<'_>) -> Option<T> {
        if given.is_none() {
            reader.require(self.header, Stage::SECTION, key, Some(&self.why));
        }
        given
    }
}

impl Stage {
    fn is_filter(&self) -> bool {
        matches!(self.kind.value, StageWord::Sediment | StageWord::IronFilter)
    }
}

type OwnKey = (&'static str, Option<Stretch>, &'static [&'static str]);

/// The keys that belong to some kinds only.
fn own_keys(section: &Stage) -> [OwnKey; 15] {
    [
        ("change_at_loss", place(section.change_at_loss.as_ref()), FILTERS),
        ("catches", place(section.catches.as_ref()), BEDS),
        ("capacity", place(section.capacity.as_ref()), BEDS),
        ("used", place(section.used.as_ref()), BEDS),
        ("backwash", place(section.backwash.as_ref()), BEDS),
        ("bed_volume", place(section.bed_volume.as_ref()), CARBON),
        ("contact_time", place(section.contact_time.as_ref()), CARBON),
        ("rated_dose", place(section.rated_dose.as_ref()), ULTRAVIOLET),
        ("rated_transmittance", place(section.rated_transmittance.as_ref()), ULTRAVIOLET),
        ("path", place(section.path.as_ref()), ULTRAVIOLET),
        ("least_dose", place(section.least_dose.as_ref()), ULTRAVIOLET),
        ("lamp_hours", place(section.lamp_hours.as_ref()), ULTRAVIOLET),
        ("lamp_life", place(section.lamp_life.as_ref()), ULTRAVIOLET),
        ("lamp_end_output", place(section.lamp_end_output.as_ref()), ULTRAVIOLET),
        ("power", place(section.power.as_ref()), ULTRAVIOLET),
    ]
}

/// What the stage catches; `Some(None)` where it is to catch nothing.
#[expect(clippy::option_option, reason = "a fault, nothing, and something caught are three cases")]
fn catch(section: &Stage, needs: &Needs, reader: &mut Reader<'_>) -> Option<Option<Catch>> {
    // The shares are invented middling values.
    let (constituent, usual) = match section.kind.value {
        StageWord::Sediment => (Constituent::Solids, 0.9),
        StageWord::Carbon => (Constituent::Chlorine, 0.99),
        StageWord::IronFilter => (Constituent::Iron, 0.95),
        StageWord::Softener => (Constituent::Hardness, 0.98),
        StageWord::Ultraviolet => return Some(None),
    };
    let capacity = needs.key("capacity", section.capacity, reader)?;
    let capacity_g = positive("capacity", capacity.value.g(), capacity.place, reader)?;
    let used = section.used.map_or(0.0, |used| used.value.of_one());
    if let Some(used) = section.used.filter(|used| used.value.of_one() > 1.0) {
        reader.tell(Diagnostic::error("`used` cannot be more than 100 %").at(used.place, "too large"));
        return None;
    }
    let share = section.catches.map_or(usual, |catches| catches.value.of_one());
    Some(Some(Catch { constituent, share, capacity_g, start_g: used * capacity_g }))
}

fn stage_kind(section: &Stage, needs: &Needs, reader: &mut Reader<'_>) -> Option<StageKind> {
    Some(match section.kind.value {
        StageWord::Sediment => StageKind::Sediment,
        StageWord::IronFilter => StageKind::IronFilter,
        StageWord::Softener => StageKind::Softener,
        StageWord::Carbon => {
            let bed = needs.key("bed_volume", section.bed_volume, reader)?;
            let bed_l = positive("bed_volume", bed.value.l(), bed.place, reader)?;
            let contact_s = match section.contact_time {
                Some(time) => positive("contact_time", time.value.s(), time.place, reader)?,
                None => USUAL_CONTACT_S,
            };
            StageKind::Carbon(Carbon { bed_l, contact_s })
        }
        StageWord::Ultraviolet => {
            let rated = needs.key("rated_dose", section.rated_dose, reader);
            let power = needs.key("power", section.power, reader);
            StageKind::Ultraviolet(Ultraviolet {
                rated_mj_cm2: rated?.value.mj_cm2(),
                rated_transmittance: section
                    .rated_transmittance
                    .map_or(USUAL_RATED_TRANSMITTANCE, |t| t.value.of_one()),
                path_cm: section.path.map_or(USUAL_PATH_CM, |path| 1e2 * path.value.m()),
                limit_mj_cm2: section.least_dose.map_or(USUAL_LEAST_MJ_CM2, |dose| dose.value.mj_cm2()),
                start_h: section.lamp_hours.map_or(0.0, |hours| hours.value.s() / HOUR_S),
                life_h: section.lamp_life.map_or(USUAL_LAMP_LIFE_H, |hours| hours.value.s() / HOUR_S),
                end_share: section.lamp_end_output.map_or(USUAL_LAMP_END, |share| share.value.of_one()),
                power_w: power?.value.w(),
            })
        }
    })
}
