//! What a setting does, and how far it is from each limit.

use springhouse_core::membrane::fouling::{Conditions, FoulingLaw, FoulingState};
use springhouse_core::membrane::limits;
use springhouse_core::membrane::unit::{Operation, UnitAt};
use springhouse_core::membrane::valve::Valves;
use springhouse_core::pump::PumpPower;
use springhouse_core::scaling::{self, Analysis, MOST_VOLUME_FACTOR};
use springhouse_core::water::Water;

use super::advise::Aim;
use super::limit::{Limit, Limits, MOST_OVER};
use super::point::{Point, Work};
use super::question::{Question, Want};
use super::season::{Season, Seasons};
use super::suction::Suction;

/// Seconds of a day and of an hour.
const DAY_S: f64 = 86_400.0;
const HOUR_S: f64 = 3_600.0;

/// The pump's most flow, as a share of the best: beyond, its efficiency is unknown and its power only held.
const MOST_OF_BEST: f64 = 1.5;

/// Kept from what would harm the membrane, in powers of ten: 2 % of a flow, what gauges show no closer. Our own choice.
const MARGIN: f64 = 0.01;

/// The same as a share of the flow at which all its head is gone: near that a recycle valve could open without end.
const MOST_OF_HEADLESS: f64 = 0.9;

/// Judges settings of the unit in a question.
pub(super) struct Judge<'q> {
    pub(super) question: &'q Question,
    design: limits::Limits,
    scaling: scaling::Limits,
    fouling: FoulingLaw,
    most_pump_lps: Option<f64>,
    seasons: Seasons<AtTemp<'q>>,
}

/// The unit and its water at one temperature.
pub(super) struct AtTemp<'q> {
    temp_c: f64,
    unit: UnitAt<'q>,
    /// With its membranes at their cleanest, where they are not so.
    clean: Option<UnitAt<'q>>,
    analysis: Option<Analysis>,
}

/// How a limit is strained.
#[derive(Clone, Copy)]
pub(super) struct Strain {
    /// What there is,
    pub(super) found: f64,
    /// what is allowed,
    pub(super) allowed: f64,
    /// and how far it is beyond, in powers of ten.
    pub(super) over: f64,
    /// Whether it is so with the membranes at their cleanest, and not as they are.
    pub(super) clean: bool,
}

/// A setting weighed for an aim over all seasons.
#[derive(Clone, Copy)]
pub(super) struct Weighed {
    /// Sum of what required limits are exceeded by, each in its worst season and with its weight, in powers of ten.
    pub(super) excess: f64,
    /// How far beyond the limit that is exceeded most, or that comes closest: up to zero all are kept.
    pub(super) tightest: f64,
    /// What the aim has least of.
    pub(super) score: f64,
    /// Limits exceeded in any season, required or not.
    pub(super) breaks: Limits,
}

impl<'q> Judge<'q> {
    pub(super) fn of(question: &'q Question) -> Self {
        let most_pump_lps = question.unit.pump.as_ref().map(|pump| {
            let headless_lps = MOST_OF_HEADLESS * pump.curve.flow_lps(0.0);
            match pump.power {
                PumpPower::Constant { .. } => headless_lps,
                PumpPower::Efficiency { best_flow_lps, .. } => headless_lps.min(MOST_OF_BEST * best_flow_lps),
            }
            .min(question.pump_end_lps.unwrap_or(f64::INFINITY))
        });
        Self {
            question,
            design: limits::Limits::of(question.feed, question.diameter_in),
            scaling: if question.antiscalant { scaling::Limits::ANTISCALANT } else { scaling::Limits::UNTREATED },
            fouling: FoulingLaw::of(question.feed),
            most_pump_lps,
            seasons: Seasons::of(|season| AtTemp::of(question, *question.temp_c.get(season))),
        }
    }

    /// The most that its pump passes; `None` without one.
    pub(super) fn most_pump_lps(&self) -> Option<f64> {
        self.most_pump_lps
    }

    /// Limits of the design.
    pub(super) fn design(&self) -> &limits::Limits {
        &self.design
    }

    /// A setting in a season at the typical inlet pressure.
    pub(super) fn point(&self, valves: Valves, season: Season) -> Point {
        self.point_at(valves, self.seasons.get(season), &self.question.suction.typical)
    }

    /// A setting in each season.
    pub(super) fn points(&self, valves: Valves) -> Seasons<Point> {
        Seasons::of(|season| self.point(valves, season))
    }

    /// A setting in typical water at another inlet pressure.
    pub(super) fn typical_at(&self, valves: Valves, suction: &Suction) -> Point {
        self.point_at(valves, &self.seasons.typical, suction)
    }

    pub(super) fn point_at(&self, valves: Valves, at: &AtTemp<'_>, suction: &Suction) -> Point {
        let settled = |unit: &UnitAt<'_>| {
            let mut unit = *unit;
            unit.valves = valves;
            // What is blended in comes through the same line.
            let (inlet_kpa, (found, blended_lps)) = suction.settled(|inlet_kpa| {
                let found = unit.steady(inlet_kpa, self.question.feed_salt_mg_l).ok();
                let blended_lps = found.map_or(0.0, |_| self.question.blended_lps(inlet_kpa));
                ((found, blended_lps), found.map_or(0.0, |found| found.flows.feed_lps()) + blended_lps)
            });
            let found = found.filter(|found| found.flows.product_lps > 0.0);
            (inlet_kpa, found.map(|found| self.work(&found, blended_lps, at)))
        };
        let (inlet_kpa, work) = settled(&at.unit);
        let clean = at.clean.as_ref().and_then(|clean| settled(clean).1);
        let mut point = Point { valves, temp_c: at.temp_c, inlet_kpa, work, clean, breaks: Limits::NONE };
        point.breaks = Limit::ALL.into_iter().filter(|limit| self.over(&point, *limit) > 0.0).collect();
        point
    }

    fn work(&self, found: &Operation, blended_lps: f64, at: &AtTemp<'_>) -> Work {
        let unit = &self.question.unit;
        let flows = &found.flows;
        let elements = found.elements.iter().take(unit.elements_in_series);
        let most = |of: fn(&springhouse_core::membrane::element::Passage) -> f64| {
            elements.clone().fold(0.0_f64, |most, element| most.max(of(element)))
        };
        let element_recovery = most(|element| element.recovery);
        let behind = elements.clone().map(|element| element.concentrate.pressure_kpa);
        let before = core::iter::once(found.vessel_kpa).chain(behind.clone());
        let element_loss_kpa = before.zip(behind).fold(0.0_f64, |most, (before, behind)| most.max(before - behind));
        let polarisation = libm::exp(unit.element.polarisation * element_recovery);
        let mean_flux_l_m2_h = HOUR_S * flows.product_lps / unit.area_m2();
        // What leaves scale is kept back all but wholly, whatever the salt at large does.
        let factor = (flows.feed_lps() / flows.reject_lps).min(FURTHEST * MOST_VOLUME_FACTOR);
        let saturation = at.analysis.as_ref().map(|feed| feed.concentrated(factor, 1.0).saturation());
        let conditions = Conditions {
            flux_lmh: mean_flux_l_m2_h,
            wall_factor: polarisation,
            // The limits hold for the reject as a whole: the margin for the wall is inside them.
            scale_excess: saturation.as_ref().map_or(0.0, |saturation| self.scaling.excess(saturation)),
        };
        Work {
            product_l_day: DAY_S * flows.product_lps,
            product_lps: flows.product_lps,
            feed_lps: flows.feed_lps(),
            blended_lps,
            reject_lps: flows.reject_lps,
            recycle_lps: flows.recycle_lps,
            vessel_feed_lps: flows.vessel_feed_lps(),
            recovery: flows.recovery(),
            vessel_recovery: flows.vessel_recovery(),
            waste_l_per_l: self.question.cycle.as_ref().map_or(flows.reject_lps / flows.product_lps, |cycle| {
                cycle.waste_l_per_l(flows.product_lps, flows.reject_lps, blended_lps)
            }),
            mean_flux_l_m2_h,
            highest_flux_l_m2_h: HOUR_S * most(|element| element.product_lps) / unit.element.area_m2,
            vessel_concentrate_lps: flows.concentrate_lps() / f64::from(unit.vessels.max(1)),
            element_loss_kpa,
            element_recovery,
            polarisation,
            product_salt_mg_l: flows.product_salt_mg_l(),
            reject_salt_mg_l: found.loop_salt_mg_l,
            saturation,
            pump_w: flows.power_w,
            kwh_per_m3: flows.power_w / (HOUR_S * flows.product_lps),
            hours_between_cleanings: self.fouling.hours_to_cleaning(&FoulingState::NEW, &conditions),
            vessel_kpa: found.vessel_kpa,
            concentrate_kpa: found.concentrate_kpa,
        }
    }

    /// What a point has of what a limit limits, with the membranes that strain it most; `None` where the limit is not set or
    /// nothing works.
    pub(super) fn strain(&self, point: &Point, limit: Limit) -> Option<Strain> {
        let margin = if limit.harms() { MARGIN } else { 0.0 };
        let of = |work: &Work, clean: bool| {
            let (found, allowed) = self.figures(work, limit)?;
            Some(Strain { found, allowed, over: limit.over(found, allowed) + margin, clean })
        };
        let now = of(point.work.as_ref()?, false)?;
        let clean = point.clean.as_ref().filter(|_| limit.harms()).and_then(|work| of(work, true));
        Some(clean.filter(|clean| clean.over > now.over).unwrap_or(now))
    }

    fn figures(&self, work: &Work, limit: Limit) -> Option<(f64, f64)> {
        Some(match limit {
            Limit::Flux => (work.mean_flux_l_m2_h, self.design.most_flux_l_m2_h),
            Limit::ElementRecovery => (work.element_recovery, self.design.most_recovery),
            Limit::Concentrate => (work.vessel_concentrate_lps, self.design.least_concentrate_lps),
            Limit::Polarisation => (work.polarisation, self.design.most_polarisation),
            Limit::Feed => {
                (work.vessel_feed_lps / f64::from(self.question.unit.vessels.max(1)), self.design.most_feed_lps)
            }
            Limit::ElementLoss => (work.element_loss_kpa, self.design.most_element_loss_kpa),
            Limit::VesselLoss => (work.vessel_kpa - work.concentrate_kpa, self.design.most_vessel_loss_kpa),
            // More feed at the highest inlet pressure leaves the pump less head, so this is a little more than there will be.
            Limit::Pressure => (work.vessel_kpa + self.question.swing_kpa(), self.question.rated_kpa),
            Limit::Recovery => (work.recovery, self.question.most_recovery()),
            Limit::Calcite => (work.saturation?.lsi, self.scaling.lsi),
            Limit::Gypsum => (work.saturation?.gypsum, self.scaling.gypsum),
            Limit::Silica => (work.saturation?.silica, self.scaling.silica),
            Limit::ProductSalt => (work.product_salt_mg_l, self.question.most_product_salt_mg_l()),
            Limit::Product => (work.product_l_day, self.question.want.as_ref().map(Want::all_day_l_day)?),
            Limit::Pump => (work.vessel_feed_lps, self.most_pump_lps?),
            Limit::Works => return None,
        })
    }

    /// How far a point is beyond a limit, in powers of ten; up to zero it is within.
    pub(super) fn over(&self, point: &Point, limit: Limit) -> f64 {
        if limit == Limit::Works && point.work.is_none() {
            return MOST_OVER;
        }
        self.strain(point, limit).map_or(-MOST_OVER, |strain| strain.over)
    }

    /// How far points are beyond a limit in the worst season, and which that is.
    pub(super) fn worst(&self, points: &Seasons<Point>, limit: Limit) -> (f64, Season) {
        let mut worst = (f64::NEG_INFINITY, Season::Typical);
        for season in Season::ALL {
            let over = self.over(points.get(season), limit);
            if over > worst.0 {
                worst = (over, season);
            }
        }
        worst
    }

    /// Points weighed for an aim.
    pub(super) fn weigh(&self, points: &Seasons<Point>, aim: Aim) -> Weighed {
        self.weigh_by(points, aim.requires(), aim.score(&points.typical))
    }

    /// Points weighed by a set of limits.
    pub(super) fn weigh_by(&self, points: &Seasons<Point>, required: Limits, score: f64) -> Weighed {
        let mut weighed = Weighed {
            excess: 0.0,
            tightest: f64::NEG_INFINITY,
            score,
            breaks: points.coldest.breaks.or(points.typical.breaks).or(points.warmest.breaks),
        };
        for limit in required.iter() {
            let (over, _) = self.worst(points, limit);
            weighed.excess += limit.weight() * over.max(0.0);
            weighed.tightest = weighed.tightest.max(over);
        }
        weighed
    }

    /// Whether a setting keeps limits in every season.
    pub(super) fn keeps(&self, valves: Valves, required: Limits) -> bool {
        // Warmest and coldest break most limits; the first that is broken is enough.
        [Season::Warmest, Season::Coldest, Season::Typical]
            .into_iter()
            .all(|season| self.point(valves, season).breaks.and(required).is_empty())
    }
}

/// How much further than [`MOST_VOLUME_FACTOR`] a reject is worked out, so that settings beyond it can be told apart.
const FURTHEST: f64 = 5.0;

impl<'q> AtTemp<'q> {
    pub(super) fn of(question: &'q Question, temp_c: f64) -> Self {
        let water = Water::at(temp_c);
        let cleanest = question.cleanest();
        Self {
            temp_c,
            unit: question.unit.at(temp_c, question.fouling, &water),
            clean: (cleanest != question.fouling).then(|| question.unit.at(temp_c, cleanest, &water)),
            analysis: question.analysis.map(|analysis| Analysis { temp_c, ..analysis }),
        }
    }
}
