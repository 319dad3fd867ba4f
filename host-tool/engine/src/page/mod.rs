//! Pages: the weld map, the plan, the correction, each one file that opens from the disk, without network, and prints.
//!
//! ```text
//! WeldMap    -> weld_map   -+
//! Plan       -> plan       -+-> html     text and tables are written here; scripts only select, turn and draw
//! Correction -> correction -+
//! ```
//!
//! A page without its script still shows the drawing and the table. To add a panel to a page, write a function that
//! returns its `Markup` with `html::panel` and put it in the page's `body`.
//!
//! ```
//! use coldsquare_engine::plan::order::Effort;
//! use coldsquare_engine::plan::{Options, plan};
//! use coldsquare_engine::{example, job, page};
//!
//! let job = job::from_text("gate.toml", example::GARDEN_GATE).expect("the example has no errors");
//! let options = Options {
//!     effort: Effort { trials: 1000, seed: 1 },
//!     ..Options::default()
//! };
//! let plan = plan(&job, &options, &mut |_| true)?;
//! assert!(page::plan_html(&job, &plan, None).starts_with("<!DOCTYPE html>"));
//! # Ok::<(), coldsquare_engine::plan::PlanError>(())
//! ```

mod bench_card;
mod build_time;
mod card_layout;
mod check;
mod correction;
mod fixture;
mod frame;
pub(crate) mod html;
mod judged;
mod layout;
mod member_side;
pub(crate) mod movement_table;
mod moving;
mod order_strip;
mod plan;
mod saw_list;
mod scene;
mod step_groups;
mod step_text;
pub(crate) mod stills;
mod style;
mod sums;
mod tiles;
mod trace;
mod traveller;
mod weld_data;
mod weld_map;
mod weld_table;

pub use check::{check_html, errors_html, names};
pub use correction::{correction_html, correction_part};
pub use fixture::fixture_html;
pub use frame::{FrameData, MovedData, frame_data, moved_data};
pub use html::Part;
pub use layout::layout_html;
pub use moving::Movement;
pub use moving::movement_of;
pub use plan::{plan_html, plan_part};
pub use saw_list::saw_page;
pub use style::style;
pub use tiles::Paper;
pub use traveller::traveller_html;
pub use weld_map::{weld_map_html, weld_map_part};

/// The scripts of every page with a frame that can be turned, in the order in which they need each other.
const FRAME_SCRIPTS: [&str; 6] = [
    include_str!("scripts/geometry.js"),
    include_str!("scripts/metal.js"),
    include_str!("scripts/labels.js"),
    include_str!("scripts/input.js"),
    include_str!("scripts/frame.js"),
    include_str!("scripts/moved.js"),
];
