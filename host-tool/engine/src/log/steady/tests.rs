//! A known voltage or current that was applied is found where it was applied, with its mean, its scatter and its ripple;
//! an arc, a disconnected lead and a limit of the converter are none.

use super::*;
use crate::log::tests::{frames, header, open};
use coldsquare_core::bead::Window;
use coldsquare_core::record::Record;
use coldsquare_core::samples::RawPair;

/// Samples of a window; the log has 2000 a second.
const SAMPLES: u16 = 100;
/// Zero of the current, counts. Its gain is 0.1 A a count, and the uncertainty of its zero below 1.5 A: 15 counts.
const ZERO: i32 = 50;

/// Windows of the current, one after another: each so many counts, half of its samples above by the ripple, half below.
fn windows(levels: &[(i32, i32)]) -> Vec<Window> {
    let window = |(place, &(level, ripple)): (u64, &(i32, i32))| {
        let mut sums = WindowSums::EMPTY;
        sums.add_repeated(RawPair::new(0, level + ripple), SAMPLES / 2);
        sums.add_repeated(RawPair::new(0, level - ripple), SAMPLES / 2);
        Window {
            start: place * u64::from(SAMPLES),
            sums,
            ..Window::default()
        }
    };
    (0..).zip(levels).map(window).collect()
}

fn log(windows: Vec<Window>) -> Log {
    let mut header = header();
    header.calibration.current.zero_in_256ths = 256 * ZERO;
    header.calibration.current.zero_uncertainty = 1.5;
    let records: Vec<Record> = std::iter::once(Record::Header(header))
        .chain(windows.into_iter().map(Record::Window))
        .collect();
    open(&frames(&records).concat())
}

fn found(levels: &[(i32, i32)]) -> Option<Steady> {
    longest(&log(windows(levels)), Side::Current)
}

#[test]
fn the_longest_steady_time_is_found_with_its_mean() {
    let levels = [
        vec![(50, 0); 3],
        vec![(1050, 0); 4],
        vec![(50, 0); 2],
        vec![(2050, 0); 7],
        vec![(3050, 0); 5],
    ]
    .concat();
    let steady = found(&levels).expect("7 windows");
    assert_eq!(steady.start, Seconds(0.45));
    assert!((steady.duration.0 - 0.35).abs() < 1e-12);
    assert_eq!(
        (steady.counts.value, steady.counts.standard, steady.ripple),
        (2050.0, 0.0, 0.0)
    );
    // Of two that are as long the first counts.
    let levels = [vec![(1050, 0); 4], vec![(2050, 0); 4]].concat();
    assert_eq!(found(&levels).expect("4 windows").counts.value, 1050.0);
    assert!(
        longest(&log(windows(&levels)), Side::Voltage).is_none(),
        "nothing was applied there"
    );
}

/// Ten standard uncertainties of the zero, 150 counts, from it: nothing less tells a current from none.
#[test]
fn a_channel_near_its_zero_has_nothing_applied() {
    for (level, is_applied) in [
        (50, false),
        (200, false),
        (201, true),
        (-100, false),
        (-101, true),
    ] {
        assert_eq!(found(&[(level, 0); 3]).is_some(), is_applied, "{level}");
    }
}

/// A twentieth of the distance from zero: a charger without smoothing and an arc vary more.
#[test]
fn what_varies_within_a_window_is_not_steady() {
    for (ripple, is_steady) in [(0, true), (49, true), (50, false), (300, false)] {
        assert_eq!(found(&[(1050, ripple); 3]).is_some(), is_steady, "{ripple}");
    }
    let steady = found(&[(1050, 40); 3]).expect("3 windows");
    assert!((steady.ripple - 0.04).abs() < 1e-12, "{}", steady.ripple);
}

/// A hundredth of the distance from zero, from the mean so far.
#[test]
fn a_level_that_moves_away_ends_the_time() {
    let windows_of = |last: i32| {
        (found(&[(1050, 0), (1050, 0), (last, 0)])
            .expect("some")
            .duration
            .0
            / 0.05)
            .round()
    };
    assert_eq!((windows_of(1059), windows_of(1060)), (3.0, 2.0));
    assert_eq!((windows_of(1041), windows_of(1040)), (3.0, 2.0));
}

/// Standard error of the mean of n values: s / √n, with s² = Σ(x − m)² / (n − 1); JCGM 100:2008 (GUM), 4.2.2 and 4.2.3.
#[test]
fn the_scatter_of_the_windows_is_the_uncertainty_of_the_mean() {
    let levels = [1050, 1054, 1046, 1052, 1048];
    let steady = found(&levels.map(|level| (level, 0))).expect("5 windows");
    let mean = 1050.0;
    let squares: f64 = levels
        .iter()
        .map(|level| (f64::from(*level) - mean).powi(2))
        .sum();
    let n = levels.len() as f64;
    let standard = (squares / (n - 1.0) / n).sqrt();
    assert_eq!(steady.counts.value, mean);
    assert!(
        (steady.counts.standard - standard).abs() < 1e-12,
        "{} and {standard}",
        steady.counts.standard
    );
    // Of one window no scatter is known.
    assert_eq!(
        found(&[(1050, 0)]).expect("one window").counts.standard,
        0.0
    );
}

#[test]
fn windows_that_lack_samples_or_met_a_limit_are_not_used() {
    let harmed: [fn(&mut Window); 2] = [
        |window| window.clipped_current = 1,
        |window| window.dropped = 1,
    ];
    for harm in harmed {
        let mut windows = windows(&[(1050, 0); 6]);
        harm(&mut windows[2]);
        // What came after it is one sample later where one was lost.
        for place in 3..6 {
            windows[place].start = windows[place - 1].start + windows[place - 1].span();
        }
        let steady = longest(&log(windows), Side::Current).expect("3 windows");
        assert!(
            (steady.duration.0 - 0.15).abs() < 1e-9,
            "{}",
            steady.duration.0
        );
    }
    let mut windows = windows(&[(1050, 0); 3]);
    windows[1].clipped_voltage = 1;
    let steady = longest(&log(windows), Side::Current).expect("the other channel's limit");
    assert!((steady.duration.0 - 0.15).abs() < 1e-9);
}

#[test]
fn a_hole_in_the_log_ends_the_time() {
    let mut windows = windows(&[(1050, 0); 5]);
    for window in &mut windows[3..] {
        window.start += 1000;
    }
    let steady = longest(&log(windows), Side::Current).expect("3 windows");
    assert!((steady.duration.0 - 0.15).abs() < 1e-9);
}
