//! A clamp that is pulled harder than it holds: it slips the way it is pulled, and goes on holding what it can.

/// Where a clamp cannot lose its force by slipping, because all else would come along, the search ends here.
const MOST_SLIP: f64 = 1e12;

/// What a clamp that slips puts on the frame, N, so that it is left with `limit`.
///
/// `lost` tells by how much its force falls for a push on its place: one less its stiffness times the compliance there.
/// The slip goes along the force that is left, as friction does: `left = force − lost · slip`, with the slip a multiple
/// of `left`. The multiple is found by halving, because what is left falls as it grows.
pub(super) fn push(lost: &[[f64; 3]; 3], force: [f64; 3], limit: f64) -> [f64; 3] {
    let left = |multiple: f64| -> [f64; 3] {
        let columns = std::array::from_fn(|j| {
            std::array::from_fn(|i| f64::from(i == j) + multiple * lost[i][j])
        });
        solve(&columns, force)
    };
    let (mut low, mut high) = (0.0, 1.0);
    while length(left(high)) > limit && high < MOST_SLIP {
        (low, high) = (high, 4.0 * high);
    }
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if length(left(middle)) > limit {
            low = middle;
        } else {
            high = middle;
        }
    }
    left(high).map(|f| -high * f)
}

/// Three equations, by their columns (Cramer's rule).
fn solve(columns: &[[f64; 3]; 3], right: [f64; 3]) -> [f64; 3] {
    let [a, b, c] = *columns;
    let all = triple(a, b, c);
    [
        triple(right, b, c),
        triple(a, right, c),
        triple(a, b, right),
    ]
    .map(|one| one / all)
}

fn triple(a: [f64; 3], b: [f64; 3], c: [f64; 3]) -> f64 {
    a[0] * (b[1] * c[2] - b[2] * c[1])
        + a[1] * (b[2] * c[0] - b[0] * c[2])
        + a[2] * (b[0] * c[1] - b[1] * c[0])
}

pub(super) fn length(v: [f64; 3]) -> f64 {
    v[0].hypot(v[1]).hypot(v[2])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_is_the_limit_and_points_where_the_clamp_slips() {
        // Stiff one way, soft another, and a little of both.
        let lost = [[0.9, 0.01, 0.0], [0.01, 5e-4, 0.0], [0.0, 0.0, 0.05]];
        let force = [300.0, -120.0, 40.0];
        for limit in [200.0, 20.0, 1e-3] {
            let push = push(&lost, force, limit);
            let left: [f64; 3] = std::array::from_fn(|i| {
                force[i] + (0..3).map(|j| lost[i][j] * push[j]).sum::<f64>()
            });
            assert!((length(left) / limit - 1.0).abs() < 1e-6, "{left:?}");
            let along: f64 = (0..3).map(|k| -push[k] * left[k]).sum();
            assert!((along / (length(push) * limit) - 1.0).abs() < 1e-6);
        }
    }
}
