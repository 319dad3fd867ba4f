//! The centre lines of a drawing: LINE, LWPOLYLINE and POLYLINE in model space.

use super::entity::Entity;
use super::pairs::{Pair, Pairs};
use super::write::IN_MILLIMETRES;
use crate::file_error::{FileError, Source};
use crate::geometry::Point;
use crate::line_drawing::model::{DrawnLine, LeftOut, LineDrawing, MAX_LINES};
use std::collections::BTreeSet;

/// Layers that hold no centre lines in a drawing that `export` wrote.
const NOT_CENTRE_LINES: [&str; 4] = ["OUTLINES", "WELDS", "MOVED", "PIECES"];

/// Reads the drawing.
pub(in crate::line_drawing) fn read(source: &Source) -> Result<LineDrawing, FileError> {
    let mut reader = Reading {
        source,
        drawing: LineDrawing {
            joins_lines: true,
            ..LineDrawing::default()
        },
        hidden: BTreeSet::new(),
        polyline: None,
    };
    reader.file()?;
    Ok(reader.drawing)
}

/// A POLYLINE whose corners follow as VERTEX entities.
struct Polyline<'a> {
    head: Entity<'a>,
    corners: Vec<Corner>,
}

/// A corner of a polyline, and whether an arc goes on from it.
struct Corner {
    at: Point,
    arc: bool,
}

struct Reading<'a> {
    source: &'a Source,
    drawing: LineDrawing,
    /// Layers that are off or frozen.
    hidden: BTreeSet<String>,
    polyline: Option<Polyline<'a>>,
}

impl<'a> Reading<'a> {
    fn file(&mut self) -> Result<(), FileError> {
        let mut pairs = Pairs::new(self.source);
        let (mut section, mut entity): (&str, Option<Entity<'a>>) = ("", None);
        let (mut variable, mut ended, mut any) = ("", false, false);
        while let Some(pair) = pairs.next()? {
            any = true;
            if pair.code == 0 {
                if let Some(whole) = entity.take() {
                    self.entity(section, whole)?;
                }
                match pair.value {
                    "EOF" => {
                        ended = true;
                        break;
                    }
                    "SECTION" => section = "",
                    "ENDSEC" => section = "end",
                    _ => entity = Some(Entity::begun_by(&pair)),
                }
                continue;
            }
            match (&mut entity, section, pair.code) {
                (None, _, 999) if pair.value == IN_MILLIMETRES => {
                    self.drawing.mm_per_unit = Some(1.0)
                }
                (Some(entity), _, _) => entity.add(pair, self.source)?,
                (None, "", 2) => section = pair.value,
                (None, "HEADER", 9) => variable = pair.value,
                (None, "HEADER", 70) if variable == "$INSUNITS" => self.unit(&pair),
                (None, _, _) => {}
            }
        }
        if !any || !ended {
            let end = self.source.text().len();
            let what = if any {
                "the drawing has no end"
            } else {
                "the file is empty"
            };
            return Err(self
                .source
                .error(end..end, what)
                .hint("it is cut off, or no DXF: save the drawing anew"));
        }
        self.finish_polyline()
    }

    /// The unit of the drawing, $INSUNITS.
    fn unit(&mut self, pair: &Pair<'_>) {
        self.drawing.mm_per_unit = match pair.value {
            "1" => Some(25.4),
            "2" => Some(304.8),
            "4" => Some(1.0),
            "5" => Some(10.0),
            "6" => Some(1000.0),
            _ => None,
        };
    }

    fn entity(&mut self, section: &str, entity: Entity<'a>) -> Result<(), FileError> {
        match section {
            "TABLES" if entity.kind == "LAYER" => self.layer(&entity),
            "ENTITIES" => return self.drawn(entity),
            _ => {}
        }
        Ok(())
    }

    fn layer(&mut self, entity: &Entity<'_>) {
        let off = entity
            .text(62)
            .is_some_and(|colour| colour.starts_with('-'));
        let frozen = entity.flags(70) & 1 != 0;
        if let Some(name) = entity.text(2).filter(|_| off || frozen) {
            self.hidden.insert(name.to_uppercase());
        }
    }

    fn drawn(&mut self, entity: Entity<'a>) -> Result<(), FileError> {
        if let (Some(polyline), "VERTEX") = (&mut self.polyline, entity.kind) {
            // The frame of a spline is not on the line; faces of a mesh are no corners.
            if entity.flags(70) & (16 | 128) == 0 {
                let arc = entity.text(42).is_some_and(bulges);
                let at = entity.point(10, self.source)?;
                polyline.corners.push(Corner { at, arc });
            }
            return Ok(());
        }
        self.finish_polyline()?;
        let layer = entity.layer().to_uppercase();
        let why = match entity.kind {
            "SEQEND" | "ATTDEF" => return Ok(()),
            _ if NOT_CENTRE_LINES.contains(&layer.as_str()) => return Ok(()),
            _ if self.hidden.contains(&layer) => "its layer is off or frozen",
            _ if entity.flags(67) == 1 => "it is on the sheet, not in the model",
            "LINE" => {
                let ends = [
                    entity.point(10, self.source)?,
                    entity.point(11, self.source)?,
                ];
                return self.line(&entity, ends);
            }
            "LWPOLYLINE" => {
                let corners = self.corners(&entity)?;
                return self.polyline(&entity, &corners);
            }
            "POLYLINE" if entity.flags(70) & (16 | 64) == 0 => {
                self.polyline = Some(Polyline {
                    head: entity,
                    corners: Vec::new(),
                });
                return Ok(());
            }
            "INSERT" => "explode the block first",
            "ARC" | "CIRCLE" | "ELLIPSE" | "SPLINE" => {
                "members are straight: draw it in straight lines"
            }
            _ => "it is not a line",
        };
        self.leave_out(&entity, why);
        Ok(())
    }

    fn leave_out(&mut self, entity: &Entity<'_>, why: &str) {
        self.drawing.left_out.push(LeftOut {
            what: entity.named(),
            why: why.to_owned(),
            line: entity.line,
        });
    }

    fn finish_polyline(&mut self) -> Result<(), FileError> {
        let Some(Polyline { head, corners }) = self.polyline.take() else {
            return Ok(());
        };
        let flat = head.flags(70) & 8 == 0;
        let corners = if flat {
            let placed = head.placed(self.source)?;
            let place = |corner: Corner| Corner {
                at: placed(corner.at),
                ..corner
            };
            corners.into_iter().map(place).collect()
        } else {
            corners
        };
        self.polyline(&head, &corners)
    }

    /// The corners of an LWPOLYLINE: 10 and 20 begin each, 42 says how far the arc after it bulges.
    fn corners(&self, entity: &Entity<'_>) -> Result<Vec<Corner>, FileError> {
        let mut corners: Vec<Corner> = Vec::new();
        let elevation = entity.groups.iter().find(|pair| pair.code == 38);
        let z = elevation.map_or(Ok(0.0), |pair| entity.number(pair, self.source))?;
        for pair in &entity.groups {
            match (pair.code, corners.last_mut()) {
                (10, _) => {
                    let x = entity.number(pair, self.source)?;
                    let at = Point::new(x, 0.0, z);
                    corners.push(Corner { at, arc: false });
                }
                (20, Some(corner)) => corner.at.y = entity.number(pair, self.source)?,
                (42, Some(corner)) => corner.arc = bulges(pair.value),
                _ => {}
            }
        }
        let placed = entity.placed(self.source)?;
        corners
            .iter_mut()
            .for_each(|corner| corner.at = placed(corner.at));
        Ok(corners)
    }

    fn polyline(&mut self, entity: &Entity<'_>, corners: &[Corner]) -> Result<(), FileError> {
        let closed = entity.flags(70) & 1 != 0;
        let next = corners
            .iter()
            .skip(1)
            .chain(corners.first().filter(|_| closed));
        let mut arcs = false;
        for (from, to) in corners.iter().zip(next) {
            if from.arc {
                arcs = true;
            } else {
                self.line(entity, [from.at, to.at])?;
            }
        }
        if arcs {
            self.leave_out(entity, "its arcs: members are straight");
        }
        Ok(())
    }

    fn line(&mut self, entity: &Entity<'_>, [from, to]: [Point; 2]) -> Result<(), FileError> {
        if self.drawing.lines.len() >= MAX_LINES {
            let what = format!(
                "more than {MAX_LINES} lines: this is one too many, a {}",
                entity.named()
            );
            return Err(self
                .source
                .error(entity.span.clone(), what)
                .hint("keep the centre lines of one frame, and save those alone"));
        }
        self.drawing.lines.push(DrawnLine {
            from,
            to,
            layer: entity.layer(),
            name: None,
            line: entity.line,
        });
        Ok(())
    }
}

/// Whether a bulge is one: straight pieces carry a zero.
fn bulges(text: &str) -> bool {
    text.parse::<f64>().map_or(true, |bulge| bulge.abs() > 1e-9)
}
