//! How the frame moves as it is welded: what each weld does to the structure as it then stands.
//!
//! ```text
//! Job -> FrameModel -> Engine ----lay(order, shrinkage)----> Outcome (sizes, diagonals, bows, wind, clamp forces)
//!                        heat of each weld -> Shrinkage --/
//! ```
//!
//! The whole structure is solved once. What welds can do to it fits in one matrix ([`condensed`]); trying an order is
//! a walk through that matrix. What is modelled and what is not stands in docs/theory.md.

pub mod answers;
pub mod build;
mod check;
pub mod condensed;
pub mod coordinates;
pub mod cost;
mod deposit;
pub mod effect;
pub mod engine;
pub mod error;
pub mod frame;
pub mod history;
pub mod holding;
pub mod json;
mod matrix6;
pub mod part;
pub(crate) mod pieces;
pub mod predict;
mod prepare;
pub mod resolve;
mod rows;
pub mod shapes;
mod slipping;
pub mod text;
mod update;
mod walk;

#[cfg(test)]
mod tests;
