//! From a job and a log to the weld map.

use super::measure::{self, Beads};
use super::model::{Decision, Flag, MappedBead, MappedRun, MappedWeld, Source, Totals, WeldMap};
use super::{order, warn};
use crate::job::model::{Job, Weld};
use crate::log::{Log, SourceKind};
use crate::matching::{
    Assignment, Basis, BeadTime, CERTAIN_FROM, ExpectedWeld, MatchError, Matching, Question, Role,
    Said, SaidKind, match_beads,
};
use crate::procedure::model::Procedure;
use crate::verdict::{Estimate, Judged, Quantity, Side, Verdict};
use coldsquare_core::record::{ClockSource, Marker, MarkerKind};
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::{Joules, Millimetres, Seconds};

/// What the user can set.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Weld numbers in the order planned, each once; empty for the order drawn.
    pub order: Vec<u16>,
    /// The user's word on single beads.
    pub by_hand: Vec<Assignment>,
    /// Arc times below this are tacks; `None` to let the job decide.
    pub tack_below: Option<Seconds>,
    /// A weld's length is the drawn one within plus or minus this, with equal chance: where the arc really started
    /// and stopped. 0 or more.
    pub length_within: Millimetres,
    /// Most points in the trace of a bead, 2 or more.
    pub trace_points: usize,
}

impl Default for Settings {
    /// Order drawn, nothing by hand, lengths within 1 mm (common practice, no source), 120 points.
    fn default() -> Self {
        Self {
            order: Vec::new(),
            by_hand: Vec::new(),
            tack_below: None,
            length_within: Millimetres(1.0),
            trace_points: 120,
        }
    }
}

/// Matches, measures and judges.
///
/// # Errors
/// [`MatchError`] when an assignment or the order does not fit the job and the log.
pub fn build(job: &Job, log: &Log, settings: &Settings) -> Result<WeldMap, MatchError> {
    let planned = if settings.order.is_empty() {
        job.welds.iter().map(|weld| weld.number).collect()
    } else {
        crate::order::check_numbers(&settings.order, job.welds.len())?;
        settings.order.clone()
    };
    let matching = ask(job, log, settings, &planned)?;
    let beads: Vec<MappedBead> = log
        .beads
        .iter()
        .zip(&matching.places)
        .map(|(logged, place)| measure::bead(log, logged, place, settings.trace_points))
        .collect();
    let order = order::order(&planned, &beads);
    let welds = job.welds.iter().map(|weld| {
        let mut mapped = map_weld(job, log, settings, weld, &beads);
        mapped.planned_place = place_in(&order.planned, weld.number).unwrap_or_default();
        mapped.done_place = place_in(&order.done, weld.number);
        flag_weld(&mut mapped, &matching, &order.out_of_order, &beads);
        mapped
    });
    let welds: Vec<MappedWeld> = welds.collect();
    Ok(WeldMap {
        measured: None,
        title: job.name.clone(),
        source: source(log),
        totals: totals(&welds, &beads),
        warnings: warn::warnings(job, log, &matching, &order, &beads),
        welds,
        beads,
        order,
    })
}

fn place_in(order: &[u16], weld: u16) -> Option<usize> {
    order
        .iter()
        .position(|&other| other == weld)
        .map(|index| index + 1)
}

fn ask(job: &Job, log: &Log, settings: &Settings, planned: &[u16]) -> Result<Matching, MatchError> {
    let welds: Vec<ExpectedWeld> = planned
        .iter()
        .filter_map(|&number| job.welds.get(usize::from(number).checked_sub(1)?))
        .map(|weld| ExpectedWeld {
            number: weld.number,
            arc_time: weld.planned_arc_time(&job.procedures[weld.procedure]),
            runs: weld.runs,
        })
        .collect();
    let beads: Vec<BeadTime> = log
        .beads
        .iter()
        .map(|logged| BeadTime {
            number: logged.bead.number,
            start: logged.start,
            end: logged.start + logged.duration,
            arc_time: Seconds(logged.arc_time.value),
        })
        .collect();
    let said: Vec<Said> = log
        .markers
        .iter()
        .filter_map(|marker| said(log, marker))
        .collect();
    match_beads(&Question {
        welds: &welds,
        beads: &beads,
        said: &said,
        by_hand: &settings.by_hand,
        tack_below: settings.tack_below,
    })
}

fn said(log: &Log, marker: &Marker) -> Option<Said> {
    let kind = match marker.kind {
        MarkerKind::NextWeld => SaidKind::Next,
        MarkerKind::Done => SaidKind::Done,
        MarkerKind::Skip => SaidKind::Skip,
        MarkerKind::Redo => SaidKind::Redo,
        MarkerKind::Scrap => SaidKind::Scrap,
        MarkerKind::Undo => SaidKind::Undo,
        MarkerKind::Note => return None,
    };
    Some(Said {
        at: log.seconds(marker.position),
        kind,
        weld: marker.weld,
    })
}

fn map_weld(
    job: &Job,
    log: &Log,
    settings: &Settings,
    weld: &Weld,
    beads: &[MappedBead],
) -> MappedWeld {
    let procedure = &job.procedures[weld.procedure];
    let length = Uncertain::rectangular(weld.length().0, settings.length_within.0);
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

/// The worst verdict of all runs and quantities, and the first that gave it. A run that is missing is not measured.
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

/// The quantity of the run that fares worst in it.
fn worst<T>(
    runs: &[MappedRun],
    limits: crate::procedure::limits::Limits<T>,
    of: impl Fn(&MappedRun) -> Judged<T>,
) -> Judged<T>
where
    T: Copy + PartialOrd + std::ops::Add<Output = T> + std::ops::Sub<Output = T>,
{
    runs.iter()
        .map(of)
        .reduce(|a, b| if b.verdict > a.verdict { b } else { a })
        .unwrap_or_else(|| Judged::new(None, limits))
}

/// An arc time this many times longer or shorter than the welder's own pace lets expect is worth a look.
const UNUSUAL: f64 = 1.6;

fn flag_weld(
    weld: &mut MappedWeld,
    matching: &Matching,
    out_of_order: &[u16],
    beads: &[MappedBead],
) {
    let mine: Vec<&MappedBead> = beads
        .iter()
        .filter(|bead| weld.beads.contains(&bead.number))
        .collect();
    let mut flags = measure::merged_flags(&mine);
    if weld.restarts > 0 {
        flags.push(Flag::Restarted {
            times: weld.restarts,
        });
    }
    if mine.iter().any(|bead| bead.basis == Basis::Hand) {
        flags.push(Flag::AssignedByHand);
    }
    if weld
        .confidence
        .is_some_and(|confidence| confidence < CERTAIN_FROM)
    {
        flags.push(Flag::InDoubt);
    }
    let found = u8::try_from(weld.runs.len()).unwrap_or(u8::MAX);
    if found > 0 && found < weld.planned_runs {
        flags.push(Flag::RunsMissing {
            found,
            planned: weld.planned_runs,
        });
    }
    if !weld.replaced_beads.is_empty() {
        flags.push(Flag::Redone {
            beads: weld.replaced_beads.len(),
        });
    }
    if matching.skipped.contains(&weld.number) {
        flags.push(Flag::Skipped);
    }
    if out_of_order.contains(&weld.number) {
        flags.push(Flag::OutOfOrder);
    }
    let ratio = weld.arc_time / weld.planned_arc_time;
    let share = f64::from(found) / f64::from(weld.planned_runs.max(1));
    let beside = ratio / (matching.pace * share);
    if found > 0 && !(1.0 / UNUSUAL..=UNUSUAL).contains(&beside) {
        flags.push(Flag::UnusualArcTime { ratio });
    }
    weld.flags = flags;
}

fn totals(welds: &[MappedWeld], beads: &[MappedBead]) -> Totals {
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
    let nothing = Estimate {
        value: Joules(0.0),
        expanded: Joules(0.0),
    };
    Totals {
        inside: count(Verdict::Inside),
        on_the_edge: count(Verdict::OnTheEdge),
        outside: count(Verdict::Outside),
        not_measured: count(Verdict::NotMeasured),
        no_limit: count(Verdict::NoLimit),
        tacks: roles(|role| *role == Role::Tack),
        extra: roles(|role| matches!(role, Role::Extra | Role::Scrap)),
        replaced: roles(|role| matches!(role, Role::Replaced { .. })),
        arc_time,
        energy: measure::sum(beads.iter().map(|bead| bead.energy)).unwrap_or(nothing),
        elapsed,
        operating_factor: (elapsed.0 > 0.0).then(|| (arc_time / elapsed).min(1.0)),
    }
}

fn source(log: &Log) -> Source {
    let header = log.header_at(0);
    let file = log.source.path.file_name().unwrap_or_default();
    let ours = matches!(log.source.kind, SourceKind::Logger { .. });
    let said = |text: &str| (ours && !text.is_empty()).then(|| text.to_string());
    let calibration = &header.calibration;
    Source {
        log: file.to_string_lossy().into_owned(),
        device: said(&header.device),
        firmware: said(&header.firmware),
        started_unix_ms: log.unix_ms(0),
        clock: header.clock.map(|clock| {
            let words = match clock.source {
                ClockSource::ByHand => "set by hand",
                ClockSource::RealTimeClock => "battery clock",
                ClockSource::Host => "set by the computer",
            };
            words.to_string()
        }),
        sample_rate_hz: calibration.sample_rate_hz,
        calibrated_unix_s: (header.calibrated_unix_s > 0).then_some(header.calibrated_unix_s),
        voltage_gain_expanded: 2.0 * calibration.voltage.gain_relative_uncertainty,
        current_gain_expanded: 2.0 * calibration.current.gain_relative_uncertainty,
        software: env!("CARGO_PKG_VERSION").to_string(),
    }
}
