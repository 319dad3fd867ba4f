//! A WAV file has its rate in it, and no column of time.

use super::super::*;
use crate::recording::ColumnRef;

/// Two channels at 2000 samples a second: shares of 100 V and 500 A; two seconds at 25 V and 125 A, and one without
/// current.
fn wave() -> Vec<u8> {
    const RATE_HZ: u32 = 2000;
    let rows = 3 * RATE_HZ;
    // A quarter of full scale each: 8192 of 32 768.
    let row = |k: u32| {
        if k < 2 * RATE_HZ {
            [0, 32, 0, 32]
        } else {
            [0; 4]
        }
    };
    let data: Vec<u8> = (0..rows).flat_map(row).collect();
    let length = 4 * rows;
    let words = |words: &[u32]| words.iter().flat_map(|word| word.to_le_bytes()).collect();
    // RIFF: whole numbers (1), 2 channels, rate, bytes a second, 4 bytes a row, 16 bits.
    let parts: [Vec<u8>; 8] = [
        b"RIFF".into(),
        words(&[36 + length]),
        b"WAVEfmt ".into(),
        words(&[16, 0x0002_0001, RATE_HZ, 4 * RATE_HZ]),
        words(&[0x0010_0004]),
        b"data".into(),
        words(&[length]),
        data,
    ];
    parts.concat()
}

fn read(rate_hz: Option<f64>) -> Log {
    let options = RecordingOptions {
        volts: Some(ColumnRef::Number(1)),
        amps: Some(ColumnRef::Number(2)),
        volts_scale: Some(100.0),
        amps_scale: Some(500.0),
        rate_hz,
        ..RecordingOptions::default()
    };
    let name = Path::new("channels.wav");
    read_from(name, &wave(), std::io::empty(), &options).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn a_wave_file_is_read_at_its_own_rate_unless_another_is_given() {
    let arc_time = |log: &Log| log.beads[0].arc_time.value;
    let log = read(None);
    assert_eq!(arc_time(&log), 2.0);
    // 25 V · 125 A · 2 s.
    let energy = log.beads[0].measured.expect("measured").energy.0;
    assert!((energy - 6250.0).abs() < 1e-6, "{energy}");
    assert_eq!(arc_time(&read(Some(1000.0))), 4.0);
}
