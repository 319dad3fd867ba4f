//! The slow converter.

use coldsquare_core::samples::RawPair;
use coldsquare_firmware::converters::ads1115::{
    Ads1115, CURRENT_LIMITS, PERIOD_US, SAMPLE_RATE_HZ, SKEW_S, VOLTAGE_LIMITS,
};
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use embedded_hal::i2c::{ErrorKind, NoAcknowledgeSource};
use embedded_hal_mock::eh1::i2c::{Mock as I2c, Transaction};
use std::cell::Cell;
use std::rc::Rc;

const ADDRESS: u8 = 0x48;
/// 860 readings a second, ± 2.048 V, one at a time, no comparator, not converting yet.
const REST: u16 = 0x85e3;
/// The same and go: voltage between inputs 0 and 1, current between 2 and 3.
const VOLTAGE: u16 = 0x85e3;
const CURRENT: u16 = 0xb5e3;

fn write(value: u16) -> Transaction {
    let [high, low] = value.to_be_bytes();
    Transaction::write(ADDRESS, vec![1, high, low])
}

fn is_ready(ready: bool) -> Transaction {
    let high = if ready { 0x80 } else { 0 };
    Transaction::write_read(ADDRESS, vec![1], vec![high, 0])
}

fn result(value: i16) -> Transaction {
    let [high, low] = value.to_be_bytes();
    Transaction::write_read(ADDRESS, vec![0], vec![high, low])
}

/// Started, looked at once while it converts, and read.
fn conversion(start: u16, value: i16) -> Vec<Transaction> {
    vec![
        is_ready(true),
        write(start),
        is_ready(false),
        is_ready(true),
        result(value),
    ]
}

/// What is told at these times, µs, after a start that sets rate and range.
fn run(transactions: &[Transaction], times_us: &[u32]) -> Vec<Reading> {
    let clock = Rc::new(Cell::new(0_u32));
    let ticks = {
        let clock = Rc::clone(&clock);
        move || clock.get()
    };
    let expected = [&[write(REST), write(REST)], transactions].concat();
    let mut i2c = I2c::new(&expected);
    let mut converter = Ads1115::start(
        i2c.clone(),
        ads1x1x::TargetAddr::default(),
        ads1x1x::FullScaleRange::Within2_048V,
        ticks,
    )
    .expect("somebody answers");
    let readings = times_us
        .iter()
        .map(|&at| {
            clock.set(at);
            converter.next()
        })
        .collect();
    let _ = converter.into_bus();
    i2c.done();
    readings
}

/// One pair as it goes over the bus; each of its three readings is looked at three times.
fn triple(before: i16, current: i16, after: i16) -> Vec<Transaction> {
    [
        conversion(VOLTAGE, before),
        conversion(CURRENT, current),
        conversion(VOLTAGE, after),
    ]
    .concat()
}

/// The nine looks of a pair, from the moment at which it is due.
fn looks(due_us: u32) -> Vec<u32> {
    (0..9).map(|n| due_us + 400 * n).collect()
}

/// The last of nine looks has the pair, the others wait.
fn told(before: i16, current: i16, after: i16) -> Reading {
    let mut readings = run(&triple(before, current, after), &looks(PERIOD_US));
    let last = readings.pop().expect("nine");
    assert!(readings.iter().all(|reading| *reading == Reading::Waiting));
    last
}

#[test]
fn a_pair_is_a_voltage_a_current_and_a_voltage() {
    assert_eq!(
        told(-1200, 3456, -1203),
        Reading::Pair(RawPair::new(-2403, 3456))
    );
}

#[test]
fn the_codes_of_a_saturated_input_are_at_the_limit() {
    let voltage = |before, after| match told(before, i16::MIN, after) {
        Reading::Pair(pair) => {
            assert!(CURRENT_LIMITS.clips(pair.current()));
            VOLTAGE_LIMITS.clips(pair.voltage())
        }
        other => panic!("{other:?}"),
    };
    assert!(voltage(i16::MAX, 32_000));
    assert!(voltage(31_000, i16::MAX));
    assert!(voltage(i16::MIN, -31_000));
    assert!(!voltage(i16::MAX - 1, i16::MAX - 1));
}

#[test]
fn a_bus_that_refuses_costs_one_pair() {
    let mut transactions = conversion(VOLTAGE, 100);
    transactions
        .push(is_ready(true).with_error(ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address)));
    let readings = run(&transactions, &[5000, 5400, 5800, 6200, 6600]);
    assert_eq!(
        readings,
        [
            Reading::Waiting,
            Reading::Waiting,
            Reading::Waiting,
            Reading::Dropped(1),
            Reading::Waiting
        ]
    );
}

#[test]
fn a_conversion_that_never_ends_is_lost_period_by_period() {
    let mut transactions = vec![is_ready(true), write(VOLTAGE)];
    transactions.extend([is_ready(false), is_ready(false), is_ready(false)]);
    let readings = run(
        &transactions,
        &[5000, 7000, 10_000, 10_100, 15_000, 15_100, 25_000],
    );
    let wait = Reading::Waiting;
    let lost = Reading::Dropped;
    assert_eq!(
        readings,
        [wait, wait, lost(1), wait, lost(1), wait, lost(2)]
    );
}

#[test]
fn nobody_at_the_address_is_told_at_the_start() {
    let error = ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address);
    let mut i2c = I2c::new(&[write(REST).with_error(error)]);
    let started = Ads1115::start(
        i2c.clone(),
        ads1x1x::TargetAddr::default(),
        ads1x1x::FullScaleRange::Within2_048V,
        || 0,
    );
    assert!(started.is_err());
    i2c.done();
}

/// Why it is for steady current only: of the power of a 200 Hz sine less than a tenth is left, and the pair rate is
/// below that at which a short circuit of 2 ms is seen at all.
#[test]
fn of_an_alternating_arc_it_sees_nothing_that_means_anything() {
    let left = (std::f64::consts::TAU * 200.0 * SKEW_S).cos();
    assert!((0.0..0.1).contains(&left), "{left}");
    assert!((SAMPLE_RATE_HZ * f64::from(PERIOD_US) - 1e6).abs() < 1e-6);
}
