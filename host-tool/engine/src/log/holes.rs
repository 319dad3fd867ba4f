//! Where a log has holes, and which beads they touch.
//!
//! Record numbers tell that records are missing, positions tell how long the hole is, and the numbers of the beads on
//! both sides tell how many beads were lost in it.

use super::model::{BeadOrigin, Ends, Hole, Log, LoggedBead, SourceKind};
use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::record::EventKind;

/// A place where record numbers are missing.
#[derive(Clone, Copy, Debug)]
pub(super) struct SequenceGap {
    /// Position that the records before it had reached.
    pub from: u64,
    /// Position at which the record after it begins.
    pub until: u64,
    /// How many records are missing.
    pub records: u64,
}

/// All holes, in order of position, none touching another.
pub(super) fn holes(log: &Log, gaps: &[SequenceGap]) -> Vec<Hole> {
    let missing = |from, until, records| Hole {
        from,
        until,
        records,
        beads: None,
    };
    let mut found: Vec<Hole> = gaps
        .iter()
        .map(|gap| missing(gap.from, gap.until.max(gap.from), gap.records))
        .collect();
    let between = log.windows.windows(2).filter_map(|pair| {
        let (from, until) = (end(&pair[0]), pair[1].start);
        (from < until).then(|| missing(from, until, 0))
    });
    found.extend(between);
    let dropped = log.windows.iter().filter(|window| is_hole(log, window));
    found.extend(dropped.map(|window| missing(window.start, end(window), 0)));
    found.sort_by_key(|hole| hole.from);
    let mut holes: Vec<Hole> = Vec::with_capacity(found.len());
    for hole in found {
        match holes.last_mut() {
            Some(last) if hole.from <= last.until => {
                last.until = last.until.max(hole.until);
                last.records += hole.records;
            }
            _ => holes.push(hole),
        }
    }
    holes
}

/// So many samples were dropped with the arc off that it may have burned and gone out again.
fn is_hole(log: &Log, window: &Window) -> bool {
    let longest_gap = u64::from(log.header_at(window.start).arc.longest_gap);
    !window.arc_on && u64::from(window.dropped) > longest_gap
}

fn end(window: &Window) -> u64 {
    window.start + window.span()
}

/// Says of each hole how many beads were lost in it at most, if the numbers of the beads around it tell. The numbers are the
/// logger's own: one for each bead that it closed.
pub(super) fn count_lost_beads(log: &mut Log, recorded: &[Bead], cuts: &[u64]) {
    let is_closed = |logged: &&LoggedBead| {
        logged.origin == BeadOrigin::Rebuilt && !is_cut_off(log, &logged.bead, cuts)
    };
    let rebuilt = log.beads.iter().filter(is_closed);
    let rebuilt: Vec<u64> = rebuilt.map(|logged| logged.bead.start).collect();
    for hole in &mut log.holes {
        let after = recorded.partition_point(|bead| bead.start < hole.from);
        let Some(next) = recorded.get(after) else {
            continue;
        };
        let (from, last) = after.checked_sub(1).map_or((0, 0), |before| {
            (recorded[before].start, recorded[before].number)
        });
        // Two logs in one file: the numbers begin again.
        if next.number <= last {
            continue;
        }
        let rebuilt = rebuilt
            .iter()
            .filter(|&&place| from <= place && place < next.start);
        let rebuilt = u32::try_from(rebuilt.count()).unwrap_or(u32::MAX);
        hole.beads = Some((next.number - last - 1).saturating_sub(rebuilt));
    }
}

/// The power was cut before the logger closed this bead, so it has no number.
fn is_cut_off(log: &Log, bead: &Bead, cuts: &[u64]) -> bool {
    let gap = u64::from(log.header_at(bead.start).arc.longest_gap);
    let closed = bead.start + bead.span() + gap;
    cuts.iter().any(|cut| (bead.start..=closed).contains(cut))
}

/// Positions at which the logger was switched on again: nothing is known of the time before them.
pub(super) fn power_cuts(log: &Log) -> Vec<u64> {
    let mut cuts: Vec<u64> = log
        .events
        .iter()
        .filter(|event| event.kind == EventKind::PowerOn && event.value > 1)
        .map(|event| event.position)
        .collect();
    cuts.sort_unstable();
    cuts
}

/// Whether both ends of a bead are in the log.
pub(super) fn ends(log: &Log, bead: &LoggedBead, cuts: &[u64]) -> Ends {
    let (from, until) = (bead.bead.start, bead.bead.start + bead.bead.span());
    let gap = u64::from(log.header_at(from).arc.longest_gap).max(1);
    let at = |position| {
        log.windows
            .partition_point(|window| window.start < position)
    };
    let is_hole = |window: Option<&Window>| window.is_some_and(|window| is_hole(log, window));
    // In a recording, what was dropped comes first in its window.
    let is_recording = matches!(log.source.kind, SourceKind::Recording(_));
    let is_quiet = |window: &&Window| is_recording && u64::from(window.sums.n) >= gap;
    let before = at(from).checked_sub(1).map(|before| &log.windows[before]);
    let after = log.windows.get(at(until));
    match bead.origin {
        // The detector closed it; only samples that never came can hide its ends.
        BeadOrigin::Recorded => Ends {
            start: !is_hole(before.filter(|window| end(window) == from && !is_quiet(window))),
            end: !is_hole(after.filter(|window| window.start == until)),
        },
        BeadOrigin::Rebuilt => Ends {
            start: quiet_before(log, from, gap, cuts),
            end: quiet_after(log, until, gap, cuts),
        },
    }
}

/// The arc was off for the longest gap after a position, without a break in the windows.
fn quiet_after(log: &Log, position: u64, gap: u64, cuts: &[u64]) -> bool {
    let mut at = position;
    let first = log
        .windows
        .partition_point(|window| window.start < position);
    for window in &log.windows[first..] {
        let broken = window.start != at || window.arc_on || is_hole(log, window);
        if broken || cuts.iter().any(|cut| (position..=at).contains(cut)) {
            return false;
        }
        at = end(window);
        if at - position >= gap {
            return true;
        }
    }
    false
}

/// The arc was off for the longest gap before a position, or the log begins there.
fn quiet_before(log: &Log, position: u64, gap: u64, cuts: &[u64]) -> bool {
    let mut at = position;
    let last = log
        .windows
        .partition_point(|window| window.start < position);
    for window in log.windows[..last].iter().rev() {
        let broken = end(window) != at || window.arc_on || is_hole(log, window);
        if broken || cuts.iter().any(|cut| (at..=position).contains(cut)) {
            return false;
        }
        at = window.start;
        if position - at >= gap {
            return true;
        }
    }
    at == log.headers[0].start
        && !log
            .holes
            .iter()
            .any(|hole| hole.until >= at && hole.from <= at)
}

#[cfg(test)]
mod tests;
