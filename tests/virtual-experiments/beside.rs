//! The engine's answer to each virtual experiment: reads rows (JSON Lines) from standard input and writes them with an
//! `engine` list beside `results`. `NAME=VALUE` sets a coefficient of the joints, for fitting.

mod joints;

use coldsquare_engine::formulas::joint_shrinkage::JointCoefficients;
use coldsquare_engine::movement::joint_measures::{BLADE_MM, JOINT_STANDARD_MM};
use coldsquare_engine::shop::factor::Factors;
use serde_json::{Map, Value};
use std::io::{BufRead, Write};
use std::process::ExitCode;

fn main() -> ExitCode {
    let mut coefficients = JointCoefficients::FITTED;
    for argument in std::env::args().skip(1) {
        let set = argument.split_once('=').is_some_and(|(name, value)| {
            value
                .parse()
                .is_ok_and(|value| coefficients.set(name, value))
        });
        if !set {
            eprintln!(
                "beside: '{argument}' is not NAME=NUMBER with one of {}",
                JointCoefficients::NAMES.join(", ")
            );
            return ExitCode::from(2);
        }
    }
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let line = line.expect("standard input can be read");
        let mut row: Value = serde_json::from_str(&line).expect("a row is JSON");
        let factors = Factors::starting();
        let found = joints::answer(&row, &coefficients, &factors);
        let varied = factors
            .each_changed()
            .map(|changed| joints::answer(&row, &coefficients, &changed));
        row["engine_standard"] = standard(&found, &varied).into();
        row["engine"] = found.into();
        writeln!(out, "{row}").expect("standard output can be written");
    }
    ExitCode::SUCCESS
}

/// The standard uncertainty of each result: the changes that the uncertainty of each factor makes, summed in squares; a
/// lean or a corner has one of its own.
fn standard(found: &[Value], varied: &[Vec<Value>]) -> Vec<Value> {
    let one = |step: usize, name: &str, value: &Value| -> f64 {
        let number = |value: &Value| value.as_f64().unwrap_or(0.0);
        let factors = varied
            .iter()
            .map(|other| number(&other[step][name]) - number(value));
        let own = if name.starts_with("bar_lean")
            || name.starts_with("corner")
            || name.starts_with("legs")
        {
            1e3 * JOINT_STANDARD_MM / BLADE_MM
        } else {
            0.0
        };
        factors
            .chain([own])
            .map(|change| change * change)
            .sum::<f64>()
            .sqrt()
    };
    let steps = found.iter().enumerate().map(|(step, results)| {
        let results = results.as_object().into_iter().flatten();
        let all: Map<String, Value> = results
            .map(|(name, value)| (name.clone(), one(step, name, value).into()))
            .collect();
        Value::from(all)
    });
    steps.collect()
}
