//! What the search tries, and that it never loses a weld.

use super::*;
use crate::sequence::balance::ShrinkageBalance;
use std::vec::Vec;

type Items<const N: usize> = [Item; N];

fn situation<'a, const N: usize>(
    objective: &'a ShrinkageBalance<'a, 1>,
    items: &'a Items<N>,
) -> Situation<'a, ShrinkageBalance<'a, 1>> {
    Situation {
        objective,
        items,
        done: const { &WeldSet::EMPTY },
        back_up: false,
        flips_left: 0,
        previous: None,
    }
}

/// Up to the first change, or to the end.
fn searched<const N: usize>(
    moments: [i32; N],
    items: &Items<N>,
    left: &[u8],
    to_the_end: bool,
) -> Replan<[i64; 1]> {
    let moments = moments.map(|moment| [moment]);
    let objective = ShrinkageBalance::new(&moments);
    let mut replan = Replan::idle();
    replan.begin(left);
    let begun = |replan: &Replan<_>| matches!(replan.phase, Phase::Changing { .. });
    while (to_the_end || !begun(&replan))
        && replan.step(&situation(&objective, items), &objective.start())
    {}
    replan
}

#[test]
fn a_change_moves_a_weld_either_way_swaps_two_or_reverses_a_run() {
    let mut random = Pcg32::new(1);
    let mut seen = Vec::new();
    for _ in 0..2000 {
        let mut order = [0, 1, 2, 3];
        change(&mut order, &mut random);
        let mut sorted = order;
        sorted.sort_unstable();
        assert_eq!(sorted, [0, 1, 2, 3], "{order:?}");
        seen.push(order);
    }
    for expected in [
        [1, 2, 3, 0],
        [3, 0, 1, 2],
        [3, 1, 2, 0],
        [3, 2, 1, 0],
        // Parts of the order too.
        [1, 2, 0, 3],
        [0, 3, 2, 1],
    ] {
        assert!(seen.contains(&expected), "{expected:?}");
    }
    change(&mut [], &mut random);
}

#[test]
fn with_no_weld_left_or_one_there_is_nothing_to_search() {
    for left in [&[][..], &[1]] {
        let mut replan = Replan::<[i64; 1]>::idle();
        replan.begin(left);
        assert!(replan.is_done());
        let found = searched([1, 2], &Items::default(), left, true);
        assert_eq!((found.order(), found.cost()), (left, Cost::WORST));
    }
}

/// The second and the third wait for one another: somebody made up the plan.
#[test]
fn an_order_that_the_rules_forbid_stays_as_it_was() {
    let mut items = Items::<3>::default();
    items[1].before = WeldSet::of(&[2]);
    items[2].before = WeldSet::of(&[1]);
    let found = searched([1, 2, 3], &items, &[0, 1, 2], true);
    assert_eq!((found.order(), found.cost()), (&[0, 1, 2][..], Cost::WORST));
}

/// Always the weld that leaves the frame nearest to balance is a good order, not the best.
#[test]
fn changes_find_a_better_order_than_the_nearest_to_balance_each_time() {
    let [nearest, changed] = [false, true].map(|to_the_end| {
        let moments = [6, -4, 3, 5, -7, -3];
        let left = [0, 1, 2, 3, 4, 5];
        searched(moments, &Items::default(), &left, to_the_end).cost()
    });
    assert!(changed < nearest, "{nearest:?} {changed:?}");
}

/// A plan is not changed for nothing.
#[test]
fn an_order_built_anew_that_is_no_better_does_not_replace_the_one_that_was() {
    let found = searched([1, 1, 1], &Items::default(), &[2, 1, 0], false);
    assert_eq!(found.order(), [2, 1, 0]);
}

/// Six welds that are all alike: whatever the search comes by, the order on the card is as good.
#[test]
fn an_order_that_is_only_as_good_does_not_replace_the_one_that_was() {
    for left in [[0, 1, 2, 3, 4, 5], [5, 3, 1, 0, 2, 4]] {
        let found = searched([1; 6], &Items::default(), &left, true);
        assert_eq!(found.order(), left);
    }
}

/// From an order to a better one the way may lead over some that are only as good: the search goes on from those.
#[test]
fn the_search_goes_on_from_an_order_that_is_as_good() {
    let found = searched([1; 6], &Items::default(), &[0, 1, 2, 3, 4, 5], true);
    assert_ne!(found.current, found.order);
}
