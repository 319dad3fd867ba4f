//! The job file says how its recordings are read; where it has a part in what comes out, that is told.

use super::*;
use crate::log::tests::{Held, frames, header, recording};
use coldsquare_core::record::Record;

fn files() -> Held {
    Held(vec![
        ("weld.csv", recording(2000)),
        ("still.csv", b"t,U,I\n5,1,2\n5,1,2\n".to_vec()),
        ("weld.log", frames(&[Record::Header(header())]).concat()),
    ])
}

/// Reads a log of a job with these options in its `[recording]`.
fn read(name: &str, of_job: &RecordingOptions, options: &RecordingOptions) -> Result<Log, String> {
    let gate = crate::job::from_text("gate.toml", crate::example::GARDEN_GATE);
    let mut job = gate.expect("the example");
    job.recording = of_job.clone();
    read_of_job(&files(), Path::new(name), options, &job).map_err(|error| error.to_string())
}

fn accuracy(percent: f64) -> RecordingOptions {
    RecordingOptions {
        volts_accuracy_percent: Some(percent),
        ..RecordingOptions::default()
    }
}

const NOTE: &str = "read as [recording] in the job file says";

#[test]
fn a_note_says_that_a_recording_was_read_as_the_job_file_says() {
    let told = |name, of_job: &RecordingOptions, options: &RecordingOptions| {
        let log = read(name, of_job, options).expect("a log");
        log.report.notes.iter().any(|note| note == NOTE)
    };
    let nothing = RecordingOptions::default();
    assert!(told("weld.csv", &accuracy(2.0), &nothing));
    assert!(!told("weld.csv", &nothing, &nothing));
    assert!(!told("weld.csv", &nothing, &accuracy(2.0)));
    assert!(
        !told("weld.csv", &accuracy(3.0), &accuracy(2.0)),
        "options win"
    );
    assert!(
        !told("weld.log", &accuracy(2.0), &nothing),
        "it holds for recordings"
    );
}

#[test]
fn a_refusal_names_the_job_file_only_where_it_has_a_part_in_it() {
    let nothing = RecordingOptions::default();
    let refused = |of_job: &RecordingOptions, options: &RecordingOptions| {
        read("still.csv", of_job, options).expect_err("no time")
    };
    let alone = "still.csv: time does not increase in the first rows; is it the right column?";
    assert_eq!(refused(&nothing, &nothing), alone);
    assert_eq!(refused(&nothing, &accuracy(2.0)), alone);
    assert_eq!(
        refused(&accuracy(2.0), &nothing),
        format!(
            "{alone}. [recording] in the job file says how it is read; options of the command win over it"
        )
    );
    // A file that is not there is not there.
    let missing = read("none.csv", &accuracy(2.0), &nothing).expect_err("no such file");
    assert!(missing.starts_with("cannot read none.csv"), "{missing}");
}
