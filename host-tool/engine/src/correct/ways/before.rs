//! What can be done before the build: bow it the other way first, hold it in more places.

use super::{Bowed, LOADED, shut, sort};
use crate::correct::Options;
use crate::correct::model::{Degree, Fault, Kind, Place, PlaceKind, Way};
use crate::correct::show::Show;
use crate::job::model::Job;
use crate::movement::answers::towards;
use crate::movement::predict::Prediction;
use crate::formulas::bending::strain_limit;

pub(super) fn pre_set(bowed: &Bowed<'_>) -> Way {
    let change = bowed.case.change.change_mm;
    let bow_mm = change.value.abs();
    if bow_mm < change.expanded() {
        return shut(
            Kind::PreSet,
            "What is expected is smaller than its own doubt: a pre-set would be a guess.",
        );
    }
    let (bar, press, show) = (&bowed.bar, bowed.press(), bowed.case.show());
    let pressed = press.for_kept(bar, bow_mm);
    let most_strain = strain_limit(bar.profile(), bar.metal());
    if pressed.strain > most_strain {
        return shut(
            Kind::PreSet,
            format!(
                "Bending it so far would strain its wall by {:.2} %, more than {:.2} %.",
                100.0 * pressed.strain,
                100.0 * most_strain
            ),
        );
    }
    let shim = |k: u32| {
        let part = f64::from(k) / 6.0;
        Place {
            at_mm: part * bowed.length_mm,
            amount_mm: 4.0 * bow_mm * part * (1.0 - part),
            what: PlaceKind::Shim,
        }
    };
    let places: Vec<Place> = (1..6).map(shim).collect();
    let heights: Vec<String> = places
        .iter()
        .map(|shim| format!("{} at {}", show.gap(shim.amount_mm), show.place(shim.at_mm)))
        .collect();
    let unit = show.unit();
    Way {
        kind: Kind::PreSet,
        open: true,
        says: vec![
            format!("Give it {} {unit} the other way ({}) before it is welded. Shims along it, {unit} from its start: {}.", show.gap(bow_mm), towards(-bowed.side), heights.join(", ")),
        ],
        steps: vec![
            format!("Bend it cold so that it stays: blocks {} {unit} apart, press at two places {} {unit} apart, {} {unit} at the middle ({}); let go and measure.", show.place(press.span_mm), show.place(press.apart_mm), show.gap(pressed.travel_mm), show.force(pressed.force_n)),
            "Lay it on the shims in the jig and clamp it there. A bar that is only sprung onto shims goes back for the most part when the clamps come off.".into(),
        ],
        cautions: vec![LOADED.into()],
        effort: Degree::Medium,
        risk: Degree::Low,
        places,
        figures: [
            ("bow_mm", bow_mm),
            ("travel_mm", pressed.travel_mm),
            ("force_n", pressed.force_n),
            ("span_mm", press.span_mm),
            ("apart_mm", press.apart_mm),
        ]
        .into(),
    }
}

/// Adds what three more clamps would do, where it was worked out and helps. `clamped` is the job with these clamps, and
/// what is expected of it.
pub(in crate::correct) fn add_clamps(
    fault: &mut Fault,
    clamped: Option<(&Job, &Prediction)>,
    options: &Options,
) {
    let found = clamped.and_then(|(job, with)| {
        let measure = with.measures.iter().find(|m| m.name == fault.name)?;
        let clamps = job.clamps.iter().zip(&with.clamp_forces_n);
        let here = clamps.filter(|(clamp, _)| Some(clamp.member) == measure.member);
        let forces = here.map(|(_, force)| force.value.abs());
        Some((measure.released_mm, forces.fold(0.0, f64::max)))
    });
    let Some((left, force_n)) = found.filter(|_| fault.length_mm > 0.0) else {
        return;
    };
    let show = Show(options.units);
    let (leaves, doubt) = (show.change(left.value), show.gap(left.expanded()));
    let (now, unit) = (show.change(fault.change_mm), show.unit());
    let held = format!(
        "{} against {}",
        show.force(force_n),
        show.force(options.press_n)
    );
    let way = if left.value.abs() >= 0.8 * fault.change_mm.abs() {
        shut(
            Kind::Clamps,
            format!(
                "Three more clamps on it would leave {leaves} {unit} of {now}: they do not help."
            ),
        )
    } else if force_n > options.press_n {
        shut(
            Kind::Clamps,
            format!(
                "Three more clamps on it would have to hold more than yours give: {held} (--press-force)."
            ),
        )
    } else {
        Way {
            open: true,
            steps: vec!["Firm clamps at both ends and the middle of the member; take them off when all is cold.".into()],
            effort: Degree::Low,
            risk: Degree::Low,
            figures: [("left_mm", left.value), ("force_n", force_n)].into(),
            ..shut(Kind::Clamps, format!("Three more clamps on it leave {leaves} ± {doubt} {unit} instead of {now}. The hardest pulled holds {held} that yours give."))
        }
    };
    fault.ways.push(way);
    sort(&mut fault.ways);
}
