//! Clears a logger's memory once its log is safe.

use super::pull::{Source, fetch, tally};
use super::{Client, LinkError};
use coldsquare_core::link::{CHUNK, Consent, Identity, Refusal, Request, checksum_of_tail};
use coldsquare_core::record::ReadCounts;
use coldsquare_engine::failure::Failure;
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

/// How often to fetch what was added meanwhile before giving up on a logger that keeps logging.
const MOST_GROWN: u32 = 20;

/// Clears the memory of a logger whose log was pulled into `out`, once that file is complete and synced to disk. Adds
/// to the file what was logged meanwhile. Returns its length and what a reader finds in it.
///
/// # Errors
/// [`Failure`]; the logger's log is then unchanged.
pub fn clear_pulled(source: &mut dyn Source, out: &Path) -> Result<(u64, ReadCounts), Failure> {
    let fail = |cause| Failure::file(out, "use")(cause);
    let mut file = OpenOptions::new()
        .read(true)
        .write(true)
        .open(out)
        .map_err(fail)?;
    for _ in 0..MOST_GROWN {
        let (first, end) = source.extent()?;
        let length = fetch(source, (&mut file, out), (first, end), &mut |_, _| true)?;
        name_is_safe(out);
        let tail = tail_of(&mut file, length).map_err(fail)?;
        if source.clear(first.saturating_add(length), Consent::Pulled { tail })? {
            let tally = tally(&mut file).map_err(fail)?;
            return Ok((length, tally));
        }
    }
    Err(Failure::Input(format!(
        "the logger was not cleared: it is still logging, or its log is not the one in {}",
        out.display()
    )))
}

/// Checksum of the last bytes of a file.
fn tail_of(file: &mut File, length: u64) -> std::io::Result<u32> {
    let mut tail = Vec::new();
    file.seek(SeekFrom::Start(length.saturating_sub(CHUNK as u64)))?;
    file.read_to_end(&mut tail)?;
    Ok(checksum_of_tail(&tail))
}

/// Syncs the folder too, so that the file's name is as safe as its bytes. Some systems cannot; they do it in their own
/// time.
fn name_is_safe(path: &Path) {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    if let Ok(folder) = File::open(folder.unwrap_or(Path::new("."))) {
        let _ = folder.sync_all();
    }
}

/// Clears the memory of the logger with this name, whether or not its log was pulled. Returns the logger's identity
/// from before.
///
/// # Errors
/// [`LinkError`]: it has another name, cannot clear, or a bead is under way.
pub fn clear_named(client: &mut Client<'_>, name: &str) -> Result<Identity, LinkError> {
    // No logger has a name this long.
    let name = name
        .try_into()
        .map_err(|_| LinkError::Refused(Refusal::Value))?;
    let consent = Consent::Named(name);
    for _ in 0..MOST_GROWN {
        let identity = client.identify()?;
        let end = identity.log.1;
        let consent = consent.clone();
        match client.tell(&Request::Clear { end, consent }) {
            Ok(()) => return Ok(identity),
            Err(LinkError::Refused(Refusal::NotPulled)) => {}
            Err(error) => return Err(error),
        }
    }
    Err(LinkError::Refused(Refusal::NotPulled))
}
