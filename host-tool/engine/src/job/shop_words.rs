//! What builders say of a frame: which way a leg points, gussets, feet, laps, corners of three members.

use super::cut_list::CutList;
use super::from_text;
use super::model::{Job, PlateKind, Point};
use super::which_way::which_way;

const PROCEDURE: &str = "\
[procedure]
process = 135
volts = [17, 20]
amps = [95, 135]
travel_speed = [6, 9]
heat_input = [0.15, 0.35]
";

fn job(text: &str) -> Job {
    from_text("job.toml", &format!("{text}{PROCEDURE}")).unwrap_or_else(|errors| panic!("{errors}"))
}

/// Every error as line, what and hint.
fn told(text: &str) -> Vec<(usize, String)> {
    let errors = from_text("job.toml", &format!("{text}{PROCEDURE}")).expect_err("errors");
    let one = |error: &crate::file_error::FileError| {
        let hint = error.advice().unwrap_or_default();
        (
            error.line_and_column().0,
            format!("{}: {hint}", error.what()),
        )
    };
    errors.iter().map(one).collect()
}

fn way(job: &Job, name: &str) -> Option<String> {
    let member = job.members.iter().find(|member| member.name == name);
    which_way(member.expect("the member"), job.seen_from)
}

fn tray(legs: &str) -> String {
    format!(
        "seen_from = \"above\"\n[frame]\nwidth = 600\nheight = 400\nsection = \"L 40x25x4\"\nlegs_point = {legs}\n"
    )
}

#[test]
fn the_legs_of_an_angle_point_where_the_file_says_all_round_the_frame() {
    for (legs, front, left) in [
        (
            "[\"in\", \"down\"]",
            "towards the back and downwards",
            "to the right and downwards",
        ),
        (
            "[\"in\", \"up\"]",
            "towards the back and upwards",
            "to the right and upwards",
        ),
        (
            "[\"up\", \"in\"]",
            "upwards and towards the back",
            "upwards and to the right",
        ),
        (
            "[\"down\", \"out\"]",
            "downwards and towards the front",
            "downwards and to the left",
        ),
    ] {
        let job = job(&tray(legs));
        assert_eq!(
            way(&job, "front rail").as_deref(),
            Some(format!("legs {front}").as_str())
        );
        assert_eq!(
            way(&job, "left rail").as_deref(),
            Some(format!("legs {left}").as_str())
        );
        // However its legs point, the frame is as wide as the file says and cut from one stock.
        let list = CutList::new(&job);
        assert_eq!(list.stock.len(), 1, "{legs}");
        let ends = job.members.iter().flat_map(|m| {
            let [along, depth] = [(m.to - m.from).unit().expect("a length"), m.depth_axis];
            let [y, z] = m.section.properties().centroid_from_corner_mm;
            let size = m.section.properties();
            let across = depth.cross(along);
            [(-y, -z), (size.width_mm - y, size.depth_mm - z)]
                .map(|(y, z)| m.from + across * y + depth * z)
        });
        let xs: Vec<f64> = ends.map(|at: Point| at.x).collect();
        let (low, high) = xs
            .iter()
            .fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(*x), h.max(*x)));
        assert!(
            low.abs() < 1e-6 && (high - 600.0).abs() < 1e-6,
            "{legs}: {low} to {high}"
        );
    }
}

#[test]
fn a_direction_that_a_section_cannot_point_is_told_with_its_line() {
    for (text, line, words) in [
        (tray("[\"in\", \"in\"]"), 6, "square to each other"),
        (tray("[\"in\"]"), 6, "an angle has two legs"),
        (tray("[\"inwards\", \"up\"]"), 6, "not a direction"),
        (tray("[\"left\", \"up\"]"), 6, "this member runs left"),
        (
            "[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 30x30x2\"\nwide_face = \"front\"\n".into(),
            5,
            "has no wide face",
        ),
        (
            "[frame]\nwidth = 600\nheight = 400\nsection = \"RHS 40x20x2\"\nwide_face = \"front\"\nfront_face = \"depth\"\n"
                .into(),
            6,
            "says twice",
        ),
    ] {
        let told = told(&text);
        assert!(
            told.iter().any(|(at, what)| *at == line && what.contains(words)),
            "{words}: {told:?}"
        );
    }
}

#[test]
fn a_wide_face_and_flanges_point_where_the_file_says() {
    let text = "[frame]\nwidth = 600\nheight = 400\nsection = \"RHS 40x20x2\"\nwide_face = \"front\"\n\
                [[member]]\nname = \"shelf\"\nsection = \"U 40x20x3\"\nflanges_point = \"up\"\n\
                from = [0, 800, 0]\nto = [600, 800, 0]\nwelded = []\n";
    let job = job(text);
    assert_eq!(
        way(&job, "top rail").as_deref(),
        Some("wide faces front and back")
    );
    assert_eq!(
        way(&job, "left upright").as_deref(),
        Some("wide faces front and back")
    );
    assert_eq!(way(&job, "shelf").as_deref(), Some("flanges upwards"));
}

#[test]
fn a_gusset_in_each_corner_is_cut_from_plate_and_welded_on_both_faces() {
    let text = "[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 30x30x2\"\n\
                [frame.gussets]\nsize = [60, 80]\nthickness = 4\n";
    let job = job(text);
    let list = CutList::new(&job);
    assert_eq!(list.plates.len(), 1);
    assert_eq!(list.plates[0].members.len(), 4);
    assert!(
        list.stock
            .iter()
            .all(|stock| !stock.section.designation().contains("plate"))
    );
    let plates: Vec<_> = job.members.iter().filter(|m| m.plate.is_some()).collect();
    // Half of 60 x 80, less the corner that is cut back by a tenth of 60.
    let area = 0.5 * 60.0 * 80.0 - 0.5 * 6.0 * 6.0;
    for member in plates {
        let mass = area * 4.0 * 7850e-9;
        assert!(
            (member.mass(&job.material).0 - mass).abs() < 1e-6,
            "{}",
            member.name
        );
    }
    let welds: Vec<_> = job
        .welds
        .iter()
        .filter(|w| w.name.starts_with("gusset"))
        .collect();
    assert_eq!(welds.len(), 4 * 4);
    // The edges lie on the inner faces of the frame.
    for weld in welds {
        let inside = |at: f64, size: f64| (29.9..=size - 29.9).contains(&at);
        for at in [weld.from, weld.to] {
            assert!(
                inside(at.x, 600.0) && inside(at.y, 400.0),
                "{}: {at:?}",
                weld.name
            );
        }
    }
}

#[test]
fn a_gusset_that_cannot_be_is_told() {
    let bracket = "member = [\n{ name = \"upright\", section = \"SHS 40x40x2\", from = [0, 0, 0], to = [0, 600, 0] },\n\
                   { name = \"arm\", section = \"SHS 40x40x2\", from = \"upright at 560\", to = [700, 560, 0] },\n]\n";
    for (table, words) in [
        (
            "between = [\"upright\"]\nsize = 60\nthickness = 4\n",
            "between two members",
        ),
        (
            "between = [\"upright\", \"arms\"]\nsize = 60\nthickness = 4\n",
            "did you mean 'arm'",
        ),
        (
            "between = [\"upright\", \"arm\"]\nsize = 60\nthickness = 4\nclip = 60\n",
            "leaves nothing",
        ),
        (
            "between = [\"upright\", \"arm\"]\nsize = 60\nthickness = 4\nflush = \"top\"\n",
            "flush",
        ),
        ("between = [\"upright\", \"arm\"]\nthickness = 4\n", "size"),
    ] {
        let told = told(&format!("{bracket}[[gusset]]\n{table}"));
        assert!(
            told.iter().any(|(_, what)| what.contains(words)),
            "{words}: {told:?}"
        );
    }
}

#[test]
fn feet_of_plate_stand_on_the_floor_and_shorten_the_legs() {
    let text = "[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 30x30x2\"\n[frame.legs]\ndirection = \"down\"\n\
                height = 700\nsplay = 40\n[frame.feet]\nsize = 80\nthickness = 6\n";
    let job = job(text);
    let feet: Vec<_> = job
        .members
        .iter()
        .filter_map(|m| m.plate.as_ref())
        .filter(|plate| plate.kind == PlateKind::Foot)
        .collect();
    assert_eq!(feet.len(), 4);
    let top = 15.0;
    for foot in feet {
        assert!(
            foot.outline
                .iter()
                .all(|at| (at.z - (top - 700.0 + 3.0)).abs() < 1e-6)
        );
    }
    let on_foot = |name: &&String| name.contains("front left leg on its foot");
    assert_eq!(job.welds.iter().map(|w| &w.name).filter(on_foot).count(), 4);
}

#[test]
fn a_lapped_bar_lies_on_the_rails_from_edge_to_edge_and_is_welded_along_both_edges() {
    let text = "[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 30x30x2\"\n\
                [frame.bars]\ncount = 1\nsection = \"FL 25x4\"\nwide_face = \"front\"\nlap = \"front\"\n";
    let job = job(text);
    let bar = job
        .members
        .iter()
        .find(|m| m.name == "bar 1")
        .expect("a bar");
    assert!(
        (bar.from.z - 17.0).abs() < 1e-6,
        "on the front of the rails: {:?}",
        bar.from
    );
    assert!((bar.cut_length.0 - 400.0).abs() < 1e-6);
    let welds: Vec<&str> = job
        .welds
        .iter()
        .filter(|w| w.name.starts_with("bar 1"))
        .map(|w| w.name.as_str())
        .collect();
    assert_eq!(
        welds,
        [
            "bar 1 bottom, left",
            "bar 1 bottom, right",
            "bar 1 top, left",
            "bar 1 top, right"
        ]
    );
}

#[test]
fn a_lap_needs_metal_to_lie_on() {
    // The level leg is at the bottom: on top there is only the edge of the standing leg.
    let text = tray("[\"in\", \"up\"]")
        + "[frame.bars]\ncount = 1\nsection = \"FL 25x4\"\nwide_face = \"up\"\nlap = \"top\"\n";
    assert!(
        told(&text)[0].1.contains("no face there to lie on"),
        "{:?}",
        told(&text)
    );
}

#[test]
fn legs_can_run_through_the_corners_and_the_frame_ends_on_them() {
    let text = "[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 25x25x2\"\ncorners = \"legs through\"\n\
                [frame.legs]\nheight = 700\nsection = \"SHS 40x40x2\"\nrails = [680]\n";
    let job = job(text);
    let leg = job
        .members
        .iter()
        .find(|m| m.name == "front left leg")
        .expect("a leg");
    assert!((leg.cut_length.0 - 700.0).abs() < 1e-6);
    assert!((leg.from.x - 20.0).abs() < 1e-6 && (leg.from.y - 20.0).abs() < 1e-6);
    let rail = job
        .members
        .iter()
        .find(|m| m.name == "front base rail")
        .expect("a rail");
    assert!(
        (rail.cut_length.0 - (600.0 - 80.0)).abs() < 1e-6,
        "{:?}",
        rail.cut_length
    );
    assert!(
        job.welds
            .iter()
            .any(|w| w.name.starts_with("front base rail on front left leg"))
    );
}

#[test]
fn a_side_that_a_joint_does_not_have_is_told_not_left_unwelded() {
    let text = "[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 30x30x2\"\n\
                [frame.bars]\ncount = 1\nsection = \"SHS 20x20x2\"\nwelded = [\"top\"]\n";
    let told = told(text);
    assert!(
        told[0]
            .1
            .contains("bar 1 bottom has none of the sides to weld"),
        "{told:?}"
    );
}
