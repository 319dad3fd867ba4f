//! Laws that every plan on the frame model keeps, on small random frames.

use super::tests::{mirrored, options};
use super::*;
use crate::job::from_text;
use crate::plan::model::{Reason, StepKind};
use crate::plan::parallel::Serial;
use crate::plan::planned_heat;
use proptest::prelude::*;
use std::fmt::Write;

const WIDTH_MM: f64 = 500.0;

/// One rung or two between two uprights, welded on one face or on both.
fn rungs(places: &[u32], section: &str, both: bool) -> Job {
    let mut text = format!(
        "material = \"steel\"\n[frame]\nwidth = {WIDTH_MM}\nheight = 1200\nsection = \"SHS 30x30x2\"\ncorners = \"open\"\n"
    );
    let welded = if both {
        "[\"front\", \"back\"]"
    } else {
        "[\"front\"]"
    };
    for (k, y) in places.iter().enumerate() {
        let _ = write!(
            text,
            "[[member]]\nname = \"rung {k}\"\nsection = \"{section}\"\nfrom = \"left upright at {y}\"\n\
             to = \"right upright at {y}\"\nwelded = {welded}\n"
        );
    }
    text +=
        "[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\n";
    let mut job = from_text("rungs", &text).expect("a job");
    // Where nothing yields the answer is in proportion to the heat.
    job.material.yield_mpa = 1e6;
    job
}

fn a_frame() -> impl Strategy<Value = Job> {
    let places = prop_oneof![Just(vec![300]), Just(vec![150, 400]), Just(vec![200, 1000]),];
    let section = prop_oneof![Just("SHS 20x20x2"), Just("SHS 25x25x2")];
    (places, 0..100_u32, section, any::<bool>()).prop_map(|(mut places, up, section, both)| {
        places.iter_mut().for_each(|y| *y += up);
        rungs(&places, section, both)
    })
}

/// Weld by weld: its number, its direction, and why it is made then.
fn advice(job: &Job, heat: &[f64], options: &Options) -> (Vec<(u16, [f64; 3], Reason)>, f64) {
    let problem = PlanningProblem::new(job, heat, options).expect("an order");
    let solved = Solved::new(job, heat).expect("it stands");
    let objective = solved.objective(&problem);
    let found = on_frame_model(&problem, &objective, &Serial, &mut |_| true).expect("an order");
    let plan = problem
        .plan(&objective, objective.gauge(), &found)
        .expect("a plan");
    let welds = plan.steps.iter().filter_map(|step| match step.what {
        StepKind::Weld { weld, from, .. } => Some((weld, from, step.reason)),
        _ => None,
    });
    (welds.collect(), plan.score.peak)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn a_mirrored_frame_gets_the_mirrored_order(job in a_frame(), seed in 1..4_u64) {
        let mut few = options(400);
        few.effort.seed = seed;
        let heat = planned_heat(&job);
        let (order, _) = advice(&job, &heat, &few);
        let (image, _) = advice(&mirrored(&job, WIDTH_MM), &heat, &few);
        prop_assert_eq!(order.len(), image.len());
        for ((weld, from, _), (other, there, _)) in order.iter().zip(&image) {
            prop_assert_eq!(weld, other);
            prop_assert!((WIDTH_MM - from[0] - there[0]).abs() < 1e-6);
        }
    }

    /// A symmetric frame looks the same in a mirror, only with other numbers: what is advised there is worth as much
    /// when it is carried over to the other side.
    #[test]
    fn advice_for_a_symmetric_frame_is_as_good_on_the_other_side(job in a_frame()) {
        let heat = planned_heat(&job);
        let few = options(400);
        let problem = PlanningProblem::new(&job, &heat, &few).expect("an order");
        let solved = Solved::new(&job, &heat).expect("it stands");
        let objective = solved.objective(&problem);
        let found = on_frame_model(&problem, &objective, &Serial, &mut |_| true).expect("an order");
        let image = |step: &Step| {
            let here = &problem.parts[usize::from(step.weld)];
            let (middle, outward) = (here.middle(), job.welds[here.weld].outward);
            let is_image = |other: &usize| {
                let there = problem.parts[*other].middle();
                let out = job.welds[problem.parts[*other].weld].outward;
                (there.x + middle.x - WIDTH_MM).abs() < 1e-6
                    && (there.y - middle.y).abs() < 1e-6
                    && (there.z - middle.z).abs() < 1e-6
                    && (out.x + outward.x).abs() < 1e-6
            };
            let found = (0..problem.parts.len()).find(is_image).expect("an image");
            Step::forward(found as u16)
        };
        let other: Vec<Step> = found.order.iter().map(image).collect();
        let [one, other] = [&found.order, &other].map(|order| objective.moves_mm(order));
        prop_assert!((one - other).abs() <= 1e-6 + 1e-6 * one, "{} mm and {} mm", one, other);
    }

    /// A flip is given up only for no more movement than it is worth, and no plan flips more often than the order that
    /// moves the frame least.
    #[test]
    fn a_flip_is_weighed_against_what_it_saves(job in a_frame(), worth in 0.0..0.5_f64) {
        let heat = planned_heat(&job);
        let options = Options { flip_worth: worth, ..options(400) };
        let problem = PlanningProblem::new(&job, &heat, &options).expect("an order");
        let solved = Solved::new(&job, &heat).expect("it stands");
        let objective = solved.objective(&problem);
        let least = least_moving(&problem, &objective, &Serial, &mut |_| true).expect("an order").cost;
        let advised = on_frame_model(&problem, &objective, &Serial, &mut |_| true).expect("an order").cost;
        prop_assert!(advised.flips <= least.flips);
        let saved = i32::from(least.flips - advised.flips);
        let most = (least.peak as f64).sqrt() * (1.0 + worth).powi(saved) * (1.0 + AS_GOOD);
        prop_assert!((advised.peak as f64).sqrt() <= most + 1.0, "{advised:?} and {least:?}");
    }
}

#[test]
fn of_orders_that_move_it_equally_the_one_with_fewer_flips_and_less_walking_is_chosen() {
    // Two rungs welded on both faces: any flip beyond the one needed must save half of the movement.
    let job = rungs(&[200, 1000], "SHS 20x20x2", true);
    let heat = planned_heat(&job);
    let dear = Options {
        flip_worth: 1.0,
        ..options(2000)
    };
    let problem = PlanningProblem::new(&job, &heat, &dear).expect("an order");
    let solved = Solved::new(&job, &heat).expect("it stands");
    let objective = solved.objective(&problem);
    let least = least_moving(&problem, &objective, &Serial, &mut |_| true).expect("an order");
    let found = on_frame_model(&problem, &objective, &Serial, &mut |_| true).expect("an order");
    assert!(found.cost.flips <= least.cost.flips);
    // And no random order that is as good has as few flips and less moving on and walking.
    let as_good = found.cost.peak;
    for order in super::tests::random_orders(300, problem.items.len()) {
        let other = cost(&objective, &problem.items, problem.max_flips, &order).expect("no rules");
        if other.peak <= as_good && other.flips <= found.cost.flips {
            assert!((found.cost.moves, found.cost.walk_mm) <= (other.moves, other.walk_mm));
        }
    }
}

#[test]
fn equal_welds_keep_file_order() {
    // One rung, welded on one face: its two ends are equal.
    let job = rungs(&[600], "SHS 20x20x2", false);
    let plan = plan_on_frame_model(&job, &options(400), &Serial, &mut |_| true).expect("a plan");
    let mut file_order = plan.order();
    file_order.sort_unstable();
    assert_eq!(plan.order(), file_order);
}
