//! The plan as a text to print and pin to the wall.

use super::model::{FurtherMeasures, CUT_SHORT, Face, Gain, Method, Plan, Step, Time, StepKind};
use super::reasons::duration;
use super::travel::{faces_up, way as travel};
use crate::units::Units;
use coldsquare_core::units::Millimetres;
use std::fmt::Write;

/// The whole plan: steps, comparison with habits, cautions.
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
            "The job has no weld: there is nothing to put in order."
        );
    }
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
    writeln!(out)?;
    if plan.cut_short {
        writeln!(out, "Cut short: {CUT_SHORT}.")?;
    }
    writeln!(out, "{}", on_the_bench(&plan.time))?;
    if !plan.goal.is_empty() {
        let goal = plan.goal.join(", ");
        writeln!(
            out,
            "What counts most: {goal}; everything else counts a tenth."
        )?;
    }
    match plan.method {
        Method::Exact => writeln!(
            out,
            "No order with as few turns has a smaller {} on the way.",
            plan.gauge.name
        )?,
        Method::Search { .. } if plan.order().len() == 1 => {
            writeln!(out, "One weld: there is no other order.")?;
        }
        Method::Search { trials } => writeln!(
            out,
            "The best of {trials} orders tried (seed {}).",
            plan.seed
        )?,
    }
    writeln!(out)?;
    comparison(out, plan, units)?;
    writeln!(out)?;
    if let Some(found) = &plan.further_measures {
        beyond(out, found, units)?;
        writeln!(out)?;
    }
    for caution in &plan.cautions {
        writeln!(out, "Caution: {caution}")?;
    }
    Ok(())
}

/// "About 50 min on the bench: 6 min of arc, …": all that takes time.
#[must_use]
pub fn on_the_bench(time: &Time) -> String {
    let parts = [
        (time.arc, "of arc"),
        (time.between_arcs, "between arcs"),
        (time.walking, "walking"),
        (time.flipping, "turning the frame over"),
        (time.joints_cooling, "waiting for joints to cool"),
        (time.machine_resting, "letting the machine rest"),
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

fn beyond(out: &mut String, found: &FurtherMeasures, units: Units) -> std::fmt::Result {
    if found.gains.is_empty() {
        return writeln!(out, "Beyond the order: {NOTHING_BEYOND}.");
    }
    writeln!(
        out,
        "Beyond the order, each by itself; the frame as planned moves {} in the end:",
        mm(found.left_mm, units)
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

/// Said where no clamp and no pre-set helps.
pub const NO_FURTHER_MEASURES: &str = "no clamp, pre-set or longer cut that was tried would be noticed";

/// "saves 0.8 ± 0.5 mm".
#[must_use]
pub fn saved(gain: &Gain, units: Units) -> String {
    let [saves, doubt] = [gain.saves_mm, gain.plus_minus_mm];
    match units {
        Units::Metric => format!("saves {saves:.2} ± {doubt:.2} mm"),
        Units::UsCustomary => format!(
            "saves {:.3} ± {:.3} in",
            Millimetres(saves).inches(),
            Millimetres(doubt).inches()
        ),
    }
}

fn mm(mm: f64, units: Units) -> String {
    match units {
        Units::Metric => format!("{mm:.2} mm"),
        Units::UsCustomary => format!("{:.3} in", Millimetres(mm).inches()),
    }
}

fn comparison(out: &mut String, plan: &Plan, units: Units) -> std::fmt::Result {
    writeln!(out, "{}, {}", plan.gauge.name, plan.gauge.unit)?;
    writeln!(
        out,
        "  {:<16}{:>10}{:>10}{:>8}{:>12}",
        "order", "greatest", "at end", "turns", "walk"
    )?;
    let trade_orders = plan.trade_orders.iter().map(|habit| (habit.name, habit.score));
    for (name, score) in [("this plan", plan.score)].into_iter().chain(trade_orders) {
        writeln!(
            out,
            "  {name:<16}{:>10.1}{:>10.1}{:>8}{:>12}",
            score.peak,
            score.last,
            score.flips,
            way(score.walk_mm, units)
        )?;
    }
    Ok(())
}

fn way(mm: u64, units: Units) -> String {
    match units {
        Units::Metric => format!("{:.1} m", mm as f64 / 1000.0),
        Units::UsCustomary => format!("{:.0} ft", Millimetres(mm as f64).inches() / 12.0),
    }
}

fn row(step: &Step, face_up: Face, units: Units) -> [String; 4] {
    let (what, how) = match &step.what {
        StepKind::Tack { name, at, .. } => {
            let count = match at.len() {
                1 => "1 tack".to_string(),
                n => format!("{n} tacks"),
            };
            (format!("tack {}", plain(name)), count)
        }
        StepKind::Flip { up } => {
            let up = match up {
                Face::Front => "front up",
                Face::Back => "back up",
            };
            ("TURN THE FRAME OVER".into(), up.into())
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
                format!(", piece {} of {}", p.number, p.of)
            });
            let what = format!("weld {weld}  {}{piece}", plain(name));
            (
                what,
                format!(
                    "{}, {}",
                    travel(from, to, face_up).words,
                    length(from, to, units)
                ),
            )
        }
    };
    [step.number.to_string(), what, how, step.why.clone()]
}

/// Names are the user's; a line break or a control character in one must not break the list.
fn plain(name: &str) -> String {
    name.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

fn length(from: &[f64; 3], to: &[f64; 3], units: Units) -> String {
    let squares = (0..3).map(|k| (to[k] - from[k]) * (to[k] - from[k]));
    let mm = Millimetres(squares.sum::<f64>().sqrt());
    match units {
        Units::Metric => format!("{:.0} mm", mm.0),
        Units::UsCustomary => format!("{:.2} in", mm.inches()),
    }
}
