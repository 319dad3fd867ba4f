//! Improving an order of an invented frame whose welds stiffen it.

use super::super::{self as sequence, Side, WeldSet};
use super::*;
use std::vec::Vec;

/// Each item moves the frame the less, the more is done, and the other way when welded backwards.
struct Stiffening;

impl Foresee for Stiffening {
    type View = i64;

    fn view(&self, state: &Self::State) -> i64 {
        state.0
    }

    fn magnitude_of(&self, view: &i64) -> u64 {
        view.unsigned_abs()
    }

    /// What is done later does the same, for as many items are done.
    fn foreseen(&self, later: &i64, was: &i64, now: &i64) -> Option<i64> {
        Some(later - was + now)
    }
}

impl Assess for Stiffening {
    type State = (i64, i64);

    fn is_directed(&self, weld: u16) -> bool {
        weld.is_multiple_of(3)
    }

    fn start(&self) -> Self::State {
        (0, 2)
    }

    fn lay(&self, (sum, done): &mut Self::State, step: Step) {
        let pull = (i64::from(step.weld) * 7919) % 2001 - 1000;
        *sum += if step.reversed { -pull } else { pull } * 16 / *done;
        *done += 1;
    }

    fn magnitude(&self, (sum, _): &Self::State) -> u64 {
        sum.unsigned_abs()
    }
}

/// The same, seen darkly: nothing can be foreseen.
struct Blind;

impl Assess for Blind {
    type State = (i64, i64);

    fn is_directed(&self, weld: u16) -> bool {
        Stiffening.is_directed(weld)
    }

    fn start(&self) -> Self::State {
        Stiffening.start()
    }

    fn lay(&self, state: &mut Self::State, step: Step) {
        Stiffening.lay(state, step);
    }

    fn magnitude(&self, state: &Self::State) -> u64 {
        Stiffening.magnitude(state)
    }
}

impl Foresee for Blind {
    type View = i64;

    fn view(&self, state: &Self::State) -> i64 {
        state.0
    }

    fn magnitude_of(&self, view: &i64) -> u64 {
        view.unsigned_abs()
    }

    fn foreseen(&self, _: &i64, _: &i64, _: &i64) -> Option<i64> {
        None
    }
}

fn improved<A: Foresee, const KEPT: usize>(
    assess: &A,
    items: &[Item],
    begin: &[Step],
    trials: u64,
) -> (Vec<Step>, Cost, u64) {
    let mut orders = [(); 3].map(|()| std::vec![Step::default(); items.len()]);
    let mut passed = [(); 2].map(|()| std::vec![None; items.len()]);
    let space = Space {
        orders: orders.each_mut().map(Vec::as_mut_slice),
        passed: passed.each_mut().map(Vec::as_mut_slice),
    };
    let mut search = Improve::<_, KEPT>::from(assess, items, 2, 7, space, begin).expect("an order");
    search.run(trials, |_| true);
    let (order, cost) = search.best();
    assert_eq!(
        sequence::cost(assess, items, 2, order),
        Some(cost),
        "it costs what it says"
    );
    (order.to_vec(), cost, search.progress().climbs)
}

fn found<A: Foresee, const KEPT: usize>(assess: &A, count: u16) -> (Vec<Step>, Cost, u64) {
    let items: Vec<Item> = (0..count)
        .map(|k| Item {
            side: [Side::Front, Side::Back, Side::Either][usize::from(k) % 3],
            before: if k % 7 == 6 {
                WeldSet::of(&[k - 3])
            } else {
                WeldSet::EMPTY
            },
            at_mm: [i32::from(k) * 40, 0, 0],
            ..Item::default()
        })
        .collect();
    let mut begin: Vec<Step> = (0..count).map(Step::forward).collect();
    begin.sort_by_key(|step| step.weld % 3);
    let found = improved::<A, KEPT>(assess, &items, &begin, 3000);
    assert!(
        found
            .0
            .iter()
            .all(|step| !step.reversed || step.weld % 3 == 0)
    );
    found
}

#[test]
fn what_is_kept_and_foreseen_on_the_way_changes_nothing_but_the_time() {
    for count in [1, 2, 9, 40] {
        let plain = found::<_, 0>(&Blind, count);
        assert_eq!(plain, found::<_, 3>(&Stiffening, count));
        assert_eq!(plain, found::<_, 8>(&Stiffening, count));
    }
}

#[test]
fn what_is_found_is_much_better_than_what_was_given() {
    let items = std::vec![Item::default(); 40];
    let begin: Vec<Step> = (0..40).map(Step::forward).collect();
    let given = sequence::cost(&Stiffening, &items, 0, &begin).expect("an order");
    let (_, cost, _) = improved::<_, 4>(&Stiffening, &items, &begin, 2000);
    assert!(cost.peak < given.peak / 2);
}
