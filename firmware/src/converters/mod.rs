//! Converters that a shop can buy, each as a [`FrontEnd`](crate::front_end::FrontEnd) over `embedded-hal` 1.0.
//!
//! | module | channels | pairs a second | skew between V and I | for |
//! |---|---|---|---|---|
//! | [`ads131m02`] | 2 × 24 bit, at the same time | 2 000 to 16 000 | none | every process |
//! | [`mcp3208`] | 12 bit, one after the other | up to about 10 000 | corrected, see there | short circuit, pulse, DC; AC with more uncertainty |
//! | [`ads1115`] | 16 bit, one after the other, slow | up to 200 | milliseconds | **steady DC only** |
//!
//! A failed reading is never guessed. It is reported as lost, so that time in the log stays right, and the log states how
//! many were lost.

pub mod ads1115;

pub mod ads131m02;

pub mod mcp3208;

mod schedule;

pub use crate::clock::Ticks;
