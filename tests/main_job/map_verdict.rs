//! Within limits, marginal, out of limits: the measuring error decides neither a pass nor a fail.
//!
//! Rule: JCGM 106:2012, 8.3.2, guard band of one expanded uncertainty on both sides.

use coldsquare_core::units::JoulesPerMillimetre;
use coldsquare_engine::limits::Limits;
use coldsquare_engine::verdict::{Estimate, Judged, Side, Verdict};
use proptest::prelude::*;

fn judged(
    value: f64,
    expanded: f64,
    low: Option<f64>,
    high: Option<f64>,
) -> Judged<JoulesPerMillimetre> {
    let unit = JoulesPerMillimetre;
    Judged::new(
        Some(Estimate {
            value: unit(value),
            expanded: unit(expanded),
        }),
        Limits {
            low: low.map(unit),
            high: high.map(unit),
        },
    )
}

#[test]
fn at_the_boundary() {
    let verdict = |value, expanded| {
        let judged = judged(value, expanded, Some(100.0), Some(200.0));
        (judged.verdict, judged.side)
    };
    let (low, high) = (Some(Side::Low), Some(Side::High));
    // Binary fractions, so that sums are exact.
    assert_eq!(verdict(104.0, 3.75), (Verdict::WithinLimits, None));
    assert_eq!(
        verdict(104.0, 4.0),
        (Verdict::Marginal, low),
        "inside means by more than the doubt"
    );
    assert_eq!(verdict(100.0, 0.0), (Verdict::Marginal, low));
    assert_eq!(
        verdict(96.0, 4.0),
        (Verdict::Marginal, low),
        "outside means by more than the doubt"
    );
    assert_eq!(verdict(96.0, 3.75), (Verdict::OutOfLimits, low));
    assert_eq!(verdict(196.0, 3.75), (Verdict::WithinLimits, None));
    assert_eq!(verdict(196.0, 4.0), (Verdict::Marginal, high));
    assert_eq!(verdict(204.0, 4.0), (Verdict::Marginal, high));
    assert_eq!(verdict(204.0, 3.75), (Verdict::OutOfLimits, high));
    // Doubt wider than the limits: the nearer one is named.
    assert_eq!(verdict(140.0, 80.0), (Verdict::Marginal, low));
    assert_eq!(verdict(160.0, 80.0), (Verdict::Marginal, high));
}

#[test]
fn without_limits_and_without_numbers() {
    assert_eq!(judged(5.0, 1.0, None, None).verdict, Verdict::NoLimit);
    assert_eq!(
        judged(f64::NAN, 1.0, None, Some(9.0)).verdict,
        Verdict::NotMeasured
    );
    assert_eq!(
        judged(5.0, f64::NAN, None, Some(9.0)).verdict,
        Verdict::NotMeasured
    );
    let none = Judged::<JoulesPerMillimetre>::new(None, Limits::OPEN);
    assert_eq!(none.verdict, Verdict::NotMeasured);
}

fn limits() -> impl Strategy<Value = (Option<f64>, Option<f64>)> {
    (
        prop::option::of(10.0..500.0f64),
        prop::option::of(0.0..500.0f64),
    )
        .prop_map(|(low, above)| (low, above.map(|above| low.unwrap_or(0.0) + above)))
}

proptest! {
    #[test]
    fn an_answer_holds_for_every_value_that_the_doubt_allows(
        value in 0.0..1000.0f64, expanded in 0.0..300.0f64, (low, high) in limits(), share in -0.999..0.999f64,
    ) {
        let possible = value + share * expanded;
        let truly_inside = low.is_none_or(|low| possible > low) && high.is_none_or(|high| possible < high);
        match judged(value, expanded, low, high).verdict {
            Verdict::WithinLimits => prop_assert!(truly_inside),
            Verdict::OutOfLimits => prop_assert!(!truly_inside),
            _ => {}
        }
    }

    #[test]
    fn more_doubt_never_makes_an_answer(
        value in 0.0..1000.0f64, expanded in 0.0..300.0f64, more in 0.0..300.0f64, (low, high) in limits(),
    ) {
        let certain = judged(value, expanded, low, high).verdict;
        let doubtful = judged(value, expanded + more, low, high).verdict;
        prop_assert!(doubtful == certain || doubtful == Verdict::Marginal, "{certain:?} became {doubtful:?}");
    }

    #[test]
    fn low_and_high_are_mirror_images(
        value in 0.0..1000.0f64, expanded in 0.0..300.0f64, (low, high) in limits(),
    ) {
        let one = judged(value, expanded, low, high);
        let other = judged(-value, expanded, high.map(|high| -high), low.map(|low| -low));
        prop_assert_eq!(one.verdict, other.verdict);
        // Right in the middle of both limits the lower one is named.
        if let (Some(Side::Low), Some(side)) = (one.side, other.side) {
            let middle = low.zip(high).is_some_and(|(low, high)| (high - value - (value - low)).abs() < 1e-9);
            prop_assert!(side == Side::High || middle);
        }
    }
}
