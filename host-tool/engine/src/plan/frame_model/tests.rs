//! What planning on the frame model promises, on the ten frames and on laws that hold for any.

use super::*;
use crate::job::from_text;
use crate::job::model::{Goal, Point};
use crate::movement::cost::MovementWeights;
use crate::plan::model::StepKind;
use crate::plan::parallel::Serial;
use coldsquare_core::sequence::{Cost, Objective};
use frames::FRAMES;

#[path = "../../../../../tests/frames/mod.rs"]
mod frames;

const GATE: &str = crate::example::GARDEN_GATE;

pub(super) fn options(trials: u64) -> Options {
    Options {
        effort: Effort { trials, seed: 1 },
        ..Options::default()
    }
}

fn frame(name: &str) -> Job {
    let found = FRAMES.iter().find(|(other, _)| *other == name);
    let (name, text) = found.expect("a frame of that name");
    from_text(name, text).expect("a job")
}

/// Four rungs or fewer between two uprights, welded front and back: two welds an end.
fn rungs(places: &[u32], section: &str) -> Job {
    let mut text = String::from(
        "material = \"steel\"\n[frame]\nwidth = 500\nheight = 1200\nsection = \"SHS 30x30x2\"\ncorners = \"open\"\n",
    );
    for (k, y) in places.iter().enumerate() {
        text += &format!(
            "[[member]]\nname = \"rung {k}\"\nsection = \"{section}\"\nfrom = \"left upright at {y}\"\n\
             to = \"right upright at {y}\"\nwelded = [\"front\", \"back\"]\n"
        );
    }
    text +=
        "[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\n";
    from_text("rungs", &text).expect("a job")
}

#[test]
fn the_advised_order_moves_the_gate_less_than_any_trade_order() {
    let job = from_text("gate.toml", GATE).expect("a job");
    let plan = plan_on_frame_model(&job, &options(2000), &Serial, &mut |_| true).expect("a plan");
    assert_eq!(plan.gauge.unit, "mm");
    for order in &plan.trade_orders {
        // An order that flips the frame at every joint may save a little more.
        let flips_at_will = order.score.flips > plan.score.flips;
        let most = order.score.peak * if flips_at_will { 1.1 } else { 1.0 };
        assert!(
            plan.score.peak < most,
            "{}: {:?} against {:?}",
            order.name,
            order.score,
            plan.score
        );
    }
    let again = plan_on_frame_model(&job, &options(2000), &Serial, &mut |_| true).expect("a plan");
    assert_eq!(plan, again, "the same seed gives the same plan");
}

#[test]
fn a_frame_that_does_not_stand_is_planned_by_shrinkage_balance_and_says_why() {
    let mut job = from_text("gate.toml", GATE).expect("a job");
    for joint in &mut job.joints {
        joint.tacks.clear();
    }
    let plan = plan_on_frame_model(&job, &options(1000), &Serial, &mut |_| true).expect("a plan");
    assert!(
        plan.cautions[0].starts_with("This order goes by the shrinkage balance only: "),
        "{:?}",
        plan.cautions
    );
    assert_eq!(plan.gauge.unit, "% of all heat");
}

/// Random orders, the same every time.
pub(super) fn random_orders(count: usize, items: usize) -> Vec<Vec<Step>> {
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    let mut below = |bound: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 33) as usize % bound
    };
    (0..count)
        .map(|_| {
            let mut order: Vec<Step> = (0..items as u16).map(Step::forward).collect();
            for k in (1..items).rev() {
                order.swap(k, below(k + 1));
            }
            order
        })
        .collect()
}

/// Little effort, as befits a test; `benches/planning` makes the table of `docs/planning-search.md` with the usual one.
#[test]
fn on_ten_frames_no_trade_order_is_better_and_hardly_a_random_one() {
    for (name, text) in FRAMES {
        let job = from_text(name, text).expect("a job");
        let heat = crate::plan::planned_heat(&job);
        let problem = PlanningProblem::new(&job, &heat, &options(400)).expect("an order");
        let solved = Solved::new(&job, &heat).expect("it stands");
        let objective = solved.objective(&problem);
        let found = on_frame_model(&problem, &objective, &Serial, &mut |_| true).expect("an order");
        let worth =
            |order: &[Step]| cost(&objective, &problem.items, u16::MAX, order).expect("an order");
        let ours = worth(&found.order);
        assert_eq!(ours.peak, found.cost.peak, "{name}: it costs what it says");
        assert!(ours.flips <= problem.max_flips, "{name}");
        for (name_of, order) in problem.trade_orders().expect("no rules") {
            let theirs = worth(&order);
            assert!(
                ours.peak <= theirs.peak || theirs.flips > ours.flips,
                "{name}: {name_of} moves it by {:.4}, ours by {:.4}",
                objective.gauge().value(theirs.peak),
                objective.gauge().value(ours.peak)
            );
        }
        // Random orders may flip the frame as often as they like.
        let at_random = random_orders(10, problem.items.len());
        let better = at_random
            .iter()
            .filter(|order| worth(order).peak < ours.peak);
        assert!(better.count() <= 1, "{name}");
    }
}

#[test]
fn a_hundred_welds_move_less_in_the_order_found_on_paper_than_in_the_one_it_began_with() {
    let text = GATE
        .replace("width = 1200", "width = 1700")
        .replace("count = 9", "count = 21")
        .replace("width = 1216", "width = 1716");
    let job = from_text("gate", &text).expect("a job");
    assert_eq!(job.welds.len(), 100);
    let heat = crate::plan::planned_heat(&job);
    let problem = PlanningProblem::new(&job, &heat, &options(10_000)).expect("an order");
    let solved = Solved::new(&job, &heat).expect("it stands");
    let objective = solved.objective(&problem);
    let worth = |order: &[Step]| {
        let found = cost(&objective, &problem.items, problem.max_flips, order);
        found.expect("an order that keeps to the rules")
    };
    let begin = starting_order(&problem, &objective, &Serial, &mut |_| true).expect("an order");
    let search = || least_moving(&problem, &objective, &Serial, &mut |_| true).expect("an order");
    let found = search();
    assert_eq!(
        found.cost,
        worth(&found.order),
        "it moves as it was simulated"
    );
    assert!(
        objective.gauge().value(found.cost.peak)
            < 0.9 * objective.gauge().value(worth(&begin).peak)
    );
    assert_eq!(found.order, search().order, "the same every time");
}

#[test]
fn two_hundred_welds_are_tried_on_the_frame_model() {
    let text = GATE
        .replace("width = 1200", "width = 3200")
        .replace("count = 9", "count = 46")
        .replace("width = 1216", "width = 3216");
    let job = from_text("long gate", &text).expect("a job");
    assert_eq!(job.welds.len(), 200);
    let plan = plan_on_frame_model(&job, &options(100), &Serial, &mut |_| true).expect("a plan");
    assert_eq!(plan.gauge.unit, "mm");
    let mut order = plan.order();
    order.sort_unstable();
    assert_eq!(order, (1..=200).collect::<Vec<_>>());
    let with_as_few =
        |order: &&crate::plan::model::TradeOrder| order.score.flips <= plan.score.flips;
    for order in plan.trade_orders.iter().filter(with_as_few) {
        assert!(plan.score.peak <= order.score.peak, "{}", order.name);
    }
}

/// The smallest peak of all orders of eight welds.
fn least_peak<'a>(
    objective: &MovementObjective<'a>,
    state: &<MovementObjective<'a> as Objective>::State,
    left: u8,
    peak: u64,
    best: &mut u64,
) {
    if left == 0 {
        *best = (*best).min(peak);
        return;
    }
    for weld in (0..8).filter(|k| left >> k & 1 == 1) {
        let mut next = state.clone();
        objective.apply(&mut next, Step::forward(weld));
        let peak = peak.max(objective.score(&next));
        if peak < *best {
            least_peak(objective, &next, left & !(1 << weld), peak, best);
        }
    }
}

/// The whole distribution is in `docs/planning-search.md`, made by `benches/planning`.
#[test]
fn of_all_orders_of_eight_welds_hardly_one_is_better() {
    let job = rungs(&[200, 500], "SHS 20x20x2");
    assert_eq!(job.welds.len(), 8);
    let heat = crate::plan::planned_heat(&job);
    let free = Options {
        max_flips: Some(7),
        ..options(4000)
    };
    let problem = PlanningProblem::new(&job, &heat, &free).expect("an order");
    let solved = Solved::new(&job, &heat).expect("it stands");
    let objective = solved.objective(&problem);
    let found = on_frame_model(&problem, &objective, &Serial, &mut |_| true).expect("an order");
    let mut best = found.cost.peak + 1;
    least_peak(&objective, &objective.start(), 0xFF, 0, &mut best);
    let [ours, least] = [found.cost.peak, best].map(|peak| objective.gauge().value(peak));
    // A bar that leans on its first weld is brought back by the order of all eight: few orders are as good as the best.
    assert!(ours <= 1.12 * least, "{ours} mm, and {least} mm can be had");
}

pub(super) fn mirrored(job: &Job, width_mm: f64) -> Job {
    let mut image = job.clone();
    let flip = |point: &mut Point| point.x = width_mm - point.x;
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

/// What is mirrored is the drawing: each weld keeps its number and changes its side. The order by number is then the
/// mirrored order, even between equal orders.
#[test]
fn a_mirrored_frame_gets_the_mirrored_order() {
    for (job, width_mm) in [
        (rungs(&[300, 900], "SHS 20x20x2"), 500.0),
        (rungs(&[150, 400, 1000], "SHS 25x25x2"), 500.0),
    ] {
        let order = |job: &Job| {
            let plan =
                plan_on_frame_model(job, &options(2000), &Serial, &mut |_| true).expect("a plan");
            assert_eq!(plan.gauge.unit, "mm");
            plan.order()
        };
        assert_eq!(order(&job), order(&mirrored(&job, width_mm)));
    }
}

/// A symmetric frame has no better side: an order and its image move it as much.
#[test]
fn on_a_symmetric_frame_an_order_and_its_image_are_as_good() {
    let job = frame("ladder");
    let heat = crate::plan::planned_heat(&job);
    let problem = PlanningProblem::new(&job, &heat, &options(2000)).expect("an order");
    let solved = Solved::new(&job, &heat).expect("it stands");
    let objective = solved.objective(&problem);
    let image_of = |weld: u16| {
        let middle = |k: usize| problem.parts[k].middle();
        let (here, outward) = (
            middle(usize::from(weld)),
            job.welds[usize::from(weld)].outward,
        );
        let there = Point::new(400.0 - here.x, here.y, here.z);
        let same = |k: &usize| {
            let other = job.welds[*k].outward;
            (middle(*k) - there).length() < 1e-6 && (other.x + outward.x).abs() < 1e-6
        };
        (0..problem.parts.len()).find(same).expect("an image") as u16
    };
    for order in random_orders(20, problem.items.len()) {
        let image: Vec<Step> = order
            .iter()
            .map(|s| Step::forward(image_of(s.weld)))
            .collect();
        let [one, other] = [&order, &image]
            .map(|order| cost(&objective, &problem.items, u16::MAX, order).expect("an order"))
            .map(|cost| [cost.peak, cost.last].map(|m| objective.gauge().value(m)));
        for (one, other) in one.iter().zip(other) {
            assert!((one - other).abs() <= 1.1e-4, "{one} mm against {other} mm");
        }
    }
}

/// Planned for one thing, no order that was planned for another leaves less of it.
#[test]
fn each_goal_gets_most_of_what_it_names_and_changes_the_order() {
    let mut job = rungs(&[150, 400, 1000], "SHS 25x25x2");
    let heat = crate::plan::planned_heat(&job);
    // Any flip is welcome, or the goal would be given away for fewer flips.
    let thorough = Options {
        flip_worth: 0.0,
        ..options(5000)
    };
    let problem = PlanningProblem::new(&job, &heat, &thorough).expect("an order");
    let solved = Goal::WORDS.map(|word| {
        let mut goal = Goal::default();
        assert!(goal.add(word));
        Solved::with_weights(&job, &heat, MovementWeights::of_goal(&goal)).expect("it stands")
    });
    let objectives = solved.each_ref().map(|solved| solved.objective(&problem));
    let found = objectives.each_ref().map(|objective| {
        on_frame_model(&problem, objective, &Serial, &mut |_| true)
            .expect("an order")
            .order
    });
    for (k, objective) in objectives.iter().enumerate() {
        let left = found.each_ref().map(|order| {
            let cost: Cost = cost(objective, &problem.items, u16::MAX, order).expect("an order");
            objective.gauge().value(cost.peak)
        });
        for (other, theirs) in left.iter().enumerate() {
            assert!(
                left[k] <= theirs * (1.0 + AS_GOOD) + 1e-4,
                "{}: {:.4} mm, and planned for {}: {theirs:.4} mm",
                Goal::WORDS[k],
                left[k],
                Goal::WORDS[other]
            );
            assert!(other == k || found[other] != found[k], "{}", Goal::WORDS[k]);
        }
    }
    // And the job file is where it is asked for.
    job.goal = Goal {
        square: true,
        ..Goal::default()
    };
    let plan = plan_on_frame_model(&job, &thorough, &Serial, &mut |_| true).expect("a plan");
    let squarely: Vec<u16> = found[1]
        .iter()
        .map(|step| job.welds[usize::from(step.weld)].number)
        .collect();
    assert_eq!(plan.order(), squarely);
}

#[test]
fn what_is_in_reach_is_kept_together_where_it_moves_nothing() {
    // A random order flips the frame and walks for nearly every weld.
    let job = frame("ladder");
    let heat = crate::plan::planned_heat(&job);
    let problem = PlanningProblem::new(&job, &heat, &options(10_000)).expect("an order");
    let solved = Solved::new(&job, &heat).expect("it stands");
    let objective = solved.objective(&problem);
    let careless = random_orders(1, problem.items.len()).remove(0);
    let indifferent = objective.indifferent_to(&careless, AS_GOOD);
    let effort = Effort {
        trials: 500,
        seed: 1,
    };
    let items = &problem.items;
    let tidied = side_by_side(
        effort,
        &|effort, report| {
            by_one_costly_search(&indifferent, items, u16::MAX, effort, &careless, report)
        },
        &Serial,
        &mut |_| true,
    );
    let tidied = tidied.expect("an order").order;
    let [before, after] = [&careless, &tidied]
        .map(|order| cost(&objective, &problem.items, u16::MAX, order).expect("an order"));
    assert!(
        after.flips < before.flips && after.moves < before.moves,
        "{before:?}, then {after:?}"
    );
    let limit = objective.gauge().value(before.peak) * (1.0 + AS_GOOD) + 1e-4;
    assert!(objective.gauge().value(after.peak) <= limit);
}

#[test]
fn a_long_weld_is_laid_in_pieces_whose_heat_and_time_add_up() {
    let job = frame("stand");
    let plan = plan_on_frame_model(&job, &options(100), &Serial, &mut |_| true).expect("a plan");
    for weld in &job.welds {
        let mut parts: Vec<(u16, f64, f64)> = plan
            .steps
            .iter()
            .filter_map(|step| match &step.what {
                StepKind::Weld {
                    weld: number,
                    part,
                    from,
                    to,
                    arc_time,
                    ..
                } if *number == weld.number => {
                    let length = (0..3)
                        .map(|k| (to[k] - from[k]).powi(2))
                        .sum::<f64>()
                        .sqrt();
                    Some((part.map_or(1, |part| part.number), length, arc_time.0))
                }
                _ => None,
            })
            .collect();
        parts.sort_by_key(|part| part.0);
        assert!(
            parts.iter().map(|part| part.0).eq(1..=parts.len() as u16),
            "each once"
        );
        assert!(parts.iter().all(|part| part.1 <= 200.0 + 1e-9));
        let procedure = &job.procedures[weld.procedure];
        let (length, time): (f64, f64) = (
            parts.iter().map(|p| p.1).sum(),
            parts.iter().map(|p| p.2).sum(),
        );
        assert!((length - weld.length().0).abs() < 1e-6);
        assert!((time - weld.planned_arc_time(procedure).0).abs() < 1e-6);
    }
}
