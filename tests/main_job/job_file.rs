//! A job file becomes members, welds and a cut list, or every error in it with its place and what to do.

use coldsquare_engine::job::from_text;
use coldsquare_engine::job::model::{Job, Point};
use coldsquare_tests::command::coldsquare;
use coldsquare_tests::{assert_close, assert_golden, golden};
use proptest::prelude::*;
use std::fmt::Write as _;

const GATE: &str = coldsquare_engine::example::GARDEN_GATE;
const PROCEDURE: &str =
    "[procedure]\nprocess = 135\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n";

/// A golden input as the command sees it.
fn read(name: &str) -> String {
    std::fs::read_to_string(golden(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn errors(name: &str) -> String {
    let found = from_text(name, &read(&format!("job/{name}"))).expect_err("there are errors");
    found.to_string()
}

#[test]
fn every_error_is_shown_with_its_place_and_what_to_do() {
    for name in ["wrong-gate", "wrong-stand", "wrong-order"] {
        assert_golden(&format!("job/{name}.txt"), &errors(&format!("{name}.toml")));
    }
}

#[test]
fn check_lists_members_cuts_joints_and_welds() {
    for name in ["job/trolley", "../../host-tool/engine/src/garden-gate"] {
        let path = golden(&format!("{name}.toml"));
        let ran = coldsquare(["check", path.to_str().expect("path"), "--width", "80"]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        let short = name.rsplit('/').next().expect("name");
        assert_golden(&format!("job/{short}.txt"), &ran.out);
    }
}

#[test]
fn check_gives_the_same_as_json() {
    let path = golden("../../host-tool/engine/src/garden-gate.toml");
    let ran = coldsquare(["check", "--json", path.to_str().expect("path")]);
    let value: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
    assert_eq!(value["members"].as_array().map(Vec::len), Some(13));
    assert_eq!(value["welds"][51]["name"], "bar 9 top, back");
    assert_eq!(value["cut_list"][0]["mitre_degrees"][0], 45.0);
    let wrong = golden("job/wrong-gate.toml");
    let ran = coldsquare(["check", "--json", wrong.to_str().expect("path")]);
    assert_eq!(ran.code, 1);
    let value: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
    assert_eq!(value["errors"][0]["line"], 3);
}

#[test]
fn new_writes_a_job_that_check_accepts_and_never_over_another() {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("gate.toml");
    let out = path.to_str().expect("path");
    for (golden, arguments) in [
        (
            "new.toml",
            vec!["new", "Side gate", "--bars", "7", "--width", "1000"],
        ),
        (
            "new-inch.toml",
            vec![
                "new",
                "Rack \"A\"",
                "--units",
                "inch",
                "--height",
                "35 1/2 in",
                "--corners",
                "rails through",
            ],
        ),
    ] {
        let arguments = arguments.into_iter().chain(["--force", "--out", out]);
        let ran = coldsquare(arguments);
        assert_eq!((ran.code, ran.out.trim()), (0, out), "{}", ran.err);
        let written = std::fs::read_to_string(&path).expect("written");
        assert_golden(&format!("job/{golden}"), &written);
        assert_eq!(coldsquare(["check", out]).code, 0);
        // What is only there to be uncommented is right too.
        let uncommented: String = written
            .lines()
            .map(|line| match line.strip_prefix("# ") {
                Some(rest) if rest.starts_with('[') || rest.contains(" = ") => rest,
                _ => line,
            })
            .fold(String::new(), |all, line| all + line + "\n");
        from_text("uncommented", &uncommented).unwrap_or_else(|errors| panic!("{errors}"));
    }
    std::fs::write(&path, "mine").expect("written");
    assert_eq!(coldsquare(["new", "--out", out]).code, 4);
    assert_eq!(std::fs::read_to_string(&path).expect("kept"), "mine");
    let refused = coldsquare(["new", "--width", "-5", "--force", "--out", out]);
    assert_eq!(refused.code, 1);
    assert!(refused.err.contains("negative"), "{}", refused.err);
    assert_eq!(std::fs::read_to_string(&path).expect("kept"), "mine");
}

#[test]
fn what_is_no_job_file_is_refused_at_once() {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("job.toml");
    let name = path.to_str().expect("path");
    assert_eq!(coldsquare(["check", name]).code, 3, "missing");
    std::fs::write(&path, [0xff, 0xfe, 0x00]).expect("written");
    assert!(coldsquare(["check", name]).err.contains("not text"));
    let file = std::fs::File::create(&path).expect("created");
    file.set_len(2_000_000_000).expect("two sparse gigabytes");
    let ran = coldsquare(["check", name]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("larger than a job file"), "{}", ran.err);
    std::fs::write(&path, "").expect("written");
    assert!(coldsquare(["check", name]).err.contains("no member"));
}

#[test]
fn ten_thousand_members_are_read_and_one_more_is_refused() {
    let mut text = String::from(PROCEDURE);
    for k in 0..10_000 {
        let _ = write!(
            text,
            "[[member]]\nsection = \"SQ 20\"\nfrom = [0, {k}, 0]\nto = [500, {k}, 0]\n"
        );
    }
    let job = from_text("many", &text).expect("as many as are allowed");
    assert_eq!(job.members.len(), 10_000);
    text += "[[member]]\nsection = \"SQ 20\"\nfrom = [0, 0, 9]\nto = [500, 0, 9]\n";
    let found = from_text("many", &text).expect_err("one too many");
    assert_eq!(found.count(), 1);
    assert!(found.to_string().contains("more than 10000 members"));
}

// Plain geometry, worked out by hand. A mitred
// frame is cut to its outer sizes; a butted one loses two members' faces where it stands between the rails.
#[test]
fn cut_lengths_are_those_of_the_tape() {
    for (corners, rail, upright) in [
        ("mitred", 1200.0, 900.0),
        ("rails through", 1200.0, 820.0),
        ("uprights through", 1120.0, 900.0),
    ] {
        let job = from_text("gate", &GATE.replace("mitred", corners)).expect("valid");
        let length = |name: &str| {
            let member = job
                .members
                .iter()
                .find(|member| member.name == name)
                .expect(name);
            member.cut_length.0
        };
        for (name, expected) in [
            ("bottom rail", rail),
            ("top rail", rail),
            ("left upright", upright),
            ("right upright", upright),
            ("bar 5", 820.0),
        ] {
            assert_close(length(name), expected, 1e-9, 0.0);
        }
    }
}

/// Frames of all kinds, some of them impossible.
fn frames() -> impl Strategy<Value = String> {
    let section = prop::sample::select(vec![
        "SHS 40x40x3",
        "RHS 60x30x2",
        "CHS 42.4x2.6",
        "L 40x40x4",
        "U 50x38x5",
        "FL 40x8",
        "SQ 20",
        "RD 16",
    ]);
    let corners = prop::sample::select(vec!["mitred", "rails through", "uprights through", "open"]);
    let seen = prop::sample::select(vec!["depth", "width"]);
    let bars = prop::option::of((
        1u32..30,
        section.clone(),
        prop::sample::select(vec!["vertical", "horizontal"]),
        prop::bool::ANY,
    ));
    let heights = prop::collection::vec(50.0..1500.0f64, 0..3);
    let brace = prop::option::of((section.clone(), prop::bool::ANY));
    ((50.0..3000.0f64, 50.0..2000.0f64), section, corners, seen, bars, heights, brace).prop_map(
        |((width, height), section, corners, seen, bars, mut heights, brace)| {
            heights.sort_by(f64::total_cmp);
            let mut text = format!(
                "{PROCEDURE}[frame]\nwidth = {width}\nheight = {height}\nsection = \"{section}\"\ncorners = \"{corners}\"\nfront_face = \"{seen}\"\n"
            );
            if let Some((count, section, direction, all)) = bars {
                let welded = if all { "all" } else { "front" };
                let _ = write!(text, "[frame.bars]\ncount = {count}\nsection = \"{section}\"\ndirection = \"{direction}\"\nwelded = \"{welded}\"\n");
            }
            if !heights.is_empty() {
                let _ = write!(text, "[frame.mid_rails]\nheights = {heights:?}\n");
            }
            if let Some((section, rising)) = brace {
                let direction = if rising { "rising" } else { "falling" };
                let _ = write!(text, "[frame.brace]\nsection = \"{section}\"\ndirection = \"{direction}\"\n");
            }
            text
        },
    )
}

/// What every later stage relies on.
fn assert_sound(job: &Job) {
    for member in &job.members {
        let line = (member.to - member.from)
            .unit()
            .expect("a member has length");
        assert!(member.cut_length.0 > 0.0 && member.cut_length.is_finite());
        assert!(
            member.centre_length.0 <= member.cut_length.0 + 1e-6,
            "{member:?}"
        );
        assert!(line.dot(member.depth_axis).abs() < 1e-9);
    }
    for joint in &job.joints {
        assert!(
            joint
                .members
                .iter()
                .all(|(index, _)| *index < job.members.len())
        );
    }
    for (k, weld) in job.welds.iter().enumerate() {
        assert_eq!(usize::from(weld.number), k + 1);
        assert!(weld.joint < job.joints.len() && weld.procedure < job.procedures.len());
        assert!(weld.length().0 > 0.1, "{weld:?}");
        let middle = (weld.from + weld.to) * 0.5;
        let along = (weld.to - weld.from).unit().expect("length");
        assert!(weld.outward.dot(along).abs() < 1e-9 && (weld.outward.length() - 1.0).abs() < 1e-9);
        for member in weld.members.map(|index| &job.members[index]) {
            let line = (member.to - member.from).unit().expect("length");
            let off = middle - member.from;
            let across = (off - line * off.dot(line)).length();
            let p = member.section.properties();
            assert!(
                across <= p.width_mm.hypot(p.depth_mm) + 1e-6,
                "{} is off {}",
                weld.name,
                member.name
            );
        }
    }
}

/// Middles and outward directions of all welds, mirrored about the middle of the frame.
fn mirrored(job: &Job, width: f64) -> Vec<(Point, Point)> {
    job.welds
        .iter()
        .map(|weld| {
            let middle = (weld.from + weld.to) * 0.5;
            (
                Point::new(width - middle.x, middle.y, middle.z),
                Point::new(-weld.outward.x, weld.outward.y, weld.outward.z),
            )
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_frame_is_a_sound_job_or_a_clear_error(text in frames()) {
        match from_text("frame", &text) {
            Ok(job) => assert_sound(&job),
            Err(errors) => {
                for error in errors.iter() {
                    prop_assert!(!error.what().is_empty() && error.advice().is_some());
                    prop_assert!(error.what() != "the job could not be drawn", "{}", text);
                }
            }
        }
    }

    /// The frame is symmetric, so its welds are; only sections that are not (an angle's lie to one side) and a brace
    /// are left out.
    #[test]
    fn the_mirror_of_a_frame_has_the_mirror_of_its_welds(
        width in 300.0..3000.0f64,
        height in 300.0..2000.0f64,
        count in 1u32..12,
        section in prop::sample::select(vec!["SHS 40x40x3", "RHS 40x60x2", "CHS 42.4x2.6"]),
        corners in prop::sample::select(vec!["mitred", "rails through", "uprights through"]),
        direction in prop::sample::select(vec!["vertical", "horizontal"]),
    ) {
        let text = format!(
            "{PROCEDURE}[frame]\nwidth = {width}\nheight = {height}\nsection = \"{section}\"\ncorners = \"{corners}\"\n\
             [frame.bars]\ncount = {count}\nsection = \"SQ 10\"\ndirection = \"{direction}\"\nwelded = \"all\"\n"
        );
        let job = from_text("frame", &text).expect("a valid frame");
        let own: Vec<_> = mirrored(&job, width).into_iter().map(|(at, out)| (Point::new(width - at.x, at.y, at.z), Point::new(-out.x, out.y, out.z))).collect();
        for (at, outward) in mirrored(&job, width) {
            let twin = own.iter().any(|(p, n)| (*p - at).length() < 1e-6 && (*n - outward).length() < 1e-6);
            prop_assert!(twin, "{:?}", at);
        }
    }

    #[test]
    fn no_text_at_all_can_break_the_reader(text in "\\PC{0,200}") {
        let _ = from_text("text", &text).map_err(|errors| errors.to_string());
    }

    /// Closer to home: the gate with a piece of it replaced by a piece of something else.
    #[test]
    fn no_slip_of_the_pen_can_break_the_reader(
        at in 0usize..900,
        length in 0usize..40,
        piece in prop::sample::select(vec![
            "", "\n", "\"", "[", "]", "=", "-", "nan", "inf", "1e308", "-1e-308", "0", "[frame]", "[[member]]",
            "[[weld]]\nmembers=[\"top rail\",\"bar 1\"]\n", "from = \"top rail at 1e99\"", "{}", "[[[]]]", "é", "\u{0}",
            "99999999999999999999", "0x7f", "1979-05-27", "true", "'''", "[change.1]\nafter = [1]\n", "x.y.z = 1\n",
        ]),
    ) {
        let mut text = GATE.to_string();
        let boundary = |at: usize| (0..=at.min(GATE.len())).rev().find(|at| GATE.is_char_boundary(*at)).unwrap_or(0);
        text.replace_range(boundary(at)..boundary(at + length), piece);
        match from_text("gate", &text) {
            Ok(job) => assert_sound(&job),
            Err(errors) => prop_assert!(!errors.to_string().is_empty()),
        }
    }
}

#[test]
fn the_guide_shows_jobs_that_work() {
    let guide = include_str!("../../docs/guide/job-file.md");
    let examples: Vec<_> = guide
        .split("```toml\n")
        .skip(1)
        .filter_map(|rest| rest.split("```").next())
        .collect();
    assert_eq!(examples.len(), 4);
    for example in examples {
        // A table by itself is something to add to a job.
        let whole = ["[frame]", "[[member]]"]
            .iter()
            .any(|table| example.contains(table));
        let job = if whole {
            example.into()
        } else {
            format!("{GATE}\n{example}")
        };
        let job = from_text("example", &job).unwrap_or_else(|errors| panic!("{errors}"));
        assert_sound(&job);
    }
}
