//! The time of a simulated logger is that of whoever waits for it.

use super::*;
use coldsquare_core::link::{MAX_FRAME, Request, encode};
use coldsquare_core::process::Process;
use coldsquare_firmware::sim::{Build, SimulatedBead, Transfer};

const RATE_HZ: f64 = 1000.0;

/// A minute of idle time and then a tack, at 1000 sample pairs a second.
fn logger() -> Simulated {
    let bead = SimulatedBead {
        pause_s: 60.0,
        ..SimulatedBead::new(Transfer::TigDirect, 14.0, 90.0, 0.5)
    };
    let build = Build::new("a tack", Process::Tig, RATE_HZ, vec![bead]);
    let (logger_end, cable) = cable(4096);
    let logger = Connected::start(&build, 1, logger_end).expect("a calibration that suits");
    Simulated { logger, cable }
}

/// Samples that the logger took meanwhile. It takes some 64 more for each question.
fn samples_during(wait: impl FnOnce(&mut Simulated)) -> u64 {
    let mut here = logger();
    let position = |here: &mut Simulated| {
        let live = Client::new(Box::new(here)).live();
        live.expect("it answers").position
    };
    let before = position(&mut here);
    wait(&mut here);
    position(&mut here) - before
}

#[test]
fn a_rest_of_two_seconds_is_two_seconds_of_the_logger() {
    let samples = samples_during(|here| here.rest(Duration::from_secs(2)));
    assert!((2000..2200).contains(&samples), "{samples}");
}

#[test]
fn the_logger_goes_on_as_long_as_somebody_waits_for_it() {
    let samples = samples_during(|here| {
        let came = here.receive(&mut [0; 64], Duration::from_millis(320));
        assert_eq!(came.expect("a cable"), 0, "nothing was asked");
    });
    assert!((320..600).contains(&samples), "{samples}");
}

#[test]
fn whoever_does_not_wait_gets_the_answer_when_it_is_there() {
    let mut here = logger();
    let mut frame = [0; MAX_FRAME];
    let length = encode(1, &Request::Identify, &mut frame).expect("it fits");
    here.send(&frame[..length]).expect("a cable");
    let came = (0..10).map(|_| here.receive(&mut frame, Duration::ZERO).expect("a cable"));
    assert!(came.sum::<usize>() > 0);
}
