//! The cheapest path through the trellis, by dynamic programming (Viterbi).

use super::interpretation::Item;
use super::trellis::{Node, TransitionKind, Trellis};
use std::ops::Range;

/// A path through the trellis.
#[derive(Clone, Debug)]
pub struct Path {
    /// Cost of the whole path, nats.
    pub cost: f64,
    /// Its beads, in order of time.
    pub groups: Vec<BeadGroup>,
}

/// Beads in a row that make one weld, or none.
#[derive(Clone, Debug)]
pub struct BeadGroup {
    /// Index of the weld.
    pub weld: Option<usize>,
    /// They replace earlier beads of the weld.
    pub redo: bool,
    /// The items that they are.
    pub beads: Range<usize>,
}

/// The cheapest path.
pub fn viterbi(trellis: &Trellis<'_>) -> Path {
    let mut cost = vec![f64::INFINITY; trellis.index(trellis.ends()[1]) + 1];
    let mut by = vec![(TransitionKind::LeaveOut, false); cost.len()];
    cost[0] = 0.0;
    for node in trellis.nodes() {
        let here = cost[trellis.index(node)];
        trellis.transitions(node, |step| {
            let to = trellis.index(step.to);
            if here + step.cost < cost[to] {
                cost[to] = here + step.cost;
                by[to] = (step.kind, node.gap);
            }
        });
    }
    let [made, left_out] = trellis.ends();
    let cheaper = cost[trellis.index(left_out)] < cost[trellis.index(made)];
    let end = if cheaper { left_out } else { made };
    Path {
        cost: cost[trellis.index(end)],
        groups: trace_back(trellis, end, &by),
    }
}

/// The beads of the path that ends here, in order. `by` holds for each node the step that led to it, and whether that
/// step came from a gap.
fn trace_back(trellis: &Trellis<'_>, end: Node, by: &[(TransitionKind, bool)]) -> Vec<BeadGroup> {
    let mut groups = Vec::new();
    let mut node = end;
    while node != Node::default() {
        let (kind, gap) = by[trellis.index(node)];
        let (items, welds) = match kind {
            TransitionKind::LeaveOut => (0, node.welds - 1),
            TransitionKind::Lost(count) => (0, node.welds - usize::from(count)),
            TransitionKind::Extra => (1, node.welds),
            TransitionKind::Weld(count) => (usize::from(count), node.welds - 1),
            TransitionKind::Visit(count) => (usize::from(count) + 1, node.welds),
            TransitionKind::Stop(from) => (0, from),
        };
        node = Node {
            items: node.items - items,
            welds,
            gap,
        };
        let redo = matches!(kind, TransitionKind::Visit(_))
            && matches!(trellis.interpretation.items[node.items], Item::Redo(_));
        trellis.transitions(node, |step| {
            if step.kind == kind && !step.beads.is_empty() {
                groups.push(BeadGroup {
                    weld: step.weld,
                    redo,
                    beads: step.beads,
                });
            }
        });
    }
    groups.reverse();
    groups
}

#[cfg(test)]
mod tests;
