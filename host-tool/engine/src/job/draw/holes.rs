//! Reads `[[hole]]`.

use super::ByTable;
use crate::job::finish::{Hole, HoleKind};
use crate::reading::{QuantityKind, Table};
use serde_spanned::Spanned;

impl ByTable<'_> {
    /// Reads a hole.
    pub(super) fn hole(&self, mut table: Table<'_>) -> Option<Hole> {
        let reader = self.reader;
        let name = table.text("name").map(Spanned::into_inner);
        let place = match table.value("at") {
            Some(value) => self.places.place(value, self.drawing, reader),
            None => {
                table.missing("at", "at = \"top rail at 300\"");
                None
            }
        };
        let sizes = [
            table
                .positive("diameter", QuantityKind::Length)
                .map(|size| HoleKind::Plain {
                    diameter_mm: size.into_inner(),
                }),
            table
                .positive("thread", QuantityKind::Length)
                .map(|size| HoleKind::Thread {
                    diameter_mm: size.into_inner(),
                }),
            table
                .positive("keyhole", QuantityKind::Length)
                .map(|size| HoleKind::Keyhole {
                    screw_mm: size.into_inner(),
                }),
        ];
        let span = table.span().clone();
        table.finish();
        let kinds: Vec<HoleKind> = sizes.into_iter().flatten().collect();
        let place = place?;
        let &[kind] = kinds.as_slice() else {
            reader.error(
                &span,
                "this hole needs one size",
                "write diameter = 8, or thread = 8, or keyhole = 5 with the diameter of the screw",
            );
            return None;
        };
        let Some(member) = place.on.or_else(|| self.nearest_member(place.at)) else {
            reader.error(
                &span,
                "this hole is in no member",
                "write at = \"top rail at 300\"",
            );
            return None;
        };
        Some(Hole {
            name: name.unwrap_or_else(|| "hole".into()),
            at: place.at,
            member,
            kind,
        })
    }
}
