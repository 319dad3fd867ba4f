//! Drivers of converters, on mock buses and on a bench that keeps to the data sheet.

mod ads1115;
mod ads131m02;
mod bench;
mod logged;
mod mcp3208;
