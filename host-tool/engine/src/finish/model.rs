//! What is to be done after welding, as facts.

use serde::Serialize;

/// What is to be done after welding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finishing {
    /// Welds that are ground flush.
    pub dressed: Vec<Dressed>,
    /// What the coating adds to a face: least and most, µm; zeros without one.
    pub coat_um: [f64; 2],
    /// The panels.
    pub panels: Vec<PanelSize>,
    /// The holes.
    pub holes: Vec<HolePlace>,
    /// Whether sizes of the frame as measured went into it.
    pub measured: bool,
    /// What can hurt someone, most important first.
    pub cautions: Vec<String>,
    /// What must be clean or bare before welding and before finishing.
    pub clean: Vec<String>,
}

/// A weld that is ground flush.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dressed {
    /// Its number.
    pub weld: u16,
    /// Its name.
    pub name: String,
    /// Throat asked for, mm.
    pub asked_mm: f64,
    /// Throat that is left at most when it is flush, mm.
    pub left_mm: f64,
    /// Thinner wall beside it, mm.
    pub wall_mm: f64,
    /// Heat of grinding over the heat input of the weld, by length: 1 when it is as much.
    pub heat_share: f64,
    /// Whether it is a fillet weld, of which nothing is left when it is flush.
    pub fillet: bool,
}

/// A panel to order.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PanelSize {
    /// Its material.
    pub material: &'static str,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Clear opening of the frame, coated, mm.
    pub opening_mm: [f64; 2],
    /// Width and height to order, mm.
    pub size_mm: [f64; 2],
    /// Clearance at each edge, mm.
    pub clearance_mm: [f64; 2],
    /// Of that, what the frame and the panel may move apart with the temperature, mm.
    pub thermal_mm: [f64; 2],
    /// Of that, what the frame may be out of square, mm.
    pub square_mm: f64,
    /// Least cover of an edge with the panel pushed over to the other side, mm.
    pub cover_mm: f64,
    /// Least cover wanted, mm.
    pub cover_wanted_mm: f64,
    /// Mass, kg.
    pub mass_kg: f64,
}

/// A hole and its place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HolePlace {
    /// Its name.
    pub name: String,
    /// The member it is in.
    pub member: String,
    /// From the middle of the frame, to the right and up as drawn, mm.
    pub from_middle_mm: [f64; 2],
    /// From the left and from the lower outside edge of the frame as drawn, mm.
    pub from_edge_drawn_mm: [f64; 2],
    /// The same on the frame as it is measured; as drawn before that, mm.
    pub from_edge_mm: [f64; 2],
    /// Drill, or entry and slot of a keyhole, mm.
    pub drill_mm: Vec<f64>,
    /// What to drill, in words.
    pub what: String,
}
