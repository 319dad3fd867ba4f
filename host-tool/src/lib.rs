//! Plan, log and map the welds of a light frame, so that it is square when cold.
//!
//! Groups of modules stand in the order in which data flows: a job file becomes members and welds, a log becomes beads,
//! beads are matched to welds and judged; how the frame moves follows, and what to do about it; then it is all drawn
//! and reported. A module knows its own group and those before it. Two things come back: a job brings along what
//! its shop has learned, and a weld map what was measured of the frame.
#![forbid(unsafe_code)]

pub mod digest;
pub mod failure;
pub mod harmless;
pub mod located;
pub mod material;
pub mod notebook;
pub mod save;
pub mod settings_text;
pub mod text_file;
pub mod units;
pub mod words;

pub mod job;
pub mod procedure;
pub mod section;
pub mod structure;
pub mod verdict;

pub mod card;
pub mod demo;
pub mod inspection;
pub mod log;
pub mod map;
pub mod matching;
pub mod order;

pub mod cost;
pub mod measured;
pub mod movement;
pub mod shop;

pub mod correct;
pub mod learn;
pub mod plan;

pub mod drawing;
pub mod link;
pub mod page;
pub mod record;

pub mod command;
pub mod run;
