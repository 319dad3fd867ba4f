//! The engine's answer to each virtual experiment: reads rows (JSON Lines) from standard input and writes them with an
//! `engine` list beside `results`. `NAME=VALUE` sets a coefficient of the joints, for fitting.

mod joints;

use coldsquare_engine::formulas::joint_shrinkage::JointCoefficients;
use serde_json::Value;
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
        row["engine"] = joints::answer(&row, &coefficients).into();
        writeln!(out, "{row}").expect("standard output can be written");
    }
    ExitCode::SUCCESS
}
