//! Cutting loose what ties a member to another, bending it back, and welding it again.

use super::bowed::BowedMember;
use super::case::not_possible;
use super::in_frame::InFrame;
use super::press::press;
use crate::correct::model::{Degree, RepairKind, RepairOption};
use crate::format::{count, list};
use crate::job::model::Job;

/// For a member that is tied to another so that a press on the whole frame cannot bring it within tolerance; `None` for
/// any other.
pub(super) fn cut_loose(bowed: &BowedMember<'_>, frame: &InFrame<'_>) -> Option<RepairOption> {
    let ties = frame.tied_by();
    if ties.is_empty() || press(bowed, frame).possible {
        return None;
    }
    let no = |why: String| not_possible(RepairKind::CutLoose, why);
    let (loose, cut) = without(bowed.case.job, bowed.member, ties);
    let pressed = match InFrame::of(bowed, &loose) {
        Ok(frame) => press(bowed, &frame),
        Err(error) => return Some(no(error.to_string())),
    };
    if !pressed.possible {
        return Some(no(pressed.summary.join(" ")));
    }
    let numbers: Vec<String> = cut.iter().map(u16::to_string).collect();
    let mut summary = vec![format!(
        "Cut {} ({}) between {} and {}, bend it back alone, and weld them again.",
        count(cut.len(), "weld"),
        list(&numbers),
        bowed.name(),
        count(ties.len(), "member")
    )];
    summary.extend(pressed.summary);
    let mut steps =
        vec!["Cut the welds with a thin disc, not into the wall; leave the corners.".into()];
    steps.extend(pressed.steps);
    steps.push(format!(
        "Where it bowed most, what you cut is now about {} too long or too short: trim it or fill the gap before you tack it. \
         The new welds pull as the first ones did, so keep to the plan's order.",
        bowed.case.drawn(bowed.first_mm())
    ));
    let mut cautions = pressed.cautions;
    cautions.push(
        "Sparks and fire when you cut; a frame under stress can jump when the last weld lets go: hold it with a clamp."
            .into(),
    );
    Some(RepairOption {
        kind: RepairKind::CutLoose,
        summary,
        steps,
        cautions,
        effort: Degree::High,
        risk: Degree::Medium,
        ..pressed
    })
}

/// The job without the welds between a member and those that tie it, and the numbers of these welds.
fn without(job: &Job, member: usize, ties: &[usize]) -> (Job, Vec<u16>) {
    let (cut, left) = job.welds.iter().cloned().partition::<Vec<_>, _>(|weld| {
        weld.members.contains(&member) && weld.members.iter().any(|m| ties.contains(m))
    });
    let loose = Job {
        welds: left,
        ..job.clone()
    };
    (loose, cut.iter().map(|weld| weld.number).collect())
}
