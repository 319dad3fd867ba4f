use super::{Edit, EditError, alike, alike_words, edited, form};
use crate::example::GARDEN_GATE;
use crate::job::from_text;
use crate::job::model::Job;
use crate::job::start::{Shape, Wanted, write};

fn gate(text: &str) -> Job {
    from_text("gate.toml", text).unwrap_or_else(|errors| panic!("{errors}\n{text}"))
}

fn set(text: &str, path: &[&str], value: &str) -> String {
    let path = path.iter().map(|part| (*part).to_owned()).collect();
    let value = value.into();
    edited(text, &Edit::Set { path, value }).expect("a field")
}

#[test]
fn a_new_size_changes_its_line_and_nothing_else() {
    let wider = set(GARDEN_GATE, &["frame", "width"], "1300");
    let changed: Vec<_> = GARDEN_GATE
        .lines()
        .zip(wider.lines())
        .filter(|(a, b)| a != b)
        .collect();
    assert_eq!(changed.len(), 1, "{changed:?}");
    assert_eq!(
        gate(&set(&wider, &["frame", "width"], "47 1/4 in"))
            .members
            .len(),
        13
    );
}

#[test]
fn every_field_of_the_form_can_be_written_as_it_is_shown() {
    let before = gate(GARDEN_GATE);
    for field in form(GARDEN_GATE)
        .expect("TOML")
        .iter()
        .flat_map(|group| &group.fields)
    {
        let Some(value) = &field.value else { continue };
        let path = field.path.clone();
        let after = edited(
            GARDEN_GATE,
            &Edit::Set {
                path,
                value: value.clone(),
            },
        )
        .expect("a field");
        let after = gate(&after);
        assert_eq!(
            format!("{:?}", after.welds),
            format!("{:?}", before.welds),
            "{:?}",
            field.path
        );
        assert_eq!(
            format!("{:?}", after.procedures),
            format!("{:?}", before.procedures)
        );
    }
}

#[test]
fn a_joint_loses_one_weld_and_the_others_keep_theirs() {
    let joint = "bar 3 top".to_owned();
    let before = gate(GARDEN_GATE);
    let sides = vec!["front".to_owned()];
    let edit = Edit::WeldSides {
        joint,
        sides,
        alike: false,
    };
    let text = edited(GARDEN_GATE, &edit).expect("a joint");
    let after = gate(&text);
    assert_eq!(after.welds.len() + 1, before.welds.len());
    assert!(
        after
            .welds
            .iter()
            .all(|weld| weld.name != "bar 3 top, back")
    );
    let numbers: Vec<u16> = after.welds.iter().map(|weld| weld.number).collect();
    assert_eq!(numbers, (1..=after.welds.len() as u16).collect::<Vec<_>>());
}

#[test]
fn all_ends_of_bars_are_welded_alike_and_single_choices_go() {
    let one = Edit::WeldSides {
        joint: "bar 3 top".into(),
        sides: Vec::new(),
        alike: false,
    };
    let text = edited(GARDEN_GATE, &one).expect("a joint");
    assert!(text.contains("[joint.\"bar 3 top\"]"), "{text}");
    let all = Edit::WeldSides {
        joint: "bar 1 bottom".into(),
        sides: vec!["front".into()],
        alike: true,
    };
    let text = edited(&text, &all).expect("a joint");
    assert!(!text.contains("[joint"), "{text}");
    assert_eq!(gate(&text).welds.len(), 16 + 18);
}

#[test]
fn joints_say_which_sides_they_have_and_what_they_share() {
    let job = gate(GARDEN_GATE);
    let joint = |name: &str| {
        job.joints
            .iter()
            .position(|joint| joint.name == name)
            .expect(name)
    };
    let bar = joint("bar 3 top");
    let sides: Vec<_> = job.joints[bar]
        .sides
        .iter()
        .map(|side| (side.name, side.welded))
        .collect();
    assert_eq!(
        sides,
        [
            ("front", true),
            ("back", true),
            ("left", false),
            ("right", false)
        ]
    );
    assert_eq!(
        (alike(&job, bar).len(), alike_words(&job, bar).as_str()),
        (18, "all ends of bars")
    );
    let corner = joint("top left corner");
    assert_eq!(
        (
            alike(&job, corner).len(),
            alike_words(&job, corner).as_str()
        ),
        (4, "all corners")
    );
}

#[test]
fn a_corner_can_go_without_its_outside_weld() {
    let sides = ["front", "back", "inside"].map(String::from).to_vec();
    let edit = Edit::WeldSides {
        joint: "top left corner".into(),
        sides,
        alike: true,
    };
    let job = gate(&edited(GARDEN_GATE, &edit).expect("a joint"));
    assert!(job.welds.iter().all(|weld| !weld.name.ends_with("outside")));
    assert_eq!(job.welds.len(), 52 - 4);
}

#[test]
fn four_quarter_turns_bring_a_member_back() {
    let text = format!(
        "{GARDEN_GATE}\n[[member]]\nname = \"foot\"\nsection = \"RHS 40x20x2\"\nfrom = \"bottom rail at 300\"\nto = [300, -200, 0]\n"
    );
    let depth = |text: &str| gate(text).members.last().expect("the foot").depth_axis;
    let edit = Edit::Turn {
        member: "foot".into(),
    };
    let mut turned = text.clone();
    for k in 0..4 {
        turned = edited(&turned, &edit).expect("a member");
        assert_eq!(
            (depth(&turned) - depth(&text)).length() < 1e-9,
            k == 3,
            "{turned}"
        );
    }
}

#[test]
fn parts_of_a_frame_are_added_and_taken_out_again() {
    let mut text = GARDEN_GATE.to_owned();
    for group in ["frame.bars", "opening"] {
        text = edited(
            &text,
            &Edit::Remove {
                group: group.into(),
            },
        )
        .expect("it is there");
    }
    assert_eq!(gate(&text).members.len(), 4);
    for group in ["frame.mid_rails", "frame.bars", "opening"] {
        text = edited(
            &text,
            &Edit::Add {
                group: group.into(),
            },
        )
        .expect("a group");
    }
    assert_eq!(gate(&text).members.len(), 4 + 1 + 10);
    text = edited(&text, &Edit::ClampCorners).expect("corners");
    text = edited(
        &text,
        &Edit::Clamp {
            member: "top rail".into(),
            at: "600".into(),
        },
    )
    .expect("a clamp");
    assert_eq!(gate(&text).clamps.len(), 5);
    assert!(
        gate(&edited(&text, &Edit::NoClamps).expect("clamps"))
            .clamps
            .is_empty()
    );
}

#[test]
fn what_cannot_be_changed_is_refused_by_name() {
    let path = vec!["frame".to_owned(), "colour".to_owned()];
    let error = edited(
        GARDEN_GATE,
        &Edit::Set {
            path,
            value: "red".into(),
        },
    );
    assert_eq!(error, Err(EditError::Unknown("'frame.colour'".into())));
    assert_eq!(form("width = "), Err(EditError::NotToml));
}

#[test]
fn a_long_weld_becomes_short_ones_with_gaps_and_begins_and_ends_where_it_did() {
    let flat = write(&Wanted::of(Shape::Tee));
    let edit = Edit::Intermittent {
        weld: 50.0,
        gap: 100.0,
    };
    let job = gate(&edited(&flat, &edit).expect("long welds"));
    assert_eq!(job.welds.len(), 2 * 8);
    assert!(
        job.welds
            .iter()
            .all(|weld| (weld.length().0 - 50.0).abs() < 0.02)
    );
    assert_eq!((job.welds[0].from.x, job.welds[7].to.x), (0.0, 1000.0));
    assert!(edited(GARDEN_GATE, &edit).is_err());
}
