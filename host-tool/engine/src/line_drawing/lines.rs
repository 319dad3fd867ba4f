//! Lines between nodes: ends that are nearly at one place are put there, and lines that go on in one line are joined.

use super::model::{DrawnLine, LeftOut, LineDrawing};
use crate::geometry::Point;

/// Lines that turn by less than this where they meet go on in one line: the cosine of a tenth of a degree.
const STRAIGHT_ON: f64 = 0.999_998_5;

/// A straight line between two nodes.
#[derive(Clone, Debug)]
pub(super) struct Line {
    pub nodes: [usize; 2],
    pub layer: String,
    pub name: Option<String>,
}

/// The lines of a drawing between its nodes, mm.
#[derive(Debug, Default)]
pub(super) struct Net {
    pub nodes: Vec<Point>,
    pub lines: Vec<Line>,
    pub left_out: Vec<LeftOut>,
    /// The farthest that an end was moved to meet another.
    pub moved_mm: f64,
    /// How many lines became part of another.
    pub joined: usize,
}

impl Net {
    /// The net of a drawing; ends within `tolerance_mm` of each other are one node.
    pub(super) fn of(
        drawing: &LineDrawing,
        mm_per_unit: f64,
        tolerance_mm: f64,
        wanted: impl Fn(&DrawnLine) -> bool,
    ) -> Self {
        let mut net = Self::default();
        for line in drawing.lines.iter().filter(|line| wanted(line)) {
            let ends = [line.from, line.to].map(|end| net.node(end * mm_per_unit, tolerance_mm));
            let same = |known: &Line| {
                let [a, b] = known.nodes;
                ends == [a, b] || ends == [b, a]
            };
            let why = if ends[0] == ends[1] {
                "it is shorter than the distance within which ends are one node"
            } else if net.lines.iter().any(same) {
                "it is drawn twice"
            } else {
                net.lines.push(Line {
                    nodes: ends,
                    layer: line.layer.clone(),
                    name: line.name.clone(),
                });
                continue;
            };
            net.left_out.push(LeftOut {
                what: format!("line on layer {}", line.layer),
                why: why.to_owned(),
                line: line.line,
            });
        }
        if drawing.joins_lines {
            net.join(tolerance_mm);
        }
        net
    }

    fn node(&mut self, at: Point, tolerance_mm: f64) -> usize {
        let near = self
            .nodes
            .iter()
            .position(|node| (*node - at).length() <= tolerance_mm);
        match near {
            Some(node) => {
                self.moved_mm = self.moved_mm.max((self.nodes[node] - at).length());
                node
            }
            None => {
                self.nodes.push(at);
                self.nodes.len() - 1
            }
        }
    }

    /// Joins lines of one layer that go straight on through a node: a leg that is split where its rails meet it.
    fn join(&mut self, tolerance_mm: f64) {
        let mut at: Vec<Vec<usize>> = vec![Vec::new(); self.nodes.len()];
        for (k, line) in self.lines.iter().enumerate() {
            line.nodes.iter().for_each(|&node| at[node].push(k));
        }
        let mut gone = vec![false; self.lines.len()];
        for node in 0..self.nodes.len() {
            while let Some([kept, other]) = self.going_on(node, &at[node], tolerance_mm) {
                let end = self.far_end(other, node);
                let start = self.far_end(kept, node);
                self.lines[kept].nodes = [start, end];
                at[node].retain(|&line| line != kept && line != other);
                at[end].retain(|&line| line != other);
                at[end].push(kept);
                gone[other] = true;
                self.joined += 1;
            }
        }
        let mut gone = gone.into_iter();
        self.lines.retain(|_| !gone.next().unwrap_or(false));
    }

    fn far_end(&self, line: usize, node: usize) -> usize {
        let [a, b] = self.lines[line].nodes;
        if a == node { b } else { a }
    }

    /// Two lines at a node, the first drawn first, of which one is the other's straight continuation.
    fn going_on(&self, node: usize, lines: &[usize], tolerance_mm: f64) -> Option<[usize; 2]> {
        let at = self.nodes[node];
        let away = |line: usize| (self.nodes[self.far_end(line, node)] - at).unit();
        for (k, &first) in lines.iter().enumerate() {
            for &second in &lines[k + 1..] {
                let (Some(a), Some(b)) = (away(first), away(second)) else {
                    continue;
                };
                let ends = [first, second].map(|line| self.nodes[self.far_end(line, node)]);
                let off = distance(at, ends).1;
                if self.lines[first].layer == self.lines[second].layer
                    && a.dot(b) < -STRAIGHT_ON
                    && off <= tolerance_mm
                {
                    return Some([first.min(second), first.max(second)]);
                }
            }
        }
        None
    }
}

/// How far along a segment the foot of a point is, and how far the point is from the segment, mm.
pub(super) fn distance(at: Point, [from, to]: [Point; 2]) -> (f64, f64) {
    let line = to - from;
    let length = line.length();
    let Some(along) = line.unit() else {
        return (0.0, (at - from).length());
    };
    let foot = (at - from).dot(along).clamp(0.0, length);
    (foot, (from + along * foot - at).length())
}
