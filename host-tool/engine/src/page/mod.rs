//! Pages: the weld map and the plan, each one file that opens from the disk, without network, and prints.
//!
//! ```text
//! WeldMap -> weld_map -> html
//! Plan    -> plan     -> html        words and tables are written here; scripts only pick, turn and draw
//! ```
//!
//! A page without its script still shows the drawing and the table.

mod bench_card;
mod build_time;
mod correction;
pub(crate) mod html;
mod judged;
mod member_side;
pub(crate) mod movement_table;
mod moving;
mod order_strip;
mod plan;
mod scene;
mod step_words;
pub(crate) mod stills;
mod sums;
mod trace;
mod weld_data;
mod weld_map;
mod weld_table;

pub use correction::correction_html;
pub use moving::Movement;
pub use moving::movement_of;
pub use plan::{plan_html, plan_html_moving};
pub use weld_map::weld_map_html;
