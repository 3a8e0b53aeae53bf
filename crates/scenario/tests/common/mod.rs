//! The starter with more parts.

use springhouse_scenario::starter;

/// The starter with more sections ahead of its buildings.
pub(crate) fn with(sections: &str) -> String {
    let (before, after) = starter().split_once("[[building]]").unwrap_or_default();
    format!("{before}{sections}\n[[building]]{after}")
}

pub(crate) const CISTERN: &str = "
[cistern]
volume = \"5000 gal\"
depth = \"8 ft\"
cutoff = { stop = \"8 %\", restart = \"20 %\" }

[cistern.pump]
curve = [{ flow = \"0 gpm\", head = \"190 ft\" }, { flow = \"12 gpm\", head = \"120 ft\" }]
cut_in = \"40 psi\"
cut_out = \"60 psi\"
";

pub(crate) const POND: &str = "
[pond]
volume = \"200000 gal\"
depth = \"10 ft\"
shape = 2.5
cutoff = { stop = \"8 %\", restart = \"20 %\" }

[pond.pump]
curve = [{ flow = \"0 gpm\", head = \"190 ft\" }, { flow = \"12 gpm\", head = \"120 ft\" }]
cut_in = \"40 psi\"
cut_out = \"60 psi\"
";

pub(crate) const TOWN_LINE: &str = "
[town_line]
static_pressure = \"65 psi\"
flow = \"12 gpm\"
residual_pressure = \"45 psi\"
standby = true
";

pub(crate) const DELIVERY: &str = "
[storage]
volume = \"1500 gal\"
fill_flow = \"4 gpm\"

[storage.float_switch]
start = \"80 %\"
stop = \"95 %\"

[delivery]
curve = [{ flow = \"0 gpm\", head = \"190 ft\" }, { flow = \"12 gpm\", head = \"130 ft\" }]
set_pressure = \"50 psi\"
";

/// Five stages, one of each kind; they need storage and a delivery pump.
pub(crate) const STAGES: &str = "
[[stage]]
name = \"screen\"
kind = \"sediment\"
rated_flow = \"10 gpm\"
capacity = \"2 lb\"

[[stage]]
name = \"lamp\"
kind = \"ultraviolet\"
rated_flow = \"15 gpm\"
rated_dose = \"40 mJ/cm2\"
path = \"3 cm\"
lamp_hours = \"2000 h\"
power = \"40 W\"

[[stage]]
name = \"iron filter\"
kind = \"iron filter\"
rated_flow = \"8 gpm\"
catches = \"80 %\"
capacity = \"500 g\"

[stage.backwash]
flow = \"5 gpm\"
length = \"10 min\"
first = 1

[[stage]]
name = \"carbon\"
kind = \"carbon\"
behind = \"delivery\"
rated_flow = \"10 gpm\"
bed_volume = \"2 ft3\"
capacity = \"1 kg\"

[[stage]]
name = \"soft\"
kind = \"softener\"
rated_flow = \"8 gpm\"
capacity = \"32 kgr\"
used = \"25 %\"
";
