//! Beads out of the stream of samples: when the arc burned, and what belongs together.
//!
//! The detector looks at the current alone. Open-circuit voltage without current is no arc; an electrode that sticks
//! carries current and counts, with the little energy it has. Four phases (docs/decisions/0002):
//!
//! ```text
//!           strikes             below burning               longest dip over
//!   idle ------------> burning ---------------> dip ---------------------------> gap
//!    ^                    ^  <---- burns again --'                               |  |
//!    |                    '------------------- strikes again: restarts + 1 ------'  |
//!    '-------------------------- longest gap over: the bead ended at its last lit sample
//! ```
//!
//! Windows are cut where the arc starts and stops, so every window lies wholly inside one bead or outside all of
//! them, and windows, beads and idle time add up exactly. A dip is kept apart until it is known what it was: part of
//! the arc (a zero crossing, a pulse), or the start of the dark.
//!
//! [`ArcConfig`] never changes, [`ArcState`] is a plain value, [`ArcState::step`] takes one sample. A sample that lies
//! among those before it is compared with two bands and added to 64-bit sums; the rest is looked at only when a sample
//! leaves a band or the window is full, and 128-bit sums are touched once a window.

mod config;
mod steady;

pub use config::{ArcConfig, ArcConfigError, ArcCounts, ArcSettings};

use crate::bead::{Bead, Window};
use crate::samples::RawPair;
use steady::Steady;

/// What the detector has found. At most five of them come from one call, in the order of time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ArcEvent {
    /// A window is complete. Windows follow one another without a break, from the first sample on.
    Window(Window),
    /// An arc has burned long enough to be a bead; told once the window in which it did so is complete.
    BeadStarted {
        /// Number of the bead, from 1.
        number: u32,
        /// Position of its first sample.
        start: u64,
    },
    /// A bead is complete: all its windows have been told before.
    BeadEnded(Bead),
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Phase {
    #[default]
    Idle,
    Burning,
    Dip,
    Gap,
}

/// Where the detector is. Starts at position 0 in the dark.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ArcState {
    phase: Phase,
    /// The window being filled.
    window: Window,
    /// In a dip: the samples since the last lit one.
    dip: Window,
    /// The bead up to its last lit window, and the same with the gap windows since; equal while it burns.
    bead: Bead,
    bead_and_gap: Bead,
    /// Beads told so far; the present one has its number once it was long enough.
    beads: u32,
    told: bool,
    steady: Steady,
}

impl ArcState {
    /// Before the first sample.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// In the dark at a position, after so many beads: where an earlier recording ended.
    #[must_use]
    pub fn resume(position: u64, beads: u32) -> Self {
        Self {
            window: opened(position, false),
            beads,
            ..Self::default()
        }
    }

    /// Position of the next sample: samples taken and dropped so far.
    #[must_use]
    pub const fn position(&self) -> u64 {
        match self.phase {
            Phase::Dip => end(&self.dip),
            _ => end(&self.window),
        }
    }

    /// True while no bead is open: the arc is out, and not just for a gap inside a bead.
    #[must_use]
    pub const fn is_idle(&self) -> bool {
        matches!(self.phase, Phase::Idle)
    }

    /// True while the arc burns, dips included.
    #[must_use]
    pub const fn is_lit(&self) -> bool {
        matches!(self.phase, Phase::Burning | Phase::Dip)
    }

    /// Takes one sample. `config` is that of the sample before, unless [`ArcState::reconfigured`] was called since.
    #[inline]
    pub fn step(&mut self, config: &ArcConfig, pair: RawPair, emit: &mut impl FnMut(ArcEvent)) {
        if !self.step_steadily(pair) {
            self.step_in_full(config, pair, emit);
        }
    }

    /// Takes the sample if it changes nothing but the sums of a window that stays open, as most do. When it gives
    /// false, nothing was taken, and [`ArcState::step_in_full`] is the other half of the step.
    #[inline(always)]
    pub const fn step_steadily(&mut self, pair: RawPair) -> bool {
        let steady = self.steady.takes(self.window.sums.n, pair);
        if steady {
            self.window.sums.add_among(pair);
        }
        steady
    }

    /// From the next sample on, another configuration is used.
    pub fn reconfigured(&mut self) {
        self.steady = Steady::default();
    }

    /// Takes a sample of which nothing is known. [`ArcState::step`] does the same in fewer instructions.
    pub fn step_in_full(
        &mut self,
        config: &ArcConfig,
        pair: RawPair,
        emit: &mut impl FnMut(ArcEvent),
    ) {
        if self.turns(config, pair) {
            self.turn(config, emit);
        }
        let filled = self.filled();
        // A full window cannot occur here: the configuration keeps its length below its capacity. And no more samples
        // clip than are added, so the counts of clipped ones cannot overflow.
        if filled.sums.add(pair) {
            filled.clipped_voltage += u16::from(config.voltage_limits.clips(pair.voltage()));
            filled.clipped_current += u16::from(config.current_limits.clips(pair.current()));
        }
        if self.room(config) == 0 {
            self.settle(config, emit);
        }
        self.steady = Steady::after(self, config, pair);
    }

    /// Takes the same sample `times` times over, as a slow recording holds its values: the same as that many steps.
    pub fn held(
        &mut self,
        config: &ArcConfig,
        pair: RawPair,
        times: u32,
        emit: &mut impl FnMut(ArcEvent),
    ) {
        let clipped_voltage = u16::from(config.voltage_limits.clips(pair.voltage()));
        let clipped_current = u16::from(config.current_limits.clips(pair.current()));
        let mut left = times;
        while left > 0 {
            if self.turns(config, pair) {
                self.turn(config, emit);
            }
            // Never zero: every window that is full has been closed.
            let taken = u16::try_from(self.room(config).min(left))
                .unwrap_or(u16::MAX)
                .max(1);
            let filled = self.filled();
            if filled.sums.add_held(pair, taken) {
                filled.clipped_voltage += clipped_voltage * taken;
                filled.clipped_current += clipped_current * taken;
            }
            left -= u32::from(taken);
            if self.room(config) == 0 {
                self.settle(config, emit);
            }
        }
        if times > 0 {
            self.steady = Steady::after(self, config, pair);
        }
    }

    /// Notes that `count` samples were due and never came.
    ///
    /// Their time counts where they were lost: in a burning arc they are arc time. Only when more than the longest gap
    /// is missing, nothing is known about the arc, and it counts as out since the last sample before.
    pub fn dropped(&mut self, config: &ArcConfig, count: u32, emit: &mut impl FnMut(ArcEvent)) {
        let too_many = |window: &Window| window.dropped.checked_add(count).is_none();
        if self.is_lit() && (count > config.counts.longest_gap || too_many(self.filled())) {
            self.go_dark(config, emit);
        }
        if too_many(&self.window) {
            self.close_window(config, emit);
        }
        self.filled().dropped += count;
        if self.room(config) == 0 {
            self.settle(config, emit);
        }
        self.steady = Steady::default();
    }

    /// Ends the recording: closes what is open. The next sample goes on at the same position, in the dark.
    pub fn finish(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        if self.is_lit() {
            self.go_dark(config, emit);
        }
        self.close_window(config, emit);
        if self.phase == Phase::Gap {
            self.end_bead(config, emit);
        }
        self.steady = Steady::default();
    }

    #[inline]
    fn filled(&mut self) -> &mut Window {
        if self.phase == Phase::Dip {
            &mut self.dip
        } else {
            &mut self.window
        }
    }

    /// True when this sample changes the phase.
    #[inline]
    fn turns(&self, config: &ArcConfig, pair: RawPair) -> bool {
        match self.phase {
            Phase::Burning => !config.burns(pair.current()),
            Phase::Dip => config.burns(pair.current()),
            Phase::Gap | Phase::Idle => config.strikes(pair.current()),
        }
    }

    /// Changes the phase, before the sample that does so is taken.
    fn turn(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        match self.phase {
            Phase::Burning => {
                self.dip = opened(end(&self.window), false);
                self.phase = Phase::Dip;
            }
            Phase::Dip => {
                self.window.merge(&self.dip);
                self.phase = Phase::Burning;
                if self.room(config) == 0 {
                    self.close_window(config, emit);
                }
            }
            Phase::Gap => {
                self.close_window(config, emit);
                self.bead_and_gap.restarts = self.bead_and_gap.restarts.saturating_add(1);
                self.window.lit = true;
                self.phase = Phase::Burning;
            }
            Phase::Idle => {
                self.close_window(config, emit);
                self.bead = Bead {
                    start: self.window.start,
                    ..Bead::default()
                };
                self.bead_and_gap = self.bead;
                self.told = false;
                self.window.lit = true;
                self.phase = Phase::Burning;
            }
        }
    }

    /// Samples that still fit before something has to be settled.
    #[inline]
    fn room(&self, config: &ArcConfig) -> u32 {
        let counts = &config.counts;
        match self.phase {
            Phase::Burning => counts.lit_window.saturating_sub(span(&self.window)),
            Phase::Dip => counts.longest_dip.saturating_sub(span(&self.dip)),
            Phase::Idle => counts.dark_window.saturating_sub(span(&self.window)),
            Phase::Gap => {
                let dark = u32::try_from(self.dark_time()).unwrap_or(u32::MAX);
                let window = counts.dark_window.saturating_sub(span(&self.window));
                window.min(counts.longest_gap.saturating_sub(dark))
            }
        }
    }

    /// Samples since the last lit one, in a gap.
    const fn dark_time(&self) -> u64 {
        end(&self.window).saturating_sub(self.bead.start.saturating_add(self.bead.span()))
    }

    /// Closes what is full and ends what is over.
    fn settle(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        if self.phase == Phase::Dip {
            self.go_dark(config, emit);
        }
        if self.phase == Phase::Gap && self.dark_time() >= u64::from(config.counts.longest_gap) {
            self.end_bead(config, emit);
        }
        let longest = if self.window.lit {
            config.counts.lit_window
        } else {
            config.counts.dark_window
        };
        if self.window.span() >= u64::from(longest) {
            self.close_window(config, emit);
        }
    }

    /// The arc is out since its last lit sample.
    fn go_dark(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        self.close_window(config, emit);
        if self.phase == Phase::Dip {
            self.window = self.dip;
        } else {
            self.window.lit = false;
        }
        self.phase = Phase::Gap;
    }

    /// Tells the window, unless nothing is in it, and opens the next one of the same kind.
    fn close_window(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        let closed = self.window;
        if closed.span() == 0 {
            return;
        }
        emit(ArcEvent::Window(closed));
        self.window = opened(end(&closed), closed.lit);
        if self.phase == Phase::Idle {
            return;
        }
        self.bead_and_gap.add_window(&closed);
        if closed.lit {
            self.bead = self.bead_and_gap;
            self.tell_bead(config, emit);
        }
    }

    /// Tells once that a bead has started, as soon as it has burned long enough.
    fn tell_bead(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        if !self.told && self.bead.lit >= u64::from(config.counts.shortest_bead) {
            self.told = true;
            self.beads = self.beads.saturating_add(1);
            emit(ArcEvent::BeadStarted {
                number: self.beads,
                start: self.bead.start,
            });
        }
    }

    /// The bead ended with its last lit window; what came after is idle, and so is all of it when it was a blip.
    fn end_bead(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        self.tell_bead(config, emit);
        if self.told {
            emit(ArcEvent::BeadEnded(Bead {
                number: self.beads,
                ..self.bead
            }));
        }
        self.phase = Phase::Idle;
    }
}

const fn end(window: &Window) -> u64 {
    window.start.saturating_add(window.span())
}

/// Samples of a window, taken and dropped, in 32 bits: saturates far past every limit that it is compared with.
#[inline]
fn span(window: &Window) -> u32 {
    u32::from(window.sums.n).saturating_add(window.dropped)
}

fn opened(start: u64, lit: bool) -> Window {
    Window {
        start,
        lit,
        ..Window::default()
    }
}
