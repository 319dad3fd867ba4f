//! The chance of each bead being each weld: the chances of all paths added up, forward and backward.

use super::trellis::Trellis;

/// For each item, the chance of each weld by index; the last entry is the chance of none.
pub type Posteriors = Vec<Vec<f32>>;

/// The forward-backward sums over all paths of the trellis.
pub fn forward_backward(trellis: &Trellis<'_>) -> Posteriors {
    let ahead = backward(trellis);
    let welds = trellis.input.welds.len();
    let mut posteriors = vec![vec![0.0; welds + 1]; trellis.interpretation.items.len()];
    let mut behind = vec![f64::NEG_INFINITY; ahead.len()];
    behind[0] = 0.0;
    for node in trellis.nodes() {
        let here = behind[trellis.index(node)];
        trellis.transitions(node, |step| {
            let to = trellis.index(step.to);
            behind[to] = add_logs(behind[to], here - step.cost);
            let chance = (here - step.cost + ahead[to] - ahead[0]).exp() as f32;
            for item in step.beads {
                posteriors[item][step.weld.unwrap_or(welds)] += chance;
            }
        });
    }
    posteriors
}

/// For each node the logarithm of the chances of all paths from it to an end, summed.
fn backward(trellis: &Trellis<'_>) -> Vec<f64> {
    let ends = trellis.ends().map(|node| trellis.index(node));
    let mut ahead = vec![f64::NEG_INFINITY; ends[1] + 1];
    for end in ends {
        ahead[end] = 0.0;
    }
    for node in trellis.nodes().rev() {
        let mut sum = ahead[trellis.index(node)];
        trellis.transitions(node, |step| {
            sum = add_logs(sum, ahead[trellis.index(step.to)] - step.cost);
        });
        ahead[trellis.index(node)] = sum;
    }
    ahead
}

/// Paths less likely than this beside others (e^-40) do not change a sum.
const NEGLIGIBLE: f64 = 40.0;

/// ln(eᵃ + eᵇ).
fn add_logs(a: f64, b: f64) -> f64 {
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    if high - low > NEGLIGIBLE || low == f64::NEG_INFINITY {
        high
    } else {
        high + (low - high).exp().ln_1p()
    }
}

#[cfg(test)]
mod tests;
