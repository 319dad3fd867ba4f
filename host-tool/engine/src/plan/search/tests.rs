//! Improving an order of an invented frame that stiffens as it is welded.

use super::remembered::{AddEffects, Effects, Remembered};
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

/// Two items at each joint: the second moves the frame a quarter as far as it would have as the first.
struct Joints;

impl Objective for Joints {
    type State = (f64, WeldSet);

    fn start(&self) -> Self::State {
        (0.0, WeldSet::EMPTY)
    }

    fn apply(&self, (sum, done): &mut Self::State, step: Step) {
        let pull = f64::from((i32::from(step.weld) * 7919) % 2001 - 1000);
        let is_second = done.contains(step.weld ^ 1);
        *sum += if is_second { pull / 4.0 } else { pull };
        done.insert(step.weld);
    }

    fn score(&self, (sum, _): &Self::State) -> u64 {
        (4.0 * sum.abs()) as u64
    }
}

impl PredictChange for Joints {
    type View = [f64; 1];

    fn view(&self, (sum, _): &Self::State) -> [f64; 1] {
        [*sum]
    }

    fn score_of(&self, [sum]: &[f64; 1]) -> u64 {
        (4.0 * sum.abs()) as u64
    }

    fn predict_after_change(
        &self,
        [later]: &[f64; 1],
        [was]: &[f64; 1],
        [now]: &[f64; 1],
    ) -> Option<[f64; 1]> {
        Some([later - was + now])
    }
}

impl AddEffects for Joints {
    fn numbers<'v>(&self, view: &'v [f64; 1]) -> &'v [f64] {
        view
    }

    fn add(&self, view: &mut [f64; 1], effect: &[f64]) {
        view[0] += effect[0];
    }
}

#[test]
fn what_depends_on_the_joint_alone_is_remembered_without_error() {
    let items = vec![Item::default(); 40];
    let mut effects = Effects::new((0..40).map(|k| vec![k ^ 1]).collect());
    let forward: Vec<Step> = (0..40).map(Step::forward).collect();
    let backward: Vec<Step> = forward.iter().rev().copied().collect();
    for order in [&forward, &backward] {
        let learned = effects.learn(&Joints, &items, 0, order);
        assert_eq!(learned, cost(&Joints, &items, 0, order));
    }
    let remembered = Remembered {
        objective: &Joints,
        effects: &effects,
        untouched: &[0.0],
    };
    let (begin, (order, found, _)) = (
        cost(&Joints, &items, 2, &forward).expect("an order"),
        improved::<_, 4>(&remembered, &items, &forward, 2000),
    );
    assert_eq!(cost(&Joints, &items, 2, &order), Some(found));
    assert!(found.peak < begin.peak / 2);
}
