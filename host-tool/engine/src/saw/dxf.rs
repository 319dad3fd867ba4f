//! Flat patterns of the pieces, each at full size with its two cuts, one above the other.

use super::{SawList, angles};
use crate::geometry::Point;
use crate::line_drawing::Dxf;

/// Height of the letters, mm.
const LETTERS_MM: f64 = 12.0;
/// Between one piece and the next, mm.
const BETWEEN_MM: f64 = 60.0;

/// A drawing of one piece of each kind, seen with the face up that its mitre runs across.
#[must_use]
pub fn pieces_dxf(list: &SawList) -> String {
    let mut drawing = Dxf::default();
    let mut y = 0.0;
    for kind in &list.kinds {
        let outline = kind.outline();
        let high = outline.iter().map(|[_, y]| *y).fold(0.0, f64::max);
        let points: Vec<Point> = outline
            .iter()
            .map(|[x, up]| Point::new(*x, y + up, 0.0))
            .collect();
        drawing.polyline("PIECES", &points, true);
        let words = format!(
            "{}: {} of {}, {}, {:.1} mm long",
            kind.mark,
            kind.members.len(),
            kind.section.designation(),
            angles(kind.ends).replace('°', " deg"),
            kind.long_mm
        );
        let at = Point::new(0.0, y + high + LETTERS_MM, 0.0);
        drawing.words("NAMES", at, LETTERS_MM, &words);
        y += high + BETWEEN_MM;
    }
    drawing.text()
}
