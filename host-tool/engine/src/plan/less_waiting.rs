//! The same order with less to wait for: where a joint must cool or the machine must rest, a weld that can be made now
//! comes first, if the frame moves as little as before.

use super::PlanningProblem;
use super::model::Method;
use super::order::Found;
use super::schedule::{BenchStep, Schedule, Timed};
use coldsquare_core::sequence::{Objective, Cost, Step, cost};

/// So much more movement is not worth a wait. Our own judgement, no source: prediction is not that good.
const AS_GOOD: f64 = 0.02;
/// Welds that are looked at instead of one that must wait.
const LOOK_AHEAD: usize = 16;
/// Orders that are judged at most, for a frame of 50 pieces; fewer where there are more, because each takes longer.
const MOST_JUDGED: usize = 200;
/// Less is not worth another order, s.
const WORTH_IT_S: f64 = 5.0;

/// An order as good as `found`, timed after the tacks `before`, that takes no longer.
pub(super) fn less_waiting<A: Objective>(
    problem: &PlanningProblem<'_>,
    objective: &A,
    found: &Found,
    schedule: &Schedule<'_>,
    before: &[BenchStep],
    best_trade_order: Option<Cost>,
) -> Found {
    let bound = bound(found, best_trade_order);
    let timed = |order: &[Step]| schedule.timed(before.iter().copied().chain(problem.bench_steps(order)));
    let mut best = found.clone();
    let mut best_timed = timed(&best.order);
    let mut left = (MOST_JUDGED * 50 / problem.items.len().max(50)).max(20);
    let mut place = 0;
    while place < best.order.len() && left > 0 {
        let better = waits_at(problem, &best.order, &best_timed, before.len(), place)
            .then(|| {
                let last = best.order.len().min(place + 1 + LOOK_AHEAD);
                (place + 1..last).find_map(|later| {
                    let mut order = best.order.clone();
                    order[place..=later].rotate_right(1);
                    let timed = timed(&order);
                    if timed.time.total.0 > best_timed.time.total.0 - WORTH_IT_S || left == 0 {
                        return None;
                    }
                    left -= 1;
                    let cost = cost(objective, &problem.items, problem.max_flips(), &order)?;
                    within(&cost, &bound).then_some((order, cost, timed))
                })
            })
            .flatten();
        match better {
            // The same place again: what stands there now may have to wait as well.
            Some((order, cost, timed)) => {
                (best.order, best.cost, best_timed) = (order, cost, timed);
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
    timed: &Timed,
    before: usize,
    place: usize,
) -> bool {
    // Turns are acts of their own.
    let bench_steps = problem.bench_steps(order);
    let welds = (before..)
        .zip(bench_steps)
        .filter(|(_, step)| matches!(step, BenchStep::Weld { .. }));
    welds
        .map(|(at, _)| timed.waits[at].is_some())
        .nth(place)
        .unwrap_or(false)
}

/// What an order may cost to count as good as the one found. What is exact stays exact, and what beats every habit still
/// does.
fn bound(found: &Found, best_trade_order: Option<Cost>) -> Cost {
    let more = match found.method {
        Method::Exact => 1.0,
        Method::Search { .. } => (1.0 + AS_GOOD) * (1.0 + AS_GOOD),
    };
    let with_more = |score: u64, habit: Option<u64>| {
        let most = (score as f64 * more) as u64;
        most.min(habit.unwrap_or(most)).max(score)
    };
    Cost {
        peak: with_more(found.cost.peak, best_trade_order.map(|habit| habit.peak)),
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
