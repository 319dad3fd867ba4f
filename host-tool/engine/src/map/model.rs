//! The weld map as facts: every weld with what was measured on it, every bead with its match.
//!
//! Everything that a page, a drawing, a table or a build record shows is calculated once and stored here; writers only
//! format it. It belongs to the [`Job`](crate::job::model::Job) it was made for, which has the geometry: `map.welds[k]`
//! is `job.welds[k]`. Values are SI or millimetres whatever the job's units are; writers convert.
//!
//! Times are seconds from the first sample of the log. Uncertainties are expanded (k = 2). Names are
//! as they were written in the job and the log: whoever prints them must sanitise them.

pub use super::flag::Flag;
pub use crate::comparison::Comparison;
use crate::inspection::Inspection;
use crate::log::seal::Seal;
pub use crate::matching::{Basis, Role};
use crate::verdict::{Estimate, Judged, Quantity, Side, Verdict};
use coldsquare_core::process::Process;
use coldsquare_core::units::{
    Amperes, Joules, JoulesPerMillimetre, Millimetres, MillimetresPerSecond, Seconds, Volts, Watts,
};

/// The weld map of one log against one job.
#[derive(Clone, Debug, PartialEq)]
pub struct WeldMap {
    /// Name of the job.
    pub title: String,
    /// What was measured, with what, when.
    pub source: Source,
    /// One entry a weld of the job, in order of number.
    pub welds: Vec<MappedWeld>,
    /// One entry a bead of the log, in order of time.
    pub beads: Vec<MappedBead>,
    /// The order welded beside the planned order.
    pub order: Order,
    /// Sums over the log.
    pub totals: Totals,
    /// Notes on the map, worst first.
    pub warnings: Vec<Warning>,
    /// Measurements of the frame beside the prediction from this log's heat; `None` before it was measured.
    pub measured: Option<Comparison>,
}

impl WeldMap {
    /// Puts the latest inspection of each weld on the map.
    pub fn put_inspections(&mut self, inspections: &[Inspection]) {
        for weld in &mut self.welds {
            let mut latest = inspections.iter().rev();
            weld.inspection = latest.find(|one| one.weld == weld.number).cloned();
        }
    }
}

/// The log, its instrument and its time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Source {
    /// Name of the log file, without its folder.
    pub log: String,
    /// Name of the logger; `None` for a recording of another instrument.
    pub device: Option<String>,
    /// Version of the logger's program.
    pub firmware: Option<String>,
    /// Whether the log is as its logger wrote it; `None` for a recording, which nothing could show that of.
    pub seal: Option<Seal>,
    /// Wall-clock time of the first sample, ms since 1970-01-01T00:00:00Z, if known.
    pub started_unix_ms: Option<u64>,
    /// How the clock was set: "set by hand", "battery clock".
    pub clock: Option<String>,
    /// Sampling rate, pairs of samples per second.
    pub sample_rate_hz: f64,
    /// When the logger was calibrated, seconds since 1970-01-01T00:00:00Z; `None` if never.
    pub calibrated_unix_s: Option<u64>,
    /// Expanded relative uncertainty of the voltage gain (0.02 for 2 %).
    pub voltage_gain_expanded: f64,
    /// Expanded relative uncertainty of the current gain.
    pub current_gain_expanded: f64,
    /// Version of this program.
    pub software: String,
}

/// One planned weld and what was measured on it.
///
/// If a weld has several runs, each quantity here is from the run that is worst in it, so that value, limits and verdict
/// belong together; `runs` has all of them.
#[derive(Clone, Debug, PartialEq)]
pub struct MappedWeld {
    /// Number on the map, from 1.
    pub number: u16,
    /// Its name, which says where it is.
    pub name: String,
    /// Name of its procedure.
    pub procedure: String,
    /// Process of that procedure.
    pub process: Process,
    /// Length of the weld line; the uncertainty is how well a hand-made weld keeps to it.
    pub length: Estimate<Millimetres>,
    /// Overall verdict: the worst of its quantities over its runs.
    pub verdict: Verdict,
    /// What decided a verdict of `Marginal` or `OutOfLimits`.
    pub decided_by: Option<Decision>,
    /// Heat input (arc energy times thermal efficiency) of a run.
    pub heat_input: Judged<JoulesPerMillimetre>,
    /// Mean arc voltage while the arc burned.
    pub voltage: Judged<Volts>,
    /// Mean current while the arc burned.
    pub current: Judged<Amperes>,
    /// Travel speed: length over arc time.
    pub travel_speed: Judged<MillimetresPerSecond>,
    /// Arc energy per length, before thermal efficiency, of the run in `heat_input`.
    pub arc_energy: Option<Estimate<JoulesPerMillimetre>>,
    /// True power, the mean of v·i over arc time, of the run in `heat_input`.
    pub power: Option<Estimate<Watts>>,
    /// Planned heat input.
    pub planned_heat_input: JoulesPerMillimetre,
    /// Arc time of all its runs; zero when not measured.
    pub arc_time: Seconds,
    /// Expected arc time of all its runs.
    pub planned_arc_time: Seconds,
    /// Energy of all its runs, before thermal efficiency.
    pub energy: Option<Estimate<Joules>>,
    /// Runs found, first run first; empty when not measured. Never more than planned.
    pub runs: Vec<MappedRun>,
    /// Number of runs planned.
    pub planned_runs: u8,
    /// Numbers of all its beads, in order of time, replaced ones not counted.
    pub beads: Vec<u32>,
    /// Numbers of its beads that a later redo replaced.
    pub replaced_beads: Vec<u32>,
    /// When its first bead began.
    pub start: Option<Seconds>,
    /// When its last bead ended.
    pub end: Option<Seconds>,
    /// False when the log has a hole in one of its beads: then it has no heat input, no travel speed and no verdict, and
    /// its volts, amps, energy and arc time are those of the part that was logged.
    pub whole: bool,
    /// How often the arc went out and came back: inside beads, and between the beads of a run.
    pub restarts: u32,
    /// Place in the planned order, from 1.
    pub planned_place: usize,
    /// Place in the order welded, from 1; `None` when not measured.
    pub done_place: Option<usize>,
    /// Chance that all its beads are its own, 0 to 1; `None` when not measured.
    pub confidence: Option<f64>,
    /// What to look at, in no particular order.
    pub flags: Vec<Flag>,
    /// The latest inspection.
    pub inspection: Option<Inspection>,
}

/// One run of a weld.
#[derive(Clone, Debug, PartialEq)]
pub struct MappedRun {
    /// Number of the run, from 1.
    pub number: u8,
    /// Numbers of the beads that made it, in order of time.
    pub beads: Vec<u32>,
    /// Worst of its quantities.
    pub verdict: Verdict,
    /// Heat input.
    pub heat_input: Judged<JoulesPerMillimetre>,
    /// Mean arc voltage.
    pub voltage: Judged<Volts>,
    /// Mean current.
    pub current: Judged<Amperes>,
    /// Travel speed.
    pub travel_speed: Judged<MillimetresPerSecond>,
    /// Arc energy per length, before thermal efficiency.
    pub arc_energy: Option<Estimate<JoulesPerMillimetre>>,
    /// True power over arc time.
    pub power: Option<Estimate<Watts>>,
    /// Energy, before thermal efficiency.
    pub energy: Option<Estimate<Joules>>,
    /// Arc time.
    pub arc_time: Seconds,
}

/// What decided a verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Decision {
    /// The quantity.
    pub quantity: Quantity,
    /// The limit.
    pub side: Side,
    /// The run, from 1.
    pub run: u8,
}

/// One bead of the log and its match.
#[derive(Clone, Debug, PartialEq)]
pub struct MappedBead {
    /// Number in the log, from 1.
    pub number: u32,
    /// What it is.
    pub role: Role,
    /// What that rests on.
    pub basis: Basis,
    /// Chance that the role is right, 0 to 1, from arc times and markers; 1 when assigned by hand.
    pub confidence: f64,
    /// The next likeliest role, if this one is uncertain.
    pub or_else: Option<Role>,
    /// When its arc was first lit.
    pub start: Seconds,
    /// When its arc was last lit.
    pub end: Seconds,
    /// How long the arc burned.
    pub arc_time: Seconds,
    /// Mean voltage while the arc burned.
    pub voltage: Option<Estimate<Volts>>,
    /// Mean current while the arc burned.
    pub current: Option<Estimate<Amperes>>,
    /// True power while the arc burned.
    pub power: Option<Estimate<Watts>>,
    /// Energy, before thermal efficiency.
    pub energy: Option<Estimate<Joules>>,
    /// How often the arc went out and came back inside it.
    pub restarts: u32,
    /// What to look at.
    pub flags: Vec<Flag>,
    /// Its course in time; empty when the log holds no windows of it.
    pub trace: Vec<TracePoint>,
}

/// A short time of a bead, one point of a drawing. Points follow each other in order of time, without overlap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TracePoint {
    /// When it begins.
    pub from: Seconds,
    /// When it ends.
    pub until: Seconds,
    /// False where the arc was out.
    pub arc_on: bool,
    /// Voltage: lowest sample, mean, highest sample.
    pub voltage: Spread<Volts>,
    /// Current: lowest sample, mean, highest sample.
    pub current: Spread<Amperes>,
    /// True power: lowest mean of a window (about 100 ms), mean, highest mean of a window.
    pub power: Spread<Watts>,
    /// Energy from the start of the bead to `until`, before thermal efficiency.
    pub running_energy: Joules,
}

/// Lowest, mean and highest over a short time. Thinning keeps the peaks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread<T> {
    /// Lowest value.
    pub lowest: T,
    /// Mean.
    pub mean: T,
    /// Highest value.
    pub highest: T,
}

impl Spread<f64> {
    /// The same numbers with their unit.
    #[must_use]
    pub fn map<T>(self, unit: impl Fn(f64) -> T) -> Spread<T> {
        Spread {
            lowest: unit(self.lowest),
            mean: unit(self.mean),
            highest: unit(self.highest),
        }
    }
}

/// The order welded beside the planned order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Order {
    /// Weld numbers as planned; every weld of the job once.
    pub planned: Vec<u16>,
    /// Weld numbers in the order in which they were started; a redone weld counts when its last attempt started.
    pub done: Vec<u16>,
    /// Welds with no bead, in planned order.
    pub missing: Vec<u16>,
    /// The fewest welds that would have to move to make `done` the planned order.
    pub out_of_order: Vec<u16>,
}

/// Sums over the log.
#[derive(Clone, Debug, PartialEq)]
pub struct Totals {
    /// Welds within limits.
    pub within_limits: usize,
    /// Marginal welds.
    pub marginal: usize,
    /// Welds out of limits.
    pub out_of_limits: usize,
    /// Welds not measured.
    pub not_measured: usize,
    /// Welds measured whose procedure sets no limit.
    pub no_limit: usize,
    /// Number of tacks.
    pub tacks: usize,
    /// Number of extra beads and beads on scrap.
    pub extra: usize,
    /// Number of beads replaced by a redo.
    pub replaced: usize,
    /// Arc time of all beads.
    pub arc_time: Seconds,
    /// Energy of all beads, before thermal efficiency.
    pub energy: Estimate<Joules>,
    /// From the first arc to the last.
    pub elapsed: Seconds,
    /// Arc time over elapsed time, 0 to 1; `None` without a bead.
    pub operating_factor: Option<f64>,
}

/// A note on the map.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Warning {
    /// A part of the log is missing.
    Holes {
        /// In how many places.
        places: usize,
        /// How long all together.
        time: Seconds,
        /// Records missing by their numbers.
        records: u64,
    },
    /// Sampled too slowly to follow short circuits or pulses: means of volts times means of amps can be wrong by up
    /// to 30 % either way.
    SlowRecording {
        /// Sampling rate, pairs of samples per second.
        rate_hz: f64,
    },
    /// The logger was never calibrated.
    NeverCalibrated,
    /// The log has no wall-clock time.
    NoClock,
    /// These beads might belong elsewhere; their numbers in the log.
    UncertainBeads(Vec<u32>),
    /// Welds with no bead.
    WeldsMissing(Vec<u16>),
    /// Beads that fit no weld; their numbers in the log.
    ExtraBeads(Vec<u32>),
    /// Power flows backwards in these beads; their numbers in the log.
    Reversed(Vec<u32>),
    /// A sensor reached its limit in these beads; their numbers in the log.
    Clipped(Vec<u32>),
    /// The logger was set to a process that the job does not use.
    OtherProcess {
        /// In the log.
        log: Process,
        /// In the job.
        job: Process,
    },
    /// A marker names a weld that the job does not have.
    UnknownWeldInMarker {
        /// Its number.
        weld: u16,
    },
    /// A note from reading the log (records lost, gaps, a torn end).
    Log(String),
}
