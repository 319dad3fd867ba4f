//! From the tape to the wall: readings of an alcove, the size to build, the frame as it came out, and bad readings.

use coldsquare_tests::command::{Ran, coldsquare};
use coldsquare_tests::{assert_golden, golden};
use std::path::Path;

/// The example with its readings in a folder of its own.
fn example(folder: &Path) -> [String; 2] {
    ["alcove-rack.toml", "alcove.opening.toml"].map(|name| {
        let to = folder.join(name);
        std::fs::copy(golden(&format!("../../docs/examples/{name}")), &to).expect("copied");
        to.display().to_string()
    })
}

fn readings_with(folder: &Path, was: &str, is: &str) -> Ran {
    let [_, readings] = example(folder);
    let text = std::fs::read_to_string(&readings).expect("text");
    assert!(text.contains(was), "{was}");
    std::fs::write(&readings, text.replacen(was, is, 1)).expect("written");
    coldsquare(["opening", &readings, "--on-floor"])
}

#[test]
fn the_alcove_says_what_to_build_and_the_measured_frame_goes_in_tight_at_the_top_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let [job, readings] = example(folder.path());
    let opening = coldsquare(["opening", &readings, "--on-floor", "--clearance", "2 mm"]);
    assert_eq!(opening.code, 0, "{}", opening.err);
    // 6 mm out of plumb over the height and 4 mm narrower at the back: 902 - 6 and a little more.
    assert!(
        opening
            .out
            .contains("Build it 890.0 mm wide × 1813.0 mm high"),
        "{}",
        opening.out
    );
    assert!(
        opening.out.contains("It goes in straight"),
        "{}",
        opening.out
    );
    assert_golden("opening/alcove.txt", &opening.out);
    let layout = coldsquare([
        "layout",
        &job,
        "--cut",
        "bar 1 = 830.2, 829.9, 830.0, 830.4",
    ]);
    assert_eq!(layout.code, 0, "{}", layout.err);
    assert_golden("opening/layout.txt", &layout.out);
    let before = coldsquare(["fit", &job]);
    assert_eq!(before.code, 0, "{}{}", before.out, before.err);
    assert!(
        before
            .out
            .starts_with("As predicted, not measured: goes in"),
        "{}",
        before.out
    );
    let measured = coldsquare([
        "measure",
        &job,
        "--width",
        "bottom = 890.2",
        "--width",
        "middle = 889.9",
        "--width",
        "top = 890.1",
        "--height",
        "left = 1815.5",
        "--height",
        "middle = 1815.5",
        "--height",
        "right = 1815.7",
        "--diagonals",
        "2022, 2022",
        "--anyway",
    ]);
    assert_eq!(measured.code, 0, "{}{}", measured.out, measured.err);
    let after = coldsquare(["fit", &job]);
    assert_golden("opening/fit.txt", &after.out);
    assert_eq!(after.code, 0, "{}{}", after.out, after.err);
    assert!(
        after
            .out
            .starts_with("As measured: goes in, tight at the top back"),
        "{}",
        after.out
    );
    assert!(
        after.out.contains("from the left: 1.2 mm ± "),
        "{}",
        after.out
    );
    assert!(
        after.out.contains("less than the clearance wanted, 2.0 mm"),
        "{}",
        after.out
    );
}

#[test]
fn a_frame_that_does_not_go_in_has_an_exit_code_of_its_own_and_says_what_to_take_off() {
    let folder = tempfile::tempdir().expect("a folder");
    let [job, _] = example(folder.path());
    let measured = coldsquare([
        "measure",
        &job,
        "--width",
        "bottom = 905",
        "--width",
        "top = 905",
        "--anyway",
    ]);
    assert_eq!(measured.code, 0, "{}{}", measured.out, measured.err);
    let fit = coldsquare(["fit", &job]);
    assert_eq!(fit.code, 5, "{}{}", fit.out, fit.err);
    assert!(fit.out.contains("does not go in"), "{}", fit.out);
    assert!(fit.out.contains("Take off"), "{}", fit.out);
    let json = coldsquare(["fit", &job, "--json"]);
    let value: serde_json::Value = serde_json::from_str(&json.out).expect("JSON");
    assert_eq!(value["goes_in"], false);
}

#[test]
fn bad_readings_are_told_with_their_line_and_lead_to_no_size() {
    let folder = tempfile::tempdir().expect("a folder");
    for (was, is, told, place) in [
        // Read twice, 12 mm apart.
        (
            "[900, 906]",
            "[900, 906], [900, 918]",
            "contradicts the others",
            ":8:",
        ),
        // In metres, in inches.
        (
            "[900, 906]",
            "[900, 1.2]",
            "a width of 1.2 mm cannot be",
            ":8:28",
        ),
        ("[900, 906]", "[900, 35.7]", "\"35.7 in\"", ":8:28"),
        (
            "widths = [[60, 902], [900, 902], [1780, 901.5]]",
            "widths = [[60, 902]]",
            "1 width at the back",
            ":16:",
        ),
        ("\"6 right\"", "\"6\"", "does not say to which side", ":10:"),
        (
            "\"6 right\"",
            "\"600 right\"",
            "more than a twentieth",
            ":10:",
        ),
        (
            "heights = [[40, 1823], [860, 1822]]",
            "heights = [[40, 1823]]",
            "one height at the front",
            "",
        ),
    ] {
        let ran = readings_with(folder.path(), was, is);
        assert_eq!(ran.code, 1, "{is}: {}", ran.out);
        assert!(ran.err.contains(told), "{is}: {}", ran.err);
        assert!(
            ran.err.contains(&format!("alcove.opening.toml{place}")),
            "{is}: {}",
            ran.err
        );
        assert!(!ran.out.contains("Build it"), "{is}: {}", ran.out);
    }
    // All widths in inches, in a file of millimetres; nothing that says plumb.
    let path = folder.path().join("inches.opening.toml");
    let file = path.display().to_string();
    let text = "[front]\nwidths = [[2, 48], [60, 48]]\nleft_wall = [[2, 60, 0]]\n";
    std::fs::write(&path, text).expect("written");
    let ran = coldsquare(["opening", &file]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err.contains("a width of 48.0 mm cannot be") && ran.err.contains("\"48 in\""),
        "{}",
        ran.err
    );
    std::fs::write(&path, "[front]\nwidths = [[60, 906], [1780, 906]]\n").expect("written");
    let ran = coldsquare(["opening", &file]);
    assert!(
        ran.err.contains("nothing says whether the walls are plumb"),
        "{}",
        ran.err
    );
    // A job does not take a size from such a file either.
    let [job, readings] = example(folder.path());
    std::fs::write(readings, "[front]\nwidths = [[60, 906]]\n").expect("written");
    let ran = coldsquare(["check", &job]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err
            .contains("in the readings alcove.opening.toml: line 2"),
        "{}",
        ran.err
    );
}

#[test]
fn an_opening_in_inches_is_printed_in_inches_and_rounded_to_sixteenths() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("gap.opening.toml");
    let text = "units = \"inch\"\n[front]\nwidths = [[2, \"36 1/4\"], [34, \"36 3/16\"]]\nleft_wall = [[2, 34, \"1/16 right\"]]\n";
    std::fs::write(&path, text).expect("written");
    let ran = coldsquare([
        "opening",
        &path.display().to_string(),
        "--clearance",
        "1/8",
        "--depth",
        "1",
    ]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let first = ran
        .out
        .lines()
        .find(|line| line.starts_with("Build it"))
        .expect("a size");
    let size: f64 = first
        .split_whitespace()
        .nth(2)
        .and_then(|one| one.parse().ok())
        .expect("inches");
    assert!(
        (35.5..36.0).contains(&size) && (size * 16.0 - (size * 16.0).round()).abs() < 0.02,
        "{first}"
    );
}

#[test]
fn a_frame_higher_than_the_mouth_is_tilted_in_and_one_too_high_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("pier.opening.toml");
    // The mouth is lower than what is behind it.
    let text = "depth = 300\n[front]\nwidths = [[20, 900], [560, 900]]\nheights = [[40, 600], [860, 600]]\nleft_wall = [[20, 560, 0]]\n\
                floor = [[40, 860, 0]]\n[middle]\nwidths = [[20, 900], [560, 900]]\nheights = [[40, 660], [860, 660]]\n\
                left_wall = [[20, 560, 0]]\nfloor = [[40, 860, 0]]\n[back]\nwidths = [[20, 900], [560, 900]]\n\
                heights = [[40, 660], [860, 660]]\nleft_wall = [[20, 560, 0]]\nfloor = [[40, 860, 0]]\n";
    std::fs::write(&path, text).expect("written");
    let job = folder.path().join("pier.toml");
    std::fs::write(&path, text).expect("written");
    // 659 and 60 have a diagonal of 661.7: too long to be swung upright under 660.
    for (height, section, code, told) in [
        (590, "SHS 20x20x2", 0, "goes in straight"),
        (630, "SHS 20x20x2", 0, "Tilt it: put the bottom in first"),
        (659, "RHS 60x30x2", 5, "It cannot be brought in"),
    ] {
        let file = format!(
            "[frame]\nwidth = 880\nheight = {height}\nsection = \"{section}\"\nfront_face = \"width\"\n[opening]\n\
             readings = \"pier.opening.toml\"\non_floor = true\n[procedure]\nprocess = 135\nvolts = [18, 20]\n\
             amps = [100, 125]\ntravel_speed = [8, 10]\nheat_input = [0.14, 0.25]\n"
        );
        std::fs::write(&job, file).expect("written");
        let ran = coldsquare(["fit", &job.display().to_string()]);
        assert_eq!(ran.code, code, "{height}: {}{}", ran.out, ran.err);
        assert!(ran.out.contains(told), "{height}: {}", ran.out);
    }
}

#[test]
fn a_job_given_for_readings_is_told_apart() {
    let folder = tempfile::tempdir().expect("a folder");
    let [job, _] = example(folder.path());
    let ran = coldsquare(["opening", &job]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err
            .contains("this is a job file, not a file of readings"),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("coldsquare fit"), "{}", ran.err);
}
