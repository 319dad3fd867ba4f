//! The order welded beside the planned order.

use super::model::{MappedBead, Order};
use crate::matching::Role;

/// Compares the order of the beads with the planned order.
pub fn order(planned: &[u16], beads: &[MappedBead]) -> Order {
    let mut done: Vec<u16> = Vec::new();
    for bead in beads {
        if let Role::Weld { weld, .. } = bead.role
            && !done.contains(&weld)
        {
            done.push(weld);
        }
    }
    Order {
        planned: planned.to_vec(),
        missing: planned
            .iter()
            .copied()
            .filter(|weld| !done.contains(weld))
            .collect(),
        out_of_order: out_of_order(planned, &done),
        done,
    }
}

/// The welds of `done` that are not in its longest increasing subsequence of planned places.
fn out_of_order(planned: &[u16], done: &[u16]) -> Vec<u16> {
    let places: Vec<usize> = done
        .iter()
        .map(|weld| {
            planned
                .iter()
                .position(|other| other == weld)
                .unwrap_or(usize::MAX)
        })
        .collect();
    // For each element the length of the longest increasing subsequence that ends in it, and the element before it.
    let mut best: Vec<(usize, Option<usize>)> = Vec::with_capacity(places.len());
    for (index, &place) in places.iter().enumerate() {
        let before = (0..index)
            .filter(|&other| places[other] < place)
            .max_by_key(|&other| (best[other].0, std::cmp::Reverse(other)));
        best.push(before.map_or((1, None), |other| (best[other].0 + 1, Some(other))));
    }
    let mut kept = vec![false; done.len()];
    let mut next = (0..best.len()).max_by_key(|&index| (best[index].0, std::cmp::Reverse(index)));
    while let Some(index) = next {
        kept[index] = true;
        next = best[index].1;
    }
    done.iter()
        .zip(kept)
        .filter(|(_, kept)| !kept)
        .map(|(weld, _)| *weld)
        .collect()
}
