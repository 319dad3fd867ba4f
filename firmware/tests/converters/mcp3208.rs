//! The cheap converter that samples in turn.

use coldsquare_core::samples::RawPair;
use coldsquare_firmware::converters::mcp3208::{Inputs, Mcp3208, VOLTAGE_LIMITS};
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use embedded_hal_mock::eh1::spi::{Mock as Spi, Transaction};
use std::cell::Cell;
use std::f64::consts::TAU;
use std::rc::Rc;

/// Voltage on input 1, current on input 6: what is sent for each, and 12 bits as they come back.
fn reading(input: u8, count: u16) -> [Transaction<u8>; 3] {
    let sent = if input == 1 {
        vec![0b110, 0b0100_0000, 0]
    } else {
        vec![0b111, 0b1000_0000, 0]
    };
    let [high, low] = count.to_be_bytes();
    // The first byte, and the bits before the null bit, are whatever the line was at.
    answered(sent, vec![0xff, 0b1110_0000 | high, low])
}

fn answered(sent: Vec<u8>, bytes: Vec<u8>) -> [Transaction<u8>; 3] {
    [
        Transaction::transaction_start(),
        Transaction::transfer_in_place(sent, bytes),
        Transaction::transaction_end(),
    ]
}

const INPUTS: Inputs = Inputs {
    voltage: 1,
    current: 6,
};

/// Counts of a triple that the converter gives, and what the logger gets at the first due time.
fn taken(transactions: &[Transaction<u8>]) -> Reading {
    let clock = Rc::new(Cell::new(0_u32));
    let ticks = {
        let clock = Rc::clone(&clock);
        move || clock.get()
    };
    let mut spi = Spi::new(transactions);
    let mut converter = Mcp3208::new(spi.clone(), ticks, INPUTS, 100);
    clock.set(99);
    assert_eq!(converter.next(), Reading::Waiting);
    clock.set(100);
    let reading = converter.next();
    assert_eq!(converter.next(), Reading::Waiting);
    spi.done();
    reading
}

fn triple(before: u16, current: u16, after: u16) -> Vec<Transaction<u8>> {
    [reading(1, before), reading(6, current), reading(1, after)].concat()
}

#[test]
fn current_is_read_between_two_voltages_whose_sum_is_counted() {
    assert_eq!(
        taken(&triple(2100, 3000, 2101)),
        Reading::Pair(RawPair::new(4201, 3000))
    );
}

#[test]
fn a_voltage_at_its_limit_is_clipped_whatever_the_other_says() {
    let clipped = |before, after| match taken(&triple(before, 4095, after)) {
        Reading::Pair(pair) => (
            VOLTAGE_LIMITS.clips(pair.voltage()),
            pair.voltage(),
            pair.current(),
        ),
        other => panic!("{other:?}"),
    };
    assert_eq!(clipped(4095, 4000), (true, 8190, 4095));
    assert_eq!(clipped(4000, 4095), (true, 8190, 4095));
    assert_eq!(clipped(0, 12), (true, 0, 4095));
    assert_eq!(clipped(4094, 4094), (false, 8188, 4095));
}

#[test]
fn a_line_that_nobody_drives_is_no_reading() {
    let nobody = answered(vec![0b110, 0b0100_0000, 0], vec![0xff; 3]);
    assert_eq!(taken(&nobody), Reading::Dropped(1));
    let nobody = answered(vec![0b111, 0b1000_0000, 0], vec![0xff; 3]);
    let half = [reading(1, 2000).to_vec(), nobody.to_vec()].concat();
    assert_eq!(taken(&half), Reading::Dropped(1));
}

#[test]
fn a_late_logger_is_told_and_gets_a_fresh_pair() {
    let clock = Rc::new(Cell::new(u32::MAX - 10));
    let ticks = {
        let clock = Rc::clone(&clock);
        move || clock.get()
    };
    let mut spi = Spi::new(&triple(2000, 2000, 2000));
    let mut converter = Mcp3208::new(spi.clone(), ticks, INPUTS, 100);
    // The counter of microseconds wraps meanwhile.
    clock.set(clock.get().wrapping_add(575));
    assert_eq!(converter.next(), Reading::Dropped(4));
    assert_eq!(converter.next(), Reading::Pair(RawPair::new(4000, 2000)));
    assert_eq!(converter.next(), Reading::Waiting);
    clock.set(clock.get().wrapping_add(24));
    assert_eq!(converter.next(), Reading::Waiting);
    spi.done();
}

/// Mean of v·i over many phases of a wave, relative to the true one, when the current is read `skew` after the voltage
/// and, with `both`, before a second voltage that is averaged in.
fn power(wave: impl Fn(f64) -> f64, lag_s: f64, skew_s: f64, both: bool) -> f64 {
    const STEPS: u32 = 200_000;
    const PERIOD_S: f64 = 1.0 / 200.0;
    let mean = |v: &dyn Fn(f64) -> f64| {
        let product = |n: u32| {
            let t = PERIOD_S * (f64::from(n) + 0.5) / f64::from(STEPS);
            v(t) * wave(t - lag_s)
        };
        (0..STEPS).map(product).sum::<f64>()
    };
    let read = |t: f64| {
        if both {
            (wave(t - skew_s) + wave(t + skew_s)) / 2.0
        } else {
            wave(t - skew_s)
        }
    };
    mean(&read) / mean(&wave) - 1.0
}

/// What skew does to true power at 200 Hz AC with 24 µs between readings, as the driver's page says it. The sines have
/// closed forms; the others are counted out.
#[test]
fn what_the_skew_leaves_of_true_power_is_what_the_page_says() {
    const SKEW_S: f64 = 24e-6;
    let sine = |t: f64| (TAU * 200.0 * t).sin();
    let angle = TAU * 200.0 * SKEW_S;
    assert!((angle.to_degrees() - 1.728).abs() < 0.001);
    let lag_s = 30.0 / 360.0 / 200.0;
    let close =
        |found: f64, wanted: f64| assert!((found - wanted).abs() < 2e-4, "{found} {wanted}");
    close(power(sine, 0.0, SKEW_S, true), angle.cos() - 1.0);
    close(power(sine, 0.0, SKEW_S, true), -0.000_455);
    // The current lags by 30°, and is read after the voltage: it seems to lag less or more by the angle.
    let lag = 30_f64.to_radians();
    close(
        power(sine, lag_s, SKEW_S, false),
        (lag - angle).cos() / lag.cos() - 1.0,
    );
    close(power(sine, lag_s, SKEW_S, false).abs(), 0.016_9);
    close(power(sine, lag_s, SKEW_S, true), angle.cos() - 1.0);
    // A square wave whose edges take `rise_s`.
    let square = |rise_s: f64| {
        move |t: f64| {
            let phase = (t * 200.0).rem_euclid(1.0) / 200.0;
            let ramp = |from: f64| (2.0 * (phase - from) / rise_s).clamp(-1.0, 1.0);
            // Up at a quarter of the period, down at three quarters.
            if phase < 0.0025 {
                ramp(0.00125)
            } else {
                -ramp(0.00375)
            }
        }
    };
    close(power(square(200e-6), 0.0, SKEW_S, true), -0.002_4);
    close(power(square(1e-9), 0.0, SKEW_S, true), -0.019_2);
    close(power(square(1e-9), 0.0, SKEW_S / 2.0, true), -0.009_6);
}
