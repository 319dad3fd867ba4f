//! Downloads the whole log into a file, byte for byte, and resumes after interruptions.
//!
//! The partial download is kept beside the target as `.part`. The next run compares its last bytes with the logger's
//! and resumes there. Only a log that was compared with the logger's, to its end and as it is on the disk, gets the final
//! name, and an existing file is never touched.

use super::client::{Client, LinkError};
use super::source::{Source, check_by_reading};
use super::verify::{REPAIRS, Verified, stopped};
use crate::save::sync_folder;
use coldsquare_core::link::{CHUNK, Checked, Consent, Refusal, Reply, Request};
use coldsquare_core::record::{ReadCounts, Reader};
use coldsquare_engine::failure::Failure;
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Chunks per request.
const CHUNKS: u8 = 64;
/// Bytes at the end of the partial download that must match the logger's.
const COMPARED: u64 = 4 * CHUNK as u64;
/// The longest log to download, in bytes: more than a year of welding day and night.
const MAX_LOG: u64 = 1 << 33;
/// How often a logger is asked that cannot read its own memory, and the time in between: its card may be back by then.
const READ_TRIES: u32 = 15;
const REST: Duration = Duration::from_millis(700);

/// A logger on a port.
pub struct OverLink {
    client: Client<'static>,
    name: String,
    /// It sums up its log; older ones do not.
    can_check: bool,
}

impl OverLink {
    /// The logger of a client; `name` is for messages.
    #[must_use]
    pub fn new(client: Client<'static>, name: &str) -> Self {
        Self {
            client,
            name: name.into(),
            can_check: false,
        }
    }

    /// Asks until the logger can read its memory at that byte, or for long enough.
    fn patiently<T>(
        &mut self,
        mut ask: impl FnMut(&mut Client<'static>) -> Result<T, LinkError>,
    ) -> Result<T, Failure> {
        for _ in 1..READ_TRIES {
            match ask(&mut self.client) {
                Err(LinkError::Refused(Refusal::StoreFault)) => self.client.rest(REST),
                Err(error) => return Err(error.at(&self.name)),
                Ok(answer) => return Ok(answer),
            }
        }
        ask(&mut self.client).map_err(|error| error.at(&self.name))
    }
}

impl Source for OverLink {
    fn extent(&mut self) -> Result<(u64, u64), Failure> {
        let identity = self
            .client
            .identify()
            .map_err(|error| error.at(&self.name))?;
        self.can_check = identity.can.check;
        if identity.can.pull {
            Ok(identity.log)
        } else {
            Err(Failure::Input(format!(
                "{}: this logger's memory cannot be read over the link; take out its card and read that",
                self.name
            )))
        }
    }

    fn read(&mut self, from: u64) -> Result<(u64, Vec<u8>), Failure> {
        let chunks = self.patiently(|client| client.pull(from, CHUNKS))?;
        let first = chunks.first().map_or(from, |chunk| chunk.from);
        let mut bytes = Vec::new();
        for chunk in chunks {
            // The next request skips what was dropped in between.
            if chunk.from != first.saturating_add(bytes.len() as u64) {
                break;
            }
            bytes.extend_from_slice(&chunk.bytes);
        }
        Ok((first, bytes))
    }

    fn check(&mut self, from: u64, until: u64) -> Result<Checked, Failure> {
        if !self.can_check {
            return check_by_reading(self, from, until);
        }
        let request = Request::Check { from, until };
        self.patiently(|client| match client.ask(&request)? {
            Reply::Checked(checked) => Ok(checked),
            _ => Err(LinkError::Strange),
        })
    }

    fn check_clear(&mut self) -> Result<bool, Failure> {
        let identity = self.client.identify();
        let can = identity.map_err(|error| error.at(&self.name))?.can;
        if can.clear && can.check {
            Ok(can.confirm)
        } else if can.clear {
            Err(Failure::Input(format!(
                "{}: this logger's firmware cannot tell whether a download is complete, so its memory is not cleared; update it",
                self.name
            )))
        } else {
            Err(Failure::Input(format!(
                "{}: the memory of this logger cannot be cleared over the link",
                self.name
            )))
        }
    }

    fn clear(&mut self, end: u64, consent: Consent) -> Result<bool, Failure> {
        match self.client.tell(&Request::Clear { end, consent }) {
            Ok(()) => Ok(true),
            Err(LinkError::Refused(Refusal::NotPulled)) => Ok(false),
            Err(error) => Err(error.at(&self.name)),
        }
    }
}

/// A log in memory, from a file or the image of a card.
pub struct InMemory(
    /// Its bytes.
    pub Vec<u8>,
);

impl Source for InMemory {
    fn extent(&mut self) -> Result<(u64, u64), Failure> {
        Ok((0, self.0.len() as u64))
    }

    fn read(&mut self, from: u64) -> Result<(u64, Vec<u8>), Failure> {
        let rest = usize::try_from(from)
            .ok()
            .and_then(|from| self.0.get(from..));
        let piece = rest.unwrap_or_default();
        Ok((from, piece[..piece.len().min(1 << 16)].to_vec()))
    }
}

/// The result of a download.
#[derive(Clone, Debug)]
pub struct Pulled {
    /// Bytes of the log.
    pub bytes: u64,
    /// Bytes from an earlier run.
    pub resumed_at: u64,
    /// First byte the logger still had.
    pub first: u64,
    /// A partial download that could not be resumed, if any.
    pub left_aside: Option<LeftAside>,
    /// What a reader finds in the log.
    pub tally: ReadCounts,
}

/// A partial download of a log that the logger no longer has: it may be the only copy.
#[derive(Clone, Debug)]
pub struct LeftAside {
    /// Why it was not resumed.
    pub why: &'static str,
    /// Its new name.
    pub kept: PathBuf,
}

/// The file of the partial download.
#[must_use]
pub fn part_of(out: &Path) -> PathBuf {
    let mut name = out.as_os_str().to_owned();
    name.push(".part");
    name.into()
}

/// How far a download has come, in bytes of the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// All of them are there; those that are `done` are also compared with the logger's.
    pub is_comparing: bool,
    /// Bytes that are done.
    pub done: u64,
    /// All of them.
    pub all: u64,
}

/// Downloads a log into `out`. `progress` hears how far it is, and stops the download by returning false; the `.part`
/// file stays.
///
/// # Errors
/// [`Failure`]: `out` exists, a file cannot be written, or the source fails; a later run resumes.
pub fn pull(
    source: &mut dyn Source,
    out: &Path,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Pulled, Failure> {
    if out.try_exists().unwrap_or(true) {
        return Err(Failure::Exists(out.to_owned()));
    }
    let (first, end) = source.extent()?;
    refuse_endless(first, end)?;
    let part = part_of(out);
    let fail = |cause| Failure::file(&part, "write")(cause);
    let mut file = open(&part)?;
    let mut resumed_at = file.metadata().map_err(fail)?.len();
    let mut left_aside = None;
    if let Some(why) = what_differs(source, &mut file, first, end, resumed_at)? {
        let kept = put_aside(&part)?;
        left_aside = Some(LeftAside { why, kept });
        file = open(&part)?;
        resumed_at = 0;
    }
    let at = fetch(source, (&mut file, &part), (first, end), progress)?;
    let until = first.saturating_add(at);
    Verified::nothing(first).go_on(source, &part, until, REPAIRS, &mut |done| {
        progress(Progress {
            is_comparing: true,
            done,
            all: at,
        })
    })?;
    let tally = tally(&mut file).map_err(fail)?;
    if tally.records == 0 {
        return Err(Failure::Input(format!(
            "{at} bytes were downloaded, and there is no record in them; they are kept in {}",
            part.display()
        )));
    }
    name_it(&part, out)?;
    sync_folder(out);
    Ok(Pulled {
        bytes: at,
        resumed_at,
        first,
        left_aside,
        tally,
    })
}

/// Opens the partial download, or starts one.
fn open(part: &Path) -> Result<File, Failure> {
    OpenOptions::new()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .open(part)
        .map_err(Failure::file(part, "write"))
}

/// Renames a partial download to a free name: its own with a number.
fn put_aside(part: &Path) -> Result<PathBuf, Failure> {
    let numbered = |number: u32| {
        let mut name = part.as_os_str().to_owned();
        name.push(format!("-{number}"));
        PathBuf::from(name)
    };
    let is_free = |path: &PathBuf| matches!(path.try_exists(), Ok(false));
    let kept = (1..1000).map(numbered).find(is_free);
    let kept = kept.ok_or_else(|| Failure::Exists(part.to_owned()))?;
    std::fs::rename(part, &kept).map_err(Failure::file(part, "rename"))?;
    Ok(kept)
}

/// Appends the missing rest of the log to a file; returns the new length.
pub(super) fn fetch(
    source: &mut dyn Source,
    (file, path): (&mut File, &Path),
    (first, end): (u64, u64),
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<u64, Failure> {
    let fail = |cause| Failure::file(path, "write")(cause);
    refuse_endless(first, end)?;
    let all = end.saturating_sub(first);
    let mut at = file.seek(SeekFrom::End(0)).map_err(fail)?;
    while at < all {
        let asked = first.saturating_add(at);
        let (from, bytes) = source.read(asked)?;
        if from < asked || from > end || (bytes.is_empty() && from < end) {
            return Err(Failure::Input(format!(
                "the logger has a log of {end} bytes and answers with {} bytes from byte {from} on when asked for byte \
                 {asked}; what came before is kept in {}",
                bytes.len(),
                path.display()
            )));
        }
        // Fill dropped bytes with frame boundaries, which readers of logs skip.
        at = from.saturating_sub(first);
        file.set_len(at).map_err(fail)?;
        file.seek(SeekFrom::Start(at)).map_err(fail)?;
        let wanted = (all - at).min(bytes.len() as u64) as usize;
        file.write_all(&bytes[..wanted]).map_err(fail)?;
        at += wanted as u64;
        let is_comparing = false;
        if !progress(Progress {
            is_comparing,
            done: at,
            all,
        }) {
            return Err(stopped(path));
        }
    }
    file.sync_all().map_err(fail)?;
    Ok(at)
}

/// No logger has a log like this: it would fill the disk.
fn refuse_endless(first: u64, end: u64) -> Result<(), Failure> {
    let bytes = end.saturating_sub(first);
    if bytes <= MAX_LOG {
        return Ok(());
    }
    Err(Failure::Input(format!(
        "the logger says that its log has {bytes} bytes, more than any logger holds; nothing was downloaded"
    )))
}

/// Why the partial download does not belong to this log; `None` if it does or is empty.
fn what_differs(
    source: &mut dyn Source,
    file: &mut File,
    first: u64,
    end: u64,
    had: u64,
) -> Result<Option<&'static str>, Failure> {
    if had == 0 {
        return Ok(None);
    }
    if had > end.saturating_sub(first) {
        return Ok(Some("it is longer than the logger's log: another log"));
    }
    let begin = had.saturating_sub(COMPARED);
    let mut kept = Vec::new();
    file.seek(SeekFrom::Start(begin))
        .and_then(|_| file.read_to_end(&mut kept))
        .map_err(Failure::file("the .part file", "read"))?;
    let mut at = 0;
    while at < kept.len() {
        let (from, bytes) = source.read(first + begin + at as u64)?;
        let same = bytes.len().min(kept.len() - at);
        if from != first + begin + at as u64 || same == 0 || bytes[..same] != kept[at..at + same] {
            return Ok(Some("its end is not in the logger's log: another log"));
        }
        at += same;
    }
    Ok(None)
}

pub(super) fn tally(file: &mut File) -> std::io::Result<ReadCounts> {
    file.seek(SeekFrom::Start(0))?;
    let mut reader = Reader::new();
    let mut piece = vec![0; 1 << 16];
    loop {
        let count = file.read(&mut piece)?;
        if count == 0 {
            reader.finish();
            return Ok(*reader.counts());
        }
        let mut rest = &piece[..count];
        while reader.next(&mut rest).is_some() {}
    }
}

/// Gives a complete log its name, unless a file of that name has appeared.
fn name_it(part: &Path, out: &Path) -> Result<(), Failure> {
    let linked = std::fs::hard_link(part, out);
    match linked {
        Ok(()) => std::fs::remove_file(part).map_err(Failure::file(part, "remove")),
        Err(cause) if cause.kind() == std::io::ErrorKind::AlreadyExists => {
            Err(Failure::Exists(out.to_owned()))
        }
        // A file system without hard links, such as FAT.
        Err(_) if !out.try_exists().unwrap_or(true) => {
            std::fs::rename(part, out).map_err(Failure::file(out, "write"))
        }
        Err(cause) => Err(Failure::file(out, "write")(cause)),
    }
}

#[cfg(test)]
mod tests;
