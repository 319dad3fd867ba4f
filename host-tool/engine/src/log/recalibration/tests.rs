//! A later calibration corrects what was logged, says so, and is refused where no sensor can be so far off.

use super::*;
use crate::log::tests::{Held, header};

fn correction(factor: f64, offset: f64, gain_uncertainty_percent: Option<f64>) -> Correction {
    Correction {
        factor,
        offset,
        gain_uncertainty_percent,
    }
}

fn recalibration(voltage: Option<Correction>, current: Option<Correction>) -> Recalibration {
    Recalibration {
        on: "1970-01-03".into(),
        note: String::new(),
        voltage,
        current,
    }
}

/// What a channel reads at a count: gain · (count − zero).
fn reads(channel: &Channel, count: f64) -> f64 {
    channel.gain_per_count * (count - f64::from(channel.zero_in_256ths) / 256.0)
}

/// 0.25 A a count from count 20 on, with a zero known to 0.5 A.
fn clamp() -> Channel {
    Channel {
        gain_per_count: 0.25,
        zero_in_256ths: 20 * 256,
        zero_uncertainty: 0.5,
        ..header().calibration.current
    }
}

#[test]
fn what_was_logged_is_multiplied_and_the_offset_is_added() {
    let mut channel = clamp();
    let logged = [0.0, 20.0, 1000.0].map(|count| reads(&channel, count));
    assert_eq!(logged, [-5.0, 0.0, 245.0]);
    correction(2.0, 6.0, None).apply(&mut channel);
    // 2 · logged + 6.
    let corrected = [0.0, 20.0, 1000.0].map(|count| reads(&channel, count));
    assert_eq!(corrected, [-4.0, 6.0, 496.0]);
    // 6 A are 12 counts of 0.5 A: the zero moves from 20 to 8.
    assert_eq!(
        (channel.gain_per_count, channel.zero_in_256ths),
        (0.5, 8 * 256)
    );
    assert_eq!(channel.zero_uncertainty, 1.0);
    assert_eq!(channel.gain_relative_uncertainty, 0.01, "that of the log");
}

#[test]
fn the_uncertainty_of_a_certificate_is_expanded_and_in_percent() {
    let mut channel = clamp();
    correction(1.0, 0.0, Some(3.0)).apply(&mut channel);
    // ± 3 % with k = 2: 0.015 with k = 1.
    assert_eq!(channel.gain_relative_uncertainty, 0.015);
    assert_eq!(channel.zero_in_256ths, 20 * 256);
}

#[test]
fn each_channel_has_its_own_correction_and_the_date_is_that_of_the_calibration() {
    let double = Some(correction(2.0, 0.0, None));
    for (voltage, current, gains, calibrated) in [
        (double, None, (0.02, 0.1), 172_800),
        (None, double, (0.01, 0.2), 172_800),
        (double, double, (0.02, 0.2), 172_800),
        (None, None, (0.01, 0.1), 7),
    ] {
        let mut header = header();
        header.calibrated_unix_s = 7;
        recalibration(voltage, current).apply(&mut header);
        let calibration = &header.calibration;
        assert_eq!(
            (
                calibration.voltage.gain_per_count,
                calibration.current.gain_per_count
            ),
            gains
        );
        assert_eq!(
            header.calibrated_unix_s, calibrated,
            "2 days after 1970-01-01"
        );
    }
}

#[test]
fn a_calibration_is_told_in_a_line() {
    let told = |voltage, current| recalibration(voltage, current).describe();
    let from = "from the calibration of 1970-01-03";
    assert_eq!(told(None, None), format!("as logged, {from}"));
    assert_eq!(
        told(None, Some(correction(1.05, 0.0, None))),
        format!("amps × 1.05, {from}")
    );
    assert_eq!(
        told(
            Some(correction(0.5, 2.5, None)),
            Some(correction(1.0, -3.0, None))
        ),
        format!("volts × 0.5 + 2.5, amps × 1 - 3, {from}")
    );
}

#[test]
fn a_sensor_that_is_further_off_did_not_work() {
    let is_refused = |one: Correction, named: &str| {
        let faults = [
            recalibration(Some(one), None).fault(),
            recalibration(None, Some(one)).fault(),
        ];
        assert_eq!(faults[0], faults[1]);
        faults[0].is_some_and(|fault| {
            assert!(fault.starts_with(named), "{fault}");
            true
        })
    };
    for (factor, refused) in [
        (0.1, false),
        (0.099, true),
        (10.0, false),
        (10.01, true),
        (-1.0, true),
        (f64::NAN, true),
    ] {
        let one = correction(factor, 0.0, None);
        assert_eq!(is_refused(one, "factor"), refused, "{factor}");
    }
    for (offset, refused) in [
        (-1000.0, false),
        (-1000.1, true),
        (1000.0, false),
        (1000.1, true),
        (f64::NAN, true),
    ] {
        let one = correction(1.0, offset, None);
        assert_eq!(is_refused(one, "offset"), refused, "{offset}");
    }
    for (percent, refused) in [
        (0.0, false),
        (-0.1, true),
        (100.0, false),
        (100.1, true),
        (f64::NAN, true),
    ] {
        let one = correction(1.0, 0.0, Some(percent));
        assert_eq!(
            is_refused(one, "gain_uncertainty_percent"),
            refused,
            "{percent}"
        );
    }
}

#[test]
fn the_day_of_a_calibration_is_a_date_since_1970() {
    let fault = |on: &str| {
        let mut one = recalibration(None, None);
        one.on = on.into();
        one.fault()
    };
    assert_eq!(fault("2026-11-25"), None);
    assert_eq!(fault("1970-01-01"), None);
    for on in ["1969-12-31", "25.11.2026", "2026-02-30", ""] {
        assert_eq!(
            fault(on),
            Some("`on` must be a date, as 2026-11-25"),
            "{on}"
        );
    }
}

const TWO: &str = "[[calibration]]\non = \"2026-11-25\"\ncurrent = { factor = 1.05 }\n\n\
                   [[calibration]]\non = \"2026-11-26\"\nvoltage = { times = 2.0, plus = -1.0 }\n";

#[test]
fn the_calibrations_beside_a_log_are_read_and_a_log_without_them_has_none() {
    let files = Held(vec![
        ("bench/weld-calibration.toml", TWO.into()),
        (
            "bench/other-calibration.toml",
            TWO.replace("2.0", "20.0").into(),
        ),
    ]);
    let load = |name: &str| load(&files, Path::new(name));
    let entries = load("bench/weld.log").expect("no errors");
    assert_eq!(entries.len(), 2);
    assert_eq!(entries[0].current, Some(correction(1.05, 0.0, None)));
    assert_eq!(entries[1].voltage, Some(correction(2.0, -1.0, None)));
    assert!(load("weld.log").expect("none beside it").is_empty());
    assert_eq!(
        load("bench/other.log")
            .expect_err("too far off")
            .to_string(),
        "bench/other-calibration.toml: calibration 2: factor must be from 0.1 to 10; a sensor further off than that did not \
         work"
    );
}
