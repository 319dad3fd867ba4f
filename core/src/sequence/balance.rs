//! Shrinkage balance: the objective that needs nothing but volts, amps and a drawing.
//!
//! A weld pulls on the frame with a force that grows with its heat, at its distance from the frame's middle planes:
//! heat times distance is its moment. Welds on opposite sides cancel; an order is good when the sum never strays far
//! from zero. This is the trade's rule of welding on alternate sides of the neutral axis (*The Procedure Handbook of
//! Arc Welding*, Lincoln Electric, chapter on distortion; cited from memory) made into a number.

use super::{Objective, Step};

/// Most components of a moment.
pub const MAX_COMPONENTS: usize = 8;

/// Scores the sum of moments of `K` components, at most [`MAX_COMPONENTS`]. The state is `8·K` bytes.
#[derive(Clone, Copy, Debug)]
pub struct ShrinkageBalance<'a, const K: usize> {
    moments: &'a [[i32; K]],
}

impl<'a, const K: usize> ShrinkageBalance<'a, K> {
    const FITS: () = assert!(K <= MAX_COMPONENTS, "too many components");

    /// From the moments of the items, by index, in counts of one unit, each within ± 2²⁰.
    #[must_use]
    pub const fn new(moments: &'a [[i32; K]]) -> Self {
        let () = Self::FITS;
        Self { moments }
    }
}

impl<const K: usize> Objective for ShrinkageBalance<'_, K> {
    type State = [i64; K];

    fn start(&self) -> Self::State {
        [0; K]
    }

    fn apply(&self, state: &mut Self::State, step: Step) {
        if let Some(moment) = self.moments.get(usize::from(step.weld)) {
            for (sum, &part) in state.iter_mut().zip(moment) {
                *sum = sum.saturating_add(i64::from(part));
            }
        }
    }

    /// The square of the length of the summed moment, in counts squared.
    fn score(&self, state: &Self::State) -> u64 {
        state.iter().fold(0, |sum, part| {
            let part = part.unsigned_abs();
            sum.saturating_add(part.saturating_mul(part))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weld_and_its_mirror_image_cancel() {
        let balance = ShrinkageBalance::new(&[[1 << 20, 0], [-(1 << 20), 0]]);
        let mut state = balance.start();
        balance.apply(&mut state, Step::forward(0));
        assert_eq!(balance.score(&state), 1 << 40);
        balance.apply(&mut state, Step::forward(1));
        assert_eq!(balance.score(&state), 0);
    }
}
