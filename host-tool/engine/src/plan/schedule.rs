//! The plan on the clock: how long each step takes, and what must be waited for before it.
//!
//! Two things are waited for. The joint: it may be no hotter than the interpass temperature of its procedure, and heat
//! is left in it from its own welds and comes along the tubes from its neighbours ([`core::interpass`]
//! (coldsquare_core::interpass)). And the machine: in no ten minutes more than its plate allows (EN IEC 60974-1,
//! [`crate::formulas::duty`]). Both go on at the same time, so that the longer one counts.
//!
//! Runs of one weld count as one, with the heat of all; tacks heat nothing.

use super::joint_heat::{Ways, tube};
use super::model::{Time, Wait, WaitFor};
use super::parts::PlannedPart;
use crate::job::model::{Job, Machine, Point};
use crate::formulas::duty::{CYCLE, DutyWindow};
use coldsquare_core::formula::FormulaError;
use coldsquare_core::interpass::HeatPulse;
use coldsquare_core::interpass::neighbours::Nearby;
use coldsquare_core::units::{Amperes, Celsius, JoulesPerMillimetre, Millimetres, Seconds};

/// From the end of an arc to the next, beside walking and waiting: helmet up, look, place the torch. As `cost` takes
/// it; common practice, no source.
const BETWEEN_ARCS_S: f64 = 15.0;
/// Arc of one tack. Common practice, no source.
const TACK_S: f64 = 1.5;
/// Walking round the table, torch in hand. Common practice, no source.
const WALK_MM_S: f64 = 500.0;
/// Clamps off, over with it, clamps on. Common practice, no source.
const TURN_S: f64 = 120.0;
/// Taking one clamp off. Common practice, no source.
const CLAMP_OFF_S: f64 = 10.0;
/// Shorter waits are over before the torch is in place.
const WORTH_A_WAIT_S: f64 = 1.0;
/// Heat that has not come this many diffusion lengths √(4at) is not here yet: it is below a thousandth.
const FAR: f64 = 2.7;
/// What is left of a weld after this is a matter of the air, not of waiting, s.
const FORGOTTEN_S: f64 = 7200.0;

/// One thing to do, as the clock sees it.
#[derive(Clone, Copy, Debug)]
pub(super) enum BenchStep {
    /// So many tacks about a point.
    Tack { at: Point, tacks: usize },
    /// Turning the frame over.
    Flip,
    /// Taking the clamp off that is here.
    ReleaseClamp { at: Point },
    /// A piece of weld, by its index.
    Weld { part: usize },
}

/// When each act begins, what is waited for before it, and what it all comes to.
#[derive(Clone, Debug, Default)]
pub(super) struct Timed {
    pub(super) waits: Vec<Option<Wait>>,
    pub(super) begins: Vec<Seconds>,
    pub(super) time: Time,
    /// What could not be worked out, or cannot be waited for, in words.
    pub(super) remarks: Vec<String>,
}

/// Times plans of one job.
pub(super) struct Schedule<'a> {
    job: &'a Job,
    parts: &'a [PlannedPart],
    ways: Ways,
    start: Celsius,
}

impl<'a> Schedule<'a> {
    /// `start` is the temperature of the frame before the first weld.
    pub(super) fn new(job: &'a Job, parts: &'a [PlannedPart], start: Celsius) -> Self {
        Self {
            job,
            parts,
            ways: Ways::new(job),
            start,
        }
    }

    /// Goes through it all by the clock.
    pub(super) fn timed(&self, bench_steps: impl IntoIterator<Item = BenchStep>) -> Timed {
        let mut clock = Clock {
            schedule: self,
            now: 0.0,
            at: None,
            window: DutyWindow::default(),
            done: Vec::new(),
            timed: Timed::default(),
        };
        for step in bench_steps {
            clock.take(step);
        }
        clock.timed.time.total = Seconds(clock.now);
        clock.timed
    }
}

struct Clock<'p, 'a> {
    schedule: &'p Schedule<'a>,
    /// Since the first step began, s.
    now: f64,
    /// Where the welder stands.
    at: Option<Point>,
    window: DutyWindow,
    /// Pieces welded, and when.
    done: Vec<(usize, f64)>,
    timed: Timed,
}

impl Clock<'_, '_> {
    fn take(&mut self, step: BenchStep) {
        self.timed.begins.push(Seconds(self.now));
        let wait = match step {
            BenchStep::Flip => {
                self.pass(TURN_S);
                self.timed.time.flipping.0 += TURN_S;
                None
            }
            BenchStep::ReleaseClamp { at } => {
                self.walk_to(at);
                self.pass(CLAMP_OFF_S);
                self.timed.time.between_arcs.0 += CLAMP_OFF_S;
                None
            }
            BenchStep::Tack { at, tacks } => {
                self.walk_to(at);
                for _ in 0..tacks {
                    self.between_arcs();
                    let amps = self.schedule.job.procedures.first().and_then(middle_amps);
                    self.burn(TACK_S, amps);
                }
                None
            }
            BenchStep::Weld { part } => {
                let of = &self.schedule.parts[part];
                self.walk_to(of.middle());
                self.between_arcs();
                let wait = self.wait(part);
                let procedure = &self.schedule.job.procedures[self.weld(part).procedure];
                let whole = self.weld(part).planned_arc_time(procedure);
                self.burn(whole.0 / f64::from(of.part.1), middle_amps(procedure));
                self.done.push((part, self.now));
                wait
            }
        };
        self.timed.waits.push(wait);
    }

    fn weld(&self, part: usize) -> &crate::job::model::Weld {
        &self.schedule.job.welds[self.schedule.parts[part].weld]
    }

    fn walk_to(&mut self, to: Point) {
        let way = self.at.map_or(0.0, |from| (to - from).length());
        self.at = Some(to);
        self.pass(way / WALK_MM_S);
        self.timed.time.walking.0 += way / WALK_MM_S;
    }

    fn between_arcs(&mut self) {
        self.pass(BETWEEN_ARCS_S);
        self.timed.time.between_arcs.0 += BETWEEN_ARCS_S;
    }

    /// Time without an arc.
    fn pass(&mut self, seconds: f64) {
        self.now += seconds;
        self.window.rest(milliseconds(seconds));
    }

    fn burn(&mut self, seconds: f64, amps: Option<Amperes>) {
        self.now += seconds;
        self.timed.time.arc.0 += seconds;
        // No procedure has a current that the window refuses; if one had, it would count as none.
        let _ = self
            .window
            .weld(milliseconds(seconds), amps.unwrap_or_default());
    }

    /// Waits for the joint and for the machine.
    fn wait(&mut self, part: usize) -> Option<Wait> {
        let joint = self.joint_wait(part);
        let machine = self.machine_wait(part);
        let (longer, what) = match (joint, machine) {
            (None, None) => return None,
            (Some(joint), Some((rest, _))) if joint.0 >= rest => joint,
            (_, Some(machine)) => machine,
            (Some(joint), None) => joint,
        };
        let time = &mut self.timed.time;
        match what {
            WaitFor::Joint { .. } => time.joints_cooling.0 += longer,
            WaitFor::Machine { .. } => time.machine_resting.0 += longer,
        }
        self.pass(longer);
        Some(Wait {
            seconds: Seconds(longer),
            what,
        })
    }

    fn joint_wait(&mut self, part: usize) -> Option<(f64, WaitFor)> {
        let schedule = self.schedule;
        let (number, procedure) = (self.weld(part).number, self.weld(part).procedure);
        let limit = schedule.job.procedures[procedure].interpass?;
        let tube = tube(schedule.job, self.weld(part), schedule.start);
        let diffusivity = tube.metal.conductivity_w_mk * 1e-3 / tube.metal.volumetric_heat_j_mm3k;
        let nearby = |&(other, ended): &(usize, f64)| {
            let elapsed = self.now - ended;
            let away = self.way(other, part)?;
            // A wait may be as long as what has passed, so heat that is on its way is looked at as well.
            let near = away <= FAR * (4.0 * diffusivity * (elapsed + 600.0)).sqrt();
            (near && elapsed < FORGOTTEN_S).then(|| Nearby {
                pulse: self.pulse(other, ended),
                away: Millimetres(away),
            })
        };
        let nearby: Vec<Nearby> = self.done.iter().filter_map(nearby).collect();
        match tube.wait_with_neighbours(limit, &nearby, Seconds(self.now)) {
            Ok(wait) => {
                (wait.0 >= WORTH_A_WAIT_S).then_some((wait.0.ceil(), WaitFor::Joint { limit }))
            }
            Err(error) => {
                self.remark(number, &error);
                None
            }
        }
    }

    /// How far the heat of one piece has to go to another, mm; none where no tube leads there.
    fn way(&self, from: usize, to: usize) -> Option<f64> {
        let (a, b) = (&self.schedule.parts[from], &self.schedule.parts[to]);
        if a.weld == b.weld {
            let between = (a.middle() - b.middle()).length();
            return Some((between - 0.5 * (a.length_mm() + b.length_mm())).max(0.0));
        }
        let (from, to) = (self.weld(from).joint, self.weld(to).joint);
        if from == to {
            Some(0.0)
        } else {
            self.schedule.ways.between(from, to)
        }
    }

    fn pulse(&self, part: usize, ended: f64) -> HeatPulse {
        let weld = self.weld(part);
        let planned = self.schedule.job.procedures[weld.procedure].planned_heat_input;
        HeatPulse {
            heat_input: JoulesPerMillimetre(planned.0 * f64::from(weld.runs)),
            length: Millimetres(self.schedule.parts[part].length_mm()),
            ended: Seconds(ended),
        }
    }

    fn machine_wait(&mut self, part: usize) -> Option<(f64, WaitFor)> {
        let machine = self.schedule.job.machine?;
        let weld = self.weld(part);
        let procedure = &self.schedule.job.procedures[weld.procedure];
        let amps = middle_amps(procedure)?;
        let number = weld.number;
        let arc_s = weld.planned_arc_time(procedure).0 / f64::from(self.schedule.parts[part].part.1);
        let duty = machine.rating.duty_at(amps).ok()?;
        match rest_needed(&self.window, machine, arc_s, amps) {
            Ok(0.0) => None,
            Ok(rest) => Some((rest, WaitFor::Machine { duty })),
            Err(TooLong) => {
                let remark = format!(
                    "Weld {number} alone is longer than the machine stands at {:.0} A ({:.0} % of ten minutes): weld it \
                     in parts with rests between them.",
                    amps.0,
                    100.0 * duty
                );
                self.add_remark(remark);
                Some((CYCLE.0, WaitFor::Machine { duty }))
            }
        }
    }

    fn remark(&mut self, number: u16, error: &FormulaError) {
        let remark = format!("How long to wait before weld {number} is not known: {error}.");
        self.add_remark(remark);
    }

    /// One of a kind is enough.
    fn add_remark(&mut self, remark: String) {
        if self.timed.remarks.is_empty() {
            self.timed.remarks.push(remark);
        }
    }
}

/// A weld that no rest makes short enough.
struct TooLong;

/// The shortest rest, in whole slices of ten seconds as the window counts, after which the arc stays within the rating
/// to its end. With the arc burning it can only get worse, so its end is the worst moment.
fn rest_needed(
    window: &DutyWindow,
    machine: Machine,
    arc_s: f64,
    amps: Amperes,
) -> Result<f64, TooLong> {
    let fits = |rest_s: f64| {
        let mut window = window.clone();
        window.rest(milliseconds(rest_s));
        window.weld(milliseconds(arc_s), amps).is_ok()
            && window.share_of(machine.rating) <= 1.0 + 1e-9
    };
    let slices = 1 + CYCLE.0 as u32 / 10;
    let rests = (0..=slices).map(|slice| f64::from(slice) * 10.0);
    rests.into_iter().find(|rest| fits(*rest)).ok_or(TooLong)
}

fn middle_amps(procedure: &crate::procedure::model::Procedure) -> Option<Amperes> {
    let amps = procedure.current;
    Some(Amperes((amps.low?.0 + amps.high?.0) / 2.0))
}

fn milliseconds(seconds: f64) -> u64 {
    // Negative and no number become zero.
    (seconds * 1000.0).round() as u64
}

#[cfg(test)]
mod tests;
