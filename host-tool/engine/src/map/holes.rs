//! What holes of the log mean for beads and welds.

use super::model::{Flag, MappedBead, MappedWeld};
use crate::log::{Hole, Log, LoggedBead, SourceKind};
use crate::matching::Role;
use crate::verdict::{Judged, Verdict};
use coldsquare_core::units::Seconds;

/// How much longer a bead may have burned than the log shows.
pub fn may_be_missing(log: &Log, logged: &LoggedBead) -> Seconds {
    let (from, until) = (logged.bead.start, logged.bead.start + logged.bead.span());
    let gap = u64::from(log.header_at(from).arc.longest_gap);
    let length = |hole: &Hole| log.seconds(hole.until).0 - log.seconds(hole.from).0;
    let mut missing = 0.0;
    if !logged.ends.start {
        let before = log.holes.iter().rev().find(|hole| hole.until <= from);
        missing += before
            .filter(|hole| from - hole.until <= gap)
            .map_or(UNKNOWN, length);
    }
    if !logged.ends.end {
        let after = log.holes.iter().find(|hole| hole.from >= until);
        missing += after
            .filter(|hole| hole.from - until <= gap)
            .map_or(UNKNOWN, length);
    }
    Seconds(missing)
}

/// How long a bead may go on where the log ends or the power was cut, s.
const UNKNOWN: f64 = 60.0;

/// What is lost of a bead; `None` for a whole one.
pub fn not_whole(log: &Log, logged: &LoggedBead) -> Option<Flag> {
    let ends = logged.ends;
    let edge = |is_edge: bool| is_edge && matches!(log.source.kind, SourceKind::Recording(_));
    let first = log.windows.first().map_or(0, |window| window.start);
    let last = log
        .windows
        .last()
        .map_or(0, |window| window.start + window.span());
    let (from, until) = (logged.bead.start, logged.bead.start + logged.bead.span());
    if !ends.start || !ends.end {
        Some(Flag::NotWhole {
            start: !ends.start,
            end: !ends.end,
        })
    } else if edge(from == first) || edge(until == last) {
        Some(Flag::AtTheEdge)
    } else {
        None
    }
}

/// The holes that leave something open: a bead may be lost in them, or lacks an end.
pub fn open(log: &Log) -> impl Iterator<Item = &Hole> {
    let cuts_a_bead = |hole: &&Hole| {
        log.beads.iter().any(|logged| {
            let (from, until) = (logged.bead.start, logged.bead.start + logged.bead.span());
            let gap = u64::from(log.header_at(from).arc.longest_gap);
            !logged.ends.end && (until..=until + gap).contains(&hole.from)
                || !logged.ends.start && (hole.until..=hole.until + gap).contains(&from)
        })
    };
    log.holes
        .iter()
        .filter(move |hole| hole.beads != Some(0) || cuts_a_bead(hole))
}

/// Puts on each weld what the holes of the log leave open about it, and takes back verdicts that they forbid.
pub fn flag(log: &Log, beads: &[MappedBead], welds: &mut [MappedWeld]) {
    let holes: Vec<(f64, f64)> = open(log)
        .map(|hole| (log.seconds(hole.from).0, log.seconds(hole.until).0))
        .collect();
    for weld in welds {
        let is_piece = |flag: &Flag| matches!(flag, Flag::NotWhole { .. });
        let mut mine = beads
            .iter()
            .filter(|bead| weld.beads.contains(&bead.number));
        weld.whole = !mine.any(|bead| bead.flags.iter().any(is_piece));
        if !weld.whole {
            leave_open(weld);
        } else if weld.flags.iter().any(Flag::forbids_a_verdict) {
            unjudge(weld);
        }
        if weld.start.is_none() {
            if !holes.is_empty() {
                weld.flags.push(Flag::MayBeLost);
            }
        } else if is_beside(weld, beads, &holes) {
            weld.flags.push(Flag::BesideAHole);
        }
    }
}

/// A weld that is not whole has no heat input, no travel speed and no verdict.
fn leave_open(weld: &mut MappedWeld) {
    for run in &mut weld.runs {
        run.heat_input.estimate = None;
        run.travel_speed.estimate = None;
        run.arc_energy = None;
    }
    weld.heat_input.estimate = None;
    weld.travel_speed.estimate = None;
    weld.arc_energy = None;
    unjudge(weld);
}

/// Takes back every verdict on a weld.
fn unjudge(weld: &mut MappedWeld) {
    fn open<T>(judged: &mut Judged<T>) {
        judged.verdict = Verdict::NotMeasured;
        judged.side = None;
    }
    weld.verdict = Verdict::NotMeasured;
    weld.decided_by = None;
    open(&mut weld.heat_input);
    open(&mut weld.travel_speed);
    open(&mut weld.voltage);
    open(&mut weld.current);
    for run in &mut weld.runs {
        run.verdict = Verdict::NotMeasured;
        open(&mut run.heat_input);
        open(&mut run.travel_speed);
        open(&mut run.voltage);
        open(&mut run.current);
    }
}

/// A hole lies between a bead of the weld and the next bead of another weld on either side, or between its own beads.
fn is_beside(weld: &MappedWeld, beads: &[MappedBead], holes: &[(f64, f64)]) -> bool {
    let is_mine = |bead: &MappedBead| weld.beads.contains(&bead.number);
    let of_others = |bead: &&MappedBead| {
        !is_mine(bead) && matches!(bead.role, Role::Weld { .. } | Role::Replaced { .. })
    };
    let (Some(start), Some(end)) = (weld.start, weld.end) else {
        return false;
    };
    let before = beads
        .iter()
        .filter(of_others)
        .filter(|bead| bead.end <= start);
    let from = before
        .map(|bead| bead.end.0)
        .fold(f64::NEG_INFINITY, f64::max);
    let after = beads
        .iter()
        .filter(of_others)
        .filter(|bead| bead.start >= end);
    let until = after.map(|bead| bead.start.0).fold(f64::INFINITY, f64::min);
    // Half a sample of room for the conversion to seconds.
    let room = 1e-6;
    holes
        .iter()
        .any(|hole| hole.0 >= from - room && hole.1 <= until + room)
}
