//! Which welds shrink alike: those of one process, one class of wall and one type of joint.

use crate::job::model::{Job, WeldKind};
use coldsquare_core::process::Process;

/// Upper bounds of the classes of wall, mm: thin gauge that heats through, the walls of light frames, plate. Common
/// practice, no source.
const WALL_BOUNDS_MM: [f64; 2] = [2.0, 4.0];

/// Welds that shrink alike, in words: "135 fillet, wall 2 to 4 mm".
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Class(String);

impl Class {
    /// The class of welds of a process and kind on a wall, mm; the thinner of the two decides.
    #[must_use]
    pub fn new(process: Process, kind: WeldKind, wall_mm: f64) -> Self {
        let joint = match kind {
            WeldKind::Fillet { .. } => "fillet",
            WeldKind::Butt { .. } => "butt",
        };
        let [thin, middle] = WALL_BOUNDS_MM;
        let wall = if wall_mm < thin {
            format!("under {thin} mm")
        } else if wall_mm <= middle {
            format!("{thin} to {middle} mm")
        } else {
            format!("over {middle} mm")
        };
        Self(format!("{} {joint}, wall {wall}", process.number()))
    }

    /// A class by its words, as a file has it.
    #[must_use]
    pub fn named(words: &str) -> Self {
        Self(words.to_owned())
    }

    /// In words.
    #[must_use]
    pub fn words(&self) -> &str {
        &self.0
    }
}

/// The class of every weld of a job.
#[must_use]
pub fn classes(job: &Job) -> Vec<Class> {
    let one = |weld: &crate::job::model::Weld| {
        let wall = weld.members.map(|member| {
            let section = &job.members[member].section;
            section.properties().thinnest_wall_mm
        });
        let process = job.procedures[weld.procedure].process;
        Class::new(process, weld.kind, wall[0].min(wall[1]))
    };
    job.welds.iter().map(one).collect()
}
