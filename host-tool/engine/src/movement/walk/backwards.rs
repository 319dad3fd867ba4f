//! What a build has done to the frame, worked out backwards from where it stands.

use super::super::update::{WIDE, times};
use super::{Walk, dot};

impl Walk<'_> {
    /// What welds, tacks that melted, strips and the release push on the frame of the first moment, by coordinate of
    /// the engine.
    pub(in crate::movement) fn pushes(&self) -> Vec<[f64; WIDE]> {
        // What has been put on each coordinate since the moment that is being looked at.
        let mut since = self.rows.column();
        let joints = self.rows.column_of_joint(0);
        since.as_flattened_mut()[joints..joints + self.held].copy_from_slice(&self.let_go);
        let mut ends = self.moved.clone();
        if self.let_go.iter().any(|&force| force != 0.0) {
            // What holds the frame to the table was moved by the release itself.
            let on_the_table = self.held.div_ceil(6);
            let needed = ends.iter_mut().enumerate().take(self.rows.needed());
            for (joint, end) in needed.skip(on_the_table) {
                add(end, &self.rows.times(joint, &since));
            }
        }
        let mut slips = self.slips.iter().rev().peekable();
        let needed = self.laid.iter().map(|laid| laid.needed);
        let needed_before: Vec<usize> =
            [self.coordinates.len()].into_iter().chain(needed).collect();
        for (piece, laid) in self.laid.iter().enumerate().rev() {
            while let Some(slip) = slips.next_if(|slip| slip.after > piece) {
                let at = joints + 3 * slip.clamp;
                let since = &mut since.as_flattened_mut()[at..at + 3];
                since.iter_mut().zip(slip.push).for_each(|(s, p)| *s += p);
            }
            // The rows of joints that were left behind then are as they were then.
            let left = ends.iter_mut().enumerate().take(needed_before[piece]);
            for (joint, end) in left.skip(laid.needed) {
                add(end, &self.rows.times(joint, &since));
            }
            if let Some((joint, joining)) = &laid.hold {
                let joint = *joint;
                let at_zero = joining.at_zero();
                let column = self.rows.column_of_joint(joint);
                let since = since.as_flattened_mut();
                for (k, row) in joining.change.iter().enumerate() {
                    since[column + k] += at_zero[k] - dot(row, &ends[joint]);
                }
            }
            if let Some(seam) = laid.pull {
                since.as_flattened_mut()[self.plan[seam].pull] = 1.0;
            }
        }
        self.spread(&since.as_flattened()[joints..])
    }

    fn spread(&self, on_joints: &[f64]) -> Vec<[f64; WIDE]> {
        let layout = self.engine.layout;
        let mut pushes = vec![[0.0; WIDE]; layout.size().div_ceil(WIDE)];
        let on = pushes.as_flattened_mut();
        let coordinates = self.coordinates.as_flattened();
        for (&coordinate, push) in coordinates.iter().zip(on_joints) {
            on[coordinate] += push;
        }
        for seam in self.laid.iter().filter_map(|laid| laid.pull) {
            for (k, &force) in self.shrinkage.seams[seam].strips_n.iter().enumerate() {
                on[layout.strip(seam, k)] += force;
            }
        }
        pushes
    }

    /// Each measure as the frame lies now, mm.
    pub(in crate::movement) fn measures_mm(&self) -> Vec<f64> {
        let pushes = self.pushes();
        let sixes = self.engine.measuring.iter();
        sixes
            .flat_map(|row| times(row, &pushes))
            .take(self.engine.measures.len())
            .collect()
    }
}

fn add(sum: &mut [f64; 6], other: &[f64; 6]) {
    sum.iter_mut().zip(other).for_each(|(s, o)| *s += o);
}
