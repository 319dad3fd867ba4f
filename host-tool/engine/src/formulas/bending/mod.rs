//! Bending bars until they stay bent: how far to press, what springs back, with what force, and when to stop.
//!
//! ```text
//! Profile (blocks of metal) + BarMetal -> moment at a curvature -> what stays: κ_res = κ − M/(E·I)
//! Press (blocks, where it is pushed) -> force, travel, bow that stays, strain;   limits: denting, buckling, strain
//! ```
//!
//! Plane sections stay plane, the metal is elastic and then yields at one stress, with linear hardening as an option;
//! shear, the metal's memory of forming and welding, and the rest of the frame are left out. Beer and Johnston,
//! *Mechanics of Materials*, chapter 4, sections on plastic deformations and residual stresses (from memory).

mod limits;
mod press;
mod profile;
mod state;

pub use limits::{bearing_limit, strain_limit};
pub use press::{Press, Pressed, Step};
pub use profile::{Block, Profile, Wall};
pub use state::{Bar, BarMetal};

#[cfg(test)]
mod tests;
