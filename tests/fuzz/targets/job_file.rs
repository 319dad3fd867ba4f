//! A job file is written by hand: any text is read, or refused with its places; and a job that was read keeps what it
//! promises, so that it can be drawn, cut and listed.
#![no_main]

use coldsquare_engine::drawing::{frame_in_characters, frame_svg};
use coldsquare_engine::file_error::Source;
use coldsquare_engine::files::NoFiles;
use coldsquare_engine::job::cut_list::CutList;
use coldsquare_engine::job::json::{errors_json, job_json};
use coldsquare_engine::job::model::Job;
use coldsquare_engine::job::{edit, from_centre, from_source, sketch};

libfuzzer_sys::fuzz_target!(|text: &str| {
    let source = Source::new("fuzzed.toml", text);
    let _ = sketch(&NoFiles, &source);
    match from_source(&NoFiles, &source) {
        Ok(job) => use_it(&job, text),
        Err(errors) => {
            for error in errors.iter() {
                let (line, column) = error.line_and_column();
                assert!(line >= 1 && column >= 1);
            }
            let _ = (errors.to_string(), errors_json(&errors));
        }
    }
});

/// "Indices are valid, lengths positive, numbers finite."
fn use_it(job: &Job, text: &str) {
    assert!(!job.procedures.is_empty());
    for member in &job.members {
        for point in [member.from, member.to, member.depth_axis] {
            assert!([point.x, point.y, point.z].iter().all(|number| number.is_finite()), "{}", member.name);
        }
        assert!(member.cut_length.0 > 0.0 && member.cut_length.0.is_finite(), "{}", member.name);
    }
    for joint in &job.joints {
        assert!(joint.members.len() > 1 && joint.members.iter().all(|(member, _)| *member < job.members.len()));
    }
    for (at, weld) in job.welds.iter().enumerate() {
        assert_eq!(usize::from(weld.number), at + 1);
        assert!(weld.joint < job.joints.len() && weld.procedure < job.procedures.len() && weld.runs >= 1);
        assert!(weld.members.iter().all(|member| *member < job.members.len()));
        assert!(weld.after.iter().all(|number| (1..=job.welds.len()).contains(&usize::from(*number))));
        let length = weld.length().0;
        assert!(length > 0.0 && length.is_finite(), "{}", weld.name);
    }
    let json = serde_json::to_string(&job_json(job, &CutList::new(job))).expect("it has a form");
    assert!(!json.contains("NaN"));
    let _ = (frame_svg(job), frame_in_characters(job, 80), from_centre::from_centre(job));
    edit::form(text).expect("what can be read has a form");
}
