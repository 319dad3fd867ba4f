//! Draws lap joints: a member that lies on the face of others and is welded along its edges.

use super::drawing::{Drawing, End, WeldLine};
use crate::job::model::Point;
use crate::job::read::welding::Welding;
use crate::reading::Reader;
use serde_spanned::Spanned;

impl Drawing {
    /// The direction of the side on which a member is to lie, square to it; `None` when an error was noted.
    pub(super) fn lap_side(
        &self,
        word: &Spanned<String>,
        along: Point,
        reader: &Reader<'_>,
    ) -> Option<Point> {
        let side = self.seen_from.direction(word.get_ref());
        let found = side.filter(|side| side.dot(along).abs() < 0.5);
        if found.is_none() {
            reader.error(
                &word.span(),
                format!("a member cannot lie on the '{}' of another here", word.get_ref()),
                "write the side of the others that it lies on, across it: front, back, left, right, top or bottom",
            );
        }
        found
    }

    /// Moves a member so that it lies on the face of another that looks this way.
    pub(super) fn lay_on(&mut self, member: usize, carrier: usize, side: Point) {
        let carrier = &self.members[carrier].prism;
        let height = carrier.from.dot(side) + carrier.face_towards(side).offset;
        let prism = &mut self.members[member].prism;
        let under = prism.from.dot(side) - prism.face_towards(-side).offset;
        prism.from = prism.from + side * (height - under);
    }

    /// Ends a member at the far edge of another on which it lies, and welds it there along its two edges.
    pub(super) fn lap(
        &mut self,
        (member, end): (usize, End),
        carrier: usize,
        side: Point,
        (name, how): (&str, &Welding),
        reader: &Reader<'_>,
    ) -> Option<()> {
        if !self.members[carrier].has_metal(side) {
            let carrier = &self.members[carrier];
            reader.error(
                &how.span,
                format!("a {} has no face there to lie on", carrier.section),
                "lap it on another side, or turn the section",
            );
            return None;
        }
        let prism = &self.members[member].prism;
        let corners = self.members[carrier].prism.corners();
        let stations = corners.map(|corner| prism.station(corner));
        let low = stations.into_iter().fold(f64::INFINITY, f64::min);
        let high = stations.into_iter().fold(f64::NEG_INFINITY, f64::max);
        // A carrier that runs askew, or along the member, has no such edge nearby.
        let size = self.members[carrier].section.properties();
        if high - low > 3.0 * size.depth_mm.max(size.width_mm) {
            reader.error(
                &how.span,
                format!(
                    "{} runs along {name}, not across it",
                    self.members[carrier].name
                ),
                "a lap crosses the member it lies on",
            );
            return None;
        }
        let at = match end {
            End::Start => prism.from,
            End::End => prism.to(),
        };
        let drawn = &mut self.members[member];
        match end {
            End::Start => (drawn.prism.reach.0, drawn.cuts.0) = (low, low),
            End::End => (drawn.prism.reach.1, drawn.cuts.1) = (high, high),
        }
        let joint = self.join(name.to_owned(), at, &[member, carrier]);
        let first = self.welds.len();
        let prism = self.members[member].prism.clone();
        let edge = prism.along.cross(side);
        for out in [-edge, edge] {
            let word = self.seen_from.side(out);
            if !self.chooses(joint, [word; 2], how) {
                continue;
            }
            let under =
                out * prism.face_towards(out).offset - side * prism.face_towards(-side).offset;
            let line = WeldLine {
                from: prism.at(low) + under,
                to: prism.at(high) + under,
                outward: out + side,
                fillet: true,
            };
            self.weld(joint, [member, carrier], word, line, how);
        }
        let drawn = self.welds.len() - first;
        self.note_if_unwelded(joint, drawn, how);
        Some(())
    }
}
