//! Finding an order for a given effort: exactly where there is room, otherwise by search.

use super::model::Method;
use super::parallel::{Parallel, Task};
use super::search::remembered::{AddEffects, Effects, Remembered};
use super::search::{
    DependsOnSetAlone, Improve, PredictChange, Progress, Search, SequenceError, Strategy, check,
    exact,
};
use coldsquare_core::sequence::{Cost, Item, Objective, Step, WeldSet};

/// How hard to try, and from which seed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Orders that a search tries.
    pub trials: u64,
    /// The same seed and trials give the same order.
    pub seed: u64,
}

/// An order that was found.
#[derive(Clone, Debug)]
pub struct Found {
    /// Steps, by index of the item.
    pub order: Vec<Step>,
    /// What it costs.
    pub cost: Cost,
    /// How it was found.
    pub method: Method,
}

/// Most memory that an exact answer may take: 32 MB.
const MAX_ENTRIES: usize = 1 << 22;

/// The exact order where there is room for it, its walking then shortened by search; otherwise by search alone.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub(crate) fn exactly_or_by_search<O: DependsOnSetAlone>(
    objective: &O,
    items: &[Item],
    max_flips: u16,
    effort: Effort,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    if exact::entries(items.len(), max_flips).is_none_or(|entries| entries > MAX_ENTRIES) {
        return by_search(objective, items, max_flips, effort, None, on_progress);
    }
    let (order, _) = exact::solve(objective, items, max_flips)?;
    let begin = Some(&order[..]);
    let shortened = by_search(objective, items, max_flips, effort, begin, on_progress)?;
    Ok(Found {
        method: Method::Exact,
        ..shortened
    })
}

/// The best order found by building and climbing, or by climbing from `begin` if that is better than the first built.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub(crate) fn by_search<O: Objective>(
    objective: &O,
    items: &[Item],
    max_flips: u16,
    effort: Effort,
    begin: Option<&[Step]>,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let mut search = Search::building(objective, items, max_flips, effort.seed)?;
    if let Some(begin) = begin {
        search.suggest(begin);
    }
    search.run(effort.trials, on_progress);
    Ok(best_of(&search))
}

/// Snapshots along an order that a costly search keeps.
const SNAPSHOTS: usize = 16;
/// Searches in parallel, each with a seed of its own. How good an order a search finds depends on its seed; the number
/// is fixed so that a plan does not depend on the computer.
const SEARCHES: usize = 4;

/// A search with an effort and a seed of its own, and what hears of its progress.
pub(crate) type OneSearch<'a> =
    &'a (dyn Fn(Effort, &mut dyn FnMut(&Progress) -> bool) -> Result<Found, SequenceError> + Sync);

/// The best order of parallel searches from different seeds; each has the trials of the whole effort.
///
/// # Errors
/// That of a search.
pub(crate) fn side_by_side(
    effort: Effort,
    search: OneSearch<'_>,
    parallel: &dyn Parallel,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let mut found = [(); SEARCHES].map(|()| None);
    let tasks = found.iter_mut().enumerate().map(|(k, found)| {
        let effort = Effort {
            // Far apart, so that no search repeats one of the next seed.
            seed: effort.seed.wrapping_add((k as u64) << 32),
            ..effort
        };
        let task: Task<'_> = Box::new(move |on_progress| {
            *found = Some(search(effort, on_progress));
        });
        task
    });
    let tasks = tasks.collect();
    let mut all = [Progress {
        trials: 0,
        climbs: 0,
        best: Cost::WORST,
    }; SEARCHES];
    parallel.run(tasks, &mut |k, progress| {
        all[k] = *progress;
        on_progress(&sum_of(&all))
    });
    best_of_all(found.into_iter().flatten().collect::<Result<_, _>>()?)
}

/// The best order of several searches; the first of equals.
fn best_of_all(found: Vec<Found>) -> Result<Found, SequenceError> {
    let trials = found.iter().map(|found| match found.method {
        Method::Search { trials } => trials,
        Method::Exact => 0,
    });
    let method = Method::Search {
        trials: trials.sum(),
    };
    let best = found.into_iter().min_by_key(|found| found.cost);
    best.map(|best| Found { method, ..best })
        .ok_or(SequenceError::Contradiction { weld: 0 })
}

/// How far searches have come together.
fn sum_of(all: &[Progress]) -> Progress {
    Progress {
        trials: all.iter().map(|one| one.trials).sum(),
        climbs: all.iter().map(|one| one.climbs).sum(),
        best: all.iter().map(|one| one.best).min().unwrap_or(Cost::WORST),
    }
}

/// The best order that one search finds from `begin`, where simulating a weld is costly.
///
/// # Errors
/// [`SequenceError`] when the rules do not allow `begin`.
pub fn by_one_costly_search<O: PredictChange>(
    objective: &O,
    items: &[Item],
    max_flips: u16,
    effort: Effort,
    begin: &[Step],
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let mut search = Search::<O, Improve<O, SNAPSHOTS>>::improving(
        objective,
        items,
        max_flips,
        effort.seed,
        begin,
    )?;
    search.run(effort.trials, on_progress);
    Ok(best_of(&search))
}

/// Orders that a search on remembered effects first tries before it simulates the best of them. The further it strays
/// from a simulated order, the less its sums hold: it tries half as many next time if that order was worse than the one
/// it began with, otherwise twice as many.
const FIRST_STRAY: u64 = 100;
/// The fewest that it tries in one go.
const LEAST_STRAY: u64 = 20;
/// The most that it tries in one go.
const MOST_STRAY: u64 = 4000;

/// The best order that a search on remembered effects finds from `begin`, simulated and learned from every so often.
///
/// # Errors
/// [`SequenceError`] when the rules do not allow `begin`.
pub(crate) fn by_remembered_effects<O: AddEffects>(
    objective: &O,
    items: &[Item],
    max_flips: u16,
    Effort { trials, seed }: Effort,
    begin: &[Step],
    effects: &Effects,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let forbidden = SequenceError::Contradiction {
        weld: begin.first().map_or(0, |step| step.weld),
    };
    let mut effects = effects.clone();
    let learned = effects.learn(objective, items, max_flips, begin);
    let (mut best, mut cost) = (begin.to_vec(), learned.ok_or(forbidden)?);
    let untouched = objective.view(&objective.start());
    let (mut tried, mut stray, mut go_on) = (0, FIRST_STRAY, true);
    while tried < trials && go_on {
        let remembered = Remembered {
            objective,
            effects: &effects,
            untouched: &untouched,
        };
        let effort = Effort {
            trials: stray.min(trials - tried),
            // Every round strays another way.
            seed: seed.wrapping_add(tried),
        };
        let mut report = |progress: &Progress| {
            go_on = on_progress(&Progress {
                trials: tried + progress.trials,
                best: cost,
                ..*progress
            });
            go_on
        };
        let order =
            by_one_costly_search(&remembered, items, max_flips, effort, &best, &mut report)?.order;
        tried += effort.trials;
        let mut is_better = true;
        if order != best {
            let earlier = effects.clone();
            let found = effects.learn(objective, items, max_flips, &order);
            match found.filter(|found| *found < cost) {
                Some(found) => (best, cost) = (order, found),
                None => {
                    effects.recall(&earlier, &best);
                    is_better = false;
                }
            }
        }
        stray = if is_better { 2 * stray } else { stray / 2 }.clamp(LEAST_STRAY, MOST_STRAY);
    }
    Ok(Found {
        order: best,
        cost,
        method: Method::Search { trials: tried },
    })
}

fn best_of<O: Objective, S: Strategy<O>>(search: &Search<'_, O, S>) -> Found {
    let (order, cost) = search.best();
    Found {
        order: order.to_vec(),
        cost,
        method: Method::Search {
            trials: search.progress().trials,
        },
    }
}

/// The items by rank, each as soon as the rules allow it.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub(crate) fn by_rules(items: &[Item], ranked: &[u16]) -> Result<Vec<Step>, SequenceError> {
    check(items)?;
    let mut done = WeldSet::EMPTY;
    let mut order = Vec::with_capacity(items.len());
    while let Some(&next) = ranked
        .iter()
        .find(|k| !done.contains(**k) && items[usize::from(**k)].before.is_subset_of(&done))
    {
        done.insert(next);
        order.push(Step::forward(next));
    }
    Ok(order)
}
