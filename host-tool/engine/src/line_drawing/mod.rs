//! A frame from its centre lines: a DXF drawing or a table of nodes and members becomes a job file to edit.
//!
//! ```text
//! DXF or CSV -> LineDrawing -> Net (nodes merged, split lines joined) -> Arranged (who ends on whom) -> job file
//! ```
//!
//! ```
//! use coldsquare_engine::job;
//! use coldsquare_engine::line_drawing::{Wanted, import, read};
//!
//! let table = "node,A,0,0,0\nnode,B,0,600,0\nnode,C,400,600,0\nmember,upright,A,B,SHS 40x40x2\nmember,arm,B,C,SHS 40x40x2\n";
//! let drawing = read("bracket.csv", table.as_bytes()).expect("a whole table");
//! let imported = import(&drawing, &Wanted::default()).expect("each line has a section");
//! let job = job::from_text("bracket.toml", &imported.job_file).expect("a whole job");
//! assert_eq!(job.members.len(), 2);
//! ```

mod dxf;
mod ends;
mod job_file;
mod lines;
mod model;
mod rectangle;
mod table;

use crate::file_error::{FileError, Source};

pub use dxf::write::{Dxf, layer_of};
pub use job_file::{Imported, NoImport, Wanted, import};
pub use model::{DrawnLine, LeftOut, LineDrawing};
pub use table::table_of;

/// Reads a DXF drawing, or a table if the name ends in `.csv`.
///
/// # Errors
/// What is wrong with the file, and where.
pub fn read(name: &str, bytes: &[u8]) -> Result<LineDrawing, FileError> {
    let text = text_of(bytes);
    let source = Source::new(name, text);
    let is_table = name
        .rsplit_once('.')
        .is_some_and(|(_, ending)| ending.eq_ignore_ascii_case("csv"));
    if bytes.iter().take(4096).any(|byte| *byte == 0) {
        return Err(source
            .error(0..0, "this file is not text")
            .hint("save the drawing as DXF in text form (ASCII), not as binary DXF or DWG"));
    }
    let mut drawing = if is_table {
        table::read(&source)?
    } else {
        dxf::read::read(&source)?
    };
    name.clone_into(&mut drawing.name);
    Ok(drawing)
}

/// UTF-8 as it is; anything else as Latin-1, which older drawings are written in.
fn text_of(bytes: &[u8]) -> String {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|byte| char::from(*byte)).collect(),
    }
}

#[cfg(test)]
mod tests;
