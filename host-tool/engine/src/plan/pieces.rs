//! From a job to what the search puts in order: welds, long ones in pieces, with their side and what comes before.

use crate::job::model::{Job, Point, Weld};
use crate::movement::part::Part;
pub use crate::movement::pieces::LONGEST_IN_ONE_GO_MM;
use crate::movement::pieces::piece_count;
use coldsquare_core::sequence::{Item, Side, WeldSet};

/// A weld that looks at least this much to the front or the back (cosine) is made with that face up.
const FACING: f64 = 0.35;

/// A weld, or a piece of a long one.
#[derive(Clone, Debug)]
pub struct WeldPiece {
    /// Index of the weld.
    pub weld: usize,
    /// Its number along the weld, from 0, and how many there are.
    pub piece: (u16, u16),
    /// The stretches of the weld that the structure lays for it: where the first begins, where the last ends, and how
    /// many the whole weld has.
    pub stretches: [usize; 3],
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

    /// What the structure lays for it.
    #[must_use]
    pub fn part(&self, reversed: bool) -> Part {
        Part {
            weld: self.weld,
            stretches: self.stretches[0]..self.stretches[1],
            reversed,
        }
    }

    /// Whether the structure can tell which end it begins at.
    #[must_use]
    pub fn has_direction(&self) -> bool {
        self.stretches[1] - self.stretches[0] > 1
    }

    /// Its share of the weld's length, heat and time.
    #[must_use]
    pub fn share(&self) -> f64 {
        let [begin, end, all] = self.stretches;
        (end - begin) as f64 / all as f64
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

/// Cuts every weld into pieces of nearly equal length, none longer than [`LONGEST_IN_ONE_GO_MM`], where its stretches
/// on the structure meet.
#[must_use]
pub fn pieces(job: &Job) -> Vec<WeldPiece> {
    job.welds
        .iter()
        .enumerate()
        .flat_map(|(index, weld)| {
            let all = piece_count(job, weld);
            let in_one_go = LONGEST_IN_ONE_GO_MM * all as f64 / weld.length().0;
            let in_one_go = (in_one_go + 1e-9).floor().clamp(1.0, all as f64) as usize;
            let count = all.div_ceil(in_one_go).min(255);
            let begin = move |k: usize| k * all / count;
            let at = move |stretch: usize| {
                weld.from + (weld.to - weld.from) * (stretch as f64 / all as f64)
            };
            (0..count).map(move |k| WeldPiece {
                weld: index,
                piece: (k as u16, count as u16),
                stretches: [begin(k), begin(k + 1), all],
                from: at(begin(k)),
                to: at(begin(k + 1)),
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
