//! Who lives in a building, what they are used to, and what they draw with.

use jiff::civil::Date;

use super::Weekday;
use crate::quantity::{Duration, Flow, Share, Temperature, Volume};
use crate::typed::{At, Number, Text, TimeOfDay, Tried, Whole, choice, section};

choice! {
    /// Whose habits are typical of people.
    WhoWord {
        /// They go to work, as a rule.
        Adult = "adult",
        /// They go to school, are bathed more often, and are in bed early.
        Child = "child",
    }
}

section! {
    /// People of a building who are used to the same. Their draws are made from their habits; numbers a day are means over a
    /// week of what they draw in this building. Where a habit is not given, it is that of published studies for an adult, and our
    /// own choice for a child: see docs/physics.md, "Occupants and their draws".
    ///
    /// What each of them does on a day depends on the seed, the names and the date alone: one guest more, or another tank, leaves
    /// everybody else's wishes as they were.
    People {
        /// What results call them; of several the first is `NAME 1`.
        required name: Text = "parents";
        /// Whose habits they have.
        default who: WhoWord = "adult";
        /// How many.
        default count: Whole<0, 100> = "1";
        /// First full day of a stay as guests, who come the night before. To a guest all days are free.
        optional from: Date = "2027-07-02", "they live there";
        /// Last day of that stay; goes with `from`.
        optional to: Date = "2027-07-05", "they live there";
        /// Days on which nobody of them is there, once for each absence.
        list away: Away;
        /// Days of the week on which they keep to `workday`; `[]` for those who have none. Guests have none.
        optional workdays: Vec<Weekday> = "[\"mon\", \"tue\", \"thu\"]", "Monday to Friday; none for guests";
        /// Times of a workday, out by day: those who are out over midnight cannot be told of yet.
        section workday: Routine;
        /// Times of a free day.
        section free_day: Routine;
        /// Showers a day.
        optional showers_per_day: Number<0, 20> = "0.9", "0.69, 0.40 for a child";
        /// Mean length of a shower.
        optional shower_length: Duration = "10 min", "7 min 48 s";
        /// Part of the showers that they take after getting up; the others are taken in the evening.
        optional morning_share: Share = "50 %", "80 %, 20 % for a child";
        /// Baths a day.
        optional baths_per_day: Number<0, 20> = "0.2", "0.07, 0.25 for a child";
        /// Flushes of a toilet a day.
        optional flushes_per_day: Number<0, 100> = "6", "5";
        /// Times a day that they open a bathroom tap.
        optional basin_uses_per_day: Number<0, 100> = "14", "11";
        /// Times a day that they open the kitchen tap.
        optional kitchen_uses_per_day: Number<0, 100> = "12", "9, 5 for a child";
        /// Their share of the loads of the clothes washer, each, a day.
        optional laundry_loads_per_day: Number<0, 20> = "0.4", "0.30";
        /// Their share of the loads of the dishwasher, each, a day.
        optional dish_loads_per_day: Number<0, 20> = "0.25", "0.10";
        /// Other draws a day.
        optional other_uses_per_day: Number<0, 100> = "2", "1";
    }
}

section! {
    /// Days on which people are away.
    Away {
        /// First day.
        required from: Date = "2027-08-02";
        /// Last day.
        required to: Date = "2027-08-15";
    }
}

section! {
    /// The times of a kind of day. What is not given is typical of adults or children.
    Routine {
        /// When they get up.
        optional wake: TimeOfDay = "06:30", "06:30, a child 06:45; free days 08:00, a child 07:30";
        /// When they leave.
        optional leave: TimeOfDay = "08:00", "08:00, a child 07:50; free days 13:00 and 13:30";
        /// When they are home again, later than `leave`.
        optional home: TimeOfDay = "17:30", "17:30, a child 15:30; free days 16:00";
        /// When they go to bed; before noon it is after midnight.
        optional bed: TimeOfDay = "22:30", "22:30, a child 20:30; free days 23:15 and 21:00";
        /// Whether they stay in all day: then nobody leaves, nor comes home.
        default stays_in: bool = "false";
        /// Standard deviation of getting up and going to bed, from day to day.
        optional spread: Duration = "20 min", "25 min, a child 15 min; free days 45 and 30 min";
    }
}

section! {
    /// What people of a building share.
    Household {
        /// How much they get up together: `0 %` each by themselves, `100 %` all early or late together. It is the correlation of
        /// their times of getting up, and what fills a bathroom. Our own choice, no source.
        default together: Share = "50 %";
        /// When those have dinner who are in.
        default dinner: TimeOfDay = "18:30";
        /// All numbers of uses are multiplied by it. Between real homes, water for each person is spread by a factor of 1.8
        /// (geometric standard deviation).
        default level: Number<0, 10> = "1";
    }
}

section! {
    /// What a building draws water with. The defaults are what published studies met on average, so flush volumes are those of
    /// older toilets too: a new one takes 1.28 gal. Taps are opened to between a quarter and three quarters of what they give.
    Fixtures {
        /// How many showers, each for one person at a time.
        default showers: Whole<0, 100> = "2";
        /// Flow of a shower.
        default shower_flow: Flow = "2.1 gpm";
        /// Wanted temperature of a shower.
        default shower_temperature: Temperature = "40.5 °C";
        /// How many baths.
        default baths: Whole<0, 100> = "1";
        /// Water of a bath.
        default bath_volume: Volume = "20.2 gal";
        /// Flow of its tap.
        default bath_flow: Flow = "5.5 gpm";
        /// Wanted temperature of a bath.
        default bath_temperature: Temperature = "40 °C";
        /// How many toilets.
        default toilets: Whole<0, 100> = "2";
        /// Water of a flush.
        default flush_volume: Volume = "2.6 gal";
        /// Flow through a fill valve.
        default toilet_flow: Flow = "3 gpm";
        /// How many bathroom taps.
        default basins: Whole<0, 100> = "2";
        /// Flow of a bathroom tap that is wide open.
        default basin_flow: Flow = "2.2 gpm";
        /// How many kitchen taps.
        default kitchen_taps: Whole<0, 100> = "1";
        /// Flow of a kitchen tap that is wide open.
        default kitchen_flow: Flow = "2.2 gpm";
        /// Whether there is a clothes washer.
        default clothes_washer: bool = "true";
        /// Water of a load, in three fills.
        default washer_volume: Volume = "31 gal";
        /// Flow of its fills.
        default washer_flow: Flow = "3.5 gpm";
        /// How long a load keeps it.
        default washer_cycle: Duration = "45 min";
        /// Whether there is a dishwasher.
        default dishwasher: bool = "true";
        /// Water of a load, in four fills.
        default dishwasher_volume: Volume = "6.1 gal";
        /// Flow of its fills.
        default dishwasher_flow: Flow = "1.3 gpm";
        /// How long a load keeps it.
        default dishwasher_cycle: Duration = "90 min";
        /// Water of each other draw.
        default other_volume: Volume = "2.5 gal";
        /// Flow of it.
        default other_flow: Flow = "1.6 gpm";
        /// Cans and buckets filled outdoors, a day, from seven to eight, whoever is in.
        default outdoor_uses_per_day: Number<0, 100> = "0";
        /// Water of each.
        default outdoor_volume: Volume = "3 gal";
        /// Flow of the tap outdoors.
        default outdoor_flow: Flow = "4 gpm";
        /// A constant leak, whoever lives there, as of a toilet that does not close. The published mean is 17 gal a day; most homes have next to none.
        optional leak: Flow = "10 gal/day", "no leak";
    }
}

/// The people of a building.
pub(crate) type Group = Tried<At<People>>;
