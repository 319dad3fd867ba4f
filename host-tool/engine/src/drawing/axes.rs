//! Directions of a member.

use crate::job::model::{Member, Point};

/// Directions of a member.
pub(crate) struct Axes {
    pub from: Point,
    pub along: Point,
    pub across: Point,
    pub depth: Point,
}

impl Axes {
    pub(crate) fn of(member: &Member) -> Self {
        let along = (member.to - member.from)
            .unit()
            .unwrap_or(Point::new(1.0, 0.0, 0.0));
        Self {
            from: member.from,
            along,
            across: member.depth_axis.cross(along),
            depth: member.depth_axis,
        }
    }
}
