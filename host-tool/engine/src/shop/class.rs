//! Which welds shrink alike: those with the same process, type of joint and class of wall.

use coldsquare_core::process::Process;

/// Limits between the classes of wall, mm: thin sheet that heats through, the walls of light frames, plate. Common
/// practice, no source.
const WALL_LIMITS_MM: [f64; 2] = [2.0, 4.0];

/// Welds that shrink alike: "135 fillet, wall 2 to 4 mm".
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Class(String);

impl Class {
    /// The class of a weld of this process and kind ("fillet", "butt"); `wall_mm` is the thinner of its two walls.
    #[must_use]
    pub fn new(process: Process, kind: &str, wall_mm: f64) -> Self {
        let [thin, middle] = WALL_LIMITS_MM;
        let wall = if wall_mm < thin {
            format!("under {thin} mm")
        } else if wall_mm <= middle {
            format!("{thin} to {middle} mm")
        } else {
            format!("over {middle} mm")
        };
        Self(format!("{} {kind}, wall {wall}", process.number()))
    }

    /// A class by its name, as it is in the file.
    #[must_use]
    pub fn named(name: &str) -> Self {
        Self(name.to_owned())
    }

    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.0
    }
}
