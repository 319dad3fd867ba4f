//! From which bar each piece is cut.
//!
//! Pieces with equal mitres lie nose to tail: one cut ends a piece and begins the next, and the bar is turned over
//! between them. The longest piece is placed first, each on the bar where it leaves the least: rarely a bar more than
//! needed.

use super::cuts::{Kind, SawEnd, Sides};
use super::settings::Settings;
use crate::section::Section;

/// Angles closer than this are cut without setting the saw anew, degrees.
const SAME_ANGLE_DEGREES: f64 = 0.05;

/// A bar and what is cut from it.
#[derive(Clone, Debug)]
pub struct Bar {
    /// Its section.
    pub section: Section,
    /// Its length, mm.
    pub length_mm: f64,
    /// Whether it is an offcut from the rack.
    pub is_offcut: bool,
    /// The pieces, in the order in which they are cut.
    pub cuts: Vec<Cut>,
    /// What is left of it, to the nearest point of its last cut, mm.
    pub left_mm: f64,
}

impl Bar {
    /// How many mitre cuts end one piece and begin the next.
    #[must_use]
    pub fn shared_mitres(&self, kinds: &[Kind]) -> usize {
        let is_mitre = |cut: &&Cut| kinds[cut.kind].ends[0].mitre_degrees > SAME_ANGLE_DEGREES;
        let shared = self.cuts.iter().filter(|cut| cut.shares_cut);
        shared.filter(is_mitre).count()
    }

    /// Whether the bar is turned over between its pieces: their long points are on one side, so the next lies upside
    /// down.
    #[must_use]
    pub fn is_turned(&self, kinds: &[Kind]) -> bool {
        let one_side = |cut: &Cut| kinds[cut.kind].sides == Sides::OneSide;
        self.shared_mitres(kinds) > 0 && self.cuts.iter().any(one_side)
    }
}

/// A piece on a bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// Index of the kind.
    pub kind: usize,
    /// Whether the cut that ends the piece before begins this one.
    pub shares_cut: bool,
}

/// Places every piece; also the kinds of those longer than any bar, one entry a piece.
pub(super) fn bars(kinds: &[Kind], settings: &Settings) -> (Vec<Bar>, Vec<usize>) {
    let (mut bars, mut too_long) = (Vec::new(), Vec::new());
    for alike in kinds.chunk_by(|a, b| a.section == b.section) {
        let first = kinds
            .iter()
            .position(|kind| std::ptr::eq(kind, &raw const alike[0]));
        let first = first.unwrap_or(0);
        let mut open: Vec<Bar> = rack(&alike[0].section, settings);
        let pieces = alike
            .iter()
            .enumerate()
            .flat_map(|(k, kind)| std::iter::repeat_n(first + k, kind.members.len()));
        for piece in pieces {
            place(kinds, piece, &mut open, settings, &mut too_long);
        }
        bars.extend(open.into_iter().filter(|bar| !bar.cuts.is_empty()));
    }
    (bars, too_long)
}

/// The offcuts of a section, the shortest first: what fits on them is cut from them.
fn rack(section: &Section, settings: &Settings) -> Vec<Bar> {
    let of_section = settings.offcuts.iter().filter(|(own, _)| own == section);
    let mut lengths: Vec<f64> = of_section.map(|(_, length)| *length).collect();
    lengths.sort_by(f64::total_cmp);
    let bars = lengths.into_iter().map(|length| bar(section, length, true));
    bars.collect()
}

fn bar(section: &Section, length_mm: f64, is_offcut: bool) -> Bar {
    Bar {
        section: section.clone(),
        length_mm,
        is_offcut,
        cuts: Vec::new(),
        left_mm: length_mm,
    }
}

fn place(
    kinds: &[Kind],
    piece: usize,
    open: &mut Vec<Bar>,
    settings: &Settings,
    too_long: &mut Vec<usize>,
) {
    let taken = |bar: &Bar| {
        let last = bar.cuts.last().map(|cut| &kinds[cut.kind]);
        takes(last, &kinds[piece], settings.kerf_mm)
    };
    let best = (0..open.len())
        .filter(|&k| taken(&open[k]).0 <= open[k].left_mm + 1e-9)
        .min_by(|&a, &b| {
            // Offcuts first, then what leaves the least.
            let left = |k: usize| open[k].left_mm - taken(&open[k]).0;
            (!open[a].is_offcut)
                .cmp(&!open[b].is_offcut)
                .then(left(a).total_cmp(&left(b)))
        });
    let at = match best {
        Some(at) => at,
        None if kinds[piece].long_mm > settings.stock_mm => {
            too_long.push(piece);
            return;
        }
        None => {
            open.push(bar(&kinds[piece].section, settings.stock_mm, false));
            open.len() - 1
        }
    };
    let (length, shares_cut) = taken(&open[at]);
    open[at].left_mm = (open[at].left_mm - length).max(0.0);
    open[at].cuts.push(Cut {
        kind: piece,
        shares_cut,
    });
}

/// How much of a bar a piece takes after the piece before it, mm, and whether one cut serves both.
///
/// The bar's end is square, so the first piece takes its whole length; a cut that serves two pieces takes the slanted
/// width of the blade, and the piece is as long as on its middle line.
fn takes(before: Option<&Kind>, piece: &Kind, kerf_mm: f64) -> (f64, bool) {
    let slant = |end: SawEnd| {
        let share = end.mitre_degrees.to_radians().cos() * end.bevel_degrees.to_radians().cos();
        kerf_mm / share
    };
    let Some(before) = before else {
        return (piece.long_mm + slant(piece.ends[1]), false);
    };
    let (ended, begun) = (before.ends[1], piece.ends[0]);
    let same = |a: f64, b: f64| (a - b).abs() < SAME_ANGLE_DEGREES;
    let is_angled = begun.mitre_degrees > SAME_ANGLE_DEGREES;
    let fits = same(ended.mitre_degrees, begun.mitre_degrees)
        && same(ended.bevel_degrees, begun.bevel_degrees)
        && begun.bevel_degrees < SAME_ANGLE_DEGREES;
    if fits && is_angled {
        // Nose to tail: the overhang of one end lies beside that of the other.
        let overhang = piece.across_mm[0] * begun.mitre_degrees.to_radians().tan();
        return (piece.long_mm - overhang + slant(piece.ends[1]), true);
    }
    let extra = if is_angled { slant(begun) } else { 0.0 };
    (piece.long_mm + extra + slant(piece.ends[1]), fits)
}
