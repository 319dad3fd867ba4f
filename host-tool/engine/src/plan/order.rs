//! The two ways to an order, with working space of their own.

use super::model::Method;
use super::side_by_side::{Search as Task, SideBySide};
use coldsquare_core::sequence::improve::{Foresee, Improve, Space};
use coldsquare_core::sequence::search::{Progress, Search};
use coldsquare_core::sequence::{
    Assess, Cost, DependsOnSetAlone, Item, SequenceError, Step, exact, rules,
};

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

/// Most working space that an exact answer may take: 32 MB.
const MOST_ENTRIES: usize = 1 << 22;

/// The exact order where there is room for it, with the walking then shortened by search; otherwise by search alone.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn exactly_or_by_search<A: DependsOnSetAlone>(
    assess: &A,
    items: &[Item],
    most_turns: u16,
    effort: Effort,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let entries = exact::scratch_needed(items.len(), most_turns).filter(|n| *n <= MOST_ENTRIES);
    let Some(entries) = entries else {
        return by_search(assess, items, most_turns, effort, None, keep_going);
    };
    let (mut scratch, mut order) = (vec![0; entries], vec![Step::default(); items.len()]);
    exact::solve(assess, items, most_turns, &mut scratch, &mut order)?;
    let shortened = by_search(assess, items, most_turns, effort, Some(&order), keep_going)?;
    Ok(Found {
        method: Method::Exact,
        ..shortened
    })
}

/// The best order that a search finds, starting from `start` where that is given.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn by_search<A: Assess>(
    assess: &A,
    items: &[Item],
    most_turns: u16,
    effort: Effort,
    start: Option<&[Step]>,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let mut orders = [(); 3].map(|()| vec![Step::default(); items.len()]);
    let slices = orders.each_mut().map(Vec::as_mut_slice);
    let mut search = Search::new(assess, items, most_turns, effort.seed, slices)?;
    if let Some(start) = start {
        search.suggest(start);
    }
    search.run(effort.trials, keep_going);
    let (order, cost) = search.best();
    Ok(Found {
        order: order.to_vec(),
        cost,
        method: Method::Search {
            trials: search.progress().trials,
        },
    })
}

/// Places along an order that a costly search keeps.
const KEPT: usize = 16;
/// Searches side by side, each with a seed of its own and a core of its own where there is one. How good a search comes
/// out depends on its seed; the number is fixed so that a plan does not depend on the computer.
const SIDE_BY_SIDE: usize = 4;

/// The best order that searches side by side find from `begin`, where laying a weld is costly; each has the trials of
/// the whole effort.
///
/// # Errors
/// [`SequenceError`] when the rules do not allow `begin`.
pub fn by_costly_search<A: Foresee + Sync>(
    assess: &A,
    items: &[Item],
    most_turns: u16,
    effort: Effort,
    begin: &[Step],
    side_by_side: &dyn SideBySide,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let mut found = [(); SIDE_BY_SIDE].map(|()| None);
    let searches = found.iter_mut().enumerate().map(|(k, found)| {
        let effort = Effort {
            // Far apart, so that no search repeats one of the next seed.
            seed: effort.seed.wrapping_add((k as u64) << 32),
            ..effort
        };
        let search: Task<'_> = Box::new(move |go_on| {
            *found = Some(by_one_costly_search(
                assess, items, most_turns, effort, begin, go_on,
            ));
        });
        search
    });
    let searches = searches.collect();
    let mut all = [Progress {
        trials: 0,
        climbs: 0,
        best: Cost::WORST,
    }; SIDE_BY_SIDE];
    side_by_side.run(searches, &mut |k, progress| {
        all[k] = *progress;
        keep_going(&taken_together(&all))
    });
    let found: Vec<Found> = found.into_iter().flatten().collect::<Result<_, _>>()?;
    let trials = found.iter().map(|found| match found.method {
        Method::Search { trials } => trials,
        Method::Exact => 0,
    });
    let trials = trials.sum();
    // Of those as good the first.
    let best = found.into_iter().min_by_key(|found| found.cost);
    best.map(|best| Found {
        method: Method::Search { trials },
        ..best
    })
    .ok_or(SequenceError::Contradiction { weld: 0 })
}

/// How far searches have come together.
fn taken_together(all: &[Progress]) -> Progress {
    Progress {
        trials: all.iter().map(|one| one.trials).sum(),
        climbs: all.iter().map(|one| one.climbs).sum(),
        best: all.iter().map(|one| one.best).min().unwrap_or(Cost::WORST),
    }
}

/// The best order that one search finds from `begin`, where laying a weld is costly.
///
/// # Errors
/// [`SequenceError`] when the rules do not allow `begin`.
pub fn by_one_costly_search<A: Foresee>(
    assess: &A,
    items: &[Item],
    most_turns: u16,
    effort: Effort,
    begin: &[Step],
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Found, SequenceError> {
    let mut orders = [(); 3].map(|()| vec![Step::default(); items.len()]);
    let slices = orders.each_mut().map(Vec::as_mut_slice);
    let mut passed = [(); 2].map(|()| vec![None; items.len()]);
    let space = Space {
        orders: slices,
        passed: passed.each_mut().map(Vec::as_mut_slice),
    };
    let mut search =
        Improve::<A, KEPT>::from(assess, items, most_turns, effort.seed, space, begin)?;
    search.run(effort.trials, keep_going);
    let (order, cost) = search.best();
    Ok(Found {
        order: order.to_vec(),
        cost,
        method: Method::Search {
            trials: search.progress().trials,
        },
    })
}

/// The items by rank, each as soon as the rules allow it.
///
/// # Errors
/// [`SequenceError`] when the rules allow no order.
pub fn by_rules(items: &[Item], ranked: &[u16]) -> Result<Vec<Step>, SequenceError> {
    rules::check(items)?;
    let mut done = coldsquare_core::sequence::WeldSet::EMPTY;
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
