//! A weld or a brace on the other side.

use super::{Bowed, shut};
use crate::correct::model::{Degree, Kind, Way};
use crate::movement::effect::strip_force_n;
use crate::movement::predict::planned_net_heat;
use crate::shop::factors::of_welds;
use coldsquare_core::uncertainty::COVERAGE_FACTOR;

/// Length of the bead that is told of, mm.
const BEAD_MM: f64 = 40.0;

pub(super) fn opposite(bowed: &Bowed<'_>) -> Way {
    if bowed.case.job.material.density_kg_m3 < 3500.0 {
        return shut(
            Kind::OppositeWeld,
            "Every bead softens aluminium of this kind; brace it instead.",
        );
    }
    let show = bowed.case.show();
    let unit = show.unit();
    let mut figures = std::collections::BTreeMap::new();
    let how_much = match bead(bowed) {
        Some([each_mm, doubt]) => {
            figures.insert("each_mm", each_mm);
            figures.insert("bead_mm", BEAD_MM);
            format!(
                "A bead of {} {unit} along the middle of it, with the heat planned for its welds, takes about {} ± {} {unit} out",
                show.place(BEAD_MM),
                show.fine(each_mm),
                show.fine(each_mm * doubt)
            )
        }
        None => "How much is not known".into(),
    };
    Way {
        open: true,
        steps: vec![
            "One bead, cold, measure; then say how many more.".into(),
            "Only where a weld does no harm to looks or use; a bolted brace that pulls it straight can be taken off again.".into(),
        ],
        cautions: vec!["Arc, fumes and fire as for every weld. A bead that joins nothing starts cracks where load goes up and down.".into()],
        effort: Degree::Medium,
        figures,
        ..shut(Kind::OppositeWeld, format!("A bead or a brace on the side it bows to ({}) pulls that side shorter. {how_much}{}.", bowed.side(), whose(bowed)))
    }
}

/// Whose factor that is.
fn whose(bowed: &Bowed<'_>) -> String {
    match &bowed.case.job.shop {
        Some(shop) if shop.revision > 0 => {
            format!(" (factor of {}, revision {})", shop.file, shop.revision)
        }
        _ => " (published factor)".into(),
    }
}

/// What one bead along the middle of the face takes out of the bow, mm, and its relative doubt (k = 2); `None` when no
/// weld touches the member or its heat is outside the shrinkage law.
///
/// F pulls over the length of the bead at e from the axis: θ = F·ℓ·e/(E·I), of which the middle moves θ·L/4.
fn bead(bowed: &Bowed<'_>) -> Option<[f64; 2]> {
    let job = bowed.case.job;
    let member = bowed.case.change.measure.member?;
    let weld = job
        .welds
        .iter()
        .position(|weld| weld.members.contains(&member))?;
    let factors = of_welds(job)[weld];
    let heat = planned_net_heat(job)[weld].value;
    let profile = bowed.bar.profile();
    let (low, high) = profile.edges_mm();
    let centre = profile.centroid_mm();
    let lever = (high - centre).min(centre - low);
    let force = factors.longitudinal.value * strip_force_n(&job.material, heat).ok()?;
    let turn = force * BEAD_MM * lever / bowed.bar.stiffness_n_mm2();
    let doubt = factors
        .longitudinal
        .relative_uncertainty
        .hypot(factors.weld_to_weld);
    Some([turn * bowed.length_mm / 4.0, COVERAGE_FACTOR * doubt])
}
