//! How uncertainties combine: JCGM 100:2008 (GUM), against the formulas and against Monte Carlo.

use coldsquare_core::uncertainty::{Uncertain, rectangular};
use coldsquare_engine::formulas::uncertainty::product_of_powers;
use coldsquare_tests::{assert_close, assert_printed};

/// Heat input Q = k · U · I / v with relative standard uncertainties of volts, amps and speed.
fn heat_input(voltage: f64, current: f64, speed: f64) -> Uncertain {
    product_of_powers(&[
        (Uncertain::exact(0.8), 1.0),
        (Uncertain::from_relative(20.0, voltage), 1.0),
        (Uncertain::from_relative(100.0, current), 1.0),
        (Uncertain::from_relative(8.0, speed), -1.0),
    ])
    .expect("ordinary values")
}

// JCGM 100:2008, 5.1.6, eq. 12 (formula from memory of the standard; the percentages are our own arithmetic
// from it).
#[test]
fn relative_uncertainties_of_volts_amps_and_speed_add_in_quadrature() {
    for (voltage, current, speed, percent) in [
        (0.025, 0.025, 0.05, "6.1237"),
        (0.01, 0.01, 0.02, "2.4495"),
        (0.1, 0.1, 0.05, "15.000"),
    ] {
        let heat = heat_input(voltage, current, speed);
        assert_close(heat.value, 200.0, 0.0, 1e-15);
        assert_printed(100.0 * heat.relative().expect("not zero"), percent);
        assert_close(heat.expanded(), 2.0 * heat.standard, 0.0, 1e-15);
    }
}

// JCGM 100:2008, 4.3.7 (from memory): a tolerance ± a without a distribution counts as a / √3.
// The half width here is the ± 2.5 % to which power sources are commonly validated (EN 60974-14, a power-source
// maker's validation page).
#[test]
fn a_tolerance_counts_as_a_rectangular_distribution() {
    assert_printed(rectangular(2.5), "1.4434");
    assert_printed(Uncertain::rectangular(24.0, 0.6).standard, "0.34641");
}

// JCGM 100:2008, 5.1.6, eq. 12: travel speed is length over time, so its uncertainty has two parts.
#[test]
fn uncertainty_of_speed_comes_from_length_and_time() {
    let length = Uncertain {
        value: 300.0,
        standard: 3.0,
    };
    let time = Uncertain {
        value: 40.0,
        standard: 0.8,
    };
    let speed = product_of_powers(&[(length, 1.0), (time, -1.0)]).expect("ordinary values");
    assert_close(speed.value, 7.5, 0.0, 1e-15);
    assert_printed(100.0 * speed.relative().expect("not zero"), "2.2361");
}

#[test]
fn a_zero_among_the_factors_keeps_its_uncertainty() {
    let current = Uncertain {
        value: 0.0,
        standard: 0.5,
    };
    let power = product_of_powers(&[(current, 1.0), (Uncertain::from_relative(60.0, 0.01), 1.0)])
        .expect("zero amperes are a fact");
    assert_close(power.value, 0.0, 0.0, 0.0);
    assert_close(power.standard, 30.0, 0.0, 1e-15);
    let speed = product_of_powers(&[(current, -1.0)]);
    assert!(speed.is_err(), "nothing per zero has no value: {speed:?}");
}

#[test]
fn a_uncertainty_is_never_negative_whatever_the_sign_of_the_value() {
    let reversed = Uncertain::from_relative(-20.0, 0.05);
    assert_close(reversed.standard, 1.0, 0.0, 1e-15);
    assert_close(reversed.relative().expect("not zero"), 0.05, 0.0, 1e-15);
    let kilovolts = reversed.scaled(-0.001);
    assert_close(kilovolts.value, 0.02, 0.0, 1e-15);
    assert_close(kilovolts.standard, 0.001, 0.0, 1e-15);
    assert_eq!(Uncertain::exact(0.0).relative(), None);
}

/// Normal deviates by the polar method from a fixed xorshift stream: the same numbers on every run.
struct Normal {
    state: u64,
}

impl Normal {
    fn uniform(&mut self) -> f64 {
        self.state ^= self.state << 13;
        self.state ^= self.state >> 7;
        self.state ^= self.state << 17;
        (self.state >> 11) as f64 / (1u64 << 53) as f64
    }

    fn next(&mut self) -> f64 {
        loop {
            let (x, y) = (2.0 * self.uniform() - 1.0, 2.0 * self.uniform() - 1.0);
            let s = x * x + y * y;
            if s > 0.0 && s < 1.0 {
                return x * (-2.0 * s.ln() / s).sqrt();
            }
        }
    }

    fn draw(&mut self, x: Uncertain) -> f64 {
        x.value + x.standard * self.next()
    }
}

fn mean_and_deviation(draws: &[f64]) -> (f64, f64) {
    let n = draws.len() as f64;
    let mean = draws.iter().sum::<f64>() / n;
    let variance = draws.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (mean, variance.sqrt())
}

// JCGM 101:2008 (propagation of distributions) is the reference method for JCGM 100. 200 000 draws know a standard
// deviation to 0.16 %; the first-order law itself is off by about u_rel² = 0.4 % at these uncertainties.
#[test]
fn combination_agrees_with_monte_carlo() {
    const DRAWS: usize = 200_000;
    let mut normal = Normal {
        state: 0x9E37_79B9_7F4A_7C15,
    };
    let (voltage, current, speed) = (
        Uncertain::from_relative(19.0, 0.025),
        Uncertain::from_relative(105.0, 0.025),
        Uncertain::from_relative(9.2, 0.05),
    );
    let product: Vec<f64> = (0..DRAWS)
        .map(|_| normal.draw(voltage) * normal.draw(current) / normal.draw(speed))
        .collect();
    let law = product_of_powers(&[(voltage, 1.0), (current, 1.0), (speed, -1.0)])
        .expect("ordinary values");
    let (mean, deviation) = mean_and_deviation(&product);
    assert_close(mean, law.value, 0.0, 0.005);
    assert_close(deviation, law.standard, 0.0, 0.01);
}

#[test]
fn what_is_no_uncertainty_is_refused_by_name() {
    let negative = Uncertain {
        value: 1.0,
        standard: -0.1,
    };
    let error = product_of_powers(&[(negative, 1.0)]).expect_err("an uncertainty below zero");
    assert_eq!(
        error.to_string(),
        "combined standard uncertainty: the standard uncertainty is -0.1; give 0 or more (JCGM 100:2008, 5.1)"
    );
    assert!(product_of_powers(&[(Uncertain::exact(f64::NAN), 1.0)]).is_err());
}
