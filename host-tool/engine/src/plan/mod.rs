//! In which order to weld a job, and why.
//!
//! ```text
//! Job -> pieces (long welds cut, side, what comes before) -> heat moments -> order (exact or searched)
//!                                                                              -> steps with reasons, habits -> Plan
//! ```
//!
//! [`plan`] judges orders by heat moments about the neutral axes, [`structure::plan_on_structure`] by laying each weld
//! on the structure as it then stands. [`Workpiece`] with [`Workpiece::plan`] takes any other [`Assess`] without
//! changing the search, the reasons or the pages.

pub mod beyond_order;
mod clamping;
mod habits;
pub mod joint_heat;
pub mod judge;
mod less_waiting;
pub mod model;
pub mod moments;
pub mod order;
mod pace;
mod patience;
pub mod pieces;
pub mod reasons;
pub mod side_by_side;
pub mod structure;
mod tacking;
pub mod text;
pub mod travel;

pub use text::{NOTHING_BEYOND, saved, text};

use crate::job::model::{Job, Point, Weld};
use coldsquare_core::sequence::balance::{Balance, NotFinite, whole_numbers};
use coldsquare_core::sequence::search::Progress;
use coldsquare_core::sequence::{Assess, Cost, Item, SequenceError, Step, cost, rules};
use coldsquare_core::units::{Celsius, Seconds};
use less_waiting::less_waiting;
use model::{Face, Gauge, Habit, Piece, Plan, Reason, Score, Work};
use moments::COMPONENTS;
use order::{Effort, Found, exactly_or_by_search};
use pace::{Act, Pace};
use patience::Patience;
use pieces::WeldPiece;
use tacking::Tacks;

/// How often the frame may be turned over while welding, unless the user or the rules say otherwise. More turns balance
/// front and back better, but each costs time and a back. Common practice, no source.
pub const USUAL_TURNS: u16 = 3;

/// Habits in more goes than this are no better to begin a search with.
const MOST_GOES: u16 = 3;

/// What a turn of the frame must save of its movement, unless the user says otherwise. Our own judgement, no source: a
/// turn takes two people and two minutes.
pub const USUAL_TURN_WORTH: f64 = 0.05;

/// What the user may choose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Turns allowed while welding; `None` takes [`USUAL_TURNS`], or more if the rules need them.
    pub most_turns: Option<u16>,
    /// How much less the frame must move for each turn of it, as a share; more turns are not advised.
    pub turn_worth: f64,
    /// How hard to try.
    pub effort: Effort,
    /// Temperature of the work before the first weld: what it cools down to.
    pub work: Celsius,
}

/// Temperature of a shop, and of the work before welding, unless the user says otherwise.
pub const USUAL_WORK: Celsius = Celsius(20.0);

impl Default for Options {
    fn default() -> Self {
        Self {
            most_turns: None,
            turn_worth: USUAL_TURN_WORTH,
            effort: Effort {
                trials: 200_000,
                seed: 1,
            },
            work: USUAL_WORK,
        }
    }
}

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanError {
    /// The rules allow no order.
    Sequence {
        /// What the search says, of pieces.
        cause: SequenceError,
        /// Number of the weld concerned, where there is one.
        weld: Option<u16>,
    },
    /// The heat of a weld is not a number.
    Heat {
        /// Number of the weld.
        weld: u16,
    },
}

impl std::fmt::Display for PlanError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Sequence {
                weld: Some(weld), ..
            } => write!(
                out,
                "weld {weld} would have to wait for itself; remove one of the `after` rules around it"
            ),
            Self::Sequence {
                cause: SequenceError::TooFewTurns { needed },
                ..
            } => write!(
                out,
                "the welds and their rules need the frame turned over {needed} time(s); allow for it with --turns {needed}"
            ),
            Self::Sequence { cause, .. } => write!(out, "{cause}"),
            Self::Heat { weld } => write!(out, "the heat input of weld {weld} is not a number"),
        }
    }
}

impl std::error::Error for PlanError {}

/// A job made ready for the search.
#[derive(Clone, Debug)]
pub struct Workpiece<'a> {
    job: &'a Job,
    /// Welds, long ones in pieces; items have the same indices.
    pub pieces: Vec<WeldPiece>,
    /// Rules and places of the pieces, sides as seen from the face that is up when welding begins.
    pub items: Vec<Item>,
    /// Heat moments of the pieces, J.
    pub moments: Vec<[f64; COMPONENTS]>,
    /// The same in whole numbers, as the search wants them.
    whole: Vec<[i32; COMPONENTS]>,
    centre: Point,
    tacks: [Vec<Tacks>; 2],
    most_turns: u16,
    turn_worth: f64,
    effort: Effort,
    work: Celsius,
}

/// Plans a job by heat moments, with the heat that its procedures expect.
///
/// When `keep_going` says no the plan is the best so far, marked as [`cut_short`](Plan::cut_short).
///
/// # Errors
/// [`PlanError`] when there is no order that keeps to the rules.
pub fn plan(
    job: &Job,
    options: &Options,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Plan, PlanError> {
    plan_with_heat(job, &planned_heat(job), options, keep_going)
}

/// The net heat that the procedures expect of each weld, all runs together, by index, J/mm.
#[must_use]
pub fn planned_heat(job: &Job) -> Vec<f64> {
    let planned =
        |weld: &Weld| job.procedures[weld.procedure].planned_heat_input.0 * f64::from(weld.runs);
    job.welds.iter().map(planned).collect()
}

/// As [`plan`], with the net heat of each weld given by index, J/mm: as measured on an earlier build, for instance.
///
/// # Errors
/// As [`plan`].
pub fn plan_with_heat(
    job: &Job,
    net_heat_j_per_mm: &[f64],
    options: &Options,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Plan, PlanError> {
    let mut patience = Patience::new(keep_going);
    let mut keep_going = |progress: &Progress| patience.lasts(progress);
    let work = Workpiece::patiently(job, net_heat_j_per_mm, options, &mut keep_going)?;
    let balance = Balance::new(&work.whole);
    let found = exactly_or_by_search(
        &balance,
        &work.items,
        work.most_turns,
        work.effort,
        &mut keep_going,
    )
    .map_err(|cause| work.refused(cause))?;
    Ok(Plan {
        cut_short: patience.is_over(),
        ..work.plan(&balance, work.gauge(), &found)?
    })
}

impl<'a> Workpiece<'a> {
    /// Cuts long welds, works out moments, puts the tacks in order and checks the rules.
    ///
    /// # Errors
    /// [`PlanError`] when the rules allow no order, or a heat is not a number.
    pub fn new(
        job: &'a Job,
        net_heat_j_per_mm: &[f64],
        options: &Options,
    ) -> Result<Self, PlanError> {
        Self::patiently(job, net_heat_j_per_mm, options, &mut |_| true)
    }

    /// As [`Workpiece::new`], with the order of the tacks the best until `keep_going` says no.
    ///
    /// # Errors
    /// As [`Workpiece::new`].
    pub fn patiently(
        job: &'a Job,
        net_heat_j_per_mm: &[f64],
        options: &Options,
        keep_going: &mut dyn FnMut(&Progress) -> bool,
    ) -> Result<Self, PlanError> {
        let pieces = pieces::pieces(job);
        let centre = moments::neutral_point(job);
        let plain = |cause| PlanError::Sequence { cause, weld: None };
        let tack_effort = Effort {
            trials: options.effort.trials.min(50_000),
            ..options.effort
        };
        let tacks = tacking::tacking(job, centre, tack_effort, keep_going).map_err(plain)?;
        let moments = moments::moments(job, &pieces, net_heat_j_per_mm);
        let mut whole = vec![[0; COMPONENTS]; moments.len()];
        let number = |piece: usize| job.welds[pieces[piece].weld].number;
        whole_numbers(&moments, &mut whole)
            .map_err(|NotFinite { weld, .. }| PlanError::Heat { weld: number(weld) })?;
        // After the tacks of the back the back is up, and welding begins there.
        let items = pieces::items(job, &pieces, !tacks[1].is_empty());
        let mut this = Self {
            job,
            pieces,
            items,
            moments,
            whole,
            centre,
            tacks,
            most_turns: 0,
            turn_worth: options.turn_worth,
            effort: options.effort,
            work: options.work,
        };
        let needed = rules::check(&this.items).map_err(|cause| this.refused(cause))?;
        this.most_turns = options.most_turns.unwrap_or(USUAL_TURNS.max(needed));
        if this.most_turns < needed {
            return Err(plain(SequenceError::TooFewTurns { needed }));
        }
        Ok(this)
    }

    /// Turns allowed while welding.
    #[must_use]
    pub fn most_turns(&self) -> u16 {
        self.most_turns
    }

    fn refused(&self, cause: SequenceError) -> PlanError {
        let weld = match cause {
            SequenceError::Contradiction { weld } => {
                let piece = self.pieces.get(usize::from(weld));
                piece.map(|piece| self.job.welds[piece.weld].number)
            }
            _ => None,
        };
        PlanError::Sequence { cause, weld }
    }

    /// The gauge of heat moments: 100 % when every weld pulls the same way with its whole moment.
    #[must_use]
    pub fn gauge(&self) -> Gauge {
        let length = |m: &[i32; COMPONENTS]| {
            let squares = m.iter().map(|part| f64::from(*part) * f64::from(*part));
            squares.sum::<f64>().sqrt()
        };
        let all: f64 = self.whole.iter().map(length).sum();
        Gauge {
            name: "imbalance of heat",
            unit: "% of all heat",
            per_root: if all > 0.0 { 100.0 / all } else { 0.0 },
        }
    }

    /// Makes a plan of an order, as judged by `assess`.
    ///
    /// # Errors
    /// [`PlanError`] when the rules allow no order.
    pub fn plan<A: Assess>(
        &self,
        assess: &A,
        gauge: Gauge,
        found: &Found,
    ) -> Result<Plan, PlanError> {
        let mut best_habit: Option<Cost> = None;
        let habits = habits::habits(self.job, &self.pieces, self.centre, habits::VIEWS[0])
            .into_iter()
            .map(|(name, description, ranked)| {
                let mut order =
                    order::by_rules(&self.items, &ranked).map_err(|c| self.refused(c))?;
                self.usual_directions(&mut order);
                let cost = cost(assess, &self.items, u16::MAX, &order).unwrap_or(Cost::WORST);
                best_habit = Some(best_habit.map_or(cost, |best| best.min(cost)));
                Ok(Habit {
                    name,
                    description,
                    order: order.iter().map(|step| self.weld_number(*step)).collect(),
                    score: score(&gauge, &cost),
                })
            })
            .collect::<Result<_, PlanError>>()?;
        let mut steps = self.tack_steps();
        let pace = Pace::new(self.job, &self.pieces, self.work);
        let tacking: Vec<Act> = steps.iter().filter_map(tacking_act).collect();
        let found = &less_waiting(self, assess, found, &pace, &tacking, best_habit);
        self.weld_steps(assess, &gauge, found, &mut steps);
        let timed = pace.timed(self.all_acts(tacking, &steps, &found.order));
        let times = timed.begins.into_iter().zip(timed.waits);
        for ((k, step), (begins, wait)) in steps.iter_mut().enumerate().zip(times) {
            (step.number, step.begins, step.wait) = (k + 1, begins, wait);
            if let Some(wait) = wait {
                step.why = format!("{}; {}", wait.words(self.job.units), step.why);
            }
        }
        let mut cautions = cautions();
        cautions.extend(timed.remarks);
        Ok(Plan {
            title: self.job.name.clone(),
            gauge,
            goal: Vec::new(),
            method: found.method,
            seed: self.effort.seed,
            cut_short: false,
            steps,
            score: score(&gauge, &found.cost),
            habits,
            time: timed.time,
            beyond_order: None,
            cautions,
        })
    }

    /// The orders of the habits by name, as far as the rules allow them, each piece in its usual direction.
    ///
    /// # Errors
    /// [`SequenceError`] when the rules allow no order.
    pub fn habitual_orders(&self) -> Result<Vec<(&'static str, Vec<Step>)>, SequenceError> {
        self.habitual_orders_in(habits::VIEWS[0])
    }

    fn habitual_orders_in(
        &self,
        view: [f64; 2],
    ) -> Result<Vec<(&'static str, Vec<Step>)>, SequenceError> {
        let habits = habits::habits(self.job, &self.pieces, self.centre, view).into_iter();
        habits
            .map(|(name, _, ranked)| {
                let mut order = order::by_rules(&self.items, &ranked)?;
                self.usual_directions(&mut order);
                Ok((name, order))
            })
            .collect()
    }

    /// The orders of the habits, begun from every side of the frame, each as it is and in several goes at the faces, in an
    /// order that does not depend on which side is
    /// which.
    fn orders_to_begin_with(&self) -> Result<Vec<Vec<Step>>, SequenceError> {
        let mut orders = Vec::new();
        let side = |piece: u16| self.items[usize::from(piece)].side;
        for view in habits::VIEWS {
            for (_, _, ranked) in habits::habits(self.job, &self.pieces, self.centre, view) {
                let in_goes = (2..=self.most_turns.min(MOST_GOES))
                    .map(|turns| habits::in_goes(&ranked, side, turns));
                for ranked in in_goes.chain([ranked.clone()]) {
                    let mut order = order::by_rules(&self.items, &ranked)?;
                    self.usual_directions(&mut order);
                    orders.push(order);
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

    /// Gives every piece whose direction the structure can tell the one that is usual.
    pub fn usual_directions(&self, order: &mut [Step]) {
        for step in order {
            let piece = usize::from(step.weld);
            step.reversed = self.pieces[piece].has_direction() && self.is_better_reversed(piece);
        }
    }

    fn weld_number(&self, step: Step) -> u16 {
        self.job.welds[self.pieces[usize::from(step.weld)].weld].number
    }

    /// Tacks of the front, then, after a turn, those of the back.
    fn tack_steps(&self) -> Vec<model::Step> {
        let mut steps = Vec::new();
        for (face, tacks) in self.tacks.iter().enumerate() {
            if face == 1 && !tacks.is_empty() {
                let reason = Reason::OtherFace { welds: tacks.len() };
                steps.push(step(Work::TurnOver { up: Face::Back }, reason, 0.0));
            }
            for tacks in tacks {
                let reason = if tacks.corner {
                    Reason::TackCorner
                } else {
                    Reason::TackRest
                };
                let work = Work::Tack {
                    joint: tacks.joint,
                    name: self.job.joints[tacks.joint].name.clone(),
                    at: tacks.at.iter().copied().map(Into::into).collect(),
                };
                steps.push(step(work, reason, 0.0));
            }
        }
        steps
    }

    fn weld_steps<A: Assess>(
        &self,
        assess: &A,
        gauge: &Gauge,
        found: &Found,
        steps: &mut Vec<model::Step>,
    ) {
        let order = &found.order;
        let reasons = reasons::reasons(self.job, &self.pieces, &self.moments, self.centre, order);
        let begins_back_up = !self.tacks[1].is_empty();
        let (mut state, mut turned) = (assess.start(), false);
        let mut clamps = clamping::Clamping::new(self.job, &self.pieces);
        for (place, (laid, reason)) in order.iter().zip(reasons).enumerate() {
            if self.items[usize::from(laid.weld)].side.needs_turn(turned) {
                turned = !turned;
                let up = if turned != begins_back_up {
                    Face::Back
                } else {
                    Face::Front
                };
                let welds = self.until_next_turn(&order[place..], turned);
                let gauge_now = gauge.value(assess.magnitude(&state));
                let reason = Reason::OtherFace { welds };
                steps.push(step(Work::TurnOver { up }, reason, gauge_now));
            }
            let reversed = if assess.is_directed(laid.weld) {
                laid.reversed
            } else {
                self.is_better_reversed(usize::from(laid.weld))
            };
            let weld = self.pieces[usize::from(laid.weld)].weld;
            steps.extend(clamps.before(weld, gauge.value(assess.magnitude(&state))));
            assess.lay(&mut state, *laid);
            let gauge_now = gauge.value(assess.magnitude(&state));
            let work = self.weld(usize::from(laid.weld), reversed);
            steps.push(step(work, reason, gauge_now));
            steps.extend(clamps.after(weld, gauge_now));
        }
    }

    /// The welds of an order, with the turns of the frame that they need.
    fn acts(&self, order: &[Step]) -> Vec<Act> {
        let mut acts = Vec::with_capacity(order.len() + usize::from(self.most_turns));
        let mut turned = false;
        for step in order {
            let piece = usize::from(step.weld);
            if self.items[piece].side.needs_turn(turned) {
                turned = !turned;
                acts.push(Act::Turn);
            }
            acts.push(Act::Weld { piece });
        }
        acts
    }

    /// All that is done, step by step: the tacks, then the welds of the order with the clamps that come off between.
    fn all_acts(&self, tacking: Vec<Act>, steps: &[model::Step], order: &[Step]) -> Vec<Act> {
        let mut welding = self.acts(order).into_iter();
        let after_tacks = steps.iter().skip(tacking.len());
        let between = after_tacks.filter_map(|step| match step.work {
            Work::ClampOff { at: [x, y, z], .. } => Some(Act::ClampOff {
                at: Point::new(x, y, z),
            }),
            _ => welding.next(),
        });
        let between: Vec<Act> = between.collect();
        tacking.into_iter().chain(between).collect()
    }

    fn until_next_turn(&self, rest: &[Step], turned: bool) -> usize {
        rest.iter()
            .take_while(|step| !self.items[usize::from(step.weld)].side.needs_turn(turned))
            .count()
    }

    /// Away from the middle of the frame, so that what shrinks is free to move; pieces of a long weld the other way
    /// (back-step), so that each runs towards metal that is still cold.
    fn is_better_reversed(&self, index: usize) -> bool {
        let piece = &self.pieces[index];
        let from_nearer = (piece.from - self.centre).length() - (piece.to - self.centre).length();
        let runs_inwards = from_nearer > 1.0;
        let has_direction = from_nearer.abs() > 1.0;
        if piece.piece.1 > 1 {
            has_direction && !runs_inwards
        } else {
            runs_inwards
        }
    }

    fn weld(&self, index: usize, reversed: bool) -> Work {
        let piece = &self.pieces[index];
        let weld = &self.job.welds[piece.weld];
        let whole = weld.planned_arc_time(&self.job.procedures[weld.procedure]);
        let (number, of) = piece.piece;
        let (from, to) = if reversed {
            (piece.to, piece.from)
        } else {
            (piece.from, piece.to)
        };
        Work::Weld {
            weld: weld.number,
            name: weld.name.clone(),
            piece: (of > 1).then_some(Piece {
                number: number + 1,
                of,
            }),
            from: from.into(),
            to: to.into(),
            arc_time: whole * piece.share(),
        }
    }
}

fn tacking_act(step: &model::Step) -> Option<Act> {
    match &step.work {
        Work::Tack { at, .. } => {
            let tacks = at.len();
            let sum = at.iter().fold(Point::default(), |sum, &[x, y, z]| {
                sum + Point::new(x, y, z)
            });
            Some(Act::Tack {
                at: sum * (1.0 / tacks.max(1) as f64),
                tacks,
            })
        }
        Work::TurnOver { .. } => Some(Act::Turn),
        Work::Weld { .. } | Work::ClampOff { .. } => None,
    }
}

fn score(gauge: &Gauge, cost: &Cost) -> Score {
    Score {
        peak: gauge.value(cost.peak),
        last: gauge.value(cost.last),
        turns: cost.turns,
        moves: cost.moves,
        walk_mm: cost.walk_mm,
    }
}

fn step(work: Work, reason: Reason, gauge_after: f64) -> model::Step {
    model::Step {
        number: 0,
        work,
        reason,
        why: reason.words(),
        gauge_after,
        begins: Seconds::default(),
        wait: None,
    }
}

/// What heat moments leave out.
const ONLY_MOMENTS: &str =
    "Heat moments know the drawing and the heat, not the stiffness of the frame or the clamps.";

fn cautions() -> Vec<String> {
    vec![
        "A balanced order reduces distortion; it does not make a weld sound. For structural or safety-critical work \
         follow the qualified procedure, the local code and the engineer in charge, also where they give another order."
            .into(),
        ONLY_MOMENTS.into(),
        "A frame is heavy and hot: turn it over with help, gloves and a clear floor.".into(),
    ]
}

#[cfg(test)]
mod tests;
