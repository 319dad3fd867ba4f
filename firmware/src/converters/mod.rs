//! Converters that a shop can buy, each as a [`FrontEnd`](crate::front_end::FrontEnd) over `embedded-hal` 1.0.
//!
//! | module | channels | pairs a second | skew between V and I | for |
//! |---|---|---|---|---|
//! | [`ads131m02`] | 2 × 24 bit, at the same moment | 2 000 to 16 000 | none | every process |
//! | [`mcp3208`] | 12 bit, one after the other | to about 10 000 | corrected, see there | short circuit, pulse, DC; AC with a doubt |
//! | [`ads1115`] | 16 bit, one after the other, slow | to 200 | milliseconds | **steady DC only** |
//!
//! A reading that failed is never guessed: it is told as lost, so that time in the log goes on as it went, and the log
//! says how many.

pub mod ads1115;

pub mod ads131m02;

pub mod mcp3208;

mod pace;

pub use crate::clock::Ticks;
