//! Which of the pieces as cut goes where, so that the frame comes out squarest.
//!
//! Pieces of one kind hold two members apart, each at its place along them. Their lengths differ by the saw. What they
//! do to the frame is a taper, wider at one end than at the other: the slope of the straight line through the lengths
//! over the places. That is made as small as can be; among orders that are as good, pairs about the middle are made
//! alike, so that what is left is even. Up to [`EXHAUSTIVE`] pieces every order is tried; for more, pairs of like length
//! are laid from the outside in and pieces exchanged as long as that helps.

/// Every order of so many pieces is tried.
pub const EXHAUSTIVE: usize = 8;
/// What unlike pairs count beside taper: little.
const PAIR_WEIGHT: f64 = 1e-3;

/// Pieces in their places.
#[derive(Clone, Debug, PartialEq)]
pub struct Placing {
    /// For each place the index of its piece.
    pub pieces: Vec<usize>,
    /// How much wider the frame is at the last place than at the first, by the line through all, mm.
    pub taper_mm: f64,
    /// The same for the worst order, mm.
    pub worst_mm: f64,
}

/// Puts pieces of these lengths into places at these distances along the members they hold apart; with more pieces than
/// places, those that are most alike. `None` for fewer pieces than places or fewer than two places.
#[must_use]
pub fn place(lengths_mm: &[f64], places_mm: &[f64]) -> Option<Placing> {
    let count = places_mm.len();
    if count < 2 || lengths_mm.len() < count {
        return None;
    }
    let mut sorted: Vec<usize> = (0..lengths_mm.len()).collect();
    sorted.sort_by(|&a, &b| lengths_mm[a].total_cmp(&lengths_mm[b]));
    let spread = |window: &&[usize]| lengths_mm[window[count - 1]] - lengths_mm[window[0]];
    let chosen = sorted
        .windows(count)
        .min_by(|a, b| spread(a).total_cmp(&spread(b)))?;
    let row = Row::new(lengths_mm, places_mm);
    let mut best = paired(chosen, places_mm);
    if count <= EXHAUSTIVE {
        let mut order = chosen.to_vec();
        permute(&mut order, 0, &mut |order| {
            if row.score(order) < row.score(&best) {
                best = order.to_vec();
            }
        });
    } else {
        row.exchange(&mut best);
    }
    // Longest at one end, shortest at the other.
    let mut by_place: Vec<usize> = (0..count).collect();
    by_place.sort_by(|&a, &b| places_mm[a].total_cmp(&places_mm[b]));
    let mut worst = best.clone();
    for (&place, &piece) in by_place.iter().zip(chosen) {
        worst[place] = piece;
    }
    Some(Placing {
        taper_mm: row.taper_mm(&best),
        worst_mm: row.taper_mm(&worst).abs(),
        pieces: best,
    })
}

struct Row<'r> {
    lengths: &'r [f64],
    places: &'r [f64],
    middle: f64,
    long: f64,
    square: f64,
}

impl<'r> Row<'r> {
    fn new(lengths: &'r [f64], places: &'r [f64]) -> Self {
        let middle = places.iter().sum::<f64>() / places.len() as f64;
        let (low, high) = (
            places.iter().copied().fold(f64::INFINITY, f64::min),
            places.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        );
        let square = places
            .iter()
            .map(|place| (place - middle) * (place - middle))
            .sum::<f64>();
        Self {
            lengths,
            places,
            middle,
            long: high - low,
            square: square.max(1e-9),
        }
    }

    fn taper_mm(&self, order: &[usize]) -> f64 {
        let moment: f64 = order
            .iter()
            .zip(self.places)
            .map(|(&piece, place)| self.lengths[piece] * (place - self.middle))
            .sum();
        moment / self.square * self.long
    }

    fn score(&self, order: &[usize]) -> f64 {
        let taper = self.taper_mm(order);
        let mut pairs = 0.0;
        for (a, place) in self.places.iter().enumerate() {
            let mirrored = |other: &f64| (place - self.middle + other - self.middle).abs() < 0.05;
            if let Some(b) = self.places.iter().position(mirrored) {
                let off = self.lengths[order[a]] - self.lengths[order[b]];
                pairs += off * off;
            }
        }
        // A hundredth of a millimetre of taper is none.
        let taper = (taper * 100.0).round() / 100.0;
        taper * taper + PAIR_WEIGHT * pairs
    }

    /// Exchanges two pieces as long as that helps.
    fn exchange(&self, order: &mut [usize]) {
        let mut helped = true;
        while helped {
            helped = false;
            for a in 0..order.len() {
                for b in a + 1..order.len() {
                    let before = self.score(order);
                    order.swap(a, b);
                    if self.score(order) < before - 1e-12 {
                        helped = true;
                    } else {
                        order.swap(a, b);
                    }
                }
            }
        }
    }
}

/// Neighbours in length as pairs from the outside in, the longer by turns at either end.
fn paired(chosen: &[usize], places: &[f64]) -> Vec<usize> {
    let mut by_place: Vec<usize> = (0..places.len()).collect();
    by_place.sort_by(|&a, &b| places[a].total_cmp(&places[b]));
    let mut order = vec![chosen[0]; places.len()];
    let last = places.len() - 1;
    for (k, two) in chosen.chunks(2).enumerate() {
        let (a, b) = (by_place[k], by_place[last - k]);
        let ends = if k % 2 == 0 { [a, b] } else { [b, a] };
        for (&piece, place) in two.iter().zip(ends) {
            order[place] = piece;
        }
    }
    order
}

/// Every order of a list, in a fixed order.
fn permute(order: &mut Vec<usize>, from: usize, each: &mut impl FnMut(&[usize])) {
    if from + 1 >= order.len() {
        each(order);
        return;
    }
    for other in from..order.len() {
        order.swap(from, other);
        permute(order, from + 1, each);
        order.swap(from, other);
    }
}
