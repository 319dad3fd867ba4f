//! The cut list: what to saw and what to buy.
//!
//! Members that are cut alike are one row; stock bars are counted for each section. Another rule for buying goes into
//! `buy`.
//!
//! ```
//! use coldsquare_engine::{example::GARDEN_GATE, job};
//!
//! let gate = job::from_text("gate.toml", GARDEN_GATE)?;
//! let list = job::cut_list::CutList::new(&gate);
//! assert_eq!(list.pieces.len(), 3);
//! assert_eq!(list.stock[0].bars, 1);
//! # Ok::<(), coldsquare_engine::file_error::FileErrors>(())
//! ```

use super::model::{EndCut, Job, Member, Plate};
use crate::section::Section;
use crate::units::Units;
use coldsquare_core::units::Millimetres;

/// Width of a saw cut, mm. Common practice for a cold saw or band saw, no source.
pub const KERF: Millimetres = Millimetres(3.0);

/// Pieces closer in length than this are cut to the same stop, mm.
const SAME_LENGTH_MM: f64 = 0.05;

/// Members that are cut alike.
#[derive(Clone, Debug)]
pub struct Pieces {
    /// Their section.
    pub section: Section,
    /// Long point to long point.
    pub length: Millimetres,
    /// How the ends are cut, the greater angle second.
    pub ends: [EndCut; 2],
    /// Indices of the members.
    pub members: Vec<usize>,
}

/// The stock bars of one section to buy.
#[derive(Clone, Debug)]
pub struct Stock {
    /// The section.
    pub section: Section,
    /// Length of all pieces, without saw cuts.
    pub total: Millimetres,
    /// Number of stock bars.
    pub bars: usize,
    /// What is left over after the saw cuts.
    pub left_over: Millimetres,
    /// Number of pieces longer than a stock bar: splice them or order longer bars.
    pub too_long: usize,
}

/// Pieces of plate that are cut alike.
#[derive(Clone, Debug)]
pub struct PlatePieces {
    /// One of them.
    pub plate: Plate,
    /// Indices of the members.
    pub members: Vec<usize>,
}

/// A job's cut list.
#[derive(Clone, Debug)]
pub struct CutList {
    /// Pieces by section, longest first.
    pub pieces: Vec<Pieces>,
    /// Stock bars by section, in the same order.
    pub stock: Vec<Stock>,
    /// What is cut from plate.
    pub plates: Vec<PlatePieces>,
    /// Length of a stock bar: 6 m, or 20 ft in a job in inches.
    pub stock_length: Millimetres,
}

impl CutList {
    /// The cut list of a job.
    #[must_use]
    pub fn new(job: &Job) -> Self {
        let stock_length = match job.units {
            Units::Metric => Millimetres(6000.0),
            Units::UsCustomary => Millimetres::from_inches(240.0),
        };
        let pieces = group(&job.members);
        let mut stock: Vec<Stock> = Vec::new();
        for alike in pieces.chunk_by(|a, b| a.section == b.section) {
            stock.push(buy(alike, stock_length));
        }
        Self {
            pieces,
            stock,
            plates: plates(&job.members),
            stock_length,
        }
    }
}

fn degrees(end: EndCut) -> f64 {
    match end {
        EndCut::Square => 0.0,
        EndCut::Mitre { degrees } => degrees,
    }
}

/// Groups pieces of plate that are cut alike, in the order of the file.
fn plates(members: &[Member]) -> Vec<PlatePieces> {
    let alike = |a: &Plate, b: &Plate| {
        let near = |a: Millimetres, b: Millimetres| (a.0 - b.0).abs() < SAME_LENGTH_MM;
        a.kind == b.kind
            && near(a.thickness, b.thickness)
            && near(a.sizes[0], b.sizes[0])
            && near(a.sizes[1], b.sizes[1])
            && near(a.clip, b.clip)
    };
    let mut groups: Vec<PlatePieces> = Vec::new();
    for (index, member) in members.iter().enumerate() {
        let Some(plate) = &member.plate else {
            continue;
        };
        match groups.iter_mut().find(|group| alike(&group.plate, plate)) {
            Some(group) => group.members.push(index),
            None => groups.push(PlatePieces {
                plate: plate.clone(),
                members: vec![index],
            }),
        }
    }
    groups
}

/// Groups members that are cut alike: by section in the order of the file, then the longest first.
fn group(members: &[Member]) -> Vec<Pieces> {
    let mut sections: Vec<&Section> = Vec::new();
    let mut keyed: Vec<(usize, usize)> = Vec::with_capacity(members.len());
    let bars = members.iter().enumerate();
    for (index, member) in bars.filter(|(_, member)| member.plate.is_none()) {
        let known = sections
            .iter()
            .position(|section| **section == member.section);
        let section = known.unwrap_or_else(|| {
            sections.push(&member.section);
            sections.len() - 1
        });
        keyed.push((section, index));
    }
    let ends = |index: usize| {
        let [a, b] = members[index].ends;
        if degrees(a) <= degrees(b) {
            [a, b]
        } else {
            [b, a]
        }
    };
    let angles = |index: usize| ends(index).map(|end| (degrees(end) * 100.0).round());
    let steps = |index: usize| (members[index].cut_length.0 / SAME_LENGTH_MM).round();
    keyed.sort_by(|(s, a), (t, b)| {
        let by_length = steps(*b).total_cmp(&steps(*a));
        let by_angle = || {
            angles(*a)
                .partial_cmp(&angles(*b))
                .unwrap_or(std::cmp::Ordering::Equal)
        };
        s.cmp(t).then(by_length).then_with(by_angle)
    });
    keyed
        .chunk_by(|(s, a), (t, b)| s == t && steps(*a) == steps(*b) && angles(*a) == angles(*b))
        .map(|alike| {
            let first = alike[0].1;
            Pieces {
                section: members[first].section.clone(),
                length: members[first].cut_length,
                ends: ends(first),
                members: alike.iter().map(|(_, index)| *index).collect(),
            }
        })
        .collect()
}

/// Saws the longest piece first, each from the bar that leaves the least over: rarely a bar more than needed.
fn buy(pieces: &[Pieces], stock_length: Millimetres) -> Stock {
    let mut left: Vec<f64> = Vec::new();
    let (mut total, mut too_long) = (0.0, 0);
    let lengths = pieces
        .iter()
        .flat_map(|alike| std::iter::repeat_n(alike.length.0, alike.members.len()));
    for length in lengths {
        total += length;
        if length > stock_length.0 {
            too_long += 1;
            continue;
        }
        let best = left
            .iter_mut()
            .filter(|rest| **rest >= length)
            .min_by(|a, b| a.total_cmp(b));
        match best {
            Some(rest) => *rest -= length + KERF.0,
            None => left.push(stock_length.0 - length - KERF.0),
        }
    }
    Stock {
        section: pieces[0].section.clone(),
        total: Millimetres(total),
        bars: left.len(),
        left_over: Millimetres(left.iter().map(|rest| rest.max(0.0)).sum()),
        too_long,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::from_text;

    const GATE: &str = crate::example::GARDEN_GATE;

    #[test]
    fn the_garden_gate_is_cut_from_three_bars() {
        let list = CutList::new(&from_text("gate", GATE).expect("valid"));
        let rows: Vec<_> = list
            .pieces
            .iter()
            .map(|row| {
                (
                    row.section.designation(),
                    row.length.0.round(),
                    row.members.len(),
                )
            })
            .collect();
        assert_eq!(
            rows,
            [
                ("SHS 40x40x3", 1200.0, 2),
                ("SHS 40x40x3", 900.0, 2),
                ("SHS 20x20x2", 820.0, 9)
            ]
        );
        assert_eq!(list.pieces[0].ends, [EndCut::Mitre { degrees: 45.0 }; 2]);
        // 4200 mm of the one in one bar of 6 m; seven bars of 820 with their cuts in 6 m (5761), so nine take two.
        assert_eq!(
            list.stock
                .iter()
                .map(|stock| stock.bars)
                .collect::<Vec<_>>(),
            [1, 2]
        );
        assert!((list.stock[0].left_over.0 - (6000.0 - 4200.0 - 4.0 * 3.0)).abs() < 1e-9);
        assert!((list.stock[1].total.0 - 7380.0).abs() < 1e-9);
    }

    #[test]
    fn a_piece_longer_than_a_stock_bar_is_said() {
        let text = GATE
            .replace("width = 1200", "width = 6500")
            .replace("width = 1216", "width = 7000");
        let list = CutList::new(&from_text("gate", &text).expect("valid"));
        assert_eq!((list.stock[0].too_long, list.stock[0].bars), (2, 1));
    }

    #[test]
    fn a_mitred_member_weighs_what_its_middle_line_says() {
        let gate = from_text("gate", GATE).expect("valid");
        // Mitred: as long as its centre line, 1160 and 860. Area of SHS 40x40x3 by EN 10219-2: 421 mm2.
        let frame = 420.82e-6 * 7850.0 * (2.0 * 1.16 + 2.0 * 0.86);
        let bars = 9.0 * 0.82 * 134.0e-6 * 7850.0;
        let mass: f64 = gate
            .members
            .iter()
            .map(|member| member.mass(&gate.material).0)
            .sum();
        assert!(
            (mass - frame - bars).abs() < 0.01 * mass,
            "{mass} against {}",
            frame + bars
        );
        let rail = gate.members[0].mass(&gate.material).0;
        assert!((rail - 420.82e-6 * 7850.0 * 1.16).abs() < 1e-4);
    }
}
