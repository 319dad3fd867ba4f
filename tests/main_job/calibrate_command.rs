//! A clamp's gain found from a known current that was logged, and what a logger too slow for the arc admits.

use coldsquare::link::calibration;
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::process::Process;
use coldsquare_engine::log;
use coldsquare_firmware::sim::{Build, Random, SimulatedBead, Transfer, log_build};
use coldsquare_tests::assert_close;
use coldsquare_tests::command::{Ran, coldsquare};
use std::path::PathBuf;
use tempfile::TempDir;

const RATE_HZ: f64 = 4000.0;

/// A folder with a log of ten seconds of −150 A: what −10 A through 15 turns look like to a clamp.
struct Bench {
    folder: TempDir,
    truth: Calibration,
}

/// The logger takes the clamp's gain for so much of what it is.
fn bench(believed_share: f64, zero_error_a: f64, seed: u64) -> Bench {
    let bead = SimulatedBead::new(Transfer::TigDirect, 12.0, 150.0, 10.0);
    let mut build = Build::new("Known current", Process::Tig, RATE_HZ, vec![bead]);
    let truth = build.converter.calibration;
    let zero_error = zero_error_a / truth.current.gain_per_count;
    build.believed = Some(Calibration {
        current: Channel {
            gain_per_count: truth.current.gain_per_count * believed_share,
            zero_in_256ths: truth.current.zero_in_256ths + (256.0 * zero_error) as i32,
            ..truth.current
        },
        ..truth
    });
    let (bytes, _) = log_build(&build, seed).expect("usable");
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("known.log"), bytes).expect("written");
    Bench { folder, truth }
}

impl Bench {
    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn calibrate(&self, more: &[&str]) -> Ran {
        let (log, out) = (self.path("known.log"), self.path("clamp.toml"));
        let mut arguments = vec!["calibrate", log.to_str().expect("text"), "--out"];
        arguments.push(out.to_str().expect("text"));
        arguments.extend(["--on", "2026-11-25"]);
        arguments.extend(more);
        coldsquare(arguments)
    }

    fn found(&self) -> Channel {
        let (calibration, _) = calibration::read(&self.path("clamp.toml")).expect("sound");
        assert_eq!(calibration.voltage.limits(), self.truth.voltage.limits());
        calibration.current
    }
}

const KNOWN: [&str; 6] = ["--amps", "-10", "--turns", "15", "--uncertainty", "0.05"];

#[test]
fn a_clamp_that_reads_three_per_cent_low_is_found_and_the_file_can_be_sent() {
    let bench = bench(0.97, 0.0, 1);
    let ran = bench.calibrate(&KNOWN);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    for said in [
        "Applied: -150.00 A ± 0.75 A (-10.000 A ± 0.050 A through 15 turns)",
        "Read:    -145.5",
        "Gain:    +3.1",
        "Next: coldsquare send PORT --calibration ",
    ] {
        assert!(ran.out.contains(said), "{said}: {}", ran.out);
    }
    let found = bench.found();
    let truth = bench.truth.current;
    assert_close(found.gain_per_count, truth.gain_per_count, 0.0, 0.002);
    // 0.5 % of the reference (k = 2), 0.5 A of zero (k = 1) in 150 A, ± 1 % of what one check cannot see.
    let wanted = (0.0025_f64.powi(2) + (0.5 / 150.0_f64).powi(2) + 0.01_f64.powi(2) / 3.0).sqrt();
    assert_close(found.gain_relative_uncertainty, wanted, 0.0, 0.05);
    let out = bench.path("clamp.toml");
    let ran = coldsquare([
        "send",
        "sim:",
        "--calibration",
        out.to_str().expect("text"),
        "--json",
    ]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    // 2026-11-25, midnight UTC.
    assert!(ran.out.contains("1795564800"), "{}", ran.out);
}

/// 100 shops, each with a reference and a zero that are wrong by chance within their doubt: the true gain lies within
/// the expanded uncertainty (k = 2) that was stated in about 95 of 100 (GUM G.1.3, from memory).
#[test]
fn the_true_gain_lies_within_what_was_stated() {
    let mut chance = Random::new(7);
    let within = (0..100)
        .filter(|&seed| {
            let zero_error = 0.5 * chance.normal();
            let bench = bench(0.97, zero_error, seed);
            let shown = format!("{}", -10.0 - 0.025 * chance.normal());
            let ran = bench.calibrate(&[
                "--amps",
                &shown,
                "--turns",
                "15",
                "--uncertainty",
                "0.05",
                "--remaining",
                "0",
            ]);
            assert_eq!(ran.code, 0, "{}", ran.err);
            let found = bench.found();
            let off = found.gain_per_count / bench.truth.current.gain_per_count - 1.0;
            off.abs() <= 2.0 * found.gain_relative_uncertainty
        })
        .count();
    assert!((88..=99).contains(&within), "{within} of 100");
}

#[test]
fn errors_are_told_and_nothing_is_written() {
    let bench = bench(0.97, 0.0, 1);
    let ran = bench.calibrate(&["--amps", "-10", "--turns", "10", "--uncertainty", "0.05"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err.contains("-145.5") && ran.err.contains("Check the number of turns"),
        "{}",
        ran.err
    );
    let ran = bench.calibrate(&["--amps", "10", "--turns", "15", "--uncertainty", "0.05"]);
    assert!(
        ran.code == 1 && ran.err.contains("its arrow"),
        "{}",
        ran.err
    );
    let ran = bench.calibrate(&["--volts", "24", "--turns", "3", "--uncertainty", "0.1"]);
    assert_eq!(ran.code, 2);
    assert!(!bench.path("clamp.toml").exists());
    assert_eq!(bench.calibrate(&KNOWN).code, 0);
    assert_eq!(
        bench.calibrate(&KNOWN).code,
        4,
        "a file that exists is kept"
    );
    // A pulsed arc is no steady current.
    let pulses = SimulatedBead::new(Transfer::Pulsed { pulses_hz: 100.0 }, 24.0, 120.0, 5.0);
    let build = Build::new("Pulses", Process::MagSolid, RATE_HZ, vec![pulses]);
    let (bytes, _) = log_build(&build, 1).expect("usable");
    std::fs::write(bench.path("known.log"), bytes).expect("written");
    let ran = bench.calibrate(&["--amps", "120", "--uncertainty", "1", "--force"]);
    assert!(
        ran.code == 1 && ran.err.contains("has no 2 s of steady current"),
        "{}",
        ran.err
    );
}

/// The slow converter's limits go with its log: 200 pairs a second are in its header, and whoever reads it says so.
#[test]
fn a_logger_too_slow_for_the_arc_carries_the_doubt_into_every_bead() {
    let doubt = |rate_hz: f64, steady_arc: bool| {
        let bead = SimulatedBead::new(Transfer::TigDirect, 12.0, 90.0, 6.0);
        let build = Build::new("Slow", Process::Tig, rate_hz, vec![bead]);
        let (bytes, _) = log_build(&build, 1).expect("usable");
        let options = coldsquare_engine::recording::RecordingOptions {
            steady_arc: Some(steady_arc),
            ..Default::default()
        };
        let log = log::read_from("slow.log".as_ref(), &bytes, &b""[..], &options).expect("a log");
        let measured = log.beads[0].measured.expect("measured");
        let said = log
            .report
            .notes
            .iter()
            .any(|note| note.contains("too few for short circuits"));
        let energy = measured.uncertain_energy();
        (energy.relative().expect("some energy"), said)
    };
    let (slow, said) = doubt(200.0, false);
    assert!(slow > 0.3 / 3_f64.sqrt() && said, "{slow}");
    let (steady, said) = doubt(200.0, true);
    assert!(steady < 0.03 && !said, "{steady}");
    let (fast, said) = doubt(4000.0, false);
    assert!(fast < 0.03 && !said, "{fast}");
}
