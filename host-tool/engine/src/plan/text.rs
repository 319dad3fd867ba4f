//! The plan as text to print and pin to the wall.

use super::model::{FurtherMeasures, Gain, Method, Plan, STOPPED_EARLY, Step, StepKind, Time};
use super::reasons::duration;
use super::travel::{Up, faces_up, travel};
use crate::format::{Precision, count, number};
use crate::sanitise::plain;
use crate::units::Units;
use coldsquare_core::units::Millimetres;
use std::fmt::Write;

/// The whole plan: steps, comparison with trade orders, further measures, cautions.
#[must_use]
pub fn text(plan: &Plan, units: Units) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = write(&mut out, plan, units);
    out
}

fn write(out: &mut String, plan: &Plan, units: Units) -> std::fmt::Result {
    writeln!(out, "{}: order of welding", plain(&plan.title))?;
    writeln!(out)?;
    if plan.steps.is_empty() {
        return writeln!(
            out,
            "The job has no welds, so there is nothing to put in order."
        );
    }
    steps(out, plan, units)?;
    writeln!(out)?;
    if plan.stopped_early {
        writeln!(out, "Stopped early: {STOPPED_EARLY}.")?;
    }
    writeln!(out, "{}", on_the_bench(&plan.time))?;
    if !plan.goal.is_empty() {
        let goal = plan.goal.join(", ");
        writeln!(out, "Goal: {goal}; everything else counts a tenth.")?;
    }
    method(out, plan)?;
    writeln!(out)?;
    comparison(out, plan, units)?;
    writeln!(out)?;
    if let Some(found) = &plan.further_measures {
        further_measures(out, found, units)?;
        writeln!(out)?;
    }
    for caution in &plan.cautions {
        writeln!(out, "Caution: {caution}")?;
    }
    Ok(())
}

/// The steps as a table.
fn steps(out: &mut String, plan: &Plan, units: Units) -> std::fmt::Result {
    let steps = plan.steps.iter().zip(faces_up(plan));
    let rows: Vec<[String; 4]> = steps.map(|(step, up)| row(step, up, units)).collect();
    let width = |k: usize| rows.iter().map(|r| r[k].chars().count()).max().unwrap_or(0);
    let widths = [width(0), width(1), width(2)];
    for [number, what, how, why] in &rows {
        let line = format!(
            "{number:>a$}  {what:<b$}  {how:<c$}  {why}",
            a = widths[0],
            b = widths[1],
            c = widths[2]
        );
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}

fn method(out: &mut String, plan: &Plan) -> std::fmt::Result {
    match plan.method {
        Method::Exact => writeln!(
            out,
            "No order with as few flips has a smaller {} on the way.",
            plan.gauge.name
        ),
        Method::Search { .. } if plan.order().len() == 1 => {
            writeln!(out, "One weld: there is no other order.")
        }
        Method::Search { trials } => {
            writeln!(out, "Best of {trials} orders tried (seed {}).", plan.seed)
        }
    }
}

/// "About 50 min on the bench: 6 min of arc, …": all that takes time.
#[must_use]
pub fn on_the_bench(time: &Time) -> String {
    let parts = [
        (time.arc, "of arc"),
        (time.between_arcs, "between arcs"),
        (time.walking, "walking"),
        (time.flipping, "flipping the frame"),
        (time.joints_cooling, "waiting for joints to cool"),
        (time.machine_resting, "letting the machine cool"),
    ];
    let parts = parts.iter().filter(|(time, _)| time.0 >= 0.5);
    let parts: Vec<String> = parts
        .map(|(time, what)| format!("{} {what}", duration(*time)))
        .collect();
    format!(
        "About {} on the bench: {}.",
        duration(time.total),
        parts.join(", ")
    )
}

fn further_measures(out: &mut String, found: &FurtherMeasures, units: Units) -> std::fmt::Result {
    if found.gains.is_empty() {
        return writeln!(out, "Further measures: {NO_FURTHER_MEASURES}.");
    }
    writeln!(
        out,
        "Further measures, each on its own; as planned, the frame moves {} in the end:",
        units.length_with_unit(found.left_mm, Precision::Calculated)
    )?;
    for (place, gain) in (1..).zip(&found.gains) {
        writeln!(
            out,
            "  {place}. {}: {}",
            plain(&gain.advice),
            saved(gain, units)
        )?;
    }
    Ok(())
}

/// What is said where no further measure helps.
pub const NO_FURTHER_MEASURES: &str =
    "none of the clamps, pre-cambers or longer cuts tried would make a difference you could see";

/// "saves 0.8 ± 0.5 mm".
#[must_use]
pub fn saved(gain: &Gain, units: Units) -> String {
    format!(
        "saves {} ± {}",
        units.length(gain.saves_mm, Precision::Calculated),
        units.length_with_unit(gain.plus_minus_mm, Precision::Calculated)
    )
}

fn comparison(out: &mut String, plan: &Plan, units: Units) -> std::fmt::Result {
    // Movements are kept in mm and printed as the job's lengths; the shrinkage balance has no length.
    let (unit, decimals) = match (plan.gauge.unit, units) {
        ("mm", Units::UsCustomary) => (units.length_symbol(), 3),
        (unit, _) => (unit, 1),
    };
    let score_in = |value: f64| {
        let is_inch = unit == Units::UsCustomary.length_symbol();
        number(
            if is_inch {
                Millimetres(value).inches()
            } else {
                value
            },
            decimals,
        )
    };
    writeln!(out, "{}, {unit}", plan.gauge.name)?;
    writeln!(
        out,
        "  {:<16}{:>10}{:>10}{:>8}{:>12}",
        "order", "greatest", "at end", "flips", "walk"
    )?;
    let trade_orders = plan
        .trade_orders
        .iter()
        .map(|order| (order.name, order.score));
    for (name, score) in [("this plan", plan.score)].into_iter().chain(trade_orders) {
        writeln!(
            out,
            "  {name:<16}{:>10}{:>10}{:>8}{:>12}",
            score_in(score.peak),
            score_in(score.last),
            score.flips,
            units.total_length(Millimetres(score.walk_mm as f64))
        )?;
    }
    Ok(())
}

fn row(step: &Step, face_up: Up, units: Units) -> [String; 4] {
    let (what, how) = match &step.what {
        StepKind::Tack { name, at, .. } => {
            (format!("tack {}", plain(name)), count(at.len(), "tack"))
        }
        StepKind::Flip { up } => {
            let up = up.name(face_up.seen_from);
            ("FLIP THE FRAME".into(), format!("{up} up"))
        }
        StepKind::ReleaseClamp { clamp, member, .. } => (
            format!("TAKE CLAMP {clamp} OFF  {}", plain(member)),
            "stand clear".into(),
        ),
        StepKind::Weld {
            weld,
            name,
            part,
            from,
            to,
            ..
        } => {
            let part = part.map_or(String::new(), |p| {
                format!(", part {} of {}", p.number, p.of)
            });
            let what = format!("weld {weld}  {}{part}", plain(name));
            (
                what,
                format!(
                    "{}, {}",
                    travel(from, to, face_up).text,
                    length(from, to, units)
                ),
            )
        }
    };
    [step.number.to_string(), what, how, step.why.clone()]
}

fn length(from: &[f64; 3], to: &[f64; 3], units: Units) -> String {
    let squares = (0..3).map(|k| (to[k] - from[k]) * (to[k] - from[k]));
    units.length_with_unit(squares.sum::<f64>().sqrt(), Precision::Mark)
}
