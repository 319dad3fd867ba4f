//! A step of the plan as text: the same on the screen, in the list and on the bench card.

use crate::format;
use crate::plan::model::{Face, Step, StepKind};
use crate::plan::travel::{Up, travel};

/// A step as text. Names are as the maker wrote them.
#[derive(Default)]
pub(super) struct StepText {
    /// What the large sign shows: the number of the weld, or a sign for the kind of step.
    pub sign: String,
    /// "Weld 7, part 1 of 2".
    pub title: String,
    /// Where.
    pub name: String,
    /// "to the right, 8 s of arc".
    pub how: String,
    /// The same for a narrow column: "→ 8 s".
    pub brief: String,
}

impl StepText {
    /// The step as the welder meets it, with this face up.
    pub(super) fn of(step: &Step, up: Up) -> Self {
        match &step.what {
            StepKind::Tack { name, at, .. } => {
                let tacks = format::count(at.len(), "tack");
                Self {
                    sign: "·".repeat(at.len().clamp(1, 3)),
                    title: "Tack".into(),
                    name: name.clone(),
                    brief: if at.len() == 1 {
                        String::new()
                    } else {
                        tacks.clone()
                    },
                    how: tacks,
                }
            }
            StepKind::Flip { up: face } => Self {
                sign: "↻".into(),
                title: "Flip the frame".into(),
                name: format!("{} up", face.name(up.seen_from)),
                ..Self::default()
            },
            StepKind::ReleaseClamp { clamp, member, .. } => Self {
                sign: "↥".into(),
                title: format!("Release clamp {clamp}"),
                name: member.clone(),
                how: "stand clear: what it holds back can jump".into(),
                brief: "stand clear".into(),
            },
            StepKind::Weld {
                weld,
                name,
                part,
                from,
                to,
                arc_time,
            } => {
                let travel = travel(from, to, up);
                let [mut how, mut brief] = [
                    format!("{}, {:.0} s of arc", travel.text, arc_time.0),
                    format!("{} {:.0} s", travel.arrow, arc_time.0),
                ];
                if let Some(wait) = wait(step) {
                    how += &format!(", after waiting {wait:.0} s");
                    brief += &format!(", wait {wait:.0} s first");
                }
                let [of_title, of_name] = part.map_or_else(Default::default, |part| {
                    [
                        format!(", part {} of {}", part.number, part.of),
                        format!(" ({} of {})", part.number, part.of),
                    ]
                });
                Self {
                    sign: weld.to_string(),
                    title: format!("Weld {weld}{of_title}"),
                    name: format!("{name}{of_name}"),
                    how,
                    brief,
                }
            }
        }
    }
}

/// The name of the view that looks at a face: "front" or "back".
pub(super) const fn look(face: Face) -> &'static str {
    match face {
        Face::Front => "front",
        Face::Back => "back",
    }
}

/// Seconds to wait before a step, if the wait is known and long enough to mention.
fn wait(step: &Step) -> Option<f64> {
    step.wait
        .map(|wait| wait.seconds.0)
        .filter(|wait| *wait >= 1.0)
}
