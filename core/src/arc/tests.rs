//! What counts as an arc, exactly at each limit, and what the detector promises sample by sample.

use super::*;
use crate::calibration::{Calibration, Channel};
use crate::process::Process;
use crate::samples::WindowSums;
use crate::units::{Amperes, Seconds};
use std::string::ToString;
use std::vec::Vec;

/// 0.1 A a count, 1000 pairs a second.
const CHANNEL: Channel = Channel {
    gain_per_count: 0.1,
    zero_in_256ths: 0,
    gain_relative_uncertainty: 0.01,
    zero_uncertainty: 0.1,
    lowest_count: -8000,
    highest_count: 8000,
};
const CALIBRATION: Calibration = Calibration {
    voltage: CHANNEL,
    current: CHANNEL,
    sample_rate_hz: 1000.0,
    rate_relative_uncertainty: 0.0,
};

fn config() -> ArcConfig {
    let settings = ArcSettings::for_process(Process::MagSolid);
    ArcConfig::new(&settings, &CALIBRATION).expect("sound settings")
}

/// The table beside [`ArcSettings::for_process`]: striking, burning, longest gap, longest tack.
#[test]
fn each_process_has_the_settings_of_its_row() {
    let rows: [(&[u16], [f64; 4]); 3] = [
        (&[141, 15], [5.0, 3.0, 0.5, 2.0]),
        (
            &[114, 121, 131, 135, 136, 137, 138, 139],
            [20.0, 10.0, 0.4, 1.0],
        ),
        (&[111], [15.0, 8.0, 0.5, 1.5]),
    ];
    for (numbers, row) in rows {
        for number in numbers {
            let process = Process::from_number(*number).expect("a process");
            let found = ArcSettings::for_process(process);
            let [striking, burning, longest_gap, longest_tack] = row;
            let expected = ArcSettings {
                striking: Amperes(striking),
                burning: Amperes(burning),
                longest_dip: Seconds(0.025),
                longest_gap: Seconds(longest_gap),
                shortest_bead: Seconds(0.05),
                longest_tack: Seconds(longest_tack),
                arc_window: Seconds(0.1),
                idle_window: Seconds(1.0),
            };
            assert_eq!(found, expected, "{number}");
        }
    }
}

#[test]
fn what_is_wrong_with_settings_is_said_in_words() {
    for (error, words) in [
        (
            ArcConfigError::Unusable("arc window"),
            "arc window is not a usable number; correct it",
        ),
        (
            ArcConfigError::TooCoarse,
            "the converter's counts are too coarse for these currents; raise the striking and burning current",
        ),
        (
            ArcConfigError::GapShorterThanDip,
            "longest gap must not be shorter than longest dip",
        ),
        (
            ArcConfigError::WindowTooLong("idle window"),
            "idle window has more than 65535 samples at this rate; make it shorter",
        ),
    ] {
        assert_eq!(error.to_string(), words);
    }
}

#[test]
fn a_setting_that_is_no_amount_is_named() {
    type Set = fn(&mut ArcSettings, &mut Calibration, f64);
    let fields: [(&str, Set); 10] = [
        ("current gain", |_, c, x| c.current.gain_per_count = x),
        ("sample rate", |_, c, x| c.sample_rate_hz = x),
        ("striking current", |s, _, x| s.striking.0 = x),
        ("burning current", |s, _, x| s.burning.0 = x),
        ("longest dip", |s, _, x| s.longest_dip.0 = x),
        ("longest gap", |s, _, x| s.longest_gap.0 = x),
        ("shortest bead", |s, _, x| s.shortest_bead.0 = x),
        ("longest tack", |s, _, x| s.longest_tack.0 = x),
        ("arc window", |s, _, x| s.arc_window.0 = x),
        ("idle window", |s, _, x| s.idle_window.0 = x),
    ];
    for (name, set) in fields {
        for value in [0.0, -1.0, f64::INFINITY, f64::NAN] {
            let mut settings = ArcSettings::for_process(Process::MagSolid);
            let mut calibration = CALIBRATION;
            set(&mut settings, &mut calibration, value);
            let found = ArcConfig::new(&settings, &calibration);
            let is_fine = match name {
                // Every bead counts, and none is a tack.
                "shortest bead" | "longest tack" => value == 0.0,
                // A sensor mounted the other way round.
                "current gain" => value == -1.0,
                _ => false,
            };
            if is_fine {
                assert!(
                    !matches!(found, Err(ArcConfigError::Unusable(_))),
                    "{name} {value}"
                );
            } else {
                assert_eq!(found, Err(ArcConfigError::Unusable(name)), "{name} {value}");
            }
        }
    }
}

#[test]
fn counts_are_accepted_up_to_each_limit_and_not_beyond() {
    let most = u32::from(WindowSums::CAPACITY);
    let limit = ArcCounts {
        zero: 0,
        striking: 2,
        burning: 1,
        longest_dip: 3,
        longest_gap: 3,
        shortest_bead: 0,
        longest_tack: 0,
        arc_window: most - 3,
        idle_window: most,
    };
    let judge = |counts| ArcConfig::from_counts(counts, &CALIBRATION).map(|found| found.counts());
    assert_eq!(judge(limit), Ok(limit));
    type Push = fn(&mut ArcCounts);
    let beyond: [(ArcConfigError, Push); 9] = [
        (ArcConfigError::TooCoarse, |c| c.burning = 0),
        (ArcConfigError::TooCoarse, |c| c.striking = 1),
        (ArcConfigError::TooCoarse, |c| c.striking = 0),
        (ArcConfigError::Unusable("longest dip"), |c| {
            c.longest_dip = 0;
        }),
        (ArcConfigError::Unusable("arc window"), |c| c.arc_window = 0),
        (ArcConfigError::Unusable("idle window"), |c| {
            c.idle_window = 0;
        }),
        (ArcConfigError::GapShorterThanDip, |c| c.longest_gap = 2),
        (
            ArcConfigError::WindowTooLong("arc window and longest dip"),
            |c| c.arc_window += 1,
        ),
        (ArcConfigError::WindowTooLong("idle window"), |c| {
            c.idle_window += 1;
        }),
    ];
    for (error, push) in beyond {
        let mut counts = limit;
        push(&mut counts);
        assert_eq!(judge(counts), Err(error), "{counts:?}");
    }
}

/// A better calibration finds the same beads: the same amperes strike the arc.
#[test]
fn another_calibration_keeps_the_currents_and_moves_the_counts() {
    let other = Channel {
        gain_per_count: -0.2,
        zero_in_256ths: 256 * 12,
        ..CHANNEL
    };
    let before = config().counts();
    let after = before.recalibrated(&CHANNEL, &other);
    assert_eq!(
        after,
        ArcCounts {
            zero: 12,
            striking: 100,
            burning: 50,
            ..before
        }
    );
    let back = after.recalibrated(&other, &CHANNEL);
    assert_eq!(back, before);
}

/// Burning, a dip, burning again, a gap, a re-strike, and off for good: each (current, samples).
const COURSE: [(i32, u32); 8] = [
    (0, 30),
    (1200, 250),
    (20, 7),
    (1200, 400),
    (0, 200),
    (-1200, 123),
    (30, 24),
    (0, 900),
];

#[test]
fn the_position_moves_by_one_with_each_sample_in_every_phase() {
    let config = config();
    let mut arc = ArcState::resume(1_000_000, 3);
    let mut position = 1_000_000;
    for (current, times) in COURSE {
        for _ in 0..times {
            assert_eq!(arc.position(), position);
            arc.step(&config, RawPair::new(180, current), &mut |_| ());
            position += 1;
        }
    }
    assert_eq!(arc.position(), position);
}

#[test]
fn a_sample_told_as_repeated_is_as_many_samples() {
    let config = config();
    let (mut stepped, mut repeated) = (ArcState::new(), ArcState::new());
    let (mut of_steps, mut of_repeats) = (Vec::new(), Vec::new());
    for (current, times) in COURSE {
        let pair = RawPair::new(180, current);
        for _ in 0..times {
            stepped.step(&config, pair, &mut |event| of_steps.push(event));
        }
        repeated.repeat(&config, pair, times, &mut |event| of_repeats.push(event));
        assert_eq!(repeated, stepped);
        let before = repeated;
        let other = RawPair::new(-180, 1 - current);
        repeated.repeat(&config, other, 0, &mut |event| of_repeats.push(event));
        assert_eq!(repeated, before);
    }
    assert_eq!(of_repeats, of_steps);
    assert!(of_steps.len() > 10, "{of_steps:?}");
}

/// A dip neither cuts a window short, which would fill the card with records, nor leaves it open once it is full.
#[test]
fn the_windows_of_a_pulsed_arc_are_as_long_as_those_of_a_steady_one() {
    let config = config();
    let ArcCounts {
        arc_window,
        longest_dip,
        ..
    } = config.counts();
    let mut arc = ArcState::new();
    let mut spans = Vec::new();
    let mut emit = |event| {
        if let ArcEvent::Window(window) = event {
            spans.push(window.span());
        }
    };
    for _ in 0..200 {
        for (current, times) in [(1200, 14), (20, longest_dip - 1)] {
            arc.repeat(&config, RawPair::new(180, current), times, &mut emit);
        }
    }
    let full = u64::from(arc_window)..=u64::from(arc_window + longest_dip - 2);
    assert!(
        spans.len() > 60 && spans.iter().all(|span| full.contains(span)),
        "{spans:?}"
    );
    // Nothing stands open that is already full.
    let taken = spans.iter().sum::<u64>();
    assert!(arc.position() - taken < *full.end(), "{spans:?}");
}

/// The budget of the logger's processor rests on it. Only the first and the last sample of a window need the full step.
#[test]
fn nearly_all_samples_of_a_steady_current_only_need_to_be_added() {
    let config = config();
    for current in [0, 1200, -1200] {
        let mut arc = ArcState::new();
        let pair = RawPair::new(180, current);
        let mut added = 0;
        for _ in 0..10_000 {
            if arc.step_steady(pair) {
                added += 1;
            } else {
                arc.step_full(&config, pair, &mut |_| ());
            }
        }
        assert!(added >= 9700, "{added} of 10000 at {current} counts");
        assert_eq!(arc.position(), 10_000);
    }
}
