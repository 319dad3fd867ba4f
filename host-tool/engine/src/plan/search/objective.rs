//! What the host asks of an objective beyond [`Objective`], and what an order costs by it.

use coldsquare_core::sequence::{Cost, Item, Objective, Step, Tally, WeldSet};

/// A promise: the score depends on which items are done, not on their order or direction.
///
/// It makes an exact answer possible ([`exact`](super::exact)).
pub trait DependsOnSetAlone: Objective {}

impl<const K: usize> DependsOnSetAlone
    for coldsquare_core::sequence::balance::ShrinkageBalance<'_, K>
{
}

/// An objective that predicts what a change in the middle of an order does to the rest of it.
pub trait PredictChange: Objective {
    /// What the score of a frame is made of.
    type View: Clone;

    /// [`Objective::start`], prepared so that steps in nearly this order apply fast.
    fn start_towards(&self, expected: &[Step]) -> Self::State {
        let _ = expected;
        self.start()
    }

    /// The view of a frame.
    fn view(&self, state: &Self::State) -> Self::View;

    /// The score of a view: [`Objective::score`] of its frame.
    fn score_of(&self, view: &Self::View) -> u64;

    /// The view later in an order once a change earlier in it has made the view `after` there instead of `before`.
    /// `later` is the view without the change; the same items are done in each. `None` when it cannot be predicted.
    fn predict_after_change(
        &self,
        later: &Self::View,
        before: &Self::View,
        after: &Self::View,
    ) -> Option<Self::View>;
}

/// Scores nothing: for what an order costs in flips and walking alone.
#[derive(Clone, Copy, Debug)]
pub struct NoObjective;

impl Objective for NoObjective {
    type State = ();

    fn start(&self) {}

    fn apply(&self, (): &mut (), _: Step) {}

    fn score(&self, (): &()) -> u64 {
        0
    }
}

/// What a complete order costs; `None` when it is not complete or the rules forbid it.
pub fn cost<O: Objective>(
    objective: &O,
    items: &[Item],
    max_flips: u16,
    order: &[Step],
) -> Option<Cost> {
    cost_within(objective, items, max_flips, order, &Cost::WORST).map(|(cost, _)| cost)
}

/// What a complete order costs, and the step after which its peak is first met; `None` when the rules forbid it or it
/// is certain to be worse than `bound`.
pub(super) fn cost_within<O: Objective>(
    objective: &O,
    items: &[Item],
    max_flips: u16,
    order: &[Step],
    bound: &Cost,
) -> Option<(Cost, usize)> {
    if order.len() != items.len() {
        return None;
    }
    let mut tally = Tally::new(WeldSet::EMPTY, false, None);
    let (mut state, mut peak_after) = (objective.start(), 0);
    for &step in order {
        if !tally.add(items, max_flips, step.weld) {
            return None;
        }
        objective.apply(&mut state, step);
        let peak_before = tally.cost().peak;
        tally.note_score(objective.score(&state));
        if tally.cost().peak > peak_before {
            peak_after = tally.steps();
        }
        if tally.cost().exceeds(bound) {
            return None;
        }
    }
    Some((*tally.cost(), peak_after))
}
