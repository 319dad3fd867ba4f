//! Heat moments about the frame's neutral axes.
//!
//! A weld pulls in proportion to its heat at its distance from the neutral axes. With ξ, η, ζ the distances to the
//! right, up and to the front, each divided by the greatest of any weld, the moments are heat times
//!
//! | factor | left unbalanced, it shows as |
//! |---|---|
//! | ξ, η | one side or end of the frame shortened more than the other |
//! | ζ | bow to the front or back |
//! | ½ξη | racking: one diagonal shortened more than the other |
//! | ½ξζ, ½ηζ | one side bowed to the front, the other to the back |
//! | ½ξηζ | wind |
//!
//! That welds should balance about the neutral axis is the trade's rule. Adding the products, and their weight of one
//! half, is our choice: with it opposite corners come before neighbouring ones. Common practice, no source.

use super::pieces::WeldPiece;
use crate::job::model::{Job, Point};

/// Components of a moment.
pub const COMPONENTS: usize = 7;

/// Weight of the products.
const PRODUCT: f64 = 0.5;

/// Distances to the neutral axes below this are none, mm.
const NONE_MM: f64 = 0.5;

/// Where the neutral axes cross: the mean of the members' middles by their volume.
#[must_use]
pub fn neutral_point(job: &Job) -> Point {
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

/// Distances of points from a centre, along each axis divided by the greatest of them: −1 to 1.
#[must_use]
pub fn levers(points: &[Point], centre: Point) -> Vec<[f64; 3]> {
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

/// The moments of all pieces, J, from the net heat of each weld, J/mm.
#[must_use]
pub fn moments(
    job: &Job,
    pieces: &[WeldPiece],
    net_heat_j_per_mm: &[f64],
) -> Vec<[f64; COMPONENTS]> {
    let middles: Vec<Point> = pieces.iter().map(WeldPiece::middle).collect();
    levers(&middles, neutral_point(job))
        .into_iter()
        .zip(pieces)
        .map(|([x, y, z], piece)| {
            let heat = net_heat_j_per_mm[piece.weld] * piece.length_mm();
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
