//! Sums over the log, and where its numbers come from.

use super::measure;
use super::model::{MappedBead, MappedWeld, Source, Totals};
use crate::log::{Log, SourceKind};
use crate::matching::Role;
use crate::verdict::{Estimate, Verdict};
use coldsquare_core::record::ClockSource;
use coldsquare_core::units::{Joules, Seconds};

/// Counts and sums.
pub fn totals(welds: &[MappedWeld], beads: &[MappedBead]) -> Totals {
    let count = |verdict: Verdict| welds.iter().filter(|weld| weld.verdict == verdict).count();
    let roles = |wanted: fn(&Role) -> bool| beads.iter().filter(|bead| wanted(&bead.role)).count();
    let arc_time = beads
        .iter()
        .fold(Seconds(0.0), |sum, bead| sum + bead.arc_time);
    let start = beads.first().map_or(Seconds(0.0), |bead| bead.start);
    let end = beads.iter().fold(
        start,
        |end, bead| if bead.end > end { bead.end } else { end },
    );
    let elapsed = end - start;
    let none = Estimate {
        value: Joules(0.0),
        expanded: Joules(0.0),
    };
    Totals {
        within_limits: count(Verdict::WithinLimits),
        marginal: count(Verdict::Marginal),
        out_of_limits: count(Verdict::OutOfLimits),
        not_measured: count(Verdict::NotMeasured),
        no_limit: count(Verdict::NoLimit),
        tacks: roles(|role| *role == Role::Tack),
        extra: roles(|role| matches!(role, Role::Extra | Role::Scrap)),
        replaced: roles(|role| matches!(role, Role::Replaced { .. })),
        arc_time,
        energy: measure::sum(beads.iter().map(|bead| bead.energy)).unwrap_or(none),
        elapsed,
        operating_factor: (elapsed.0 > 0.0).then(|| (arc_time / elapsed).min(1.0)),
    }
}

/// What was measured, with what, when.
pub fn source(log: &Log) -> Source {
    let header = log.header_at(0);
    let file = log.source.path.file_name().unwrap_or_default();
    let ours = matches!(log.source.kind, SourceKind::Logger { .. });
    let known = |text: &str| (ours && !text.is_empty()).then(|| text.to_string());
    let calibration = &header.calibration;
    Source {
        log: file.to_string_lossy().into_owned(),
        device: known(&header.device),
        firmware: known(&header.firmware),
        seal: (ours || log.seal.named.is_some()).then(|| log.seal.clone()),
        started_unix_ms: log.unix_ms(0),
        clock: header.clock.map(|clock| {
            let name = match clock.source {
                ClockSource::ByHand => "set by hand",
                ClockSource::RealTimeClock => "battery clock",
                ClockSource::Host => "set by the computer",
            };
            name.to_string()
        }),
        sample_rate_hz: calibration.sample_rate_hz,
        calibrated_unix_s: (header.calibrated_unix_s > 0).then_some(header.calibrated_unix_s),
        voltage_gain_expanded: 2.0 * calibration.voltage.gain_relative_uncertainty,
        current_gain_expanded: 2.0 * calibration.current.gain_relative_uncertainty,
        software: env!("CARGO_PKG_VERSION").to_string(),
    }
}
