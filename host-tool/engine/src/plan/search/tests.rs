//! Improving an order of an invented frame that stiffens as it is welded.

use super::*;
use coldsquare_core::sequence::{Side, WeldSet};

/// Each item moves the frame the less, the more is done, and the other way when welded backwards.
struct Stiffening;

impl PredictChange for Stiffening {
    type View = i64;

    fn view(&self, state: &Self::State) -> i64 {
        state.0
    }

    fn score_of(&self, view: &i64) -> u64 {
        view.unsigned_abs()
    }

    /// What is done later does the same, for as many items are done.
    fn predict_after_change(&self, later: &i64, was: &i64, now: &i64) -> Option<i64> {
        Some(later - was + now)
    }
}

impl Objective for Stiffening {
    type State = (i64, i64);

    fn is_directed(&self, weld: u16) -> bool {
        weld.is_multiple_of(3)
    }

    fn start(&self) -> Self::State {
        (0, 2)
    }

    fn apply(&self, (sum, done): &mut Self::State, step: Step) {
        let pull = (i64::from(step.weld) * 7919) % 2001 - 1000;
        *sum += if step.reversed { -pull } else { pull } * 16 / *done;
        *done += 1;
    }

    fn score(&self, (sum, _): &Self::State) -> u64 {
        sum.unsigned_abs()
    }
}

/// The same, but nothing can be predicted.
struct Blind;

impl Objective for Blind {
    type State = (i64, i64);

    fn is_directed(&self, weld: u16) -> bool {
        Stiffening.is_directed(weld)
    }

    fn start(&self) -> Self::State {
        Stiffening.start()
    }

    fn apply(&self, state: &mut Self::State, step: Step) {
        Stiffening.apply(state, step);
    }

    fn score(&self, state: &Self::State) -> u64 {
        Stiffening.score(state)
    }
}

impl PredictChange for Blind {
    type View = i64;

    fn view(&self, state: &Self::State) -> i64 {
        state.0
    }

    fn score_of(&self, view: &i64) -> u64 {
        view.unsigned_abs()
    }

    fn predict_after_change(&self, _: &i64, _: &i64, _: &i64) -> Option<i64> {
        None
    }
}

fn improved<A: PredictChange, const KEPT: usize>(
    objective: &A,
    items: &[Item],
    begin: &[Step],
    trials: u64,
) -> (Vec<Step>, Cost, u64) {
    let search = Search::<A, Improve<A, KEPT>>::improving(objective, items, 2, 7, begin);
    let mut search = search.expect("an order");
    search.run(trials, |_| true);
    let (order, found) = search.best();
    assert_eq!(
        cost(objective, items, 2, order),
        Some(found),
        "it costs what it says"
    );
    (order.to_vec(), found, search.progress().climbs)
}

fn found<A: PredictChange, const KEPT: usize>(objective: &A, count: u16) -> (Vec<Step>, Cost, u64) {
    let items: Vec<Item> = (0..count)
        .map(|k| Item {
            side: [Side::Front, Side::Back, Side::Either][usize::from(k) % 3],
            before: if k % 7 == 6 {
                WeldSet::of(&[k - 3])
            } else {
                WeldSet::EMPTY
            },
            at_mm: [i32::from(k) * 40, 0, 0],
        })
        .collect();
    let mut begin: Vec<Step> = (0..count).map(Step::forward).collect();
    begin.sort_by_key(|step| step.weld % 3);
    let found = improved::<A, KEPT>(objective, &items, &begin, 3000);
    assert!(
        found
            .0
            .iter()
            .all(|step| !step.reversed || step.weld % 3 == 0)
    );
    found
}

#[test]
fn snapshots_and_predictions_change_nothing_but_the_time() {
    for count in [1, 2, 9, 40] {
        let plain = found::<_, 0>(&Blind, count);
        assert_eq!(plain, found::<_, 3>(&Stiffening, count));
        assert_eq!(plain, found::<_, 8>(&Stiffening, count));
    }
}

#[test]
fn what_is_found_is_much_better_than_what_was_given() {
    let items = vec![Item::default(); 40];
    let begin: Vec<Step> = (0..40).map(Step::forward).collect();
    let given = cost(&Stiffening, &items, 0, &begin).expect("an order");
    let (_, found, _) = improved::<_, 4>(&Stiffening, &items, &begin, 2000);
    assert!(found.peak < given.peak / 2);
}
