//! The unknowns of the adjustment: where each side is at each place that was measured.

use super::model::{Kind, Readings, Side};

/// Places closer than this are one, mm.
pub(super) const SAME_MM: f64 = 2.0;

/// The unknowns: places on each side at each depth.
pub(super) struct Nodes {
    /// Side, depth, place; its index is that of the unknown.
    pub(super) all: Vec<(Side, usize, f64)>,
}

impl Nodes {
    pub(super) fn new(readings: &Readings) -> Self {
        let mut nodes = Self { all: Vec::new() };
        for reading in &readings.readings {
            let depth = reading.depth;
            match reading.kind {
                Kind::Width(at) => nodes.add(&[Side::Left, Side::Right], depth, &[at]),
                Kind::Height(at) => nodes.add(&[Side::Floor, Side::Top], depth, &[at]),
                Kind::Off(side, from, to) => nodes.add(&[side], depth, &[from, to]),
                Kind::Bow(side, from, to) => {
                    nodes.add(&[side], depth, &[from, f64::midpoint(from, to), to]);
                }
                Kind::Diagonal { .. } | Kind::FromFront(_) => {}
            }
        }
        let order = |side: Side| Side::ALL.iter().position(|one| *one == side);
        nodes.all.sort_by(|a, b| {
            (a.1, order(a.0))
                .cmp(&(b.1, order(b.0)))
                .then(a.2.total_cmp(&b.2))
        });
        nodes
    }

    fn add(&mut self, sides: &[Side], depth: usize, places: &[f64]) {
        for &side in sides {
            for &place in places {
                let same = |one: &(Side, usize, f64)| {
                    one.0 == side && one.1 == depth && (one.2 - place).abs() < SAME_MM
                };
                if !self.all.iter().any(same) {
                    self.all.push((side, depth, place));
                }
            }
        }
    }

    /// The unknowns of one side at one depth, in the order of their places.
    pub(super) fn on(&self, side: Side, depth: usize) -> Vec<usize> {
        let all = self.all.iter().enumerate();
        all.filter(|(_, one)| one.0 == side && one.1 == depth)
            .map(|(index, _)| index)
            .collect()
    }

    /// Weights of the unknowns for a place: straight between the two nearest, and on beyond the last two.
    pub(super) fn at(&self, side: Side, depth: usize, place: f64) -> Vec<(usize, f64)> {
        let on = self.on(side, depth);
        match on.as_slice() {
            [] => Vec::new(),
            [only] => vec![(*only, 1.0)],
            several => {
                let after = several.iter().position(|&one| self.all[one].2 >= place);
                let high = after.unwrap_or(several.len() - 1).max(1);
                let (a, b) = (several[high - 1], several[high]);
                let (from, to) = (self.all[a].2, self.all[b].2);
                let share = (place - from) / (to - from);
                vec![(a, 1.0 - share), (b, share)]
            }
        }
    }
}
