//! What a job file becomes, against geometry worked out by hand.

use super::from_text;
use super::model::{EndCut, Job, Member, Point, Station, Weld, WeldKind};
use coldsquare_core::units::Millimetres;

const GATE: &str = include_str!("../demo/garden-gate.toml");

fn job(text: &str) -> Job {
    from_text("job.toml", text).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

fn mistakes(text: &str) -> Vec<String> {
    let found = from_text("job.toml", text).expect_err("there are mistakes");
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
        ("left stile", 900.0),
        ("right stile", 900.0),
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
    for (name, length) in [("bottom rail", 1200.0), ("left stile", 820.0)] {
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

#[test]
fn every_mistake_is_reported_at_once() {
    let text = GATE
        .replace("width = 1200", "width = -1200")
        .replace("height = 900", "hieght = 900")
        .replace("count = 9", "count = \"nine\"")
        .replace("[17, 20]", "[20, 17]")
        .replace("135 ", "136000 ")
        .replace("SHS 20x20x2", "SHS 20x20x12");
    let found = mistakes(&text);
    for what in [
        "negative",
        "'hieght'",
        "'count'",
        "'volts'",
        "process",
        "SHS 20x20x12",
        "'height'",
    ] {
        assert!(
            found.iter().any(|one| one.contains(what)),
            "{what} in {found:#?}"
        );
    }
    assert_eq!(found.len(), 7, "{found:#?}");
}
