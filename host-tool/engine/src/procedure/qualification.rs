//! The range of qualification that a welding procedure test gives (ISO 15614-1), thickness and heat input only.
//!
//! **Written from memory of ISO 15614-1:2017, level 2, and not checked against the standard:** butt welds as its
//! Table 7, fillet welds as its Table 8, heat input as its 8.4.8. It helps to find a slip in a file. Whether a
//! procedure is qualified is for the examiner who signed its record to say, under the edition that applies.

use crate::limits::Limits;
use coldsquare_core::units::{JoulesPerMillimetre, Millimetres};

/// Thickest test piece whose range is known here, mm.
pub const MAX_TEST_THICKNESS_MM: f64 = 40.0;

/// The parts of a procedure test that decide its range.
#[derive(Clone, Debug, PartialEq)]
pub struct Qualification {
    /// Number of the test record.
    pub record: String,
    /// Kind of test piece.
    pub joint: TestJoint,
    /// Thickness of the test piece, over 0 up to [`MAX_TEST_THICKNESS_MM`].
    pub thickness: Millimetres,
    /// Whether it was welded in a single run from the side.
    pub single_run: bool,
    /// Heat input in the test, where it is controlled.
    pub heat_input: Option<JoulesPerMillimetre>,
    /// Whether toughness was tested: bounds the heat input from above.
    pub impact: bool,
    /// Whether hardness was tested: bounds the heat input from below.
    pub hardness: bool,
}

/// Kind of test piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TestJoint {
    /// Butt weld.
    Butt,
    /// Fillet weld.
    Fillet,
}

impl Qualification {
    /// Thickness of the parent metal that the test covers (t: thickness of the test piece).
    ///
    /// Butt, single run: 0.7t to 1.3t up to t = 3, then 0.5t (at least 3) to 1.3t up to t = 12, then 0.5t to 1.1t.
    /// Butt, several runs: 0.7t to 2t up to t = 3, then 3 to 2t up to t = 12, then 0.5t to 2t.
    /// Fillet: 0.7t to 2t up to t = 3, then 0.5t (at least 3) to 2t below t = 30, then 5 and more.
    /// From memory; see the module.
    #[must_use]
    pub fn thickness_range(&self) -> Limits<Millimetres> {
        let t = self.thickness.0;
        let (low, high) = match (self.joint, self.single_run) {
            (TestJoint::Butt, true) if t <= 3.0 => (0.7 * t, Some(1.3 * t)),
            (TestJoint::Butt, true) if t <= 12.0 => ((0.5 * t).max(3.0), Some(1.3 * t)),
            (TestJoint::Butt, true) => (0.5 * t, Some(1.1 * t)),
            (_, _) if t <= 3.0 => (0.7 * t, Some(2.0 * t)),
            (TestJoint::Butt, false) if t <= 12.0 => (3.0, Some(2.0 * t)),
            (TestJoint::Butt, false) => (0.5 * t, Some(2.0 * t)),
            (TestJoint::Fillet, _) if t < 30.0 => ((0.5 * t).max(3.0), Some(2.0 * t)),
            (TestJoint::Fillet, _) => (5.0, None),
        };
        Limits {
            low: Some(Millimetres(low)),
            high: high.map(Millimetres),
        }
    }

    /// Heat input that the test covers: up to 25 % above the test where toughness was tested, down to 25 % below where
    /// hardness was. From memory; see the module.
    #[must_use]
    pub fn heat_input_range(&self) -> Limits<JoulesPerMillimetre> {
        let times =
            |applies: bool, factor: f64| self.heat_input.filter(|_| applies).map(|q| q * factor);
        Limits {
            low: times(self.hardness, 0.75),
            high: times(self.impact, 1.25),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn test_piece(joint: TestJoint, thickness: f64, single_run: bool) -> Qualification {
        Qualification {
            record: "7".into(),
            joint,
            thickness: Millimetres(thickness),
            single_run,
            heat_input: Some(JoulesPerMillimetre(400.0)),
            impact: false,
            hardness: false,
        }
    }

    /// ISO 15614-1:2017, Tables 7 and 8, from memory.
    #[test]
    fn thickness_follows_the_rows_of_the_table() {
        use TestJoint::{Butt, Fillet};
        for (joint, t, single, low, high) in [
            (Butt, 2.0, true, 1.4, Some(2.6)),
            (Butt, 2.0, false, 1.4, Some(4.0)),
            (Butt, 5.0, true, 3.0, Some(6.5)),
            (Butt, 10.0, true, 5.0, Some(13.0)),
            (Butt, 10.0, false, 3.0, Some(20.0)),
            (Butt, 20.0, true, 10.0, Some(22.0)),
            (Butt, 20.0, false, 10.0, Some(40.0)),
            (Fillet, 3.0, true, 2.1, Some(6.0)),
            (Fillet, 10.0, true, 5.0, Some(20.0)),
            (Fillet, 30.0, false, 5.0, None),
        ] {
            let range = test_piece(joint, t, single).thickness_range();
            assert!(
                (range.low.expect("a least").0 - low).abs() < 1e-9,
                "{joint:?} {t}"
            );
            assert_eq!(range.high.is_some(), high.is_some(), "{joint:?} {t}");
            if let (Some(found), Some(high)) = (range.high, high) {
                assert!((found.0 - high).abs() < 1e-9, "{joint:?} {t}");
            }
        }
    }

    /// ISO 15614-1:2017, 8.4.8, from memory.
    #[test]
    fn heat_is_bounded_only_where_a_test_asks_for_it() {
        let free = test_piece(TestJoint::Butt, 3.0, true);
        assert_eq!(free.heat_input_range(), Limits::OPEN);
        let tested = Qualification {
            impact: true,
            hardness: true,
            ..free
        };
        assert_eq!(
            tested.heat_input_range().low,
            Some(JoulesPerMillimetre(300.0))
        );
        assert_eq!(
            tested.heat_input_range().high,
            Some(JoulesPerMillimetre(500.0))
        );
    }
}
