//! What holes of the log may have swallowed, between which beads.

use super::interpretation::{Interpretation, Item};
use super::likelihood::median;
use super::markers::middle;
use super::model::MatchInput;

/// Welds that are taken to be lost in one hole at most.
const MAX_LOST: usize = 40;
/// Chance that as many beads of welds are lost as the bead numbers tell; the rest were tacks. A round number, no source.
const AS_NUMBERED: f64 = 0.85;
/// A weld fits a hole that is this share of its expected arc time, and longer ones: welders differ.
const FITS_FROM: f64 = 0.6;

/// What the holes between two neighbouring items may have swallowed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Between {
    /// Length of the holes, s.
    pub seconds: f64,
    /// The most beads, if their numbers tell.
    pub beads: Option<u32>,
    /// How many beads of welds are to be expected in a time like that.
    expected: f64,
}

impl Between {
    /// Cost of no weld being lost here, nats.
    pub fn none_lost(&self) -> f64 {
        self.cost(0, 0.0).unwrap_or(0.0)
    }

    /// Cost of welds of so many runs and so much expected arc time (s) being lost here, nats; `None` if they do not fit.
    pub fn cost(&self, runs: usize, arc_time: f64) -> Option<f64> {
        if FITS_FROM * arc_time > self.seconds {
            return None;
        }
        match self.beads {
            Some(most) => match runs.cmp(&(most as usize)) {
                std::cmp::Ordering::Greater => None,
                std::cmp::Ordering::Equal => Some(-AS_NUMBERED.ln()),
                std::cmp::Ordering::Less => Some(-((1.0 - AS_NUMBERED) / f64::from(most)).ln()),
            },
            // Beads come by chance, at the pace of the rest of the log: Poisson.
            None => {
                let factorial: f64 = (1..=runs).map(|k| (k as f64).ln()).sum();
                Some(self.expected - runs as f64 * self.expected.ln() + factorial)
            }
        }
    }

    /// The most welds to try.
    pub const fn max_welds(&self) -> usize {
        match self.beads {
            Some(most) if (most as usize) < MAX_LOST => most as usize,
            _ => MAX_LOST,
        }
    }
}

/// For each item, the holes before it and after the item before; one more entry for those after the last.
pub fn between(input: &MatchInput<'_>, interpretation: &Interpretation) -> Vec<Option<Between>> {
    let mut found = vec![None; interpretation.items.len() + 1];
    // Bead numbers may tell that nothing was lost in a hole.
    let holes = input.holes.iter().filter(|hole| hole.beads != Some(0));
    let mut holes = holes.peekable();
    if holes.peek().is_none() {
        return found;
    }
    let times: Vec<(usize, f64)> = (0..interpretation.items.len())
        .filter_map(|item| match interpretation.items[item] {
            Item::Bead(bead) => Some((item, middle(&input.beads[bead]))),
            _ => None,
        })
        .collect();
    let cycle = cycle(input, &times);
    for hole in holes {
        let after = times.partition_point(|&(_, at)| at < (hole.from.0 + hole.until.0) / 2.0);
        // Right after the bead before: a marker between two beads may have been set before the hole or after it.
        let place = after.checked_sub(1).map_or(0, |before| times[before].0 + 1);
        let seconds = (hole.until.0 - hole.from.0).max(0.0);
        let between: &mut Option<Between> = &mut found[place];
        *between = Some(match *between {
            None => Between {
                seconds,
                beads: hole.beads,
                expected: (seconds / cycle).max(1e-3),
            },
            // Two holes between the same beads share what their numbers tell.
            Some(other) => Between {
                seconds: other.seconds + seconds,
                beads: other.beads.zip(hole.beads).map(|(a, b)| a.max(b)),
                expected: other.expected + seconds / cycle,
            },
        });
    }
    found
}

/// Typical time from bead to bead, s.
fn cycle(input: &MatchInput<'_>, times: &[(usize, f64)]) -> f64 {
    let mut steps: Vec<f64> = times.windows(2).map(|pair| pair[1].1 - pair[0].1).collect();
    let welds = input.welds.iter().map(|weld| weld.arc_time.0);
    let mean = welds.clone().sum::<f64>() / welds.count().max(1) as f64;
    if steps.len() < 3 {
        return (2.0 * mean).max(1.0);
    }
    median(&mut steps).max(0.1)
}

#[cfg(test)]
mod tests;
