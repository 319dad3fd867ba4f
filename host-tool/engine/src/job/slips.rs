//! Slips that people make in a job file, and what they are told.

use super::from_text;
use super::model::Job;
use crate::movement::measures::Measure;
use crate::movement::model::MovementModel;

const PROCEDURE: &str = "\
[procedure]
process = 135
volts = [17, 20]
amps = [95, 135]
travel_speed = [6, 9]
heat_input = [0.15, 0.35]
interpass = 150
";

const RING: &str = "\
[frame]
width = 600
height = 400
section = \"SHS 30x30x2\"
";

fn with_procedure(text: &str) -> String {
    format!("{text}{PROCEDURE}")
}

fn job(text: &str) -> Job {
    from_text("job.toml", text).unwrap_or_else(|errors| panic!("{errors}"))
}

/// Every error as line, what and hint.
fn told(text: &str) -> Vec<(usize, String)> {
    let errors = from_text("job.toml", text).expect_err("there are errors");
    let one = |error: &crate::file_error::FileError| {
        let hint = error.advice().unwrap_or_default();
        (
            error.line_and_column().0,
            format!("{}: {hint}", error.what()),
        )
    };
    errors.iter().map(one).collect()
}

fn leg(name: &str, from: &str, to: &str) -> String {
    format!("[[member]]\nname = \"{name}\"\nsection = \"SHS 30x30x2\"\nfrom = {from}\nto = {to}\n")
}

fn measure<'m>(measures: &'m [Measure], name: &str) -> &'m Measure {
    let found = measures.iter().find(|m| m.name == name);
    found.unwrap_or_else(|| {
        let names: Vec<&str> = measures.iter().map(|m| m.name.as_str()).collect();
        panic!("no {name} in {names:#?}")
    })
}

#[test]
fn a_leg_on_a_corner_is_welded_to_both_members_of_the_corner() {
    let text = RING.to_owned() + &leg("leg 1", "\"bottom left corner\"", "[15, 15, 500]");
    let ring = job(&with_procedure(&text));
    let joint = ring.joints.iter().find(|joint| joint.name == "leg 1 start");
    let joint = joint.expect("the leg has a joint");
    let names: Vec<&str> = joint
        .members
        .iter()
        .map(|(member, _)| ring.members[*member].name.as_str())
        .collect();
    assert_eq!(names, ["leg 1", "left upright", "bottom rail"]);
    // It stands on the mitre: its front and right side are on the rail, its left and back side on the upright; and the
    // leg is cut to the face, 15 above the centre lines.
    let welds = ring
        .welds
        .iter()
        .filter(|weld| weld.name.starts_with("leg 1"));
    let on: Vec<(&str, &str)> = welds
        .map(|weld| {
            (
                weld.name.as_str(),
                ring.members[weld.members[1]].name.as_str(),
            )
        })
        .collect();
    assert_eq!(
        on,
        [
            ("leg 1 start, left", "left upright"),
            ("leg 1 start, right", "bottom rail"),
            ("leg 1 start, top", "left upright"),
            ("leg 1 start, bottom", "bottom rail"),
        ]
    );
    let leg = ring.members.iter().find(|member| member.name == "leg 1");
    assert!((leg.expect("drawn").cut_length.0 - 485.0).abs() < 1e-9);
    assert_eq!(joint.tacks.len(), 2);
    MovementModel::new(&ring).expect("nothing is loose");
}

#[test]
fn an_end_that_touches_and_is_not_welded_is_told_with_its_line() {
    let text = RING.to_owned() + &leg("leg 1", "[15, 15, 15]", "[15, 15, 500]");
    let told = told(&with_procedure(&text));
    assert_eq!(told.len(), 1, "{told:?}");
    let (line, what) = &told[0];
    assert_eq!(*line, 8, "the line of 'from'");
    assert!(what.contains("the start of leg 1 touches"), "{what}");
    assert!(
        what.contains("bottom rail at") && what.contains("bottom left corner"),
        "{what}"
    );
    // A gap of a root still touches; a clear gap does not, and neither does an end that is to be loose.
    let near = |z: f64| RING.to_owned() + &leg("leg 1", &format!("[15, 15, {z}]"), "[15, 15, 500]");
    assert!(from_text("job.toml", &with_procedure(&near(17.0))).is_err());
    assert!(from_text("job.toml", &with_procedure(&near(30.0))).is_ok());
    let loose = text + "welded = []\n";
    assert!(from_text("job.toml", &with_procedure(&loose)).is_ok());
}

#[test]
fn a_weld_by_coordinates_or_by_members_makes_an_end_fast() {
    let weld = "[[weld]]\nmembers = [\"leg 1\", \"bottom rail\"]\n";
    let text = RING.to_owned() + &leg("leg 1", "[300, 15, 15]", "[300, 15, 500]") + weld;
    assert!(from_text("job.toml", &with_procedure(&text)).is_ok());
    let twice = RING.to_owned() + &leg("leg 1", "\"bottom rail at 300\"", "[300, 15, 500]") + weld;
    let told = told(&with_procedure(&twice));
    assert!(told[0].1.contains("is where leg 1 start"), "{told:?}");
}

#[test]
fn one_end_in_a_corner_of_two_faces_is_refused() {
    let text = RING.to_owned() + &leg("stay", "\"bottom left corner\"", "\"top right corner\"");
    let told = told(&with_procedure(&text));
    assert!(told[0].1.contains("one cut does not fit both"), "{told:?}");
}

#[test]
fn the_weld_of_a_rib_on_a_flat_is_made_from_the_open_side_of_its_corner() {
    let text = "\
[[member]]
name = \"flat\"
section = \"FL 80x8\"
from = [0, 0, 0]
to = [1000, 0, 0]
depth = \"y\"
[[member]]
name = \"rib\"
section = \"FL 60x6\"
from = [0, 0, 34]
to = [1000, 0, 34]
[[weld]]
members = [\"flat\", \"rib\"]
from = [0, 3, 4]
to = [1000, 3, 4]
";
    let tee = job(&with_procedure(text));
    let outward = tee.welds[0].outward;
    assert!(outward.y > 0.7 && outward.z > 0.7, "{outward:?}");
    assert_eq!(tee.welds[0].name, "flat to rib, front");
}

#[test]
fn sizes_and_diagonals_are_from_outside_to_outside_whatever_the_section() {
    let angle = RING.replace("SHS 30x30x2", "L 30x30x3");
    let open = RING.replace("SHS 30x30x2\"", "SHS 30x30x2\"\ncorners = \"open\"")
        + "[frame.bars]\ncount = 2\nsection = \"SHS 20x20x2\"\ndirection = \"horizontal\"\n";
    let butted = RING.replace(
        "SHS 30x30x2\"",
        "SHS 30x30x2\"\ncorners = \"rails through\"",
    );
    for text in [RING.to_owned(), angle, open, butted] {
        let model = MovementModel::new(&job(&with_procedure(&text))).expect("it can be worked out");
        for (name, mm) in [
            ("width at the bottom", 600.0),
            ("width at the top", 600.0),
            ("height at the left", 400.0),
            ("height at the right", 400.0),
            ("diagonal, bottom left to top right", 600f64.hypot(400.0)),
            ("diagonal, bottom right to top left", 600f64.hypot(400.0)),
        ] {
            let found = measure(model.measures(), name).nominal_mm;
            assert!((found - mm).abs() < 1e-6, "{name}: {found} in {text}");
        }
    }
}

#[test]
fn a_member_without_a_joint_is_named_as_such() {
    let text = RING.to_owned()
        + &leg("leg 1", "[15, 15, 100]", "[15, 15, 500]")
        + &leg("leg 2", "[585, 15, 100]", "[585, 15, 500]");
    let error = MovementModel::new(&job(&with_procedure(&text))).expect_err("they are loose");
    let text = error.to_string();
    assert!(
        text.starts_with("leg 1 and leg 2 have no joint and no clamp"),
        "{text}"
    );
}

#[test]
fn habits_from_other_units_are_recognised() {
    for (was, habit, hint) in [
        ("interpass = 150", "interpass = 1500", "150 °C is usual"),
        ("[6, 9]", "[360, 540]", "360 mm/min"),
        ("[0.15, 0.35]", "[150, 350]", "150 J/mm"),
        ("[0.15, 0.35]", "[5, 9]", "in kJ/in"),
    ] {
        let text = with_procedure(RING).replace(was, habit);
        let told = told(&text);
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].1.contains(hint), "{told:?}");
    }
    // Slow travel in mm/min is still possible in mm/s; the heat tells.
    let tig = format!(
        "{RING}[procedure]\nprocess = 141\nvolts = [10, 13]\namps = [60, 90]\ntravel_speed = [80, 100]\n\
         heat_input = [0.2, 0.5]\n"
    );
    let told = told(&tig);
    assert!(told[0].1.contains("is the speed in mm/min"), "{told:?}");
}

#[test]
fn a_metric_frame_in_a_file_of_inches_is_told() {
    let text = format!("units = \"inch\"\n{}", with_procedure(RING));
    let told = told(&text);
    assert!(
        told.iter()
            .any(|(_, what)| what.contains("mm after the sizes")),
        "{told:?}"
    );
}
