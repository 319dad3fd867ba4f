//! How a frame moves: straight members as beams in space, joined by springs, supported on a table.
//!
//! ```text
//! Frame ----Structure::new----> Structure ----solve(LoadCase)----> Shape
//!                                   \------flexibility(probes)----> compliance matrix
//! ```
//!
//! * A [`Frame`] is data: nodes, [`Beam`]s (bending with shear, torsion, axial; eccentric and semi-rigid ends),
//!   [`Spring`]s between points, [`Support`]s. Several nodes may lie at one place: members that are not yet welded
//!   to each other each have a node of their own there, and springs join them as far as they are tacked.
//! * A [`Structure`] is a frame checked and factorised. It answers any number of [`LoadCase`]s: forces, moments,
//!   uniform loads, [`InitialStrain`]s of beams (a weld's tendon force, heat), and natural lengths of springs.
//!   A frame that can move freely is refused with the member and the direction ([`StructureError::Loose`]).
//! * A [`Probe`] reads a displacement as a dial gauge would: of one point, or of one point against another. It also
//!   says where a spring acts. Everything that is measured, joined or clamped is a probe.
//! * [`Structure::flexibility`] says how each of many probes moves under a unit force along each other: all that
//!   anything built on the structure needs to know of it ([`crate::movement`] lays welds on it).
//!
//! ```
//! use coldsquare::structure::*;
//! use coldsquare::{material::Material, section::Section};
//! let tube = BeamStiffness::of(&Section::parse("SHS 40x40x3").unwrap(), &Material::mild_steel());
//! // Two cantilevers whose tips meet in the middle, 0 mm apart; a weld between them pulls them together by 1 mm.
//! let frame = Frame {
//!     nodes: vec![[0.0; 3], [500.0, 0.0, 0.0], [500.0, 0.0, 0.0], [500.0, 500.0, 0.0]],
//!     beams: vec![Beam::new(0, [0, 1], [0.0, 0.0, 1.0], tube), Beam::new(1, [3, 2], [0.0, 0.0, 1.0], tube)],
//!     supports: vec![Support::fixed(0), Support::fixed(3)],
//!     springs: vec![],
//! };
//! let across = Probe::opening(&frame, 1, 2, [500.0, 0.0, 0.0], [0.0, 1.0, 0.0]);
//! let tip = Probe::displacement(&frame, 1, [500.0, 0.0, 0.0], [0.0, 1.0, 0.0]);
//! let weld = Spring { along: across, stiffness: 1e9 };
//! let structure = Structure::new(&Frame { springs: vec![weld], ..frame }).unwrap();
//! let shape = structure.solve(&LoadCase { natural: vec![(0, -1.0)], ..LoadCase::default() }).unwrap();
//! // The tube that bends gives way; the one that is pulled along its length hardly does.
//! assert!((shape.read(&tip) - 1.0).abs() < 0.02);
//! ```
//!
//! Units: N, mm, MPa, rad throughout; a spring is N/mm along a line and N·mm/rad about an axis. Small displacements,
//! linear elastic; warping of open sections, second-order effects and shear lag are not modelled.
//!
//! Axes of a beam: x from its first node to its second, z as near to its depth axis as a right angle to x allows,
//! y = z × x. Rotations follow the right hand.

mod beam;
mod block;
mod element;
mod error;
mod factor;
mod frame;
mod load;
mod mechanism;
mod ordering;
mod probe;
mod solve;

pub use beam::{Beam, BeamStiffness, Held};
pub use error::{Motion, StructureError};
pub use frame::{Frame, Spring, Support};
pub use load::{InitialStrain, LoadCase};
pub use probe::Probe;
pub use solve::{Shape, Structure};

#[cfg(test)]
mod tests;
