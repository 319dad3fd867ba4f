//! A job as the search needs it: parts of welds, rules, moments and tacks.

use super::model::Gauge;
use super::moments::{COMPONENTS, NotFinite, whole_numbers};
use super::options::{Options, USUAL_FLIPS};
use super::order::{self, Effort};
use super::parts::{self, PlannedPart};
use super::search::{Progress, SequenceError, check};
use super::tacking::{self, Tacks};
use super::trade_orders::{self, VIEWS};
use super::{PlanError, moments};
use crate::job::model::{Job, Point};
use coldsquare_core::sequence::{Item, Step};
use coldsquare_core::units::Celsius;

/// More visits to the faces give no better order to begin a search with.
const MAX_FACE_VISITS: u16 = 4;

/// Most parts on whose being done before it the effect of a part is taken to depend.
const MATES: usize = 5;

/// A job made ready for the search.
#[derive(Clone, Debug)]
pub struct PlanningProblem<'a> {
    pub(super) job: &'a Job,
    /// Welds, long ones in parts; items have the same indices.
    pub parts: Vec<PlannedPart>,
    /// Rules and places of the parts, sides as seen from the face that is up when welding begins.
    pub items: Vec<Item>,
    /// Moments of the parts about the frame's middle planes, J.
    pub moments: Vec<[f64; COMPONENTS]>,
    /// The same in counts, for the search.
    pub(super) whole: Vec<[i32; COMPONENTS]>,
    pub(super) centre: Point,
    pub(super) tacks: [Vec<Tacks>; 2],
    pub(super) max_flips: u16,
    pub(super) flip_worth: f64,
    pub(super) effort: Effort,
    pub(super) start: Celsius,
}

impl<'a> PlanningProblem<'a> {
    /// Cuts long welds, works out moments, puts the tacks in order and checks the rules.
    ///
    /// # Errors
    /// [`PlanError`] when the rules allow no order, or a heat is not a number.
    pub fn new(
        job: &'a Job,
        net_heat_j_per_mm: &[f64],
        options: &Options,
    ) -> Result<Self, PlanError> {
        Self::with_cancel(job, net_heat_j_per_mm, options, &mut |_| true)
    }

    /// As [`PlanningProblem::new`]; when `on_progress` returns false the tacks keep the best order found so far.
    ///
    /// # Errors
    /// As [`PlanningProblem::new`].
    pub fn with_cancel(
        job: &'a Job,
        net_heat_j_per_mm: &[f64],
        options: &Options,
        on_progress: &mut dyn FnMut(&Progress) -> bool,
    ) -> Result<Self, PlanError> {
        let parts = parts::planned_parts(job);
        let centre = moments::neutral_point(job);
        let plain = |cause| PlanError::Sequence { cause, weld: None };
        let tack_effort = Effort {
            trials: options.effort.trials.min(50_000),
            ..options.effort
        };
        let tacks = tacking::tacking(job, centre, tack_effort, on_progress).map_err(plain)?;
        let moments = moments::moments(job, &parts, net_heat_j_per_mm);
        let number = |part: usize| job.welds[parts[part].weld].number;
        let whole = whole_numbers(&moments)
            .map_err(|NotFinite { weld, .. }| PlanError::Heat { weld: number(weld) })?;
        // After the tacks of the back the back is up, and welding begins there.
        let items = parts::items(job, &parts, !tacks[1].is_empty());
        let mut this = Self {
            job,
            parts,
            items,
            moments,
            whole,
            centre,
            tacks,
            max_flips: 0,
            flip_worth: options.flip_worth,
            effort: options.effort,
            start: options.start,
        };
        let needed = check(&this.items).map_err(|cause| this.refused(cause))?;
        this.max_flips = options.max_flips.unwrap_or(USUAL_FLIPS.max(needed));
        if this.max_flips < needed {
            return Err(plain(SequenceError::TooFewFlips { needed }));
        }
        Ok(this)
    }

    /// Flips allowed while welding.
    #[must_use]
    pub fn max_flips(&self) -> u16 {
        self.max_flips
    }

    pub(super) fn refused(&self, cause: SequenceError) -> PlanError {
        let weld = match cause {
            SequenceError::Contradiction { weld } => {
                let part = self.parts.get(usize::from(weld));
                part.map(|part| self.job.welds[part.weld].number)
            }
            _ => None,
        };
        PlanError::Sequence { cause, weld }
    }

    /// The gauge of the shrinkage balance: 100 % when every weld pulls the same way with its whole moment.
    #[must_use]
    pub fn gauge(&self) -> Gauge {
        let length = |m: &[i32; COMPONENTS]| {
            let squares = m.iter().map(|part| f64::from(*part) * f64::from(*part));
            squares.sum::<f64>().sqrt()
        };
        let all: f64 = self.whole.iter().map(length).sum();
        Gauge {
            name: "shrinkage imbalance",
            unit: "% of all heat",
            per_root: if all > 0.0 { 100.0 / all } else { 0.0 },
        }
    }

    /// The trade orders by name, as far as the rules allow them, each part in its usual direction.
    ///
    /// # Errors
    /// [`SequenceError`] when the rules allow no order.
    pub fn trade_orders(&self) -> Result<Vec<(&'static str, Vec<Step>)>, SequenceError> {
        let orders = trade_orders::ranked(self.job, &self.parts, self.centre, VIEWS[0]);
        let orders = orders.into_iter();
        orders
            .map(|(name, _, ranked)| Ok((name, self.order_by_rank(&ranked)?)))
            .collect()
    }

    /// The parts by rank as far as the rules allow it, each in its usual direction.
    pub(super) fn order_by_rank(&self, ranked: &[u16]) -> Result<Vec<Step>, SequenceError> {
        let mut order = order::by_rules(&self.items, ranked)?;
        self.usual_directions(&mut order);
        Ok(order)
    }

    /// The trade orders begun from every side of the frame, each as it is and spread over several visits to the faces,
    /// in an order that does not depend on which side is which.
    pub(super) fn orders_to_begin_with(&self) -> Result<Vec<Vec<Step>>, SequenceError> {
        let mut orders = Vec::new();
        let side = |part: u16| self.items[usize::from(part)].side;
        let most_visits = MAX_FACE_VISITS.min(self.max_flips.saturating_add(1));
        for view in VIEWS {
            for (_, _, ranked) in trade_orders::ranked(self.job, &self.parts, self.centre, view) {
                let in_visits =
                    (3..=most_visits).map(|visits| trade_orders::in_visits(&ranked, side, visits));
                for ranked in in_visits.chain([ranked.clone()]) {
                    orders.push(self.order_by_rank(&ranked)?);
                }
            }
        }
        orders.sort_by_key(|order| {
            let number = |step: &Step| (step.weld, step.reversed);
            order.iter().map(number).collect::<Vec<_>>()
        });
        orders.dedup();
        Ok(orders)
    }

    /// For each part the nearest others at its joint, those between the same members first.
    pub(super) fn mates(&self) -> Vec<Vec<u16>> {
        let weld = |part: usize| &self.job.welds[self.parts[part].weld];
        let mates = |part: usize| {
            let middle = self.parts[part].middle();
            let unlike = |&other: &u16| {
                let other = usize::from(other);
                let members = weld(other).members;
                let same = members
                    .iter()
                    .all(|member| weld(part).members.contains(member));
                let away = (self.parts[other].middle() - middle).length();
                (!same, (away * 10.0) as u64)
            };
            let at_joint = |&other: &usize| other != part && weld(other).joint == weld(part).joint;
            let others = (0..self.parts.len()).filter(at_joint);
            let mut mates: Vec<u16> = others.map(|other| other as u16).collect();
            mates.sort_by_key(unlike);
            mates.truncate(MATES);
            mates
        };
        (0..self.parts.len()).map(mates).collect()
    }

    /// Gives every part whose direction matters to the frame model its usual one.
    pub fn usual_directions(&self, order: &mut [Step]) {
        for step in order {
            let part = usize::from(step.weld);
            step.reversed = self.parts[part].has_direction() && self.is_better_reversed(part);
        }
    }

    /// Whether a part is better welded from its end to its start. A weld runs away from the middle of the frame, so
    /// that what shrinks is free to move; the parts of a long weld run towards it (back-step), so that each runs
    /// towards metal that is still cold.
    pub(super) fn is_better_reversed(&self, index: usize) -> bool {
        let part = &self.parts[index];
        let from_nearer = (part.from - self.centre).length() - (part.to - self.centre).length();
        let runs_inwards = from_nearer > 1.0;
        let has_direction = from_nearer.abs() > 1.0;
        if part.number.1 > 1 {
            has_direction && !runs_inwards
        } else {
            runs_inwards
        }
    }
}
