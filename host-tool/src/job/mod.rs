//! The job: what is to be built, and with which procedure.

pub mod model;
