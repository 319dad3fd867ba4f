//! A welder's shift as a front end, as long as it is asked for, beside an exact account of every pair that it gave.
//!
//! Arcs are stretches of the simulated machine's, with fresh noise on each pair, so that 864 million of them cost
//! seconds. What a bead is, where it begins and what is in it, is written down here by the script, not by the logger's
//! detector.

use coldsquare_core::bead::Bead;
use coldsquare_core::link::{MAX_FRAME, Request, encode};
use coldsquare_core::record::{ClockSource, WallClock};
use coldsquare_core::samples::{MAX_COUNT, RawPair, Sums};
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::sim::{ComputerEnd, Converter, Machine, Moment, Random, Transfer};
use std::cell::Cell;
use std::collections::VecDeque;
use std::rc::Rc;

pub const PAIRS_PER_SECOND: u64 = 10_000;
/// Pairs in a stretch of arc that is used again and again.
const STRETCH: usize = 30_000;
/// 2026-11-26T06:00:00Z, when the shift begins.
const BEGINS_UNIX_MS: u64 = 1_795_672_800_000;

/// What happens next.
#[derive(Clone, Copy, Debug)]
enum Step {
    /// No current for so many pairs.
    Dark(u64),
    /// The arc of this stretch for so many.
    Arc(usize, u64),
    /// The current is beyond the clamp for so many.
    Surge(usize, u64),
    /// So many pairs are lost.
    Lost(u32),
    /// A bead begins here, and ends here.
    Begins,
    Ends,
    /// The arc went out, and is back from here on.
    Back,
    /// A computer asks for the clock to be moved by so many milliseconds.
    SetClock(i64),
    /// The clock jumps by itself.
    ClockJumps(i64),
    Press,
}

/// What was really there.
#[derive(Debug, Default)]
pub struct Account {
    /// Every pair, and all positions, lost ones included.
    pub all: Sums,
    pub positions: u64,
    pub dropped: u64,
    pub beads: Vec<Bead>,
    pub presses: u64,
    /// Steps of the clock that were asked for while no arc burned, and how often while one did.
    pub clock_steps: Vec<i64>,
    pub asked_in_an_arc: usize,
}

/// What clock and panel see of the shift.
#[derive(Debug, Default)]
pub struct Shared {
    position: Cell<u64>,
    clock_ms: Cell<i64>,
    presses: Cell<u32>,
}

pub struct Shift {
    script: VecDeque<Step>,
    stretches: Vec<Vec<RawPair>>,
    step: Step,
    left: u64,
    at: usize,
    noise: u32,
    random: Random,
    /// The sums of the present step.
    sums: Sums,
    /// The bead being made: its number is the one after the last of the account.
    bead: Option<Bead>,
    account: Account,
    shared: Rc<Shared>,
    cable: ComputerEnd,
}

/// The zeros and limits that the counts go by.
pub fn converter() -> Converter {
    Converter::twenty_four_bit(PAIRS_PER_SECOND as f64)
}

/// Arcs of light frames: short circuits and pulses.
fn stretches() -> Vec<Vec<RawPair>> {
    let short = |shorts_hz, volts, amps| (Transfer::ShortCircuit { shorts_hz }, volts, amps);
    let pulsed = |pulses_hz, volts, amps| (Transfer::Pulsed { pulses_hz }, volts, amps);
    let arcs = [
        short(80.0, 17.5, 90.0),
        short(95.0, 19.0, 120.0),
        short(110.0, 20.5, 160.0),
        pulsed(90.0, 23.0, 110.0),
        pulsed(140.0, 25.0, 170.0),
    ];
    let stretch = |(seed, (transfer, volts, amps))| {
        let mut machine = Machine::new(PAIRS_PER_SECOND as f64, Random::new(seed));
        let arc = Moment::Arc {
            transfer,
            volts,
            amps,
        };
        let mut pair = || {
            let (volts, amps) = machine.next(&arc);
            converter().count(volts, amps)
        };
        // The first pulse begins at no current.
        for _ in 0..100 {
            let _ = pair();
        }
        (0..STRETCH).map(|_| pair()).collect()
    };
    (1..).zip(arcs).map(stretch).collect()
}

impl Shift {
    /// A shift of so many seconds. Asks for the clock to be set go out through `cable`.
    pub fn new(seconds: u64, seed: u64, cable: ComputerEnd) -> (Self, Rc<Shared>) {
        let mut random = Random::new(seed);
        let stretches = stretches();
        let script = script(seconds * PAIRS_PER_SECOND, stretches.len(), &mut random);
        let shared = Rc::<Shared>::default();
        let shift = Self {
            script,
            stretches,
            step: Step::Dark(0),
            left: 0,
            at: 0,
            noise: 0x9e37_79b9,
            random,
            sums: Sums::default(),
            bead: None,
            account: Account::default(),
            shared: Rc::clone(&shared),
            cable,
        };
        (shift, shared)
    }

    pub fn into_account(self) -> Account {
        self.account
    }

    /// Fresh noise, ± 64 counts on each channel.
    fn noise(&mut self) -> (i32, i32) {
        self.noise ^= self.noise << 13;
        self.noise ^= self.noise >> 17;
        self.noise ^= self.noise << 5;
        let of = |bits: u32| (bits & 127) as i32 - 64;
        (of(self.noise), of(self.noise >> 7))
    }

    fn pair(&mut self) -> RawPair {
        let (v, i) = self.noise();
        let dark = (5_000 + v, -3_210 + i);
        let (v, i) = match self.step {
            Step::Arc(stretch, _) => {
                self.at = (self.at + 1) % STRETCH;
                let pair = self.stretches[stretch][self.at];
                (pair.voltage() + v, pair.current() + i)
            }
            Step::Surge(stretch, _) => (self.stretches[stretch][self.at].voltage(), MAX_COUNT),
            _ => dark,
        };
        RawPair::new(v, i)
    }

    /// Books what the step was.
    fn end_step(&mut self) {
        let sums = std::mem::take(&mut self.sums);
        self.account.all.merge(&sums);
        self.account.positions += sums.n;
        if let Some(bead) = &mut self.bead {
            bead.sums.merge(&sums);
            match self.step {
                Step::Arc(..) => bead.arc_samples += sums.n,
                Step::Surge(..) => {
                    bead.arc_samples += sums.n;
                    bead.clipped_current += sums.n as u32;
                }
                // A dip belongs to the arc.
                Step::Dark(pairs) if pairs < LONGEST_DIP => bead.arc_samples += sums.n,
                _ => {}
            }
        }
        self.shared.position.set(self.account.positions);
    }

    /// The next step that takes time; `None` at the end of the shift. Gives the pairs that are lost first.
    fn begin_step(&mut self) -> Option<Option<u32>> {
        let step = self.script.pop_front()?;
        self.step = step;
        match step {
            Step::Dark(pairs) => self.left = pairs,
            Step::Arc(_, pairs) => {
                self.at = self.random.below(STRETCH as u32) as usize;
                self.left = pairs;
            }
            Step::Surge(_, pairs) => self.left = pairs,
            Step::Lost(pairs) => {
                self.account.positions += u64::from(pairs);
                self.account.dropped += u64::from(pairs);
                if let Some(bead) = &mut self.bead {
                    bead.arc_samples += u64::from(pairs);
                    bead.dropped += pairs;
                }
                return Some(Some(pairs));
            }
            Step::Begins => {
                self.bead = Some(Bead {
                    number: self.account.beads.len() as u32 + 1,
                    start: self.account.positions,
                    ..Bead::default()
                });
            }
            Step::Ends => self.account.beads.extend(self.bead.take()),
            Step::Back => {
                if let Some(bead) = &mut self.bead {
                    bead.restarts += 1;
                }
            }
            Step::SetClock(by_ms) => self.ask_for_clock(by_ms),
            Step::ClockJumps(by_ms) => self.move_clock(by_ms),
            Step::Press => {
                self.account.presses += 1;
                self.shared.presses.set(self.shared.presses.get() + 1);
            }
        }
        Some(None)
    }

    fn move_clock(&self, by_ms: i64) {
        self.shared.clock_ms.set(self.shared.clock_ms.get() + by_ms);
    }

    fn ask_for_clock(&mut self, by_ms: i64) {
        let burns = matches!(self.script.front(), Some(Step::Arc(..)));
        if burns {
            self.account.asked_in_an_arc += 1;
        } else {
            self.account.clock_steps.push(by_ms);
        }
        let unix_ms = self.shared.now_ms().saturating_add_signed(by_ms);
        let mut frame = [0; MAX_FRAME];
        let length = encode(1, &Request::SetClock { unix_ms }, &mut frame).expect("fits");
        self.cable.send(&frame[..length]);
    }
}

impl FrontEnd for Shift {
    fn next(&mut self) -> Reading {
        while self.left == 0 {
            self.end_step();
            match self.begin_step() {
                None => return Reading::Waiting,
                Some(Some(lost)) => return Reading::Dropped(lost),
                Some(None) => {}
            }
        }
        self.left -= 1;
        let pair = self.pair();
        let (v, i) = (i128::from(pair.voltage()), i128::from(pair.current()));
        self.sums.n += 1;
        self.sums.v += v;
        self.sums.i += i;
        self.sums.vv += v * v;
        self.sums.ii += i * i;
        self.sums.vi += v * i;
        Reading::Pair(pair)
    }
}

impl Shared {
    fn now_ms(&self) -> u64 {
        let passed = self.position.get() * 1000 / PAIRS_PER_SECOND;
        (BEGINS_UNIX_MS + passed).saturating_add_signed(self.clock_ms.get())
    }
}

/// A clock that counts from step to step of the shift: near enough, and always the same.
pub struct WallOfShift(pub Rc<Shared>);

impl Clock for WallOfShift {
    fn now(&mut self) -> Option<WallClock> {
        let unix_ms = self.0.now_ms();
        let source = ClockSource::RealTimeClock;
        Some(WallClock { unix_ms, source })
    }

    fn set(&mut self, unix_ms: u64) -> bool {
        let by = unix_ms as i64 - self.0.now_ms() as i64;
        self.0.clock_ms.set(self.0.clock_ms.get() + by);
        true
    }

    fn can_be_set(&self) -> bool {
        true
    }
}

pub struct PanelOfShift(pub Rc<Shared>);

impl Panel for PanelOfShift {
    fn input(&mut self) -> Option<Input> {
        let left = self.0.presses.get().checked_sub(1)?;
        self.0.presses.set(left);
        Some(Input::Next)
    }

    fn show(&mut self, _: Shown) {}
}

/// Shorter darkness belongs to the arc: 25 ms.
const LONGEST_DIP: u64 = PAIRS_PER_SECOND / 40;

/// Beads of seconds to minutes, pauses, breaks, and everything that goes wrong on a day.
fn script(pairs: u64, stretches: usize, random: &mut Random) -> VecDeque<Step> {
    let mut steps = VecDeque::new();
    let time = |random: &mut Random, least: f64, most: f64| {
        (random.between(least, most) * PAIRS_PER_SECOND as f64) as u64
    };
    let mut work = VecDeque::new();
    let mut left = pairs;
    let mut beads = 0;
    loop {
        work.clear();
        let stretch = random.below(stretches as u32) as usize;
        // Set up, measure, clamp; now and then a break.
        let pause = match random.below(60) {
            0 => time(random, 300.0, 1800.0),
            1..=9 => time(random, 40.0, 240.0),
            _ => time(random, 1.0, 25.0),
        };
        let (before, after) = (pause / 2, pause - pause / 2);
        work.push_back(Step::Dark(before));
        if random.below(4) == 0 {
            work.push_back(Step::Press);
        }
        match beads % 40 {
            7 => work.push_back(Step::SetClock(3_600_000)),
            17 => work.push_back(Step::SetClock(-3_600_000)),
            27 => work.push_back(Step::ClockJumps(86_400_000)),
            37 => work.push_back(Step::ClockJumps(-86_400_000)),
            // Touched the work: too short for a bead.
            11 | 31 => {
                work.push_back(Step::Arc(stretch, time(random, 0.005, 0.04)));
                work.push_back(Step::Dark(time(random, 0.5, 1.0)));
            }
            13 | 33 => work.push_back(Step::Lost(1 + random.below(60_000))),
            _ => {}
        }
        work.push_back(Step::Dark(after));
        bead(stretch, beads, random, &mut work);
        beads += 1;
        let takes: u64 = work.iter().map(Step::pairs).sum();
        // The last second is rest, so that the last bead is over.
        let Some(rest) = left.checked_sub(takes + PAIRS_PER_SECOND) else {
            steps.push_back(Step::Dark(left));
            return steps;
        };
        left = rest + PAIRS_PER_SECOND;
        steps.append(&mut work);
    }
}

fn bead(stretch: usize, number: u64, random: &mut Random, work: &mut VecDeque<Step>) {
    let time = |random: &mut Random, least: f64, most: f64| {
        (random.between(least, most) * PAIRS_PER_SECOND as f64) as u64
    };
    work.push_back(Step::Begins);
    let lasts = match random.below(20) {
        0 => time(random, 60.0, 240.0),
        1..=6 => time(random, 0.1, 0.9),
        _ => time(random, 2.0, 45.0),
    };
    let (first, second) = (lasts / 2, lasts - lasts / 2);
    let back = |work: &mut VecDeque<Step>, dark| {
        work.push_back(Step::Dark(dark));
        work.push_back(Step::Back);
    };
    if number.is_multiple_of(9) {
        // Strikes and dies before it holds.
        for _ in 0..1 + random.below(4) {
            work.push_back(Step::Arc(stretch, time(random, 0.02, 0.15)));
            back(work, time(random, 0.04, 0.3));
        }
    }
    work.push_back(Step::Arc(stretch, first));
    match number % 10 {
        1 => back(work, time(random, 0.03, 0.39)),
        2 => work.push_back(Step::Dark(
            1 + u64::from(random.below(LONGEST_DIP as u32 - 1)),
        )),
        3 => work.push_back(Step::Lost(1 + random.below(3_900))),
        4 => work.push_back(Step::Surge(stretch, 1 + u64::from(random.below(300)))),
        5 => work.push_back(Step::SetClock(-7_200_000)),
        6 => work.push_back(Step::ClockJumps(-1_800_000)),
        7 => {
            // Between two arcs of one bead, no arc burns.
            work.push_back(Step::Dark(time(random, 0.04, 0.1)));
            work.push_back(Step::SetClock(5_400_000));
            back(work, time(random, 0.04, 0.2));
        }
        _ => {}
    }
    work.push_back(Step::Arc(stretch, second));
    work.push_back(Step::Ends);
    // It is over when nothing follows for longer than the longest gap.
    work.push_back(Step::Dark(PAIRS_PER_SECOND / 2));
}

impl Step {
    const fn pairs(&self) -> u64 {
        match *self {
            Self::Dark(pairs) | Self::Arc(_, pairs) | Self::Surge(_, pairs) => pairs,
            Self::Lost(pairs) => pairs as u64,
            _ => 0,
        }
    }
}
