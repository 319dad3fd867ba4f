//! What all pages look like.

use crate::drawing::{self, palette};

/// The style sheet of every page: colours in light and dark, drawings, panels.
#[must_use]
pub fn style() -> String {
    format!(
        "{}{}{}",
        palette::properties(),
        drawing::STYLE,
        include_str!("page.css")
    )
}
