//! A clamp that is pulled harder than it holds: it slips in the direction of its force and keeps the force it holds.

use crate::algebra::{Vector3, hypot3, solve3};

/// The search ends here for a clamp that cannot lose its force by slipping because everything comes along with it.
const MAX_SLIP: f64 = 1e12;

/// What a clamp with this `force` puts on the frame by slipping, N, so that it is left with the force `limit`, N.
///
/// `lost` is the force that the clamp loses for a unit push: one less its stiffness times the compliance there. The slip
/// is along the force that is left, as with friction: `left = force − lost · slip` with the slip a multiple of `left`.
/// The multiple is found by bisection, because what is left falls as it grows.
pub(super) fn push(lost: &[Vector3; 3], force: Vector3, limit: f64) -> Vector3 {
    let left = |multiple: f64| -> Vector3 {
        let columns = std::array::from_fn(|j| {
            std::array::from_fn(|i| f64::from(i == j) + multiple * lost[i][j])
        });
        solve3(&columns, force)
    };
    let (mut low, mut high) = (0.0, 1.0);
    while hypot3(left(high)) > limit && high < MAX_SLIP {
        (low, high) = (high, 4.0 * high);
    }
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if hypot3(left(middle)) > limit {
            low = middle;
        } else {
            high = middle;
        }
    }
    left(high).map(|f| -high * f)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_is_the_limit_and_points_where_the_clamp_slips() {
        // Stiff in one direction, soft in another, and a little of both.
        let lost = [[0.9, 0.01, 0.0], [0.01, 5e-4, 0.0], [0.0, 0.0, 0.05]];
        let force = [300.0, -120.0, 40.0];
        for limit in [200.0, 20.0, 1e-3] {
            let push = push(&lost, force, limit);
            let left: [f64; 3] = std::array::from_fn(|i| {
                force[i] + (0..3).map(|j| lost[i][j] * push[j]).sum::<f64>()
            });
            assert!((hypot3(left) / limit - 1.0).abs() < 1e-6, "{left:?}");
            let along: f64 = (0..3).map(|k| -push[k] * left[k]).sum();
            assert!((along / (hypot3(push) * limit) - 1.0).abs() < 1e-6);
        }
    }
}
