//! The course of a bead in time, thinned for drawing, with every peak kept.

use super::model::{Spread, TracePoint};
use crate::log::{Log, LoggedBead};
use coldsquare_core::bead::Window;
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::meter::{Polarity, Stretch, measure};
use coldsquare_core::samples::WindowSums;
use coldsquare_core::units::{Amperes, Joules, Volts, Watts};

/// At most `max_points` points; with more windows than that, neighbours are merged.
///
/// Volts and amps of a direct-current arc are magnitudes, those of an alternating arc keep their signs. The running
/// energy is scaled to end at the energy of the bead, in which the meter counts dropped samples.
pub fn trace(log: &Log, logged: &LoggedBead, max_points: usize) -> Vec<TracePoint> {
    let windows = log.windows_of(&logged.bead);
    let Ok(whole) = &logged.measured else {
        return Vec::new();
    };
    let calibration = &log.header_at(logged.bead.start).calibration;
    let signs = Signs {
        voltage: sign(whole.polarity, whole.mean_voltage.0),
        current: sign(whole.polarity, whole.mean_current.0),
        power: if whole.true_power.0 < 0.0 { -1.0 } else { 1.0 },
    };
    let per_point = windows.len().div_ceil(max_points.max(2)).max(1);
    let mut energy = 0.0;
    let mut points: Vec<TracePoint> = windows
        .chunks(per_point)
        .filter_map(|chunk| point(log, chunk, calibration, signs, &mut energy))
        .collect();
    if energy > 0.0 {
        for point in &mut points {
            point.running_energy = point.running_energy * (whole.energy.0 / energy);
        }
    }
    points
}

/// Signs that turn measured values into magnitudes.
#[derive(Clone, Copy)]
struct Signs {
    voltage: f64,
    current: f64,
    power: f64,
}

fn sign(polarity: Polarity, mean: f64) -> f64 {
    if polarity != Polarity::Alternating && mean < 0.0 {
        -1.0
    } else {
        1.0
    }
}

fn point(
    log: &Log,
    chunk: &[Window],
    calibration: &Calibration,
    signs: Signs,
    energy: &mut f64,
) -> Option<TracePoint> {
    let (first, last) = (chunk.first()?, chunk.last()?);
    let counts = extremes(chunk);
    let mut whole = Stretch::default();
    let (mut lowest, mut highest) = (f64::INFINITY, f64::NEG_INFINITY);
    for window in chunk {
        whole.sums.add_window(&window.sums);
        if let Ok(measured) = measure(&Stretch::from(window), calibration) {
            let power = signs.power * measured.true_power.0;
            lowest = lowest.min(power);
            highest = highest.max(power);
            *energy += power * measured.duration.0;
        }
    }
    let measured = measure(&whole, calibration).ok()?;
    let voltage = spread(
        &calibration.voltage,
        counts.voltage,
        measured.mean_voltage.0,
        signs.voltage,
    );
    let current = spread(
        &calibration.current,
        counts.current,
        measured.mean_current.0,
        signs.current,
    );
    Some(TracePoint {
        from: log.seconds(first.start),
        until: log.seconds(last.start.saturating_add(last.span())),
        arc_on: chunk.iter().any(|window| window.arc_on),
        voltage: voltage.map(Volts),
        current: current.map(Amperes),
        power: Spread {
            lowest: Watts(lowest),
            mean: Watts(signs.power * measured.true_power.0),
            highest: Watts(highest),
        },
        running_energy: Joules(*energy),
    })
}

/// The lowest and the highest count of each channel.
struct Extremes {
    voltage: (i32, i32),
    current: (i32, i32),
}

fn extremes(chunk: &[Window]) -> Extremes {
    let mut sums = WindowSums::EMPTY;
    for window in chunk {
        sums.v_min = sums.v_min.min(window.sums.v_min);
        sums.v_max = sums.v_max.max(window.sums.v_max);
        sums.i_min = sums.i_min.min(window.sums.i_min);
        sums.i_max = sums.i_max.max(window.sums.i_max);
    }
    Extremes {
        voltage: (sums.v_min, sums.v_max),
        current: (sums.i_min, sums.i_max),
    }
}

fn spread(channel: &Channel, (low, high): (i32, i32), mean: f64, sign: f64) -> Spread<f64> {
    let value = |count: i32| {
        let zero = f64::from(channel.zero_in_256ths) / 256.0;
        sign * channel.gain_per_count * (f64::from(count) - zero)
    };
    let (a, b) = (value(low), value(high));
    Spread {
        lowest: a.min(b),
        mean: sign * mean,
        highest: a.max(b),
    }
}
