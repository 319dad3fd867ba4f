//! The note on a frame that people or a code depend on.

use super::Settings;
use crate::format::list;
use crate::job::model::{Job, Structural};

/// Why some steps are not given; `None` if nothing is structural.
pub(super) fn note(job: &Job, settings: &Settings) -> Option<String> {
    let members = match &job.structural {
        _ if settings.structural => &[][..],
        Structural::Nothing => return None,
        Structural::Members(members) if members.is_empty() => return None,
        Structural::Everything => &[][..],
        Structural::Members(members) => members,
    };
    let names: Vec<&str> = members
        .iter()
        .filter_map(|&member| job.members.get(member))
        .map(|member| member.name.as_str())
        .collect();
    let (what, others) = match &names[..] {
        [] => ("this frame carries".into(), ""),
        [one] => (format!("{one} carries"), OTHER_MEMBERS),
        several => (format!("{} carry", list(several)), OTHER_MEMBERS),
    };
    Some(format!(
        "Structural: {what} people or a code. Bending, heating and welding afterwards change steel that others rely on, so \
         no such step is given here. The code that applies and a licensed engineer decide what may be done.{others}"
    ))
}

const OTHER_MEMBERS: &str = " Steps for the other members keep off the joints they share with it: press, heat and weld \
    no nearer than their own depth.";
