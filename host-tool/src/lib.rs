//! Plan, log and map the welds of a light frame.
#![forbid(unsafe_code)]
