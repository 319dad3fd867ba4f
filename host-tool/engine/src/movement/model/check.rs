//! Limits and checks of a job before its movement is worked out.

use super::coordinates::Layout;
use super::cut::{MERGE_MM, segment_count};
use crate::job::model::{Job, Member};
use crate::movement::error::MovementError;

/// Limit of the number of members, of segments of weld, of tacks and of clamps.
const MAX_ITEMS: usize = 4000;
/// Limit of the number of coordinates: 130 MB for the matrix, and as much again for a build state. A frame of 60 welds
/// has about 400 coordinates, one of 200 welds about 1300.
const MAX_COORDINATES: usize = 4000;

/// Checks the counts first, so that all that follows is bounded; then every member and weld.
pub(super) fn check(job: &Job) -> Result<(), MovementError> {
    let tacks = job.joints.iter().map(|joint| joint.tacks.len()).sum();
    for (what, found) in [
        ("members", job.members.len()),
        ("welds", job.welds.len()),
        ("tacks", tacks),
        ("clamps", job.clamps.len()),
    ] {
        at_most(what, found, MAX_ITEMS)?;
    }
    members(&job.members)?;
    welds(job)?;
    let segments = job.welds.iter().map(|weld| segment_count(job, weld)).sum();
    at_most(
        "segments of weld as long as a section is deep",
        segments,
        MAX_ITEMS,
    )
}

/// Checks the size of the compliance matrix.
pub(super) fn check_size(layout: Layout) -> Result<(), MovementError> {
    at_most("coordinates of movement", layout.size(), MAX_COORDINATES)
}

fn at_most(what: &'static str, found: usize, max: usize) -> Result<(), MovementError> {
    if found > max {
        return Err(MovementError::TooLarge { what, found, max });
    }
    Ok(())
}

fn members(members: &[Member]) -> Result<(), MovementError> {
    let has_length = |member: &Member| {
        let length = member.line_length();
        length.is_finite() && length > MERGE_MM
    };
    if let Some(member) = members.iter().find(|member| !has_length(member)) {
        return Err(MovementError::NoLength {
            member: member.name.clone(),
        });
    }
    for (k, member) in members.iter().enumerate() {
        if let Some(other) = members[..k].iter().find(|other| same_place(member, other)) {
            return Err(MovementError::SamePlace {
                members: [other.name.clone(), member.name.clone()],
            });
        }
    }
    Ok(())
}

fn same_place(a: &Member, b: &Member) -> bool {
    let near = |p, q| crate::job::model::Point::length(p - q) <= MERGE_MM;
    near(a.from, b.from) && near(a.to, b.to) || near(a.from, b.to) && near(a.to, b.from)
}

fn welds(job: &Job) -> Result<(), MovementError> {
    for weld in &job.welds {
        let length = weld.length().0;
        if !length.is_finite() || length <= 0.0 {
            return Err(MovementError::NoWeldLength { weld: weld.number });
        }
        let [a, b] = weld.members;
        if a == b {
            return Err(MovementError::JoinsItself {
                weld: weld.number,
                member: job.members[a].name.clone(),
            });
        }
        for member in weld.members.map(|m| &job.members[m]) {
            let distance_mm = member
                .clearance_mm(weld.from)
                .max(member.clearance_mm(weld.to));
            // A mitre reaches past the ends of the line by half a section, and a fillet stands off the wall by its leg.
            if distance_mm > member.greatest_size_mm() {
                return Err(MovementError::Beside {
                    weld: weld.number,
                    member: member.name.clone(),
                    distance_mm,
                });
            }
        }
    }
    Ok(())
}
