//! One entity of a drawing: its kind, its layer, its numbers.

use super::pairs::Pair;
use crate::file_error::{FileError, Source};
use crate::geometry::Point;
use crate::line_drawing::model::MAX_COORDINATE;
use crate::reading::Span;

/// Most groups kept of one entity; a polyline of more is not the centre line of a light frame.
const MAX_GROUPS: usize = 100_000;

/// An entity as it is written.
pub(super) struct Entity<'a> {
    pub kind: &'a str,
    pub span: Span,
    /// Its line in the file, from 1.
    pub line: usize,
    pub groups: Vec<Pair<'a>>,
}

impl<'a> Entity<'a> {
    /// The entity that a pair with code 0 begins.
    pub(super) fn begun_by(pair: &Pair<'a>) -> Self {
        Self {
            kind: pair.value,
            span: pair.span.clone(),
            line: pair.line,
            groups: Vec::new(),
        }
    }

    /// Adds a group.
    ///
    /// # Errors
    /// An entity without end.
    pub(super) fn add(&mut self, pair: Pair<'a>, source: &Source) -> Result<(), FileError> {
        if self.groups.len() >= MAX_GROUPS {
            return Err(source
                .error(
                    self.span.clone(),
                    format!("{} has more than {MAX_GROUPS} values", self.kind),
                )
                .hint("leave it out of the drawing: centre lines have a handful each"));
        }
        self.groups.push(pair);
        Ok(())
    }

    /// The first value with this code.
    pub(super) fn text(&self, code: i32) -> Option<&'a str> {
        let mut groups = self.groups.iter();
        groups.find(|pair| pair.code == code).map(|pair| pair.value)
    }

    /// The flags with this code, zero where there are none.
    pub(super) fn flags(&self, code: i32) -> i64 {
        self.text(code)
            .and_then(|text| text.parse().ok())
            .unwrap_or(0)
    }

    pub(super) fn layer(&self) -> String {
        unescaped(self.text(8).unwrap_or("0"))
    }

    /// "LINE on layer RAILS".
    pub(super) fn named(&self) -> String {
        format!("{} on layer {}", self.kind, self.layer())
    }

    /// A coordinate of this entity.
    ///
    /// # Errors
    /// A value that is no number of use.
    pub(super) fn number(&self, pair: &Pair<'_>, source: &Source) -> Result<f64, FileError> {
        let number = pair.value.parse::<f64>().ok();
        number
            .filter(|number| number.is_finite() && number.abs() <= MAX_COORDINATE)
            .ok_or_else(|| {
                let what = format!(
                    "'{}' of a {} is not a coordinate",
                    short(pair.value),
                    self.named()
                );
                source.error(pair.span.clone(), what).hint(format!(
                    "a coordinate is a number up to {MAX_COORDINATE:.0}; mend or delete this {}",
                    self.kind
                ))
            })
    }

    /// The point with its x under this code, y under the code ten higher, and z, which may be missing, under the one
    /// twenty higher.
    ///
    /// # Errors
    /// A point without x or y, and what is not a number.
    pub(super) fn point(&self, code: i32, source: &Source) -> Result<Point, FileError> {
        let axis = |code: i32| -> Result<Option<f64>, FileError> {
            let found = self.groups.iter().find(|pair| pair.code == code);
            found.map(|pair| self.number(pair, source)).transpose()
        };
        let (Some(x), Some(y)) = (axis(code)?, axis(code + 10)?) else {
            let what = format!("a {} has no group {code} or {}", self.named(), code + 10);
            return Err(source
                .error(self.span.clone(), what)
                .hint(format!("mend or delete this {}", self.kind)));
        };
        Ok(Point::new(x, y, axis(code + 20)?.unwrap_or(0.0)))
    }

    /// Where a point of a flat entity is in space, from its extrusion direction (groups 210, 220, 230): the "arbitrary
    /// axis" rule of the DXF reference.
    pub(super) fn placed(
        &self,
        source: &Source,
    ) -> Result<impl Fn(Point) -> Point + use<>, FileError> {
        let up = Point::new(0.0, 0.0, 1.0);
        let normal = if self.text(210).is_some() {
            self.point(210, source)?.unit().unwrap_or(up)
        } else {
            up
        };
        let near_z = normal.x.abs() < 1.0 / 64.0 && normal.y.abs() < 1.0 / 64.0;
        let start = if near_z {
            Point::new(0.0, 1.0, 0.0)
        } else {
            up
        };
        let x = start
            .cross(normal)
            .unit()
            .unwrap_or(Point::new(1.0, 0.0, 0.0));
        let y = normal.cross(x);
        Ok(move |point: Point| x * point.x + y * point.y + normal * point.z)
    }
}

/// The first letters of a text.
fn short(text: &str) -> String {
    text.chars().take(30).collect()
}

/// Letters written as `\U+00E4`.
fn unescaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find("\\U+") {
        let code = rest.get(at + 3..at + 7);
        let letter = code
            .and_then(|code| u32::from_str_radix(code, 16).ok())
            .and_then(char::from_u32);
        let Some(letter) = letter else { break };
        out.push_str(&rest[..at]);
        out.push(letter);
        rest = &rest[at + 7..];
    }
    out + rest
}
