//! Layout from the centre: running marks, what the rule is worth, which piece goes where, and the curves of cut ends.
//!
//! ```text
//! Job -> marks (where others land on each member, from its centre, in pairs)
//!     -> stack (how tolerances add up, from the centre and from one end)
//!     -> places (cut pieces, as measured, into the places where the frame comes out squarest)
//!     -> wrap (the end of a round tube, unrolled)
//! ```

pub mod marks;
pub mod places;
pub mod stack;
pub mod wrap;
