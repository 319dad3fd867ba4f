//! What columns are by what they hold: which are volts and amps of an arc, and which rises as time does.
//!
//! An arc has its levels (12 to 40 V, 30 to 500 A), its steps (volts fall from open circuit when amps rise), its short
//! circuits (volts low while amps are high). A command is flat. All pairs of columns are weighed by points for each of
//! these; a pair is taken only if it wins clearly. The points are round numbers, tried on recordings of many kinds:
//! common practice, no source.

/// A pair wins clearly with so many points, and so many more than the next.
const ENOUGH: f64 = 5.0;
const LEAD: f64 = 2.0;

/// Taking volts as written in tenths costs so many points.
const TENTHS: f64 = 1.0;

/// Levels of an arc while it burns, V and A: usual ones, and possible ones.
const USUAL_VOLTS: std::ops::RangeInclusive<f64> = 12.0..=40.0;
const POSSIBLE_VOLTS: std::ops::RangeInclusive<f64> = 8.0..=50.0;
const USUAL_AMPS: std::ops::RangeInclusive<f64> = 30.0..=500.0;
const POSSIBLE_AMPS: std::ops::RangeInclusive<f64> = 5.0..=1000.0;
/// Voltage of a power source without an arc, V: up to 113 V (EN IEC 60974-1, from memory).
const OPEN_CIRCUIT: std::ops::RangeInclusive<f64> = 40.0..=120.0;

/// A way to take two columns as volts and amps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pair {
    pub volts: usize,
    pub amps: usize,
    pub points: f64,
    /// Median volts and amps while the arc burns.
    pub levels: (f64, f64),
    /// The arc goes on and off in what was looked at.
    pub steps: bool,
}

/// How the pairs of some columns compare.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Weighed {
    /// One wins clearly; the runner-up is told.
    Clear { best: Pair, next: Option<Pair> },
    /// None does.
    Unclear {
        best: Option<Pair>,
        next: Option<Pair>,
    },
}

/// Weighs every pair of a column of `volts` and one of `amps`; volts without a unit may be in tenths.
pub(super) fn weigh(
    columns: &[Vec<f64>],
    volts: &[usize],
    amps: &[usize],
    may_be_tenths: impl Fn(usize) -> bool,
) -> Weighed {
    let mut pairs: Vec<Pair> = Vec::new();
    for &v in volts {
        for &a in amps.iter().filter(|&&a| a != v) {
            pairs.extend(pair(v, a, &columns[v], &columns[a]));
            if may_be_tenths(v) {
                let tenths: Vec<f64> = columns[v].iter().map(|volts| 0.1 * volts).collect();
                pairs.extend(pair(v, a, &tenths, &columns[a]).map(|pair| Pair {
                    points: pair.points - TENTHS,
                    ..pair
                }));
            }
        }
    }
    // The first of equals stays first.
    pairs.sort_by(|a, b| b.points.total_cmp(&a.points));
    let best = pairs.first().copied();
    let other = |pair: &&Pair| {
        best.is_some_and(|best| {
            let same = |a: usize, b: usize| a == b || is_copy(&columns[a], &columns[b]);
            !(same(pair.volts, best.volts) && same(pair.amps, best.amps))
        })
    };
    let next = pairs.iter().find(other).copied();
    match best {
        Some(best)
            if best.points >= ENOUGH
                && best.steps
                && next.is_none_or(|next| best.points - next.points >= LEAD) =>
        {
            Weighed::Clear { best, next }
        }
        best => Weighed::Unclear { best, next },
    }
}

/// The same values in both columns, but for rounding.
fn is_copy(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| {
        (a.is_nan() && b.is_nan()) || (a - b).abs() <= 0.002 * a.abs().max(b.abs()) + 1e-9
    })
}

/// Points for two columns being volts and amps; `None` without numbers.
pub(super) fn pair(v: usize, a: usize, volts: &[f64], amps: &[f64]) -> Option<Pair> {
    let of_all = |share| quantile(amps.iter().map(|amps| amps.abs()), share);
    // Arcs may be rare in what was looked at.
    let high = of_all(0.98)?.max(0.5 * of_all(0.999)?);
    let (mut on, mut off) = (Vec::new(), Vec::new());
    for (&volts, &amps) in volts.iter().zip(amps) {
        if volts.is_nan() || amps.is_nan() {
            continue;
        }
        if amps.abs() > 0.25 * high && high > 0.0 {
            on.push((volts, amps));
        } else {
            off.push((volts, amps));
        }
    }
    let total = (on.len() + off.len()) as f64;
    let median =
        |of: &[(f64, f64)], pick: fn(&(f64, f64)) -> f64| quantile(of.iter().map(pick), 0.5);
    let level_v = median(&on, |pair| pair.0.abs())?;
    let level_a = median(&on, |pair| pair.1.abs())?;
    let mut points =
        level(level_v, &USUAL_VOLTS, &POSSIBLE_VOLTS) + level(level_a, &USUAL_AMPS, &POSSIBLE_AMPS);
    let steps = off.len() as f64 >= 0.005 * total && off.len() >= 3 && on.len() >= 3;
    if steps {
        points += off_points(&off, level_v, level_a);
    }
    points += liveliness(&on, |pair| pair.0) + liveliness(&on, |pair| pair.1);
    let together = correlation(&on);
    // Droplets short the arc: volts fall while amps rise. Two amps, or a command and its answer, go the same way.
    if together < -0.2 {
        points += 1.5;
    } else if together > 0.6 {
        points -= 1.5;
    }
    Some(Pair {
        volts: v,
        amps: a,
        points,
        levels: (level_v, level_a),
        steps,
    })
}

fn level(
    value: f64,
    usual: &std::ops::RangeInclusive<f64>,
    possible: &std::ops::RangeInclusive<f64>,
) -> f64 {
    match () {
        () if usual.contains(&value) => 3.0,
        () if possible.contains(&value) => 0.5,
        () => -6.0,
    }
}

/// Points for what the columns do while the amps are low.
fn off_points(off: &[(f64, f64)], level_v: f64, level_a: f64) -> f64 {
    let Some(volts) = quantile(off.iter().map(|pair| pair.0.abs()), 0.5) else {
        return 0.0;
    };
    let amps = quantile(off.iter().map(|pair| pair.1.abs()), 0.5).unwrap_or(0.0);
    let quiet = if amps < 0.1 * level_a { 1.0 } else { -1.0 };
    let step = match volts {
        // Open circuit: what only volts do.
        volts if OPEN_CIRCUIT.contains(&volts) && volts > 1.3 * level_v => 2.0,
        volts if volts < 0.2 * level_v => 1.0,
        // The same with the arc on and off: not the volts of this arc.
        volts if (volts - level_v).abs() < 0.03 * level_v => -3.0,
        _ => 0.0,
    };
    quiet + step
}

/// A measured value moves; a command stands still.
fn liveliness(on: &[(f64, f64)], pick: fn(&(f64, f64)) -> f64) -> f64 {
    let still = on
        .windows(2)
        .filter(|rows| pick(&rows[0]).to_bits() == pick(&rows[1]).to_bits())
        .count() as f64;
    let share = still / (on.len().saturating_sub(1)).max(1) as f64;
    match share {
        share if share > 0.98 => -2.0,
        share if share > 0.9 => -1.0,
        _ => 0.5,
    }
}

fn correlation(on: &[(f64, f64)]) -> f64 {
    let n = on.len() as f64;
    let mean = |pick: fn(&(f64, f64)) -> f64| on.iter().map(pick).sum::<f64>() / n;
    let (mean_v, mean_a) = (mean(|pair| pair.0), mean(|pair| pair.1.abs()));
    let (mut vv, mut aa, mut va) = (0.0, 0.0, 0.0);
    for (volts, amps) in on {
        let (v, a) = (volts - mean_v, amps.abs() - mean_a);
        vv += v * v;
        aa += a * a;
        va += v * a;
    }
    if vv > 0.0 && aa > 0.0 {
        va / (vv * aa).sqrt()
    } else {
        0.0
    }
}

/// The value below which a share of the numbers lies.
pub(super) fn quantile(values: impl Iterator<Item = f64>, share: f64) -> Option<f64> {
    let mut values: Vec<f64> = values.filter(|value| value.is_finite()).collect();
    if values.is_empty() {
        return None;
    }
    let at = ((values.len() - 1) as f64 * share).round() as usize;
    let (_, value, _) = values.select_nth_unstable_by(at, f64::total_cmp);
    Some(*value)
}

/// How well a column rises as time does: the share of its steps that are about the usual one; `None` if it falls or
/// stands still more than now and then.
pub(super) fn rises(values: &[f64]) -> Option<f64> {
    let steps: Vec<f64> = values
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .filter(|step| step.is_finite())
        .collect();
    if steps.len() < 3 {
        return None;
    }
    let n = steps.len() as f64;
    let forward = steps.iter().filter(|step| **step > 0.0).count() as f64;
    let back = steps.iter().filter(|step| **step < 0.0).count() as f64;
    let usual = quantile(steps.iter().copied().filter(|step| *step > 0.0), 0.5)?;
    // Stamps may be coarser than the samples.
    if back > 0.01 * n + 1.0 || forward < 0.02 * n {
        return None;
    }
    let even = steps
        .iter()
        .filter(|step| **step == 0.0 || (**step - usual).abs() <= 0.5 * usual)
        .count() as f64;
    Some(even / n)
}

/// Smallest, median and largest number of a column.
pub(super) fn range(values: &[f64]) -> Option<(f64, f64, f64)> {
    Some((
        quantile(values.iter().copied(), 0.0)?,
        quantile(values.iter().copied(), 0.5)?,
        quantile(values.iter().copied(), 1.0)?,
    ))
}
