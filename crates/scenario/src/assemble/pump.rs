//! Pumps: curve, electric power, what controls them, and what belongs to each.

use springhouse_core::delivery;
use springhouse_core::pipe::Pipe;
use springhouse_core::pressure_tank::PressureTank;
use springhouse_core::pump::{PumpCurve, PumpCurveError, PumpPower, SupplyPump, hydraulic_power_w};
use springhouse_core::supply::{Control, Drive};
use springhouse_core::time::Span;
use springhouse_core::water::Water;

use super::site::Site;
use super::{place, positive, refuse_several};
use crate::diagnostic::Diagnostic;
use crate::quantity::{Flow, Power, Pressure, Share};
use crate::sections::{self, CurvePoint};
use crate::source::Stretch;
use crate::typed::{At, Reader, Section};

/// Wire-to-water efficiency of a small submersible pump at its best point, where nothing is given.
const USUAL_EFFICIENCY: f64 = 0.45;
/// Efficiency of a small submersible motor, where none is given.
const USUAL_MOTOR_EFFICIENCY: f64 = 0.7;
/// Efficiencies of the pump alone that a nameplate may lead to.
const PUMP_EFFICIENCIES: (f64, f64) = (0.2, 0.75);
/// The wake pressure lies this far under the set pressure: 10 psi.
const USUAL_WAKE_BAND_KPA: f64 = 68.947_572_931_683_61;
/// The small tank's precharge, as a share of the set pressure.
const USUAL_SMALL_TANK_PRECHARGE: f64 = 0.7;

/// The keys that every pump has.
struct PumpKeys<'a> {
    section: &'a str,
    fields: &'static Section,
    header: Stretch,
    curve: Option<&'a At<Vec<CurvePoint>>>,
    constant_flow: Option<&'a At<Flow>>,
    power: Option<&'a At<Power>>,
    efficiency: Option<&'a At<Share>>,
    best_flow: Option<&'a At<Flow>>,
    motor: Option<&'a At<Power>>,
    motor_efficiency: Option<&'a At<Share>>,
}

macro_rules! pump_keys {
    ($section:ident: $type:ident, $header:ident, $name:expr) => {
        PumpKeys {
            section: $name,
            fields: sections::$type::SECTION,
            header: $header,
            curve: $section.curve.as_ref(),
            constant_flow: $section.constant_flow.as_ref(),
            power: $section.power.as_ref(),
            efficiency: $section.efficiency.as_ref(),
            best_flow: $section.best_flow.as_ref(),
            motor: $section.motor.as_ref(),
            motor_efficiency: $section.motor_efficiency.as_ref(),
        }
    };
}

/// The pump of a supply, in a section called `name`.
pub(super) fn supply_pump(
    name: &str,
    section: &sections::WellPump,
    header: Stretch,
    water: &Water,
    reader: &mut Reader<'_>,
) -> Option<SupplyPump> {
    let keys = pump_keys!(section: WellPump, header, name);
    let curve = curve(&keys, reader);
    let power = curve.as_ref().and_then(|curve| power(&keys, curve, water, reader));
    let control = control(name, section, header, reader);
    let pipe = optional_pipe(section.pipe.as_ref(), reader)?;
    if let (Some(pipe), Some(flow)) = (&section.pipe, keys.constant_flow) {
        reader.tell(
            Diagnostic::warning("the pipe does nothing behind a pump of constant flow")
                .at(pipe.place, "does nothing")
                .at(flow.place, "because of this"),
        );
    }
    Some(SupplyPump::new(curve?, pipe.as_ref(), water, power?, section.gauge_height.value.m(), control?))
}

/// A pressure switch or a drive.
fn control(name: &str, section: &sections::WellPump, header: Stretch, reader: &mut Reader<'_>) -> Option<Control> {
    let (cut_in, cut_out) = (section.cut_in.as_ref(), section.cut_out.as_ref());
    if let Some(drive) = &section.drive {
        for (key, at) in [("cut_in", cut_in), ("cut_out", cut_out)] {
            if refuse_several(name, &[("drive", Some(drive.place)), (key, place(at))], reader) {
                return None;
            }
        }
        let drive = &drive.value;
        return Some(Control::Drive(Drive {
            set_kpa: drive.set_pressure.value.kpa(),
            wake_kpa: wake_kpa(drive.wake_pressure, drive.set_pressure.value.kpa()),
            sleep_flow_lps: drive.sleep_flow.value.lps(),
            sleep_delay: Span::from_s(drive.sleep_delay.value.s()),
            standby_w: drive.standby_power.value.w(),
        }));
    }
    for (key, at) in [("cut_in", cut_in), ("cut_out", cut_out)] {
        if at.is_none() {
            reader.require(header, sections::WellPump::SECTION, key, None);
        }
    }
    Some(Control::Switch { cut_in_kpa: cut_in?.value.kpa(), cut_out_kpa: cut_out?.value.kpa() })
}

fn wake_kpa(given: Option<At<Pressure>>, set_kpa: f64) -> f64 {
    given.map_or(set_kpa - USUAL_WAKE_BAND_KPA, |at| at.value.kpa())
}

pub(super) fn delivery(
    section: &sections::Delivery,
    header: Stretch,
    site: &Site,
    reader: &mut Reader<'_>,
) -> Option<delivery::Delivery> {
    let keys = pump_keys!(section: Delivery, header, "delivery");
    let curve = curve(&keys, reader)?;
    let power = power(&keys, &curve, &site.water, reader)?;
    let set_kpa = section.set_pressure.value.kpa();
    let or = |given: Option<At<Pressure>>, usual: f64| given.map_or(usual, |at| at.value.kpa());
    Some(delivery::Delivery {
        curve,
        power,
        drive: Drive {
            set_kpa,
            wake_kpa: wake_kpa(section.wake_pressure, set_kpa),
            sleep_flow_lps: section.sleep_flow.value.lps(),
            sleep_delay: Span::from_s(section.sleep_delay.value.s()),
            standby_w: section.standby_power.value.w(),
        },
        lift_m: section.lift.value.m(),
        tank: PressureTank {
            volume_l: section.tank_volume.value.l(),
            precharge_kpa: or(section.tank_precharge, USUAL_SMALL_TANK_PRECHARGE * set_kpa),
            air_share: section.tank_air_left.value.of_one(),
            start_kpa: or(section.start_pressure, set_kpa),
            atmospheric_kpa: site.atmospheric_kpa,
        },
    })
}

/// The pump of a membrane unit.
pub(super) fn membrane(
    section: &sections::MembranePump,
    header: Stretch,
    water: &Water,
    reader: &mut Reader<'_>,
) -> Option<(PumpCurve, PumpPower)> {
    let keys = PumpKeys {
        section: "membrane.pump",
        fields: sections::MembranePump::SECTION,
        header,
        curve: Some(&section.curve),
        constant_flow: None,
        power: section.power.as_ref(),
        efficiency: section.efficiency.as_ref(),
        best_flow: section.best_flow.as_ref(),
        motor: section.motor.as_ref(),
        motor_efficiency: section.motor_efficiency.as_ref(),
    };
    let curve = curve(&keys, reader)?;
    let power = power(&keys, &curve, water, reader)?;
    Some((curve, power))
}

fn curve(keys: &PumpKeys<'_>, reader: &mut Reader<'_>) -> Option<PumpCurve> {
    let given = [("curve", place(keys.curve)), ("constant_flow", place(keys.constant_flow))];
    if refuse_several(keys.section, &given, reader) {
        return None;
    }
    if let Some(flow) = keys.constant_flow {
        return Some(PumpCurve::Constant { flow_lps: flow.value.lps() });
    }
    let Some(curve) = keys.curve else {
        reader.tell(
            Diagnostic::error(format!("`{}` has no `curve`", keys.section))
                .at(keys.header, "no `curve` here")
                .note("head against flow at two points or more, from the pump's data sheet")
                .help(reader.line_to_add(keys.fields, "curve")),
        );
        return None;
    };
    let points: Vec<_> = curve.value.iter().map(|point| (point.flow.value.lps(), point.head.value.m())).collect();
    if let Some(point) = curve.value.iter().find(|point| point.head.value.m() < 0.0) {
        reader.tell(Diagnostic::error("`head` must not be negative").at(point.head.place, "too small"));
        return None;
    }
    match PumpCurve::through(&points) {
        Ok(curve) => Some(curve),
        Err(PumpCurveError::TooFewPoints) => {
            reader.tell(
                Diagnostic::error("a pump curve needs two points or more")
                    .at(curve.place, format!("found {}", points.len()))
                    .help(reader.line_to_write(keys.fields, "curve")),
            );
            None
        }
        Err(PumpCurveError::NotFalling { index }) => {
            let point = curve.value.get(index)?;
            let before = curve.value.get(index.checked_sub(1)?)?;
            let more_flow = point.flow.value.lps() > before.flow.value.lps();
            let (now, then) =
                if more_flow { (point.head.place, before.head.place) } else { (point.flow.place, before.flow.place) };
            reader.tell(
                Diagnostic::error("along a pump curve flow rises and head falls from point to point")
                    .at(now, if more_flow { "not less head" } else { "not more flow" })
                    .at(then, "than here"),
            );
            None
        }
    }
}

fn power(keys: &PumpKeys<'_>, curve: &PumpCurve, water: &Water, reader: &mut Reader<'_>) -> Option<PumpPower> {
    let given = [("power", place(keys.power)), ("efficiency", place(keys.efficiency)), ("motor", place(keys.motor))];
    if refuse_several(keys.section, &given, reader) {
        return None;
    }
    if let Some(power) = keys.power {
        if refuse_several(keys.section, &[("power", Some(power.place)), ("best_flow", place(keys.best_flow))], reader) {
            return None;
        }
        return Some(PumpPower::Constant { power_w: power.value.w() });
    }
    if let Some(flow) = keys.constant_flow {
        let others = [
            ("efficiency", place(keys.efficiency)),
            ("motor", place(keys.motor)),
            ("best_flow", place(keys.best_flow)),
        ];
        for (key, place) in others {
            let pair = [("constant_flow", Some(flow.place)), (key, place)];
            if refuse_several(keys.section, &pair, reader) {
                return None;
            }
        }
        return Some(PumpPower::Constant { power_w: 0.0 });
    }
    let best_flow_lps = best_flow_lps(keys, curve, reader)?;
    let best_efficiency = match (keys.motor, keys.efficiency) {
        (Some(motor), _) => from_motor(keys, motor, (curve, best_flow_lps), water, reader)?,
        (None, Some(efficiency)) => share("efficiency", efficiency, reader)?,
        (None, None) => USUAL_EFFICIENCY,
    };
    if let (Some(efficiency), None) = (keys.motor_efficiency, keys.motor) {
        reader.tell(
            Diagnostic::error("`motor_efficiency` goes with `motor`")
                .at(efficiency.place, "there is no `motor` here")
                .help("give `motor`, the shaft power on the nameplate; or `efficiency`, wire to water"),
        );
        return None;
    }
    Some(PumpPower::Efficiency { best_flow_lps, best_efficiency })
}

fn best_flow_lps(keys: &PumpKeys<'_>, curve: &PumpCurve, reader: &mut Reader<'_>) -> Option<f64> {
    let Some(best) = keys.best_flow else { return Some(curve.strongest_flow_lps()) };
    let flow_lps = positive("best_flow", best.value.lps(), best.place, reader)?;
    if curve.head_m(flow_lps) > 0.0 {
        return Some(flow_lps);
    }
    reader.tell(
        Diagnostic::error("`best_flow` lies beyond the end of the pump's curve").at(best.place, "no head is left"),
    );
    None
}

/// Wire-to-water efficiency at the best point from the motor's nameplate: common practice, without a source.
fn from_motor(
    keys: &PumpKeys<'_>,
    motor: &At<Power>,
    (curve, best_flow_lps): (&PumpCurve, f64),
    water: &Water,
    reader: &mut Reader<'_>,
) -> Option<f64> {
    let shaft_w = positive("motor", motor.value.w(), motor.place, reader)?;
    let motor_efficiency =
        keys.motor_efficiency.map_or(Some(USUAL_MOTOR_EFFICIENCY), |given| share("motor_efficiency", given, reader))?;
    let hydraulic_w = hydraulic_power_w(best_flow_lps, curve.head_m(best_flow_lps), water.density_kg_m3);
    let (least, most) = PUMP_EFFICIENCIES;
    let found = hydraulic_w / shaft_w;
    if !(least..=most).contains(&found) {
        let units = reader.units.unwrap_or(crate::display::Units::Us);
        let taken = if found < least { least } else { most };
        let mut warning = Diagnostic::warning(format!("`motor` does not fit the curve of `{}`", keys.section))
            .at(motor.place, format!("{} at the shaft", units.power(shaft_w)));
        if let Some(place) = place(keys.curve) {
            warning = warning.at(place, format!("{} in the water at the best point", units.power(hydraulic_w)));
        }
        reader.tell(warning.note(format!("the pump's efficiency is taken as {:.0} %", 100.0 * taken)));
    }
    Some(found.clamp(least, most) * motor_efficiency)
}

/// A share above zero, up to the whole.
pub(super) fn share(key: &str, share: &At<Share>, reader: &mut Reader<'_>) -> Option<f64> {
    let value = positive(key, share.value.of_one(), share.place, reader)?;
    if value <= 1.0 {
        return Some(value);
    }
    reader.tell(Diagnostic::error(format!("`{key}` cannot be more than 100 %")).at(share.place, "too large"));
    None
}

/// A share that must not be under `least`.
pub(super) fn share_from(key: &str, share: &At<Share>, least: f64, reader: &mut Reader<'_>) -> Option<f64> {
    let value = self::share(key, share, reader)?;
    if value >= least {
        return Some(value);
    }
    let least = format!("{:.0} %", (100.0 * least).ceil());
    reader.tell(Diagnostic::error(format!("`{key}` must be at least {least}")).at(share.place, "too small"));
    None
}

/// The pipe of a section that may be left out; `None` only where it cannot be.
#[expect(clippy::option_option, reason = "a fault, no pipe, and a pipe are three cases")]
pub(super) fn optional_pipe(section: Option<&At<sections::Pipe>>, reader: &mut Reader<'_>) -> Option<Option<Pipe>> {
    match section {
        Some(pipe) => self::pipe(&pipe.value, reader).map(Some),
        None => Some(None),
    }
}

fn pipe(section: &sections::Pipe, reader: &mut Reader<'_>) -> Option<Pipe> {
    let length_m = positive("length", section.length.value.m(), section.length.place, reader);
    let bore_m = positive("bore", section.bore.value.m(), section.bore.place, reader);
    let roughness_m = section.roughness.value.m();
    let (length_m, bore_m) = (length_m?, bore_m?);
    // The friction law holds to a relative roughness of 5 %.
    if (0.0..=0.05 * bore_m).contains(&roughness_m) {
        return Some(Pipe { length_m, bore_mm: 1e3 * bore_m, roughness_mm: 1e3 * roughness_m });
    }
    reader.tell(
        Diagnostic::error("`roughness` must be from zero to a twentieth of the bore")
            .at(section.roughness.place, "roughness of the wall")
            .at(section.bore.place, "inside diameter"),
    );
    None
}
