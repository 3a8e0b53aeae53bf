//! What takes water.

use super::{Fixtures, Group, Household, Pipe, Valve};
use crate::quantity::{Duration, Length, Pressure};
use crate::typed::{File, Text, Tried, choice, section};

choice! {
    /// The header a building hangs on.
    FedBy {
        /// The delivery pump behind the storage tank.
        Delivery = "delivery",
        /// The raw header, whatever supply feeds it.
        Well = "well",
    }
}

section! {
    /// A building: a set of fixtures at one place.
    Building {
        /// What draws and logs call it.
        required name: Text = "house";
        /// Where it takes its water: from the delivery pump, or (`well`) from the raw line behind its treatment, whatever
        /// supply feeds that.
        optional fed_by: FedBy = "delivery", "\"delivery\" where there is a delivery pump, else \"well\"";
        /// Pressure from which its fixtures pass the flow they are set to.
        default full_flow_pressure: Pressure = "20 psi";
        /// Height of its fixtures above the gauge of the line that feeds it; negative where they lie lower.
        default rise: Length = "0 ft";
        /// The pipe from that line to its fixtures.
        optional service: Pipe = "", "no loss";
        /// People who live there, once for each group that is used to the same. Their draws come on top of those of `draw`.
        list people: Group;
        /// What those people share.
        section household: Household;
        /// What they draw with.
        section fixtures: Fixtures;
    }
}

section! {
    /// Water taken from the raw header, ahead of all treatment: irrigation, a stock trough. Its valves open by the clock in a
    /// power cut, too.
    RawLoad {
        /// What draws and logs call it.
        required name: Text = "garden";
        /// Pressure from which it passes the flow it is set to.
        default full_flow_pressure: Pressure = "20 psi";
        /// Pressure that its backflow device takes at any flow.
        default backflow_loss: Pressure = "0 psi";
        /// Height of it above the header's gauge; negative where it lies lower.
        default rise: Length = "0 ft";
        /// The pipe from the header to it.
        optional service: Pipe = "", "no loss";
        /// A valve that opens by the clock, once for each: an irrigation zone, a trough's fill.
        list valve: Tried<Valve>;
        /// A rain sensor that keeps its valves shut.
        optional rain_skip: RainSkip = "rain", "they open whatever falls";
    }
}

section! {
    /// Valves that do not open after rain.
    RainSkip {
        /// The record of rain, seen from the scenario's folder, as of a cistern's roof: see [docs/rain.md](rain.md).
        optional rain: File = "rain.csv", "the rain of `weather`";
        /// So much rain keeps them shut.
        default amount: Length = "5 mm";
        /// In so long before they would open.
        default within: Duration = "24 h";
    }
}
