//! The notes on a map.

use super::model::{Flag, MappedBead, Order, Warning};
use crate::job::model::Job;
use crate::log::{Log, SourceKind};
use crate::matching::{CERTAIN_FROM, Matching, Role};
use coldsquare_core::units::Seconds;

/// All notes, worst first.
pub fn warnings(
    job: &Job,
    log: &Log,
    matching: &Matching,
    order: &Order,
    beads: &[MappedBead],
) -> Vec<Warning> {
    let with = |wanted: &dyn Fn(&MappedBead) -> bool| -> Vec<u32> {
        beads
            .iter()
            .filter(|bead| wanted(bead))
            .map(|bead| bead.number)
            .collect()
    };
    let flagged = |wanted: fn(&Flag) -> bool| with(&|bead| bead.flags.iter().any(wanted));
    let beads_that = |numbers: Vec<u32>, warning: fn(Vec<u32>) -> Warning| {
        (!numbers.is_empty()).then(|| warning(numbers))
    };
    let clipped = |flag: &Flag| {
        matches!(
            flag,
            Flag::VoltageClipped { .. } | Flag::CurrentClipped { .. }
        )
    };
    let uncertain = |bead: &MappedBead| bead.confidence < CERTAIN_FROM;
    let header = log.header_at(0);
    let ours = matches!(log.source.kind, SourceKind::Logger { .. });
    let found = [
        holes(log),
        beads_that(flagged(|flag| *flag == Flag::Reversed), Warning::Reversed),
        other_process(job, log),
        (log.waveform_uncertainty() > 0.0).then_some(Warning::SlowRecording {
            rate_hz: header.calibration.sample_rate_hz,
        }),
        beads_that(flagged(clipped), Warning::Clipped),
        (!order.missing.is_empty()).then(|| Warning::WeldsMissing(order.missing.clone())),
        beads_that(with(&|bead| bead.role == Role::Extra), Warning::ExtraBeads),
        beads_that(with(&uncertain), Warning::UncertainBeads),
        (header.calibrated_unix_s == 0 && ours).then_some(Warning::NeverCalibrated),
        header.clock.is_none().then_some(Warning::NoClock),
    ];
    let unknown = matching.unknown_in_markers.iter();
    found
        .into_iter()
        .flatten()
        .chain(unknown.map(|&weld| Warning::UnknownWeldInMarker { weld }))
        .chain(log.report.notes.iter().cloned().map(Warning::Log))
        .collect()
}

fn holes(log: &Log) -> Option<Warning> {
    let (mut places, mut time, mut records) = (0, Seconds(0.0), 0);
    for hole in super::holes::open(log) {
        places += 1;
        time = time + (log.seconds(hole.until) - log.seconds(hole.from));
        records += hole.records;
    }
    (places > 0).then_some(Warning::Holes {
        places,
        time,
        records,
    })
}

fn other_process(job: &Job, log: &Log) -> Option<Warning> {
    let in_log = log.header_at(0).process?;
    let mut processes = job.procedures.iter().map(|procedure| procedure.process);
    (!processes.any(|process| process == in_log)).then(|| Warning::OtherProcess {
        log: in_log,
        job: job.procedures[0].process,
    })
}
