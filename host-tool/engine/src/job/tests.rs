//! What a job file becomes, against geometry worked out by hand.

mod refused;

use super::from_text;
use super::model::{EndCut, Job, Member, Point, Station, Weld, WeldKind};
use crate::section::Shape;
use crate::units::Units;
use coldsquare_core::units::Millimetres;

const GATE: &str = crate::example::GARDEN_GATE;

fn job(text: &str) -> Job {
    from_text("job.toml", text).unwrap_or_else(|errors| panic!("{errors}"))
}

fn errors(text: &str) -> Vec<String> {
    let found = from_text("job.toml", text).expect_err("there are errors");
    found.iter().map(|one| one.what().to_string()).collect()
}

fn close(a: Point, b: Point) -> bool {
    (a - b).length() < 1e-9
}

fn weld<'j>(job: &'j Job, name: &str) -> &'j Weld {
    job.welds
        .iter()
        .find(|weld| weld.name == name)
        .unwrap_or_else(|| panic!("no weld '{name}'"))
}

fn member<'j>(job: &'j Job, name: &str) -> &'j Member {
    job.members
        .iter()
        .find(|member| member.name == name)
        .unwrap_or_else(|| panic!("no member '{name}'"))
}

#[test]
fn the_garden_gate_fits_in_twenty_five_lines() {
    let lines = GATE
        .lines()
        .filter(|line| !line.trim().is_empty() && !line.starts_with('#'));
    assert!(lines.count() <= 25);
}

#[test]
fn the_garden_gate_is_four_mitred_members_and_nine_bars() {
    let gate = job(GATE);
    assert_eq!(gate.members.len(), 13);
    for (name, length) in [
        ("bottom rail", 1200.0),
        ("top rail", 1200.0),
        ("left upright", 900.0),
        ("right upright", 900.0),
    ] {
        let member = member(&gate, name);
        assert_eq!(
            member.cut_length,
            Millimetres(length),
            "{name}, long point to long point"
        );
        assert_eq!(member.ends, [EndCut::Mitre { degrees: 45.0 }; 2]);
    }
    // Nine bars of 20 in 1120: ten gaps of 94; between the rails 900 - 2 * 40.
    let third = member(&gate, "bar 3");
    assert!((third.cut_length.0 - 820.0).abs() < 1e-9);
    assert!(
        close(
            third.from,
            Point::new(40.0 + 3.0 * 94.0 + 2.0 * 20.0 + 10.0, 20.0, 0.0)
        ),
        "{:?}",
        third.from
    );
    assert!(close(third.to, Point::new(372.0, 880.0, 0.0)));
}

#[test]
fn corners_are_welded_on_four_sides_and_bars_on_two() {
    let gate = job(GATE);
    assert_eq!(gate.welds.len(), 4 * 4 + 9 * 2 * 2);
    assert_eq!(gate.joints.len(), 4 + 9 * 2);
    for (k, weld) in gate.welds.iter().enumerate() {
        assert_eq!(usize::from(weld.number), k + 1);
        assert!((weld.outward.length() - 1.0).abs() < 1e-12, "{}", weld.name);
        let along = (weld.to - weld.from).unit().expect("length");
        assert!(weld.outward.dot(along).abs() < 1e-12, "{}", weld.name);
    }
    let front = weld(&gate, "bottom left corner, front");
    assert!(matches!(
        front.kind,
        WeldKind::Butt {
            throat: Millimetres(3.0)
        }
    ));
    assert!((front.length().0 - 40.0 * 2f64.sqrt()).abs() < 1e-9);
    assert!(close(front.outward, Point::new(0.0, 0.0, 1.0)));
    assert!((front.from.z - 20.0).abs() < 1e-12);
    let inside = weld(&gate, "bottom left corner, inside");
    assert!(matches!(
        inside.kind,
        WeldKind::Fillet {
            leg: Millimetres(3.0)
        }
    ));
    assert!(close(
        (inside.from + inside.to) * 0.5,
        Point::new(40.0, 40.0, 0.0)
    ));
    assert!(inside.outward.x > 0.7 && inside.outward.y > 0.7);
    let outside = weld(&gate, "top right corner, outside");
    assert!(close(
        (outside.from + outside.to) * 0.5,
        Point::new(1200.0, 900.0, 0.0)
    ));
    let bar = weld(&gate, "bar 1 top, back");
    assert!(matches!(
        bar.kind,
        WeldKind::Fillet {
            leg: Millimetres(2.0)
        }
    ));
    assert!((bar.length().0 - 20.0).abs() < 1e-9);
    assert!(
        close((bar.from + bar.to) * 0.5, Point::new(144.0, 860.0, -10.0)),
        "{bar:?}"
    );
    assert!(bar.outward.y < -0.7 && bar.outward.z < -0.7);
}

#[test]
fn every_weld_touches_both_its_members_and_every_joint_is_tacked() {
    let gate = job(GATE);
    for joint in &gate.joints {
        assert_eq!(joint.members.len(), 2, "{}", joint.name);
        assert_eq!(joint.tacks.len(), 2, "{}", joint.name);
    }
    let corner = &gate.joints[0];
    assert!(close(corner.at, Point::new(20.0, 20.0, 0.0)));
    let stations: Vec<_> = corner.members.iter().map(|(_, station)| *station).collect();
    assert_eq!(stations, [Station::End, Station::Start]);
    // Bar 1 stands at 144 from the left edge, 124 along the bottom rail's line, which begins at 20.
    let foot = gate
        .joints
        .iter()
        .find(|joint| joint.name == "bar 1 bottom")
        .expect("joint");
    assert_eq!(foot.members[0].1, Station::Start);
    assert!(
        matches!(foot.members[1].1, Station::Along(Millimetres(s)) if (s - 124.0).abs() < 1e-9)
    );
}

#[test]
fn in_a_butted_frame_the_rails_run_through() {
    let text = GATE.replace("\"mitred\"", "\"butted\"");
    let gate = job(&text);
    for (name, length) in [("bottom rail", 1200.0), ("left upright", 820.0)] {
        assert!(
            (member(&gate, name).cut_length.0 - length).abs() < 1e-9,
            "{name}"
        );
        assert_eq!(member(&gate, name).ends, [EndCut::Square; 2]);
    }
    assert!(matches!(
        weld(&gate, "bottom left corner, front").kind,
        WeldKind::Butt { .. }
    ));
    assert!(matches!(
        weld(&gate, "bottom left corner, outside").kind,
        WeldKind::Butt { .. }
    ));
    let inside = weld(&gate, "bottom left corner, inside");
    assert!(matches!(inside.kind, WeldKind::Fillet { .. }));
    assert!(close(
        (inside.from + inside.to) * 0.5,
        Point::new(40.0, 40.0, 0.0)
    ));
}

/// A gate's procedure, to begin other files with.
const PROCEDURE: &str =
    "[procedure]\nprocess = \"mag\"\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n";

fn with_procedure(rest: &str) -> String {
    format!("{PROCEDURE}{rest}")
}

#[test]
fn a_weld_has_the_middle_of_the_ranges_as_its_plan() {
    let gate = job(GATE);
    let procedure = &gate.procedures[0];
    assert!(
        (procedure.planned_heat_input.0 - 250.0).abs() < 1e-9,
        "J/mm"
    );
    assert!(
        (procedure.planned_travel_speed.0 - 7.5).abs() < 1e-12,
        "mm/s"
    );
    // Without a range of heat input it follows from the arc: 0.8 * 18.5 V * 115 A / 7.5 mm/s.
    let text = GATE.replace("heat_input = [0.15, 0.35]", "");
    assert!(
        (job(&text).procedures[0].planned_heat_input.0 - 0.8 * 18.5 * 115.0 / 7.5).abs() < 1e-9
    );
}

#[test]
fn the_same_frame_in_inches_is_the_same_frame() {
    let metric = job(GATE);
    let text = GATE
        .replace("\"mm\"", "\"inch\"")
        .replace("width = 1200", "width = \"1200 mm\"")
        .replace("height = 900", "height = \"35 7/16 in\"")
        .replace("x3\"", "x3mm\"")
        .replace("x2\"", "x2mm\"")
        .replace("width = 1216", "width = \"1216 mm\"")
        .replace("clearance = 6", "clearance = \"1/5 in\"")
        .replace("[6, 9]", "[14.173228346456693, 21.259842519685037]")
        .replace("[0.15, 0.35]", "[3.81, 8.89]")
        .replace("interpass = 150", "interpass = 302");
    let inch = job(&text);
    assert_eq!(inch.units, Units::UsCustomary);
    assert_eq!(inch.members.len(), metric.members.len());
    assert!((member(&inch, "left upright").cut_length.0 - 35.4375 * 25.4).abs() < 1e-9);
    let (a, b) = (&inch.procedures[0], &metric.procedures[0]);
    assert!((a.planned_heat_input.0 - b.planned_heat_input.0).abs() < 1e-9);
    assert!((a.planned_travel_speed.0 - b.planned_travel_speed.0).abs() < 1e-9);
    assert!((a.interpass.expect("given").0 - 150.0).abs() < 1e-9);
}

#[test]
fn sections_of_an_inch_file_are_in_inches() {
    let text = with_procedure(
        "[frame]\nwidth = 48\nheight = 36\nsection = \"SHS 1-1/2x1-1/2x14ga sheet\"\n",
    );
    let frame = job(&format!("units = \"inch\"\n{text}"));
    let tube = member(&frame, "top rail").section.properties();
    assert!((tube.depth_mm - 38.1).abs() < 1e-9);
    assert!((tube.thinnest_wall_mm - 0.0747 * 25.4).abs() < 1e-9);
    assert_eq!(
        member(&frame, "top rail").section.designation(),
        "SHS 1-1/2x1-1/2x14ga sheet"
    );
    let angle = text.replace("SHS 1-1/2x1-1/2x14ga sheet", "L 1-1/2x1-1/2x1/8 r0.2");
    let frame = job(&format!("units = \"inch\"\n{angle}"));
    assert!(matches!(
        member(&frame, "top rail").section.shape(),
        Shape::Angle { thickness_mm, root_radius_mm, .. }
            if (thickness_mm - 3.175).abs() < 1e-9 && (root_radius_mm - 5.08).abs() < 1e-9
    ));
}

#[test]
fn mid_rails_part_the_bars_into_panels() {
    let text = GATE.replace("[opening]", "[frame.mid_rails]\nheights = [450]\n[opening]");
    let gate = job(&text);
    assert_eq!(gate.members.len(), 4 + 1 + 18);
    let rail = member(&gate, "mid rail");
    assert!((rail.cut_length.0 - 1120.0).abs() < 1e-9);
    assert!(
        close(rail.from, Point::new(1180.0, 450.0, 0.0))
            || close(rail.from, Point::new(20.0, 450.0, 0.0))
    );
    // 430 - 40 below the mid rail, 860 - 470 above it.
    for panel in ["bar 1 panel 1", "bar 9 panel 2"] {
        assert!(
            (member(&gate, panel).cut_length.0 - 390.0).abs() < 1e-9,
            "{panel}"
        );
    }
}

#[test]
fn a_ladder_is_two_uprights_and_rungs() {
    let text = with_procedure(
        "[frame]\nwidth = 400\nheight = 2000\nsection = \"RHS 50x30x3\"\nfront_face = \"width\"\ncorners = \"open\"\n\
         [frame.bars]\ncount = 6\ndirection = \"horizontal\"\nsection = \"CHS 26.9x2.6\"\nwelded = \"all\"\n",
    );
    let ladder = job(&text);
    assert_eq!(ladder.members.len(), 8);
    assert_eq!(ladder.welds.len(), 6 * 2 * 4);
    let rung = member(&ladder, "bar 1");
    assert!(
        (rung.cut_length.0 - 340.0).abs() < 1e-9,
        "{:?}",
        rung.cut_length
    );
    // A round seam is four straight welds of a quarter of its length each.
    let seam: f64 = ladder
        .welds
        .iter()
        .take(4)
        .map(|weld| weld.length().0)
        .sum();
    assert!((seam - std::f64::consts::PI * 26.9).abs() < 1e-9);
}

#[test]
fn a_brace_touches_both_corners() {
    let text = with_procedure(
        "[frame]\nwidth = 1000\nheight = 700\nsection = \"SHS 40x40x3\"\n[frame.brace]\nsection = \"FL 30x5\"\n",
    );
    let frame = job(&text);
    let brace = member(&frame, "brace");
    let lean = (brace.to - brace.from).unit().expect("length");
    let EndCut::Mitre { degrees } = brace.ends[0] else {
        panic!("cut at an angle");
    };
    assert!((degrees - lean.x.acos().to_degrees().mul_add(-1.0, 90.0)).abs() < 1e-9);
    let ends: Vec<_> = frame
        .welds
        .iter()
        .filter(|weld| weld.name.starts_with("brace"))
        .collect();
    assert_eq!(ends.len(), 4);
    let lowest = ends
        .iter()
        .flat_map(|weld| [weld.from.x, weld.to.x])
        .fold(f64::INFINITY, f64::min);
    let farthest = ends
        .iter()
        .flat_map(|weld| [weld.from.x, weld.to.x])
        .fold(0.0, f64::max);
    assert!((lowest - 40.0).abs() < 1e-6, "{lowest}");
    assert!((farthest - 960.0).abs() < 1e-6, "{farthest}");
    // Tip to tip along the brace: the clear rise over the sine, and the slant of one cut.
    let length = 620.0 / lean.y + 30.0 * lean.x / lean.y;
    assert!((brace.cut_length.0 - length).abs() < 1e-6);
}

#[test]
fn a_stand_is_built_from_members_that_name_each_other() {
    let text = with_procedure(
        "[points]\nfoot = [20, 20, -700]\n\
         [frame]\nwidth = 600\nheight = 400\nsection = \"SHS 40x40x3\"\n\
         [[member]]\nname = \"leg\"\nsection = \"SHS 40x40x3\"\nfrom = \"foot\"\nto = \"bottom rail at 20\"\n\
         [[member]]\nname = \"stay\"\nsection = \"SHS 20x20x2\"\nfrom = \"leg at 300\"\nto = \"bottom rail at 420\"\nwelded = \"left\"\n\
         [[weld]]\nmembers = [\"leg\", \"left upright\"]\nfrom = [0, 0, -20]\nto = [0, 40, -20]\nleg = 3\n",
    );
    let stand = job(&text);
    let leg = member(&stand, "leg");
    assert!(
        (leg.cut_length.0 - 680.0).abs() < 1e-9,
        "up to the back of the rail"
    );
    assert_eq!(leg.ends, [EndCut::Square; 2]);
    assert_eq!(
        stand
            .welds
            .iter()
            .filter(|weld| weld.name.starts_with("leg end"))
            .count(),
        4
    );
    let stay = member(&stand, "stay");
    assert!(matches!(stay.ends[0], EndCut::Mitre { degrees } if (degrees - 45.0).abs() < 1e-9));
    assert!(matches!(stay.ends[1], EndCut::Mitre { degrees } if (degrees - 45.0).abs() < 1e-9));
    let last = stand.welds.last().expect("the weld by coordinates");
    assert!(
        last.outward.x < 0.0 && last.outward.y.abs() < 1e-9,
        "{:?}",
        last.outward
    );
}

#[test]
fn a_weld_can_be_changed_and_made_to_wait() {
    let text = format!(
        "{GATE}\n[change.12]\nleg = 4\nafter = [3, \"bar 1 top, front\"]\ndirection = \"reversed\"\n"
    );
    let (before, after) = (job(GATE), job(&text));
    let (was, is) = (&before.welds[11], &after.welds[11]);
    assert_eq!(
        is.kind,
        WeldKind::Fillet {
            leg: Millimetres(4.0)
        }
    );
    assert_eq!(is.after, [3, weld(&before, "bar 1 top, front").number]);
    assert!(close(was.from, is.to) && close(was.to, is.from));
}

#[test]
fn clamps_hold_members() {
    let text = format!(
        "{GATE}\n[[clamp]]\nat = \"top rail at 600\"\nforce = \"2 kN\"\n[[clamp]]\nat = [20, 450, 0]\n"
    );
    let gate = job(&text);
    assert_eq!(gate.members[gate.clamps[0].member].name, "top rail");
    assert!(close(gate.clamps[0].at, Point::new(600.0, 880.0, 0.0)));
    assert!((gate.clamps[0].force.expect("given").0 - 2000.0).abs() < 1e-9);
    assert_eq!(gate.members[gate.clamps[1].member].name, "left upright");
}

#[test]
fn a_clamp_comes_off_after_the_welds_it_is_on_for_and_before_those_it_is_off_for() {
    let text = format!(
        "{GATE}\n[[clamp]]\nat = \"top rail at 600\"\nrelease_after = [3, \"bar 1 top, front\"]\nrelease_before = 20\n"
    );
    let gate = job(&text);
    let bar = weld(&gate, "bar 1 top, front").number;
    assert_eq!(gate.clamps[0].release_after, [3, bar]);
    assert_eq!(gate.clamps[0].release_before, [20]);
    // An order keeps to it like to any other rule.
    assert_eq!(gate.welds[19].after, [3, bar]);
    let free = job(GATE);
    assert!(free.welds[19].after.is_empty());
}
