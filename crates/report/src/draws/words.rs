//! Keys and words for uses, and what studies found.

use springhouse_core::draw::{Draw, DrawKind};
use springhouse_core::outlet::Role;
use springhouse_draws::household::{Home, Planner, Use, Wish};
use springhouse_draws::tally::{HomeTotals, Totals};
use springhouse_scenario::quantity::unit::VOLUME;

/// A use in tables and JSON.
pub(crate) fn use_key(use_: Use) -> &'static str {
    match use_ {
        Use::Shower => "shower",
        Use::Bath => "bath",
        Use::Toilet => "toilet",
        Use::Basin => "basin",
        Use::Kitchen => "kitchen",
        Use::ClothesWasher => "clothes_washer",
        Use::Dishwasher => "dishwasher",
        Use::Outdoor => "outdoor",
        Use::Leak => "leak",
        Use::Other => "other",
    }
}

pub(crate) fn kind_key(kind: DrawKind) -> &'static str {
    match kind {
        DrawKind::Timed => "timed",
        DrawKind::Volume => "volume",
    }
}

pub(crate) fn role_key(role: Role) -> &'static str {
    match role {
        Role::Building => "building",
        Role::RawLoad => "raw_load",
        Role::Backwash => "backwash",
        Role::Leak => "leak",
    }
}

/// Uses that studies count together, and the gallons that a person takes of them in a day there: `docs/physics.md`,
/// "Published means".
pub(crate) struct EndUse {
    pub(crate) key: &'static str,
    pub(crate) name: &'static str,
    pub(crate) uses: &'static [Use],
    published_gal: Option<f64>,
}

const fn end_use(key: &'static str, name: &'static str, uses: &'static [Use], published_gal: Option<f64>) -> EndUse {
    EndUse { key, name, uses, published_gal }
}

pub(crate) const END_USES: [EndUse; 9] = [
    end_use("shower", "Showers", &[Use::Shower], Some(11.1)),
    end_use("bath", "Baths", &[Use::Bath], Some(1.5)),
    end_use("toilet", "Toilets", &[Use::Toilet], Some(14.2)),
    end_use("taps", "Bathroom and kitchen taps", &[Use::Basin, Use::Kitchen], Some(11.1)),
    end_use("clothes_washer", "Clothes washer", &[Use::ClothesWasher], Some(9.6)),
    end_use("dishwasher", "Dishwasher", &[Use::Dishwasher], Some(0.7)),
    end_use("outdoor", "Tap outdoors", &[Use::Outdoor], None),
    end_use("leak", "Leaks", &[Use::Leak], Some(7.9)),
    end_use("other", "Other", &[Use::Other], Some(2.5)),
];

impl EndUse {
    /// What studies found, in litres a person and day.
    pub(crate) fn published_l(&self) -> Option<f64> {
        let gallon_l = VOLUME.named("gal").map_or(1.0, |unit| unit.factor);
        self.published_gal.map(|gallons| gallon_l * gallons)
    }

    /// Litres a person and day, over all buildings; zero where nobody was in.
    #[expect(clippy::cast_precision_loss, reason = "days are far fewer than 2^53")]
    pub(crate) fn litres_per_person_day(&self, totals: &Totals) -> f64 {
        let litres: f64 = totals.homes().iter().flat_map(|home| self.uses.iter().map(|use_| home.litres(*use_))).sum();
        match person_days(totals) {
            0 => 0.0,
            days => litres / days as f64,
        }
    }

    /// How often a day water is drawn in all buildings; a load of an appliance counts once.
    #[expect(clippy::cast_precision_loss, reason = "uses are far fewer than 2^53")]
    pub(crate) fn events_per_day(&self, totals: &Totals) -> f64 {
        let events: u64 = totals.homes().iter().flat_map(|home| self.uses.iter().map(|use_| home.events(*use_))).sum();
        events as f64 / totals.days().max(1) as f64
    }
}

/// Days of people who were in, over all buildings.
pub(crate) fn person_days(totals: &Totals) -> u64 {
    totals.homes().iter().map(HomeTotals::person_days).sum()
}

/// The name of a person; nothing for what nobody in particular draws.
pub(crate) fn person(homes: &[Home], home: u16, who: u16) -> &str {
    let home = homes.get(usize::from(home)).filter(|_| who != Wish::BUILDING);
    home.and_then(|home| home.people.get(usize::from(who))).map_or("", |person| person.name.as_str())
}

/// The name of a home of a planner.
pub(crate) fn home(planner: &Planner, home: u16) -> &str {
    planner.home(usize::from(home)).map_or("", |home| home.name.as_str())
}

/// Litres that a draw wants.
#[expect(clippy::cast_precision_loss, reason = "53 bits are plenty of a volume")]
pub(crate) fn draw_litres(draw: &Draw) -> f64 {
    (i128::from(draw.flow.nl_per_s()) * i128::from((draw.end - draw.start).ns())) as f64 / 1e18
}
