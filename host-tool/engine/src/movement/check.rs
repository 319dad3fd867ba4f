//! What a job must be before its movement can be worked out.

use super::coordinates::Layout;
use super::error::MovementError;
use super::pieces::{MERGE_MM, piece_count};
use crate::job::model::{Job, Member};

/// Most members, pieces of weld, tacks and clamps that are looked at.
const MOST_PARTS: usize = 4000;
/// Most coordinates of a condensed frame: 130 MB for the matrix, and as much again for a build under way. A frame of
/// 60 welds has about 400, one of 200 welds about 1300.
const MOST_COORDINATES: usize = 4000;

/// Checks counts first, so that whatever follows has bounds; then every member and weld.
pub(super) fn check(job: &Job) -> Result<(), MovementError> {
    let tacks = job.joints.iter().map(|joint| joint.tacks.len()).sum();
    for (what, found) in [
        ("members", job.members.len()),
        ("welds", job.welds.len()),
        ("tacks", tacks),
        ("clamps", job.clamps.len()),
    ] {
        at_most(what, found, MOST_PARTS)?;
    }
    members(&job.members)?;
    welds(job)?;
    let pieces = job.welds.iter().map(|weld| piece_count(job, weld)).sum();
    at_most(
        "pieces of weld as long as a section is deep",
        pieces,
        MOST_PARTS,
    )
}

/// Checks that the matrix of the condensed frame stays within bounds.
pub(super) fn check_size(layout: Layout) -> Result<(), MovementError> {
    at_most("ways to move", layout.size(), MOST_COORDINATES)
}

fn at_most(what: &'static str, found: usize, most: usize) -> Result<(), MovementError> {
    if found > most {
        return Err(MovementError::TooLarge { what, found, most });
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
            return Err(MovementError::Twice {
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
            // A mitre reaches past the ends of the line by half a section; a leg stands off the wall.
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
