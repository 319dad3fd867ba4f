//! Orders that shops use without thinking, to compare with.

use super::pieces::{WeldPiece, side};
use crate::job::model::{Job, Point};
use coldsquare_core::sequence::Side;

/// A habit: its name, what it is, and the pieces by rank.
pub type Ranked = (&'static str, &'static str, Vec<u16>);

type Coordinate = fn(&Point) -> f64;

/// The habits compared with, for one job.
#[must_use]
pub fn habits(job: &Job, pieces: &[WeldPiece], centre: Point) -> Vec<Ranked> {
    let middles: Vec<Point> = pieces.iter().map(WeldPiece::middle).collect();
    let face = |k: usize| u8::from(side(&job.welds[pieces[k].weld]) == Side::Back);
    let spread = |along: Coordinate| {
        let values = middles.iter().map(along);
        values.clone().fold(f64::MIN, f64::max) - values.fold(f64::MAX, f64::min)
    };
    let (x, y): (Coordinate, Coordinate) = (|p| p.x, |p| p.y);
    let lies_wide = spread(x) >= spread(y);
    let (long, short) = if lies_wide { (x, y) } else { (y, x) };
    // Rows that differ by less than this are one row.
    let row = |value: f64| (value / 50.0).round();
    let ranked = |rank: &dyn Fn(usize) -> [f64; 3]| {
        let mut order: Vec<u16> = (0_u16..).zip(pieces).map(|(k, _)| k).collect();
        order.sort_by(|&a, &b| {
            let (a, b) = (rank(usize::from(a)), rank(usize::from(b)));
            a.partial_cmp(&b).unwrap_or(std::cmp::Ordering::Equal)
        });
        order
    };
    vec![
        (
            "as drawn",
            "by number, turning the frame whenever the next weld is on the other face",
            ranked(&|k| [k as f64, 0.0, 0.0]),
        ),
        (
            "end to end",
            "one face from one end of the frame to the other, then the other face the same way",
            ranked(&|k| [f64::from(face(k)), long(&middles[k]), short(&middles[k])]),
        ),
        (
            "side by side",
            "one face row by row, then the other face the same way",
            ranked(&|k| {
                [
                    f64::from(face(k)),
                    row(short(&middles[k])),
                    long(&middles[k]),
                ]
            }),
        ),
        (
            "centre out",
            "one face from the middle outwards, then the other face the same way",
            ranked(&|k| {
                [
                    f64::from(face(k)),
                    (middles[k] - centre).length().round(),
                    0.0,
                ]
            }),
        ),
    ]
}
