//! The beam solver: how a frame of straight members moves under load.
//!
//! To change here: the beam element is in `element.rs`, what a load case may hold in `load.rs`, the texts of errors in
//! `error.rs`. The sparse solver (`ordering.rs`, `factor.rs`, `block.rs`) needs no change for any of them.
//!
//! ```text
//! Frame ----Structure::new----> Structure ----solve(LoadCase)----> Shape
//!                                   \------flexibility(probes)----> compliance matrix
//! ```
//!
//! * A [`Frame`] is data: nodes, [`Beam`]s (axial force, bending with shear, torsion; eccentric and semi-rigid ends),
//!   [`Spring`]s between points, [`Support`]s. Several nodes may be at one place: members that are not yet welded to
//!   each other have a node each, and springs for the tacks join them.
//! * A [`Structure`] is a frame checked and factorised. It solves any number of [`LoadCase`]s: forces, moments, uniform
//!   loads, [`InitialStrain`]s of beams (tendon force of a weld, heat), and natural lengths of springs. A frame that can
//!   move freely is refused with the member and the direction ([`StructureError::Mechanism`]).
//! * A [`Probe`] reads a displacement as a dial gauge would, of one point or of one point relative to another. Forces
//!   and springs act along probes too.
//! * A [`Push`] presses a structure until beams yield in bending, and lets it go: what stays is the residual shape of the
//!   whole.
//! * [`Structure::flexibility`] gives the movement of each of many probes under a unit force along each of them.
//!   [`crate::movement`] is built on that matrix.
//!
//! ```
//! use coldsquare_engine::structure::*;
//! use coldsquare_engine::{material::Material, section::Section};
//! let tube = BeamStiffness::of(&Section::parse("SHS 40x40x3").unwrap(), &Material::mild_steel());
//! // Two cantilevers at a right angle whose tips meet; a weld between the tips shrinks by 1 mm.
//! let frame = Frame {
//!     nodes: vec![[0.0; 3], [500.0, 0.0, 0.0], [500.0, 0.0, 0.0], [500.0, 500.0, 0.0]],
//!     beams: vec![Beam::new(0, [0, 1], [0.0, 0.0, 1.0], tube), Beam::new(1, [3, 2], [0.0, 0.0, 1.0], tube)],
//!     supports: vec![Support::fixed(0), Support::fixed(3)],
//!     springs: vec![],
//! };
//! let across = Probe::opening(&frame.nodes, 1, 2, [500.0, 0.0, 0.0], [0.0, 1.0, 0.0]);
//! let tip = Probe::displacement(&frame.nodes, 1, [500.0, 0.0, 0.0], [0.0, 1.0, 0.0]);
//! let weld = Spring { along: across, stiffness: 1e9 };
//! let structure = Structure::new(&Frame { springs: vec![weld], ..frame }).unwrap();
//! let shape = structure.solve(&LoadCase { natural: vec![(0, -1.0)], ..LoadCase::default() }).unwrap();
//! // The tube that bends follows; the one that is pulled along its length hardly moves.
//! assert!((shape.read(&tip) - 1.0).abs() < 0.02);
//! ```
//!
//! Units: N, mm, MPa, rad; springs N/mm along a line and N·mm/rad about an axis. Small displacements, linear elastic but
//! for a [`Push`].
//! Warping of open sections, second-order effects and shear lag are not modelled.
//!
//! Axes of a beam: x from its first node to its second, z as near to its depth axis as a right angle to x allows,
//! y = z × x. Rotations are right-handed.

mod beam;
mod block;
mod element;
mod error;
mod factor;
mod fixity;
mod frame;
mod load;
mod mechanism;
mod ordering;
mod probe;
mod solve;
mod yielding;

pub use beam::{Beam, BeamStiffness};
pub use error::{Motion, StructureError};
pub use fixity::Fixity;
pub use frame::{Frame, Spring, Support};
pub use load::{InitialStrain, LoadCase};
pub use probe::Probe;
pub use solve::{Shape, Structure};
pub use yielding::{Push, Pushed, YieldingBeam};

#[cfg(test)]
mod tests;
