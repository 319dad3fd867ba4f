//! A file of measurements is what a shop may edit by hand: any text is read or refused with its place, and what was read
//! can be looked at, compared and learned from without a panic.

#![no_main]

use coldsquare_engine::job::{self, model::Job};
use coldsquare_engine::file_error::Source;
use coldsquare_engine::measured::{check::implausible, read};
use coldsquare_engine::movement::model::MovementModel;
use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;

const FRAME: &str = include_str!("../../golden/map/small-frame.toml");

static PREPARED: LazyLock<(Job, MovementModel)> = LazyLock::new(|| {
    let job = job::from_text("small-frame.toml", FRAME).expect("a good job");
    let engine = MovementModel::new(&job).expect("it stands");
    (job, engine)
});

fuzz_target!(|text: &str| {
    let (job, engine) = &*PREPARED;
    let measures = engine.measures();
    let Ok(measurements) = read(&Source::new("fuzzed.toml", text), job, measures) else {
        return;
    };
    for measurement in measurements {
        for observed in measurement.observed(job, measures) {
            assert!(observed.measure < measures.len());
        }
        let _ = implausible(job, measures, &[], &measurement.readings);
    }
});
