//! The log on a memory card: from the journal file, or from an image of the whole card.
//!
//! How a card is recognised is here; how cells become a log is in `assemble`. The formats belong to
//! [`coldsquare_core::journal`].
//!
//! ```text
//! image of a card -> place of COLDSQ.JNL -\
//!                                          +-> cells -> records in the order of their offsets -> log
//! COLDSQ.JNL, copied ----------------------/
//! ```

mod assemble;

use crate::failure::Failure;
use crate::files::{File, Files};
pub use assemble::CardLog;
use assemble::Cells;
use coldsquare_core::journal::fat::{FILE_NAME, NotFound, SectorRange, Unreadable, find};
use coldsquare_core::journal::{CELL, CellBytes, Layout, LayoutError, open_mending};
use std::io::{Read, SeekFrom};
use std::path::Path;

/// Bytes read at once.
const PIECE: usize = 1 << 20;

/// Whether a file that begins with these bytes is a journal.
///
/// ```
/// assert!(!coldsquare_engine::card::is_journal(b"time,volts,amps\n"));
/// ```
#[must_use]
pub fn is_journal(head: &[u8]) -> bool {
    head.first_chunk::<CELL>().is_some_and(|cell| {
        open_mending(&mut cell.clone()).is_ok()
            || matches!(Layout::of_cell(cell, 1), Err(LayoutError::Newer { .. }))
    })
}

/// Whether a file that begins with these bytes is the image of a card: a partition table with FAT32, or a FAT file system.
#[must_use]
pub fn is_card(head: &[u8]) -> bool {
    let byte = |at: usize| head.get(at).copied().unwrap_or(0);
    let signed = byte(510) == 0x55 && byte(511) == 0xAA;
    signed && (matches!(byte(450), 0x0B | 0x0C) || matches!(byte(0), 0xEB | 0xE9))
}

/// Assembles the log from the bytes of a journal.
///
/// # Errors
/// [`LayoutError`] when its first cell does not give the layout.
pub fn log_of(journal: &[u8]) -> Result<CardLog, LayoutError> {
    let (whole, _) = journal.as_chunks::<CELL>();
    let count = u32::try_from(whole.len()).unwrap_or(u32::MAX);
    let first = whole.first().ok_or(LayoutError::NotPrepared)?;
    let mut cells = Cells::new(layout_of(first, count)?);
    for cell in whole {
        cells.add(cell);
    }
    Ok(cells.into_log())
}

/// The layout in the first cell, in which a bit may have flipped.
fn layout_of(first: &CellBytes, count: u32) -> Result<Layout, LayoutError> {
    let mut first = *first;
    let _ = open_mending(&mut first);
    Layout::of_cell(&first, count)
}

/// Reads the log from the image of a card or from its journal; `None` when the file is neither.
///
/// # Errors
/// [`Failure`] when the file cannot be read, the card has no journal, or the journal is of a newer version.
pub fn read(files: &dyn Files, path: &Path) -> Result<Option<CardLog>, Failure> {
    let mut file = files.open(path).map_err(Failure::file(path, "read"))?;
    let mut head = Vec::new();
    file.by_ref()
        .take(CELL as u64)
        .read_to_end(&mut head)
        .map_err(Failure::file(path, "read"))?;
    let place = if is_journal(&head) {
        let length = file.seek(SeekFrom::End(0));
        let length = length.map_err(Failure::file(path, "read"))?;
        let count = u32::try_from(length / CELL as u64).unwrap_or(u32::MAX);
        SectorRange { first: 0, count }
    } else if is_card(&head) {
        let mut sector = |number: u32, into: &mut CellBytes| {
            file.seek(SeekFrom::Start(u64::from(number) * CELL as u64))
                .and_then(|_| file.read_exact(into))
                .map_err(|_| Unreadable)
        };
        find(&FILE_NAME, &mut sector).map_err(|why| not_found(path, why))?
    } else {
        return Ok(None);
    };
    read_cells(path, &mut *file, place).map(Some)
}

fn not_found(path: &Path, why: NotFound) -> Failure {
    let why = match why {
        NotFound::Fault => {
            "it ends before its journal does: the image is incomplete, copy the card again".into()
        }
        NotFound::NoSuchFile => {
            "there is no file COLDSQ.JNL in its root folder: is it the card of a logger?".into()
        }
        other => other.to_string(),
    };
    Failure::Input(format!("{}: {why}", path.display()))
}

fn read_cells(path: &Path, file: &mut dyn File, place: SectorRange) -> Result<CardLog, Failure> {
    let mut piece = vec![0; PIECE];
    let mut cells: Option<Cells> = None;
    let mut left = place.count as usize * CELL;
    file.seek(SeekFrom::Start(u64::from(place.first) * CELL as u64))
        .map_err(Failure::file(path, "read"))?;
    while left > 0 {
        let now = left.min(PIECE);
        let piece = &mut piece[..now];
        file.read_exact(piece).map_err(|cause| {
            if cause.kind() == std::io::ErrorKind::UnexpectedEof {
                not_found(path, NotFound::Fault)
            } else {
                Failure::file(path, "read")(cause)
            }
        })?;
        for cell in piece.as_chunks::<CELL>().0 {
            match &mut cells {
                Some(cells) => cells.add(cell),
                None => {
                    let layout = layout_of(cell, place.count)
                        .map_err(|why| Failure::Input(format!("{}: {why}", path.display())))?;
                    cells = Some(Cells::new(layout));
                }
            }
        }
        left -= now;
    }
    Ok(cells.map(Cells::into_log).unwrap_or_default())
}
