//! What goes out of order.

use super::SupplyWord;
use crate::quantity::{Duration, Flow, Pressure, Share};
use crate::typed::{Moment, Text, choice, section};

choice! {
    /// What is out of order.
    IncidentWord {
        /// No electricity on the site.
        Power = "power out",
        /// The well pump does not run.
        WellPump = "well pump out",
        /// A supply gives nothing.
        Supply = "supply out",
        /// The delivery pump does not run.
        DeliveryPump = "delivery pump out",
        /// The membrane unit does not run.
        Membrane = "membrane out",
        /// The membrane unit is cleaned.
        MembraneCleaned = "membrane cleaned",
        /// A pump is worn.
        WornPump = "worn pump",
        /// A check valve lets water back into its source.
        CheckValve = "check valve leaks",
        /// The pressure tank was filled with too little air.
        LowPrecharge = "low precharge",
        /// The pressure tank has lost air.
        AirLost = "air lost",
        /// The float of the storage tank calls for water without end.
        FloatOpen = "float stuck open",
        /// The float of the storage tank calls for none.
        FloatShut = "float stuck shut",
        /// Water passes by a stage untreated.
        StageBypassed = "stage bypassed",
        /// Nothing passes a stage.
        StageShut = "stage shut",
        /// What a stage holds is changed.
        StageChanged = "stage changed",
        /// A pipe bursts.
        Burst = "burst",
        /// The standby supply is put in by hand.
        Standby = "standby by hand",
    }
}

section! {
    /// Something that is out of order for a while. Each kind has its own keys beside `start`, `length` and `every`. Only a cleaning
    /// and a change have a usual length. A cleaning brings back most, not all, of what the membrane has lost since it was last
    /// clean.
    ///
    /// | kind | what happens | its keys |
    /// | --- | --- | --- |
    /// | `power out` | no electricity on the site | |
    /// | `well pump out` | the well pump does not run | |
    /// | `supply out` | a supply gives nothing: its pump does not run, or the main is shut | `supply` |
    /// | `delivery pump out` | the delivery pump does not run | |
    /// | `membrane out` | the membrane unit does not run; as it is put back, a lock-out is reset | |
    /// | `membrane cleaned` | the membrane unit is out of service and comes back clean; a lock-out is reset | |
    /// | `worn pump` | a supply's pump works like a new one that turns slower | `supply`, `speed` |
    /// | `check valve leaks` | water runs back into the source while the pump stands still | `supply`, `flow` |
    /// | `low precharge` | the pressure tank has less air than it should | `precharge` |
    /// | `air lost` | the pressure tank has lost air | `air_left` |
    /// | `float stuck open` | the float of the storage tank calls for water without end | |
    /// | `float stuck shut` | the float of the storage tank calls for none | |
    /// | `stage bypassed` | water passes by a stage of treatment | `stage` |
    /// | `stage shut` | nothing passes a stage of treatment | `stage` |
    /// | `stage changed` | a stage gets a new cartridge, bed or lamp; nothing passes meanwhile | `stage` |
    /// | `burst` | a pipe bursts at a building or raw load | `at`, `flow` |
    /// | `standby by hand` | the standby supply is in, the others are isolated | |
    Incident {
        /// What it is.
        required kind: IncidentWord = "power out";
        /// When it begins, local standard time.
        required start: Moment = "2027-06-06 02:30";
        /// How long it lasts.
        optional length: Duration = "9 h", "8 h for `membrane cleaned`, 10 min for `stage changed`, else needed";
        /// It comes again and again, so long after its last beginning.
        optional every: Duration = "90 days", "it comes once";
        /// The supply.
        optional supply: SupplyWord = "well", "by the kind";
        /// Speed of a new pump that gives what the worn one does, as a share of its full speed.
        optional speed: Share = "85 %", "by the kind";
        /// Flow of the leak: at the pressure that stops the pump, or through the burst pipe at full pressure.
        optional flow: Flow = "2 gpm", "by the kind";
        /// Pressure of the air in the tank with no water, below `precharge` of the pressure tank.
        optional precharge: Pressure = "20 psi", "by the kind";
        /// Part of its air still in the pressure tank.
        optional air_left: Share = "40 %", "by the kind";
        /// Name of a stage of treatment.
        optional stage: Text = "iron filter", "by the kind";
        /// Name of the building or raw load where the pipe bursts, on its side of the treatment.
        optional at: Text = "house", "by the kind";
    }
}
