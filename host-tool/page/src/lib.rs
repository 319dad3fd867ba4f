//! What the page asks the engine, and how the two talk.
//!
//! ```text
//! script -> worker -> call(request as JSON) -> answer::to -> engine -> answer as JSON -> worker -> script
//! ```
//!
//! Text crosses the border as bytes in the module's memory. The worker calls [`border::reserve`], writes there, and hands
//! the memory over with [`border::call`] or [`border::put`]. Every rule of the trade is in the engine: what is here only
//! reads requests and writes answers. [`request::Request`] lists what can be asked.

mod answer;
mod begin;
pub mod border;
mod build;
mod frame;
mod json;
mod link;
mod memory;
mod planning;
mod progress;
pub mod request;

pub use answer::to;
