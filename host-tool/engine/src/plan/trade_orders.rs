//! Orders that shops use without thinking, to compare with.

use super::parts::{PlannedPart, side};
use crate::job::model::{Job, Point};
use coldsquare_core::sequence::Side;

/// A habit: its name, what it is, and the pieces by rank.
pub type Ranked = (&'static str, &'static str, Vec<u16>);

type Coordinate = fn(&Point) -> f64;

/// How a frame is looked at: as drawn, or in a mirror, across or up.
pub const VIEWS: [[f64; 2]; 4] = [[1.0, 1.0], [-1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]];

/// The habits compared with, for one job: from left to right and from below upwards as it is seen in one of the
/// [`VIEWS`].
#[must_use]
pub fn trade_orders(job: &Job, parts: &[PlannedPart], centre: Point, view: [f64; 2]) -> Vec<Ranked> {
    let seen = |p: Point| Point::new(p.x * view[0], p.y * view[1], p.z);
    let middles: Vec<Point> = parts.iter().map(|part| seen(part.middle())).collect();
    let centre = seen(centre);
    let face = |k: usize| u8::from(side(&job.welds[parts[k].weld]) == Side::Back);
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
        let mut order: Vec<u16> = (0_u16..).zip(parts).map(|(k, _)| k).collect();
        order.sort_by(|&a, &b| {
            let (a, b) = (rank(usize::from(a)), rank(usize::from(b)));
            a.partial_cmp(&b).unwrap_or(std::cmp::Ordering::Equal)
        });
        order
    };
    let beside = |k: usize| short(&middles[k]) - short(&centre);
    let out = |k: usize| (long(&middles[k]) - long(&centre)).abs().round();
    let alternating = alternating(parts.len(), &face, &|k| beside(k) >= 0.0, &|k| {
        [out(k), beside(k).abs().round(), long(&middles[k])]
    });
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
        (
            "alternate sides",
            "one face from the middle outwards, each weld on the other side of the long axis than the one before, then \
             the other face the same way",
            alternating,
        ),
    ]
}

/// The same order in so many goes at the faces, one more than turns: of each face every so many-th piece in each go. The
/// first go and the last get half as much as those between, so that the frame never leans far to one face.
#[must_use]
pub fn in_setups(ranked: &[u16], side: impl Fn(u16) -> Side, flips: u16) -> Vec<u16> {
    let goes = |of: Side| -> Vec<u16> {
        let weight = |go: u16| if go == 0 || go == flips { 1 } else { 2 };
        let (first, every) = match of {
            Side::Either => (0, 1),
            Side::Front => (0, 2),
            Side::Back => (1, 2),
        };
        let goes = (first..=flips).step_by(every);
        goes.flat_map(|go| std::iter::repeat_n(go, weight(go)))
            .collect()
    };
    let all = [Side::Either, Side::Front, Side::Back];
    let cycles = all.map(goes);
    let mut seen = [0_usize; 3];
    let mut placed: Vec<(u16, u16)> = Vec::with_capacity(ranked.len());
    for &part in ranked {
        let kind = all.iter().position(|one| *one == side(part)).unwrap_or(0);
        let cycle = &cycles[kind];
        let go = cycle.get(seen[kind] % cycle.len().max(1));
        placed.push((go.copied().unwrap_or(0), part));
        seen[kind] += 1;
    }
    placed.sort_by_key(|(go, _)| *go);
    placed.into_iter().map(|(_, part)| part).collect()
}

/// On each face in turn the pieces of the two sides of an axis, each side by `rank`, one of this and one of that.
fn alternating(
    parts: usize,
    face: &dyn Fn(usize) -> u8,
    is_above: &dyn Fn(usize) -> bool,
    rank: &dyn Fn(usize) -> [f64; 3],
) -> Vec<u16> {
    let all = || (0..u16::MAX).take(parts);
    let mut order = Vec::with_capacity(parts);
    for up in [0, 1] {
        let [mut above, mut below] = [true, false].map(|side| {
            let mut these: Vec<u16> = all()
                .filter(|&k| face(usize::from(k)) == up && is_above(usize::from(k)) == side)
                .collect();
            these.sort_by(|&a, &b| {
                let (a, b) = (rank(usize::from(a)), rank(usize::from(b)));
                a.partial_cmp(&b).unwrap_or(std::cmp::Ordering::Equal)
            });
            these.into_iter()
        });
        loop {
            let pair = [above.next(), below.next()];
            if pair == [None, None] {
                break;
            }
            order.extend(pair.into_iter().flatten());
        }
    }
    order
}
