//! Checks that need the whole drawing: welds too large for a wall, walls too thin for a process, the opening.

use super::drawing::{Drawing, MAX_COUNT};
use crate::job::model::{Opening, Weld, WeldKind};
use crate::procedure::model::Procedure;
use crate::reading::{Reader, Span};
use coldsquare_core::process::Process;
use coldsquare_core::units::Millimetres;
use std::collections::HashSet;

/// The largest leg, as a multiple of the thinner wall. Common practice, no source: beyond it the wall melts before the
/// fillet is filled.
const MAX_LEG_PER_WALL: f64 = 2.0;

/// Checks the whole drawing.
pub(super) fn check(
    drawing: &Drawing,
    procedures: &[Procedure],
    opening: Option<&(Opening, Span)>,
    reader: &Reader<'_>,
) {
    check_welds(drawing, procedures, reader);
    if drawing.welds.len() > MAX_COUNT {
        let span = drawing.weld_spans.last().cloned().unwrap_or(0..0);
        let what = format!("{} welds are too many", drawing.welds.len());
        reader.error(
            &span,
            what,
            format!("a job has at most {MAX_COUNT}; make several jobs of it"),
        );
    }
    if let Some((opening, span)) = opening {
        check_opening(drawing, opening, span, reader);
    }
}

/// Thinnest wall that a process can weld without burning through, mm, for a practised hand. Common practice, no
/// source.
fn min_wall_mm(process: Process) -> f64 {
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

/// Walls too thin for the weld on them; each place in the file is reported once for each reason.
fn check_welds(drawing: &Drawing, procedures: &[Procedure], reader: &Reader<'_>) {
    let mut reported = HashSet::new();
    for (weld, span) in drawing.welds.iter().zip(&drawing.weld_spans) {
        let wall = drawing.thinner_wall(weld.members);
        let procedure = procedures.get(weld.procedure);
        let faults = [
            too_large(weld, wall),
            procedure.and_then(|procedure| not_covered(weld, wall, procedure)),
            procedure.and_then(|procedure| too_thin(weld, wall, procedure.process)),
        ];
        for (reason, fault) in faults.into_iter().enumerate() {
            if let Some((what, hint)) = fault
                && reported.insert((span.start, reason))
            {
                reader.error(span, what, hint);
            }
        }
    }
}

/// What is wrong, and the hint.
type Fault = Option<(String, String)>;

fn too_large(weld: &Weld, wall: f64) -> Fault {
    let size = match weld.kind {
        WeldKind::Fillet { leg } => leg.0,
        WeldKind::Butt { throat } => throat.0,
    };
    let max = MAX_LEG_PER_WALL * wall;
    let name = &weld.name;
    (size > max + 1e-9).then(|| {
        (
            format!("a weld of {size:.1} mm is too large for a wall of {wall:.2} mm ({name})"),
            format!("make it {max:.1} mm at most; the usual leg equals the thinner wall"),
        )
    })
}

fn not_covered(weld: &Weld, wall: f64, procedure: &Procedure) -> Fault {
    let allowed = procedure.sheet.thickness;
    (!allowed.contains(Millimetres(wall))).then(|| {
        (
            format!(
                "a wall of {wall:.2} mm is outside the thickness of procedure '{}' ({})",
                procedure.name, weld.name
            ),
            format!(
                "it is for {} mm; name another procedure",
                allowed.format(2, |t| t.0)
            ),
        )
    })
}

fn too_thin(weld: &Weld, wall: f64, process: Process) -> Fault {
    let min = min_wall_mm(process);
    (wall < min).then(|| {
        (
            format!(
                "a wall of {wall:.2} mm is thinner than {} can weld ({})",
                process.name(),
                weld.name
            ),
            format!("use a section of {min} mm or more, or TIG (process = 141)"),
        )
    })
}

/// A frame that does not fit its opening even as drawn.
fn check_opening(drawing: &Drawing, opening: &Opening, span: &Span, reader: &Reader<'_>) {
    for (direction, size) in [("width", drawing.size(0)), ("height", drawing.size(1))] {
        if let Some([what, hint]) = opening.refuses(direction, size) {
            reader.error(span, what, hint);
        }
    }
}
