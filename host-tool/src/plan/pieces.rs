//! From a job to what the search puts in order: welds, long ones in pieces, with their side and what comes before.

use crate::job::model::{Job, Point, Weld};
use coldsquare_core::sequence::{Item, Side, WeldSet};

/// Longest weld that is made in one go, mm. Back-step pieces are 100 to 200 mm long in practice (no single source).
pub const LONGEST_IN_ONE_GO_MM: f64 = 200.0;

/// A weld that looks at least this much to the front or the back (cosine) is made with that face up.
const FACING: f64 = 0.35;

/// A weld, or a piece of a long one.
#[derive(Clone, Debug)]
pub struct WeldPiece {
    /// Index of the weld.
    pub weld: usize,
    /// Its number along the weld, from 0, and how many there are.
    pub piece: (u16, u16),
    /// One end, nearer to where the weld starts as drawn.
    pub from: Point,
    /// The other end.
    pub to: Point,
}

impl WeldPiece {
    /// The point half-way.
    #[must_use]
    pub fn middle(&self) -> Point {
        (self.from + self.to) * 0.5
    }

    /// Its length, mm.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        (self.to - self.from).length()
    }
}

/// The face from which a weld is made.
#[must_use]
pub fn side(weld: &Weld) -> Side {
    match weld.outward.z {
        z if z > FACING => Side::Front,
        z if z < -FACING => Side::Back,
        _ => Side::Either,
    }
}

/// Cuts every weld into pieces of equal length, none longer than [`LONGEST_IN_ONE_GO_MM`].
#[must_use]
pub fn pieces(job: &Job) -> Vec<WeldPiece> {
    job.welds
        .iter()
        .enumerate()
        .flat_map(|(index, weld)| {
            let count = (weld.length().0 / LONGEST_IN_ONE_GO_MM)
                .ceil()
                .clamp(1.0, 255.0);
            let at = move |k: u16| weld.from + (weld.to - weld.from) * (f64::from(k) / count);
            let count = count as u16;
            (0..count).map(move |k| WeldPiece {
                weld: index,
                piece: (k, count),
                from: at(k),
                to: at(k + 1),
            })
        })
        .collect()
}

/// What the search must know of each piece. `back_up` says that welding begins with the back up: sides are as seen
/// from there.
#[must_use]
pub fn items(job: &Job, pieces: &[WeldPiece], back_up: bool) -> Vec<Item> {
    let of_weld = |number: u16| {
        let found = (0_u16..)
            .zip(pieces)
            .filter(|(_, piece)| job.welds[piece.weld].number == number);
        found.map(|(k, _)| k).collect::<Vec<_>>()
    };
    pieces
        .iter()
        .map(|piece| {
            let weld = &job.welds[piece.weld];
            let before: Vec<u16> = weld.after.iter().flat_map(|n| of_weld(*n)).collect();
            Item {
                before: WeldSet::of(&before),
                reach: 0,
                side: seen(side(weld), back_up),
                at_mm: <[f64; 3]>::from(piece.middle()).map(|mm| mm.round() as i32),
            }
        })
        .collect()
}

fn seen(side: Side, back_up: bool) -> Side {
    match (side, back_up) {
        (Side::Front, true) => Side::Back,
        (Side::Back, true) => Side::Front,
        _ => side,
    }
}
