//! Heat pumps at points that nobody fitted: each unit has one figure of its plate, and defaults for all the rest.
//!
//! Published values are from memory, and of classes of units rather than of one: units of a class differ by about 7 %
//! either way.

use springhouse_core::heater::control::Mode;
use springhouse_core::heater::heat_pump::HeatPump;
use springhouse_core::heater::rating::{DayTest, TestConditions, day_test_in, with_energy_factor};
use springhouse_core::heater::usage::{GALLON_L, Usage};
use springhouse_core::heater::{Conditions, Elements, Heater, HeaterState, HeaterStep, Source, WATER_J_L_K};
use springhouse_core::moist_air::MoistAir;

use super::heater_rating::{HYBRID, heater};

const SEA_LEVEL_KPA: f64 = 101.325;

fn celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

fn air(temp_c: f64, humidity: f64) -> MoistAir {
    MoistAir::at(temp_c, humidity, SEA_LEVEL_KPA)
}

/// Holds so many gallons and has a uniform energy factor on its plate.
fn with_plate(gallons: f64, usage: Usage, uef: f64) -> Heater {
    with_energy_factor(&heater(gallons, HYBRID), Mode::Hybrid, usage, uef).expect("in reach")
}

/// The 24-hour test in other air and water.
fn test_in(heater: &Heater, usage: Usage, (air_f, humidity): (f64, f64), inlet_f: f64) -> DayTest {
    let meets = TestConditions { inlet_c: celsius(inlet_f), air: air(celsius(air_f), humidity) };
    day_test_in(heater, Mode::Hybrid, usage, meets)
}

/// The share of Carnot's coefficient with which a test gives a figure, that rises with it.
fn fitted(wanted: f64, figure: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.2, 0.9);
    assert!(figure(low) < wanted && wanted < figure(high), "out of reach");
    for _ in 0..20 {
        let middle = 0.5 * (low + high);
        *(if figure(middle) < wanted { &mut low } else { &mut high }) = middle;
    }
    0.5 * (low + high)
}

#[test]
fn external_coefficient_of_performance() {
    // Lab maps of five integrated units (NREL/TP-5500-62121, 2014; its curves from memory, low confidence): without the
    // fan about 3.5 at 75 °F of water and 2 at 130 °F, in air of 67.5 °F; 0.02 to 0.03 more for a degree of the air;
    // 0.5 to 1.0 kW in for 1.3 to 2.7 kW out. Such units met the programme's least factor of those years, 2.0. Within
    // 15 % and half a digit: at 75 °F, far from what the test dwells on, the model is 15 % high.
    let Source::HeatPump(pump, _) = with_plate(45.0, Usage::Medium, 2.0).source else {
        panic!("a heat pump stays one")
    };
    let at =
        |air_f: f64, water_f: f64| pump.at(&air(celsius(air_f), 0.5), celsius(water_f) + pump.condenser_approach_k);
    for (water_f, expected) in [(75.0, 3.5), (130.0, 2.0)] {
        let rates = at(67.5, water_f);
        let cop = rates.heat_w / rates.compressor_w;
        assert!((cop - expected).abs() < 0.15 * expected + 0.05, "{water_f} °F: {cop} for {expected}");
    }
    let hot = at(67.5, 130.0);
    assert!((500.0..1_000.0).contains(&hot.compressor_w) && (1_300.0..2_700.0).contains(&hot.heat_w), "{hot:?}");
    let cop = |air_f: f64| at(air_f, 110.0).heat_w / at(air_f, 110.0).compressor_w;
    let per_f = (cop(77.5) - cop(57.5)) / 20.0;
    assert!((0.02..0.03).contains(&per_f), "{per_f}");
}

#[test]
fn exact_nominal_heat_is_that_of_its_own_inlet() {
    // 55 gal from 50 to 125 °F.
    let day = test_in(&heater(45.0, HYBRID), Usage::Medium, (50.0, 0.58), 50.0);
    let found_j = day.year_kwh * day.uef / 365.0 * 3.6e6;
    assert!((found_j / (WATER_J_L_K * 55.0 * GALLON_L * 75.0 / 1.8) - 1.0).abs() < 1e-12, "{day:?}");
}

#[test]
fn external_integrated_units_in_cool_air() {
    // Northwest Energy Efficiency Alliance, specification for advanced water heaters and its lists of units (2012 to 2022), on
    // lab tests with air of 50 °F and 58 % and water of 50 °F beside the federal test (conditions from memory; which efficiency
    // goes with which plate from memory, low confidence). Cool-climate efficiency (once called northern) of units of 2.3 to
    // 2.4 on the plate: 1.8 to 2.1; of 3.45: 2.6 to 3.0; of 3.7 to 3.9: 3.0 to 3.5. It weighs air of a garage or basement;
    // the weights are not remembered, and 50 °F stands for them, which may be 4 % low. Within 10 %: that, and the spread.
    for (gallons, usage, uef, expected) in [
        (45.0, Usage::Medium, 2.35, 1.95),
        (45.0, Usage::Medium, 3.45, 2.8),
        (60.0, Usage::Medium, 3.45, 2.8),
        (72.0, Usage::High, 3.45, 2.8),
        (45.0, Usage::Medium, 3.8, 3.25),
        (60.0, Usage::Medium, 3.8, 3.25),
        (72.0, Usage::High, 3.8, 3.25),
    ] {
        let found = test_in(&with_plate(gallons, usage, uef), usage, (50.0, 0.58), 50.0).uef;
        assert!((found / expected - 1.0).abs() < 0.1, "{gallons} gal of {uef}: {found} for {expected}");
    }
}

/// A tap of a day: minute, heat in kWh, flow in L/min.
type Tap = (u32, f64, f64);

/// Tapping profile XL of Commission Regulation (EU) 814/2013, annex III, table 1, which EN 16147 shares (from memory; it
/// adds up to its 19.07 kWh).
const XL: [Tap; 30] = [
    (420, 0.105, 3.0),
    (435, 1.82, 6.0),
    (446, 0.105, 3.0),
    (465, 4.42, 10.0),
    (481, 0.105, 3.0),
    (495, 0.105, 3.0),
    (510, 0.105, 3.0),
    (525, 0.105, 3.0),
    (540, 0.105, 3.0),
    (570, 0.105, 3.0),
    (600, 0.105, 3.0),
    (630, 0.105, 3.0),
    (660, 0.105, 3.0),
    (690, 0.105, 3.0),
    (705, 0.105, 3.0),
    (765, 0.735, 4.0),
    (870, 0.105, 3.0),
    (900, 0.105, 3.0),
    (930, 0.105, 3.0),
    (960, 0.105, 3.0),
    (990, 0.105, 3.0),
    (1_020, 0.105, 3.0),
    (1_080, 0.105, 3.0),
    (1_095, 0.105, 3.0),
    (1_110, 0.105, 3.0),
    (1_140, 0.105, 3.0),
    (1_230, 0.735, 4.0),
    (1_246, 4.42, 10.0),
    (1_275, 4.42, 10.0),
    (1_290, 0.105, 3.0),
];

/// A European unit on the stand of EN 16147: water in at 10 °C, set point 55 °C, the tank in a room of 20 °C, intake ducted.
struct Tapped {
    heater: Heater,
    intake: MoistAir,
    state: HeaterState,
    minute: u32,
}

impl Tapped {
    const INLET_C: f64 = 10.0;

    /// 290 L are in a unit sold as 300 L. It may run in colder air than our default, by its plate.
    fn new(carnot_share: f64, intake: MoistAir) -> Self {
        let pump = HeatPump { carnot_share, coldest_air_c: -5.0, ..HeatPump::TYPICAL };
        let heater = heater(290.0 / GALLON_L, Source::HeatPump(pump, Elements::default()));
        Self { state: HeaterState::at(&heater, Self::INLET_C), heater, intake, minute: 0 }
    }

    fn pass_minute(&mut self, litres: f64) -> HeaterStep {
        let at = Conditions {
            seconds: 60.0,
            litres,
            inlet_c: Self::INLET_C,
            set_c: 55.0,
            mode: Mode::HeatPumpOnly,
            power: true,
            air: air(20.0, 0.5),
            intake: self.intake,
        };
        self.minute += 1;
        self.heater.step(&mut self.state, &at, |_| ())
    }

    /// Heat drawn and electricity used over a day.
    fn day(&mut self) -> (f64, f64) {
        let (mut drawn_j, mut used_j) = (0.0, 0.0);
        self.minute = 0;
        for (minute, kwh, l_min) in XL {
            while self.minute < minute {
                used_j += self.pass_minute(0.0).electric_j();
            }
            let mut left_j = 3.6e6 * kwh;
            while left_j > 1.0 {
                let outlet_c = self.state.outlet_c();
                assert!(outlet_c > 40.0, "too cool for the profile: {outlet_c}");
                let told = self.pass_minute(l_min.min(left_j / (WATER_J_L_K * (outlet_c - Self::INLET_C))));
                left_j -= told.delivered_j;
                drawn_j += told.delivered_j;
                used_j += told.electric_j();
            }
        }
        while self.minute < 1_440 {
            used_j += self.pass_minute(0.0).electric_j();
        }
        (drawn_j, used_j)
    }

    /// Warms up for a day, then taps for three; heat over electricity of the last two.
    fn cop(mut self) -> f64 {
        for _ in 0..1_440 {
            self.pass_minute(0.0);
        }
        self.day();
        let days = [self.day(), self.day()];
        days.iter().map(|day| day.0).sum::<f64>() / days.iter().map(|day| day.1).sum::<f64>()
    }
}

#[test]
fn external_european_units_with_outdoor_air() {
    let day_kwh: f64 = XL.iter().map(|tap| tap.1).sum();
    assert!((day_kwh - 19.07).abs() < 1e-9, "{day_kwh}");
    // Data sheets of units of 300 L by EN 16147 (2011), about 2013: COP of 3.22 in air of 15 °C (wet bulb 12), fitted; 2.82 at
    // 7 (6) from memory; 2.55 at 2 (1) and about 3.5 at 20 (12) from memory, low confidence. Found 2.77, 2.37 and 3.47. Within
    // 10 %: a unit that did not feel its air at all would be 14 % off at 7 °C.
    let cop = |share: f64, (temp_c, humidity): (f64, f64)| Tapped::new(share, air(temp_c, humidity)).cop();
    let share = fitted(3.22, |share| cop(share, (15.0, 0.71)));
    for (intake, expected) in [((7.0, 0.87), 2.82), ((2.0, 0.84), 2.55), ((20.0, 0.37), 3.5)] {
        let found = cop(share, intake);
        assert!((found / expected - 1.0).abs() < 0.1, "{intake:?}: {found} for {expected}");
    }
}

#[test]
fn external_field_means_of_a_cold_region() {
    // US Department of Energy, Building America, fourteen integrated units of 50, 60 and 80 gal in basements of New England (2013
    // to 2016; from memory, low confidence): heat drawn over electricity of a year 2.1 in the mean, single ones from 1.0 to
    // 2.6. Plates of those years: 2.35, taken as the uniform factor. Our own choice: basements of 52 to 66 °F, water of 42 to
    // 60 °F, 38 or 55 gal a day. Found 2.13. Within 10 %, twice what the mean of fourteen that differ by 0.4 may be off.
    let (mut sum, mut cases) = (0.0, 0.0);
    for gallons in [45.0, 54.0, 72.0] {
        let heater = with_plate(gallons, Usage::Medium, 2.35);
        for usage in [Usage::Low, Usage::Medium] {
            for (air_f, inlet_f) in [(52.0, 42.0), (58.0, 50.0), (66.0, 60.0)] {
                let day = test_in(&heater, usage, (air_f, 0.55), inlet_f);
                let cop = day.delivered_j / day.used_j;
                assert!((1.0..2.6).contains(&cop), "{gallons} gal, {usage:?}, {air_f} °F: {cop}");
                (sum, cases) = (sum + cop, cases + 1.0);
            }
        }
    }
    let mean = sum / cases;
    assert!((mean / 2.1 - 1.0).abs() < 0.1, "{mean}");
}

#[test]
fn regress_transcritical_units_are_out_of_range() {
    // A public power agency's lab tests of a split CO2 unit outdoors (Pacific Northwest, 2013; from memory, low confidence):
    // factors of 2.1, 2.75, 3.11, 3.35 and 4.3 in air of 17, 35, 50, 67 and 95 °F. Fitted at 67 °F. The model is no such
    // cycle: that warms water once through against a gas that glides and does not condense, and falls less in the cold. In
    // mild air the model comes within 15 % (found -12 and +14), in frost it is a fifth and more low (-20 and -23), which is
    // held here so that nobody takes it for right.
    let with = |carnot_share: f64| {
        let pump = HeatPump { carnot_share, coldest_air_c: -20.0, ..HeatPump::TYPICAL };
        heater(79.0, Source::HeatPump(pump, Elements::default()))
    };
    let factor = |share: f64, air_f: f64| test_in(&with(share), Usage::High, (air_f, 0.6), 58.0).uef;
    let share = fitted(3.35, |share| factor(share, 67.0));
    let off = |(air_f, published): (f64, f64)| factor(share, air_f) / published - 1.0;
    let mild = [(50.0, 3.11), (95.0, 4.3)].map(off);
    assert!(mild.iter().all(|off| off.abs() < 0.15), "{mild:?}");
    let frosty = [(17.0, 2.1), (35.0, 2.75)].map(off);
    assert!(frosty.iter().all(|off| (-0.3..-0.15).contains(off)), "{frosty:?}");
}
