//! What can only be checked when everything is drawn.

use super::drawing::{Drawing, MOST};
use super::model::{Opening, WeldKind};
use super::reader::{Reader, Span};
use crate::procedure::model::Procedure;
use coldsquare_core::process::Process;
use coldsquare_core::units::Millimetres;
use std::collections::HashSet;

/// A leg may be this many times the thinner wall. Common practice, no source: beyond it the wall melts before the
/// fillet is filled.
const LEG_PER_WALL: f64 = 2.0;

/// Checks the whole drawing.
pub(super) fn check(
    drawing: &Drawing,
    procedures: &[Procedure],
    opening: Option<&(Opening, Span)>,
    reader: &Reader<'_>,
) {
    check_welds(drawing, procedures, reader);
    if drawing.welds.len() > MOST {
        let span = drawing.weld_spans.last().cloned().unwrap_or(0..0);
        let what = format!("{} welds are too many", drawing.welds.len());
        reader.wrong(
            &span,
            what,
            format!("a job has at most {MOST}; make several of it"),
        );
    }
    if let Some((opening, span)) = opening {
        check_opening(drawing, opening, span, reader);
    }
}

/// Thinnest wall that a process can weld without burning through, mm, for a practised hand. Common practice, no
/// source.
fn least_wall_mm(process: Process) -> f64 {
    match process {
        Process::Tig | Process::Plasma => 0.5,
        Process::MigSolid | Process::MagSolid => 0.8,
        Process::MagFluxCored
        | Process::MigFluxCored
        | Process::MagMetalCored
        | Process::MigMetalCored
        | Process::SelfShieldedCored => 1.2,
        Process::ManualMetalArc => 1.5,
        Process::SubmergedArc => 3.0,
    }
}

/// Walls too thin for the weld on them; each place of the file is named once.
fn check_welds(drawing: &Drawing, procedures: &[Procedure], reader: &Reader<'_>) {
    let mut named = HashSet::new();
    for (weld, span) in drawing.welds.iter().zip(&drawing.weld_spans) {
        let wall = drawing.thinner_wall(weld.members);
        let size = match weld.kind {
            WeldKind::Fillet { leg } => leg.0,
            WeldKind::Butt { throat } => throat.0,
        };
        if size > LEG_PER_WALL * wall + 1e-9 && named.insert((span.start, 0)) {
            reader.wrong(
                span,
                format!(
                    "a weld of {size:.1} mm is more than a wall of {wall:.2} mm can hold ({})",
                    weld.name
                ),
                format!(
                    "at most {:.1} mm here; the usual leg is that of the thinner wall",
                    LEG_PER_WALL * wall
                ),
            );
        }
        let Some(procedure) = procedures.get(weld.procedure) else {
            continue;
        };
        let allowed = procedure.sheet.thickness;
        if !allowed.contains(Millimetres(wall)) && named.insert((span.start, 2)) {
            reader.wrong(
                span,
                format!(
                    "a wall of {wall:.2} mm is outside the thickness of procedure '{}' ({})",
                    procedure.name, weld.name
                ),
                format!(
                    "it is for {} mm; name another procedure",
                    allowed.words(2, |t| t.0)
                ),
            );
        }
        let least = least_wall_mm(procedure.process);
        if wall < least && named.insert((span.start, 1)) {
            reader.wrong(
                span,
                format!(
                    "a wall of {wall:.2} mm is thinner than {} can weld ({})",
                    procedure.process.name(),
                    weld.name
                ),
                format!(
                    "{least} mm is about the least; take a thicker section, or TIG (process = 141)"
                ),
            );
        }
    }
}

/// A frame that does not go into its opening even before it is welded.
fn check_opening(drawing: &Drawing, opening: &Opening, span: &Span, reader: &Reader<'_>) {
    let (width, height) = (drawing.size(0), drawing.size(1));
    let sizes = [
        ("wide", width, Some(opening.width)),
        ("high", height, opening.height),
    ];
    for (word, size, clear) in sizes {
        let Some(clear) = clear else {
            continue;
        };
        let wanted = size + 2.0 * opening.clearance.0;
        if wanted > clear.0 + 1e-6 {
            reader.wrong(
                span,
                format!("the frame is {size:.1} mm {word} and does not fit into {:.1} mm with {:.1} mm on each side", clear.0, opening.clearance.0),
                format!("make the frame {:.1} mm {word} or less, or the clearance smaller", clear.0 - 2.0 * opening.clearance.0),
            );
        }
    }
}
