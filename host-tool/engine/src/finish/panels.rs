//! Panels: how large to order them, so that they go in, stay in and are not pinched.

use super::model::PanelSize;
use crate::job::finish::{Panel, PanelMaterial};
use crate::job::model::Job;
use crate::measured::model::nominal_mm;
use crate::measured::{Between, Observed};
use crate::movement::measures::{Measure, MeasureKind};
use crate::movement::predict::{Prediction, SAW_AND_FIT_UP_STANDARD_MM};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};

/// Thermal expansion of structural steel, 1/K (EN 1993-1-1:2005, 3.2.6).
const STEEL_PER_K: f64 = 12e-6;
/// Thermal expansion of stainless steel 1.4301, 1/K (EN 10088-1:2014, table E.1: 16; value from memory).
const STAINLESS_PER_K: f64 = 16e-6;
/// Thermal expansion of aluminium, 1/K (EN 1999-1-1:2007, 3.2.5: 23).
const ALUMINIUM_PER_K: f64 = 23e-6;
/// From the warmth of the workshop to the hottest or coldest day, K, with the sun on one and not the other. Common practice,
/// no source.
const WARMER_K: f64 = 50.0;

/// What a material asks for.
struct Sheet {
    name: &'static str,
    expands_per_k: f64,
    density_kg_m3: f64,
    /// Least clearance at an edge, up to 2 m and beyond, mm.
    clearance_mm: [f64; 2],
    /// Least cover of an edge, mm.
    cover_mm: f64,
}

fn sheet(material: PanelMaterial) -> Sheet {
    let of = |name, expands_per_k, density_kg_m3, clearance_mm, cover_mm| Sheet {
        name,
        expands_per_k,
        density_kg_m3,
        clearance_mm,
        cover_mm,
    };
    match material {
        // Expansion and density: EN 572-1:2012, table of general properties. Clearance and cover: as glazing guides for
        // single glass ask (BS 6262:1982, section 7, and BS 8000-7; values from memory).
        PanelMaterial::Glass => of("glass", 9e-6, 2500.0, [3.0, 5.0], 6.0),
        // Expansion: ISO 11359-2 values that makers of sheet give; values from memory. Cover: common practice, no source.
        PanelMaterial::Acrylic => of("acrylic", 70e-6, 1190.0, [3.0, 5.0], 8.0),
        PanelMaterial::Polycarbonate => of("polycarbonate", 65e-6, 1200.0, [3.0, 5.0], 10.0),
        // Wood moves with moisture: 2 mm a metre across plywood and board. Common practice, no source.
        PanelMaterial::Wood => of("wood", 40e-6, 650.0, [2.0, 3.0], 6.0),
        PanelMaterial::Steel => of("steel sheet", STEEL_PER_K, 7850.0, [1.0, 1.5], 5.0),
        PanelMaterial::Aluminium => of("aluminium sheet", ALUMINIUM_PER_K, 2700.0, [1.0, 1.5], 5.0),
    }
}

/// How far the frame is from its drawing: as measured, else as it is set up.
pub(super) struct Sizes {
    /// Change of width and height, mm.
    pub change_mm: [Uncertain; 2],
    /// Difference of the diagonals, mm.
    pub racking_mm: Uncertain,
}

impl Sizes {
    pub fn new(measures: &[Measure], prediction: &Prediction, observed: &[Observed]) -> Self {
        let read = |wanted: &dyn Fn(&Measure) -> bool| {
            let readings = observed.iter().filter(|one| wanted(&measures[one.measure]));
            // The smallest size counts: a panel must go in everywhere.
            readings
                .map(|one| one.change_mm)
                .min_by(|a, b| a.value.total_cmp(&b.value))
        };
        let predicted = |kind: MeasureKind, start: &str| {
            let alike = prediction
                .measures
                .iter()
                .filter(|m| m.kind == kind && m.name.starts_with(start));
            let smallest = alike.min_by(|a, b| a.released_mm.value.total_cmp(&b.released_mm.value));
            smallest.map_or(
                Uncertain {
                    value: 0.0,
                    standard: 0.0,
                },
                |m| m.released_mm,
            )
        };
        // Cut to the allowances and set up against its movement, a frame comes out as drawn; what the welds take stays
        // uncertain.
        let as_drawn = |change: Uncertain| Uncertain {
            value: 0.0,
            standard: change.standard.hypot(SAW_AND_FIT_UP_STANDARD_MM),
        };
        let size = |start: &str| {
            let measured = read(&|m| m.kind == MeasureKind::Size && m.name.starts_with(start));
            measured.unwrap_or_else(|| as_drawn(predicted(MeasureKind::Size, start)))
        };
        let diagonals: Vec<f64> = observed
            .iter()
            .filter(|one| measures[one.measure].kind == MeasureKind::Diagonal)
            .map(|one| one.change_mm.value)
            .collect();
        let racking_mm = match diagonals.as_slice() {
            [a, b] => Uncertain {
                value: a - b,
                standard: SAW_AND_FIT_UP_STANDARD_MM,
            },
            _ => read(&|m| m.kind == MeasureKind::Racking)
                .unwrap_or_else(|| as_drawn(predicted(MeasureKind::Racking, ""))),
        };
        Self {
            change_mm: [size("width"), size("height")],
            racking_mm,
        }
    }
}

/// The panels to order.
pub(super) fn panels(
    job: &Job,
    measures: &[Measure],
    sizes: &Sizes,
    coat_um: [f64; 2],
) -> Vec<PanelSize> {
    let inside = ["width", "height"].map(|start| {
        let measure = measures
            .iter()
            .find(|m| m.kind == MeasureKind::Size && m.name.starts_with(start));
        measure.map(|measure| nominal_mm(job, measures, measure, Between::Inside))
    });
    let panels = job.finish.panels.iter();
    panels
        .filter_map(|panel| {
            let drawn = match (panel.opening_mm, inside) {
                (Some(opening), _) => opening,
                (None, [Some(width), Some(height)]) => [width, height],
                (None, _) => return None,
            };
            Some(size(job, panel, drawn, sizes, coat_um))
        })
        .collect()
}

fn size(
    job: &Job,
    panel: &Panel,
    drawn_mm: [f64; 2],
    sizes: &Sizes,
    coat_um: [f64; 2],
) -> PanelSize {
    let sheet = sheet(panel.material);
    let frame_per_k = match job.material.name.to_lowercase() {
        name if name.contains("alumin") => ALUMINIUM_PER_K,
        name if name.contains("stainless") || name.contains("1.43") => STAINLESS_PER_K,
        _ => STEEL_PER_K,
    };
    // Coated on both sides, with the thickest coat.
    let coat_mm = 2.0 * coat_um[1] / 1000.0;
    let opening_mm = [0, 1].map(|k| drawn_mm[k] + sizes.change_mm[k].value - coat_mm);
    let diagonal = drawn_mm[0].hypot(drawn_mm[1]);
    // A difference D of the diagonals leans the sides by D·diagonal/(2·width·height).
    let racking = sizes.racking_mm.value.abs() + COVERAGE_FACTOR * sizes.racking_mm.standard;
    let lean = racking * diagonal / (2.0 * drawn_mm[0] * drawn_mm[1]);
    let square_mm = lean * drawn_mm[0].min(drawn_mm[1]) / 2.0;
    let long = drawn_mm[0].max(drawn_mm[1]) > 2000.0;
    // Each edge takes half of what frame and panel move apart.
    let thermal_mm =
        opening_mm.map(|side| side * (sheet.expands_per_k - frame_per_k).abs() * WARMER_K / 2.0);
    let clearance_mm = [0, 1].map(|k| {
        let least = sheet.clearance_mm[usize::from(long)];
        least.max(thermal_mm[k] + square_mm + sizes.change_mm[k].expanded() / 2.0 + 1.0)
    });
    let size_mm = [0, 1].map(|k| opening_mm[k] + 2.0 * (panel.rebate_mm - clearance_mm[k]));
    let widest = clearance_mm[0].max(clearance_mm[1]);
    let area_m2 = size_mm[0] * size_mm[1] / 1e6;
    PanelSize {
        material: sheet.name,
        thickness_mm: panel.thickness_mm,
        opening_mm,
        size_mm,
        clearance_mm,
        thermal_mm,
        square_mm,
        cover_mm: panel.rebate_mm - 2.0 * widest,
        cover_wanted_mm: sheet.cover_mm,
        mass_kg: area_m2 * panel.thickness_mm * sheet.density_kg_m3 / 1000.0,
    }
}
