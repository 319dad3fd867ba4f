//! Helpers shared by the tests.

/// Panics unless both numbers are finite and agree within `absolute + relative · |expected|`, on either side.
#[track_caller]
pub fn assert_close(actual: f64, expected: f64, absolute: f64, relative: f64) {
    let tolerance = absolute + relative * expected.abs();
    assert!(
        actual.is_finite() && expected.is_finite() && tolerance.is_finite(),
        "not a number: {actual} against {expected} ± {tolerance}"
    );
    assert!(
        (actual - expected).abs() <= tolerance,
        "{actual} is not {expected} ± {tolerance}"
    );
}

/// Panics unless the number, rounded, is the one that was printed: within half a unit of the last printed digit.
///
/// Takes the published figure as text, so that `"11.10"` asks for more than `"11.1"`.
#[track_caller]
pub fn assert_printed(actual: f64, printed: &str) {
    let expected: f64 = printed.parse().expect("a published figure is a number");
    let decimals = printed.split_once('.').map_or(0, |(_, tail)| tail.len());
    let half_unit = 0.5 * 10f64.powi(-i32::try_from(decimals).expect("few digits"));
    assert_close(actual, expected, half_unit, 4.0 * f64::EPSILON);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refuses(check: impl FnOnce() + std::panic::UnwindSafe) -> bool {
        std::panic::catch_unwind(check).is_err()
    }

    #[test]
    fn closeness_binds_both_sides_and_refuses_what_is_no_number() {
        assert_close(1.001, 1.0, 0.0, 0.001_1);
        assert!(refuses(|| assert_close(0.99, 1.0, 0.0, 0.001)));
        assert!(refuses(|| assert_close(1.01, 1.0, 0.0, 0.001)));
        assert!(refuses(|| assert_close(f64::NAN, 1.0, 1.0, 1.0)));
        assert!(refuses(|| assert_close(1.0, f64::NAN, 1.0, 1.0)));
        assert!(refuses(|| assert_close(
            f64::INFINITY,
            f64::INFINITY,
            1.0,
            1.0
        )));
        assert!(refuses(|| assert_close(1.0, 2.0, f64::INFINITY, 0.0)));
    }

    #[test]
    fn a_printed_figure_binds_to_its_last_digit() {
        assert_printed(11.108, "11.1");
        assert!(refuses(|| assert_printed(11.108, "11.10")));
        assert!(refuses(|| assert_printed(10.9, "11.1")));
        assert_printed(2160.4, "2160");
    }
}
