//! The plan as facts: what to do step by step, why, and how it compares with trade orders.
//!
//! It goes with the [`Job`](crate::job::model::Job) it was made for, which holds the geometry. Points are mm in the
//! job's coordinates (x right, y up, z towards the viewer). Names are the user's own text: sanitise them before
//! printing.

use crate::job::model::SeenFrom;
use coldsquare_core::units::{Celsius, Seconds};
use serde::Serialize;

/// A plan for one job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// Name of the job.
    pub title: String,
    /// Where its drawing is seen from: what its directions are called.
    #[serde(skip)]
    pub seen_from: SeenFrom,
    /// What orders are scored by.
    pub gauge: Gauge,
    /// What counts most, where the job says so: `flat`, `square`, `size`, `parallel`.
    pub goal: Vec<&'static str>,
    /// How the order was found.
    pub method: Method,
    /// Seed of the search: the same seed and effort give the same plan.
    pub seed: u64,
    /// The search was ended before it had tried all it was meant to: the order is the best so far, and the same seed
    /// may give another one next time.
    pub stopped_early: bool,
    /// Everything to do, in order: tacks, welds, flips, clamps.
    pub steps: Vec<Step>,
    /// How the advised order scores.
    pub score: Score,
    /// How long it takes, as far as can be predicted.
    pub time: Time,
    /// Orders that shops commonly use, to compare with; file order first.
    pub trade_orders: Vec<TradeOrder>,
    /// What else would reduce the movement; `None` where it was not worked out.
    pub further_measures: Option<FurtherMeasures>,
    /// Cautions and notes, most important first.
    pub cautions: Vec<String>,
}

/// What is said of a plan whose search was stopped early.
pub const STOPPED_EARLY: &str = "the search did not finish; this is the best order so far, and a longer search may find \
                                 a better one";

/// What else would reduce the movement, with the welds in the order advised: pre-camber, clamps, longer cuts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FurtherMeasures {
    /// How far the frame moves without them, mm, weighed as the gains are.
    pub left_mm: f64,
    /// The largest gain first; each is on its own, not on top of the others.
    pub gains: Vec<Gain>,
}

/// One further measure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gain {
    /// Its kind.
    pub kind: GainKind,
    /// What to do, in a welder's words.
    pub advice: String,
    /// How much less the frame moves in the end, mm.
    pub saves_mm: f64,
    /// Expanded uncertainty of that (k = 2), mm.
    pub plus_minus_mm: f64,
}

/// Kinds of further measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum GainKind {
    /// Bend members the other way before welding.
    PreCamber,
    /// Tack the frame out of square the other way.
    OutOfSquare,
    /// Shim a corner up while tacking.
    Shim,
    /// Cut members longer.
    CutLength,
    /// More, fewer or other clamps.
    Clamps,
}

/// What orders are scored by: the greatest value on the way should be small, then the value at the end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gauge {
    /// What it is ("shrinkage imbalance").
    pub name: &'static str,
    /// Unit printed after a value.
    pub unit: &'static str,
    /// Value of a score of 1; a value is this times the square root of the score.
    #[serde(skip)]
    pub per_root: f64,
}

/// How an order was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Method {
    /// No order has a smaller peak with as few flips.
    Exact,
    /// The best of the orders tried.
    Search {
        /// Orders tried.
        trials: u64,
    },
}

/// One step of the plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Place in the list, from 1.
    pub number: usize,
    /// What to do.
    pub what: StepKind,
    /// Why now.
    pub reason: Reason,
    /// The reason in words.
    pub why: String,
    /// Value of the gauge after the step, in its unit.
    pub gauge_after: f64,
    /// When it begins, walking and waiting included, counted from the beginning of the first step.
    pub begins: Seconds,
    /// What to wait for before it.
    pub wait: Option<Wait>,
}

impl Step {
    /// A step with its reason; its number and times follow when all steps are known.
    pub(super) fn new(what: StepKind, reason: Reason, gauge_after: f64) -> Self {
        Self {
            number: 0,
            what,
            reason,
            why: reason.describe(),
            gauge_after,
            begins: Seconds::default(),
            wait: None,
        }
    }
}

/// A wait before a step.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Wait {
    /// How long.
    pub seconds: Seconds,
    /// What for.
    pub what: WaitFor,
}

/// What a wait is for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
#[non_exhaustive]
pub enum WaitFor {
    /// The joint is hotter than its procedure allows for the next run.
    Joint {
        /// Interpass temperature of the procedure.
        limit: Celsius,
    },
    /// The machine would exceed its rated duty cycle.
    Machine {
        /// Rated duty cycle at the current of the weld, over 0 up to 1.
        duty: f64,
    },
}

/// Time on the bench, by what it is spent on. The entries add up to the total.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Time {
    /// The arc burns.
    pub arc: Seconds,
    /// Helmet up, look, place the torch; take a clamp off.
    pub between_arcs: Seconds,
    /// From weld to weld.
    pub walking: Seconds,
    /// Flipping the frame.
    pub flipping: Seconds,
    /// Waiting for joints to cool to their interpass temperature.
    pub joints_cooling: Seconds,
    /// Letting the machine cool.
    pub machine_resting: Seconds,
    /// The total.
    pub total: Seconds,
}

/// What to do in a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum StepKind {
    /// Tack a joint.
    Tack {
        /// Index of the joint.
        joint: usize,
        /// Its name.
        name: String,
        /// Where the tacks go.
        at: Vec<[f64; 3]>,
    },
    /// Flip the frame on the table.
    Flip {
        /// The face that is up afterwards.
        up: Face,
    },
    /// Take a clamp off before all is welded.
    ReleaseClamp {
        /// Number of the clamp, in the order of the job file, from 1.
        clamp: usize,
        /// Name of the member it holds.
        member: String,
        /// Where.
        at: [f64; 3],
    },
    /// Weld.
    Weld {
        /// Number of the weld.
        weld: u16,
        /// Its name.
        name: String,
        /// Which part of it, where it is too long to weld in one go.
        part: Option<PartNumber>,
        /// Where the arc starts.
        from: [f64; 3],
        /// Where it ends.
        to: [f64; 3],
        /// Arc time to expect.
        arc_time: Seconds,
    },
}

/// A part of a long weld.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct PartNumber {
    /// Its number along the weld as drawn, from 1.
    pub number: u16,
    /// Number of parts.
    pub of: u16,
}

/// A face of the frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Face {
    /// The face towards you as the frame is drawn.
    Front,
    /// The other one.
    Back,
}

impl Face {
    /// What it is called on the object as it stands: front or back, top or bottom.
    #[must_use]
    pub const fn name(self, seen_from: SeenFrom) -> &'static str {
        let [front, back] = seen_from.faces();
        match self {
            Self::Front => front,
            Self::Back => back,
        }
    }
}

/// Why a step comes when it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
#[non_exhaustive]
pub enum Reason {
    /// Corners hold the frame square: they are tacked first, in diagonal pairs.
    TackCorner,
    /// The other joints, alternating sides, so that the frame stays centred.
    TackRest,
    /// What is left is on the other face.
    OtherFace {
        /// Welds and parts of welds until the next flip.
        welds: usize,
    },
    /// The joints left to tack are on the other face.
    OtherFaceTacks {
        /// How many.
        joints: usize,
    },
    /// No weld that is left needs the clamp.
    ClampDone,
    /// The clamp must be off for a weld.
    ClampInTheWay {
        /// Number of that weld.
        weld: u16,
    },
    /// The first weld.
    FirstWeld,
    /// Pulls against an earlier weld.
    Opposes {
        /// Number of that weld.
        weld: u16,
    },
    /// Finishes the joint of the step before.
    SameJoint,
    /// Another part of a long weld, away from the heat of the one before.
    LongWeld,
    /// Pulls against the sum of all welds so far.
    PullsBack,
    /// Close to the middle planes: little effect.
    LittleEffect,
    /// Further out than the weld before, on the same face.
    OutFromTheMiddle,
    /// The nearest weld that does no harm: it only saves walking.
    NextNearest,
}

/// How an order scores.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Score {
    /// Greatest value of the gauge on the way.
    pub peak: f64,
    /// Value of the gauge at the end.
    pub last: f64,
    /// Flips of the frame while welding.
    pub flips: u16,
    /// Times the welder has to move on, because the next weld is out of reach or on another face.
    pub moves: u16,
    /// Distance walked from weld to weld, mm.
    pub walk_mm: u64,
}

/// An order that shops commonly use.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TradeOrder {
    /// Its name ("end to end").
    pub name: &'static str,
    /// What it is, in a sentence.
    pub description: &'static str,
    /// Numbers of the welds in its order; a long weld appears once for each part.
    pub order: Vec<u16>,
    /// How it scores.
    pub score: Score,
}

impl Gauge {
    /// The value of a score of the search.
    #[must_use]
    pub fn value(&self, score: u64) -> f64 {
        (score as f64).sqrt() * self.per_root
    }
}

impl Plan {
    /// Numbers of the welds in the advised order; a long weld appears once for each part.
    #[must_use]
    pub fn order(&self) -> Vec<u16> {
        self.steps
            .iter()
            .filter_map(|step| match step.what {
                StepKind::Weld { weld, .. } => Some(weld),
                StepKind::Tack { .. } | StepKind::Flip { .. } | StepKind::ReleaseClamp { .. } => {
                    None
                }
            })
            .collect()
    }
}
