//! Electricity is neither made nor lost, what stores it stays in its range, and where nobody goes by it nothing changes with it.

use proptest::prelude::*;
use springhouse_core::engine::{Engine, Options, Report};
use springhouse_core::hot_water::Settings;
use springhouse_core::incident::{IncidentKind, Outside};
use springhouse_core::observe::{Observer, Sample, Silent};
use springhouse_core::plant::{Parts, Plant};
use springhouse_core::power::{SiteFlows, SitePower};
use springhouse_core::time::{Span, Time};
use springhouse_tests::plants::build;
use springhouse_tests::random::{CASE_LENGTH, Case, case};
use springhouse_tests::recorder::Recorder;

fn run<O: Observer>(plant: &Plant, outside: &Outside, case: &Case, observer: &mut O) -> Report {
    let options = Options { grid: Some(Span::from_s(61.0)), ..Options::default() };
    let mut engine = Engine::start(plant, outside, case.draws.iter().copied(), options, observer).expect("starts");
    engine.run_until(Time::ZERO + CASE_LENGTH, observer).expect("runs");
    engine.report()
}

/// Minds what is stored, and that no total falls.
struct Stored {
    capacity_j: f64,
    last: SiteFlows,
}

impl Observer for Stored {
    fn row(&mut self, sample: &Sample<'_>) {
        assert!((0.0..=self.capacity_j).contains(&sample.stored_j), "{} J stored", sample.stored_j);
        let (now, last) = (&sample.totals.site, &self.last);
        let flows = [
            now.solar_j - last.solar_j,
            now.plant_j - last.plant_j,
            now.other_j - last.other_j,
            now.direct_j - last.direct_j,
            now.charged_j - last.charged_j,
            now.discharged_j - last.discharged_j,
            now.topped_up_j - last.topped_up_j,
            now.imported_j - last.imported_j,
            now.exported_j - last.exported_j,
            now.curtailed_j - last.curtailed_j,
            now.generated_j - last.generated_j,
            now.short_j - last.short_j,
            now.fuel_l - last.fuel_l,
        ];
        // A part whose power has gone may be seen to take the last bits of a sum less.
        let least = -1e-9 * (1.0 + now.load_j());
        assert!(flows.iter().all(|flow| *flow >= least), "{flows:?}");
        self.last = *now;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 80, ..ProptestConfig::default() })]

    #[test]
    fn electricity_is_neither_made_nor_lost(case in case()) {
        let power = &case.plant.power;
        let capacity_j = power.battery.map_or(0.0, |battery| battery.capacity_j);
        let mut stored = Stored { capacity_j, last: SiteFlows::default() };
        let report = run(&case.plant, &case.outside, &case, &mut stored);
        let (site, Some(books)) = (report.totals.site, report.power) else {
            prop_assert!(case.outside.power.is_empty() && !power.has_backup());
            return Ok(());
        };
        let rounding_j = 1e-9 * (1.0 + site.load_j() + site.solar_j);
        prop_assert!(site.residual_j().abs() < rounding_j, "{site:?}");
        prop_assert!((site.plant_j - report.totals.energy_j()).abs() < rounding_j, "{site:?}");
        if let Some(battery) = power.battery {
            let came_j = battery.one_way * (site.charged_j + site.topped_up_j) - site.discharged_j / battery.one_way;
            let gained_j = books.charge.energy_j - battery.start_share * battery.capacity_j;
            prop_assert!((came_j - gained_j).abs() < rounding_j + 1e-9 * capacity_j, "{came_j} for {gained_j}");
            prop_assert!(books.lowest_stored_j <= books.charge.energy_j);
        }
        let of_parts = |of: fn(&springhouse_core::engine::PartBooks) -> f64| books.parts.iter().map(of).sum::<f64>();
        prop_assert!((of_parts(|part| part.energy_j) - site.plant_j).abs() < rounding_j);
        // The rest of the house has its share beside the parts.
        prop_assert!(of_parts(|part| part.own_j) <= site.own_j() + rounding_j);
        for part in &books.parts {
            prop_assert!((-rounding_j..=part.energy_j + rounding_j).contains(&part.own_j), "{part:?}");
        }
        let hours = books.hours.iter().flatten();
        prop_assert!((hours.clone().map(|hour| hour.load_j).sum::<f64>() - site.load_j()).abs() < rounding_j);
        prop_assert!((hours.map(|hour| hour.own_j).sum::<f64>() - site.own_j()).abs() < rounding_j);
        // Whoever is out of fuel or charge gives no more.
        let outages = &books.outages;
        let fed_s = outages.battery_s + outages.generator_s + outages.dark_s;
        prop_assert!((fed_s - outages.out_s).abs() < 1e-6 * (1.0 + outages.out_s), "{outages:?}");
        prop_assert!(outages.generator_s > 0.0 || site.generated_j == 0.0);
        if !power.has_backup() {
            prop_assert_eq!(outages.dark_s.to_bits(), outages.out_s.to_bits());
        }
    }

    /// Sun and prices are books alone for a plant that goes by none of them.
    #[test]
    fn prices_change_nothing(case in case()) {
        let mut parts = Parts { power: SitePower::default(), ..Parts::clone(&case.plant) };
        if let Some(membrane) = &mut parts.membrane {
            membrane.hours = None;
        }
        for heater in &mut parts.hot_water.heaters {
            heater.settings = Settings { sun: None, ..heater.settings.clone() };
        }
        let plant = build(parts);
        let bare = Outside { power: Vec::new(), ..case.outside.clone() };
        let (mut with, mut without) = (Recorder::default(), Recorder::default());
        let mut told = run(&plant, &case.outside, &case, &mut with);
        let expected = run(&plant, &bare, &case, &mut without);
        told.power = None;
        told.totals.site = SiteFlows::default();
        prop_assert_eq!(told, expected);
        prop_assert_eq!(with, without);
    }

    /// With an outage and nothing behind the grid nobody takes anything.
    #[test]
    fn nothing_runs_in_the_dark(case in case(), from_h in 1..20_i64) {
        let plant = build(Parts { power: SitePower::default(), ..Parts::clone(&case.plant) });
        let mut outside = case.outside.clone();
        let start = Time::from_s(3_600.0 * f64::from(i32::try_from(from_h).expect("an hour")));
        let end = Time::ZERO + CASE_LENGTH;
        outside.incidents.push(springhouse_core::incident::Incident { kind: IncidentKind::PowerOut, start, end });
        let options = Options::default();
        let mut engine = Engine::start(&plant, &outside, case.draws.iter().copied(), options, &mut Silent).expect("starts");
        engine.run_until(start, &mut Silent).expect("runs");
        let before_j = engine.report().totals.energy_j();
        engine.run_until(end, &mut Silent).expect("runs");
        prop_assert!((engine.report().totals.energy_j() - before_j).abs() <= 1e-9 * before_j);
    }
}
