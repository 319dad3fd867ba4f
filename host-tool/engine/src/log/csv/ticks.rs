//! Puts rows on a uniform grid, and from there into the arc detector.
//!
//! A row's tick comes from its time since the first row, not since the row before, so that errors do not add up. A value
//! holds until the next row; if rows are missing, samples count as dropped.

use super::still::{FROZEN_S, Habit, Still};
use super::time_base::TimeBase;
use crate::log::assemble::keep_window;
use coldsquare_core::arc::{ArcConfig, ArcEvent, ArcState};
use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::samples::RawPair;

/// Largest jump of time in a recording, s: a year. A larger one is an error.
const MAX_JUMP_S: f64 = 366.0 * 86_400.0;

/// Rows that need a note.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Counts {
    pub merged: u64,
    pub gaps: u64,
    pub long_gaps: u64,
    pub went_back: u64,
    pub frozen: u64,
    pub frozen_ticks: u64,
}

/// Puts rows on the grid.
pub(super) struct Ticks {
    tick: f64,
    slack: u64,
    gap: u64,
    /// Ticks that the last row holds for.
    hold: u64,
    /// Time and tick from which all others are counted.
    base: Option<(f64, u64)>,
    last_time: f64,
    last: u64,
    /// The pair of the latest row, which holds until the next; `None` if the row lacks one.
    pending: Option<RawPair>,
    /// The same pair again and again: not yet passed on, because the recorder may stand still.
    run: Run,
    /// How often the pair of an arc is that of the row before.
    habit: Habit,
    /// Whether one channel alone stands still.
    pub still: Still,
    pub counts: Counts,
    /// Positions at which time went back: a bead on both sides of one may be one bead.
    pub breaks: Vec<u64>,
}

/// Rows with the very same pair.
#[derive(Clone, Copy, Debug, Default)]
struct Run {
    pair: Option<RawPair>,
    /// Position of the first row.
    from: u64,
    rows: u64,
    ticks: u64,
}

impl Ticks {
    /// `habit` is that of the pair, `habits` are those of volts and amps alone.
    pub(super) fn new(time_base: &TimeBase, habit: Habit, habits: [Habit; 2]) -> Self {
        let hold = (time_base.interval / time_base.tick).round().max(1.0) as u64;
        Self {
            tick: time_base.tick,
            slack: time_base.slack,
            gap: time_base.gap.max(hold + 1),
            hold,
            base: None,
            last_time: 0.0,
            last: 0,
            pending: None,
            run: Run::default(),
            habit,
            still: Still::new(time_base.tick, habits),
            counts: Counts::default(),
            breaks: Vec::new(),
        }
    }

    /// Takes the next row: its time in seconds, and its pair unless it had none.
    ///
    /// # Errors
    /// Says how far time jumps, if that is more than a year.
    pub(super) fn row(
        &mut self,
        time: f64,
        pair: Option<RawPair>,
        detector: &mut Detector,
    ) -> Result<(), String> {
        let Some((base_time, base_tick)) = self.base else {
            self.base = Some((time, 0));
            self.last_time = time;
            self.pending = pair;
            return Ok(());
        };
        let step = time - self.last_time;
        if step.abs() > MAX_JUMP_S {
            return Err(format!("time jumps by {:.0} days", step / 86_400.0));
        }
        self.last_time = time;
        if step < -self.tick * (self.slack as f64 + 1.5) {
            self.start_again(time, pair, detector);
            return Ok(());
        }
        // As `round`, which is a call on many processors; the cast saturates at nought.
        let wanted = base_tick + ((time - base_time) / self.tick + 0.5) as u64;
        let next = self.last + 1;
        let at = if wanted.abs_diff(next) <= self.slack {
            next
        } else {
            wanted
        };
        if at <= self.last {
            self.counts.merged += 1;
        } else {
            self.spend(at - self.last, detector);
            self.last = at;
        }
        self.pending = pair;
        Ok(())
    }

    /// Time of the last row, s.
    pub(super) const fn last_time(&self) -> f64 {
        self.last_time
    }

    /// Ends the recording.
    pub(super) fn finish(&mut self, detector: &mut Detector) {
        if self.base.is_some() {
            self.spend(self.hold, detector);
        }
        self.end_run(detector);
        self.still.pauses();
        detector.finish();
    }

    fn start_again(&mut self, time: f64, pair: Option<RawPair>, detector: &mut Detector) {
        self.counts.went_back += 1;
        self.spend(self.hold, detector);
        self.end_run(detector);
        self.still.pauses();
        detector.finish();
        self.last += self.hold;
        self.breaks.push(self.last);
        self.base = Some((time, self.last));
        self.pending = pair;
    }

    /// Passes on the pending row for this many ticks.
    fn spend(&mut self, ticks: u64, detector: &mut Detector) {
        let is_gap = ticks >= self.gap;
        self.counts.gaps += u64::from(is_gap);
        let held = if is_gap { self.hold } else { ticks };
        if self.pending.is_none() || self.run.pair != self.pending {
            self.end_run(detector);
            self.run.pair = self.pending;
            self.run.from = self.last;
        }
        if self.pending.is_none() {
            self.still.pauses();
            detector.dropped(ticks);
            return;
        }
        self.run.rows += 1;
        self.run.ticks += held;
        if is_gap {
            self.counts.long_gaps += u64::from(detector.is_long(ticks - held));
            self.end_run(detector);
            self.still.pauses();
            detector.dropped(ticks - held);
        }
    }

    /// Passes on the run: all of it, or only its first row if the recorder stood still.
    #[inline]
    fn end_run(&mut self, detector: &mut Detector) {
        let Run {
            pair,
            from,
            rows,
            ticks,
        } = std::mem::take(&mut self.run);
        let Some(pair) = pair.filter(|_| rows > 0) else {
            return;
        };
        if !detector.burns(pair) {
            self.still.pauses();
            detector.held(pair, ticks);
            return;
        }
        let is_long = ticks as f64 * self.tick > FROZEN_S;
        if is_long && self.habit.is_broken_by(rows) {
            let first = (ticks / rows).max(1);
            self.still.pauses();
            detector.held(pair, first);
            detector.dropped(ticks - first);
            self.counts.frozen += 1;
            self.counts.frozen_ticks += ticks - first;
            return;
        }
        self.habit.add(rows);
        self.still.burns(pair, rows, from, from + ticks);
        detector.held(pair, ticks);
    }
}

/// The arc detector of the logger, and what it has found.
pub(super) struct Detector {
    config: ArcConfig,
    zero: i32,
    burning: u32,
    state: ArcState,
    pub windows: Vec<Window>,
    pub beads: Vec<Bead>,
}

impl Detector {
    pub(super) fn new(config: ArcConfig) -> Self {
        Self {
            config,
            zero: config.counts().zero,
            burning: config.counts().burning,
            state: ArcState::new(),
            windows: Vec::new(),
            beads: Vec::new(),
        }
    }

    /// True while an arc burns with this pair.
    #[inline]
    pub(super) fn burns(&self, pair: RawPair) -> bool {
        pair.current().abs_diff(self.zero) >= self.burning
    }

    /// True for more samples than an arc may pause.
    fn is_long(&self, samples: u64) -> bool {
        samples > u64::from(self.config.counts().longest_gap)
    }

    #[inline]
    fn held(&mut self, pair: RawPair, times: u64) {
        let mut emit = keep(&mut self.windows, &mut self.beads);
        if times == 1 {
            self.state.step(&self.config, pair, &mut emit);
        } else {
            pieces(times, |times| {
                self.state.repeat(&self.config, pair, times, &mut emit)
            });
        }
    }

    fn dropped(&mut self, count: u64) {
        // A long time without samples begins a window of its own, so that it is known which bead it touches.
        if self.is_long(count) {
            self.finish();
        }
        let mut emit = keep(&mut self.windows, &mut self.beads);
        pieces(count, |count| {
            self.state.dropped(&self.config, count, &mut emit)
        });
    }

    fn finish(&mut self) {
        let mut emit = keep(&mut self.windows, &mut self.beads);
        self.state.finish(&self.config, &mut emit);
    }
}

fn keep<'a>(windows: &'a mut Vec<Window>, beads: &'a mut Vec<Bead>) -> impl FnMut(ArcEvent) + 'a {
    |event| match event {
        ArcEvent::Window(window) => keep_window(windows, window),
        ArcEvent::BeadEnded(bead) => beads.push(bead),
        ArcEvent::BeadStarted { .. } => {}
    }
}

/// Splits a large count into pieces that fit the detector.
fn pieces(mut count: u64, mut take: impl FnMut(u32)) {
    while count > 0 {
        let piece = u32::try_from(count).unwrap_or(u32::MAX);
        take(piece);
        count -= u64::from(piece);
    }
}
