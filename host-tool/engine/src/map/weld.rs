//! One weld of the map: its runs, their verdicts, and what to look at.

use super::measure::{self, Beads};
use super::model::{Decision, Flag, MappedBead, MappedRun, MappedWeld};
use crate::job::model::{Job, Weld};
use crate::limits::Limits;
use crate::log::Log;
use crate::matching::{Basis, CERTAIN_FROM, Matching, Role};
use crate::procedure::model::Procedure;
use crate::verdict::{Estimate, Judged, Quantity, Side, Verdict};
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::{Millimetres, Seconds};
use std::ops::{Add, Sub};

/// A weld with what was measured on it. Its places in the order and its flags follow when all welds are known.
pub fn map_weld(
    job: &Job,
    log: &Log,
    length_within: Millimetres,
    weld: &Weld,
    beads: &[MappedBead],
) -> MappedWeld {
    let procedure = &job.procedures[weld.procedure];
    let length = Uncertain::rectangular(weld.length().0, length_within.0);
    let counts = |bead: &&MappedBead| matches!(bead.role, Role::Weld { weld: number, .. } if number == weld.number);
    let mine: Vec<&MappedBead> = beads.iter().filter(counts).collect();
    let runs: Vec<MappedRun> = (1..=weld.runs)
        .filter_map(|run| map_run(log, procedure, length, run, &mine))
        .collect();
    let replaced = beads
        .iter()
        .filter(|bead| bead.role == Role::Replaced { weld: weld.number });
    let (verdict, decided_by) = overall(&runs, weld.runs);
    let worst_heat = runs
        .iter()
        .reduce(|a, b| worse(a, b, &a.heat_input, &b.heat_input));
    MappedWeld {
        number: weld.number,
        name: weld.name.clone(),
        procedure: procedure.name.clone(),
        process: procedure.process,
        length: Estimate {
            value: Millimetres(length.value),
            expanded: Millimetres(length.expanded()),
        },
        verdict,
        decided_by,
        heat_input: worst(&runs, procedure.heat_input, |run| run.heat_input),
        voltage: worst(&runs, procedure.voltage, |run| run.voltage),
        current: worst(&runs, procedure.current, |run| run.current),
        travel_speed: worst(&runs, procedure.travel_speed, |run| run.travel_speed),
        arc_energy: worst_heat.and_then(|run| run.arc_energy),
        power: worst_heat.and_then(|run| run.power),
        planned_heat_input: procedure.planned_heat_input,
        arc_time: runs
            .iter()
            .fold(Seconds(0.0), |sum, run| sum + run.arc_time),
        planned_arc_time: weld.planned_arc_time(procedure),
        energy: measure::sum(runs.iter().map(|run| run.energy)),
        planned_runs: weld.runs,
        beads: mine.iter().map(|bead| bead.number).collect(),
        replaced_beads: replaced.map(|bead| bead.number).collect(),
        start: mine.first().map(|bead| bead.start),
        end: mine.last().map(|bead| bead.end),
        restarts: mine.iter().map(|bead| bead.restarts).sum::<u32>()
            + u32::try_from(mine.len() - runs.len()).unwrap_or(u32::MAX),
        planned_place: 0,
        done_place: None,
        confidence: mine.iter().map(|bead| bead.confidence).reduce(f64::min),
        whole: true,
        flags: Vec::new(),
        inspection: None,
        runs,
    }
}

fn map_run(
    log: &Log,
    procedure: &Procedure,
    length: Uncertain,
    number: u8,
    mine: &[&MappedBead],
) -> Option<MappedRun> {
    let in_run = |bead: &&&MappedBead| matches!(bead.role, Role::Weld { run, .. } if run == number);
    let beads: Vec<&MappedBead> = mine.iter().filter(in_run).copied().collect();
    if beads.is_empty() {
        return None;
    }
    let sum = Beads::new(log, &beads);
    let heat = sum.heat(length, procedure.process);
    let allowed = procedure.for_run(number);
    let mut run = MappedRun {
        number,
        beads: beads.iter().map(|bead| bead.number).collect(),
        verdict: Verdict::NotMeasured,
        heat_input: Judged::new(heat.map(|heat| heat.heat_input), allowed.heat_input),
        voltage: Judged::new(sum.voltage(), allowed.voltage),
        current: Judged::new(sum.current(), allowed.current),
        travel_speed: Judged::new(sum.travel_speed(length), allowed.travel_speed),
        arc_energy: heat.map(|heat| heat.arc_energy),
        power: sum.power(),
        energy: sum.energy(),
        arc_time: sum.arc_time(),
    };
    run.verdict = quantities(&run)
        .into_iter()
        .map(|(_, verdict, _)| verdict)
        .max()?;
    Some(run)
}

fn quantities(run: &MappedRun) -> [(Quantity, Verdict, Option<Side>); 4] {
    [
        (
            Quantity::HeatInput,
            run.heat_input.verdict,
            run.heat_input.side,
        ),
        (Quantity::Voltage, run.voltage.verdict, run.voltage.side),
        (Quantity::Current, run.current.verdict, run.current.side),
        (
            Quantity::TravelSpeed,
            run.travel_speed.verdict,
            run.travel_speed.side,
        ),
    ]
}

/// The worst verdict of all runs and quantities, and the first that gave it. A missing run is not measured.
fn overall(runs: &[MappedRun], planned: u8) -> (Verdict, Option<Decision>) {
    let mut verdict = if runs.len() < usize::from(planned) {
        Verdict::NotMeasured
    } else {
        Verdict::NoLimit
    };
    let mut decision = None;
    for run in runs {
        for (quantity, own, side) in quantities(run) {
            if own > verdict {
                verdict = own;
                decision = side.map(|side| Decision {
                    quantity,
                    side,
                    run: run.number,
                });
            }
        }
    }
    (verdict, decision)
}

fn worse<'a, T>(
    a: &'a MappedRun,
    b: &'a MappedRun,
    of_a: &Judged<T>,
    of_b: &Judged<T>,
) -> &'a MappedRun {
    if of_b.verdict > of_a.verdict { b } else { a }
}

/// The quantity as it is in the run where it fares worst.
fn worst<T>(
    runs: &[MappedRun],
    limits: Limits<T>,
    of: impl Fn(&MappedRun) -> Judged<T>,
) -> Judged<T>
where
    T: Copy + PartialOrd + Add<Output = T> + Sub<Output = T>,
{
    runs.iter()
        .map(of)
        .reduce(|a, b| if b.verdict > a.verdict { b } else { a })
        .unwrap_or_else(|| Judged::new(None, limits))
}

/// An arc time this many times longer or shorter than the welder's other welds lead to expect is worth a look.
const UNUSUAL: f64 = 1.6;

/// Puts on a weld what to look at.
pub fn flag_weld(
    weld: &mut MappedWeld,
    matching: &Matching,
    out_of_order: &[u16],
    beads: &[MappedBead],
) {
    let mine: Vec<&MappedBead> = beads
        .iter()
        .filter(|bead| weld.beads.contains(&bead.number))
        .collect();
    let uncertain = weld
        .confidence
        .is_some_and(|confidence| confidence < CERTAIN_FROM);
    let by_hand = mine.iter().any(|bead| bead.basis == Basis::Hand);
    let own = [
        (weld.restarts > 0).then_some(Flag::Restarted {
            times: weld.restarts,
        }),
        by_hand.then_some(Flag::AssignedByHand),
        uncertain.then_some(Flag::UncertainMatch),
        runs_missing(weld),
        (!weld.replaced_beads.is_empty()).then_some(Flag::Redone {
            beads: weld.replaced_beads.len(),
        }),
        matching
            .skipped
            .contains(&weld.number)
            .then_some(Flag::Skipped),
        out_of_order
            .contains(&weld.number)
            .then_some(Flag::OutOfOrder),
        unusual_arc_time(weld, matching),
    ];
    let mut flags = measure::merged_flags(&mine);
    flags.extend(own.into_iter().flatten());
    weld.flags = flags;
}

fn runs_found(weld: &MappedWeld) -> u8 {
    u8::try_from(weld.runs.len()).unwrap_or(u8::MAX)
}

fn runs_missing(weld: &MappedWeld) -> Option<Flag> {
    let (found, planned) = (runs_found(weld), weld.planned_runs);
    (found > 0 && found < planned).then_some(Flag::RunsMissing { found, planned })
}

/// Far from the planned arc time, beside how the welder's other welds compare with theirs.
fn unusual_arc_time(weld: &MappedWeld, matching: &Matching) -> Option<Flag> {
    let found = runs_found(weld);
    let ratio = weld.arc_time / weld.planned_arc_time;
    let share = f64::from(found) / f64::from(weld.planned_runs.max(1));
    let beside = ratio / (matching.arc_time_ratio * share);
    (found > 0 && !(1.0 / UNUSUAL..=UNUSUAL).contains(&beside))
        .then_some(Flag::UnusualArcTime { ratio })
}
