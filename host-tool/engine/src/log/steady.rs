//! The longest time in a log for which one channel was steady: a known voltage or current was applied.

use super::model::Log;
use super::side::Side;
use coldsquare_core::bead::Window;
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::record::Header;
use coldsquare_core::samples::WindowSums;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::Seconds;

/// Windows belong together if their means differ by less than this share of the distance from zero.
const MAX_DRIFT: f64 = 0.01;
/// A steady source varies less than this share within a window, RMS; an arc or a charger without smoothing varies more.
const MAX_RIPPLE: f64 = 0.05;
/// A channel nearer to zero than this many standard uncertainties of the zero has nothing applied.
const MIN_ZERO_UNCERTAINTIES: f64 = 10.0;

/// A time for which the channel was steady.
#[derive(Clone, Debug)]
pub struct Steady {
    /// From the first sample of the log.
    pub start: Seconds,
    /// How long it was steady.
    pub duration: Seconds,
    /// Mean count; its standard uncertainty is from the scatter of the windows.
    pub counts: Uncertain,
    /// RMS deviation within windows, as a share of the distance from zero.
    pub ripple: f64,
    /// The header that holds there.
    pub header: Header,
}

/// One window's mean and spread, counts.
struct Level {
    mean: f64,
    deviation: f64,
    samples: u16,
}

impl Side {
    /// The channel of a calibration.
    #[must_use]
    pub const fn of(self, calibration: &Calibration) -> &Channel {
        match self {
            Self::Voltage => &calibration.voltage,
            Self::Current => &calibration.current,
        }
    }

    fn level(self, window: &Window) -> Option<Level> {
        let WindowSums {
            n, v, i, vv, ii, ..
        } = window.sums;
        let (sum, squares, clipped) = match self {
            Self::Voltage => (v, vv, window.clipped_voltage),
            Self::Current => (i, ii, window.clipped_current),
        };
        if n == 0 || clipped > 0 || window.dropped > 0 {
            return None;
        }
        let samples = f64::from(n);
        let mean = sum as f64 / samples;
        // In integers: the squares are much larger than their difference.
        let scaled = i128::from(squares) * i128::from(n) - i128::from(sum) * i128::from(sum);
        Some(Level {
            mean,
            deviation: (scaled.max(0) as f64).sqrt() / samples,
            samples: n,
        })
    }
}

/// The longest time for which one channel was steady away from its zero; `None` if there is none.
#[must_use]
pub fn longest(log: &Log, side: Side) -> Option<Steady> {
    let mut best: Option<Run> = None;
    let mut run: Option<Run> = None;
    for window in &log.windows {
        let header = log.header_at(window.start);
        let level = side
            .level(window)
            .filter(|level| is_applied(level, side.of(&header.calibration)));
        let continues = match (&run, &level) {
            (Some(run), Some(level)) => run.takes(window, level, header),
            _ => false,
        };
        if !continues {
            keep_longer(&mut best, run.take());
            run = level
                .is_some()
                .then(|| Run::new(window.start, header.clone(), side));
        }
        if let (Some(run), Some(level)) = (&mut run, level) {
            run.add(window, level);
        }
    }
    keep_longer(&mut best, run);
    best.map(|run| run.steady(log))
}

fn is_applied(level: &Level, channel: &Channel) -> bool {
    let distance = (level.mean - zero(channel)).abs();
    distance * channel.gain_per_count.abs() > MIN_ZERO_UNCERTAINTIES * channel.zero_uncertainty
        && distance > 0.0
        && level.deviation < MAX_RIPPLE * distance
}

fn zero(channel: &Channel) -> f64 {
    f64::from(channel.zero_in_256ths) / 256.0
}

fn keep_longer(best: &mut Option<Run>, run: Option<Run>) {
    let longer = |run: &Run| best.as_ref().is_none_or(|best| run.samples > best.samples);
    if let Some(run) = run.filter(longer) {
        *best = Some(run);
    }
}

struct Run {
    start: u64,
    end: u64,
    header: Header,
    zero: f64,
    levels: Vec<Level>,
    samples: f64,
    sum: f64,
}

impl Run {
    fn new(start: u64, header: Header, side: Side) -> Self {
        Self {
            start,
            end: start,
            zero: zero(side.of(&header.calibration)),
            header,
            levels: Vec::new(),
            samples: 0.0,
            sum: 0.0,
        }
    }

    fn mean(&self) -> f64 {
        self.sum / self.samples
    }

    fn takes(&self, window: &Window, level: &Level, header: &Header) -> bool {
        let distance = (self.mean() - self.zero).abs();
        window.start == self.end
            && header.calibration == self.header.calibration
            && (level.mean - self.mean()).abs() < MAX_DRIFT * distance
    }

    fn add(&mut self, window: &Window, level: Level) {
        self.end = window.start + window.span();
        self.samples += f64::from(level.samples);
        self.sum += level.mean * f64::from(level.samples);
        self.levels.push(level);
    }

    fn steady(self, log: &Log) -> Steady {
        let mean = self.mean();
        let windows = self.levels.len() as f64;
        let weighted = |of: &dyn Fn(&Level) -> f64| {
            let sum: f64 = self
                .levels
                .iter()
                .map(|level| of(level) * f64::from(level.samples))
                .sum();
            (sum / self.samples).sqrt()
        };
        // Windows, not samples: hum and drift make neighbouring samples similar, so √n samples would be too optimistic.
        let between = weighted(&|level| (level.mean - mean).powi(2));
        let within = weighted(&|level| level.deviation.powi(2));
        Steady {
            start: log.seconds(self.start),
            duration: Seconds(log.seconds(self.end).0 - log.seconds(self.start).0),
            counts: Uncertain {
                value: mean,
                standard: between / (windows - 1.0).max(1.0).sqrt(),
            },
            ripple: within / (mean - self.zero).abs(),
            header: self.header,
        }
    }
}

#[cfg(test)]
mod tests;
