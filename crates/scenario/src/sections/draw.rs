//! Draws, valves that open by the clock, and logged draws.

use crate::quantity::{Duration, Flow, Temperature};
use crate::typed::{File, Text, TimeOfDay, choice, section};

choice! {
    /// What a draw does when less comes than it wants.
    DrawWord {
        /// It ends when it was to end.
        Timed = "timed",
        /// It goes on until it has its volume.
        Volume = "volume",
    }
}

choice! {
    /// A day of the week.
    Weekday {
        /// Monday.
        Monday = "mon",
        /// Tuesday.
        Tuesday = "tue",
        /// Wednesday.
        Wednesday = "wed",
        /// Thursday.
        Thursday = "thu",
        /// Friday.
        Friday = "fri",
        /// Saturday.
        Saturday = "sat",
        /// Sunday.
        Sunday = "sun",
    }
}

choice! {
    /// A month.
    MonthWord {
        /// January.
        January = "jan",
        /// February.
        February = "feb",
        /// March.
        March = "mar",
        /// April.
        April = "apr",
        /// May.
        May = "may",
        /// June.
        June = "jun",
        /// July.
        July = "jul",
        /// August.
        August = "aug",
        /// September.
        September = "sep",
        /// October.
        October = "oct",
        /// November.
        November = "nov",
        /// December.
        December = "dec",
    }
}

section! {
    /// A draw of water that comes every day, or on some days of the week.
    Draw {
        /// Name of a building or of a raw load.
        required building: Text = "house";
        /// Time of day at which it starts.
        required start: TimeOfDay = "06:30";
        /// How long it lasts; it may go on past midnight.
        required length: Duration = "8 min";
        /// Flow it wants.
        required flow: Flow = "2 gpm";
        /// `timed`: it ends when it was to end, and what did not come is lost (a shower). `volume`: it goes on until it has
        /// its volume (a toilet, a washer).
        default kind: DrawWord = "timed";
        /// How warm it is wanted, up to 100 °C: a shower at 104 °F, a fill of an appliance at 140 °F.
        optional temperature: Temperature = "104 °F", "as it comes out of the cold line";
        /// The days of the week on which it comes.
        optional weekdays: Vec<Weekday> = "[\"mon\", \"wed\", \"fri\"]", "every day";
        /// The months in which it comes.
        optional months: Vec<MonthWord> = "[\"jun\", \"jul\", \"aug\"]", "all year";
    }
}

section! {
    /// A valve of a raw load that opens by the clock.
    Valve {
        /// Time of day at which it opens.
        required start: TimeOfDay = "05:00";
        /// How long it stays open; it may go on past midnight.
        required length: Duration = "20 min";
        /// Flow it wants.
        required flow: Flow = "5 gpm";
        /// `timed`: it shuts when its time is over (an irrigation zone). `volume`: it stays open until it has its volume (a
        /// trough).
        default kind: DrawWord = "timed";
        /// The days of the week on which it opens.
        optional weekdays: Vec<Weekday> = "[\"mon\", \"wed\", \"fri\"]", "every day";
        /// The months in which it opens.
        optional months: Vec<MonthWord> = "[\"jun\", \"jul\", \"aug\"]", "all year";
    }
}

section! {
    /// A file of logged draws or meter readings: a CSV with the columns `start,building,flow_lps,duration_s` or
    /// `time,litres`; gallons are fine too. [docs/logs.md](logs.md) tells of its columns, with examples.
    Log {
        /// The file, seen from the scenario's folder.
        required file: File = "logged-week.csv";
    }
}
