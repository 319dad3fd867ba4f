//! Preheat after EN 1011-2, method B.

use coldsquare_core::units::{Celsius, JoulesPerMillimetre, Millimetres};
use coldsquare_engine::formulas::preheat::{PreheatAdvice, PreheatCase, advise};
use coldsquare_tests::{assert_close, assert_printed};

fn case(cet: f64, thickness: f64, hydrogen: f64, heat_kj_mm: f64) -> PreheatCase {
    PreheatCase {
        cet_percent: cet,
        thickness: Millimetres(thickness),
        hydrogen_ml_100g: hydrogen,
        heat_input: JoulesPerMillimetre::from_kilojoules_per_millimetre(heat_kj_mm),
    }
}

/// SEW 088 Beiblatt 1, °C: 700·CET + 160·tanh(d/35) + 62·HD^0.35 + (53·CET − 32)·Q − 330. C.8 has 697·CET and 328.
fn older_form(values: &PreheatCase) -> f64 {
    values.temperature().unwrap().0 + (700.0 - 697.0) * values.cet_percent - (330.0 - 328.0)
}

// C.8 of EN 1011-2, after Uwer and Höhne: latteier-schweisstechnik.de, Wissen, 2020. The older form: SEW 088
// Beiblatt 1, in "Verbindungen im Stahl- und Verbundbau". No worked number was found in print; these are our
// own arithmetic.
#[test]
fn preheat_of_both_forms() {
    for (values, c8, sew) in [
        (case(0.30, 30.0, 5.0, 1.5), "77.02", "75.92"),
        (case(0.40, 50.0, 5.0, 1.0), "191.52", "190.72"),
        (case(0.25, 20.0, 5.0, 1.0), "19.03", "17.78"),
    ] {
        assert_printed(values.temperature().unwrap().0, c8);
        assert_printed(older_form(&values), sew);
    }
}

// Identity: C.3 + C.4 + C.5 + C.6 = C.8 (the part equations are from memory; that they close speaks for them).
#[test]
fn the_shares_add_up_to_the_preheat() {
    for cet in [0.2, 0.31, 0.5] {
        for thickness in [10.0, 33.0, 90.0] {
            for hydrogen in [1.0, 5.0, 20.0] {
                for heat in [0.5, 1.7, 4.0] {
                    let values = case(cet, thickness, hydrogen, heat);
                    let sum = values.shares().unwrap().sum();
                    assert_close(sum.0, values.temperature().unwrap().0, 1e-10, 0.0);
                }
            }
        }
    }
}

// "Verbindungen im Stahl- und Verbundbau": S355 from about 25 mm needs 100 °C to 250 °C. A CET of 0.35 with 5
// ml/100 g at 1 kJ/mm is within common practice for it, no source.
#[test]
fn s355_of_thirty_millimetres_is_preheated() {
    let PreheatAdvice::To(temperature) =
        advise(&case(0.35, 30.0, 5.0, 1.0), Celsius(20.0)).unwrap()
    else {
        panic!("S355 of 30 mm needs preheat");
    };
    assert!((100.0..250.0).contains(&temperature.0), "{temperature:?}");
}

// The same source: S235 in usual thickness needs no preheat. CET about 0.25: 0.14 % C, 1 % Mn (common
// practice). The thin walls of light frames are below the range of method B, and the answer is still a safe
// one.
#[test]
fn thin_s235_needs_no_preheat_and_the_tool_says_so() {
    for (thickness, heat) in [(1.5, 0.15), (3.0, 0.24), (10.0, 0.6), (16.0, 1.0)] {
        let advice = advise(&case(0.25, thickness, 5.0, heat), Celsius(20.0)).unwrap();
        let PreheatAdvice::NotNeeded { at_most } = advice else {
            panic!("{thickness} mm of S235: {advice:?}");
        };
        assert!(at_most.0 <= 20.0, "{at_most:?}");
    }
}

// With less heat than the range C.8 itself would ask for more, so the bound must not fall below it, down to no heat at all.
#[test]
fn the_bound_holds_below_the_heat_of_the_range() {
    for (cet, heat) in [(0.2, 0.01), (0.25, 0.15), (0.25, 0.49)] {
        let c8 = 697.0 * cet
            + 160.0 * (10.0f64 / 35.0).tanh()
            + 62.0 * 5.0f64.powf(0.35)
            + (53.0 * cet - 32.0) * heat
            - 328.0;
        let advice = advise(&case(cet, 3.0, 5.0, heat), Celsius(30.0)).unwrap();
        let PreheatAdvice::NotNeeded { at_most } = advice else {
            panic!("{advice:?}");
        };
        assert!(
            at_most.0 >= c8 && at_most.0 < c8 + 16.0,
            "{at_most:?} against {c8}"
        );
    }
}

#[test]
fn out_of_range_names_range_and_clause() {
    for (values, quantity) in [
        (
            case(0.55, 30.0, 5.0, 1.0),
            "carbon equivalent CET is 0.55 %; give 0.2 to 0.5 %",
        ),
        (
            case(0.40, 120.0, 5.0, 1.0),
            "plate thickness is 120 mm; give 10 to 90 mm",
        ),
        (
            case(0.40, 30.0, 0.5, 1.0),
            "hydrogen content is 0.5 ml/100 g; give 1 to 20 ml/100 g",
        ),
        (
            case(0.40, 30.0, 5.0, 0.2),
            "heat input is 0.2 kJ/mm; give 0.5 to 4 kJ/mm",
        ),
    ] {
        for error in [
            values.temperature().unwrap_err(),
            values.shares().unwrap_err(),
            advise(&values, Celsius(20.0)).unwrap_err(),
        ] {
            let text = error.to_string();
            assert!(
                text.contains(quantity) && text.contains("EN 1011-2:2001, C.3"),
                "{text}"
            );
        }
    }
}
