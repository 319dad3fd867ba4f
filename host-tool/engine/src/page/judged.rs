//! A quantity of a weld in the reader's units: for a table cell, for a small gauge, and for the script.

use super::scene::round;
use crate::drawing::palette;
use crate::drawing::svg::number;
use crate::format::{self, Column};
use crate::map::model::{MappedRun, MappedWeld};
use crate::units::Units;
use crate::verdict::Judged;
use maud::{Markup, html};
use serde::Serialize;

/// Numbers as printed, already in the reader's units.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Shown {
    /// The same for every weld: the script reads it once, from [`Heading`].
    #[serde(skip)]
    pub decimals: usize,
    pub value: Option<f64>,
    pub uncertainty: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub class: &'static str,
}

/// What is the same for a quantity of all welds.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Heading {
    name: &'static str,
    unit: &'static str,
    decimals: usize,
}

/// Heat input, volts, amps, travel speed.
pub(super) fn headings(units: Units) -> [Heading; 4] {
    let heading = |name, how: Column| Heading {
        name,
        unit: how.symbol,
        decimals: how.decimals,
    };
    [
        heading("heat input", format::heat(units).0),
        heading("voltage", VOLTS),
        heading("current", AMPS),
        heading("travel speed", format::speed(units).0),
    ]
}

const VOLTS: Column = Column {
    symbol: "V",
    name: "volts",
    decimals: 1,
};
const AMPS: Column = Column {
    symbol: "A",
    name: "amps",
    decimals: 0,
};

fn shown<T: Copy>(judged: &Judged<T>, how: Column, to: impl Fn(T) -> f64) -> Shown {
    // Two digits more than are printed: enough for a gauge, and short.
    let to = |x| round(to(x), 10_f64.powi(how.decimals as i32 + 2));
    Shown {
        decimals: how.decimals,
        value: judged.estimate.map(|e| to(e.value)),
        uncertainty: judged.estimate.map(|e| to(e.expanded)),
        low: judged.limits.low.map(&to),
        high: judged.limits.high.map(&to),
        class: palette::class(judged.verdict),
    }
}

/// Heat input, volts, amps, travel speed.
pub(super) fn of_weld(weld: &MappedWeld, units: Units) -> [Shown; 4] {
    let (heat, to_heat) = format::heat(units);
    let (speed, to_speed) = format::speed(units);
    [
        shown(&weld.heat_input, heat, to_heat),
        shown(&weld.voltage, VOLTS, |v| v.0),
        shown(&weld.current, AMPS, |a| a.0),
        shown(&weld.travel_speed, speed, to_speed),
    ]
}

/// As [`of_weld`], for one run.
pub(super) fn of_run(run: &MappedRun, units: Units) -> [Shown; 4] {
    let (heat, to_heat) = format::heat(units);
    let (speed, to_speed) = format::speed(units);
    [
        shown(&run.heat_input, heat, to_heat),
        shown(&run.voltage, VOLTS, |v| v.0),
        shown(&run.current, AMPS, |a| a.0),
        shown(&run.travel_speed, speed, to_speed),
    ]
}

impl Shown {
    /// "0.24 ± 0.03", or a dash.
    pub(super) fn with_uncertainty(&self) -> String {
        match (self.value, self.uncertainty) {
            (Some(value), Some(uncertainty)) => {
                format!("{value:.0$} ± {uncertainty:.0$}", self.decimals)
            }
            _ => "–".into(),
        }
    }

    /// "0.24", or a dash.
    pub(super) fn plain(&self) -> String {
        let decimals = self.decimals;
        self.value
            .map_or("–".into(), |value| format!("{value:.decimals$}"))
    }

    /// "0.15 to 0.35".
    pub(super) fn limits(&self) -> String {
        let decimals = self.decimals;
        match (self.low, self.high) {
            (Some(low), Some(high)) => format!("{low:.decimals$} to {high:.decimals$}"),
            (Some(low), None) => format!("from {low:.decimals$}"),
            (None, Some(high)) => format!("up to {high:.decimals$}"),
            (None, None) => "no limit".into(),
        }
    }

    /// Lowest and highest number on the gauge, so that limits and value lie within.
    fn range(&self) -> (f64, f64) {
        let (value, uncertainty) = (self.value, self.uncertainty.unwrap_or(0.0));
        let numbers = [
            self.low,
            self.high,
            value.map(|v| v - uncertainty),
            value.map(|v| v + uncertainty),
        ];
        let numbers = numbers.iter().flatten();
        let low = numbers.clone().fold(f64::INFINITY, |a, b| a.min(*b));
        let high = numbers.fold(f64::NEG_INFINITY, |a, b| a.max(*b));
        if !(high - low).is_finite() {
            return (0.0, 1.0);
        }
        let room = ((high - low) * 0.2).max(1e-9);
        (low - room, high + room)
    }

    /// A gauge for a table cell: the limits as a band, the value as a stroke, its uncertainty as a bar.
    pub(super) fn gauge(&self) -> Markup {
        let Some(value) = self.value else {
            return Markup::default();
        };
        let (low, high) = self.range();
        let x = |value: f64| number(((value - low) / (high - low) * 120.0).clamp(0.0, 120.0));
        let uncertainty = self.uncertainty.unwrap_or(0.0);
        let from = self.low.map_or("0".into(), x);
        let to = self.high.map_or("120".into(), x);
        html! {
            svg.gauge.small.(self.class) viewBox="0 0 120 20" width="120" height="20" aria-hidden="true" {
                path.axis d="M0,10H120" {}
                path.band d={ "M" (from) ",4H" (to) "V16H" (from) "Z" } {}
                path.uncertainty d={ "M" (x(value - uncertainty)) ",10H" (x(value + uncertainty)) } {}
                path.value d={ "M" (x(value)) ",1V19" } {}
            }
        }
    }
}
