//! Draws what is cut from plate: gussets in the corners between members, feet under legs.
//!
//! Each is a member too, so that it is tacked, welded and numbered like one: a gusset is the flat of equal area that
//! runs from the middle of its one edge to the middle of the other, a foot a short flat under its leg.

use super::ByTable;
use super::drawing::{DrawnMember, End, WeldLine};
use super::solid::{Plane, Prism};
use super::welds::nearest;
use crate::format::Precision;
use crate::job::model::{Plate, PlateKind, Point};
use crate::job::read::frame::Frame;
use crate::job::read::plates::{Feet, GussetTable};
use crate::reading::{Span, Table};
use crate::section::{Section, Shape};
use coldsquare_core::units::Millimetres;
use serde_spanned::Spanned;

/// Members nearer to one line than this cosine have no corner for a gusset.
const PARALLEL: f64 = 0.95;

/// Where a gusset lies: its corner, along its two edges, and out of its face.
struct Corner {
    at: Point,
    edges: [Point; 2],
    /// Out of the faces of the two members that the edges lie on.
    out: [Point; 2],
    normal: Point,
}

impl ByTable<'_> {
    /// Draws `[frame.gussets]`: one in each corner, or in those that are named.
    pub(super) fn gussets(&mut self, gussets: &GussetTable) -> Option<()> {
        let corners: Vec<(String, [usize; 2])> = self
            .drawing
            .joints
            .iter()
            .filter(|joint| joint.name.ends_with(" corner") && joint.members.len() == 2)
            .map(|joint| (joint.name.clone(), [joint.members[0].0, joint.members[1].0]))
            .collect();
        for name in &gussets.corners {
            if !corners.iter().any(|(known, _)| known == name.get_ref()) {
                let known: Vec<&str> = corners.iter().map(|(name, _)| name.as_str()).collect();
                let what = format!("there is no corner '{}'", name.get_ref());
                let hint = crate::reading::suggest(name.get_ref(), &known);
                self.reader.error(&name.span(), what, hint);
                return None;
            }
        }
        let wanted = |name: &str| {
            let mut named = gussets.corners.iter();
            gussets.corners.is_empty() || named.any(|known| known.get_ref() == name)
        };
        for (corner, members) in corners.iter().filter(|(name, _)| wanted(name)) {
            let name = format!("gusset, {corner}");
            self.gusset(gussets, &name, *members)?;
        }
        Some(())
    }

    /// Draws a `[[gusset]]`.
    pub(super) fn gusset_between(&mut self, mut table: Table<'_>) -> Option<()> {
        let names: Vec<Spanned<String>> = table
            .list("between")
            .into_iter()
            .filter_map(|value| {
                let word = value.get_ref().as_str()?;
                Some(Spanned::new(value.span(), word.to_owned()))
            })
            .collect();
        let name = table.text("name").map(Spanned::into_inner);
        let gusset = crate::job::read::plates::gusset(&mut table, self.procedures, None);
        let span = table.span().clone();
        table.finish();
        let found: Vec<usize> = names
            .iter()
            .filter_map(|name| self.places.member(name, self.reader))
            .collect();
        if names.len() != 2 {
            self.reader.error(
                &span,
                "a gusset is between two members",
                "write between = [\"upright\", \"arm\"]",
            );
            return None;
        }
        let [a, b] = found.as_slice() else {
            return None;
        };
        let usual = || format!("gusset, {}", self.names(&[*a, *b]));
        let name = name.unwrap_or_else(usual);
        self.gusset(&gusset?, &name, [*a, *b])
    }

    fn gusset(&mut self, table: &GussetTable, name: &str, members: [usize; 2]) -> Option<()> {
        let corner = self.corner(table, name, members)?;
        let [first, second] = table.size;
        let clip = table.clip.unwrap_or(0.1 * first.min(second));
        if clip < 0.0 || clip >= first.min(second) {
            let hint = "write less than the size, or leave it out: a tenth of the size clears the weld in the corner";
            self.reader.error(
                &table.welding.span,
                "the clip leaves nothing of the gusset",
                hint,
            );
            return None;
        }
        let on = |edge: usize, far: f64| corner.at + corner.edges[edge] * far;
        let mut outline = vec![on(0, clip), on(0, first), on(1, second), on(1, clip)];
        if clip == 0.0 {
            outline.pop();
        }
        let (from, to) = (on(0, first / 2.0), on(1, second / 2.0));
        let plate = Plate {
            kind: PlateKind::Gusset,
            outline,
            thickness: Millimetres(table.thickness),
            sizes: table.size.map(Millimetres),
            clip: Millimetres(clip),
        };
        let across = corner.normal.cross((to - from).unit()?);
        let index = self.plate(name, plate, (from, to), across, &table.welding.span)?;
        for (edge, (&member, far)) in members.iter().zip(table.size).enumerate() {
            self.weld_edge(
                table,
                (index, member),
                &corner,
                [on(edge, clip), on(edge, far)],
                edge,
            );
        }
        Some(())
    }

    /// The corner between the faces of two members.
    fn corner(&self, table: &GussetTable, name: &str, members: [usize; 2]) -> Option<Corner> {
        let span = &table.welding.span;
        let [a, b] = members.map(|member| &self.drawing.members[member].prism);
        let meet = nearest(a, b);
        // Along each member to the end that is farther away, or to the side that the file names.
        let side = table.side.as_ref();
        let side = side.and_then(|word| self.drawing.seen_from.direction(word.get_ref()));
        let away = [a, b].map(|prism| {
            let at = prism.station(meet);
            let forward = match side.map(|side| side.dot(prism.along)) {
                Some(along) if along.abs() > 0.3 => along > 0.0,
                _ => at < prism.length / 2.0,
            };
            if forward { prism.along } else { -prism.along }
        });
        let refuse = |what: String, hint: &str| {
            self.reader.error(span, what, hint);
            None
        };
        let [u, v] = away;
        let normal = u.cross(v).unit().filter(|_| u.dot(v).abs() < PARALLEL);
        let Some(normal) = normal else {
            return refuse(
                format!("{name} has no corner to go into"),
                "name two members that meet at an angle",
            );
        };
        let faces = [
            a.face_towards(v - u * u.dot(v)),
            b.face_towards(u - v * u.dot(v)),
        ];
        for (member, face) in members.into_iter().zip(&faces) {
            let drawn = &self.drawing.members[member];
            if !drawn.has_metal(face.normal) || face.normal.dot(normal).abs() > 0.05 {
                return refuse(
                    format!("{} has no face for {name}", drawn.name),
                    "a gusset stands square on a face of each member; an angle has none on its open side",
                );
            }
        }
        // How far off the line between the centroids the middle of its thickness is.
        let off = match &table.flush {
            None => 0.0,
            Some(word) => {
                let towards = self.drawing.seen_from.direction(word.get_ref());
                let along = towards.map_or(0.0, |towards| towards.dot(normal));
                if along.abs() < 0.7 {
                    let sides = [normal, -normal].map(|n| self.drawing.seen_from.side(n));
                    let hint = format!("write {} or {}, or leave it out", sides[0], sides[1]);
                    let what = format!("{name} cannot be flush with the {}", word.get_ref());
                    self.reader.error(&word.span(), what, hint);
                    return None;
                }
                let out = normal * along.signum();
                let reach = |prism: &Prism| prism.face_towards(out).offset;
                (reach(a).min(reach(b)) - table.thickness / 2.0) * along.signum()
            }
        };
        // On both faces: from where the lines meet, along each member to the face of the other.
        let to_face = |face: &super::solid::Face, prism: &Prism, along: Point| {
            let short = face.offset - (meet - prism.from).dot(face.normal);
            along * (short / along.dot(face.normal))
        };
        Some(Corner {
            at: meet + to_face(&faces[0], a, v) + to_face(&faces[1], b, u) + normal * off,
            edges: away,
            out: faces.map(|face| face.normal),
            normal,
        })
    }

    /// Adds a piece of plate as the flat of equal area between two points.
    fn plate(
        &mut self,
        name: &str,
        plate: Plate,
        (from, to): (Point, Point),
        across: Point,
        span: &Span,
    ) -> Option<usize> {
        let (length, thickness) = ((to - from).length(), plate.thickness.0);
        let written = self
            .reader
            .units()
            .length_with_unit(thickness, Precision::Drawn);
        let shape = Shape::Bar {
            depth_mm: plate.area_mm2() / length,
            width_mm: thickness,
        };
        let section = match Section::new(&format!("plate {written}"), shape) {
            Ok(section) => section,
            Err(error) => {
                self.reader
                    .error(span, format!("{name} cannot be cut"), error.to_string());
                return None;
            }
        };
        let prism = Prism::new(from, to, &section, across)?;
        let mut drawn = DrawnMember::new(name.to_owned(), section, prism, span.clone());
        drawn.plate = Some(plate);
        let index = self.drawing.add(drawn);
        self.places.add_member(name, index, span, self.reader);
        Some(index)
    }

    /// Welds an edge of a gusset to a member, on both faces of the plate.
    fn weld_edge(
        &mut self,
        table: &GussetTable,
        (plate, member): (usize, usize),
        corner: &Corner,
        [from, to]: [Point; 2],
        edge: usize,
    ) {
        let carrier = &self.drawing.members[member];
        let name = format!("{} on {}", self.drawing.members[plate].name, carrier.name);
        let reaches = [1.0, -1.0].map(|sign| {
            let out = corner.normal * sign;
            let face = carrier.prism.face_towards(out);
            face.offset - (from - carrier.prism.from).dot(out) - table.thickness / 2.0
        });
        let joint = self.joint(&[plate, member], &name, (from + to) * 0.5);
        let first = self.drawing.welds.len();
        for (sign, room) in [1.0, -1.0].into_iter().zip(reaches) {
            let out = corner.normal * sign;
            let word = self.drawing.seen_from.side(out);
            if !self.drawing.chooses(joint, [word; 2], &table.welding) {
                continue;
            }
            let shift = out * (table.thickness / 2.0);
            let leg = table.welding.leg;
            let leg = leg.unwrap_or_else(|| self.drawing.thinner_wall([plate, member]));
            let fillet = room >= leg / 2.0;
            let line = WeldLine {
                from: from + shift,
                to: to + shift,
                outward: if fillet { out + corner.out[edge] } else { out },
                fillet,
            };
            self.drawing
                .weld(joint, [plate, member], word, line, &table.welding);
        }
        let drawn = self.drawing.welds.len() - first;
        self.drawing.note_if_unwelded(joint, drawn, &table.welding);
    }

    /// Draws the feet of a frame's legs: square plates, the end of the leg welded to each.
    pub(super) fn feet(&mut self, frame: &Frame, feet: &Feet) -> Option<()> {
        let span = feet.welding.span.clone();
        let Some(legs) = frame.legs.as_ref().filter(|legs| !legs.up) else {
            self.reader.error(
                &span,
                "feet go under legs, and this frame stands on none",
                "add [frame.legs] with direction = \"down\"",
            );
            return None;
        };
        let legs: Vec<usize> = (0..self.drawing.members.len())
            .filter(|&k| self.drawing.members[k].span == legs.part.welding.span)
            .filter(|&k| self.drawing.members[k].name.ends_with(" leg"))
            .collect();
        for leg in legs {
            self.foot(leg, feet, &span)?;
        }
        Some(())
    }

    fn foot(&mut self, leg: usize, feet: &Feet, span: &Span) -> Option<()> {
        let up = Point::new(0.0, 0.0, 1.0);
        let prism = &self.drawing.members[leg].prism;
        let floor = prism.to();
        // Under the middle of the leg where it meets the plate.
        let middle = Plane {
            point: floor + up * feet.thickness,
            normal: up,
        }
        .meets(prism.from, prism.along)?;
        let middle = middle - up * (feet.thickness / 2.0);
        let half = feet.size / 2.0;
        let (x, y) = (Point::new(half, 0.0, 0.0), Point::new(0.0, half, 0.0));
        let plate = Plate {
            kind: PlateKind::Foot,
            outline: vec![
                middle - x - y,
                middle + x - y,
                middle + x + y,
                middle - x + y,
            ],
            thickness: Millimetres(feet.thickness),
            sizes: [Millimetres(feet.size); 2],
            clip: Millimetres(0.0),
        };
        let name = format!("foot of {}", self.drawing.members[leg].name);
        let across = Point::new(0.0, 1.0, 0.0);
        let index = self.plate(&name, plate, (middle - x, middle + x), across, span)?;
        let joint = format!("{} on its foot", self.drawing.members[leg].name);
        self.weld_to_face(leg, &[index], End::End, &joint, &feet.welding)
    }
}
