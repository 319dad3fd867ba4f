//! What the members and corners of a frame are called: as it stands, not as the page lies.

use crate::job::model::SeenFrom;
use crate::job::read::frame::Frame;

/// The corners of a frame that is seen from above, anticlockwise from the left end of its front.
pub(super) const CORNERS_SEEN_FROM_ABOVE: [&str; 4] = [
    "front left corner",
    "front right corner",
    "back right corner",
    "back left corner",
];

/// The names of one frame.
#[derive(Clone, Copy)]
pub(super) enum FrameNames {
    /// It stands as it is drawn: a gate.
    Upright,
    /// It lies: a tray.
    Lying,
    /// It lies and stands on nothing else: legs go up from it.
    Base,
    /// It lies on legs.
    Top,
}

impl FrameNames {
    pub(super) fn of(frame: &Frame, seen_from: SeenFrom) -> Self {
        match (seen_from, frame.legs.as_ref().map(|legs| legs.up)) {
            (SeenFrom::Front, _) => Self::Upright,
            (SeenFrom::Above, None) => Self::Lying,
            (SeenFrom::Above, Some(true)) => Self::Base,
            (SeenFrom::Above, Some(false)) => Self::Top,
        }
    }

    /// The outer members, anticlockwise from the lower edge of the drawing.
    pub(super) const fn members(self) -> [&'static str; 4] {
        match self {
            Self::Upright => ["bottom rail", "right upright", "top rail", "left upright"],
            Self::Lying => ["front rail", "right rail", "back rail", "left rail"],
            Self::Base => [
                "front base rail",
                "right base rail",
                "back base rail",
                "left base rail",
            ],
            Self::Top => [
                "front top rail",
                "right top rail",
                "back top rail",
                "left top rail",
            ],
        }
    }

    /// The corners, anticlockwise from the lower left of the drawing.
    pub(super) const fn corners(self) -> [&'static str; 4] {
        match self {
            Self::Upright => [
                "bottom left corner",
                "bottom right corner",
                "top right corner",
                "top left corner",
            ],
            Self::Lying | Self::Base | Self::Top => CORNERS_SEEN_FROM_ABOVE,
        }
    }

    /// The ends of what runs up the drawing, lower end first.
    pub(super) const fn ends(self) -> [&'static str; 2] {
        match self {
            Self::Upright => ["bottom", "top"],
            Self::Lying | Self::Base | Self::Top => ["front", "back"],
        }
    }
}
