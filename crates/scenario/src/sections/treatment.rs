//! Treatment.

use crate::quantity::{Dose, Duration, Flow, Length, Mass, Power, Pressure, Share, Volume};
use crate::typed::{Text, TimeOfDay, Whole, choice, section};

choice! {
    /// What a stage of treatment does.
    StageWord {
        /// Holds back suspended solids.
        Sediment = "sediment",
        /// Takes chlorine out.
        Carbon = "carbon",
        /// Takes iron out.
        IronFilter = "iron filter",
        /// Exchanges hardness for sodium.
        Softener = "softener",
        /// Disinfects by light.
        Ultraviolet = "ultraviolet",
    }
}

choice! {
    /// The line a stage stands on.
    StageLine {
        /// The raw header's line, behind the side taps of raw loads.
        Header = "header",
        /// The line behind the delivery pump.
        Delivery = "delivery",
    }
}

section! {
    /// A stage of treatment. Some keys belong to one kind or to some:
    ///
    /// | kind | takes out | its own keys |
    /// | --- | --- | --- |
    /// | `sediment` | solids | `catches`, `capacity`, `used`, `backwash` |
    /// | `carbon` | chlorine | the same, and `bed_volume`, `contact_time` |
    /// | `iron filter` | iron | `catches`, `capacity`, `used`, `backwash` |
    /// | `softener` | hardness | `catches`, `capacity`, `used`, `backwash` |
    /// | `ultraviolet` | nothing: it disinfects | `rated_dose` to `power` |
    ///
    /// What a bed catches, and how much it holds, stands on its data sheet; the defaults of `catches` are invented middling
    /// values. Few sheets say what a cartridge holds: it has to be guessed from experience, as the water that went through one
    /// until it was changed, times its solids. A cartridge of 10 by 2 1/2 inches holds some 100 g of fine silt, one of 20 by
    /// 4 1/2 inches some 500 g: common practice, no source.
    ///
    /// Stages on the raw header's line treat what fills storage, too. Raw loads, irrigation among them, are on the raw side
    /// only: their water passes no stage.
    Stage {
        /// What incidents and results call it.
        required name: Text = "iron filter";
        /// What it does.
        required kind: StageWord = "iron filter";
        /// The line it stands on: the raw header's, or that behind the delivery pump.
        optional behind: StageLine = "header", "\"delivery\" for `ultraviolet` where there is a delivery pump, else \"header\"";
        /// Flow at which its losses and its dose are stated.
        required rated_flow: Flow = "8 gpm";
        /// Pressure lost at the rated flow when clean.
        default clean_loss: Pressure = "2 psi";
        /// Pressure lost at the rated flow when it holds its whole capacity.
        optional change_at_loss: Pressure = "15 psi", "15 psi for `sediment` and `iron filter`, whose loss grows with what they caught";
        /// Part of what it takes out that it catches.
        optional catches: Share = "90 %", "sediment 90 %, carbon 99 %, iron filter 95 %, softener 98 %";
        /// What it holds until it is changed, washed or regenerated; a softener's is of hardness as calcium carbonate.
        optional capacity: Mass = "500 g", "needed, but for `ultraviolet`";
        /// Part of the capacity that is used when the run starts.
        optional used: Share = "20 %", "0 %";
        /// Volume of the bed of carbon.
        optional bed_volume: Volume = "1.5 ft3", "needed for `carbon`";
        /// Time in the empty bed that carbon needs for its work.
        optional contact_time: Duration = "45 s", "30 s";
        /// Dose at the rated flow, in water of `rated_transmittance`, with a lamp at the end of its life.
        optional rated_dose: Dose = "40 mJ/cm2", "needed for `ultraviolet`";
        /// Transmittance of a centimetre of water at which that holds.
        optional rated_transmittance: Share = "85 %", "75 %";
        /// Depth of water that the light passes: in the usual chamber, a tube with the lamp's sleeve along its middle, half of
        /// the tube's inside diameter less the sleeve's. It counts only where the water is darker or clearer than the rated:
        /// if it is 3 cm in place of 2 cm, water of 65 % gets 5 % less dose than computed from a rating at 75 %, and water of
        /// 85 % gets 5 % more.
        optional path: Length = "3 cm", "2 cm";
        /// Dose under which water counts as not disinfected.
        optional least_dose: Dose = "30 mJ/cm2", "40 mJ/cm2";
        /// How long the lamp has burned when the run starts.
        optional lamp_hours: Duration = "2000 h", "0 h: a new lamp";
        /// How long it may burn until it is changed.
        optional lamp_life: Duration = "8000 h", "9000 h";
        /// Light of a lamp at the end of its life, as a share of that of a new one.
        optional lamp_end_output: Share = "80 %", "70 %";
        /// Electric power of the lamp.
        optional power: Power = "40 W", "needed for `ultraviolet`";
        /// How it is washed.
        optional backwash: Backwash = "", "changed by hand";
    }
}

section! {
    /// Washing or regeneration by the clock, with raw water. Water passes the stage by untreated meanwhile. It comes in a power
    /// cut, too: from what is left in the pressure tank.
    Backwash {
        /// Flow it wants.
        required flow: Flow = "5 gpm";
        /// How long it lasts.
        required length: Duration = "12 min";
        /// Time of day at which it starts.
        default start: TimeOfDay = "02:00";
        /// Every how many days it comes.
        default every: Whole<1, 3660> = "3";
        /// On which day of the run it comes first: 0 is the first day.
        default first: Whole<0, 3660> = "0";
    }
}
