//! Whatever stands in a file of measurements, it is read or refused, and what was written is read again as it was.

use coldsquare_engine::file_error::Source;
use coldsquare_engine::job::{self, model::Job};
use coldsquare_engine::measured::{
    Between, LengthUnit, Measurement, Reading, State, added, check::implausible, load, read,
};
use coldsquare_engine::movement::model::MovementModel;
use proptest::prelude::*;
use std::sync::LazyLock;

const SMALL_FRAME: &str = include_str!("../golden/map/small-frame.toml");

static PREPARED: LazyLock<(Job, MovementModel)> = LazyLock::new(|| {
    let job = job::from_text("small-frame.toml", SMALL_FRAME).expect("a good job");
    let engine = MovementModel::new(&job).expect("it stands");
    (job, engine)
});

const GOOD: &str = "[[measurement]]\non = \"2026-05-05\"\nstate = \"unclamped\"\nlog = \"weld.log\"\n\n\
    [[measurement.reading]]\nof = \"width at the top\"\nvalues = [599.7]\nunit = \"mm\"\nplus_minus = 1.0\n";

/// Reads a text; when that succeeds all is looked at that learning looks at.
fn look_at(text: &str) -> Option<Vec<Measurement>> {
    let (job, engine) = &*PREPARED;
    let measures = engine.measures();
    let found = read(&Source::new("any.toml", text), job, measures).ok()?;
    for one in &found {
        let _ = one.observed(job, measures);
        let _ = implausible(job, measures, &[], &one.readings);
    }
    Some(found)
}

fn reading() -> impl Strategy<Value = Reading> {
    let count = PREPARED.1.measures().len();
    let unit = prop::sample::select(LengthUnit::ALL.to_vec());
    let three = prop::bool::ANY;
    (0..count, -3000.0..3000.0f64, 0.01..5.0f64, unit, three).prop_map(
        |(measure, value, plus_minus, unit, three)| Reading {
            of: PREPARED.1.measures()[measure].name.clone(),
            values: vec![value; if three { 3 } else { 1 }],
            unit,
            plus_minus,
            between: Between::Outside,
            unit_named: false,
            warnings: Vec::new(),
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC*") {
        look_at(&text);
    }

    #[test]
    fn a_file_spoiled_anywhere_is_read_or_refused(
        at in 0..GOOD.len(),
        cut in 0..40usize,
        put in "[\\-0-9a-z\"\\[\\]=. \n]{0,6}",
    ) {
        let end = (at + cut).min(GOOD.len());
        look_at(&format!("{}{put}{}", &GOOD[..at], &GOOD[end..]));
    }

    #[test]
    fn what_was_added_is_read_again_and_what_stood_there_stays(
        all in prop::collection::vec(prop::collection::vec(reading(), 1..4), 1..3),
        step in 0..3u16,
    ) {
        let (job, engine) = &*PREPARED;
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("frame-measured.toml");
        let entries: Vec<Measurement> = all
            .into_iter()
            .map(|readings| Measurement {
                on: "2026-05-05".into(),
                by: "A \"B\"".into(),
                state: if step == 0 { State::Unclamped } else { State::Corrected { step } },
                build: String::new(),
                log: "weld.log".into(),
                log_sha256: "00".into(),
                note: "two\nlines".into(),
                readings,
            })
            .collect();
        let mut before = String::new();
        for entry in &entries {
            coldsquare::notebook::add(&path, |before| {
                added(before, job, engine.measures(), entry)
            })
            .expect("written");
            let now = std::fs::read_to_string(&path).expect("there");
            prop_assert!(now.starts_with(&before));
            before = now;
        }
        let again = load(&coldsquare::disk::Disk, &path, job, engine.measures()).expect("read");
        prop_assert_eq!(again, entries);
    }
}

#[test]
fn the_good_file_is_good() {
    assert_eq!(look_at(GOOD).expect("read").len(), 1);
}
