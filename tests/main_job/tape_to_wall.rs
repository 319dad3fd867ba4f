//! One rack from the readings of its alcove to the wall: every command of the way, each with the file of the one before.

use coldsquare::demo;
use coldsquare_engine::job;
use coldsquare_tests::command::coldsquare;
use coldsquare_tests::golden;

/// Runs a command that must do its work, and gives what it printed.
fn done(words: &[&str]) -> String {
    let ran = coldsquare(words.iter().copied());
    assert_eq!(ran.code, 0, "{words:?}: {}{}", ran.out, ran.err);
    ran.out
}

#[test]
fn a_rack_goes_from_the_readings_of_its_alcove_to_the_wall() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).display().to_string();
    for name in ["alcove-rack.toml", "alcove.opening.toml"] {
        std::fs::copy(golden(&format!("../../docs/examples/{name}")), path(name)).expect("copied");
    }
    let (rack, readings) = (path("alcove-rack.toml"), path("alcove.opening.toml"));
    let size = done(&[
        "opening",
        &readings,
        "--on-floor",
        "--clearance",
        "2 mm",
        "--out",
        &path("alcove.svg"),
    ]);
    assert!(size.contains("890.0 mm wide × 1813.0 mm high"), "{size}");

    let pieces = done(&["saw", &rack, "--out", &path("saw.html")]);
    assert!(
        pieces.contains("2 of SHS 30x30x2: 1813.0 mm, square"),
        "{pieces}"
    );
    let marks = done(&["layout", &rack, "--page", &path("layout.html")]);
    assert!(marks.contains("mark them together"), "{marks}");
    done(&[
        "plan",
        &rack,
        "--effort",
        "1",
        "--seconds",
        "2",
        "--json",
        "--out",
        &path("plan.json"),
    ]);
    let plan = path("plan.json");
    let fixture = done(&["fixture", &rack, "--order", &plan]);
    assert!(fixture.contains("Let go"), "{fixture}");
    done(&[
        "fixture",
        &rack,
        "--order",
        &plan,
        "--out",
        &path("fixture.html"),
    ]);

    // The maker welds it, here a simulated one, and clips the logger on.
    let text = std::fs::read_to_string(&rack).expect("the job");
    let text = text
        .replace("readings = \"alcove.opening.toml\"", "width = 902")
        .replace("on_floor = true\n", "");
    let job = job::from_text("rack", &text).expect("a whole job");
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let build = demo::clean_build(&job, &order);
    let (log, _) = coldsquare_firmware::sim::log_build(&build, 1).expect("a build");
    std::fs::write(path("weld.log"), log).expect("written");
    let map = done(&["map", &rack, &path("weld.log"), "--out", &path("map.html")]);
    assert!(map.contains(&format!("{} welds", job.welds.len())), "{map}");
    let sheet = done(&["traveller", &rack, &path("weld.log")]);
    assert!(sheet.contains("Hang"), "{sheet}");
    done(&[
        "traveller",
        &rack,
        &path("weld.log"),
        "--out",
        &path("traveller.html"),
    ]);

    // Cut a little long: it still goes in, and the command says where to look.
    let widths = ["bottom = 890.2", "middle = 889.9", "top = 890.1"];
    let heights = ["left = 1815.5", "middle = 1815.5", "right = 1815.7"];
    let mut measure = vec!["measure", &rack, "--diagonals", "2022, 2022", "--anyway"];
    measure.extend(widths.iter().flat_map(|width| ["--width", width]));
    measure.extend(heights.iter().flat_map(|height| ["--height", height]));
    done(&measure);
    let fit = done(&["fit", &rack]);
    assert!(
        fit.starts_with("As measured: goes in, tight at the top back"),
        "{fit}"
    );
    for page in [
        "alcove.svg",
        "saw.html",
        "layout.html",
        "fixture.html",
        "map.html",
        "traveller.html",
    ] {
        assert!(folder.path().join(page).exists(), "{page}");
    }
}
