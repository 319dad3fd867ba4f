//! Welds that are ground flush: what is left of the throat, and the heat of grinding.

use super::model::Dressed;
use crate::job::model::{Job, WeldKind};
use std::f64::consts::SQRT_2;

/// What a grinder takes off the walls beside a flush weld, mm. Common practice, no source.
const GROUND_IN_MM: f64 = 0.2;
/// Height of a reinforcement, mm. Common practice, no source; ISO 5817:2014, no. 502, allows 1.5 to 2 mm on such walls.
const CAP_MM: f64 = 1.2;
/// What a reinforcement is wider than the wall is thick, mm. Common practice, no source.
const CAP_WIDER_MM: f64 = 4.0;
/// Energy to grind a volume of steel away, J/mm³ (S. Malkin and C. Guo, Grinding Technology, 2nd ed. 2008, ch. 5: 20 to
/// 60; value from memory).
const GRINDING_J_PER_MM3: f64 = 40.0;
/// Share of it that stays in the work (the same, ch. 6: 60 to 85 %; value from memory).
const INTO_THE_WORK: f64 = 0.7;

/// The welds that the job wants flush.
pub(super) fn dressed(job: &Job) -> Vec<Dressed> {
    let welds = job.welds.iter();
    welds
        .filter(|weld| job.finish.flush.contains(&weld.number))
        .map(|weld| {
            let walls = weld
                .members
                .map(|member| job.members[member].section.properties().thinnest_wall_mm);
            let wall_mm = walls[0].min(walls[1]);
            let (asked_mm, fillet) = match weld.kind {
                WeldKind::Fillet { leg } => (leg.0 / SQRT_2, true),
                WeldKind::Butt { throat } => (throat.0, false),
            };
            // The throat of a butt weld counts no reinforcement, but it ends at the walls, and the grinder goes into them.
            let left_mm = match fillet {
                true => 0.0,
                false => asked_mm.min((wall_mm - GROUND_IN_MM).max(0.0)),
            };
            // A reinforcement is a flat arch: two thirds of its box.
            let cap_mm2 = 2.0 / 3.0 * CAP_MM * (wall_mm + CAP_WIDER_MM);
            let heat = job.procedures[weld.procedure].planned_heat_input.0 * f64::from(weld.runs);
            Dressed {
                weld: weld.number,
                name: weld.name.clone(),
                asked_mm,
                left_mm,
                wall_mm,
                heat_share: cap_mm2 * GRINDING_J_PER_MM3 * INTO_THE_WORK / heat.max(1.0),
                fillet,
            }
        })
        .collect()
}
