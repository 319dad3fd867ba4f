//! Plan, log and map the welds of a light frame, so that it is square when cold.
//!
//! Modules stand in the order in which data flows: a job file becomes members and welds, a log becomes beads, beads
//! are matched to welds and judged, welds are put in order; then it is all drawn and reported.
#![forbid(unsafe_code)]

pub mod card;
pub mod command;
pub mod correct;
pub mod cost;
pub mod demo;
pub mod drawing;
pub mod harmless;
pub mod inspection;
pub mod job;
pub mod learn;
pub mod link;
pub mod located;
pub mod log;
pub mod map;
pub mod matching;
pub mod material;
pub mod measured;
pub mod movement;
pub mod notebook;
pub mod order;
pub mod page;
pub mod plan;
pub mod procedure;
pub mod record;
pub mod run;
pub mod save;
pub mod section;
pub mod settings_text;
pub mod shop;
pub mod structure;
pub mod verdict;
