//! Finds beads in the stream of samples: when the arc burned, and which arc times belong to one bead.
//!
//! The detector looks only at the current. Open-circuit voltage without current is no arc; a stuck electrode carries
//! current and counts, with the little energy it has. Four phases (docs/decisions/0002):
//!
//! ```text
//!           strikes             below burning               longest dip over
//!   idle ------------> burning ---------------> dip ---------------------------> gap
//!    ^                    ^  <---- burns again --'                               |  |
//!    |                    '------------------- strikes again: restarts + 1 ------'  |
//!    '-------------------------- longest gap over: the bead ended at its last arc-on sample
//! ```
//!
//! A window ends where the arc starts or stops, so each window is wholly inside one bead or outside all of them, and
//! windows, beads and idle time add up exactly. A dip is kept apart until it is clear what it was: part of the arc (a
//! zero crossing, a pulse) or the start of the arc-off time.
//!
//! [`ArcConfig`] never changes, [`ArcState`] is a plain value, [`ArcState::step`] takes one sample. A sample within the
//! range of those before it is compared with two bands and added to 64-bit sums. Only a sample outside a band, or a full
//! window, needs more; 128-bit sums are touched once a window.
//!
//! ```
//! use coldsquare_core::arc::{ArcConfig, ArcEvent, ArcSettings, ArcState};
//! # use coldsquare_core::calibration::{Calibration, Channel};
//! use coldsquare_core::process::Process;
//! use coldsquare_core::samples::RawPair;
//! # let channel = Channel {
//! #     gain_per_count: 0.1,
//! #     zero_in_256ths: 0,
//! #     gain_relative_uncertainty: 0.01,
//! #     zero_uncertainty: 0.1,
//! #     lowest_count: -8000,
//! #     highest_count: 8000,
//! # };
//! # let calibration = Calibration {
//! #     voltage: channel,
//! #     current: channel,
//! #     sample_rate_hz: 1000.0,
//! #     rate_relative_uncertainty: 0.0,
//! # };
//!
//! // 0.1 A a count, 1000 pairs a second: two seconds at 120 A, then a second without current.
//! let config = ArcConfig::new(&ArcSettings::for_process(Process::MagSolid), &calibration)?;
//! let mut arc = ArcState::new();
//! let mut beads = 0;
//! for sample in 0..3000 {
//!     let pair = if sample < 2000 { RawPair::new(180, 1200) } else { RawPair::new(0, 0) };
//!     arc.step(&config, pair, &mut |event| {
//!         if let ArcEvent::BeadEnded(bead) = event {
//!             assert_eq!(bead.arc_samples, 2000);
//!             beads += 1;
//!         }
//!     });
//! }
//! assert_eq!(beads, 1);
//! # Ok::<(), coldsquare_core::arc::ArcConfigError>(())
//! ```

mod config;
mod phase;
mod steady;
#[cfg(test)]
mod tests;

pub use config::{ArcConfig, ArcConfigError, ArcCounts, ArcSettings};

use crate::bead::{Bead, Window};
use crate::samples::RawPair;
use phase::Phase;
use steady::Steady;

/// What the detector has found. One call gives at most five, in order of time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ArcEvent {
    /// A window is complete. Windows follow each other without a break from the first sample on.
    Window(Window),
    /// The arc has burned long enough to be a bead; reported when the window in which it did so is complete.
    BeadStarted {
        /// Number of the bead, from 1.
        number: u32,
        /// Position of its first sample.
        start: u64,
    },
    /// A bead is complete; all its windows were reported before it.
    BeadEnded(Bead),
}

/// The state of the detector. Starts at position 0 with the arc off.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ArcState {
    phase: Phase,
    /// The window being filling.
    window: Window,
    /// In a dip: the samples since the last with the arc on.
    dip: Window,
    /// The bead up to its last arc-on window, and the same plus the gap windows since; equal while the arc burns.
    bead: Bead,
    bead_and_gap: Bead,
    /// Beads reported so far; the current one gets its number once it is long enough.
    beads: u32,
    reported: bool,
    steady: Steady,
}

impl ArcState {
    /// Before the first sample.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// With the arc off at a position, after this many beads: where an earlier log ended.
    #[must_use]
    pub fn resume(position: u64, beads: u32) -> Self {
        Self {
            window: new_window(position, false),
            beads,
            ..Self::default()
        }
    }

    /// Position of the next sample: samples measured and dropped so far.
    #[must_use]
    pub const fn position(&self) -> u64 {
        match self.phase {
            Phase::Dip => end(&self.dip),
            _ => end(&self.window),
        }
    }

    /// True while no bead is open: the arc is off, and not just for a gap inside a bead.
    #[must_use]
    pub const fn is_idle(&self) -> bool {
        matches!(self.phase, Phase::Idle)
    }

    /// True while the arc burns, dips included.
    #[must_use]
    pub const fn is_arc_on(&self) -> bool {
        matches!(self.phase, Phase::Burning | Phase::Dip)
    }

    /// Takes one sample. `config` must be that of the sample before unless [`ArcState::reconfigured`] was called since.
    #[inline]
    pub fn step(&mut self, config: &ArcConfig, pair: RawPair, emit: &mut impl FnMut(ArcEvent)) {
        if !self.step_steady(pair) {
            self.step_full(config, pair, emit);
        }
    }

    /// Takes the sample if it changes nothing but the sums of a window that stays open, as most do. If it returns
    /// false, nothing was taken; call [`ArcState::step_full`].
    #[inline(always)]
    pub const fn step_steady(&mut self, pair: RawPair) -> bool {
        let steady = self.steady.accepts(self.window.sums.n, pair);
        if steady {
            self.window.sums.add_within_range(pair);
        }
        steady
    }

    /// Call this before the first sample with another configuration.
    pub fn reconfigured(&mut self) {
        self.steady = Steady::default();
    }

    /// Takes any sample. [`ArcState::step`] does the same in fewer instructions.
    pub fn step_full(
        &mut self,
        config: &ArcConfig,
        pair: RawPair,
        emit: &mut impl FnMut(ArcEvent),
    ) {
        if self.changes_phase(config, pair) {
            self.transition(config, emit);
        }
        let filling = self.filling();
        // The window is never full here: the configuration keeps its length below its capacity. No more samples clip
        // than are added, so the clip counts cannot overflow.
        if filling.sums.add(pair) {
            filling.clipped_voltage += u16::from(config.voltage_limits.clips(pair.voltage()));
            filling.clipped_current += u16::from(config.current_limits.clips(pair.current()));
        }
        if self.samples_left(config) == 0 {
            self.close_expired(config, emit);
        }
        self.steady = self.steady_after(config, pair);
    }

    /// Takes the same sample `times` times, as a slow recording repeats its values: the same as that many steps.
    pub fn repeat(
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
            if self.changes_phase(config, pair) {
                self.transition(config, emit);
            }
            // Never zero: every full window has been closed.
            let taken = u16::try_from(self.samples_left(config).min(left))
                .unwrap_or(u16::MAX)
                .max(1);
            let filling = self.filling();
            if filling.sums.add_repeated(pair, taken) {
                filling.clipped_voltage += clipped_voltage * taken;
                filling.clipped_current += clipped_current * taken;
            }
            left -= u32::from(taken);
            if self.samples_left(config) == 0 {
                self.close_expired(config, emit);
            }
        }
        if times > 0 {
            self.steady = self.steady_after(config, pair);
        }
    }

    /// Records that `count` samples were due and did not arrive.
    ///
    /// Their time counts where they were lost: while the arc burns they are arc time. If more than the longest gap is
    /// missing, nothing is known about the arc, and it counts as off since the last sample before.
    pub fn dropped(&mut self, config: &ArcConfig, count: u32, emit: &mut impl FnMut(ArcEvent)) {
        let too_many = |window: &Window| window.dropped.checked_add(count).is_none();
        if self.is_arc_on() && (count > config.counts.longest_gap || too_many(self.filling())) {
            self.arc_off(config, emit);
        }
        if too_many(&self.window) {
            self.close_window(config, emit);
        }
        self.filling().dropped += count;
        if self.samples_left(config) == 0 {
            self.close_expired(config, emit);
        }
        self.steady = Steady::default();
    }

    /// Ends the log: closes what is open. The next sample continues at the same position with the arc off.
    pub fn finish(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        if self.is_arc_on() {
            self.arc_off(config, emit);
        }
        self.close_window(config, emit);
        if self.phase == Phase::Gap {
            self.end_bead(config, emit);
        }
        self.steady = Steady::default();
    }

    /// The fast path after `last` was added.
    #[inline]
    fn steady_after(&self, config: &ArcConfig, last: RawPair) -> Steady {
        match self.phase.steady_currents(&config.counts, last.current()) {
            Some(currents) => Steady::within(currents, &self.window.sums, config, || {
                self.samples_left(config)
            }),
            None => Steady::default(),
        }
    }

    #[inline]
    fn filling(&mut self) -> &mut Window {
        if self.phase == Phase::Dip {
            &mut self.dip
        } else {
            &mut self.window
        }
    }

    /// True when this sample changes the phase.
    #[inline]
    fn changes_phase(&self, config: &ArcConfig, pair: RawPair) -> bool {
        match self.phase {
            Phase::Burning => !config.burns(pair.current()),
            Phase::Dip => config.burns(pair.current()),
            Phase::Gap | Phase::Idle => config.strikes(pair.current()),
        }
    }

    /// Changes the phase before the sample that caused it is taken.
    fn transition(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        match self.phase {
            Phase::Burning => {
                self.dip = new_window(end(&self.window), false);
                self.phase = Phase::Dip;
            }
            Phase::Dip => {
                self.window.merge(&self.dip);
                self.phase = Phase::Burning;
                if self.samples_left(config) == 0 {
                    self.close_window(config, emit);
                }
            }
            Phase::Gap => {
                self.close_window(config, emit);
                self.bead_and_gap.restarts = self.bead_and_gap.restarts.saturating_add(1);
                self.window.arc_on = true;
                self.phase = Phase::Burning;
            }
            Phase::Idle => {
                self.close_window(config, emit);
                self.bead = Bead {
                    start: self.window.start,
                    ..Bead::default()
                };
                self.bead_and_gap = self.bead;
                self.reported = false;
                self.window.arc_on = true;
                self.phase = Phase::Burning;
            }
        }
    }

    /// Samples until a window is full, or a dip or gap expires.
    #[inline]
    fn samples_left(&self, config: &ArcConfig) -> u32 {
        let counts = &config.counts;
        match self.phase {
            Phase::Burning => counts.arc_window.saturating_sub(span(&self.window)),
            Phase::Dip => counts.longest_dip.saturating_sub(span(&self.dip)),
            Phase::Idle => counts.idle_window.saturating_sub(span(&self.window)),
            Phase::Gap => {
                let arc_off = u32::try_from(self.arc_off_time()).unwrap_or(u32::MAX);
                let window = counts.idle_window.saturating_sub(span(&self.window));
                window.min(counts.longest_gap.saturating_sub(arc_off))
            }
        }
    }

    /// In a gap: samples since the last with the arc on.
    const fn arc_off_time(&self) -> u64 {
        end(&self.window).saturating_sub(self.bead.start.saturating_add(self.bead.span()))
    }

    /// Closes a full window and ends a dip or gap that is too long.
    fn close_expired(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        if self.phase == Phase::Dip {
            self.arc_off(config, emit);
        }
        if self.phase == Phase::Gap && self.arc_off_time() >= u64::from(config.counts.longest_gap) {
            self.end_bead(config, emit);
        }
        let longest = if self.window.arc_on {
            config.counts.arc_window
        } else {
            config.counts.idle_window
        };
        if self.window.span() >= u64::from(longest) {
            self.close_window(config, emit);
        }
    }

    /// The arc has been off since its last arc-on sample.
    fn arc_off(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        self.close_window(config, emit);
        if self.phase == Phase::Dip {
            self.window = self.dip;
        } else {
            self.window.arc_on = false;
        }
        self.phase = Phase::Gap;
    }

    /// Reports the window unless it is empty, and opens the next one of the same kind.
    fn close_window(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        let closed = self.window;
        if closed.span() == 0 {
            return;
        }
        emit(ArcEvent::Window(closed));
        self.window = new_window(end(&closed), closed.arc_on);
        if self.phase == Phase::Idle {
            return;
        }
        self.bead_and_gap.add_window(&closed);
        if closed.arc_on {
            self.bead = self.bead_and_gap;
            self.report_bead(config, emit);
        }
    }

    /// Reports once that a bead has started, as soon as it has burned long enough.
    fn report_bead(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        if !self.reported && self.bead.arc_samples >= u64::from(config.counts.shortest_bead) {
            self.reported = true;
            self.beads = self.beads.saturating_add(1);
            emit(ArcEvent::BeadStarted {
                number: self.beads,
                start: self.bead.start,
            });
        }
    }

    /// The bead ended with its last arc-on window; what came after is idle time, and so is a bead that was too short.
    fn end_bead(&mut self, config: &ArcConfig, emit: &mut impl FnMut(ArcEvent)) {
        self.report_bead(config, emit);
        if self.reported {
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

/// Samples of a window, measured and dropped, in 32 bits: saturates far above every limit it is compared with.
#[inline]
fn span(window: &Window) -> u32 {
    u32::from(window.sums.n).saturating_add(window.dropped)
}

fn new_window(start: u64, arc_on: bool) -> Window {
    Window {
        start,
        arc_on,
        ..Window::default()
    }
}
