//! Heat moments about the frame's neutral axes: the assessor that needs nothing but volts, amps and a drawing.
//!
//! A weld pulls on the frame with a force that grows with its heat, at its distance from the neutral axis. Welds on
//! opposite sides of the axis cancel; an order is good when the sum never strays far from zero. This is the trade's
//! rule of welding on alternate sides of the neutral axis (*The Procedure Handbook of Arc Welding*, Lincoln Electric,
//! chapter on distortion; cited from memory) made into a number.

use super::{Assess, DependsOnSetAlone, Step};

/// The largest component after [`whole_numbers`]: fine enough that nothing a meter can tell apart becomes equal, small
/// enough that [`super::MOST_WELDS`] of them, squared and summed over eight components, fit 64 bits.
const FULL_SCALE: f64 = (1 << 20) as f64;

/// Most components of a moment.
pub const MOST_COMPONENTS: usize = 8;

/// A moment that is not a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotFinite {
    /// Index of the item.
    pub weld: usize,
    /// Index of the component.
    pub component: usize,
}

/// Turns moments into whole numbers, all by the same factor, so that sums are exact and ties are ties.
///
/// The components must be comparable with each other. Multiplying all moments by a positive number changes nothing.
/// Gives the moment that one count stands for (0 when all are 0). Entries are filled as far as both slices reach.
///
/// # Errors
/// [`NotFinite`] with the first moment that is infinite or not a number.
pub fn whole_numbers<const K: usize>(
    moments: &[[f64; K]],
    into: &mut [[i32; K]],
) -> Result<f64, NotFinite> {
    let mut greatest = 0.0_f64;
    for (weld, moment) in moments.iter().enumerate() {
        for (component, value) in moment.iter().enumerate() {
            if !value.is_finite() {
                return Err(NotFinite { weld, component });
            }
            greatest = greatest.max(value.abs());
        }
    }
    for (whole, moment) in into.iter_mut().zip(moments) {
        for (count, value) in whole.iter_mut().zip(moment) {
            // Dividing first keeps very small and very large moments in range. `as` saturates and cannot overflow.
            let share = if greatest > 0.0 {
                value / greatest
            } else {
                0.0
            };
            *count = libm::round(share * FULL_SCALE) as i32;
        }
    }
    Ok(greatest / FULL_SCALE)
}

/// Balances moments of `K` components, at most [`MOST_COMPONENTS`]. The state is `8·K` bytes.
#[derive(Clone, Copy, Debug)]
pub struct Balance<'a, const K: usize> {
    moments: &'a [[i32; K]],
}

impl<'a, const K: usize> Balance<'a, K> {
    const FITS: () = assert!(K <= MOST_COMPONENTS, "too many components");

    /// From the moments of the items, by index, as [`whole_numbers`] gives them.
    #[must_use]
    pub const fn new(moments: &'a [[i32; K]]) -> Self {
        let () = Self::FITS;
        Self { moments }
    }
}

impl<const K: usize> Assess for Balance<'_, K> {
    type State = [i64; K];

    fn start(&self) -> Self::State {
        [0; K]
    }

    fn lay(&self, state: &mut Self::State, step: Step) {
        if let Some(moment) = self.moments.get(usize::from(step.weld)) {
            for (sum, &part) in state.iter_mut().zip(moment) {
                *sum = sum.saturating_add(i64::from(part));
            }
        }
    }

    /// The square of the length of the summed moment, in counts squared.
    fn magnitude(&self, state: &Self::State) -> u64 {
        state.iter().fold(0, |sum, part| {
            let part = part.unsigned_abs();
            sum.saturating_add(part.saturating_mul(part))
        })
    }
}

impl<const K: usize> DependsOnSetAlone for Balance<'_, K> {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weld_and_its_mirror_image_cancel() {
        let mut whole = [[0; 2]; 2];
        let unit = whole_numbers(&[[30.0, -1e-14], [-30.0, 1e-14]], &mut whole).unwrap();
        assert_eq!(whole, [[1 << 20, 0], [-(1 << 20), 0]]);
        assert!((unit * FULL_SCALE - 30.0).abs() < 1e-12);
        let balance = Balance::new(&whole);
        let mut state = balance.start();
        balance.lay(&mut state, Step::forward(0));
        assert_eq!(balance.magnitude(&state), 1 << 40);
        balance.lay(&mut state, Step::forward(1));
        assert_eq!(balance.magnitude(&state), 0);
    }

    #[test]
    fn what_is_no_number_is_named() {
        let mut whole = [[7; 2]; 2];
        let found = whole_numbers(&[[1.0, 2.0], [0.0, f64::NAN]], &mut whole);
        assert_eq!(
            found,
            Err(NotFinite {
                weld: 1,
                component: 1
            })
        );
        assert_eq!(whole_numbers(&[[0.0; 2]; 2], &mut whole), Ok(0.0));
        assert_eq!(whole, [[0; 2]; 2]);
    }
}
