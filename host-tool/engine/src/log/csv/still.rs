//! What stood still while the arc burned: one channel that gave the very same value again and again.
//!
//! How often a channel repeats itself by itself is its habit. A run is out of habit if it is far longer than any other
//! and chance alone would hardly make it. The figures are common practice, no source.

use crate::log::instrument::Stuck;
use crate::log::side::Side;
use coldsquare_core::samples::RawPair;

/// How often rows with the arc on repeat the row before.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Habit {
    /// Rows with the arc on.
    pub rows: u64,
    /// Of those, the ones that repeat the row before.
    pub repeated: u64,
    /// The longest run of repeated rows.
    pub longest: u64,
}

/// Rows with the arc on from which a habit is known.
const KNOWN_FROM: u64 = 200;
/// What stands still does so for longer than this, s.
pub(super) const FROZEN_S: f64 = 2.0;
/// By its habit, so many repeats have a chance of e^-30.
const FROZEN_NATS: f64 = 30.0;
/// A channel that repeats nine rows in ten may be steady.
const LIVELY: f64 = 0.9;
/// So many times longer than any other run.
const FAR_LONGER: u64 = 20;

impl Habit {
    /// The habit of values in a row; the longest run is left out, because it may be the very one in question.
    pub(super) fn of<T: PartialEq>(values: impl Iterator<Item = Option<T>>) -> Self {
        let (mut habit, mut before) = (Self::default(), None);
        let (mut run, mut longest) = (0, 0);
        for value in values {
            if value.is_some() {
                let repeats = before == value;
                habit.rows += 1;
                habit.repeated += u64::from(repeats);
                run = if repeats { run + 1 } else { 0 };
                if run > longest {
                    longest = run;
                } else {
                    habit.longest = habit.longest.max(run);
                }
            }
            before = value;
        }
        Self {
            rows: habit.rows - longest,
            repeated: habit.repeated - longest,
            ..habit
        }
    }

    fn chance(self) -> f64 {
        (self.repeated as f64 + 1.0) / (self.rows as f64 + 2.0)
    }

    /// True if a run of so many rows is none that comes by itself.
    pub(super) fn is_broken_by(self, rows: u64) -> bool {
        self.rows >= KNOWN_FROM && rows as f64 * -self.chance().ln() > FROZEN_NATS
    }

    pub(super) fn add(&mut self, rows: u64) {
        self.rows += rows;
        self.repeated += rows.saturating_sub(1);
        self.longest = self.longest.max(rows.saturating_sub(1));
    }
}

/// Looks for a channel that stands still while the other goes on.
pub(super) struct Still {
    channels: [Channel; 2],
    tick: f64,
    /// What was found, in order of time.
    pub stuck: Vec<Stuck>,
}

struct Channel {
    side: Side,
    habit: Habit,
    value: Option<i32>,
    rows: u64,
    from: u64,
    until: u64,
}

/// Places that are told, at most.
const MAX_PLACES: usize = 10_000;

impl Still {
    pub(super) fn new(tick: f64, habits: [Habit; 2]) -> Self {
        let channel = |side, habit| Channel {
            side,
            habit,
            value: None,
            rows: 0,
            from: 0,
            until: 0,
        };
        let [volts, amps] = habits;
        Self {
            channels: [channel(Side::Voltage, volts), channel(Side::Current, amps)],
            tick,
            stuck: Vec::new(),
        }
    }

    /// Takes rows of the same pair with the arc on, from one position until another.
    #[inline]
    pub(super) fn burns(&mut self, pair: RawPair, rows: u64, from: u64, until: u64) {
        let tick = self.tick;
        for (channel, value) in self
            .channels
            .iter_mut()
            .zip([pair.voltage(), pair.current()])
        {
            if channel.value == Some(value) && channel.until == from {
                channel.rows += rows;
                channel.until = until;
                continue;
            }
            if channel.rows == 1 {
                // As nearly always where an arc is lively.
                channel.habit.rows += 1;
            } else if let Some(stuck) = channel.end(tick)
                && self.stuck.len() < MAX_PLACES
            {
                self.stuck.push(stuck);
            }
            (channel.value, channel.rows) = (Some(value), rows);
            (channel.from, channel.until) = (from, until);
        }
    }

    /// The arc is off, or rows are missing.
    #[inline]
    pub(super) fn pauses(&mut self) {
        for channel in &mut self.channels {
            self.stuck.extend(channel.end(self.tick));
        }
    }
}

impl Channel {
    /// Ends the run of one value.
    fn end(&mut self, tick: f64) -> Option<Stuck> {
        self.value.take()?;
        let rows = std::mem::take(&mut self.rows);
        let (from, until) = (self.from, self.until);
        let is_long = (until - from) as f64 * tick > FROZEN_S;
        let habit = self.habit;
        if is_long
            && habit.chance() < LIVELY
            && rows > FAR_LONGER * habit.longest.max(1)
            && habit.is_broken_by(rows)
        {
            let side = self.side;
            return Some(Stuck { side, from, until });
        }
        self.habit.add(rows);
        None
    }
}
