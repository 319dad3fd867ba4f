//! What is done to the frame after it is welded, as its `[finish]`, `[[hole]]` and `[[panel]]` say.

use super::model::Point;

/// What a face of the finished frame is coated with.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Coating {
    /// Nothing, oil or wax.
    #[default]
    Bare,
    /// Liquid paint, primer and top coats.
    Paint,
    /// Powder, baked.
    Powder,
    /// Dipped in zinc.
    Galvanised,
}

/// What the stock is coated with when it comes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum StockSurface {
    /// Mill scale or pickled, oiled.
    #[default]
    Bare,
    /// Zinc.
    Galvanised,
    /// Paint or primer.
    Painted,
    /// Zinc, nickel, chromium or cadmium from a bath.
    Plated,
}

/// What is done to the frame after it is welded.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Finish {
    /// The coating.
    pub coating: Coating,
    /// What the stock comes with.
    pub stock: StockSurface,
    /// Numbers of the welds that are ground flush. None of them is on a structural member.
    pub flush: Vec<u16>,
    /// Holes to drill.
    pub holes: Vec<Hole>,
    /// Panels that the frame holds.
    pub panels: Vec<Panel>,
}

/// What a hole is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoleKind {
    /// A plain hole of this diameter, mm.
    Plain {
        /// Diameter of the finished hole, mm.
        diameter_mm: f64,
    },
    /// A thread: its nominal diameter, mm.
    Thread {
        /// Nominal diameter, mm.
        diameter_mm: f64,
    },
    /// A keyhole for a screw of this diameter, mm.
    Keyhole {
        /// Diameter of the screw, mm.
        screw_mm: f64,
    },
}

/// A hole in a member.
#[derive(Clone, Debug, PartialEq)]
pub struct Hole {
    /// Its name.
    pub name: String,
    /// Where it is, as drawn.
    pub at: Point,
    /// The member.
    pub member: usize,
    /// What it is for.
    pub kind: HoleKind,
}

/// What a panel is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PanelMaterial {
    /// Glass: soda lime, annealed or toughened.
    Glass,
    /// Acrylic sheet.
    Acrylic,
    /// Polycarbonate sheet.
    Polycarbonate,
    /// Plywood or board.
    Wood,
    /// Steel sheet.
    Steel,
    /// Aluminium sheet.
    Aluminium,
}

/// A panel in a rebate or groove round the inside of the frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// What it is made of.
    pub material: PanelMaterial,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Depth of the rebate or groove, mm: how far it goes beyond the clear opening.
    pub rebate_mm: f64,
    /// Clear opening, width and height, mm; `None` for the inside of the frame.
    pub opening_mm: Option<[f64; 2]>,
}
