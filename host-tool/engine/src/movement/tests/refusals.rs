//! Jobs that cannot be worked out get an answer that names what is wrong.

use super::*;
use crate::job::from_text;
use crate::movement::error::MovementError;

fn refused(job: &Job) -> MovementError {
    MovementModel::new(job)
        .map(|_| ())
        .expect_err("it cannot be worked out")
}

#[test]
fn a_mechanism_names_the_member_that_can_move_and_how() {
    let mut job = gate_with_bars(2);
    let bar = job.members.iter().position(|m| m.name == "bar 2");
    for joint in &mut job.joints {
        if joint.members.iter().any(|(member, _)| Some(*member) == bar) {
            joint.tacks.clear();
        }
    }
    let MovementError::Mechanism(loose) = refused(&job) else {
        panic!("{}", refused(&job));
    };
    assert!(
        loose.iter().all(|one| one.member == "bar 2"),
        "all else is tacked: {loose:?}"
    );
    assert!(refused(&job).to_string().contains("bar 2"));
}

#[test]
fn a_member_without_length_is_named() {
    let mut job = gate_with_bars(1);
    job.members[4].to = job.members[4].from;
    assert_eq!(
        refused(&job),
        MovementError::NoLength {
            member: "bar 1".into()
        }
    );
    job.members[4].to.x = f64::NAN;
    assert!(matches!(refused(&job), MovementError::NoLength { .. }));
}

#[test]
fn a_weld_that_touches_no_member_is_named_with_its_distance() {
    let mut job = gate_with_bars(1);
    job.welds[9].from.y += 300.0;
    job.welds[9].to.y += 300.0;
    let MovementError::Beside {
        weld: 10,
        distance_mm,
        ..
    } = refused(&job)
    else {
        panic!("{}", refused(&job));
    };
    assert!((distance_mm - 280.0).abs() < 41.0, "{distance_mm}");
}

#[test]
fn a_wall_thinner_than_a_weld_can_hold_is_outside_what_the_rules_hold_for() {
    // A job file with it is refused with its place; see the tests of the job file.
    let mut job = gate();
    let thin = Section::parse("SHS 40x40x0.3").expect("a section");
    job.members
        .iter_mut()
        .for_each(|m| m.section = thin.clone());
    let model = MovementModel::new(&job).expect("it stands");
    let heat = vec![172.0; job.welds.len()];
    let refused = model
        .shrinkage(&heat, &Factors::starting())
        .map(|_| ())
        .expect_err("too thin");
    assert!(
        matches!(refused, MovementError::Rule { weld: 1, .. }),
        "{refused}"
    );
}

#[test]
fn two_members_in_one_place_are_named_whichever_way_they_run() {
    let mut job = gate_with_bars(1);
    let (from, to) = (job.members[2].from, job.members[2].to);
    member(&mut job, "copy", "SHS 40x40x3", to, from, p(0.0, 0.0, 1.0));
    assert_eq!(
        refused(&job),
        MovementError::SamePlace {
            members: ["top rail".into(), "copy".into()]
        }
    );
}

#[test]
fn two_points_in_one_place_are_one_and_no_member_runs_between_them() {
    let stand = |foot: &str, head: &str| {
        format!(
            "name = \"stand\"\nmaterial = \"steel\"\n[points]\na = [0, 0, 0]\nb = [0, 0, 0]\nc = [0, 0, 600]\n\
             [[member]]\nname = \"base\"\nsection = \"SHS 40x40x3\"\nfrom = [-300, 0, 0]\nto = [300, 0, 0]\n\
             [[member]]\nname = \"post\"\nsection = \"SHS 40x40x3\"\nfrom = \"{foot}\"\nto = \"{head}\"\n\
             [[weld]]\nmembers = [\"base\", \"post\"]\nfrom = [-20, -20, 20]\nto = [20, -20, 20]\nleg = 3\n\
             [procedure]\nprocess = \"mag\"\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\n"
        )
    };
    let of = |foot: &str| {
        let job =
            from_text("stand.toml", &stand(foot, "c")).unwrap_or_else(|wrong| panic!("{wrong}"));
        let line = |m: &Member| (m.from, m.to);
        job.members.iter().map(line).collect::<Vec<_>>()
    };
    assert_eq!(of("a"), of("b"));
    let wrong = from_text("stand.toml", &stand("a", "b")).expect_err("no length");
    let one = wrong.iter().next().expect("an error");
    assert!(one.what().contains("'post' has no length"), "{wrong}");
    assert_eq!(one.line_and_column().0, 12, "{wrong}");
}

#[test]
fn a_frame_whose_matrix_would_not_fit_is_refused_before_it_is_solved() {
    // Each count is allowed; together they are too many ways to move.
    let job = gate_with_bars(400);
    let refused = refused(&job);
    assert!(
        matches!(
            refused,
            MovementError::TooLarge { what: "coordinates of movement", found, max: 4000 } if found > 4000
        ),
        "{refused}"
    );
}

#[test]
fn ten_thousand_members_are_read_and_refused_before_anything_is_built_of_them() {
    let mut text = String::from(
        "name = \"lattice\"\nmaterial = \"steel\"\n[procedure]\nprocess = \"mag\"\nvolts = [17, 20]\namps = [95, 135]\n\
         travel_speed = [6, 9]\n",
    );
    for k in 0..10_000 {
        let (x, y) = (k % 100 * 200, k / 100 * 200);
        text += &format!(
            "[[member]]\nsection = \"SQ 20\"\nfrom = [{x}, {y}, 0]\nto = [{}, {y}, 0]\n",
            x + 150
        );
    }
    let job = from_text("lattice.toml", &text).unwrap_or_else(|wrong| panic!("{wrong}"));
    assert_eq!(job.members.len(), 10_000);
    assert_eq!(
        refused(&job),
        MovementError::TooLarge {
            what: "members",
            found: 10_000,
            max: 4000
        }
    );
    text += "[[member]]\nsection = \"SQ 20\"\nfrom = [0, 0, 900]\nto = [150, 0, 900]\n";
    let wrong = from_text("lattice.toml", &text).expect_err("one too many");
    assert!(
        wrong.to_string().contains("more than 10000 members"),
        "{wrong}"
    );
}
