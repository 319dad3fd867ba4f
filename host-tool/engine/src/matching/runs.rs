//! The beads of a weld, divided into its runs.

use super::model::{BeadMatch, MatchInput, Role};

/// Gives each bead of a weld its run. With no more beads than runs, each bead is a run. With more, some runs were
/// stopped and started again: the beads are divided, in order of time, so that the runs come out as equal as possible.
pub fn divide(input: &MatchInput<'_>, matches: &mut [BeadMatch]) {
    let mut beads: std::collections::BTreeMap<u16, Vec<usize>> = std::collections::BTreeMap::new();
    for (index, found) in matches.iter().enumerate() {
        if let Role::Weld { weld, .. } = found.role {
            beads.entry(weld).or_default().push(index);
        }
    }
    for weld in input.welds.iter().filter(|weld| weld.runs > 1) {
        let Some(mine) = beads.get(&weld.number) else {
            continue;
        };
        let times: Vec<f64> = mine
            .iter()
            .map(|&bead| input.beads[bead].arc_time.0)
            .collect();
        for (&bead, run) in mine.iter().zip(alike(&times, usize::from(weld.runs))) {
            matches[bead].role = Role::Weld {
                weld: weld.number,
                run,
            };
        }
    }
}

/// For each time the number of its group, from 1: at most `groups` groups of neighbours with the least sum of squares.
fn alike(times: &[f64], groups: usize) -> Vec<u8> {
    let groups = groups.min(times.len());
    let n = times.len();
    let sum = |from: usize, to: usize| times[from..to].iter().sum::<f64>();
    // best[g][k]: the first k times in g groups, and where the last of them begins.
    let mut best = vec![vec![(f64::INFINITY, 0); n + 1]; groups + 1];
    best[0][0].0 = 0.0;
    for g in 1..=groups {
        for k in g..=n {
            for from in g - 1..k {
                let cost = best[g - 1][from].0 + sum(from, k).powi(2);
                if cost < best[g][k].0 {
                    best[g][k] = (cost, from);
                }
            }
        }
    }
    let mut runs = vec![1; n];
    let mut end = n;
    for g in (1..=groups).rev() {
        let from = best[g][end].1;
        runs[from..end].fill(u8::try_from(g).unwrap_or(u8::MAX));
        end = from;
    }
    runs
}

#[cfg(test)]
mod tests;
