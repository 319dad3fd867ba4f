//! Polarity and uncertainty at their limits, and what is refused.

use super::*;
use crate::samples::RawPair;
use std::string::ToString;

/// 0.1 V and 0.1 A a count with no uncertainty, 1000 pairs a second.
const CHANNEL: Channel = Channel {
    gain_per_count: 0.1,
    zero_in_256ths: 0,
    gain_relative_uncertainty: 0.0,
    zero_uncertainty: 0.0,
    lowest_count: -8000,
    highest_count: 6000,
};
const CALIBRATION: Calibration = Calibration {
    voltage: CHANNEL,
    current: CHANNEL,
    sample_rate_hz: 1000.0,
    rate_relative_uncertainty: 0.0,
};

fn window(samples: &[(i32, i32, u16)]) -> WindowSums {
    let mut sums = WindowSums::EMPTY;
    for (voltage, current, times) in samples {
        assert!(sums.add_repeated(RawPair::new(*voltage, *current), *times));
    }
    sums
}

fn stretch(samples: &[(i32, i32, u16)]) -> Stretch {
    Stretch {
        sums: window(samples).into(),
        ..Stretch::default()
    }
}

fn mounted(voltage_gain: f64, current_gain: f64) -> Calibration {
    let mut calibration = CALIBRATION;
    calibration.voltage.gain_per_count = voltage_gain;
    calibration.current.gain_per_count = current_gain;
    calibration
}

/// An alarm about a lead that is not reversed would send the welder looking for nothing.
#[test]
fn a_lead_is_reversed_if_the_power_is_negative_whichever_way_the_sensors_are_mounted() {
    for (voltage_gain, current_gain) in [(0.1, 0.1), (-0.1, 0.1), (0.1, -0.1), (-0.1, -0.1)] {
        let calibration = mounted(voltage_gain, current_gain);
        for (volts, amps) in [
            (20, 100),
            (20, -100),
            (-20, 100),
            (-20, -100),
            (80, 0),
            (0, 100),
            (0, 0),
        ] {
            let count = |value: i32, gain: f64| if gain < 0.0 { -value } else { value };
            let samples = [(count(volts, voltage_gain), count(amps, current_gain), 9)];
            let measured = measure(&stretch(&samples), &calibration).expect("sound sums");
            let expected = match volts * amps {
                0 => Polarity::None,
                power if power < 0 => Polarity::ReversedLead,
                _ if volts < 0 => Polarity::ElectrodeNegative,
                _ => Polarity::ElectrodePositive,
            };
            assert_eq!(measured.polarity, expected, "{volts} V {amps} A");
            assert_eq!(
                is_reversed(&window(&samples), &calibration),
                expected == Polarity::ReversedLead,
                "{volts} V {amps} A, gains {voltage_gain} {current_gain}"
            );
        }
    }
}

/// Nine samples of 16 counts and seven of none: the mean is 9, the RMS 12, their ratio exactly 0.75.
#[test]
fn a_current_alternates_below_three_quarters_of_mean_to_rms() {
    for (sign, polarity) in [
        (1, Polarity::ElectrodePositive),
        (-1, Polarity::ElectrodeNegative),
    ] {
        let polarity_of = |samples: &[(i32, i32, u16)]| {
            let mut whole_counts = mounted(1.0, 1.0);
            whole_counts.sample_rate_hz = 1.0;
            measure(&stretch(samples), &whole_counts)
                .expect("sound sums")
                .polarity
        };
        let (volts, amps) = (16 * sign, 100 * sign);
        assert_eq!(polarity_of(&[(volts, amps, 9), (0, amps, 7)]), polarity);
        let below = polarity_of(&[(volts, amps, 9), (0, amps, 7), (-sign, -amps, 1)]);
        assert_eq!(below, Polarity::Alternating);
    }
    // As much of one polarity as of the other: the mean is zero.
    let balanced = [(200, 1000, 500), (-200, -1000, 500)];
    let measured = measure(&stretch(&balanced), &CALIBRATION).expect("sound sums");
    assert_eq!(measured.polarity, Polarity::Alternating);
}

/// See [`measure`]: limit times the RMS of the other channel times the clipped time, as a half-width.
#[test]
fn a_clipped_sample_may_have_been_as_much_again_above_the_limit_that_is_further_from_zero() {
    let mut calibration = CALIBRATION;
    // Zeros at 10 and −20 counts: the limits further away are 8010 counts below and 8020 above.
    calibration.voltage.zero_in_256ths = 10 * 256;
    calibration.current.zero_in_256ths = -20 * 256;
    calibration.current.highest_count = 8000;
    let (volts, amps, seconds) = (25.0, 120.0, 4.0);
    let samples = [(250 + 10, 1200 - 20, 4000)];
    let rounding = 0.1 / 12_f64.sqrt();
    let zeros = rounding * seconds * f64::hypot(volts, amps);
    for (clipped_voltage, clipped_current, limit) in
        [(1000, 0, 801.0 * amps), (0, 1000, 802.0 * volts)]
    {
        let stretch = Stretch {
            clipped_voltage,
            clipped_current,
            ..stretch(&samples)
        };
        let measured = measure(&stretch, &calibration).expect("sound sums");
        assert_eq!((measured.clipped, measured.duration), (1000, Seconds(4.0)));
        // A quarter of the time.
        let expected = f64::hypot(zeros, limit * seconds / 4.0 / 3_f64.sqrt());
        let found = measured.energy_standard_uncertainty.0;
        assert!((found / expected - 1.0).abs() < 1e-12, "{found} {expected}");
    }
}

#[test]
fn an_energy_whose_uncertainty_overflows_is_not_given() {
    let mut calibration = CALIBRATION;
    calibration.voltage.gain_relative_uncertainty = 1e308;
    let found = measure(&stretch(&[(200, 1000, 2000)]), &calibration);
    assert_eq!(found, Err(MeterError::ImpossibleSums));
    let found = measure(&stretch(&[(200, 1000, 2000)]), &mounted(1e200, 1e200));
    assert_eq!(found, Err(MeterError::ImpossibleSums));
}

#[test]
fn a_calibration_is_refused_by_the_name_of_its_wrong_number() {
    type Set = fn(&mut Calibration, f64);
    let numbers: [(&str, Set, bool); 8] = [
        ("voltage gain", |c, x| c.voltage.gain_per_count = x, false),
        ("current gain", |c, x| c.current.gain_per_count = x, false),
        (
            "uncertainty of the voltage gain",
            |c, x| c.voltage.gain_relative_uncertainty = x,
            true,
        ),
        (
            "uncertainty of the current gain",
            |c, x| c.current.gain_relative_uncertainty = x,
            true,
        ),
        (
            "uncertainty of the voltage zero",
            |c, x| c.voltage.zero_uncertainty = x,
            true,
        ),
        (
            "uncertainty of the current zero",
            |c, x| c.current.zero_uncertainty = x,
            true,
        ),
        ("sample rate", |c, x| c.sample_rate_hz = x, false),
        (
            "uncertainty of the sample rate",
            |c, x| c.rate_relative_uncertainty = x,
            true,
        ),
    ];
    for (name, set, may_be_zero) in numbers {
        for value in [0.0, -1.0, f64::INFINITY, f64::NAN] {
            let mut calibration = CALIBRATION;
            set(&mut calibration, value);
            let found = measure(&stretch(&[(200, 1000, 10)]), &calibration).map(|_| ());
            // A negative gain is that of a sensor mounted the other way round.
            let is_fine = value == 0.0 && may_be_zero
                || value == -1.0 && ["voltage gain", "current gain"].contains(&name);
            let expected = if is_fine {
                Ok(())
            } else {
                Err(MeterError::Calibration(name))
            };
            assert_eq!(found, expected, "{name} {value}");
        }
    }
}

#[test]
fn why_nothing_can_be_measured_is_said_in_words() {
    for (error, words) in [
        (
            MeterError::NoSamples,
            "there are no samples here, so there is nothing to measure",
        ),
        (
            MeterError::Calibration("voltage gain"),
            "the calibration's voltage gain is not a usable number; calibrate again or correct it",
        ),
        (
            MeterError::ImpossibleSums,
            "these sums cannot come from samples; the record is damaged, leave it out",
        ),
    ] {
        assert_eq!(error.to_string(), words);
    }
    let nothing = measure(&Stretch::default(), &CALIBRATION);
    assert_eq!(nothing, Err(MeterError::NoSamples));
}
