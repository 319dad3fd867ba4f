//! Where a member ends at a joint, and which way it goes from there.

use crate::job::model::{Member, Point};

/// How a member meets a joint.
#[derive(Clone, Copy)]
pub(crate) struct End {
    /// Unit vector along the member, away from the joint if the member ends there.
    pub(crate) away: Point,
    /// Whether the member ends at the joint.
    pub(crate) ends_here: bool,
}

impl End {
    pub(crate) fn away_if_it_ends(self) -> Point {
        if self.ends_here {
            self.away
        } else {
            Point::default()
        }
    }

    pub(crate) fn at(member: &Member, point: Point) -> Self {
        let (foot, length) = (member.foot(point), member.line_length());
        let near = member.greatest_size_mm().min(length / 4.0);
        let axis = member.axis();
        if foot <= near {
            Self {
                away: axis,
                ends_here: true,
            }
        } else if foot >= length - near {
            Self {
                away: -axis,
                ends_here: true,
            }
        } else {
            Self {
                away: axis,
                ends_here: false,
            }
        }
    }
}
