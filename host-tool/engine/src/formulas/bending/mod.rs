//! Cold bending of bars: how far to press, the springback, the force, and when to stop.
//!
//! ```text
//! Profile (blocks of metal) + BarMetal -> moment at a curvature -> residual curvature κ_res = κ − M/(E·I)
//! Press (blocks, where it is pushed) -> force, travel, permanent bow, strain;   limits: denting, buckling, strain
//! ```
//!
//! Plane sections stay plane; the metal is elastic up to one yield stress, with optional linear hardening after it. Shear,
//! residual stress from forming and welding, and the rest of the frame are ignored. Beer and Johnston,
//! *Mechanics of Materials*, chapter 4, sections on plastic deformations and residual stresses (from memory).
//!
//! ```
//! use coldsquare_engine::formulas::bending::{Bar, BarMetal, Press, Profile};
//!
//! // A permanent bow of 2 mm in a metre of 40x40x2 square tube, pressed over a span of 800 mm.
//! let tube = Profile::tube(40.0, 40.0, 2.0, [4.0, 2.0])?;
//! let steel = BarMetal { modulus_mpa: 210_000.0, yield_mpa: 235.0, hardening: 0.0 };
//! let press = Press { span_mm: 800.0, apart_mm: 60.0, length_mm: 1000.0 }.checked()?;
//! let pressed = press.for_kept(&Bar::new(tube, steel)?, 2.0);
//! assert!(pressed.travel_mm > 2.0 && (pressed.kept_over_length_mm - 2.0).abs() < 1e-3);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

mod curve;
mod limits;
mod press;
mod profile;
mod row;
mod state;

pub use curve::MomentCurve;
pub use limits::{bearing_limit, strain_limit};
pub use press::{Press, Pressed, Step};
pub use profile::{Block, Profile, Wall};
pub use row::Row;
pub use state::{Bar, BarMetal};

#[cfg(test)]
mod tests;
