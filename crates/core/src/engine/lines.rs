//! From a header to what hangs on it: side taps ahead of the treatment, the treatment, and what is behind.
//!
//! The pressure at the head of a line follows from that at its end without solving; the other way round is solved for only
//! where something on the line has less than its full flow.

use super::faults::Faults;
use super::flows::{Flows, Hydraulics};
use super::membrane::Running;
use super::mode::Mode;
use super::state::{Levels, SERVED, TAKEN, Wanted};
use crate::outlet::{Header, Outlet, open_share, open_share_and_slope};
use crate::plant::MOST_OUTLETS;
use crate::root::{falling_root, root};
use crate::treatment::{MOST_STAGES, Stage};

/// What the treatment on a line costs: `square Q^2 + cake Q`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Resistance {
    square_kpa: f64,
    cake_kpa: f64,
    /// Valved off: nothing passes.
    pub shut: bool,
}

impl Resistance {
    pub(super) fn loss_kpa(&self, flow_lps: f64) -> f64 {
        flow_lps * (self.square_kpa * flow_lps + self.cake_kpa)
    }

    /// How the loss rises with the flow.
    fn slope_kpa(&self, flow_lps: f64) -> f64 {
        2.0 * self.square_kpa * flow_lps + self.cake_kpa
    }

    fn add(&mut self, stage: &Stage, caught_g: f64) {
        self.square_kpa += stage.clean_kpa / (stage.rated_lps * stage.rated_lps);
        self.cake_kpa += stage.cake_kpa(caught_g) / stage.rated_lps;
    }

    fn is_free(&self) -> bool {
        self.square_kpa == 0.0 && self.cake_kpa == 0.0
    }
}

/// Over this much pressure flow to low-lying fixtures fades as their line loses its own. Common practice, no source: it only
/// keeps the siphon of an idealised pipe from emptying tanks below the pressure of the air.
pub(super) const AIR_KPA: f64 = 5.0;

/// The wanted flows, and what follows from them, from what is out of order and from what treatment has caught.
#[derive(Clone, Debug)]
pub(super) struct Demand {
    /// By outlet.
    pub lps: [f64; MOST_OUTLETS],
    /// By outlet: pressure at the line, above what stands against the flow, from which the fixtures pass all that is wanted.
    pub full_kpa: [f64; MOST_OUTLETS],
    lines: [Resistance; 2],
    /// By header: all that the outlets behind its line pass with all the pressure there can be.
    full_lps: [f64; 2],
    /// Stages whose backwash draws: water passes them by.
    pub washing: [bool; MOST_STAGES],
    /// What the house takes at the set pressure of the delivery pump, and the power it takes to hold it there.
    pub hold_lps: f64,
    pub hold_power_w: f64,
    /// Supply at the set pressure less demand there: negative when the delivery pump cannot hold it.
    pub hold_spare_lps: f64,
}

impl Demand {
    pub(super) fn line(&self, header: Header) -> &Resistance {
        &self.lines[header as usize]
    }
}

/// Whether water goes through a stage, and not past it.
pub(super) fn in_line(stage: usize, faults: &Faults, washing: bool) -> bool {
    !faults.bypassed[stage] && !washing
}

impl Hydraulics<'_> {
    /// What follows from the wanted flows.
    pub(super) fn demand(
        &self,
        wanted: &[Wanted; MOST_OUTLETS],
        mode: &Mode,
        levels: &Levels,
        caught_g: &[f64; MOST_STAGES],
    ) -> Demand {
        let mut demand = Demand {
            lps: wanted.map(|w| w.total().lps()),
            full_kpa: [0.0; _],
            lines: [Resistance::default(); 2],
            full_lps: [0.0; 2],
            washing: [false; _],
            hold_lps: 0.0,
            hold_power_w: 0.0,
            hold_spare_lps: 0.0,
        };
        for (i, outlet) in self.plant.outlets.iter().enumerate() {
            // The pipe's loss, which goes nearly with the square of the flow, is taken to do so below full flow: pipe and
            // fixtures are then one orifice.
            demand.full_kpa[i] = outlet.full_flow_kpa + outlet.service_loss_kpa(demand.lps[i], &self.plant.water);
        }
        for header in [Header::Raw, Header::Delivery] {
            demand.full_lps[header as usize] = self.outlets_lps(header, true, &demand, f64::MAX);
        }
        self.refresh_lines(&mut demand, mode, levels, caught_g);
        demand
    }

    /// The same where nothing but what treatment has caught is new.
    pub(super) fn refresh_lines(
        &self,
        demand: &mut Demand,
        mode: &Mode,
        levels: &Levels,
        caught_g: &[f64; MOST_STAGES],
    ) {
        demand.lines = [Resistance::default(); 2];
        for (i, stage) in self.plant.stages.iter().enumerate() {
            demand.washing[i] = stage.backwash.is_some_and(|wash| demand.lps[wash.outlet] > 0.0);
            let line = &mut demand.lines[stage.header as usize];
            line.shut |= mode.faults.shut[i];
            if in_line(i, &mode.faults, demand.washing[i]) {
                line.add(stage, caught_g[i]);
            }
        }
        if let Some(delivery) = self.delivery() {
            let (water, set_kpa) = (&self.plant.water, delivery.drive.set_kpa);
            demand.hold_lps = self.delivery_out_lps(mode, demand, levels, set_kpa);
            demand.hold_spare_lps = delivery.full_speed_flow_lps(set_kpa, water) - demand.hold_lps;
            demand.hold_power_w = delivery.hold_power_w(demand.hold_lps, water);
        }
    }

    /// Pressure that an outlet is given by its header's gauge or line.
    pub(super) fn given_kpa(&self, outlet: &Outlet, kpa: f64, end_kpa: f64) -> f64 {
        match (outlet.treated, outlet.header, self.plant.reducer_kpa) {
            (true, Header::Raw, Some(reducer_kpa)) => end_kpa.min(reducer_kpa),
            (true, ..) => end_kpa,
            (false, ..) => kpa,
        }
    }

    /// Share of its wanted flow that an outlet gets.
    pub(super) fn share(&self, i: usize, kpa: f64, end_kpa: f64, demand: &Demand) -> f64 {
        let outlet = &self.plant.outlets[i];
        if outlet.treated && demand.line(outlet.header).shut {
            return 0.0;
        }
        let given_kpa = self.given_kpa(outlet, kpa, end_kpa);
        let share = open_share(given_kpa - self.offset_kpa[i], demand.full_kpa[i]);
        // Fixtures that lie low draw no water from a line without pressure: air comes in.
        if self.offset_kpa[i] < 0.0 { share.min(open_share(given_kpa, AIR_KPA)) } else { share }
    }

    /// The same of an outlet behind the treatment of the raw line, and its slope over the pressure there.
    fn share_and_slope(&self, i: usize, end_kpa: f64, demand: &Demand) -> (f64, f64) {
        let given_kpa = self.given_kpa(&self.plant.outlets[i], end_kpa, end_kpa);
        let (mut share, mut slope) = open_share_and_slope(given_kpa - self.offset_kpa[i], demand.full_kpa[i]);
        if self.offset_kpa[i] < 0.0 {
            let by_air = open_share_and_slope(given_kpa, AIR_KPA);
            if by_air.0 < share {
                (share, slope) = by_air;
            }
        }
        (share, if given_kpa < end_kpa { 0.0 } else { slope })
    }

    /// Pressure at the line from which an outlet passes a share of its wanted flow.
    pub(super) fn share_kpa(&self, i: usize, share: f64, demand: &Demand) -> f64 {
        (self.offset_kpa[i] + share * share * demand.full_kpa[i]).max(share * share * AIR_KPA)
    }

    fn outlets_lps(&self, header: Header, treated: bool, demand: &Demand, kpa: f64) -> f64 {
        let mut sum = 0.0;
        for (i, outlet) in self.plant.outlets.iter().enumerate() {
            if outlet.header == header && outlet.treated == treated && demand.lps[i] > 0.0 {
                sum += demand.lps[i] * self.share(i, kpa, kpa, demand);
            }
        }
        sum
    }

    /// What the outlets ahead of a line take at the header's pressure.
    pub(super) fn taps_lps(&self, header: Header, demand: &Demand, kpa: f64) -> f64 {
        self.outlets_lps(header, false, demand, kpa)
    }

    /// What passes a line with a pressure at its end.
    pub(super) fn line_lps(&self, header: Header, end_kpa: f64, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        if demand.line(header).shut {
            return 0.0;
        }
        let fill_lps = if header == Header::Raw { self.taken_lps(mode, levels, end_kpa) } else { 0.0 };
        // Often all of them are shut.
        let outlets_lps =
            if demand.full_lps[header as usize] > 0.0 { self.outlets_lps(header, true, demand, end_kpa) } else { 0.0 };
        outlets_lps + fill_lps
    }

    /// Pressure at the end of a line with `kpa` at its head; zero where the line is shut.
    pub(super) fn end_kpa(&self, header: Header, kpa: f64, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let line = demand.line(header);
        if line.shut {
            return 0.0;
        }
        if line.is_free() || kpa <= 0.0 {
            return kpa;
        }
        if let (Header::Raw, Some(running), true) = (header, &self.membrane, mode.membrane.phase.makes()) {
            return self.unit_end_kpa(running, kpa, mode, demand);
        }
        let line_lps = |end_kpa| self.line_lps(header, end_kpa, mode, demand, levels);
        let fill_lps = if header == Header::Raw { self.taken_lps(mode, levels, f64::MAX) } else { 0.0 };
        let full_lps = demand.full_lps[header as usize] + fill_lps;
        let end_kpa = kpa - line.loss_kpa(full_lps);
        #[expect(clippy::float_cmp, reason = "the same sum of the same terms where all have their full flow")]
        if end_kpa > 0.0 && line_lps(end_kpa) == full_lps {
            return end_kpa;
        }
        let spare_kpa = |end_kpa: f64| kpa - end_kpa - line.loss_kpa(line_lps(end_kpa));
        if spare_kpa(0.0) <= 0.0 { 0.0 } else { root(spare_kpa, 0.0, kpa) }
    }

    /// Pressure at the end of the raw line with a membrane unit on it that makes water: what that takes follows the pressure
    /// all the way, so there is always something to solve for, and the slopes of its curve lead there.
    fn unit_end_kpa(&self, running: &Running<'_>, kpa: f64, mode: &Mode, demand: &Demand) -> f64 {
        let line = demand.line(Header::Raw);
        let spare_kpa = |end_kpa: f64| {
            let [mut lps, mut slope] = running.taken_and_slope(mode.membrane.phase, end_kpa);
            for (i, outlet) in
                self.plant.outlets.iter().enumerate().filter(|_| demand.full_lps[Header::Raw as usize] > 0.0)
            {
                if outlet.header == Header::Raw && outlet.treated && demand.lps[i] > 0.0 {
                    let (share, share_slope) = self.share_and_slope(i, end_kpa, demand);
                    lps += demand.lps[i] * share;
                    slope += demand.lps[i] * share_slope;
                }
            }
            (kpa - end_kpa - line.loss_kpa(lps), -1.0 - line.slope_kpa(lps) * slope)
        };
        falling_root(spare_kpa, 0.0, kpa, kpa)
    }

    /// Pressure at the head of a line that has `end_kpa` at its end.
    pub(super) fn head_kpa(&self, header: Header, end_kpa: f64, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let line = demand.line(header);
        if line.is_free() || line.shut {
            return end_kpa;
        }
        end_kpa + line.loss_kpa(self.line_lps(header, end_kpa, mode, demand, levels))
    }

    /// What passes a header's line at known rates.
    pub(super) fn passing_lps(&self, header: Header, demand: &Demand, flows: &Flows) -> f64 {
        let outlets = self.plant.outlets.iter().enumerate().filter(|(_, o)| o.header == header && o.treated);
        let fill_lps = if header == Header::Raw { flows.ports[TAKEN] } else { 0.0 };
        outlets.map(|(i, _)| demand.lps[i] * flows.ports[SERVED + i]).sum::<f64>() + fill_lps
    }

    /// All that leaves the delivery header at a pressure.
    pub(super) fn delivery_out_lps(&self, mode: &Mode, demand: &Demand, levels: &Levels, kpa: f64) -> f64 {
        let end_kpa = self.end_kpa(Header::Delivery, kpa, mode, demand, levels);
        self.taps_lps(Header::Delivery, demand, kpa) + self.line_lps(Header::Delivery, end_kpa, mode, demand, levels)
    }

    /// Pressure at an outlet's fixtures.
    pub(super) fn tap_kpa(&self, i: usize, kpa: f64, end_kpa: f64, demand: &Demand) -> f64 {
        let outlet = &self.plant.outlets[i];
        let share = self.share(i, kpa, end_kpa, demand);
        let given_kpa = if outlet.treated && demand.line(outlet.header).shut {
            0.0
        } else {
            self.given_kpa(outlet, kpa, end_kpa) - self.offset_kpa[i]
        };
        // The pipe's part of what is spent on the way through pipe and fixtures.
        let pipe_kpa = demand.full_kpa[i] - outlet.full_flow_kpa;
        (given_kpa - pipe_kpa * share * share).max(0.0)
    }
}
