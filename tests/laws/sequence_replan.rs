//! The logger's new order for the welds left: complete, within its bound of steps, and nearly as good as the host's.

use coldsquare_core::sequence::balance::ShrinkageBalance;
use coldsquare_core::sequence::random::Pcg32;
use coldsquare_core::sequence::replan::{Replan, Situation};
use coldsquare_core::sequence::{Cost, Item, Objective, Side, Step, WeldSet};
use coldsquare_engine::plan::search::{Search, cost};

struct Case {
    items: Vec<Item>,
    moments: Vec<[i32; 7]>,
}

/// Welds at the corners and middles of a ring, front and back, some after others.
fn case(count: usize, seed: u64) -> Case {
    let mut random = Pcg32::new(seed);
    let part = |random: &mut Pcg32| random.below(2001) as i32 - 1000;
    let items = (0..count)
        .map(|k| Item {
            before: match k {
                k if k % 5 == 4 => WeldSet::of(&[k as u16 - 1]),
                _ => WeldSet::EMPTY,
            },
            side: [Side::Front, Side::Back, Side::Either][random.below(3)],
            at_mm: [part(&mut random), part(&mut random), 0],
        })
        .collect();
    let moments = (0..count)
        .map(|_| core::array::from_fn(|_| part(&mut random) * 1000))
        .collect();
    Case { items, moments }
}

fn replanned(case: &Case, max_flips: u16) -> (Vec<u8>, Cost, usize) {
    let balance = ShrinkageBalance::new(&case.moments);
    let situation = Situation {
        objective: &balance,
        items: &case.items,
        done: &WeldSet::EMPTY,
        back_up: false,
        flips_left: max_flips,
        previous: None,
    };
    let left: Vec<u8> = (0..case.items.len() as u8).collect();
    let mut replan = Replan::idle();
    replan.begin(&left);
    let mut steps = 1;
    while replan.step(&situation, &balance.start()) {
        steps += 1;
    }
    (replan.order().to_vec(), replan.cost(), steps)
}

#[test]
fn an_order_of_all_that_is_left_comes_out_within_the_steps_promised() {
    for (count, seed) in [(2, 1), (7, 2), (30, 3), (64, 4), (64, 5)] {
        let case = case(count, seed);
        let (order, found, steps) = replanned(&case, 3);
        // Simulate the order as it was, build one anew, and try 128 changes.
        let most = (count + 1) + count * (count + 1) + 1 + 128 * (count + 1);
        assert!(steps <= most, "{steps}");
        let mut sorted = order.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, (0..count as u8).collect::<Vec<_>>());
        let steps: Vec<Step> = order.iter().map(|k| Step::forward(u16::from(*k))).collect();
        let balance = ShrinkageBalance::new(&case.moments);
        assert_eq!(cost(&balance, &case.items, 3, &steps), Some(found));
    }
}

#[test]
fn it_is_not_far_behind_the_search_of_the_computer() {
    let mut worst = 0.0_f64;
    for seed in 10..30 {
        let case = case(24, seed);
        let (_, found, _) = replanned(&case, 3);
        let balance = ShrinkageBalance::new(&case.moments);
        let search = Search::building(&balance, &case.items, 3, 1);
        let mut search = search.expect("an order");
        search.run(20_000, |_| true);
        let best = search.best().1;
        assert_eq!(found.excess_flips, 0);
        worst = worst.max((found.peak as f64 / best.peak as f64).sqrt());
    }
    assert!(worst < 1.8, "peak {worst} times the computer's");
}

#[test]
fn what_must_come_first_comes_first_and_a_forbidden_order_is_replaced() {
    let mut case = case(6, 9);
    case.items[0].before = WeldSet::of(&[5]);
    let (order, found, _) = replanned(&case, 9);
    let place = |weld: u8| order.iter().position(|k| *k == weld);
    assert!(place(5) < place(0) && found < Cost::WORST, "{order:?}");
}
