//! Promises of the meter about volts, amps, energy and their uncertainty.

use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::meter::{Measured, MeterError, Polarity, Stretch, is_reversed, measure};
use coldsquare_core::process::Process;
use coldsquare_core::samples::{MAX_COUNT, RawPair, Sums, WindowSums};
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_engine::formulas::heat_input::heat_input;
use coldsquare_tests::assert_close;
use proptest::prelude::*;

const fn channel(gain_per_count: f64, zero_in_256ths: i32) -> Channel {
    Channel {
        gain_per_count,
        zero_in_256ths,
        gain_relative_uncertainty: 0.0,
        zero_uncertainty: 0.0,
        lowest_count: -MAX_COUNT,
        highest_count: MAX_COUNT,
    }
}

/// 1 V and 1 A a count, no uncertainty, ten samples a second.
const PLAIN: Calibration = Calibration {
    voltage: channel(1.0, 0),
    current: channel(1.0, 0),
    sample_rate_hz: 10.0,
    rate_relative_uncertainty: 0.0,
};

fn sums(samples: &[(i32, i32)]) -> Sums {
    let mut window = WindowSums::EMPTY;
    for &(v, i) in samples {
        assert!(window.add(RawPair::new(v, i)));
    }
    window.into()
}

fn stretch(samples: &[(i32, i32)]) -> Stretch {
    Stretch {
        sums: sums(samples),
        ..Stretch::default()
    }
}

fn measured(samples: &[(i32, i32)], calibration: &Calibration) -> Measured {
    measure(&stretch(samples), calibration).expect("measurable")
}

fn samples() -> impl Strategy<Value = Vec<(i32, i32)>> {
    let count = prop_oneof![-500..=500i32, -MAX_COUNT..=MAX_COUNT];
    prop::collection::vec((count.clone(), count), 1..200)
}

fn calibration() -> impl Strategy<Value = Calibration> {
    let gain = prop_oneof![1e-6..1.0f64, -1.0..-1e-6f64];
    let zero = -1_000_000..1_000_000i32;
    (gain.clone(), gain, zero.clone(), zero, 1.0..1e6f64).prop_map(
        |(v, i, zero_v, zero_i, rate)| Calibration {
            voltage: channel(v, zero_v),
            current: channel(i, zero_i),
            sample_rate_hz: rate,
            rate_relative_uncertainty: 0.0,
        },
    )
}

#[test]
fn true_power_is_the_mean_of_the_products() {
    // By hand: products 10 · 100 and 30 · 300 have mean 5000; means 20 and 200 have product 4000.
    let measured = measured(&[(10, 100), (30, 300)], &PLAIN);
    assert_eq!(
        (measured.true_power.0, measured.product_of_means.0),
        (5000.0, 4000.0)
    );
    assert_eq!((measured.duration.0, measured.energy.0), (0.2, 1000.0));
    assert_eq!(
        (measured.mean_voltage.0, measured.mean_current.0),
        (20.0, 200.0)
    );
    assert_close(measured.rms_voltage.0, 500f64.sqrt(), 0.0, 1e-15);
    assert_close(measured.rms_current.0, 50_000f64.sqrt(), 0.0, 1e-15);
    assert_eq!(measured.polarity, Polarity::ElectrodePositive);
}

proptest! {
    #[test]
    fn sums_measure_what_the_samples_do_one_by_one(samples in samples(), calibration in calibration()) {
        let (voltage, current) = (&calibration.voltage, &calibration.current);
        let value = |channel: &Channel, count: i32| {
            channel.gain_per_count * (f64::from(count) - f64::from(channel.zero_in_256ths) / 256.0)
        };
        let n = samples.len() as f64;
        let of_all = |term: fn(f64, f64) -> f64| {
            samples.iter().map(|&(v, i)| term(value(voltage, v), value(current, i))).sum::<f64>() / n
        };
        let measured = measured(&samples, &calibration);
        // One by one the f64 sum rounds; so it is compared on the scale of what was added.
        let scale_v = of_all(|v, _| v * v).sqrt();
        let scale_i = of_all(|_, i| i * i).sqrt();
        assert_close(measured.mean_voltage.0, of_all(|v, _| v), 1e-12 * scale_v, 0.0);
        assert_close(measured.mean_current.0, of_all(|_, i| i), 1e-12 * scale_i, 0.0);
        assert_close(measured.rms_voltage.0, scale_v, 0.0, 1e-12);
        assert_close(measured.rms_current.0, scale_i, 0.0, 1e-12);
        assert_close(measured.true_power.0, of_all(|v, i| v * i), 1e-12 * scale_v * scale_i, 0.0);
        assert_close(measured.duration.0, n / calibration.sample_rate_hz, 0.0, 1e-15);
        assert_close(measured.energy.0, measured.true_power.0.abs() * measured.duration.0, 0.0, 1e-15);
    }

    #[test]
    fn subtracting_the_zero_from_sums_equals_subtracting_it_from_samples_to_the_last_bit(
        samples in prop::collection::vec((-4000..4000i32, -4000..4000i32), 1..200),
        zero_v in -4000..4000i32,
        zero_i in -4000..4000i32,
        calibration in calibration(),
    ) {
        let shifted: Vec<_> = samples.iter().map(|&(v, i)| (v - zero_v, i - zero_i)).collect();
        let with_zeros = |zero_v: i32, zero_i: i32| Calibration {
            voltage: Channel { zero_in_256ths: 256 * zero_v, ..calibration.voltage },
            current: Channel { zero_in_256ths: 256 * zero_i, ..calibration.current },
            ..calibration
        };
        let afterwards = measured(&samples, &with_zeros(zero_v, zero_i));
        let at_once = measured(&shifted, &with_zeros(0, 0));
        prop_assert_eq!(afterwards, at_once);
    }

    #[test]
    fn energy_of_the_parts_adds_up(first in samples(), second in samples(), calibration in calibration()) {
        let mut whole = sums(&first);
        whole.merge(&sums(&second));
        let power_time = |measured: Measured| measured.true_power.0 * measured.duration.0;
        let parts = [measured(&first, &calibration), measured(&second, &calibration)].map(power_time);
        let whole = power_time(
            measure(&Stretch { sums: whole, ..Stretch::default() }, &calibration).expect("measurable"),
        );
        assert_close(whole, parts[0] + parts[1], 1e-13 * (parts[0].abs() + parts[1].abs()), 0.0);
    }

    #[test]
    fn a_lead_the_other_way_round_changes_the_sign_and_nothing_else(samples in samples(), calibration in calibration()) {
        let turned_gains = Calibration {
            current: Channel { gain_per_count: -calibration.current.gain_per_count, ..calibration.current },
            ..calibration
        };
        let (right, turned) = (measured(&samples, &calibration), measured(&samples, &turned_gains));
        prop_assert_eq!(right.energy, turned.energy);
        prop_assert_eq!(right.energy_standard_uncertainty, turned.energy_standard_uncertainty);
        prop_assert_eq!(right.true_power, -turned.true_power);
        if right.true_power.0 != 0.0 {
            let reversed = |measured: Measured| measured.polarity == Polarity::ReversedLead;
            prop_assert_ne!(reversed(right), reversed(turned));
        }
        // The logger's short check of a window agrees.
        let mut window = WindowSums::EMPTY;
        for &(v, i) in &samples {
            prop_assert!(window.add(RawPair::new(v, i)));
        }
        for (calibration, measured) in [(&calibration, right), (&turned_gains, turned)] {
            let reversed = measured.polarity == Polarity::ReversedLead;
            prop_assert_eq!(is_reversed(&window, calibration), reversed);
        }
    }

    /// GUM 5.1.3, note 2: the contribution of an input is the change of the result when the input moves by its uncertainty.
    #[test]
    fn each_uncertainty_contributes_as_much_as_it_moves_the_energy(
        samples in prop::collection::vec((100..1000i32, 100..1000i32), 1..50),
        gains in (0.0..0.05f64, 0.0..0.05f64, 0.0..0.05f64),
        zeros in (0..2000i32, 0..2000i32),
    ) {
        let exact = Calibration { voltage: channel(0.05, 100), current: channel(0.3, -700), ..PLAIN };
        let uncertain_calibration = Calibration {
            voltage: Channel {
                gain_relative_uncertainty: gains.0,
                zero_uncertainty: 0.05 * f64::from(zeros.0) / 256.0,
                ..exact.voltage
            },
            current: Channel {
                gain_relative_uncertainty: gains.1,
                zero_uncertainty: 0.3 * f64::from(zeros.1) / 256.0,
                ..exact.current
            },
            rate_relative_uncertainty: gains.2,
            ..exact
        };
        let base = measured(&samples, &exact).energy.0;
        let mut moved = [exact; 7];
        moved[0].voltage.gain_per_count *= 1.0 + gains.0;
        moved[1].current.gain_per_count *= 1.0 + gains.1;
        moved[2].sample_rate_hz /= 1.0 + gains.2;
        moved[3].voltage.zero_in_256ths += zeros.0;
        moved[4].current.zero_in_256ths += zeros.1;
        // Half a count of rounding, evenly spread: its standard uncertainty is a half-width over the root of three.
        moved[5].voltage.zero_in_256ths += 128;
        moved[6].current.zero_in_256ths += 128;
        let scale = [1.0, 1.0, 1.0, 1.0, 1.0, 3f64.sqrt(), 3f64.sqrt()];
        let squares: f64 = moved
            .iter()
            .zip(scale)
            .map(|(moved, scale)| ((measured(&samples, moved).energy.0 - base) / scale).powi(2))
            .sum();
        let measured = measured(&samples, &uncertain_calibration);
        assert_close(measured.energy_standard_uncertainty.0, squares.sqrt(), 0.0, 1e-9);
        assert_close(measured.energy_expanded_uncertainty().0, 2.0 * squares.sqrt(), 0.0, 1e-9);
    }

    #[test]
    fn any_numbers_give_a_sound_measurement_or_an_error(
        n in any::<u64>(),
        values in any::<[i128; 5]>(),
        missing in any::<[u64; 3]>(),
        floats in any::<[f64; 8]>(),
        ints in any::<[i32; 6]>(),
    ) {
        let [v, i, vv, ii, vi] = values;
        let [dropped, clipped_voltage, clipped_current] = missing;
        let channel = |floats: &[f64], ints: &[i32]| Channel {
            gain_per_count: floats[0],
            zero_in_256ths: ints[0],
            gain_relative_uncertainty: floats[1],
            zero_uncertainty: floats[2],
            lowest_count: ints[1],
            highest_count: ints[2],
        };
        let calibration = Calibration {
            voltage: channel(&floats[..3], &ints[..3]),
            current: channel(&floats[3..6], &ints[3..]),
            sample_rate_hz: floats[6],
            rate_relative_uncertainty: floats[7],
        };
        let stretch = Stretch {
            sums: Sums { n, v, i, vv, ii, vi },
            dropped,
            clipped_voltage,
            clipped_current,
        };
        for calibration in [calibration, PLAIN] {
            if let Ok(measured) = measure(&stretch, &calibration) {
                prop_assert!(measured.energy.0 >= 0.0 && measured.energy.is_finite());
                prop_assert!(measured.energy_standard_uncertainty.0 >= 0.0);
                prop_assert!(measured.rms_voltage.is_finite() && measured.rms_current.is_finite());
                prop_assert!(measured.mean_voltage.is_finite() && measured.mean_current.is_finite());
            }
        }
    }
}

#[test]
fn steady_volts_and_amps_measure_the_same_in_every_form() {
    let measured = measured(&[(20, 300); 100], &PLAIN);
    assert_eq!(measured.true_power, measured.product_of_means);
    assert_eq!(
        (measured.rms_voltage, measured.rms_current),
        (measured.mean_voltage, measured.mean_current)
    );
}

#[test]
fn a_day_at_ten_thousand_a_second_adds_up_exactly() {
    let pair = RawPair::new(MAX_COUNT, -MAX_COUNT);
    let (mut sums, mut left) = (Sums::default(), 864_000_000u64);
    while left > 0 {
        let taken = u16::try_from(left).unwrap_or(u16::MAX);
        let mut window = WindowSums::EMPTY;
        assert!(window.add_repeated(pair, taken));
        sums.add_window(&window);
        left -= u64::from(taken);
    }
    let most = i128::from(MAX_COUNT);
    assert_eq!(sums.n, 864_000_000);
    assert_eq!(
        (sums.v, sums.vi),
        (864_000_000 * most, -864_000_000 * most * most)
    );
    let stretch = Stretch {
        sums,
        ..Stretch::default()
    };
    let at_rate = Calibration {
        sample_rate_hz: 10_000.0,
        ..PLAIN
    };
    let measured = measure(&stretch, &at_rate).expect("measurable");
    assert_eq!(measured.energy.0, (most * most) as f64 * 86_400.0);
}

#[test]
fn lost_samples_count_as_time_and_all_their_energy_is_uncertain() {
    let lost = Stretch {
        dropped: 2,
        ..stretch(&[(20, 100); 8])
    };
    let measured = measure(&lost, &PLAIN).expect("measurable");
    assert_eq!((measured.duration.0, measured.energy.0), (1.0, 2000.0));
    // Two of ten samples: 400 J, which may have been anything from 0 to 800 J.
    let rounding = (100f64.powi(2) + 20f64.powi(2)).sqrt() / 12f64.sqrt();
    let uncertainty = (400.0 / 3f64.sqrt()).hypot(rounding);
    assert_close(
        measured.energy_standard_uncertainty.0,
        uncertainty,
        0.0,
        1e-12,
    );
}

#[test]
fn a_clipped_channel_adds_uncertainty_from_its_limit() {
    let mut calibration = PLAIN;
    calibration.current.highest_count = 100;
    calibration.current.lowest_count = -50;
    let clipped = Stretch {
        clipped_current: 3,
        ..stretch(&[(20, 100); 10])
    };
    let measured = measure(&clipped, &calibration).expect("measurable");
    let rounding = (100f64.powi(2) + 20f64.powi(2)).sqrt() / 12f64.sqrt();
    // 3 of 10 samples, one second, 100 A too little at most, at 20 V.
    let uncertainty = (0.3 * 100.0 * 20.0 / 3f64.sqrt()).hypot(rounding);
    assert_eq!(measured.clipped, 3);
    assert_close(
        measured.energy_standard_uncertainty.0,
        uncertainty,
        0.0,
        1e-12,
    );
}

#[test]
fn polarity_follows_from_volts_and_power() {
    let polarity = |samples: &[(i32, i32)]| measured(samples, &PLAIN).polarity;
    assert_eq!(polarity(&[(20, 100); 4]), Polarity::ElectrodePositive);
    assert_eq!(polarity(&[(-20, -100); 4]), Polarity::ElectrodeNegative);
    assert_eq!(polarity(&[(-20, 100); 4]), Polarity::ReversedLead);
    assert_eq!(polarity(&[(80, 0); 4]), Polarity::None);
    // Square wave with 80 % on one side.
    let square = [
        (-20, -100),
        (-20, -100),
        (-20, -100),
        (-20, -100),
        (20, 100),
    ];
    assert_eq!(polarity(&square), Polarity::Alternating);
    // Voltage collapsed a third of the time, as in short circuits.
    assert_eq!(
        polarity(&[(21, 100), (21, 100), (2, 250)]),
        Polarity::ElectrodePositive
    );
}

#[test]
fn every_unusable_number_of_a_calibration_is_named() {
    type Spoil = fn(&mut Calibration, f64);
    let spoilers: [(Spoil, &str); 8] = [
        (|c, x| c.voltage.gain_per_count = x, "voltage gain"),
        (|c, x| c.current.gain_per_count = x, "current gain"),
        (
            |c, x| c.voltage.gain_relative_uncertainty = x,
            "uncertainty of the voltage gain",
        ),
        (
            |c, x| c.current.gain_relative_uncertainty = x,
            "uncertainty of the current gain",
        ),
        (
            |c, x| c.voltage.zero_uncertainty = x,
            "uncertainty of the voltage zero",
        ),
        (
            |c, x| c.current.zero_uncertainty = x,
            "uncertainty of the current zero",
        ),
        (|c, x| c.sample_rate_hz = x, "sample rate"),
        (
            |c, x| c.rate_relative_uncertainty = x,
            "uncertainty of the sample rate",
        ),
    ];
    for (spoil, name) in spoilers {
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            let mut calibration = PLAIN;
            spoil(&mut calibration, value);
            let error = measure(&stretch(&[(1, 1)]), &calibration).expect_err("refused");
            assert_eq!(error, MeterError::Calibration(name));
        }
    }
    let still = Calibration {
        voltage: channel(0.0, 0),
        ..PLAIN
    };
    assert_eq!(
        measure(&stretch(&[(1, 1)]), &still),
        Err(MeterError::Calibration("voltage gain"))
    );
    assert_eq!(
        measure(&Stretch::default(), &PLAIN),
        Err(MeterError::NoSamples)
    );
}

#[test]
fn heat_input_carries_the_uncertainties_of_energy_and_length() {
    // 20 V, 300 A, 2.5 mm/s: 2.4 kJ/mm before thermal efficiency (worked example, expertsmind.com, "Determine the heat
    // input"); times k = 0.8 for MAG, EN 1011-1:2009, Table 1. Ten seconds make 60 kJ and 25 mm.
    let energy = Uncertain::from_relative(60_000.0, 0.02);
    let length = Uncertain {
        value: 25.0,
        standard: 0.5,
    };
    let heat = heat_input(energy, length, Process::MagSolid).expect("in range");
    assert_close(heat.arc_energy.value, 2400.0, 0.0, 1e-12);
    assert_close(heat.heat_input.value, 1920.0, 0.0, 1e-12);
    // 2 % and 2 %: 2.83 % together (GUM 5.1.6), twice that expanded.
    assert_close(
        heat.heat_input.expanded(),
        2.0 * 1920.0 * 0.02 * 2f64.sqrt(),
        0.0,
        1e-12,
    );
    assert!(heat_input(energy, Uncertain::exact(0.0), Process::Tig).is_err());
}

#[test]
fn arc_time_leaves_the_gaps_out() {
    let mut bead = Bead::default();
    for (lit, n) in [(true, 30), (false, 5), (true, 10)] {
        let mut sums = WindowSums::EMPTY;
        sums.add_repeated(RawPair::new(20, 100), n);
        bead.add_window(&Window {
            arc_on: lit,
            sums,
            ..Window::default()
        });
    }
    assert_eq!(bead.arc_samples, 40);
    assert_close(
        measure(&Stretch::from(&bead), &PLAIN)
            .expect("measurable")
            .duration
            .0,
        4.5,
        0.0,
        1e-15,
    );
}
