//! What cannot be read is refused with its place, and nothing that arrives makes the reader fail.

use super::{recording, try_read};
use crate::log::read_from;
use crate::recording::{RecordingOptions, TimeUnit};
use proptest::prelude::*;
use std::path::Path;

#[test]
fn errors_are_told_with_their_place() {
    let good = "t,U,I\n0.0,1,2\n0.1,1,2\n0.2,1,2\n";
    let cases = [
        (
            format!("{good}0.3,twelve,2\n"),
            "bench.csv:5:5: 'twelve' is not a number (volts); correct this row, or leave it out with \
             --skip-bad-rows",
        ),
        (
            format!("{good}0.3,1,lots\n0.4,1,more\n0.5,1,2\nnow,1,2\n0.7,1,off\n"),
            "bench.csv:5:7: 'lots' is not a number (amps); 6:7: 'more' is not a number (amps); 8:1: 'now' is not a time; \
             4 such rows: correct them, or leave them out with --skip-bad-rows",
        ),
        (
            format!("{good}soon,1,2\n"),
            "bench.csv:5:1: 'soon' is not a time; correct this row, or leave it out with \
             --skip-bad-rows",
        ),
        (
            format!("{good}1e9,1,2\n"),
            "bench.csv:5:1: time jumps by 11574 days; correct this row, or leave it out with \
             --skip-bad-rows",
        ),
        (
            format!("{good}09:30,1,2\n"),
            "bench.csv:5:1: '09:30' has another format than the first time; correct this row, or leave it out with \
             --skip-bad-rows",
        ),
        (
            "alpha,beta,gamma,delta\n0,1,2,3\n1,1,2,3\n".into(),
            "bench.csv: no column rises as time does; without one, give the rate with --rate. Say which columns they \
             are with --time, --volts and --amps, by number or heading:\n  1 'alpha': 0 to 1, median 1\n  2 'beta': 1 to 1, \
             median 1\n  3 'gamma': 2 to 2, median 2\n  4 'delta': 3 to 3, median 3",
        ),
        (
            "t,U,I\n5,1,2\n5,1,2\n".into(),
            "bench.csv: time does not increase in the first rows; is it the right column?",
        ),
        (String::new(), "bench.csv is empty: nothing was recorded"),
        (
            "Dear customer,\nthank you for your order.\n".into(),
            "bench.csv: no rows with 3 columns of numbers among the \
          first 2 lines; a recording needs time, volts and amps (or volts and amps and --rate), separated by comma, \
          semicolon, tab or space",
        ),
    ];
    for (text, message) in cases {
        let error = try_read(text.as_bytes(), &RecordingOptions::default()).expect_err(message);
        assert_eq!(error.to_string(), message);
    }
}

#[test]
fn what_is_no_log_is_refused_by_its_first_bytes() {
    /// A file that must not be read to its end.
    struct Endless;
    impl std::io::Read for Endless {
        fn read(&mut self, _: &mut [u8]) -> std::io::Result<usize> {
            panic!("read past the head");
        }
    }
    for (head, said) in [
        (vec![0; 1 << 18], "neither a whole record"),
        (
            b"\x7FELF\x02\x01\x01\0\0\0\0".repeat(1000),
            "neither a whole record",
        ),
        (b"TDSm\x0E\0\0\0".repeat(1 << 15), "it is a TDMS file"),
        (b"x".repeat(1 << 18), "bench.csv:1:1: this line is longer"),
        (
            b"all work and no play\n".repeat(1 << 13),
            "no rows with 3 columns",
        ),
    ] {
        let error = read_from(
            Path::new("bench.csv"),
            &head,
            Endless,
            &RecordingOptions::default(),
        )
        .expect_err(said);
        assert!(error.to_string().contains(said), "{error}");
    }
}

proptest! {
    #[test]
    fn bytes_from_a_stranger_are_refused_or_read(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = try_read(&bytes, &RecordingOptions::default());
    }

    #[test]
    fn text_that_is_nearly_a_recording_is_refused_or_read(
        rows in prop::collection::vec("[-0-9.,;eE+ \t:TZ\"#a-c]{0,24}", 0..40),
        rate in prop::option::of(any::<f64>()),
        scale in prop::option::of(any::<f64>()),
    ) {
        let text = format!("t,U,I\n0,20,100\n1,20,100\n{}", rows.join("\n"));
        let options = RecordingOptions { rate_hz: rate, volts_scale: scale, ..RecordingOptions::default() };
        let _ = try_read(text.as_bytes(), &options);
    }

    #[test]
    fn no_row_is_lost_and_none_invented(
        steps in prop::collection::vec((0u32..200, 0u32..400), 3..200),
    ) {
        let mut time = 0;
        let rows: String = steps.iter().map(|(step, amps)| {
            time += step;
            format!("{time},20,{amps}\n")
        }).collect();
        let options = RecordingOptions { time_unit: Some(TimeUnit::Ms), ..RecordingOptions::default() };
        if let Ok(log) = try_read(rows.as_bytes(), &options) {
            prop_assert_eq!(recording(&log).rows, steps.len() as u64);
            prop_assert_eq!(log.report.uncovered_samples, 0);
            let ends = log.windows.iter().map(|window| window.start + window.span());
            let starts = log.windows.iter().skip(1).map(|window| window.start);
            prop_assert!(ends.zip(starts).all(|(end, start)| end == start));
            let lit: u64 = log.windows.iter().filter(|window| window.arc_on).map(|window| window.span()).sum();
            prop_assert!(log.beads.iter().map(|bead| bead.bead.arc_samples).sum::<u64>() <= lit);
        }
    }
}
