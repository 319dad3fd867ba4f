//! Reads `[[clamp]]`: where it holds, how hard, and for which welds.

use super::ByTable;
use super::changes::Release;
use super::welds::TOUCHING_MM;
use crate::job::model::{Clamp, Point};
use crate::reading::{QuantityKind, Span, Table};
use coldsquare_core::units::Newtons;

/// How far a clamp may be from its member, mm.
const MAX_AWAY_MM: f64 = 50.0;

impl ByTable<'_> {
    /// Reads a clamp, and the welds after and before which it comes off: these are not numbered yet.
    pub(super) fn clamp<'b>(&self, mut table: Table<'b>) -> Option<(Clamp, Release<'b>)> {
        let reader = self.reader;
        let place = match table.value("at") {
            Some(value) => self.places.place(value, self.drawing, reader),
            None => {
                table.missing("at", "at = \"top rail at 300\"");
                None
            }
        };
        let named = table
            .text("member")
            .and_then(|name| self.places.member(&name, reader));
        let force = table
            .positive("force", QuantityKind::Force)
            .map(|force| Newtons(force.into_inner()));
        let span = table.span().clone();
        let release = Release {
            after: table.list("release_after"),
            before: table.list("release_before"),
        };
        table.finish();
        let place = place?;
        let Some(member) = named.or(place.on).or_else(|| self.nearest_member(place.at)) else {
            reader.error(
                &span,
                "this clamp holds no member",
                "write at = \"top rail at 300\", or add member = \"top rail\"",
            );
            return None;
        };
        self.check_clamp(place.at, member, &span)?;
        let clamp = Clamp {
            force,
            ..Clamp::firm(member, place.at)
        };
        Some((clamp, release))
    }

    fn check_clamp(&self, at: Point, member: usize, span: &Span) -> Option<()> {
        let member = &self.drawing.members[member];
        let far = member.prism.distance(at);
        if far > MAX_AWAY_MM {
            let what = format!("this clamp is {far:.0} mm away from {}", member.name);
            self.reader
                .error(span, what, "put it on the member it holds");
            return None;
        }
        Some(())
    }

    /// The member in whose metal a point lies.
    pub(super) fn nearest_member(&self, at: Point) -> Option<usize> {
        self.drawing
            .members
            .iter()
            .position(|member| member.prism.distance(at) < TOUCHING_MM)
    }
}
