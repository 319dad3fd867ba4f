//! A weld or a brace on the other side.

use super::bowed::BowedMember;
use super::case::not_possible;
use super::in_frame::InFrame;
use crate::correct::model::{Degree, RepairKind, RepairOption};
use crate::format::Precision;
use crate::movement::effect::tendon_force_n;
use crate::movement::predict::planned_net_heat;
use coldsquare_core::uncertainty::COVERAGE_FACTOR;
use std::collections::BTreeMap;

/// Length of the bead, mm.
const BEAD_MM: f64 = 40.0;

pub(super) fn opposite(bowed: &BowedMember<'_>, frame: &InFrame<'_>) -> RepairOption {
    if bowed.case.job.material.density_kg_m3 < 3500.0 {
        return not_possible(
            RepairKind::OppositeWeld,
            "Every bead softens aluminium of this kind; brace it instead.",
        );
    }
    let whole = bowed.case.change.change_mm.value.abs();
    let beside = |kept_mm: f64| frame.beside_bends(kept_mm);
    let aim = frame.aim(bowed.case.tolerance_mm, [whole, whole], beside);
    if let Some(why) = frame.refusal(bowed, "A bead", &aim, &beside(aim.kept_mm)) {
        return not_possible(RepairKind::OppositeWeld, why);
    }
    let units = bowed.case.units();
    let mut figures = BTreeMap::new();
    let how_much = match bead(bowed, frame) {
        Some([each_mm, relative]) => {
            figures.insert("each_mm", each_mm);
            figures.insert("bead_mm", BEAD_MM);
            format!(
                "A bead of {} along the middle of it, with the planned heat of its welds, takes out about {} ± {} {}",
                bowed.case.mark(BEAD_MM),
                units.length(each_mm, Precision::Calculated),
                units.length(each_mm * relative, Precision::Calculated),
                units.length_symbol()
            )
        }
        None => "How much it takes out is not known".into(),
    };
    let summary = format!(
        "A bead or a brace on the side it bows to ({}) pulls that side shorter. {how_much}{}.",
        bowed.side(),
        factor_source(bowed)
    );
    RepairOption {
        possible: true,
        steps: vec![
            "Weld one bead, let it cool, measure; then decide how many more.".into(),
            "Only where a weld spoils neither looks nor use. A bolted brace that pulls it straight can be taken off again."
                .into(),
        ],
        cautions: vec![
            "Arc, fumes and fire as for every weld. A bead that joins nothing starts cracks where the load goes up and down."
                .into(),
        ],
        effort: Degree::Medium,
        figures,
        ..not_possible(RepairKind::OppositeWeld, summary)
    }
}

fn factor_source(bowed: &BowedMember<'_>) -> String {
    match &bowed.case.job.shop {
        Some(shop) if shop.revision > 0 => {
            format!(" (factor of {}, revision {})", shop.file, shop.revision)
        }
        _ => " (published factor)".into(),
    }
}

/// What one bead along the middle of the face takes out of the bow, mm, and its relative expanded uncertainty (k = 2);
/// `None` if no weld touches the member or its heat is outside the range of the shrinkage law.
///
/// F pulls over the length ℓ of the bead at e from the axis and bends it by θ = F·ℓ·e/(E·I); the
/// frame says how much of that reaches the bow, θ·L/4 for a bar on its own.
fn bead(bowed: &BowedMember<'_>, frame: &InFrame<'_>) -> Option<[f64; 2]> {
    let job = bowed.case.job;
    let member = bowed.case.change.measure.member?;
    let weld = job
        .welds
        .iter()
        .position(|weld| weld.members.contains(&member))?;
    let factors = job.shrinkage_factors()[weld];
    let heat = planned_net_heat(job)[weld].value;
    let profile = bowed.bar.profile();
    let (low, high) = profile.edges_mm();
    let centre = profile.centroid_mm();
    let lever = (high - centre).min(centre - low);
    let force = factors.longitudinal.value * tendon_force_n(&job.material, heat).ok()?;
    let angle = force * BEAD_MM * lever / bowed.bar.stiffness_n_mm2();
    let relative = factors
        .longitudinal
        .relative_uncertainty
        .hypot(factors.weld_to_weld);
    let middle = frame.bow_per_kink.get(frame.bow_per_kink.len() / 2)?;
    Some([angle * middle[1], COVERAGE_FACTOR * relative])
}
