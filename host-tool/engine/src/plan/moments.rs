//! Moments of welds about the frame's middle planes, for the shrinkage balance.
//!
//! A weld pulls in proportion to its heat at its distance from the middle planes. With ξ, η, ζ the distances to the
//! right, up and to the front, each divided by the greatest of any weld, the moments are heat times
//!
//! | factor | left unbalanced, it shows as |
//! |---|---|
//! | ξ, η | one side or end of the frame shortened more than the other |
//! | ζ | bow to the front or back |
//! | ½ξη | racking: one diagonal shortened more than the other |
//! | ½ξζ, ½ηζ | one side bowed to the front, the other to the back |
//! | ½ξηζ | twist |
//!
//! Balancing welds about the neutral axis is the trade's rule. Adding the products, and their weight of one half, is
//! our choice: it puts opposite corners before neighbouring ones. Common practice, no source.

use super::parts::PlannedPart;
use crate::job::model::{Job, Point};

/// Components of a moment.
pub const COMPONENTS: usize = 7;

/// Weight of the products.
const PRODUCT: f64 = 0.5;

/// A weld nearer to a middle plane than this lies on it, mm.
const NONE_MM: f64 = 0.5;

/// Where the middle planes cross: the mean of the members' middles, weighted by volume.
#[must_use]
pub(crate) fn neutral_point(job: &Job) -> Point {
    let (mut sum, mut volume) = (Point::default(), 0.0);
    for member in &job.members {
        let here = member.section.properties().area_mm2 * (member.to - member.from).length();
        sum = sum + (member.from + member.to) * (0.5 * here);
        volume += here;
    }
    if volume > 0.0 {
        sum * (1.0 / volume)
    } else {
        sum
    }
}

/// Distances of points from a centre along each axis, divided by the greatest of them: −1 to 1.
#[must_use]
pub(crate) fn levers(points: &[Point], centre: Point) -> Vec<[f64; 3]> {
    let away: Vec<[f64; 3]> = points.iter().map(|p| (*p - centre).into()).collect();
    let greatest = away.iter().fold([0.0_f64; 3], |so_far, one| {
        std::array::from_fn(|k| so_far[k].max(one[k].abs()))
    });
    let lever = |mm: f64, greatest: f64| {
        if greatest > NONE_MM {
            mm / greatest
        } else {
            0.0
        }
    };
    away.into_iter()
        .map(|one| std::array::from_fn(|k| lever(one[k], greatest[k])))
        .collect()
}

/// The moments of all parts, J, from the net heat of each weld, J/mm.
#[must_use]
pub(crate) fn moments(
    job: &Job,
    parts: &[PlannedPart],
    net_heat_j_per_mm: &[f64],
) -> Vec<[f64; COMPONENTS]> {
    let middles: Vec<Point> = parts.iter().map(PlannedPart::middle).collect();
    levers(&middles, neutral_point(job))
        .into_iter()
        .zip(parts)
        .map(|([x, y, z], part)| {
            let heat = net_heat_j_per_mm[part.weld] * part.length_mm();
            [
                x,
                y,
                z,
                PRODUCT * x * y,
                PRODUCT * x * z,
                PRODUCT * y * z,
                PRODUCT * x * y * z,
            ]
            .map(|factor| factor * heat)
        })
        .collect()
}

/// The largest component after [`whole_numbers`]: fine enough that nothing a meter can tell apart becomes equal, small
/// enough that the squares of [`MAX_WELDS`](coldsquare_core::sequence::MAX_WELDS) of them, summed over eight
/// components, fit 64 bits.
const FULL_SCALE: f64 = (1 << 20) as f64;

/// A moment that is not a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotFinite {
    /// Index of the item.
    pub weld: usize,
    /// Index of the component.
    pub component: usize,
}

/// Turns moments into counts, all by the same factor, so that sums are exact and ties are ties.
///
/// The components must be comparable with each other. Multiplying all moments by a positive number changes nothing.
///
/// # Errors
/// [`NotFinite`] with the first moment that is infinite or not a number.
pub fn whole_numbers<const K: usize>(moments: &[[f64; K]]) -> Result<Vec<[i32; K]>, NotFinite> {
    let mut greatest = 0.0_f64;
    for (weld, moment) in moments.iter().enumerate() {
        for (component, value) in moment.iter().enumerate() {
            if !value.is_finite() {
                return Err(NotFinite { weld, component });
            }
            greatest = greatest.max(value.abs());
        }
    }
    // Dividing first keeps very small and very large moments in range. `as` saturates and cannot overflow.
    let count = |value: f64| match greatest {
        0.0 => 0,
        _ => (value / greatest * FULL_SCALE).round() as i32,
    };
    Ok(moments.iter().map(|moment| moment.map(count)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use coldsquare_core::sequence::balance::ShrinkageBalance;
    use coldsquare_core::sequence::{Objective, Step};

    #[test]
    fn a_weld_and_its_mirror_image_cancel() {
        let whole = whole_numbers(&[[30.0, -1e-14], [-30.0, 1e-14]]).unwrap();
        assert_eq!(whole, [[1 << 20, 0], [-(1 << 20), 0]]);
        let balance = ShrinkageBalance::new(&whole);
        let mut state = balance.start();
        balance.apply(&mut state, Step::forward(0));
        assert_eq!(balance.score(&state), 1 << 40);
        balance.apply(&mut state, Step::forward(1));
        assert_eq!(balance.score(&state), 0);
    }

    #[test]
    fn what_is_no_number_is_named() {
        let found = whole_numbers(&[[1.0, 2.0], [0.0, f64::NAN]]);
        let (weld, component) = (1, 1);
        assert_eq!(found, Err(NotFinite { weld, component }));
        assert_eq!(whole_numbers(&[[0.0; 2]; 2]), Ok(vec![[0; 2]; 2]));
    }
}
