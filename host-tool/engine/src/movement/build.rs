//! A build under way: welds laid one by one, with the measures to be read in between.
//!
//! A search that chooses its next weld on the way, or that goes back to where two orders part, clones a [`Build`] and
//! goes on from there. An order that is known from the start is laid faster by
//! [`lay`](super::engine::MovementModel::lay), because it leaves behind at once what no later weld needs; so does a build that
//! keeps near to the order that was expected of it.

use super::engine::Outcome;
use super::part::WeldPart;
use super::walk::BuildState;

/// The frame after some of its welds.
#[derive(Clone, Debug)]
pub struct Build<'a>(pub(super) BuildState<'a>);

impl Build<'_> {
    /// Lays one weld (by index) on the frame as it stands. Each weld is to be laid once.
    pub fn lay(&mut self, weld: usize) {
        self.lay_part(&self.0.engine().whole(weld));
    }

    /// Lays a part of a weld. Each stretch of a weld is to be laid once.
    pub fn lay_part(&mut self, part: &WeldPart) {
        self.0.lay(part);
    }

    /// Each measure as the frame lies now, mm, in the order of
    /// [`MovementModel::measures`](super::engine::MovementModel::measures).
    #[must_use]
    pub fn measures_mm(&self) -> Vec<f64> {
        self.0.measures_mm()
    }

    /// How far each coordinate that holds the frame to the table has moved, for [`MovementModel::letting_go`].
    ///
    /// [`MovementModel::letting_go`]: super::engine::MovementModel::letting_go
    #[must_use]
    pub fn held_mm(&self) -> &[f64] {
        self.0.held_mm()
    }

    /// Lets the clamps off: what the frame is then.
    #[must_use]
    pub fn release(self) -> Outcome {
        self.0.finish()
    }
}
