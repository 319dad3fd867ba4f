//! Reads `[opening]`: sizes, or a file of readings that they follow from.

use crate::file_error::FileErrors;
use crate::format::Precision;
use crate::job::model::Opening;
use crate::opening::model::Walls;
use crate::opening::rectangle::{Shape, Wanted, largest};
use crate::reading::{QuantityKind, Reader, Span, Table};
use coldsquare_core::units::Millimetres;
use serde_spanned::Spanned;

pub(super) fn opening(mut table: Table<'_>) -> Option<(Opening, Span)> {
    let reader = table.reader();
    let file = table.text("readings");
    let width = match &file {
        Some(_) => table.positive("width", QuantityKind::Length),
        None => table.required("width", QuantityKind::Length, "width = 1216"),
    };
    let height = table.positive("height", QuantityKind::Length);
    let clearance = table.positive("clearance", QuantityKind::Length);
    let on_floor = table.flag("on_floor");
    let at_front = table.flag("at_front");
    let span = table.span().clone();
    table.finish();
    let mut opening = Opening {
        width: Millimetres(width.as_ref().map_or(0.0, |width| *width.get_ref())),
        height: height.as_ref().map(|height| Millimetres(*height.get_ref())),
        clearance: Millimetres(clearance.map_or(0.0, Spanned::into_inner)),
        on_floor,
        at_front,
        readings: file.as_ref().map(|file| file.get_ref().clone()),
    };
    let Some(file) = file else {
        return width.map(|_| (opening, span));
    };
    if let Some(size) = width.or(height) {
        let what = "the readings give the size of the opening";
        reader.error(
            &size.span(),
            what,
            "leave out either the size or the readings",
        );
    }
    let mut walls = walls(file.get_ref(), &file.span(), reader)?;
    // The size is that of the place where the frame stays; how it gets there is another question.
    let stays = if at_front { 0 } else { walls.depths.len() - 1 };
    walls.stations.retain(|one| one.depth == stays);
    let wanted = Wanted {
        clearance_mm: 0.0,
        on_floor,
        depth_mm: 0.0,
        at_front,
        shape: Shape::Plumb,
    };
    let Some(clear) = largest(&walls, &wanted) else {
        let hint = format!(
            "`coldsquare opening {}` shows what was read",
            file.get_ref()
        );
        reader.error(&file.span(), "no frame goes into this opening", hint);
        return None;
    };
    opening.width = Millimetres(clear.width.value);
    opening.height = clear.height.map(|height| Millimetres(height.value));
    Some((opening, span))
}

/// The walls of a file of readings beside the job.
fn walls(path: &str, span: &Span, reader: &Reader<'_>) -> Option<Walls> {
    let full = reader.beside(path);
    let refuse = |what: String| {
        let hint = format!("`coldsquare opening {path}` shows each error in its place");
        reader.error(span, what, hint);
        None
    };
    if !reader.files().exists(&full) {
        return refuse(format!("there is no file {path} beside the job"));
    }
    let source = match crate::files::text(reader.files(), &full) {
        Ok(source) => source,
        Err(failure) => return refuse(format!("cannot read {path}: {failure}")),
    };
    let read = crate::opening::from_source(&source);
    match read.and_then(|readings| crate::opening::adjust(&readings, &source)) {
        Ok(walls) => Some(walls),
        Err(errors) => refuse(told(path, &errors)),
    }
}

fn told(path: &str, errors: &FileErrors) -> String {
    let lines: Vec<String> = errors
        .iter()
        .take(3)
        .map(|one| format!("line {}: {}", one.line_and_column().0, one.what()))
        .collect();
    let count = crate::format::count(errors.count(), "error");
    format!("{count} in the readings {path}: {}", lines.join("; "))
}

impl Opening {
    /// How a size that is too large for the opening is told, and what to do; `None` if it fits.
    pub(in crate::job) fn refuses(&self, direction: &str, size_mm: f64) -> Option<[String; 2]> {
        let (clear, word) = match direction {
            "width" => (Some(self.width), "wide"),
            _ => (self.height, "high"),
        };
        let clear_mm = clear?.0;
        let most = clear_mm - self.clear_sides(direction) * self.clearance.0;
        if size_mm <= most + 1e-6 {
            return None;
        }
        let sides = if self.clear_sides(direction) > 1.0 {
            "on each side"
        } else {
            "above it"
        };
        let length = |mm: f64| crate::units::Units::Metric.length_with_unit(mm, Precision::Drawn);
        Some([
            format!(
                "a frame {} {word} does not fit an opening of {} with {} clearance {sides}",
                length(size_mm),
                length(clear_mm),
                length(self.clearance.0)
            ),
            format!(
                "make the frame {} {word} at most, or the clearance smaller",
                length(most)
            ),
        ])
    }
}
