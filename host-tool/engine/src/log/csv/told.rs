//! What is told of the columns: why a pair was taken, and the table of a refusal.

use super::evidence::{Pair, quantile, range, rises};
use super::layout::Layout;

/// Why the columns were not found, with a table of them.
pub(super) fn refused(why: &str, layout: &Layout, content: &[Vec<f64>]) -> String {
    let mut text = format!(
        "{why}. Say which columns they are with --time, --volts and --amps, by number or heading:\n"
    );
    for (at, values) in content.iter().enumerate() {
        let heading = layout
            .heading(at)
            .map_or(String::new(), |heading| format!(" '{heading}'"));
        let holds = match range(values) {
            Some((least, median, most)) => format!("{least} to {most}, median {median}"),
            None => "no numbers".to_owned(),
        };
        text += &format!("  {}{heading}: {holds}{}\n", at + 1, guess(values));
    }
    text.trim_end().to_owned()
}

/// What a column looks like, for the table of a refusal.
fn guess(values: &[f64]) -> &'static str {
    if rises(values).is_some() {
        return "; rises as time does";
    }
    let Some(high) = quantile(values.iter().map(|value| value.abs()), 0.9) else {
        return "";
    };
    let still = values.windows(2).filter(|pair| pair[0] == pair[1]).count();
    match high {
        _ if still * 100 > values.len() * 98 => "; hardly moves, as a command does",
        high if (8.0..=60.0).contains(&high) => "; could be volts",
        high if (60.0..=1000.0).contains(&high) => "; could be amps",
        _ => "",
    }
}

/// Why a pair was taken, and which came next.
pub(super) fn told(best: &Pair, next: Option<&Pair>) -> String {
    let mut text = format!(
        "volts are column {} and amps column {}, by what they hold: about {:.1} V and {:.0} A while the arc burns",
        best.volts + 1,
        best.amps + 1,
        best.levels.0,
        best.levels.1
    );
    if let Some(next) = next {
        text += &format!(
            "; next likely {} and {} ({:.0} points to {:.0})",
            next.volts + 1,
            next.amps + 1,
            best.points,
            next.points
        );
    }
    text + " (--volts, --amps)"
}
