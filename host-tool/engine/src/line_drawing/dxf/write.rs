//! Drawings to hand on, as DXF R12 in text form: what every reader takes.

use crate::geometry::Point;
use std::fmt::Write as _;

/// The remark that says which unit a drawing is in.
pub(super) const IN_MILLIMETRES: &str = "in millimetres";

/// A drawing as it is written, layer by layer.
///
/// ```
/// use coldsquare_engine::geometry::Point;
/// use coldsquare_engine::line_drawing::{Dxf, read};
///
/// let mut drawing = Dxf::default();
/// drawing.line("RAILS", Point::default(), Point::new(1200.0, 0.0, 0.0));
/// let text = drawing.text();
/// assert_eq!(read("rails.dxf", text.as_bytes()).expect("a whole drawing").lines.len(), 1);
/// ```
#[derive(Clone, Debug, Default)]
pub struct Dxf {
    layers: Vec<String>,
    entities: String,
}

impl Dxf {
    /// Adds a line.
    pub fn line(&mut self, layer: &str, from: Point, to: Point) {
        self.begin("LINE", layer);
        self.point(10, from);
        self.point(11, to);
    }

    /// Adds a line through several points, in space.
    pub fn polyline(&mut self, layer: &str, points: &[Point], closed: bool) {
        self.begin("POLYLINE", layer);
        self.group(66, "1");
        self.point(10, Point::default());
        self.group(70, if closed { "9" } else { "8" });
        for point in points {
            self.begin("VERTEX", layer);
            self.point(10, *point);
            self.group(70, "32");
        }
        self.begin("SEQEND", layer);
    }

    /// Adds a text that begins at a point, with letters of this height.
    pub fn words(&mut self, layer: &str, at: Point, height_mm: f64, text: &str) {
        self.begin("TEXT", layer);
        self.point(10, at);
        let _ = write!(self.entities, " 40\n{height_mm:.3}\n");
        let plain: String = text.chars().map(in_ascii).collect();
        self.group(1, &plain);
    }

    /// The file, in millimetres.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::new();
        let mut group = |code: i32, value: &str| {
            let _ = write!(out, "{code:>3}\n{value}\n");
        };
        // R12 has no variable for the unit, so a remark says it.
        for (code, value) in [(999, IN_MILLIMETRES), (0, "SECTION"), (2, "HEADER")] {
            group(code, value);
        }
        for (code, value) in [
            (9, "$ACADVER"),
            (1, "AC1009"),
            (0, "ENDSEC"),
            (0, "SECTION"),
        ] {
            group(code, value);
        }
        let count = self.layers.len().to_string();
        for (code, value) in [(2, "TABLES"), (0, "TABLE"), (2, "LAYER"), (70, &count)] {
            group(code, value);
        }
        for (k, layer) in self.layers.iter().enumerate() {
            let colour = (k % 7 + 1).to_string();
            for (code, value) in [
                (0, "LAYER"),
                (2, layer),
                (70, "0"),
                (62, &colour),
                (6, "CONTINUOUS"),
            ] {
                group(code, value);
            }
        }
        for (code, value) in [
            (0, "ENDTAB"),
            (0, "ENDSEC"),
            (0, "SECTION"),
            (2, "ENTITIES"),
        ] {
            group(code, value);
        }
        out.push_str(&self.entities);
        out.push_str("  0\nENDSEC\n  0\nEOF\n");
        out
    }

    fn begin(&mut self, kind: &str, layer: &str) {
        if !self.layers.iter().any(|known| known == layer) {
            self.layers.push(layer.to_owned());
        }
        self.group(0, kind);
        self.group(8, layer);
    }

    fn group(&mut self, code: i32, value: &str) {
        let _ = write!(self.entities, "{code:>3}\n{value}\n");
    }

    fn point(&mut self, code: i32, point: Point) {
        for (k, value) in [(0, point.x), (10, point.y), (20, point.z)] {
            // Adding zero turns -0 into 0.
            let _ = write!(self.entities, "{:>3}\n{:.6}\n", code + k, value + 0.0);
        }
    }
}

/// A layer that is named after a section, in the letters that R12 allows: "SHS 40x40x2" is on `SHS_40X40X2`. `P` stands
/// for the point and `$` for the stroke of a fraction.
#[must_use]
pub fn layer_of(designation: &str) -> String {
    let letters = designation.chars().map(|letter| match letter {
        '.' => 'P',
        '/' => '$',
        letter if letter.is_ascii_alphanumeric() => letter.to_ascii_uppercase(),
        '-' => '-',
        _ => '_',
    });
    // Names of layers end here in R12.
    letters.take(31).collect()
}

/// The designation that a layer is named after.
pub(in crate::line_drawing) fn designation_of(layer: &str) -> String {
    let letters: Vec<char> = layer.chars().collect();
    let digit = |at: Option<usize>| {
        at.and_then(|at| letters.get(at))
            .is_some_and(char::is_ascii_digit)
    };
    let spelled = letters.iter().enumerate().map(|(k, letter)| match letter {
        '_' => ' ',
        '$' => '/',
        'P' | 'p' if digit(k.checked_sub(1)) && digit(Some(k + 1)) => '.',
        'X' => 'x',
        letter => *letter,
    });
    spelled.collect()
}

fn in_ascii(letter: char) -> char {
    match letter {
        ' '..='~' => letter,
        _ => '?',
    }
}
