//! What the sizes, diagonals and corners of a flat frame are called: as it stands, not as the page lies.

use crate::job::model::{Job, SeenFrom};

/// The words of one job.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FrameWords {
    seen_from: SeenFrom,
    /// " of the base" where the frame carries something, " of the top" where it lies on something.
    of: &'static str,
}

impl FrameWords {
    /// The words for the frame of a job.
    pub(crate) fn of(job: &Job) -> Self {
        let middles = job.members.iter().map(|m| (m.from.z + m.to.z) / 2.0);
        let of = match middles.sum::<f64>() / job.members.len().max(1) as f64 {
            _ if job.seen_from == SeenFrom::Front => "",
            mean if mean > 1.0 => " of the base",
            mean if mean < -1.0 => " of the top",
            _ => "",
        };
        Self {
            seen_from: job.seen_from,
            of,
        }
    }

    /// The three widths, then the three sizes across them.
    pub(super) fn sizes(self) -> [String; 6] {
        let names = match self.seen_from {
            SeenFrom::Front => [
                ("width", "at the bottom"),
                ("width", "at mid-height"),
                ("width", "at the top"),
                ("height", "at the left"),
                ("height", "at mid-width"),
                ("height", "at the right"),
            ],
            SeenFrom::Above => [
                ("width", "at the front"),
                ("width", "at mid-depth"),
                ("width", "at the back"),
                ("depth", "at the left"),
                ("depth", "at mid-width"),
                ("depth", "at the right"),
            ],
        };
        names.map(|(size, place)| format!("{size}{} {place}", self.of))
    }

    /// The corners, anticlockwise from the lower left of the drawing.
    pub(crate) const fn corners(self) -> [&'static str; 4] {
        match self.seen_from {
            SeenFrom::Front => ["bottom left", "bottom right", "top right", "top left"],
            SeenFrom::Above => ["front left", "front right", "back right", "back left"],
        }
    }

    /// The rising diagonal of the drawing, then the falling one.
    pub(super) fn diagonals(self) -> [String; 2] {
        let [a, b, c, d] = self.corners();
        [(a, c), (b, d)].map(|(from, to)| format!("diagonal{}, {from} to {to}", self.of))
    }
}
