//! What sampling leaves open is worked out by hand: when the arc began and ended, and what it did between samples.

use super::*;
use crate::log::tests::{log_of, open, recording};
use coldsquare_core::meter::Polarity;
use coldsquare_core::units::{Amperes, Joules, Seconds, Volts, Watts};

fn assert_near(value: f64, expected: f64) {
    assert!(
        (value - expected).abs() <= 1e-9 * expected.abs(),
        "{value} and {expected}"
    );
}

/// Ten samples a second.
const SLOW: Sampling = Sampling {
    interval: 0.1,
    is_slow: true,
};

/// A current of 5 A and 13 A effective, a voltage of 3 V and 5 V effective: variances of 144 A² and 16 V². Their product
/// differs from that of the means, 15 W, by `together`.
fn burning(together: f64) -> Measured {
    Measured {
        samples: 5,
        dropped: 0,
        clipped: 0,
        duration: Seconds(0.5),
        mean_voltage: Volts(3.0),
        mean_current: Amperes(5.0),
        rms_voltage: Volts(5.0),
        rms_current: Amperes(13.0),
        true_power: Watts(15.0 + together),
        product_of_means: Watts(15.0),
        energy: Joules(0.0),
        energy_standard_uncertainty: Joules(0.0),
        polarity: Polarity::None,
    }
}

#[test]
fn a_logger_is_slow_below_a_thousand_samples_a_second() {
    for (rate, is_slow) in [
        (999.0, true),
        (1000.0, false),
        (1001.0, false),
        (20.0, true),
    ] {
        let mut log = log_of(Vec::new());
        log.headers[0].calibration.sample_rate_hz = rate;
        let sampling = Sampling::of(&log, &log.headers[0]);
        assert_eq!(sampling.is_slow, is_slow, "{rate}");
        assert_near(sampling.interval * rate, 1.0);
    }
}

#[test]
fn rows_of_a_recording_count_not_the_grid_that_they_were_put_on() {
    let mut log = open(&recording(100));
    log.headers[0].calibration.sample_rate_hz = 5000.0;
    let sampling = Sampling::of(&log, &log.headers[0]);
    assert!(sampling.is_slow);
    assert_near(sampling.interval, 0.01);
}

/// Half-width of a triangle over √6 (JCGM 100:2008, 4.3.9), for each arc.
#[test]
fn each_arc_began_and_ended_between_two_samples() {
    assert_near(SLOW.edges(0), 0.1 / 6f64.sqrt());
    // Three arcs: √3 of one. Six: √6, so one interval.
    assert_near(SLOW.edges(2), 0.1 / 2f64.sqrt());
    assert_near(SLOW.edges(5), 0.1);
    assert_near(SLOW.edges(23), 0.2);
}

#[test]
fn samples_that_follow_closely_miss_no_scatter() {
    let fast = Sampling {
        interval: 0.001,
        is_slow: false,
    };
    assert_eq!(fast.scatter(&burning(-20.0), 0.5), 0.0);
}

#[test]
fn the_scatter_of_power_is_that_of_volts_amps_and_both_together() {
    // 5² · 16 + 3² · 144 = 1696, and 2 · 15 · together; beyond the first order 16 · 144 = 2304; all in W².
    // Of five samples: over 5, widened by (5 − 1) / (5 − 3) = 2, times 0.5 s.
    let of = |variance: f64| (variance / 5.0 * 2.0).sqrt() * 0.5;
    assert_near(SLOW.scatter(&burning(0.0), 0.5), of(4000.0));
    assert_near(SLOW.scatter(&burning(-20.0), 0.5), of(3400.0));
    assert_near(SLOW.scatter(&burning(20.0), 0.5), of(4600.0));
    // Sums of a damaged record: less than nothing is nothing.
    assert_near(SLOW.scatter(&burning(-80.0), 0.5), of(2304.0));
    // With a steady current the voltage alone scatters: 25 · 16.
    let mut steady = burning(0.0);
    steady.rms_current = Amperes(5.0);
    assert_near(SLOW.scatter(&steady, 0.5), of(400.0));
    // With a steady voltage the current alone: 9 · 144.
    let mut steady = burning(0.0);
    steady.rms_voltage = Volts(3.0);
    assert_near(SLOW.scatter(&steady, 0.5), of(1296.0));
    // Rounding may leave an effective value below its mean.
    steady.rms_voltage = Volts(2.0);
    assert_near(SLOW.scatter(&steady, 0.5), of(1296.0));
    let mut steady = burning(0.0);
    steady.rms_current = Amperes(4.0);
    assert_near(SLOW.scatter(&steady, 0.5), of(400.0));
}

#[test]
fn few_samples_say_little_and_many_say_more() {
    let of = |arc_time: f64| SLOW.scatter(&burning(0.0), arc_time);
    // No more than three-fold in variance: Student's distribution has none for fewer than four samples.
    for rows in [1.0, 2.0, 3.0, 4.0] {
        assert_near(of(0.1 * rows), (4000.0 / rows * 3.0).sqrt() * 0.1 * rows);
    }
    // Shorter than from one sample to the next: one sample.
    assert_near(of(0.05), (4000.0f64 * 3.0).sqrt() * 0.05);
    assert_eq!(of(0.0), 0.0);
    // (101 − 1) / (101 − 3).
    assert_near(of(10.1), (4000.0 / 101.0 * 100.0 / 98.0f64).sqrt() * 10.1);
}
