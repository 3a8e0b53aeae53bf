//! What is out of order at an instant, from the incidents.

use serde::{Deserialize, Serialize};

use super::Core;
use crate::incident::{Incident, IncidentKind};
use crate::observe::{Part, Trouble};
use crate::supply::MOST_SUPPLIES;
use crate::time::Time;
use crate::treatment::MOST_STAGES;

/// What is out of order.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[expect(clippy::struct_excessive_bools, reason = "each is of another part, free of the others")]
pub(super) struct Faults {
    pub power_out: bool,
    pub delivery_out: bool,
    pub membrane_out: bool,
    /// The membrane is being cleaned; the unit is out meanwhile.
    pub cleaning: bool,
    /// By supply: gives nothing.
    pub out: [bool; MOST_SUPPLIES],
    /// By supply: the speed that a worn pump works at, 1 for a sound one.
    pub speed: [f64; MOST_SUPPLIES],
    /// By supply: flow back through the check valve at the pressure that stops the pump.
    pub leak_lps: [f64; MOST_SUPPLIES],
    /// Gas left in the pressure tank.
    pub air_share: f64,
    /// The fill's float is stuck: open or shut.
    pub stuck: Option<bool>,
    /// By stage.
    pub bypassed: [bool; MOST_STAGES],
    pub shut: [bool; MOST_STAGES],
    /// By stage: what it holds is being changed; it is shut meanwhile.
    pub changing: [bool; MOST_STAGES],
    /// The standby is in by hand.
    pub by_hand: bool,
}

impl Faults {
    pub(super) const fn none() -> Self {
        Self {
            power_out: false,
            delivery_out: false,
            membrane_out: false,
            cleaning: false,
            out: [false; MOST_SUPPLIES],
            speed: [1.0; MOST_SUPPLIES],
            leak_lps: [0.0; MOST_SUPPLIES],
            air_share: 1.0,
            stuck: None,
            bypassed: [false; MOST_STAGES],
            shut: [false; MOST_STAGES],
            changing: [false; MOST_STAGES],
            by_hand: false,
        }
    }

    /// What is out of order at an instant; of two incidents of one kind the worse counts, of two floats the later listed.
    pub(super) fn at(incidents: &[Incident], now: Time) -> Self {
        let mut faults = Self::none();
        for incident in incidents.iter().filter(|incident| under_way(incident, now)) {
            match incident.kind {
                IncidentKind::PowerOut => faults.power_out = true,
                IncidentKind::DeliveryPumpOut => faults.delivery_out = true,
                IncidentKind::MembraneOut => faults.membrane_out = true,
                IncidentKind::MembraneCleaned => (faults.membrane_out, faults.cleaning) = (true, true),
                IncidentKind::SupplyOut { supply } => faults.out[supply] = true,
                IncidentKind::PumpWorn { supply, speed } => {
                    faults.speed[supply] = faults.speed[supply].min(speed);
                }
                IncidentKind::LeakBack { supply, flow_lps } => {
                    faults.leak_lps[supply] = faults.leak_lps[supply].max(flow_lps);
                }
                IncidentKind::AirLost { share } => faults.air_share = faults.air_share.min(share),
                IncidentKind::FloatStuck { open } => faults.stuck = Some(open),
                IncidentKind::StageBypassed { stage } => faults.bypassed[stage] = true,
                IncidentKind::StageShut { stage } => faults.shut[stage] = true,
                IncidentKind::StageChanged { stage } => {
                    (faults.shut[stage], faults.changing[stage]) = (true, true);
                }
                IncidentKind::StandbyByHand => faults.by_hand = true,
            }
        }
        faults
    }
}

/// Whether an incident is under way at an instant.
pub(super) fn under_way(incident: &Incident, now: Time) -> bool {
    incident.start <= now && now < incident.end
}

/// Where an incident is, what it is, and its figure.
pub(super) fn told(kind: IncidentKind) -> (Part, Trouble, f64) {
    match kind {
        IncidentKind::PowerOut => (Part::Site, Trouble::PowerOut, 0.0),
        IncidentKind::SupplyOut { supply } => (Part::Pump(supply), Trouble::Out, 0.0),
        IncidentKind::DeliveryPumpOut => (Part::Delivery, Trouble::Out, 0.0),
        IncidentKind::MembraneOut => (Part::Membrane, Trouble::Out, 0.0),
        IncidentKind::MembraneCleaned => (Part::Membrane, Trouble::Cleaning, 0.0),
        IncidentKind::PumpWorn { supply, speed } => (Part::Pump(supply), Trouble::Worn, speed),
        IncidentKind::LeakBack { supply, flow_lps } => (Part::Pump(supply), Trouble::LeakBack, flow_lps),
        IncidentKind::AirLost { share } => (Part::PressureTank, Trouble::AirLost, share),
        IncidentKind::FloatStuck { open: true } => (Part::Storage, Trouble::StuckOpen, 0.0),
        IncidentKind::FloatStuck { open: false } => (Part::Storage, Trouble::StuckShut, 0.0),
        IncidentKind::StageBypassed { stage } => (Part::Stage(stage), Trouble::Bypassed, 0.0),
        IncidentKind::StageShut { stage } => (Part::Stage(stage), Trouble::ValvedOff, 0.0),
        IncidentKind::StageChanged { stage } => (Part::Stage(stage), Trouble::Changing, 0.0),
        IncidentKind::StandbyByHand => (Part::Site, Trouble::StandbyByHand, 0.0),
    }
}

impl Core<'_> {
    /// Puts back what a cleaning brings back, as it ends. Cleanings that overlap or follow at once are one.
    pub(super) fn end_cleaning(&mut self, was_cleaning: bool) {
        let Some(membrane) = &self.hydraulics.plant.membrane else { return };
        if !was_cleaning || self.state.mode.faults.cleaning {
            return;
        }
        let (now, fouled) = (self.state.time, self.state.fouling);
        self.state.fouling = membrane.fouling.cleaned(fouled);
        self.state.tally.membrane.clean(now, fouled.share_of_interval());
        self.refresh_membrane();
    }
}

impl Core<'_> {
    /// Has stages hold nothing once what they held has been changed.
    pub(super) fn end_changes(&mut self, were_changing: [bool; MOST_STAGES]) {
        for (i, was_changing) in were_changing.into_iter().enumerate() {
            if was_changing && !self.state.mode.faults.changing[i] {
                let totals = &mut self.state.waters.stages[i];
                (totals.caught_g, totals.lamp_h) = (0.0, 0.0);
                self.state.tally.service_due[i] = None;
            }
        }
    }
}

/// One end of an incident.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub time: Time,
    /// Index of the incident.
    pub incident: usize,
}

/// The ends of all incidents, in order of time.
pub(super) fn edges(incidents: &[Incident]) -> Vec<Edge> {
    let sound = incidents.iter().enumerate().filter(|(_, incident)| incident.end > incident.start);
    let mut edges: Vec<Edge> =
        sound.flat_map(|(i, it)| [it.start, it.end].map(|time| Edge { time, incident: i })).collect();
    edges.sort_by_key(|edge| (edge.time, edge.incident));
    edges
}
