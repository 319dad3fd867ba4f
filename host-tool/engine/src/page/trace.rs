//! The trace of a bead in whole numbers, thinned so that all traces of a page fit in it. No peak is lost.

use super::scene::round;
use crate::map::model::{MappedBead, Spread, TracePoint, WeldMap};
use serde::Serialize;

/// Most points of all traces of a page together: keeps a page of 200 welds under a megabyte.
const MAX_POINTS: usize = 6_000;
/// Every bead keeps this many.
const MIN_POINTS: usize = 12;

/// Lists of equal length, one entry a point.
#[derive(Serialize, Default)]
pub(super) struct TraceData {
    /// Seconds from the start of the bead to the end of each point.
    until: Vec<f64>,
    /// Whether the arc burned.
    arc_on: Vec<u8>,
    /// Lowest, mean and highest, tenths of a volt.
    volts: [Vec<i64>; 3],
    /// Lowest, mean and highest, amps.
    amps: [Vec<i64>; 3],
    /// Lowest, mean and highest, tens of watts.
    power: [Vec<i64>; 3],
    /// Energy so far, J.
    energy: Vec<i64>,
}

/// How many points each bead of a map may have.
pub(super) fn points_per_bead(map: &WeldMap) -> usize {
    (MAX_POINTS / map.beads.len().max(1)).max(MIN_POINTS)
}

pub(super) fn data(bead: &MappedBead, most: usize) -> TraceData {
    let mut data = TraceData::default();
    for point in thin(&bead.trace, most) {
        data.until.push(round(point.until.0 - bead.start.0, 100.0));
        data.arc_on.push(u8::from(point.arc_on));
        push(
            &mut data.volts,
            spread(point.voltage, |volts| volts.0 * 10.0),
        );
        push(&mut data.amps, spread(point.current, |amps| amps.0));
        push(&mut data.power, spread(point.power, |watts| watts.0 / 10.0));
        data.energy.push(whole(point.running_energy.0));
    }
    data
}

fn push(lists: &mut [Vec<i64>; 3], values: [i64; 3]) {
    for (list, value) in lists.iter_mut().zip(values) {
        list.push(value);
    }
}

fn spread<T: Copy>(spread: Spread<T>, number: impl Fn(T) -> f64) -> [i64; 3] {
    [spread.lowest, spread.mean, spread.highest].map(|value| whole(number(value)))
}

fn whole(value: f64) -> i64 {
    value.round() as i64
}

/// Joins neighbours until there are at most `most`, but not across the arc going out or on.
fn thin(points: &[TracePoint], most: usize) -> Vec<TracePoint> {
    let together = points.len().div_ceil(most.max(1)).max(1);
    let mut thinned: Vec<(TracePoint, usize)> = Vec::new();
    for point in points {
        match thinned.last_mut() {
            Some((last, count)) if *count < together && last.arc_on == point.arc_on => {
                *last = joined(last, point);
                *count += 1;
            }
            _ => thinned.push((*point, 1)),
        }
    }
    thinned.into_iter().map(|(point, _)| point).collect()
}

fn joined(a: &TracePoint, b: &TracePoint) -> TracePoint {
    let (before, after) = (a.until.0 - a.from.0, b.until.0 - b.from.0);
    let weight = if before + after > 0.0 {
        before / (before + after)
    } else {
        0.5
    };
    macro_rules! both {
        ($field:ident) => {
            Spread {
                lowest: if a.$field.lowest.0 < b.$field.lowest.0 {
                    a.$field.lowest
                } else {
                    b.$field.lowest
                },
                mean: a.$field.mean * weight + b.$field.mean * (1.0 - weight),
                highest: if a.$field.highest.0 > b.$field.highest.0 {
                    a.$field.highest
                } else {
                    b.$field.highest
                },
            }
        };
    }
    TracePoint {
        from: a.from,
        until: b.until,
        arc_on: a.arc_on,
        voltage: both!(voltage),
        current: both!(current),
        power: both!(power),
        running_energy: b.running_energy,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use coldsquare_core::units::{Amperes, Joules, Seconds, Volts, Watts};

    fn point(k: usize, peak: f64) -> TracePoint {
        let spread = |mean: f64| (mean - 1.0, mean, mean + peak);
        let (v, a, p) = (spread(18.0), spread(115.0), spread(2000.0));
        TracePoint {
            from: Seconds(k as f64),
            until: Seconds(k as f64 + 1.0),
            arc_on: k != 50,
            voltage: Spread {
                lowest: Volts(v.0),
                mean: Volts(v.1),
                highest: Volts(v.2),
            },
            current: Spread {
                lowest: Amperes(a.0),
                mean: Amperes(a.1),
                highest: Amperes(a.2),
            },
            power: Spread {
                lowest: Watts(p.0),
                mean: Watts(p.1),
                highest: Watts(p.2),
            },
            running_energy: Joules(2000.0 * (k as f64 + 1.0)),
        }
    }

    #[test]
    fn thinning_keeps_peaks_gaps_time_and_energy() {
        let points: Vec<TracePoint> = (0..100)
            .map(|k| point(k, if k == 37 { 90.0 } else { 1.0 }))
            .collect();
        let thinned = thin(&points, 10);
        assert!(thinned.len() <= 13, "{} points left", thinned.len());
        let highest = thinned
            .iter()
            .map(|p| p.current.highest.0)
            .fold(0.0, f64::max);
        assert!(
            (highest - 205.0).abs() < 1e-9,
            "the peak of {highest} A was worn down"
        );
        let dark: Vec<_> = thinned.iter().filter(|p| !p.arc_on).collect();
        assert_eq!(dark.len(), 1, "the second without arc stands alone");
        assert!((dark[0].until.0 - dark[0].from.0 - 1.0).abs() < 1e-12);
        for pair in thinned.windows(2) {
            assert!(
                (pair[0].until.0 - pair[1].from.0).abs() < 1e-12,
                "no time is lost"
            );
        }
        let last = thinned.last().expect("points");
        assert!((last.running_energy.0 - 200_000.0).abs() < 1e-6);
        assert!(
            thinned
                .iter()
                .all(|p| (p.voltage.mean.0 - 18.0).abs() < 1e-9)
        );
    }
}
