//! The same order with less waiting: where a joint must cool or the machine must rest, a weld that can be made now
//! comes first, if the frame moves no more than before.

use super::PlanningProblem;
use super::model::Method;
use super::order::Found;
use super::schedule::{BenchStep, Schedule, Times};
use super::search::cost;
use coldsquare_core::sequence::{Cost, Objective, Step};

/// This much more movement counts as none. Our own judgement, no source: prediction is not better than that.
const AS_GOOD: f64 = 0.02;
/// Welds that are tried in place of one that must wait.
const LOOK_AHEAD: usize = 16;
/// Most orders that are scored, for a frame of 50 parts; fewer where there are more, because each takes longer.
const MAX_SCORED: usize = 200;
/// Saving less time is not worth another order, s.
const WORTH_IT_S: f64 = 5.0;

/// An order as good as `found` that takes no longer, timed after the tacks in `before`.
pub(super) fn less_waiting<O: Objective>(
    problem: &PlanningProblem<'_>,
    objective: &O,
    found: &Found,
    schedule: &Schedule<'_>,
    before: &[BenchStep],
    best_trade_order: Option<Cost>,
) -> Found {
    let bound = bound(found, best_trade_order);
    let times =
        |order: &[Step]| schedule.times(before.iter().copied().chain(problem.bench_steps(order)));
    let mut best = found.clone();
    let mut best_times = times(&best.order);
    let mut left = (MAX_SCORED * 50 / problem.items.len().max(50)).max(20);
    let mut place = 0;
    while place < best.order.len() && left > 0 {
        if !waits_at(problem, &best.order, &best_times, before.len(), place) {
            place += 1;
            continue;
        }
        let last = best.order.len().min(place + 1 + LOOK_AHEAD);
        let better = (place + 1..last).find_map(|later| {
            let mut order = best.order.clone();
            order[place..=later].rotate_right(1);
            let times = times(&order);
            if times.time.total.0 > best_times.time.total.0 - WORTH_IT_S || left == 0 {
                return None;
            }
            left -= 1;
            let cost = cost(objective, &problem.items, problem.max_flips(), &order)?;
            within(&cost, &bound).then_some((order, cost, times))
        });
        match better {
            // The same place again: the weld that is there now may have to wait as well.
            Some((order, cost, times)) => {
                (best.order, best.cost, best_times) = (order, cost, times);
            }
            None => place += 1,
        }
    }
    best
}

/// Whether the weld at a place of the order must wait.
fn waits_at(
    problem: &PlanningProblem<'_>,
    order: &[Step],
    times: &Times,
    before: usize,
    place: usize,
) -> bool {
    let steps = problem.bench_steps(order);
    let welds = (before..)
        .zip(steps)
        .filter(|(_, step)| matches!(step, BenchStep::Weld { .. }));
    welds
        .map(|(at, _)| times.waits[at].is_some())
        .nth(place)
        .unwrap_or(false)
}

/// The most that an order may cost to count as good as the one found. An exact order stays exact, and one that beats
/// every trade order still does.
fn bound(found: &Found, best_trade_order: Option<Cost>) -> Cost {
    let more = match found.method {
        Method::Exact => 1.0,
        Method::Search { .. } => (1.0 + AS_GOOD) * (1.0 + AS_GOOD),
    };
    let with_more = |score: u64, trade_order: Option<u64>| {
        let most = (score as f64 * more) as u64;
        most.min(trade_order.unwrap_or(most)).max(score)
    };
    Cost {
        peak: with_more(
            found.cost.peak,
            best_trade_order.map(|trade_order| trade_order.peak),
        ),
        last: with_more(found.cost.last, None),
        ..found.cost
    }
}

fn within(cost: &Cost, bound: &Cost) -> bool {
    cost.excess_flips <= bound.excess_flips
        && cost.peak <= bound.peak
        && cost.last <= bound.last
        && cost.flips <= bound.flips
}
