//! Orders scored by what each item did when other orders were simulated.
//!
//! Where there are hundreds of items, simulating an order takes tens of milliseconds, and a search can afford too few.
//! What an item does to the frame depends most on which of its *mates*, the items at the same joint, are done before it,
//! and less on the rest of the frame. So what it did is remembered by item, direction and mates done, and an order is
//! scored by adding up. A change that hardly alters who comes before whom at a joint is scored nearly right.
//!
//! That is for searching only: simulate the order found, and learn from it.

use super::PredictChange;
use coldsquare_core::sequence::{Cost, Item, Objective, Step, Tally, WeldSet};
use std::collections::BTreeMap;
use std::sync::Arc;

/// An objective whose view is made of numbers to which each item adds.
pub trait AddEffects: PredictChange {
    /// The numbers of a view.
    fn numbers<'v>(&self, view: &'v Self::View) -> &'v [f64];

    /// Adds an item, and what it adds to each number.
    fn add(&self, view: &mut Self::View, effect: &[f64]);
}

/// What is remembered by: the direction, and which of its mates were done before, as bits.
type Context = (bool, u8);

/// What items did when orders were simulated.
#[derive(Clone, Debug)]
pub struct Effects {
    /// The mates of each item, by index.
    mates: Vec<Vec<u16>>,
    /// What each item added to the numbers of the view, the last time it was seen in a context.
    seen: Vec<BTreeMap<Context, Arc<[f64]>>>,
}

impl Effects {
    /// Nothing is remembered yet. `mates` are those of each item, at most eight.
    #[must_use]
    pub fn new(mates: Vec<Vec<u16>>) -> Self {
        let seen = vec![BTreeMap::new(); mates.len()];
        Self { mates, seen }
    }

    fn context(&self, step: Step, done: &WeldSet) -> Context {
        let mates = self.mates[usize::from(step.weld)].iter().enumerate();
        let bits = mates.map(|(k, mate)| u8::from(done.contains(*mate)) << k);
        (step.reversed, bits.fold(0, |sum, bit| sum | bit))
    }

    /// What an item is expected to add: what it did in the same context, or else in the one most like it.
    fn expected(&self, step: Step, done: &WeldSet) -> Option<&[f64]> {
        let (seen, wanted) = (&self.seen[usize::from(step.weld)], self.context(step, done));
        if let Some(effect) = seen.get(&wanted) {
            return Some(effect);
        }
        let unlike = |context: &Context| {
            (
                (context.1 ^ wanted.1).count_ones(),
                context.0 != wanted.0,
                *context,
            )
        };
        let nearest = seen.iter().min_by_key(|(context, _)| unlike(context));
        nearest.map(|(_, effect)| &**effect)
    }

    /// Takes back what the items of an order did from what was remembered earlier.
    pub fn recall(&mut self, earlier: &Self, order: &[Step]) {
        let mut done = WeldSet::EMPTY;
        for &step in order {
            let (item, context) = (usize::from(step.weld), self.context(step, &done));
            if let Some(effect) = earlier.seen[item].get(&context) {
                self.seen[item].insert(context, Arc::clone(effect));
            }
            done.insert(step.weld);
        }
    }

    /// Simulates an order and remembers what each item does; `None` when the rules forbid the order.
    pub fn learn<O: AddEffects>(
        &mut self,
        objective: &O,
        items: &[Item],
        max_flips: u16,
        order: &[Step],
    ) -> Option<Cost> {
        let mut tally = Tally::new(WeldSet::EMPTY, false, None);
        let mut state = objective.start_towards(order);
        let mut before = objective.view(&state);
        let mut done = WeldSet::EMPTY;
        for &step in order {
            if !tally.add(items, max_flips, step.weld) {
                return None;
            }
            objective.apply(&mut state, step);
            let after = objective.view(&state);
            let both = objective.numbers(&after).iter();
            let effect = both.zip(objective.numbers(&before)).map(|(a, b)| a - b);
            let context = self.context(step, &done);
            self.seen[usize::from(step.weld)].insert(context, effect.collect());
            tally.note_score(objective.score_of(&after));
            done.insert(step.weld);
            before = after;
        }
        (order.len() == items.len()).then_some(*tally.cost())
    }
}

/// Scores orders by what is remembered.
pub struct Remembered<'a, O: AddEffects> {
    /// Knows what a view is worth.
    pub objective: &'a O,
    /// What is remembered.
    pub effects: &'a Effects,
    /// The frame before the first item.
    pub untouched: &'a O::View,
}

/// A frame added up.
#[derive(Clone, Debug)]
pub struct Sum<V> {
    view: V,
    done: WeldSet,
}

impl<O: AddEffects> Objective for Remembered<'_, O> {
    type State = Sum<O::View>;

    fn is_directed(&self, weld: u16) -> bool {
        self.objective.is_directed(weld)
    }

    fn start(&self) -> Self::State {
        Sum {
            view: self.untouched.clone(),
            done: WeldSet::EMPTY,
        }
    }

    fn apply(&self, sum: &mut Self::State, step: Step) {
        if let Some(effect) = self.effects.expected(step, &sum.done) {
            self.objective.add(&mut sum.view, effect);
        }
        sum.done.insert(step.weld);
    }

    fn score(&self, sum: &Self::State) -> u64 {
        self.objective.score_of(&sum.view)
    }
}

impl<O: AddEffects> PredictChange for Remembered<'_, O> {
    type View = O::View;

    fn view(&self, sum: &Self::State) -> O::View {
        sum.view.clone()
    }

    fn score_of(&self, view: &O::View) -> u64 {
        self.objective.score_of(view)
    }

    /// Behind a change the same items are done, so each item does what it did without it.
    fn predict_after_change(
        &self,
        later: &O::View,
        before: &O::View,
        after: &O::View,
    ) -> Option<O::View> {
        self.objective.predict_after_change(later, before, after)
    }
}
