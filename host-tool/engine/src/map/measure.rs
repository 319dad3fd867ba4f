//! Volts, amps, power and heat of beads, and of several beads together.
//!
//! The errors of beads measured by one instrument go the same way together (gain, zero, clock), so the uncertainties of
//! a sum are added as they are, not by squares: a little too much rather than too little.

use super::holes;
use super::model::{Flag, MappedBead};
use super::trace::trace;
use crate::formulas::heat_input::heat_input;
use crate::formulas::uncertainty::product_of_powers;
use crate::log::side::Side;
use crate::log::{Log, LoggedBead};
use crate::matching::BeadMatch;
use crate::verdict::Estimate;
use coldsquare_core::calibration::Channel;
use coldsquare_core::meter::{Measured, Polarity};
use coldsquare_core::process::Process;
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use coldsquare_core::units::{
    Amperes, Joules, JoulesPerMillimetre, MillimetresPerSecond, Seconds, Volts, Watts,
};

/// Measures a bead.
pub fn bead(log: &Log, logged: &LoggedBead, found: &BeadMatch, trace_points: usize) -> MappedBead {
    let bead = &logged.bead;
    let calibration = &log.header_at(bead.start).calibration;
    let energy = logged
        .measured
        .as_ref()
        .ok()
        .map(Measured::uncertain_energy);
    let burning = logged.burning;
    MappedBead {
        number: bead.number,
        role: found.role,
        basis: found.basis,
        confidence: found.confidence,
        or_else: found.or_else,
        start: logged.start,
        end: logged.start + logged.duration,
        arc_time: Seconds(logged.arc_time.value),
        voltage: burning.map(|measured| {
            let value = typical(&measured, measured.mean_voltage.0, measured.rms_voltage.0);
            estimate(uncertain(&calibration.voltage, value), Volts)
        }),
        current: burning.map(|measured| {
            let value = typical(&measured, measured.mean_current.0, measured.rms_current.0);
            estimate(uncertain(&calibration.current, value), Amperes)
        }),
        power: energy
            .and_then(|energy| product_of_powers(&[(energy, 1.0), (logged.arc_time, -1.0)]).ok())
            .map(|power| estimate(power, Watts)),
        energy: energy.map(|energy| estimate(energy, Joules)),
        restarts: bead.restarts.into(),
        flags: holes::not_whole(log, logged)
            .into_iter()
            .chain(flags(log, logged))
            .collect(),
        trace: trace(log, logged, trace_points),
    }
}

/// What a panel meter shows: the magnitude of the mean, or RMS for alternating current.
fn typical(measured: &Measured, mean: f64, rms: f64) -> f64 {
    match measured.polarity {
        Polarity::Alternating => rms,
        _ => mean.abs(),
    }
}

fn uncertain(channel: &Channel, value: f64) -> Uncertain {
    Uncertain {
        value,
        standard: (value * channel.gain_relative_uncertainty).hypot(channel.zero_uncertainty),
    }
}

fn estimate<T>(value: Uncertain, unit: impl Fn(f64) -> T) -> Estimate<T> {
    Estimate {
        value: unit(value.value),
        expanded: unit(value.expanded()),
    }
}

fn flags(log: &Log, logged: &LoggedBead) -> Vec<Flag> {
    let bead = &logged.bead;
    let span = bead.span().max(1) as f64;
    let mut flags = Vec::new();
    if bead.clipped_voltage > 0 {
        let share = f64::from(bead.clipped_voltage) / span;
        flags.push(Flag::VoltageClipped { share });
    }
    if bead.clipped_current > 0 {
        let share = f64::from(bead.clipped_current) / span;
        flags.push(Flag::CurrentClipped { share });
    }
    if bead.dropped > 0 {
        let share = f64::from(bead.dropped) / span;
        flags.push(Flag::SamplesDropped { share });
    }
    let stuck = |side| log.stuck_share(bead, side);
    if let share @ 0.0001.. = stuck(Side::Voltage) {
        flags.push(Flag::VoltageStuck { share });
    }
    if let share @ 0.0001.. = stuck(Side::Current) {
        flags.push(Flag::CurrentStuck { share });
    }
    if let Some(drift) = logged.drift(log) {
        flags.push(Flag::ZeroDrifted { amps: drift.zero_a });
    }
    if logged.suits_no_arc(log) {
        flags.push(Flag::NoArcVoltage);
    }
    match logged.measured.as_ref().map(|measured| measured.polarity) {
        Ok(Polarity::ReversedLead) => flags.push(Flag::Reversed),
        Ok(Polarity::Alternating) => flags.push(Flag::Alternating),
        _ => {}
    }
    if bead.restarts > 0 {
        flags.push(Flag::Restarted {
            times: bead.restarts.into(),
        });
    }
    flags
}

/// Flags of several beads merged for their weld: shares weighted by arc time. Restarts are counted elsewhere.
pub fn merged_flags(beads: &[&MappedBead]) -> Vec<Flag> {
    let whole: f64 = beads.iter().map(|bead| bead.arc_time.0).sum();
    let share = |of: fn(&Flag) -> Option<f64>| {
        let part =
            |bead: &&MappedBead| bead.flags.iter().find_map(of).unwrap_or(0.0) * bead.arc_time.0;
        beads.iter().map(part).sum::<f64>() / whole
    };
    let any = |flag: Flag| {
        beads
            .iter()
            .any(|bead| bead.flags.contains(&flag))
            .then_some(flag)
    };
    let voltage = share(|flag| match flag {
        Flag::VoltageClipped { share } => Some(*share),
        _ => None,
    });
    let current = share(|flag| match flag {
        Flag::CurrentClipped { share } => Some(*share),
        _ => None,
    });
    let dropped = share(|flag| match flag {
        Flag::SamplesDropped { share } => Some(*share),
        _ => None,
    });
    let volts_stuck = share(|flag| match flag {
        Flag::VoltageStuck { share } => Some(*share),
        _ => None,
    });
    let amps_stuck = share(|flag| match flag {
        Flag::CurrentStuck { share } => Some(*share),
        _ => None,
    });
    let drifts = beads
        .iter()
        .flat_map(|bead| &bead.flags)
        .filter_map(|flag| match flag {
            Flag::ZeroDrifted { amps } => Some(*amps),
            _ => None,
        });
    let drift = drifts.max_by(|a, b| a.abs().total_cmp(&b.abs()));
    let pieces: Vec<(bool, bool)> = beads
        .iter()
        .flat_map(|bead| &bead.flags)
        .filter_map(|flag| match flag {
            Flag::NotWhole { start, end } => Some((*start, *end)),
            _ => None,
        })
        .collect();
    let lost = Flag::NotWhole {
        start: pieces.iter().any(|piece| piece.0),
        end: pieces.iter().any(|piece| piece.1),
    };
    [
        (!pieces.is_empty()).then_some(lost),
        any(Flag::AtTheEdge),
        any(Flag::NoArcVoltage),
        (volts_stuck > 0.0).then_some(Flag::VoltageStuck { share: volts_stuck }),
        (amps_stuck > 0.0).then_some(Flag::CurrentStuck { share: amps_stuck }),
        drift.map(|amps| Flag::ZeroDrifted { amps }),
        (voltage > 0.0).then_some(Flag::VoltageClipped { share: voltage }),
        (current > 0.0).then_some(Flag::CurrentClipped { share: current }),
        (dropped > 0.0).then_some(Flag::SamplesDropped { share: dropped }),
        any(Flag::Reversed),
        any(Flag::Alternating),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Sum of energies with their uncertainties; `None` if one of them is not known.
pub fn sum(energies: impl Iterator<Item = Option<Estimate<Joules>>>) -> Option<Estimate<Joules>> {
    energies.reduce(|a, b| {
        let (a, b) = (a?, b?);
        Some(Estimate {
            value: a.value + b.value,
            expanded: a.expanded + b.expanded,
        })
    })?
}

/// Arc energy and heat input of a run.
#[derive(Clone, Copy, Debug)]
pub struct Heat {
    pub arc_energy: Estimate<JoulesPerMillimetre>,
    pub heat_input: Estimate<JoulesPerMillimetre>,
}

/// Beads that make one run.
pub struct Beads<'a> {
    beads: &'a [&'a MappedBead],
    arc_time: Uncertain,
}

impl<'a> Beads<'a> {
    pub fn new(log: &Log, beads: &'a [&'a MappedBead]) -> Self {
        let numbers =
            |logged: &&LoggedBead| beads.iter().any(|bead| bead.number == logged.bead.number);
        let mut arc_time = Uncertain::exact(0.0);
        for logged in log.beads.iter().filter(numbers) {
            arc_time.value += logged.arc_time.value;
            arc_time.standard += logged.arc_time.standard;
        }
        Self { beads, arc_time }
    }

    pub fn arc_time(&self) -> Seconds {
        Seconds(self.arc_time.value)
    }

    pub fn energy(&self) -> Option<Estimate<Joules>> {
        sum(self.beads.iter().map(|bead| bead.energy))
    }

    fn uncertain_energy(&self) -> Option<Uncertain> {
        self.energy().map(|energy| Uncertain {
            value: energy.value.0,
            standard: energy.expanded.0 / COVERAGE_FACTOR,
        })
    }

    pub fn heat(&self, length: Uncertain, process: Process) -> Option<Heat> {
        let heat = heat_input(self.uncertain_energy()?, length, process).ok()?;
        Some(Heat {
            arc_energy: estimate(heat.arc_energy, JoulesPerMillimetre),
            heat_input: estimate(heat.heat_input, JoulesPerMillimetre),
        })
    }

    /// Source: GUM 5.1.6 for length over time.
    pub fn travel_speed(&self, length: Uncertain) -> Option<Estimate<MillimetresPerSecond>> {
        let speed = product_of_powers(&[(length, 1.0), (self.arc_time, -1.0)]).ok()?;
        Some(estimate(speed, MillimetresPerSecond))
    }

    pub fn power(&self) -> Option<Estimate<Watts>> {
        let power = product_of_powers(&[(self.uncertain_energy()?, 1.0), (self.arc_time, -1.0)]);
        Some(estimate(power.ok()?, Watts))
    }

    pub fn voltage(&self) -> Option<Estimate<Volts>> {
        let part = |bead: &MappedBead| bead.voltage.map(|one| (one.value.0, one.expanded.0));
        self.mean(part).map(|(value, expanded)| Estimate {
            value: Volts(value),
            expanded: Volts(expanded),
        })
    }

    pub fn current(&self) -> Option<Estimate<Amperes>> {
        let part = |bead: &MappedBead| bead.current.map(|one| (one.value.0, one.expanded.0));
        self.mean(part).map(|(value, expanded)| Estimate {
            value: Amperes(value),
            expanded: Amperes(expanded),
        })
    }

    /// Mean of values and uncertainties, weighted by arc time.
    fn mean(&self, of: impl Fn(&MappedBead) -> Option<(f64, f64)>) -> Option<(f64, f64)> {
        let (mut value, mut expanded, mut weight) = (0.0, 0.0, 0.0);
        for bead in self.beads {
            let (own_value, own_expanded) = of(bead)?;
            value += own_value * bead.arc_time.0;
            expanded += own_expanded * bead.arc_time.0;
            weight += bead.arc_time.0;
        }
        (weight > 0.0).then(|| (value / weight, expanded / weight))
    }
}
