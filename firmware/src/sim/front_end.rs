//! A build as the logger sees it: sample pairs, presses, a clock.

use super::build::{Build, Mishap, SimulatedBead};
use super::machine::{Machine, Moment, Transfer};
use super::random::Random;
use super::truth::{TrueBead, Truth};
use crate::clock::Clock;
use crate::front_end::{FrontEnd, Reading};
use crate::panel::{Input, Panel, Shown};
use coldsquare_core::record::{ClockSource, WallClock};
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::rc::Rc;

/// How long the trigger is pulled before the arc is struck, s.
const TRIGGER_S: f64 = 0.15;
/// How long high frequency is on before a TIG arc is struck, s.
const HIGH_FREQUENCY_S: f64 = 0.02;
/// Time at rest after the last bead, s.
const AFTER_S: f64 = 1.0;

/// What happens next.
#[derive(Clone, Copy, Debug)]
enum Step {
    /// The machine does this for this many samples.
    Lasts(Moment, u64),
    /// The same, and the samples are lost.
    Lost(Moment, u32),
    /// The welder presses.
    Press(Input),
    /// A bead begins; a bead ends, with this many re-strikes.
    Begins,
    Ends {
        restarts: u16,
    },
}

/// What machine, panel and clock share: the position in the build, and presses that the logger has not read.
#[derive(Debug, Default)]
struct Bench {
    position: Cell<u64>,
    presses: RefCell<VecDeque<Input>>,
}

/// Machine and converter that play a build.
#[derive(Debug)]
pub struct SimulatedFrontEnd {
    machine: Machine,
    script: VecDeque<Step>,
    bench: Rc<Bench>,
    reversed_clamp: bool,
    /// The bead being welded.
    bead: Option<TrueBead>,
    truth: Truth,
}

pub(super) fn set_up(build: &Build, seed: u64) -> (SimulatedFrontEnd, ScriptedPanel, DeskClock) {
    let mut random = Random::new(seed);
    let rate = build.converter.calibration.sample_rate_hz;
    let script = Scripted::new(build, Random::new(u64::from(random.bits()))).steps;
    let bench = Rc::<Bench>::default();
    let front_end = SimulatedFrontEnd {
        machine: Machine::new(rate, random),
        script,
        bench: Rc::clone(&bench),
        reversed_clamp: build.reversed_clamp,
        bead: None,
        truth: Truth::new(build.converter),
    };
    let clock = DeskClock {
        started_unix_ms: build.started_unix_ms,
        rate_hz: rate,
        bench: Rc::clone(&bench),
    };
    (front_end, ScriptedPanel { bench }, clock)
}

impl SimulatedFrontEnd {
    /// What really happened, once the build is over.
    #[must_use]
    pub fn into_truth(self) -> Truth {
        self.truth
    }

    /// The next sample as it reaches the converter.
    fn sample(&mut self, moment: &Moment) -> (f64, f64) {
        let (volts, amps) = self.machine.next(moment);
        #[allow(clippy::cast_possible_truncation)]
        // This rounding is part of the truth; see `Truth::samples`.
        let (volts, amps) = (
            volts as f32,
            if self.reversed_clamp { -amps } else { amps } as f32,
        );
        self.truth.samples.push((volts, amps));
        self.bench.position.set(self.position());
        (volts.into(), amps.into())
    }

    fn position(&self) -> u64 {
        self.truth.samples.len() as u64
    }

    fn begin_bead(&mut self) {
        let start = self.position();
        self.bead = Some(TrueBead {
            start,
            end: start,
            arc_samples: 0,
            restarts: 0,
            energy_j: 0.0,
        });
    }

    fn end_bead(&mut self, restarts: u16) {
        let end = self.position();
        if let Some(bead) = self.bead.take() {
            let energy_j = self.truth.energy_between(bead.start, end).0.abs();
            self.truth.beads.push(TrueBead {
                end,
                restarts,
                energy_j,
                ..bead
            });
        }
    }

    fn burn(&mut self, moment: &Moment, samples: u64) {
        if let (Moment::Arc { .. }, Some(bead)) = (moment, &mut self.bead) {
            bead.arc_samples += samples;
        }
    }
}

impl FrontEnd for SimulatedFrontEnd {
    fn next(&mut self) -> Reading {
        loop {
            match self.script.pop_front() {
                None => return Reading::Waiting,
                Some(Step::Lasts(_, 0) | Step::Lost(_, 0)) => {}
                Some(Step::Lasts(moment, left)) => {
                    self.script.push_front(Step::Lasts(moment, left - 1));
                    self.burn(&moment, 1);
                    let (volts, amps) = self.sample(&moment);
                    let pair = self.truth.converter.count(volts, amps);
                    self.truth.count(pair);
                    return Reading::Pair(pair);
                }
                Some(Step::Lost(moment, count)) => {
                    self.burn(&moment, count.into());
                    (0..count).for_each(|_| {
                        self.sample(&moment);
                    });
                    self.truth.dropped += u64::from(count);
                    return Reading::Dropped(count);
                }
                Some(Step::Press(input)) => self.bench.presses.borrow_mut().push_back(input),
                Some(Step::Begins) => self.begin_bead(),
                Some(Step::Ends { restarts }) => self.end_bead(restarts),
            }
        }
    }
}

/// A build turned into steps.
struct Scripted {
    steps: VecDeque<Step>,
    rate: f64,
    open: Moment,
    random: Random,
}

impl Scripted {
    fn new(build: &Build, random: Random) -> Self {
        let mut scripted = Self {
            steps: VecDeque::new(),
            rate: build.converter.calibration.sample_rate_hz,
            open: Moment::OpenCircuit {
                volts: build.open_circuit_volts,
            },
            random,
        };
        for bead in &build.beads {
            scripted.pause(bead, build.open_circuit_volts);
            scripted.bead(bead);
        }
        scripted.lasts(Moment::Rest, AFTER_S);
        scripted
    }

    fn lasts(&mut self, moment: Moment, seconds: f64) {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        // `as` saturates.
        let samples = (seconds * self.rate).round() as u64;
        self.steps.push_back(Step::Lasts(moment, samples));
    }

    fn pause(&mut self, bead: &SimulatedBead, volts: f64) {
        let trigger = TRIGGER_S.min(bead.pause_s / 2.0);
        let rest = bead.pause_s - trigger;
        self.lasts(Moment::Rest, rest / 2.0);
        self.steps.extend(bead.press.map(Step::Press));
        self.lasts(Moment::Rest, rest / 2.0);
        if matches!(
            bead.transfer,
            Transfer::TigDirect | Transfer::TigAlternating { .. }
        ) {
            let high_frequency = HIGH_FREQUENCY_S.min(trigger);
            self.lasts(self.open, trigger - high_frequency);
            self.lasts(Moment::HighFrequency { volts }, high_frequency);
        } else {
            self.lasts(self.open, trigger);
        }
    }

    fn bead(&mut self, bead: &SimulatedBead) {
        let &SimulatedBead {
            transfer,
            volts,
            amps,
            arc_s,
            ..
        } = bead;
        let arc = Moment::Arc {
            transfer,
            volts,
            amps,
        };
        let mut restarts = 0;
        self.steps.push_back(Step::Begins);
        if let Some(Mishap::Stutter { tries }) = bead.mishap {
            for _ in 0..tries {
                let (arc_on, arc_off) = (
                    self.random.between(0.03, 0.15),
                    self.random.between(0.04, 0.15),
                );
                self.lasts(arc, arc_on);
                self.lasts(self.open, arc_off);
                restarts += 1;
            }
        }
        self.lasts(arc, arc_s / 2.0);
        match bead.mishap {
            Some(Mishap::Interruption { off_s }) => {
                self.lasts(self.open, off_s);
                restarts += 1;
            }
            Some(Mishap::Lost { samples }) => self.steps.push_back(Step::Lost(arc, samples)),
            Some(Mishap::Stutter { .. }) | None => {}
        }
        self.lasts(arc, arc_s / 2.0);
        self.steps.push_back(Step::Ends { restarts });
    }
}

/// Presses buttons when the build says so.
#[derive(Debug)]
pub struct ScriptedPanel {
    bench: Rc<Bench>,
}

impl Panel for ScriptedPanel {
    fn input(&mut self) -> Option<Input> {
        self.bench.presses.borrow_mut().pop_front()
    }

    fn show(&mut self, _shown: Shown) {}
}

/// A clock that was set when the build began and runs with it.
#[derive(Debug)]
pub struct DeskClock {
    started_unix_ms: u64,
    rate_hz: f64,
    bench: Rc<Bench>,
}

impl Clock for DeskClock {
    fn now(&mut self) -> Option<WallClock> {
        let since_start_ms = 1000.0 * self.bench.position.get() as f64 / self.rate_hz;
        Some(WallClock {
            unix_ms: self.started_unix_ms + since_start_ms as u64,
            source: ClockSource::Host,
        })
    }

    fn set(&mut self, unix_ms: u64) -> bool {
        let since_start_ms = 1000.0 * self.bench.position.get() as f64 / self.rate_hz;
        self.started_unix_ms = unix_ms.saturating_sub(since_start_ms as u64);
        true
    }

    fn can_be_set(&self) -> bool {
        true
    }
}
