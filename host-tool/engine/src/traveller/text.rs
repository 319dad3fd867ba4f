//! A traveller as text, for a terminal or a printed sheet.

use super::model::{JobMoney, StepTime, TimeBasis, Traveller, TravellerStep};
use crate::format::{count, number};
use crate::sanitise::{plain, short};
use std::fmt::Write;

/// The whole traveller; ends with a line break.
#[must_use]
pub fn text(traveller: &Traveller) -> String {
    let mut text = format!(
        "{}: traveller, welded in {}\n",
        plain(&traveller.title),
        plain(&traveller.order)
    );
    for (number, step) in traveller.steps.iter().enumerate() {
        let time = traveller
            .times
            .get(number)
            .map_or_else(String::new, minutes);
        let _ = writeln!(text, "\n{}. {}   {time}", number + 1, step.title);
        push_step(&mut text, step);
    }
    let _ = writeln!(text, "\nTime and money\n  {}", total(traveller));
    if let Some(money) = &traveller.money {
        let _ = writeln!(text, "  {}", cost(money));
    }
    text
}

fn push_step(text: &mut String, step: &TravellerStep) {
    for caution in &step.cautions {
        let _ = writeln!(text, "  ! {}", plain(caution));
    }
    for one in &step.to_do {
        let _ = writeln!(text, "  [ ] {}", plain(one));
    }
    for reading in &step.readings {
        let _ = writeln!(
            text,
            "  {} ________  {}",
            plain(&reading.name),
            plain(&reading.expected)
        );
    }
}

/// "25 min, 12 to 50 (estimated)".
#[must_use]
pub fn minutes(time: &StepTime) -> String {
    let minutes = number(time.minutes, 0);
    let [low, high] = time.range_min.map(|value| number(value, 0));
    match time.basis {
        TimeBasis::Logged => format!("{minutes} min (logged)"),
        TimeBasis::Table => format!("{minutes} min, {low} to {high} (estimated)"),
        TimeBasis::Noted {
            factor,
            count: noted,
        } => format!(
            "{minutes} min, {low} to {high} ({} times the estimate, from {})",
            number(factor, 2),
            count(noted, "note")
        ),
    }
}

/// "6.5 hours in all, 3.2 to 13".
#[must_use]
pub fn total(traveller: &Traveller) -> String {
    let hours = |minutes: f64| number(minutes / 60.0, 1);
    format!(
        "{} hours in all, {} to {} (about 95 of 100 jobs). What is not logged is estimated (common practice, no source): \
         note what you spend with `coldsquare traveller JOB --spent \"STEP = 45 min\"`, and the next estimate is nearer.",
        hours(traveller.total_min),
        hours(traveller.range_min[0]),
        hours(traveller.range_min[1])
    )
}

/// "Labour 120.00 EUR, wire, gas and energy 3.20 EUR: 123.20 EUR known".
#[must_use]
pub fn cost(money: &JobMoney) -> String {
    let amount = |value: f64| {
        format!("{value:.2} {}", short(&money.currency, 12))
            .trim_end()
            .to_owned()
    };
    let labour = money.labour.map_or("unknown".into(), amount);
    format!(
        "Labour {labour}; wire, gas and energy {}; {} of what is known. Metal is not in it.",
        money.welding.map_or("unknown".into(), amount),
        amount(money.known_total)
    )
}
