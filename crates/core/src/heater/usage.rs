//! The days of draws of the US federal test of water heaters: 10 CFR 430, Subpart B, Appendix E, tables III.1 to III.4.

/// A US gallon.
pub const GALLON_L: f64 = 3.785_411_784;

/// How much of the day a household draws, by its heater's first-hour rating.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Usage {
    /// 10 gallons.
    VerySmall,
    /// 38 gallons.
    Low,
    /// 55 gallons.
    Medium,
    /// 84 gallons.
    High,
}

/// A draw of the test: minute of the day, gallons, gallons a minute.
pub(super) type TestDraw = (f64, f64, f64);

/// Tables III.1 to III.4 (from memory; each adds up to its day).
const VERY_SMALL: [TestDraw; 9] = [
    (0.0, 2.0, 1.0),
    (60.0, 1.0, 1.0),
    (65.0, 0.5, 1.0),
    (70.0, 0.5, 1.0),
    (75.0, 0.5, 1.0),
    (480.0, 1.0, 1.0),
    (495.0, 2.0, 1.0),
    (540.0, 1.5, 1.0),
    (555.0, 1.0, 1.0),
];
const LOW: [TestDraw; 11] = [
    (0.0, 15.0, 1.7),
    (30.0, 2.0, 1.0),
    (60.0, 1.0, 1.0),
    (630.0, 6.0, 1.7),
    (690.0, 4.0, 1.7),
    (720.0, 1.0, 1.0),
    (765.0, 1.0, 1.0),
    (770.0, 1.0, 1.0),
    (975.0, 2.0, 1.0),
    (1_005.0, 2.0, 1.7),
    (1_020.0, 3.0, 1.7),
];
const MEDIUM: [TestDraw; 12] = [
    (0.0, 15.0, 1.7),
    (30.0, 2.0, 1.0),
    (100.0, 9.0, 1.7),
    (630.0, 9.0, 1.7),
    (690.0, 5.0, 1.7),
    (720.0, 1.0, 1.0),
    (765.0, 1.0, 1.0),
    (770.0, 1.0, 1.0),
    (960.0, 1.0, 1.0),
    (975.0, 2.0, 1.0),
    (1_005.0, 2.0, 1.7),
    (1_020.0, 7.0, 1.7),
];
const HIGH: [TestDraw; 14] = [
    (0.0, 27.0, 3.0),
    (30.0, 2.0, 1.0),
    (40.0, 1.0, 1.0),
    (100.0, 9.0, 1.7),
    (630.0, 15.0, 3.0),
    (690.0, 5.0, 1.7),
    (720.0, 1.0, 1.0),
    (765.0, 1.0, 1.0),
    (770.0, 1.0, 1.0),
    (960.0, 2.0, 1.0),
    (975.0, 2.0, 1.0),
    (990.0, 2.0, 1.7),
    (1_005.0, 2.0, 1.7),
    (1_020.0, 14.0, 3.0),
];

impl Usage {
    /// The usage that a first-hour rating stands for: bounds of 18, 51 and 75 gallons.
    #[must_use]
    pub fn of_first_hour(litres: f64) -> Self {
        let gallons = litres / GALLON_L;
        match gallons {
            _ if gallons < 18.0 => Self::VerySmall,
            _ if gallons < 51.0 => Self::Low,
            _ if gallons < 75.0 => Self::Medium,
            _ => Self::High,
        }
    }

    pub(super) fn draws(self) -> &'static [TestDraw] {
        match self {
            Self::VerySmall => &VERY_SMALL,
            Self::Low => &LOW,
            Self::Medium => &MEDIUM,
            Self::High => &HIGH,
        }
    }

    /// What it draws a day.
    #[must_use]
    pub fn day_l(self) -> f64 {
        self.draws().iter().map(|draw| draw.1 * GALLON_L).sum()
    }
}
