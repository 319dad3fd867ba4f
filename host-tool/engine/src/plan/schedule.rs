//! The schedule of a plan: when each step begins, how long it takes, and the wait before it.
//!
//! There are two things to wait for. The joint may be no hotter than the interpass temperature of its procedure: its
//! own welds leave heat in it, and more comes along the tubes from its neighbours
//! ([`core::interpass`](coldsquare_core::interpass)). The machine may not exceed its rated duty cycle in any ten
//! minutes (EN IEC 60974-1, [`crate::formulas::duty`]). Both cool at the same time, so the longer wait counts.
//!
//! The runs of a weld count as one, with the heat of all; tacks heat nothing. The times below are rules of thumb:
//! change them here if your shop is faster.

use super::joint_heat::{HeatPaths, tube};
use super::model::{Time, Wait, WaitFor};
use super::parts::PlannedPart;
use crate::formulas::duty::{CYCLE, DutyWindow};
use crate::job::model::{Job, Machine, Point};
use coldsquare_core::formula::FormulaError;
use coldsquare_core::interpass::HeatPulse;
use coldsquare_core::interpass::neighbours::Nearby;
use coldsquare_core::units::{Amperes, Celsius, JoulesPerMillimetre, Millimetres, Seconds};

/// From one arc to the next, apart from walking and waiting: helmet up, look, place the torch. The same as in `cost`;
/// common practice, no source.
const BETWEEN_ARCS_S: f64 = 15.0;
/// Arc time of one tack. Common practice, no source.
const TACK_S: f64 = 1.5;
/// Walking round the table, torch in hand. Common practice, no source.
const WALK_MM_S: f64 = 500.0;
/// Clamps off, flip, clamps on. Common practice, no source.
const FLIP_S: f64 = 120.0;
/// Taking one clamp off. Common practice, no source.
const RELEASE_CLAMP_S: f64 = 10.0;
/// Shorter waits are over before the torch is in place.
const WORTH_A_WAIT_S: f64 = 1.0;
/// Heat reaches this many diffusion lengths √(4at); beyond, there is less than a thousandth of it.
const REACHES_LENGTHS: f64 = 2.7;
/// After this time a weld's heat has gone into the air, and no wait is for it, s.
const GONE_S: f64 = 7200.0;

/// One step at the bench, as the clock sees it.
#[derive(Clone, Copy, Debug)]
pub(super) enum BenchStep {
    /// Tacks around a point.
    Tack { at: Point, tacks: usize },
    /// Flip the frame.
    Flip,
    /// Take off the clamp at this place.
    ReleaseClamp { at: Point },
    /// Weld a part, by its index.
    Weld { part: usize },
}

/// When each step begins, the wait before it, and the time of all together.
#[derive(Clone, Debug, Default)]
pub(super) struct Times {
    pub(super) waits: Vec<Option<Wait>>,
    pub(super) begins: Vec<Seconds>,
    pub(super) time: Time,
    /// What could not be calculated, or no wait can help, as sentences.
    pub(super) remarks: Vec<String>,
}

/// Schedules plans of one job.
pub(super) struct Schedule<'a> {
    job: &'a Job,
    parts: &'a [PlannedPart],
    paths: HeatPaths,
    start: Celsius,
}

impl<'a> Schedule<'a> {
    /// `start` is the temperature of the frame before the first weld.
    pub(super) fn new(job: &'a Job, parts: &'a [PlannedPart], start: Celsius) -> Self {
        Self {
            job,
            parts,
            paths: HeatPaths::new(job),
            start,
        }
    }

    /// Runs through the steps by the clock.
    pub(super) fn times(&self, bench_steps: impl IntoIterator<Item = BenchStep>) -> Times {
        let mut clock = Clock {
            schedule: self,
            now: 0.0,
            at: None,
            window: DutyWindow::default(),
            done: Vec::new(),
            times: Times::default(),
        };
        for step in bench_steps {
            clock.run(step);
        }
        clock.times.time.total = Seconds(clock.now);
        clock.times
    }
}

struct Clock<'p, 'a> {
    schedule: &'p Schedule<'a>,
    /// Time since the first step began, s.
    now: f64,
    /// Where the welder is.
    at: Option<Point>,
    window: DutyWindow,
    /// Parts welded, and when each ended, s.
    done: Vec<(usize, f64)>,
    times: Times,
}

impl Clock<'_, '_> {
    fn run(&mut self, step: BenchStep) {
        self.times.begins.push(Seconds(self.now));
        let wait = match step {
            BenchStep::Flip => {
                self.pass(FLIP_S);
                self.times.time.flipping.0 += FLIP_S;
                None
            }
            BenchStep::ReleaseClamp { at } => {
                self.walk_to(at);
                self.pass(RELEASE_CLAMP_S);
                self.times.time.between_arcs.0 += RELEASE_CLAMP_S;
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
                self.burn(whole.0 / f64::from(of.number.1), middle_amps(procedure));
                self.done.push((part, self.now));
                wait
            }
        };
        self.times.waits.push(wait);
    }

    fn weld(&self, part: usize) -> &crate::job::model::Weld {
        &self.schedule.job.welds[self.schedule.parts[part].weld]
    }

    fn walk_to(&mut self, to: Point) {
        let walk_mm = self.at.map_or(0.0, |from| (to - from).length());
        self.at = Some(to);
        self.pass(walk_mm / WALK_MM_S);
        self.times.time.walking.0 += walk_mm / WALK_MM_S;
    }

    fn between_arcs(&mut self) {
        self.pass(BETWEEN_ARCS_S);
        self.times.time.between_arcs.0 += BETWEEN_ARCS_S;
    }

    /// Time without an arc.
    fn pass(&mut self, seconds: f64) {
        self.now += seconds;
        self.window.rest(milliseconds(seconds));
    }

    fn burn(&mut self, seconds: f64, amps: Option<Amperes>) {
        self.now += seconds;
        self.times.time.arc.0 += seconds;
        // The window refuses no current that a procedure may have; if it did, the arc would count as none.
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
        let time = &mut self.times.time;
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
            let away = self.heat_path(other, part)?;
            // Heat that arrives during the wait counts as well.
            let near = away <= REACHES_LENGTHS * (4.0 * diffusivity * (elapsed + 600.0)).sqrt();
            (near && elapsed < GONE_S).then(|| Nearby {
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

    /// Distance that the heat of one part travels to another, mm; `None` where no tube leads there.
    fn heat_path(&self, from: usize, to: usize) -> Option<f64> {
        let (a, b) = (&self.schedule.parts[from], &self.schedule.parts[to]);
        if a.weld == b.weld {
            let between = (a.middle() - b.middle()).length();
            return Some((between - 0.5 * (a.length_mm() + b.length_mm())).max(0.0));
        }
        let (from, to) = (self.weld(from).joint, self.weld(to).joint);
        if from == to {
            Some(0.0)
        } else {
            self.schedule.paths.between(from, to)
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
        let arc_s =
            weld.planned_arc_time(procedure).0 / f64::from(self.schedule.parts[part].number.1);
        let duty = machine.rating.duty_at(amps).ok()?;
        match rest_needed(&self.window, machine, arc_s, amps) {
            Ok(0.0) => None,
            Ok(rest) => Some((rest, WaitFor::Machine { duty })),
            Err(TooLong) => {
                let remark = format!(
                    "Weld {number} alone exceeds the duty cycle of the machine at {:.0} A ({:.0} % of ten minutes): \
                     weld it in parts and let the machine cool between them.",
                    amps.0,
                    100.0 * duty
                );
                self.add_remark(remark);
                Some((CYCLE.0, WaitFor::Machine { duty }))
            }
        }
    }

    fn remark(&mut self, number: u16, error: &FormulaError) {
        let remark = format!("The wait before weld {number} cannot be calculated: {error}.");
        self.add_remark(remark);
    }

    /// Keeps the first only: the others would say the same.
    fn add_remark(&mut self, remark: String) {
        if self.times.remarks.is_empty() {
            self.times.remarks.push(remark);
        }
    }
}

/// The weld exceeds the duty cycle even after the longest rest.
struct TooLong;

/// The shortest rest after which the whole arc stays within the rating, in steps of ten seconds as the window counts.
/// The end of the arc is the worst moment, so only that is checked.
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
    // Negative numbers and NaN become zero.
    (seconds * 1000.0).round() as u64
}

#[cfg(test)]
mod tests;
