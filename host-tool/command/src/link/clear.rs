//! Emptying a logger's store, once nothing is lost by it that somebody wants.

use super::pull::{Source, fetch, tally};
use super::{Client, LinkError};
use coldsquare_core::link::{CHUNK, Consent, Identity, Refusal, Request, checksum_of_tail};
use coldsquare_core::record::Tally;
use coldsquare_engine::failure::Failure;
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

/// How often what a log has grown by is fetched, or its end asked for anew, before a logger that never rests is left as
/// it is.
const MOST_GROWN: u32 = 20;

/// Empties the store of a logger whose log was pulled into `out`, once that file has all of it and is safe on its disk.
/// What came meanwhile is added to the file. Gives its length and what a reader finds in it.
///
/// # Errors
/// [`Failure`]; then the logger's log is as it was.
pub fn clear_pulled(source: &mut dyn Source, out: &Path) -> Result<(u64, Tally), Failure> {
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
        "the logger was not emptied: its log goes on growing, or is another one than {}",
        out.display()
    )))
}

/// The checksum of a file's last bytes.
fn tail_of(file: &mut File, length: u64) -> std::io::Result<u32> {
    let mut tail = Vec::new();
    file.seek(SeekFrom::Start(length.saturating_sub(CHUNK as u64)))?;
    file.read_to_end(&mut tail)?;
    Ok(checksum_of_tail(&tail))
}

/// The name of a file is to be as safe as its bytes. Where a folder cannot be synced, the system does it in its time.
fn name_is_safe(path: &Path) {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    if let Ok(folder) = File::open(folder.unwrap_or(Path::new("."))) {
        let _ = folder.sync_all();
    }
}

/// Empties the store of a logger of this name, whether its log was pulled or not. Gives the logger as it was.
///
/// # Errors
/// [`LinkError`]: it has another name, cannot do it, or is in the middle of a bead.
pub fn clear_named(client: &mut Client<'_>, name: &str) -> Result<Identity, LinkError> {
    // A name that is too long is not the logger's.
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
