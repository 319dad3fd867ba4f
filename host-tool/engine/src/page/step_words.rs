//! A step of the plan in words: the same on the screen, in the list and on the bench card.

use crate::plan::model::{Face, Step, Work};
use crate::plan::travel::way;

/// A step in words. Names are as the maker wrote them.
pub(super) struct Told {
    /// What the large sign says: the number of the weld, or a sign for the work.
    pub sign: String,
    /// "Weld 7, piece 1 of 2".
    pub title: String,
    /// Where.
    pub name: String,
    /// "to the right, 8 s of arc".
    pub how: String,
    /// The same for a narrow column: "→ 8 s".
    pub brief: String,
}

impl Told {
    /// The step as the welder meets it, with this face up.
    pub(super) fn of(step: &Step, up: Face) -> Self {
        match &step.work {
            Work::Tack { name, at, .. } => Self {
                sign: "·".repeat(at.len().clamp(1, 3)),
                title: "Tack".into(),
                name: name.clone(),
                how: match at.len() {
                    1 => "1 tack".into(),
                    count => format!("{count} tacks"),
                },
                brief: match at.len() {
                    1 => String::new(),
                    count => format!("{count} tacks"),
                },
            },
            Work::TurnOver { up } => Self {
                sign: "↻".into(),
                title: "Turn over".into(),
                name: format!("{} up", face_name(*up)),
                how: String::new(),
                brief: String::new(),
            },
            Work::ClampOff { clamp, member, .. } => Self {
                sign: "↥".into(),
                title: format!("Take clamp {clamp} off"),
                name: member.clone(),
                how: "stand clear: what it holds back can jump".into(),
                brief: "stand clear".into(),
            },
            Work::Weld {
                weld,
                name,
                piece,
                from,
                to,
                arc_time,
            } => Self {
                sign: weld.to_string(),
                title: match piece {
                    Some(piece) => format!("Weld {weld}, piece {} of {}", piece.number, piece.of),
                    None => format!("Weld {weld}"),
                },
                name: match piece {
                    Some(piece) => format!("{name} ({} of {})", piece.number, piece.of),
                    None => name.clone(),
                },
                how: format!(
                    "{}, {:.0} s of arc{}",
                    way(from, to, up).words,
                    arc_time.0,
                    wait(step).map_or(String::new(), |wait| format!(
                        ", after a wait of {wait:.0} s"
                    ))
                ),
                brief: format!(
                    "{} {:.0} s{}",
                    way(from, to, up).sign,
                    arc_time.0,
                    wait(step).map_or(String::new(), |wait| format!(", wait {wait:.0} s first"))
                ),
            },
        }
    }
}

/// "front" or "back".
pub(super) const fn face_name(face: Face) -> &'static str {
    match face {
        Face::Front => "front",
        Face::Back => "back",
    }
}

/// Seconds to wait before a step, where that is known and worth saying.
fn wait(step: &Step) -> Option<f64> {
    step.wait
        .map(|wait| wait.seconds.0)
        .filter(|wait| *wait >= 1.0)
}
