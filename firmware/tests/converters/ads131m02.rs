//! The converter that samples both channels at once.

use crate::bench::{Bench, Fault, PERIOD_US, counts, crc16, framed};
use coldsquare_core::samples::{MAX_COUNT, RawPair};
use coldsquare_firmware::converters::ads131m02::{
    Ads131m02, Gain, Oversampling, SILENT_PERIODS, STILL_FRAMES, Settings, StartError,
};
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use embedded_hal_mock::eh1::MockError;
use embedded_hal_mock::eh1::delay::NoopDelay;
use embedded_hal_mock::eh1::digital::{Mock as Pin, State, Transaction as Level};
use embedded_hal_mock::eh1::spi::{Mock as Spi, Transaction};
use std::cell::Cell;
use std::rc::Rc;

fn pair(n: i32) -> Reading {
    let (v, i) = counts(n);
    Reading::Pair(RawPair::new(v, i))
}

/// Everything told while time passes in steps, without the waiting.
fn told(bench: &Bench, front_end: &mut impl FrontEnd, steps: u32, step_us: u32) -> Vec<Reading> {
    let mut told = Vec::new();
    for _ in 0..steps {
        bench.pass(step_us);
        let reading = front_end.next();
        if reading != Reading::Waiting {
            told.push(reading);
        }
    }
    told
}

fn pairs_and_lost(readings: &[Reading]) -> (u32, u32) {
    readings
        .iter()
        .fold((0, 0), |(pairs, lost), reading| match reading {
            Reading::Pair(_) => (pairs + 1, lost),
            Reading::Dropped(n) => (pairs, lost + n),
            Reading::Waiting => (pairs, lost),
        })
}

/// Check value of CRC-16/IBM-3740: Greg Cook, Catalogue of parametrised CRC algorithms; value from memory. A single
/// flipped bit in a frame is found wherever it sits (Koopman: any polynomial with more than one term does that).
#[test]
fn the_checksum_is_the_published_one_and_finds_every_flipped_bit() {
    let crc = crc::Crc::<u16>::new(&crc::CRC_16_IBM_3740);
    assert_eq!(crc.checksum(b"123456789"), 0x29b1);
    assert_eq!(crc16(b"123456789"), 0x29b1);
    let frame = framed(0x0103, 1_234_567, -7_654_321);
    for bit in 0..88 {
        let mut damaged = frame;
        damaged[bit / 8] ^= 0x80 >> (bit % 8);
        let carried = u16::from_be_bytes([damaged[9], damaged[10]]);
        assert_ne!(crc.checksum(&damaged[..9]), carried, "bit {bit}");
    }
}

#[test]
fn rate_and_scale_follow_from_the_settings() {
    let settings = Settings {
        clock_hz: 8_192_000,
        oversampling: Oversampling::By512,
        voltage: Gain::By1,
        current: Gain::By4,
    };
    assert!((settings.sample_rate_hz() - 8000.0).abs() < 1e-9);
    // Full scale is half of 24 bits: 1.2 V at gain 1.
    assert!((settings.voltage.volts_per_count() * 8_388_608.0 - 1.2).abs() < 1e-12);
    assert!((settings.current.volts_per_count() * 8_388_608.0 - 0.3).abs() < 1e-12);
}

/// What goes over the bus, byte by byte, from the reset to the first pairs; then the codes of a saturated input.
#[test]
fn it_is_reset_identified_set_up_verified_and_read() {
    let quiet = |answer| framed(answer, 0, 0).to_vec();
    let frame = |command: u16, data: u16| {
        let ([c1, c0], [d1, d0]) = (command.to_be_bytes(), data.to_be_bytes());
        vec![c1, c0, 0, d1, d0, 0, 0, 0, 0, 0, 0, 0]
    };
    let mut exchanges = vec![
        (frame(0x0011, 0), quiet(0x0500)),
        (frame(0xa000, 0), quiet(0xff22)),
        (frame(0, 0), quiet(0x2283)),
    ];
    for (register, value) in [(2_u16, 0x0110), (3, 0x030a), (4, 0x0010)] {
        exchanges.push((frame(0x6000 | register << 7, value), quiet(0x0500)));
        exchanges.push((
            frame(0xa000 | register << 7, 0),
            quiet(0x4000 | register << 7),
        ));
        exchanges.push((frame(0, 0), quiet(value)));
    }
    let measured = [
        (1_234_567, -7_654_321),
        (0x7f_ffff, -0x80_0000),
        (-0x80_0000, 0x7f_ffff),
    ];
    exchanges.extend(measured.map(|(v, i)| (frame(0, 0), framed(0x0103, v, i).to_vec())));
    let expected: Vec<_> = exchanges
        .into_iter()
        .flat_map(|(sent, answered)| {
            [
                Transaction::transaction_start(),
                Transaction::transfer_in_place(sent, answered),
                Transaction::transaction_end(),
            ]
        })
        .collect();
    let mut spi = Spi::new(&expected);
    let mut ready = Pin::new(&[
        Level::get(State::Low),
        Level::get(State::High),
        Level::get(State::Low),
        Level::get(State::Low),
    ]);
    let clock = Rc::new(Cell::new(0_u32));
    let ticks = {
        let clock = Rc::clone(&clock);
        move || clock.get()
    };
    let mut converter = Ads131m02::start(
        spi.clone(),
        ready.clone(),
        ticks,
        &mut NoopDelay::new(),
        crate::bench::SETTINGS,
    )
    .expect("the right chip");
    let mut after = |micros: u32| {
        clock.set(clock.get() + micros);
        converter.next()
    };
    assert_eq!(
        after(125),
        Reading::Pair(RawPair::new(1_234_567, -7_654_321))
    );
    assert_eq!(after(60), Reading::Waiting);
    // Saturated codes arrive at the limits of a count, where a calibration has them clipped.
    assert_eq!(
        after(65),
        Reading::Pair(RawPair::new(MAX_COUNT, -MAX_COUNT))
    );
    assert_eq!(
        after(125),
        Reading::Pair(RawPair::new(-MAX_COUNT, MAX_COUNT))
    );
    spi.done();
    ready.done();
}

#[test]
fn a_pin_that_cannot_be_read_is_one_that_never_moves() {
    let bench = Bench::new();
    let mut ready = Pin::new(&[
        Level::get(State::Low).with_error(MockError::Io(std::io::ErrorKind::Other)),
        Level::get(State::Low).with_error(MockError::Io(std::io::ErrorKind::Other)),
    ]);
    let ticks = {
        let bench = bench.clone();
        move || bench.micros()
    };
    let mut converter = Ads131m02::start(
        bench.clone(),
        ready.clone(),
        ticks,
        &mut NoopDelay::new(),
        crate::bench::SETTINGS,
    )
    .expect("the right chip");
    bench.pass(PERIOD_US);
    assert_eq!(converter.next(), Reading::Waiting);
    bench.pass(PERIOD_US * SILENT_PERIODS);
    assert_eq!(converter.next(), Reading::Dropped(SILENT_PERIODS + 1));
    ready.done();
}

#[test]
fn what_is_wrong_at_the_start_is_named() {
    let bench = Bench::new();
    bench.put_another_chip(0x2483);
    // A reset brings the identity back, so another chip is one whose reset is not understood.
    bench.fault(Some(Fault::Bus));
    assert!(matches!(bench.start(), Err(StartError::Bus(_))));
    bench.fault(Some(Fault::FlippedBit));
    assert!(matches!(bench.start(), Err(StartError::Checksum)));
    let four_channels = framed(0x2483, 0, 0).to_vec();
    let expected: Vec<_> = [
        framed(0, 0, 0).to_vec(),
        framed(0, 0, 0).to_vec(),
        four_channels,
    ]
    .into_iter()
    .zip([0x0011_u16, 0xa000, 0])
    .flat_map(|(answered, command)| {
        let [c1, c0] = command.to_be_bytes();
        let sent = vec![c1, c0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
        [
            Transaction::transaction_start(),
            Transaction::transfer_in_place(sent, answered),
            Transaction::transaction_end(),
        ]
    })
    .collect();
    let mut spi = Spi::new(&expected);
    let started = Ads131m02::start(
        spi.clone(),
        bench,
        || 0,
        &mut NoopDelay::new(),
        crate::bench::SETTINGS,
    );
    assert!(matches!(started, Err(StartError::Identity(0x2483))));
    spi.done();
}

#[test]
fn every_conversion_arrives_once_and_in_order() {
    let bench = Bench::new();
    let mut converter = bench.start().expect("well");
    // A loop that looks every 7 µs, and one that looks once a period or a little less often.
    let quick = told(&bench, &mut converter, 100_000, 7);
    assert_eq!(quick, (1..=5600).map(pair).collect::<Vec<_>>());
    let slow = told(&bench, &mut converter, 5600, 124);
    let (pairs, lost) = pairs_and_lost(&slow);
    assert_eq!((pairs, lost), (5555, 0));
}

#[test]
fn a_damaged_frame_costs_one_pair_and_the_next_is_good() {
    let bench = Bench::new();
    let mut converter = bench.start().expect("well");
    assert_eq!(told(&bench, &mut converter, 10, 25), [pair(1), pair(2)]);
    bench.fault(Some(Fault::FlippedBit));
    assert_eq!(told(&bench, &mut converter, 5, 25), [Reading::Dropped(1)]);
    bench.fault(None);
    assert_eq!(told(&bench, &mut converter, 5, 25), [pair(4)]);
    assert_eq!(bench.starts(), 2, "switched on, and reset at the start");
}

#[test]
fn a_bus_that_refuses_for_less_than_a_period_costs_nothing_and_for_longer_what_came_meanwhile() {
    let bench = Bench::new();
    let mut converter = bench.start().expect("well");
    assert_eq!(told(&bench, &mut converter, 10, 25), [pair(1), pair(2)]);
    bench.fault(Some(Fault::Bus));
    assert_eq!(told(&bench, &mut converter, 5, 25), []);
    bench.fault(None);
    assert_eq!(told(&bench, &mut converter, 5, 25), [pair(3), pair(4)]);
    bench.fault(Some(Fault::Bus));
    told(&bench, &mut converter, 20, 25);
    bench.fault(None);
    let after = told(&bench, &mut converter, 20, 25);
    let (pairs, lost) = pairs_and_lost(&after);
    assert_eq!((pairs, pairs + lost), (4, 8), "{after:?}");
    assert_eq!(after.last(), Some(&pair(12)));
}

#[test]
fn a_converter_that_lost_its_settings_is_set_up_again() {
    let bench = Bench::new();
    let mut converter = bench.start().expect("well");
    let set = bench.registers();
    told(&bench, &mut converter, 50, 25);
    bench.supply_dips();
    assert_ne!(bench.registers(), set);
    let after = told(&bench, &mut converter, 50, 25);
    assert_eq!(bench.registers(), set);
    let (pairs, lost) = pairs_and_lost(&after);
    assert_eq!(pairs + lost, 10);
    assert!(lost <= 2, "{after:?}");
}

#[test]
fn silence_is_counted_as_lost_and_ends_when_the_converter_is_back() {
    let bench = Bench::new();
    let mut converter = bench.start().expect("well");
    told(&bench, &mut converter, 50, 25);
    bench.fault(Some(Fault::NoClock));
    let starts = bench.starts();
    // A second without a conversion.
    let (pairs, lost) = pairs_and_lost(&told(&bench, &mut converter, 40_000, 25));
    assert_eq!(pairs, 0);
    assert!((7984..=8000).contains(&lost), "{lost}");
    assert!(bench.starts() > starts, "it was told to start anew");
    bench.fault(None);
    let after = told(&bench, &mut converter, 40_000, 25);
    let (pairs, more) = pairs_and_lost(&after);
    assert!(pairs >= 7980, "{pairs}");
    // Nothing of the time is forgotten: two seconds are 16 000 periods, to within one.
    assert!(
        (15_999..=16_001).contains(&(lost + pairs + more)),
        "{}",
        lost + pairs + more
    );
}

#[test]
fn a_late_logger_is_told_how_much_it_missed_and_gets_nothing_stale() {
    for late_us in [300, 1000, 1234, 5000, 123_456] {
        let bench = Bench::new();
        let mut converter = bench.start().expect("well");
        told(&bench, &mut converter, 50, 25);
        bench.pass(late_us);
        let after = told(&bench, &mut converter, 400, 25);
        let mut position = 10;
        for reading in &after {
            match *reading {
                Reading::Dropped(n) => position += i32::try_from(n).expect("few"),
                Reading::Pair(_) => {
                    position += 1;
                    assert_eq!(*reading, pair(position), "late by {late_us} µs");
                }
                Reading::Waiting => {}
            }
        }
        assert!(after.len() > 70);
    }
}

#[test]
fn both_channels_on_one_count_for_long_are_no_measurement() {
    let bench = Bench::new();
    let mut converter = bench.start().expect("well");
    told(&bench, &mut converter, 50, 25);
    bench.fault(Some(Fault::Stuck));
    let (pairs, lost) = pairs_and_lost(&told(&bench, &mut converter, 40_000, 25));
    assert!(
        lost >= 8000 / (u32::from(STILL_FRAMES) + 2),
        "{pairs} {lost}"
    );
    assert_eq!(pairs + lost, 8000);
    assert!(bench.starts() > 3);
}
