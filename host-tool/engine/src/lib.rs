//! Everything about a light welded frame that is computed: text and bytes in, models, text and bytes out.
//!
//! Nothing here opens a file, starts a thread, asks for the time or writes to a terminal. Files come through
//! [`files::Files`], the work of several searches through [`plan::parallel`]; progress and cancelling are closures.
//! So the same engine runs in the command, in the tests and in a browser.
//!
//! Groups of modules stand in the order in which data flows: a job file becomes members and welds, a log becomes beads,
//! beads are matched to welds and judged; how the frame moves follows, and what to do about it; then it is all drawn
//! and reported. A module uses those of its own group and of the groups before it, never in a circle.
#![forbid(unsafe_code)]

mod algebra;
mod append_only;
pub mod digest;
pub mod example;
pub mod failure;
pub mod file_error;
pub mod files;
pub mod format;
pub mod formulas;
pub mod geometry;
pub mod limits;
pub mod material;
mod plain_text;
pub mod sanitise;
pub mod toml_comments;
pub mod units;

pub mod section;

mod reading;
pub mod shop;

pub mod procedure;

pub mod opening;

pub mod job;
pub mod line_drawing;
pub mod recording;
pub mod structure;
pub mod verdict;

pub mod card;
pub(crate) mod comparison;
pub mod inspection;
pub mod log;
pub mod map;
pub mod matching;
pub mod order;

pub mod cost;
pub mod movement;

pub mod measured;

pub mod correct;
pub mod finish;
pub mod fit;
pub mod fixture;
pub mod layout;
pub mod learn;
pub mod plan;
pub mod traveller;

pub mod drawing;
pub mod page;
pub mod record;
pub mod saw;
