//! The plan as facts: what to do one step after the other, why, and how it compares with what is usually done.
//!
//! It goes with the [`Job`](crate::job::model::Job) it was made for, which holds the geometry. Points are mm in the
//! job's coordinates (x right, y up, z towards the viewer). Names come from the job as they were written: they are
//! text, and whoever prints them must make them harmless.

use coldsquare_core::units::{Celsius, Seconds};
use serde::Serialize;

/// A plan for one job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// Name of the job.
    pub title: String,
    /// What an order is judged by.
    pub gauge: Gauge,
    /// What counts most, where the maker has named it: `flat`, `square`, `size`, `parallel`.
    pub goal: Vec<&'static str>,
    /// How the order was found.
    pub method: Method,
    /// Seed of the search: the same seed and effort give the same plan.
    pub seed: u64,
    /// The search was ended before it had tried all it was meant to: the order is the best until then, and the same
    /// seed need not give it again.
    pub cut_short: bool,
    /// Everything to do, in order: tacks, welds, turns of the frame.
    pub steps: Vec<Step>,
    /// What the advised order comes to.
    pub score: Score,
    /// How long it takes, as far as can be said beforehand.
    pub time: Time,
    /// What orders that are often used would come to, as drawn first.
    pub trade_orders: Vec<TradeOrder>,
    /// What clamps and pre-sets would gain beyond the order; nothing where that was not worked out.
    pub further_measures: Option<FurtherMeasures>,
    /// What to bear in mind, most important first.
    pub cautions: Vec<String>,
}

/// What a plan that was cut short is, in words.
pub const CUT_SHORT: &str = "the search was ended before it was done, and this is the best order it had found; a longer \
                             one may find a better";

/// What clamps and pre-sets would gain with the welds in the order advised.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FurtherMeasures {
    /// How far the frame moves as it is, mm, by the measure that the gains are counted in.
    pub left_mm: f64,
    /// What would save most first; each by itself, not on top of the others.
    pub gains: Vec<Gain>,
}

/// One thing to do beside the order.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gain {
    /// What kind of thing.
    pub kind: GainKind,
    /// What to do, in a welder's words.
    pub advice: String,
    /// How much less the frame moves in the end, mm.
    pub saves_mm: f64,
    /// Doubt of that (k = 2), mm.
    pub plus_minus_mm: f64,
}

/// Kinds of things to do beside the order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum GainKind {
    /// Bow, twist or rack it the other way before it is welded.
    PreSet,
    /// Cut members longer.
    CutLength,
    /// More, fewer or other clamps.
    Clamps,
}

/// What an order is judged by: the greatest value on the way should be small, then the value at the end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Gauge {
    /// What it is ("imbalance of heat").
    pub name: &'static str,
    /// Unit printed after a value.
    pub unit: &'static str,
    /// Value of a magnitude of 1; a value is this times the square root of the magnitude.
    #[serde(skip)]
    pub per_root: f64,
}

/// How an order was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Method {
    /// No order has a smaller peak with so few turns.
    Exact,
    /// The best of many tried.
    Search {
        /// Orders tried.
        trials: u64,
    },
}

/// One thing to do.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Place in the list, from 1.
    pub number: usize,
    /// What to do.
    pub what: StepKind,
    /// Why now.
    pub reason: Reason,
    /// The same in a welder's words.
    pub why: String,
    /// Value of the gauge after it, in its unit.
    pub gauge_after: f64,
    /// When it begins, walking and waiting included, since the first step began.
    pub begins: Seconds,
    /// What to wait for before it.
    pub wait: Option<Wait>,
}

/// A wait before a step.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Wait {
    /// How long.
    pub seconds: Seconds,
    /// What for.
    pub what: WaitFor,
}

/// What is waited for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum WaitFor {
    /// The joint is hotter than its procedure allows for the next run.
    Joint {
        /// Interpass temperature of the procedure.
        limit: Celsius,
    },
    /// The machine would get hotter than its plate allows.
    Machine {
        /// Share of ten minutes that it stands at the current of the weld, over 0 up to 1.
        duty: f64,
    },
}

/// Time on the bench, by what it is spent on. The parts sum to the total.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Time {
    /// The arc burns.
    pub arc: Seconds,
    /// Helmet up, look, place the torch; a clamp off.
    pub between_arcs: Seconds,
    /// From weld to weld.
    pub walking: Seconds,
    /// Turning the frame over.
    pub flipping: Seconds,
    /// Waiting for joints to cool to their interpass temperature.
    pub joints_cooling: Seconds,
    /// Letting the machine rest.
    pub machine_resting: Seconds,
    /// All of it.
    pub total: Seconds,
}

/// What a step does.
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
    /// Turn the frame over on the table.
    Flip {
        /// The face that is up afterwards.
        up: Face,
    },
    /// Take a clamp off before the end.
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
        /// Which piece of it, where it is too long for one go.
        part: Option<PartNumber>,
        /// Where the arc starts.
        from: [f64; 3],
        /// Where it ends.
        to: [f64; 3],
        /// Arc time to expect.
        arc_time: Seconds,
    },
}

/// A piece of a long weld.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct PartNumber {
    /// Its number along the weld as drawn, from 1.
    pub number: u16,
    /// Number of pieces.
    pub of: u16,
}

/// A face of the frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Face {
    /// The face that looks at the welder as it is drawn.
    Front,
    /// The other one.
    Back,
}

/// Why a step stands where it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Reason {
    /// Corners hold the frame square and are tacked first, opposite ones in turn.
    TackCorner,
    /// The other joints, so that the frame stays centred.
    TackRest,
    /// What is left is on the other face.
    OtherFace {
        /// Welds and pieces of welds, or tacks, until the next turn.
        welds: usize,
    },
    /// The clamp is not wanted for any weld that is still to come.
    ClampDone,
    /// The clamp must be off for a weld.
    ClampInTheWay {
        /// Number of that weld.
        weld: u16,
    },
    /// Nothing pulls on the frame yet.
    Start,
    /// Pulls against an earlier weld.
    Opposes {
        /// Number of that weld.
        weld: u16,
    },
    /// Finishes a joint that was begun in the step before.
    SameJoint,
    /// Another piece of a long weld, away from the heat of the one before.
    LongWeld,
    /// Pulls against what all welds so far have pulled.
    PullsBack,
    /// Close to the neutral axes: pulls on nothing much.
    NearNeutralAxis,
    /// Further out than the weld before, on the same face.
    OutFromTheMiddle,
    /// The shortest way of those that do no harm.
    NextNearest,
}

/// What an order comes to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Score {
    /// Greatest value of the gauge on the way.
    pub peak: f64,
    /// Value of the gauge at the end.
    pub last: f64,
    /// Turns of the frame while welding.
    pub flips: u16,
    /// Times the welder has to move on, because the next weld is out of reach or on another face.
    pub moves: u16,
    /// Way from weld to weld, mm.
    pub walk_mm: u64,
}

/// An order that is often used.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TradeOrder {
    /// Its name ("end to end").
    pub name: &'static str,
    /// What it is, in a sentence.
    pub description: &'static str,
    /// Numbers of the welds in its order; a long weld appears once for each piece.
    pub order: Vec<u16>,
    /// What it comes to.
    pub score: Score,
}

impl Gauge {
    /// The value for a magnitude as the search counts it.
    #[must_use]
    pub fn value(&self, score: u64) -> f64 {
        (score as f64).sqrt() * self.per_root
    }
}

impl Plan {
    /// Numbers of the welds in the advised order; a long weld appears once for each piece.
    #[must_use]
    pub fn order(&self) -> Vec<u16> {
        self.steps
            .iter()
            .filter_map(|step| match step.what {
                StepKind::Weld { weld, .. } => Some(weld),
                StepKind::Tack { .. } | StepKind::Flip { .. } | StepKind::ReleaseClamp { .. } => None,
            })
            .collect()
    }
}
