//! The weld map for a terminal.

use super::model::{MappedWeld, WeldMap};
use crate::comparison;
use crate::format;
use crate::log::seal::Seal;
use crate::plain_text::{aligned, line};
use crate::sanitise;
use crate::units::Units;
use crate::verdict::Judged;
use std::fmt::Write;

const MAX_NAME: usize = 36;

/// The map as a table with totals and warnings; ends with a line break.
#[must_use]
pub fn text(map: &WeldMap, units: Units) -> String {
    let mut out = String::new();
    head(&mut out, map);
    for line in aligned(&rows(map, units), &[1, 2]) {
        line!(out, "{line}");
    }
    look_here(&mut out, map);
    inspected(&mut out, map);
    measured(&mut out, map, units);
    foot(&mut out, map);
    out
}

fn head(out: &mut String, map: &WeldMap) {
    let source = &map.source;
    line!(out, "Weld map: {}", sanitise::short(&map.title, 100));
    let mut from = format!("log {}", sanitise::short(&source.log, 60));
    if let Some(device) = &source.device {
        let _ = write!(from, ", logger {}", sanitise::short(device, 24));
    }
    if let Some(started) = source.started_unix_ms {
        let _ = write!(from, ", {}", format::date_and_time(started));
    }
    if let Some(calibrated) = source.calibrated_unix_s {
        let _ = write!(from, ", calibrated {}", format::date(calibrated));
    }
    if let Some(seal) = &source.seal {
        let _ = write!(from, ", {}", seal.word());
    }
    line!(out, "{from}");
    if let Some(seal) = source
        .seal
        .as_ref()
        .filter(|seal| *seal != &Seal::default())
    {
        line!(out, "seal: {}", seal.sentence());
    }
    let totals = &map.totals;
    let counts = [
        (totals.within_limits, "within limits"),
        (totals.marginal, "marginal"),
        (totals.out_of_limits, "out of limits"),
        (totals.not_measured, "not measured"),
        (totals.no_limit, "without limits"),
    ];
    let counts: Vec<String> = counts
        .into_iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, what)| format!("{count} {what}"))
        .collect();
    let welds = format::count(map.welds.len(), "weld");
    line!(out, "{welds}: {}", counts.join(", "));
    line!(out);
}

fn rows(map: &WeldMap, units: Units) -> Vec<[String; 9]> {
    let (heat, _) = format::heat(units);
    let (speed, _) = format::speed(units);
    let mut rows = vec![[
        "no".into(),
        "weld".into(),
        "verdict".into(),
        format!("heat, {}", heat.symbol),
        "allowed".into(),
        "V".into(),
        "A".into(),
        speed.symbol.into(),
        "arc s".into(),
    ]];
    rows.extend(map.welds.iter().map(|weld| row(weld, units)));
    rows
}

fn row(weld: &MappedWeld, units: Units) -> [String; 9] {
    let (heat, heat_in) = format::heat(units);
    let (speed, speed_in) = format::speed(units);
    let measured = weld.start.is_some();
    let arc_time = if measured {
        format!("{:.1}", weld.arc_time.0)
    } else {
        "-".into()
    };
    [
        weld.number.to_string(),
        sanitise::short(&weld.name, MAX_NAME),
        weld.describe_verdict(),
        with_uncertainty(&weld.heat_input, heat.decimals, heat_in),
        weld.heat_input.limits.format(heat.decimals, heat_in),
        value(&weld.voltage, 1, |volts| volts.0),
        value(&weld.current, 0, |amperes| amperes.0),
        value(&weld.travel_speed, speed.decimals, speed_in),
        arc_time,
    ]
}

fn with_uncertainty<T: Copy>(
    judged: &Judged<T>,
    decimals: usize,
    number: impl Fn(T) -> f64,
) -> String {
    judged
        .estimate
        .map_or("-".into(), |one| one.format(decimals, number))
}

fn value<T: Copy>(judged: &Judged<T>, decimals: usize, number: impl Fn(T) -> f64) -> String {
    judged.estimate.map_or("-".into(), |estimate| {
        format!("{:.decimals$}", number(estimate.value))
    })
}

fn look_here(out: &mut String, map: &WeldMap) {
    let flagged: Vec<&MappedWeld> = map
        .welds
        .iter()
        .filter(|weld| !weld.flags.is_empty())
        .collect();
    if flagged.is_empty() {
        return;
    }
    line!(out);
    line!(out, "Look here:");
    for weld in flagged {
        let flags: Vec<String> = weld.flags.iter().map(ToString::to_string).collect();
        line!(out, "  weld {}: {}", weld.number, flags.join("; "));
    }
}

fn inspected(out: &mut String, map: &WeldMap) {
    let seen = map
        .welds
        .iter()
        .filter_map(|weld| Some((weld.number, weld.inspection.as_ref()?)));
    for (place, (number, inspection)) in seen.enumerate() {
        if place == 0 {
            line!(out, "\nInspected:");
        }
        line!(
            out,
            "  weld {number}: {}",
            sanitise::short(&inspection.to_string(), 120)
        );
    }
}

fn measured(out: &mut String, map: &WeldMap, units: Units) {
    if let Some(measured) = &map.measured {
        line!(out, "\n{}", comparison::text(measured, units).trim_end());
    }
}

fn foot(out: &mut String, map: &WeldMap) {
    let totals = &map.totals;
    line!(out);
    line!(
        out,
        "Arc time {}, energy {:.1} ± {:.1} kJ, first arc to last arc {}{}",
        span(totals.arc_time.0),
        totals.energy.value.0 / 1000.0,
        totals.energy.expanded.0 / 1000.0,
        span(totals.elapsed.0),
        totals
            .operating_factor
            .map(|factor| format!(", operating factor {:.0} %", 100.0 * factor))
            .unwrap_or_default()
    );
    let beads = map.beads.len();
    line!(
        out,
        "{}: {} on welds, {}, {} extra or scrap, {} replaced",
        format::count(beads, "bead"),
        beads - totals.tacks - totals.extra - totals.replaced,
        format::count(totals.tacks, "tack"),
        totals.extra,
        totals.replaced
    );
    if !map.order.out_of_order.is_empty() {
        line!(
            out,
            "Not in the planned order: {}",
            format::list(&map.order.out_of_order)
        );
    }
    line!(
        out,
        "Heat input is per run; ± is the expanded uncertainty (k = 2)."
    );
    for warning in &map.warnings {
        line!(out, "Note: {warning}");
    }
}

/// "12 s", "3 min 05 s", "2 h 10 min".
fn span(seconds: f64) -> String {
    let whole = seconds.round().max(0.0) as u64;
    match whole {
        0..60 => format!("{whole} s"),
        60..3600 => format!("{} min {:02} s", whole / 60, whole % 60),
        _ => format!("{} h {:02} min", whole / 3600, whole / 60 % 60),
    }
}
