//! The time base of a recording, from the times of its first rows: unit of time, tick, and whether rows come evenly.

use super::number::Moment;
use crate::recording::TimeUnit;

/// Unit, tick and spacing of the rows.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct TimeBase {
    /// Seconds in one unit of the time column.
    pub unit: TimeUnit,
    /// False for dates and times of day.
    pub is_numeric: bool,
    /// True if the unit is only the most plausible one.
    pub unit_is_guess: bool,
    /// A note if the unit that was named gives rows faster or slower than any recorder of arcs.
    pub doubt: Option<String>,
    /// Seconds since 1970 of the first row, if the column has dates.
    pub epoch: Option<f64>,
    /// Length of a sample on the grid, s.
    pub tick: f64,
    /// Typical time between rows, s.
    pub interval: f64,
    /// True if rows come evenly, so that each is one sample.
    pub is_regular: bool,
    /// By how many ticks a time may be off because its column is coarse.
    pub slack: u64,
    /// Rows are missing if there are this many ticks between two.
    pub gap: u64,
}

/// Samples for each row if rows come unevenly: the ends of a row are then right to a sixteenth of its length.
const TICKS_PER_UNEVEN_ROW: f64 = 8.0;

/// Sampling rate of the fastest grid.
const MAX_RATE_HZ: f64 = 1e6;

/// Rows per second that make a unit of time plausible. Fractions are mostly seconds, so they may be slower.
const PLAUSIBLE_HZ: std::ops::RangeInclusive<f64> = 20.0..=2e6;
const PLAUSIBLE_FRACTION_HZ: std::ops::RangeInclusive<f64> = 0.1..=2e6;

/// Seconds since 1970, from 1973 to the year 5138: recognised by their size.
const SINCE_1970: std::ops::Range<f64> = 1e8..1e11;

/// Finds the time base from times in the unit of the column and the number of their decimals.
///
/// # Errors
/// Says what is wrong if there are too few times, or they do not increase.
pub(super) fn time_base(
    moments: &[Moment],
    decimals: i32,
    wanted: Option<TimeUnit>,
) -> Result<TimeBase, String> {
    let (times, kind) = clock(moments);
    let steps = Steps::of(&times)
        .ok_or("time does not increase in the first rows; is it the right column?")?;
    let (unit, unit_is_guess) = match (wanted, kind) {
        (Some(unit), Kind::Numeric) => (unit, false),
        (None, Kind::Numeric) => guess_unit(times[0], steps.mean, decimals),
        _ => (TimeUnit::S, false),
    };
    let scale = unit.seconds();
    let resolution = scale * 10f64.powi(-decimals);
    let epoch = match kind {
        Kind::Absolute => Some(times[0]),
        Kind::Numeric => Some(times[0] * scale).filter(|seconds| SINCE_1970.contains(seconds)),
        Kind::Relative => None,
    };
    let grid = Grid::new(&steps, scale, resolution);
    if !(grid.tick.is_finite() && grid.tick * MAX_RATE_HZ >= 0.999) {
        return Err(format!(
            "rows come every {:e} s in {}, faster than any arc is measured; give another --time-unit",
            grid.interval,
            unit.symbol()
        ));
    }
    Ok(TimeBase {
        is_numeric: matches!(kind, Kind::Numeric),
        unit,
        unit_is_guess,
        doubt: doubt(
            unit,
            unit_is_guess || !matches!(kind, Kind::Numeric),
            grid.interval,
        ),
        epoch,
        tick: grid.tick,
        interval: grid.interval,
        is_regular: grid.is_regular,
        slack: grid.slack,
        gap: grid.gap,
    })
}

/// Rows per second of recorders of arcs: a unit that gives others is hardly the right one.
const USUAL_HZ: std::ops::RangeInclusive<f64> = 0.5..=250_000.0;

/// What to say of a unit that was named, by the user or the heading, and gives unusual rows.
fn doubt(unit: TimeUnit, is_guess: bool, interval: f64) -> Option<String> {
    let rate = 1.0 / interval;
    if is_guess || USUAL_HZ.contains(&rate) {
        return None;
    }
    let units = [TimeUnit::S, TimeUnit::Ms, TimeUnit::Us];
    let other = units
        .into_iter()
        .find(|other| (20.0..=20_000.0).contains(&(rate * unit.seconds() / other.seconds())))?;
    Some(format!(
        "time in {} gives {rate:.3e} rows per second; is the column in {}? (--time-unit)",
        unit.symbol(),
        other.symbol()
    ))
}

/// The grid that suits the steps between rows; see [`TimeBase`].
struct Grid {
    tick: f64,
    interval: f64,
    is_regular: bool,
    slack: u64,
    gap: u64,
}

impl Grid {
    /// For steps in a unit of `scale` seconds that are written to `resolution` seconds.
    fn new(steps: &Steps, scale: f64, resolution: f64) -> Self {
        let is_exact = steps.share_within(steps.median, 0.02 * steps.median) >= 0.95;
        let coarse = !is_exact && resolution > 0.1 * steps.mean * scale;
        let step = if coarse {
            steps.mean
        } else {
            steps.median_mean()
        };
        let interval = step * scale;
        let is_regular = steps.share_within(step, 0.02 * step + resolution / scale) >= 0.95;
        let tick = if is_regular {
            snapped(interval, resolution)
        } else {
            (steps.median * scale / TICKS_PER_UNEVEN_ROW).max(1.0 / MAX_RATE_HZ)
        };
        let slack = if coarse {
            (resolution / tick).ceil() as u64
        } else {
            0
        };
        let gap = if is_regular {
            3 + slack
        } else {
            (5.0 * steps.median * scale / tick) as u64
        };
        Self {
            tick,
            interval,
            is_regular,
            slack,
            gap,
        }
    }
}

impl TimeBase {
    /// For rows that are counted, one every interval (s).
    pub(super) const fn counted(interval: f64) -> Self {
        Self {
            unit: TimeUnit::S,
            is_numeric: false,
            unit_is_guess: false,
            doubt: None,
            epoch: None,
            tick: interval,
            interval,
            is_regular: true,
            slack: 0,
            gap: 3,
        }
    }
}

#[derive(Clone, Copy)]
enum Kind {
    Numeric,
    Absolute,
    Relative,
}

/// Times as plain numbers, in one unit, and what kind of clock they come from.
fn clock(moments: &[Moment]) -> (Vec<f64>, Kind) {
    let mut kind = Kind::Numeric;
    let mut times = Vec::with_capacity(moments.len());
    for moment in moments {
        let (time, of) = match *moment {
            Moment::Numeric(time) => (time, Kind::Numeric),
            Moment::Absolute(time) => (time, Kind::Absolute),
            Moment::Local(time) | Moment::OfDay(time) | Moment::OfHour(time) => {
                (time, Kind::Relative)
            }
            Moment::Missing => continue,
        };
        if times.is_empty() {
            kind = of;
        }
        times.push(time);
    }
    (times, kind)
}

/// The steps between times, gaps and backward steps left out.
struct Steps {
    steps: Vec<f64>,
    median: f64,
    mean: f64,
}

impl Steps {
    fn of(times: &[f64]) -> Option<Self> {
        let mut steps: Vec<f64> = times
            .windows(2)
            .map(|pair| pair[1] - pair[0])
            .filter(|step| *step >= 0.0 && step.is_finite())
            .collect();
        let mut forward: Vec<f64> = steps.iter().copied().filter(|step| *step > 0.0).collect();
        forward.sort_by(f64::total_cmp);
        let median = *forward.get(forward.len() / 2)?;
        steps.retain(|step| *step <= 5.0 * median);
        let mean = mean_between_changes(&steps)?;
        Some(Self {
            steps,
            median,
            mean,
        })
    }

    /// Share of the steps within a tolerance of a typical one.
    fn share_within(&self, typical: f64, tolerance: f64) -> f64 {
        let within = self
            .steps
            .iter()
            .filter(|step| (*step - typical).abs() <= tolerance);
        within.count() as f64 / self.steps.len() as f64
    }

    /// Mean of the steps near the median: a stray repeated row does not matter.
    fn median_mean(&self) -> f64 {
        let near = |step: &&f64| (**step - self.median).abs() <= 0.1 * self.median;
        let (sum, count) = self
            .steps
            .iter()
            .filter(near)
            .fold((0.0, 0.0), |(sum, count), step| (sum + step, count + 1.0));
        if count > 0.0 { sum / count } else { self.mean }
    }
}

/// The interval of a whole number of samples per second, if the interval is one within its resolution.
fn snapped(interval: f64, resolution: f64) -> f64 {
    let rate = 1.0 / interval;
    let tolerance = (resolution / interval * 1e-3).clamp(1e-6, 1e-3);
    let whole = rate.round();
    if whole >= 1.0 && (rate / whole - 1.0).abs() <= tolerance {
        1.0 / whole
    } else {
        interval
    }
}

/// Mean step from the first change of time to the last: it is not known how many rows share the first and the last
/// timestamp.
fn mean_between_changes(steps: &[f64]) -> Option<f64> {
    let first = steps.iter().position(|step| *step > 0.0)?;
    let last = steps.iter().rposition(|step| *step > 0.0)?;
    let between = if first < last {
        &steps[first + 1..=last]
    } else {
        steps
    };
    Some(between.iter().sum::<f64>() / between.len() as f64)
}

fn guess_unit(first: f64, step: f64, decimals: i32) -> (TimeUnit, bool) {
    let units = [TimeUnit::S, TimeUnit::Ms, TimeUnit::Us, TimeUnit::Ns];
    let rate = |unit: TimeUnit| 1.0 / (step * unit.seconds());
    let since_1970 = |unit: &TimeUnit| {
        SINCE_1970.contains(&(first * unit.seconds()))
            && PLAUSIBLE_FRACTION_HZ.contains(&rate(*unit))
    };
    if let Some(unit) = units.into_iter().find(since_1970) {
        return (unit, false);
    }
    let plausible = if decimals > 0 {
        PLAUSIBLE_FRACTION_HZ
    } else {
        PLAUSIBLE_HZ
    };
    let unit = units
        .into_iter()
        .find(|unit| plausible.contains(&rate(*unit)));
    (unit.unwrap_or(TimeUnit::S), true)
}
