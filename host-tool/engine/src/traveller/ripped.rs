//! Stock that is ripped lengthwise: what the cut sets free, and how much to leave for cleaning up.

use crate::format::Precision;
use crate::job::model::Job;
use crate::job::setup::RippedStock;

/// Difference of the locked-in stress across a strip that is ripped from cold-formed stock over its yield stress. Common
/// practice, no source: cold-formed walls hold a third to a half of their yield.
const COLD_FORMED: f64 = 0.4;
/// The same for hot-rolled stock. Common practice, no source: a fifth.
const HOT_ROLLED: f64 = 0.2;
/// Least allowance to clean up a sawn edge, mm. Common practice, no source.
const CLEAN_UP_MM: f64 = 0.5;
/// A strip that bows by more than this is straightened, not cut straight, mm. Common practice, no source.
const STRAIGHTEN_MM: f64 = 3.0;

/// How far a strip may bow when it is ripped off, mm: a stress that changes by Δσ across a strip of width w bends it by
/// κ = Δσ / (E w), which is a bow of κ L² / 8.
pub(super) fn bow_mm(job: &Job, stock: &RippedStock) -> f64 {
    let share = if stock.cold_formed {
        COLD_FORMED
    } else {
        HOT_ROLLED
    };
    let material = &job.material;
    let bent_per_mm = share * material.yield_mpa / (material.youngs_modulus_mpa * stock.width_mm);
    bent_per_mm * stock.length_mm * stock.length_mm / 8.0
}

/// What to do, one sentence a strip.
pub(super) fn sentences(job: &Job) -> Vec<String> {
    let units = job.units;
    let with = |mm: f64| units.length_with_unit(mm, Precision::Drawn);
    let strip = |stock: &RippedStock| {
        let bow = bow_mm(job, stock);
        let clean_up = CLEAN_UP_MM.max(bow.min(STRAIGHTEN_MM) / 2.0);
        let rough = stock.width_mm + 2.0 * clean_up;
        let count = f64::from(stock.count);
        let used = count * rough + count * stock.kerf_mm;
        let kind = if stock.cold_formed {
            "cold-formed"
        } else {
            "hot-rolled"
        };
        let straighten = if bow > STRAIGHTEN_MM {
            " Straighten it cold before you clean it up."
        } else {
            ""
        };
        format!(
            "Rip {} {} of {} from {} ({kind}), {} long: saw {} wide, {} is the finished width; with kerfs of {} this takes {} of \
             the stock. The cut sets stress free: a strip may bow by up to {} (common practice, no source).{straighten}",
            stock.count,
            if stock.count == 1 { "strip" } else { "strips" },
            with(stock.width_mm),
            stock.from,
            with(stock.length_mm),
            with(rough),
            with(stock.width_mm),
            with(stock.kerf_mm),
            with(used),
            with(bow)
        )
    };
    job.ripped.iter().map(strip).collect()
}
