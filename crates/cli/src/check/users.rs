//! Who takes the water, and what goes out of order.

use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_draws::household::{Home, Person, PersonKind, Stay};
use springhouse_report::calendar;
use springhouse_scenario::{Scenario, Units};
use springhouse_sim::names;

use super::supplies::wells_give_lps;
use super::{DAY_S, Said, row};

/// The buildings and raw loads; washes are told with their stage, bursts with the incidents.
pub(super) fn outlets(scenario: &Scenario, units: Units) -> Vec<Said> {
    let each = scenario.plant.outlets.iter().enumerate();
    let told = each.filter_map(|(i, outlet)| {
        let part = match outlet.role {
            Role::Building => "Building",
            Role::RawLoad => "Raw load",
            Role::Backwash | Role::Leak => return None,
        };
        Some(row(part, self::outlet(scenario, i, outlet, units)))
    });
    told.collect()
}

fn outlet(scenario: &Scenario, index: usize, outlet: &Outlet, units: Units) -> String {
    let fed = match (outlet.header, outlet.role) {
        (Header::Delivery, _) => "fed by the delivery pump",
        (Header::Raw, Role::RawLoad) => "on the raw header, ahead of treatment",
        (Header::Raw, _) if scenario.plant.stages.iter().any(|stage| stage.header == Header::Raw) => {
            "on the raw line, behind its treatment"
        }
        (Header::Raw, _) => "on the raw line",
    };
    let mut said = vec![format!("{}: {fed}; full flow from {}", outlet.name, units.pressure(outlet.full_flow_kpa))];
    if outlet.rise_m != 0.0 {
        let side = if outlet.rise_m > 0.0 { "higher" } else { "lower" };
        said.push(format!("{} {side}", units.length(outlet.rise_m.abs())));
    }
    if outlet.device_kpa > 0.0 {
        said.push(format!("{} lost in its backflow device", units.pressure(outlet.device_kpa)));
    }
    if outlet.service.is_some() {
        let loss = units.pressure(outlet.service_loss_kpa(TOLD_FLOW_LPS, &scenario.plant.water));
        said.push(format!("{loss} lost in its pipe at {}", units.flow(TOLD_FLOW_LPS)));
    }
    if let Some(home) = scenario.homes.iter().find(|home| home.outlet == index) {
        said.push(people(home));
    }
    let daily_l = scenario.scheduled_l_per_day(|outlet| outlet == index);
    if daily_l > 0.0 {
        said.push(format!("{} a day {}", units.volume(daily_l), by(scenario, |outlet| outlet == index)));
    }
    said.join(", ")
}

/// The flow at which the loss of a service pipe is told: 5 gpm, a shower or two.
const TOLD_FLOW_LPS: f64 = 0.315_450_982;

pub(super) fn draws(scenario: &Scenario, units: Units) -> String {
    let (mean_l, needed_l) = (scenario.scheduled_l_per_day(|_| true), scenario.needed_l_per_day());
    let with = if scenario.plant.membrane.is_some() { "with the reject " } else { "" };
    let share = wells_give_lps(&scenario.plant).map_or_else(String::new, |(lps, count)| {
        let wells = if count == 1 { "the well gives" } else { "the wells give" };
        format!(", {with}{:.1} % of what {wells}", 100.0 * needed_l / (DAY_S * lps))
    });
    let logs = match scenario.logs.len() {
        0 => String::new(),
        1 => "; and a file of logged draws".to_owned(),
        n => format!("; and {n} files of logged draws"),
    };
    if scenario.schedule.is_empty() && scenario.homes.is_empty() {
        return format!("none by schedule{logs}");
    }
    format!("{} a day {}{share}{logs}", units.volume(mean_l), by(scenario, |_| true))
}

/// What the draws of some outlets come from.
fn by(scenario: &Scenario, of: impl Fn(usize) -> bool) -> &'static str {
    let by_clock = scenario.schedule.iter().any(|draw| of(draw.outlet));
    match (by_clock, scenario.homes.iter().any(|home| of(home.outlet))) {
        (true, true) => "by schedule and by habit, guests not counted",
        (false, true) => "by habit, guests not counted",
        (_, false) => "by schedule",
    }
}

/// Who lives in a building.
fn people(home: &Home) -> String {
    let count =
        |of: &dyn Fn(&Person) -> bool, one: &str, many: &str| match home.people.iter().filter(|it| of(it)).count() {
            0 => None,
            1 => Some(format!("1 {one}")),
            n => Some(format!("{n} {many}")),
        };
    let lives = |person: &Person| person.stay == Stay::Always;
    let told = [
        count(&|it| lives(it) && it.kind == PersonKind::Adult, "adult", "adults"),
        count(&|it| lives(it) && it.kind == PersonKind::Child, "child", "children"),
        count(&|it| !lives(it), "guest", "guests"),
    ];
    let told: Vec<String> = told.into_iter().flatten().collect();
    if told.is_empty() { "nobody".to_owned() } else { told.join(", ") }
}

/// What goes out of order, in order of time.
pub(super) fn incidents(scenario: &Scenario, units: Units) -> Vec<Said> {
    let plant = &scenario.plant;
    let mut all: Vec<_> = scenario
        .incidents
        .iter()
        .map(|it| {
            let what = format!("the {} is {}", names::out_of_order(plant, it.kind), names::disorder(it.kind));
            (it.start, it.length, what)
        })
        .collect();
    all.extend(scenario.dated_draws.iter().map(|burst| {
        let name = plant.outlets.get(burst.outlet).map_or("burst", |outlet| outlet.name.as_str());
        (burst.start, burst.length, format!("{name}, {}", units.flow(burst.flow.lps())))
    }));
    all.sort_by_key(|(start, ..)| *start);
    let said = all.into_iter().map(|(start, length, what)| {
        row("Incident", format!("{}, for {}: {what}", calendar::spoken(start), units.duration(length.s())))
    });
    said.collect()
}
