//! What a coating adds to each face.

use crate::job::finish::Coating;
use crate::job::model::Job;

/// Least and most that the coating adds to a face, µm.
///
/// - Galvanised: the mean by thickness of the steel (ISO 1461:2009, table 3, articles that are not centrifuged); the most
///   is twice that, at edges and where it drains (common practice, no source).
/// - Powder on steel: 60 to 120 µm (EN 13438:2013 asks 50 to 60 at least; value from memory).
/// - Paint: 80 to 240 µm, two or three coats for C2 to C3 (ISO 12944-5:2019, tables of systems; value from memory).
pub(super) fn coat(job: &Job) -> [f64; 2] {
    match job.finish.coating {
        Coating::Bare => [0.0, 0.0],
        Coating::Paint => [80.0, 240.0],
        Coating::Powder => [60.0, 120.0],
        Coating::Galvanised => {
            let walls = job
                .members
                .iter()
                .map(|member| member.section.properties().thinnest_wall_mm);
            let (thin, thick) = walls.fold((f64::INFINITY, 0.0_f64), |(low, high), wall| {
                (low.min(wall), high.max(wall))
            });
            [mean_zinc_um(thin), 2.0 * mean_zinc_um(thick)]
        }
    }
}

/// Least mean thickness of a zinc coating by the thickness of the steel, µm (ISO 1461:2009, table 3).
pub(super) fn mean_zinc_um(steel_mm: f64) -> f64 {
    match steel_mm {
        thick if thick > 6.0 => 85.0,
        thick if thick > 3.0 => 70.0,
        thick if thick >= 1.5 => 55.0,
        _ => 45.0,
    }
}

/// What a coating takes off the pitch diameter of a 60° thread, over its thickness: both flanks, each at 30° to the axis.
pub(super) const PITCH_DIAMETER_PER_COAT: f64 = 4.0;
