//! A draw as somebody would have it.

use springhouse_core::draw::{DrawKind, Flow};
use springhouse_core::time::{Span, Time};

/// What water is drawn for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Use {
    /// A shower; timed.
    Shower,
    /// A bath; a volume.
    Bath,
    /// A flush of a toilet, whose tank is filled again; a volume.
    Toilet,
    /// A bathroom tap; timed.
    Basin,
    /// The kitchen tap; timed.
    Kitchen,
    /// A load of the clothes washer; each fill is a volume.
    ClothesWasher,
    /// A load of the dishwasher; each fill is a volume.
    Dishwasher,
    /// The tap outdoors; a volume.
    Outdoor,
    /// A leak; timed.
    Leak,
    /// Any other use; a volume.
    Other,
}

impl Use {
    /// All uses, in order.
    pub const ALL: [Self; 10] = [
        Self::Shower,
        Self::Bath,
        Self::Toilet,
        Self::Basin,
        Self::Kitchen,
        Self::ClothesWasher,
        Self::Dishwasher,
        Self::Outdoor,
        Self::Leak,
        Self::Other,
    ];

    /// Its place in [`Use::ALL`].
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }

    /// What happens when less water comes than is wanted.
    #[must_use]
    pub const fn kind(self) -> DrawKind {
        match self {
            Self::Shower | Self::Basin | Self::Kitchen | Self::Leak => DrawKind::Timed,
            _ => DrawKind::Volume,
        }
    }
}

/// A use of water as it is wanted, whether or not the fixture is free then.
///
/// A load of an appliance is one wish: it lasts as long as the machine runs and has no flow; its fills become draws of
/// their own once it is known when the machine is free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wish {
    /// On whose list it is: the day of the person who wishes. After midnight it may start on the next.
    pub day: i64,
    /// When it would start.
    pub start: Time,
    /// How long water is drawn if all that is wanted comes, above zero; of a load, how long the machine runs.
    pub length: Span,
    /// Index of the building.
    pub home: u16,
    /// Index of the person, or [`Wish::BUILDING`].
    pub who: u16,
    /// Its number among those of the day, the person and the use.
    pub order: u32,
    /// What for.
    pub use_: Use,
    /// Wanted flow; zero for a load of an appliance.
    pub flow: Flow,
    /// What happens when less comes.
    pub kind: DrawKind,
    /// Wanted temperature in °C; `None` is cold. What a heater cannot give is as hot as it comes.
    pub temp_c: Option<f64>,
}

impl Wish {
    /// [`Wish::who`] of what nobody in particular draws.
    pub const BUILDING: u16 = u16::MAX;

    /// Its place among all that start at one time: by building, person, use and number.
    pub(crate) fn rank(&self) -> u64 {
        let of_person = (self.use_.index() as u64) << 24 | u64::from(self.order);
        u64::from(self.home) << 48 | u64::from(self.who) << 32 | of_person
    }

    /// Its place in time.
    pub(crate) fn key(&self) -> (Time, u64) {
        (self.start, self.rank())
    }
}
