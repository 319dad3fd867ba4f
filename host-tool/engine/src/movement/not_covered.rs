//! What a prediction leaves out of a job, said plainly.

use crate::job::model::{Job, Joint, PlateKind};

/// A line for each kind of part or joint that counts as something simpler.
pub(crate) fn not_covered(job: &Job) -> Vec<&'static str> {
    let has = |kind: PlateKind| {
        let mut plates = job
            .members
            .iter()
            .filter_map(|member| member.plate.as_ref());
        plates.any(|plate| plate.kind == kind)
    };
    let lines = [
        (
            has(PlateKind::Gusset),
            "A gusset counts as a flat of equal area from the middle of one edge to the middle of the other: it stiffens \
             its corner, and its welds bow the members. That the plate itself buckles or leans is not predicted.",
        ),
        (
            has(PlateKind::Foot),
            "A foot counts as stiff and free on the floor. That its plate curls up towards the weld is not predicted: \
             check it with a straightedge.",
        ),
        (
            job.joints.iter().any(|joint| is_lap(job, joint)),
            "A lap joint counts as held along its welds, with the members on top of each other. That its faces are \
             pulled together or apart between the welds is not predicted.",
        ),
    ];
    let said = lines.into_iter().filter(|(is_there, _)| *is_there);
    said.map(|(_, line)| line).collect()
}

/// Whether a joint is of two members that lie on top of each other and cross.
fn is_lap(job: &Job, joint: &Joint) -> bool {
    let [(a, _), (b, _)] = joint.members.as_slice() else {
        return false;
    };
    let [a, b] = [*a, *b].map(|member| &job.members[member]);
    let Some(normal) = a.axis().cross(b.axis()).unit() else {
        return false;
    };
    if a.plate.is_some() || b.plate.is_some() || a.axis().dot(b.axis()).abs() > 0.95 {
        return false;
    }
    let apart = (b.from - a.from).dot(normal);
    let normal = normal * apart.signum();
    apart.abs() > 0.9 * (a.reach_mm(normal) + b.reach_mm(-normal))
}
