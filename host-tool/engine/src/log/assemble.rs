//! From records to a log: in order, each sample once, beads without a record rebuilt.

use super::error::LogError;
use super::holes;
use super::holes::SequenceGap;
use super::model::{BeadOrigin, Ends, Log, LoggedBead, ReadingReport, Source, SourceKind};
use super::notices::notices;
use super::sampling;
use super::seal::Seal;
use super::side::Side;
use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::meter::{self, Measured, Stretch};
use coldsquare_core::record::{Event, Header, Marker};
use coldsquare_core::uncertainty::{Uncertain, rectangular};
use coldsquare_core::units::{Joules, Seconds};

/// Records in the order in which they were read.
#[derive(Debug, Default)]
pub(super) struct Parts {
    pub headers: Vec<Header>,
    pub windows: Vec<Window>,
    pub beads: Vec<Bead>,
    pub markers: Vec<Marker>,
    pub events: Vec<Event>,
    pub report: ReadingReport,
    /// Where record numbers are missing.
    pub gaps: Vec<SequenceGap>,
    /// What the seals say.
    pub seal: Seal,
}

impl Parts {
    /// Keeps a window. Past a limit, neighbours are merged: sums stay exact, memory stays small, traces get coarser.
    pub fn keep_window(&mut self, window: Window) {
        keep_window(&mut self.windows, window);
    }
}

/// Windows that are kept as they are: 8 hours of welding without a pause.
const MOST_WINDOWS: usize = 1 << 18;

/// See [`Parts::keep_window`].
pub(super) fn keep_window(windows: &mut Vec<Window>, window: Window) {
    windows.push(window);
    // Thinned at the limit, and again each time it comes back to a limit that may have grown.
    if windows.len() >= MOST_WINDOWS && windows.len() == windows.capacity() {
        let before = windows.len();
        thin(windows);
        if windows.len() > before / 4 * 3 {
            windows.reserve(before);
        }
    }
}

/// Merges each pair of neighbours that follow each other with the arc in the same state and fit into one.
fn thin(windows: &mut Vec<Window>) {
    let mut kept = 0;
    let mut at = 0;
    while at < windows.len() {
        let mut window = windows[at];
        at += 1;
        if let Some(next) = windows.get(at)
            && next.arc_on == window.arc_on
            && next.start == window.start + window.span()
            && window.merge(&next.clone())
        {
            at += 1;
        }
        windows[kept] = window;
        kept += 1;
    }
    windows.truncate(kept);
}

/// Makes a log of records.
///
/// # Errors
/// [`LogError::NoHeader`] when there is none.
pub(super) fn assemble(source: Source, mut parts: Parts) -> Result<Log, LogError> {
    if parts.headers.is_empty() {
        return Err(LogError::NoHeader {
            path: source.path,
            counts: parts.beads.iter().map(raw_counts).collect(),
        });
    }
    parts.headers.sort_by_key(|header| header.start);
    let overlapping = order_windows(&mut parts.windows);
    match overlapping {
        0 => {}
        1 => {
            let note = "1 window overlaps an earlier one and was left out";
            parts.report.notes.push(note.into());
        }
        _ => parts.report.notes.push(format!(
            "{overlapping} windows overlap earlier ones and were left out"
        )),
    }
    order_beads(&mut parts.beads);
    let mut log = Log {
        source,
        headers: parts.headers,
        windows: parts.windows,
        beads: Vec::new(),
        markers: parts.markers,
        events: parts.events,
        report: parts.report,
        holes: Vec::new(),
        seal: parts.seal,
    };
    log.holes = holes::holes(&log, &parts.gaps);
    log.report.uncovered_samples = uncovered(&log);
    let rebuilt = rebuild(&log, &parts.beads);
    if !rebuilt.is_empty() {
        let count = rebuilt.len();
        log.report.notes.push(format!(
            "{count} bead{} had no record and {} rebuilt from the windows",
            if count == 1 { "" } else { "s" },
            if count == 1 { "was" } else { "were" },
        ));
    }
    log.beads = merge(&log, &parts.beads, &rebuilt);
    let cuts = holes::power_cuts(&log);
    holes::count_lost_beads(&mut log, &parts.beads, &cuts);
    let ends: Vec<Ends> = log
        .beads
        .iter()
        .map(|bead| holes::ends(&log, bead, &cuts))
        .collect();
    for (bead, ends) in log.beads.iter_mut().zip(ends) {
        bead.ends = ends;
    }
    if matches!(log.source.kind, SourceKind::Logger { .. }) && log.waveform_uncertainty() > 0.0 {
        log.report.notes.push(format!(
            "the logger took {:.0} samples a second, too few for short circuits, pulses or alternating current: \
             energies may be wrong by 30 %, and their uncertainty allows for it; use --steady-arc if the arc was steady",
            log.headers[0].calibration.sample_rate_hz
        ));
    }
    let noticed = notices(&log);
    log.report.notes.extend(noticed);
    let unlikely = unlikely_averages(&log);
    log.report.notes.splice(0..0, unlikely);
    Ok(log)
}

/// Range of arc voltages, V. A recording outside it is in another unit, or of something else. Common practice, no source.
const ARC_VOLTAGES: std::ops::RangeInclusive<f64> = 4.0..=60.0;
/// A current above this, A, needs a higher voltage than the one below it, V: an arc under powder, for instance. Common
/// practice, no source.
const HIGH_CURRENT: f64 = 700.0;
const VOLTS_OF_HIGH_CURRENT: f64 = 28.0;

/// Why these averages are those of no arc, for instance in tenths of volts.
fn why_no_arc(volts: f64, amps: f64) -> Option<String> {
    if !ARC_VOLTAGES.contains(&volts) {
        return Some(format!(
            "{volts:.0} V is not an arc voltage: is the column in tenths of volts (--volts-scale 0.1), or is it \
             another column (--volts)?"
        ));
    }
    (amps > HIGH_CURRENT && volts < VOLTS_OF_HIGH_CURRENT).then(|| {
        format!(
            "no arc of {volts:.0} V carries {amps:.0} A: is the column in tenths of amps (--amps-scale 0.1), or is it \
             another column (--amps)?"
        )
    })
}

impl LoggedBead {
    /// True for a bead of a recording whose volts and amps are those of no arc.
    #[must_use]
    pub fn suits_no_arc(&self, log: &Log) -> bool {
        let is_recording = matches!(log.source.kind, SourceKind::Recording(_));
        let why = |burning: Measured| why_no_arc(burning.rms_voltage.0, burning.rms_current.0);
        is_recording && self.burning.and_then(why).is_some()
    }
}

/// A note on a recording with averages that are those of no arc.
fn unlikely_averages(log: &Log) -> Option<String> {
    let middle = |of: fn(&Measured) -> f64| -> Option<f64> {
        let measured = |logged: &LoggedBead| logged.measured.as_ref().ok().map(of);
        let mut found: Vec<f64> = log.beads.iter().filter_map(measured).collect();
        found.sort_by(f64::total_cmp);
        found.get(found.len() / 2).copied()
    };
    let is_recording = matches!(log.source.kind, SourceKind::Recording(_));
    let volts = middle(|measured| measured.rms_voltage.0)?;
    let amps = middle(|measured| measured.rms_current.0)?;
    why_no_arc(volts, amps).filter(|_| is_recording)
}

/// A bead in the counts of its logger.
fn raw_counts(bead: &Bead) -> String {
    let n = bead.sums.n.max(1) as f64;
    format!(
        "bead {}: {} samples with the arc on, mean counts {:.1} (voltage) and {:.1} (current), mean product {:.0}",
        bead.number,
        bead.arc_samples,
        bead.sums.v as f64 / n,
        bead.sums.i as f64 / n,
        bead.sums.vi as f64 / n
    )
}

/// Sorts windows and removes those that overlap an earlier one; returns how many.
fn order_windows(windows: &mut Vec<Window>) -> usize {
    windows.sort_by_key(|window| window.start);
    let before = windows.len();
    let mut end = 0;
    windows.retain(|window| {
        let keep = window.start >= end;
        if keep {
            end = window.start + window.span();
        }
        keep
    });
    before - windows.len()
}

/// Sorts beads and removes those that overlap an earlier one.
fn order_beads(beads: &mut Vec<Bead>) {
    beads.sort_by_key(|bead| bead.start);
    let mut end = 0;
    beads.retain(|bead| {
        let keep = bead.start >= end;
        if keep {
            end = bead.start + bead.span();
        }
        keep
    });
}

/// Samples between the first and the last window that are in no window.
fn uncovered(log: &Log) -> u64 {
    log.windows
        .windows(2)
        .map(|pair| pair[1].start - (pair[0].start + pair[0].span()))
        .sum()
}

/// Beads from windows with the arc on that no recorded bead covers, by the logger's rules: arcs no further apart than the
/// longest gap belong together, and anything shorter than the shortest bead is not a bead.
fn rebuild(log: &Log, recorded: &[Bead]) -> Vec<Bead> {
    let mut found: Vec<Bead> = Vec::new();
    let mut open: Option<Bead> = None;
    for window in &log.windows {
        let arc = log.header_at(window.start).arc;
        let covered = is_covered(window.start, recorded);
        let too_late =
            |bead: &Bead| window.start > bead.start + bead.span() + u64::from(arc.longest_gap);
        if let Some(bead) = open.take_if(|bead| covered || too_late(bead)) {
            found.push(bead);
        }
        if window.arc_on && !covered {
            match &mut open {
                None => open = Some(opened(window)),
                Some(bead) => lengthen(bead, window, &log.windows),
            }
        }
    }
    found.extend(open);
    found.retain(|bead| {
        bead.arc_samples >= u64::from(log.header_at(bead.start).arc.shortest_bead).max(1)
    });
    found
}

fn is_covered(position: u64, recorded: &[Bead]) -> bool {
    let after = recorded.partition_point(|bead| bead.start <= position);
    after
        .checked_sub(1)
        .and_then(|at| recorded.get(at))
        .is_some_and(|bead| position < bead.start + bead.span())
}

fn opened(window: &Window) -> Bead {
    let mut bead = Bead {
        start: window.start,
        ..Bead::default()
    };
    bead.add_window(window);
    bead
}

/// Adds a window with the arc on and those before it with the arc off; samples without a window count as dropped.
fn lengthen(bead: &mut Bead, window: &Window, windows: &[Window]) {
    let from = bead.start + bead.span();
    let first = windows.partition_point(|other| other.start < from);
    let last = windows.partition_point(|other| other.start < window.start);
    let arc_off = &windows[first..last.max(first)];
    if !arc_off.is_empty() {
        bead.restarts = bead.restarts.saturating_add(1);
    }
    for window in arc_off.iter().chain([window]) {
        let missing = window.start - (bead.start + bead.span());
        bead.dropped = bead
            .dropped
            .saturating_add(u32::try_from(missing).unwrap_or(u32::MAX));
        bead.add_window(window);
    }
}

fn merge(log: &Log, recorded: &[Bead], rebuilt: &[Bead]) -> Vec<LoggedBead> {
    let recorded = recorded.iter().map(|bead| (*bead, BeadOrigin::Recorded));
    let rebuilt = rebuilt.iter().map(|bead| (*bead, BeadOrigin::Rebuilt));
    let mut beads: Vec<_> = recorded.chain(rebuilt).collect();
    beads.sort_by_key(|(bead, _)| bead.start);
    let mut number = 0;
    for (bead, origin) in &mut beads {
        // A recorded bead keeps its number unless numbers would go back: two loggers in one file.
        number = match origin {
            BeadOrigin::Recorded if bead.number > number => bead.number,
            _ => number + 1,
        };
        bead.number = number;
    }
    beads
        .into_iter()
        .map(|(bead, origin)| measured(log, bead, origin))
        .collect()
}

/// By how much the energy of a time in which a channel stood still may be wrong (half-width), as a share of it: common
/// practice, no source.
const STUCK_UNCERTAINTY: f64 = 0.5;

fn measured(log: &Log, bead: Bead, origin: BeadOrigin) -> LoggedBead {
    let header = log.header_at(bead.start);
    let calibration = &header.calibration;
    let rate = calibration.sample_rate_hz;
    let rough = sampling::Sampling::of(log, header);
    let waveform = log.waveform_uncertainty();
    let burning = burning(log, &bead);
    let stuck = [Side::Voltage, Side::Current].map(|side| log.stuck_share(&bead, side));
    let stuck: f64 = stuck.iter().sum();
    let measured = meter::measure(&Stretch::from(&bead), calibration).map(|mut measured| {
        let arc_time = bead.arc_samples as f64 / rate;
        let contributions = [
            rectangular(measured.energy.0 * waveform),
            measured.energy.0 / arc_time.max(1.0 / rate) * rough.edges(bead.restarts),
            burning.map_or(0.0, |burning| rough.scatter(&burning, arc_time)),
            rectangular(measured.energy.0 * STUCK_UNCERTAINTY * stuck),
        ];
        let own = measured.energy_standard_uncertainty.0;
        measured.energy_standard_uncertainty =
            Joules(contributions.into_iter().fold(own, f64::hypot));
        measured
    });
    let by_rate = Uncertain::from_relative(
        bead.arc_samples as f64 / rate,
        calibration.rate_relative_uncertainty,
    );
    LoggedBead {
        bead,
        start: log.seconds(bead.start),
        duration: Seconds(bead.span() as f64 / rate),
        arc_time: Uncertain {
            standard: by_rate.standard.hypot(rough.edges(bead.restarts)),
            ..by_rate
        },
        is_tack: bead.arc_samples <= u64::from(header.arc.longest_tack),
        origin,
        ends: Ends::WHOLE,
        measured,
        burning,
    }
}

/// The measurement while the arc burned: from the windows with the arc on if the log has them, else from the whole bead.
fn burning(log: &Log, bead: &Bead) -> Option<Measured> {
    let mut stretch = Stretch::default();
    for window in log.windows_of(bead).iter().filter(|window| window.arc_on) {
        stretch.sums.add_window(&window.sums);
    }
    if stretch.sums.n == 0 {
        stretch.sums = bead.sums;
    }
    meter::measure(&stretch, &log.header_at(bead.start).calibration).ok()
}

#[cfg(test)]
mod tests;
