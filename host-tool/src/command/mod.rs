//! One file a subcommand: its arguments, its help, its call into the library, its printing.

pub mod beads;
pub mod calibrate;
pub mod card;
pub mod check;
pub mod clear;
pub mod correct;
pub mod cost;
pub mod demo;
pub mod inspect;
pub mod learn;
pub mod live;
mod long_work;
pub mod map;
pub mod measure;
pub mod metal;
pub mod new;
mod picture;
pub mod plan;
pub mod predict;
pub mod procedure;
pub mod pull;
pub mod reading;
pub mod recalibrate;
pub mod record;
pub mod send;
mod table;
