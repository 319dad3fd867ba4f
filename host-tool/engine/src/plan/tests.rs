//! What a plan promises, on the garden gate and on frames drawn from a few lines.

use super::model::{Face, Method, Plan, Reason, StepKind};
use super::order::Effort;
use super::{Options, PlanError, plan, text};
use crate::job::from_text;
use crate::job::model::Job;
use crate::plan::search::SequenceError;
use crate::units::Units;

fn gate() -> Job {
    from_text("gate", crate::example::GARDEN_GATE).expect("the example has no errors")
}

/// A mitred frame without bars: 16 welds.
fn bare_frame() -> Job {
    from_text(
        "frame",
        "material = \"steel\"\n[frame]\nwidth = 800\nheight = 500\nsection = \"SHS 30x30x2\"\ncorners = \"mitred\"\n\
         [procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\n\
         heat_input = [0.15, 0.35]\n",
    )
    .expect("the frame has no errors")
}

fn options(trials: u64) -> Options {
    Options {
        max_flips: None,
        effort: Effort { trials, seed: 1 },
        ..Options::default()
    }
}

fn planned(job: &Job, trials: u64) -> Plan {
    plan(job, &options(trials), &mut |_| true).expect("a plan")
}

fn numbers(job: &Job) -> Vec<u16> {
    job.welds.iter().map(|weld| weld.number).collect()
}

#[test]
fn the_gate_is_planned_better_than_any_trade_order() {
    let job = gate();
    let plan = planned(&job, 40_000);
    let mut order = plan.order();
    order.sort_unstable();
    assert_eq!(order, numbers(&job), "every weld once");
    assert!(
        plan.score.last < 0.1,
        "a symmetric gate ends in balance: {:?}",
        plan.score
    );
    assert!(plan.score.flips <= 3);
    for order in &plan.trade_orders {
        assert!(
            plan.score.peak < 0.6 * order.score.peak,
            "{}: {:?} against {:?}",
            order.name,
            order.score,
            plan.score
        );
    }
}

#[test]
fn a_bare_frame_is_solved_exactly_and_no_search_finds_better() {
    let job = bare_frame();
    assert_eq!(job.welds.len(), 16);
    let plan = planned(&job, 2000);
    assert_eq!(plan.method, Method::Exact);
    for seed in 0..5 {
        let mut other = options(20_000);
        other.effort.seed = seed;
        let again = super::plan(&job, &other, &mut |_| true).expect("a plan");
        assert!((again.score.peak - plan.score.peak).abs() < 1e-9);
    }
}

#[test]
fn tacks_come_first_and_opposite_corners_in_turn() {
    let job = gate();
    let plan = planned(&job, 5000);
    let first_weld = plan
        .steps
        .iter()
        .position(|step| matches!(step.what, StepKind::Weld { .. }))
        .expect("welds");
    assert!(
        plan.steps[first_weld..]
            .iter()
            .all(|step| !matches!(step.what, StepKind::Tack { .. }))
    );
    let corners: Vec<&str> = plan.steps[..4]
        .iter()
        .map(|step| match &step.what {
            StepKind::Tack { name, .. } => name.as_str(),
            other => panic!("{other:?}"),
        })
        .collect();
    assert!(
        plan.steps[..4]
            .iter()
            .all(|step| step.reason == Reason::TackCorner)
    );
    assert!(
        plan.steps[4..]
            .iter()
            .all(|step| step.reason != Reason::TackCorner)
    );
    let opposite = |name: &str| match name {
        "bottom left corner" => "top right corner",
        "top right corner" => "bottom left corner",
        "bottom right corner" => "top left corner",
        "top left corner" => "bottom right corner",
        other => panic!("{other}"),
    };
    assert_eq!(corners[1], opposite(corners[0]));
    assert_eq!(corners[3], opposite(corners[2]));
    let tacks: usize = plan
        .steps
        .iter()
        .map(|step| match &step.what {
            StepKind::Tack { at, .. } => at.len(),
            _ => 0,
        })
        .sum();
    assert_eq!(
        tacks,
        job.joints
            .iter()
            .map(|joint| joint.tacks.len())
            .sum::<usize>()
    );
}

#[test]
fn a_weld_is_made_with_its_face_up() {
    let job = gate();
    let plan = planned(&job, 5000);
    let mut up = Face::Front;
    for step in &plan.steps {
        match step.what {
            StepKind::Flip { up: now } => {
                assert_ne!(now, up, "a flip changes the face");
                up = now;
            }
            StepKind::Weld { weld, .. } => {
                let outward = job.welds[usize::from(weld) - 1].outward;
                let wrong = match up {
                    Face::Front => outward.z < -0.5,
                    Face::Back => outward.z > 0.5,
                };
                assert!(!wrong, "weld {weld} with the {up:?} up");
            }
            StepKind::Tack { .. } | StepKind::ReleaseClamp { .. } => {}
        }
    }
}

/// The same frame seen in a mirror: left is right.
fn mirrored(job: &Job) -> Job {
    let mut image = job.clone();
    let flip = |point: &mut crate::job::model::Point| point.x = 1200.0 - point.x;
    for member in &mut image.members {
        flip(&mut member.from);
        flip(&mut member.to);
        member.depth_axis.x = -member.depth_axis.x;
    }
    for joint in &mut image.joints {
        flip(&mut joint.at);
        joint.tacks.iter_mut().for_each(flip);
    }
    for weld in &mut image.welds {
        flip(&mut weld.from);
        flip(&mut weld.to);
        weld.outward.x = -weld.outward.x;
    }
    image
}

#[test]
fn a_mirrored_gate_gets_the_mirrored_order() {
    let job = gate();
    let (plan, image) = (planned(&job, 10_000), planned(&mirrored(&job), 10_000));
    assert_eq!(plan.order(), image.order());
}

#[test]
fn hotter_all_over_changes_no_order_and_a_hot_corner_does() {
    let job = bare_frame();
    let order = |heat: &dyn Fn(usize) -> f64| {
        let heat: Vec<f64> = (0..job.welds.len()).map(heat).collect();
        super::plan_with_heat(&job, &heat, &options(1000), &mut |_| true)
            .expect("a plan")
            .order()
    };
    assert_eq!(order(&|_| 200.0), order(&|_| 317.3));
    assert_ne!(
        order(&|_| 200.0),
        order(&|k| if k < 4 { 400.0 } else { 200.0 })
    );
}

#[test]
fn an_order_by_rule_is_kept_and_a_circle_is_named() {
    let mut job = bare_frame();
    job.welds[3].after = vec![9, 12];
    let order = planned(&job, 2000).order();
    let place = |weld: u16| order.iter().position(|n| *n == weld).expect("every weld");
    assert!(place(9) < place(4) && place(12) < place(4));
    job.welds[8].after = vec![4];
    let refused = plan(&job, &options(100), &mut |_| true).expect_err("a circle");
    assert!(
        refused
            .to_string()
            .starts_with("weld 4 would have to wait for itself"),
        "{refused}"
    );
}

#[test]
fn too_few_flips_are_refused_with_the_number_needed() {
    let job = bare_frame();
    let none = Options {
        max_flips: Some(0),
        ..options(100)
    };
    assert_eq!(
        plan(&job, &none, &mut |_| true),
        Err(PlanError::Sequence {
            cause: SequenceError::TooFewFlips { needed: 1 },
            weld: None
        })
    );
}

#[test]
fn long_welds_are_cut_and_welded_by_back_step() {
    let mut job = bare_frame();
    job.welds.truncate(1);
    job.joints.iter_mut().for_each(|joint| joint.tacks.clear());
    let (middle, right) = (
        crate::job::model::Point::new(400.0, 250.0, 15.0),
        crate::job::model::Point::new(800.0, 250.0, 15.0),
    );
    (job.welds[0].from, job.welds[0].to) = (middle, right);
    let plan = planned(&job, 1000);
    let welds: Vec<_> = plan
        .steps
        .iter()
        .filter_map(|step| match &step.what {
            StepKind::Weld { part, from, to, .. } => Some((part.expect("a part"), from[0], to[0])),
            _ => None,
        })
        .collect();
    assert_eq!(welds.len(), 2);
    for (part, from, to) in welds {
        assert_eq!(part.of, 2);
        // It grows to the right, away from the middle; each part is welded to the left.
        assert!(from > to, "{from} to {to}");
        assert!((from - to - 200.0).abs() < 1e-9);
    }
}

#[test]
fn a_job_without_welds_has_an_empty_plan() {
    let mut job = bare_frame();
    job.welds.clear();
    job.joints.iter_mut().for_each(|joint| joint.tacks.clear());
    let plan = planned(&job, 1000);
    assert!(plan.steps.is_empty());
    assert_eq!(plan.score.peak, 0.0);
    assert!(text(&plan, Units::Metric).contains("order of welding"));
}

#[test]
fn the_text_and_the_json_say_the_same_order() {
    let job = bare_frame();
    let plan = planned(&job, 1000);
    let printed: Vec<u16> = text(&plan, Units::Metric)
        .lines()
        .filter_map(|line| {
            let mut words = line.split_whitespace();
            let is_weld = words.next()?.parse::<u16>().is_ok() && words.next()? == "weld";
            is_weld.then(|| words.next())??.parse().ok()
        })
        .collect();
    assert_eq!(printed, plan.order());
    let json: serde_json::Value = serde_json::to_value(&plan).expect("finite numbers");
    let welds: Vec<u64> = json["steps"]
        .as_array()
        .expect("steps")
        .iter()
        .filter(|step| step["what"]["kind"] == "weld")
        .filter_map(|step| step["what"]["weld"].as_u64())
        .collect();
    assert_eq!(
        welds,
        plan.order()
            .iter()
            .map(|n| u64::from(*n))
            .collect::<Vec<_>>()
    );
}

#[test]
fn a_name_cannot_break_the_list() {
    let mut job = bare_frame();
    job.welds[0].name = "corner\n99  weld 99\u{1b}[31m".into();
    let text = text(&planned(&job, 100), Units::UsCustomary);
    assert!(text.contains("corner\u{FFFD}99  weld 99\u{FFFD}[31m"));
    assert!(!text.contains('\u{1b}'));
}
