//! The whole log into a file, byte for byte, however often it is interrupted.
//!
//! What has come so far is kept beside the file that was asked for, with `.part` at the end of its name. The next try
//! compares the last bytes of it with the logger's and goes on from there. Only a log that is whole gets its name, and
//! a file that is there is never touched.

use super::client::{Client, LinkError};
use coldsquare_core::link::{CHUNK, Consent, Refusal, Request};
use coldsquare_core::record::{Reader, Tally};
use coldsquare_engine::failure::Failure;
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Chunks that are asked for at once.
const CHUNKS: u8 = 64;
/// Bytes at the end of what came before that must be the same on the logger.
const COMPARED: u64 = 4 * CHUNK as u64;

/// Something that a log can be read from, a piece at a time.
pub trait Source {
    /// The first byte that is there, and the one after the last.
    ///
    /// # Errors
    /// [`Failure`] when it cannot be told.
    fn extent(&mut self) -> Result<(u64, u64), Failure>;

    /// Some bytes from a place on, and the place of the first: the one asked for, or a later one where what stood there
    /// was dropped. No bytes at the end.
    ///
    /// # Errors
    /// [`Failure`] when they cannot be read.
    fn read(&mut self, from: u64) -> Result<(u64, Vec<u8>), Failure>;

    /// Whether what it has can be let go of.
    ///
    /// # Errors
    /// [`Failure`] says why not, or that it cannot be told.
    fn check_clear(&mut self) -> Result<(), Failure> {
        Err(Failure::Usage(
            "only a logger's store can be emptied; a card is made anew with `coldsquare card new`"
                .into(),
        ))
    }

    /// Lets go of the log that ends before this byte; false when it has grown since or is another one.
    ///
    /// # Errors
    /// [`Failure`] when it cannot be done now.
    fn clear(&mut self, end: u64, consent: Consent) -> Result<bool, Failure> {
        let _ = (end, consent);
        self.check_clear().map(|()| false)
    }
}

/// A logger at the other end of a port.
pub struct OverLink {
    client: Client<'static>,
    name: String,
}

impl OverLink {
    /// The logger that a client talks to; `name` is for messages.
    #[must_use]
    pub fn new(client: Client<'static>, name: &str) -> Self {
        Self {
            client,
            name: name.into(),
        }
    }
}

impl Source for OverLink {
    fn extent(&mut self) -> Result<(u64, u64), Failure> {
        let identity = self
            .client
            .identify()
            .map_err(|error| error.at(&self.name))?;
        if identity.can.pull {
            Ok(identity.log)
        } else {
            Err(Failure::Input(format!(
                "{}: this logger's store can only be written; take its card out and give the image of it",
                self.name
            )))
        }
    }

    fn read(&mut self, from: u64) -> Result<(u64, Vec<u8>), Failure> {
        let chunks = self
            .client
            .pull(from, CHUNKS)
            .map_err(|error: LinkError| error.at(&self.name))?;
        let first = chunks.first().map_or(from, |chunk| chunk.from);
        let mut bytes = Vec::new();
        for chunk in chunks {
            // What was dropped inside is left for the next question to jump over.
            if chunk.from != first.saturating_add(bytes.len() as u64) {
                break;
            }
            bytes.extend_from_slice(&chunk.bytes);
        }
        Ok((first, bytes))
    }

    fn check_clear(&mut self) -> Result<(), Failure> {
        let identity = self.client.identify();
        if identity.map_err(|error| error.at(&self.name))?.can.clear {
            Ok(())
        } else {
            Err(Failure::Input(format!(
                "{}: the store of this logger cannot be emptied over the link",
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

/// A log in memory: out of a file, or off the image of a card.
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

/// What was pulled.
#[derive(Clone, Debug)]
pub struct Pulled {
    /// Bytes of the log.
    pub bytes: u64,
    /// Bytes that had come in an earlier try.
    pub resumed_at: u64,
    /// First byte that the logger still had.
    pub first: u64,
    /// An earlier try that was not gone on with, if there was one.
    pub left_aside: Option<LeftAside>,
    /// What a reader finds in it.
    pub tally: Tally,
}

/// What came of an earlier try, of a log that the logger does not have any more: it may be the only copy.
#[derive(Clone, Debug)]
pub struct LeftAside {
    /// Why it was not gone on with.
    pub why: &'static str,
    /// Where it is now.
    pub kept: PathBuf,
}

/// The file in which a log is kept until it is whole.
#[must_use]
pub fn part_of(out: &Path) -> PathBuf {
    let mut name = out.as_os_str().to_owned();
    name.push(".part");
    name.into()
}

/// Pulls a log into `out`. `progress` hears of bytes done and of all, and may stop it by saying false; what came stays
/// in the `.part` file.
///
/// # Errors
/// [`Failure`]: `out` exists, a file cannot be written, or the source gives up; a later try goes on from there.
pub fn pull(
    source: &mut dyn Source,
    out: &Path,
    progress: &mut dyn FnMut(u64, u64) -> bool,
) -> Result<Pulled, Failure> {
    if out.try_exists().unwrap_or(true) {
        return Err(Failure::Exists(out.to_owned()));
    }
    let (first, end) = source.extent()?;
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
    let tally = tally(&mut file).map_err(fail)?;
    name_it(&part, out)?;
    Ok(Pulled {
        bytes: at,
        resumed_at,
        first,
        left_aside,
        tally,
    })
}

/// Opens the file of what came so far, or begins one.
fn open(part: &Path) -> Result<File, Failure> {
    OpenOptions::new()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .open(part)
        .map_err(Failure::file(part, "write"))
}

/// Gives the file of an earlier try a name that no file has: its own with a number.
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

/// Fetches what is missing at the end of a file that holds the beginning of a log; gives its new length.
pub(super) fn fetch(
    source: &mut dyn Source,
    (file, path): (&mut File, &Path),
    (first, end): (u64, u64),
    progress: &mut dyn FnMut(u64, u64) -> bool,
) -> Result<u64, Failure> {
    let fail = |cause| Failure::file(path, "write")(cause);
    let all = end.saturating_sub(first);
    let mut at = file.seek(SeekFrom::End(0)).map_err(fail)?;
    while at < all {
        let (from, bytes) = source.read(first.saturating_add(at))?;
        if bytes.is_empty() {
            break;
        }
        // Nothing but boundaries stands where bytes were dropped: to a reader of logs that means nothing.
        let from = from.saturating_sub(first).max(at);
        // Everything up to the end that the log had was dropped meanwhile.
        if from >= all {
            break;
        }
        if from > at {
            file.seek(SeekFrom::Start(from)).map_err(fail)?;
        }
        let wanted = (all - from).min(bytes.len() as u64) as usize;
        file.write_all(&bytes[..wanted]).map_err(fail)?;
        at = from + wanted as u64;
        if !progress(at, all) {
            return Err(Failure::Input(format!(
                "stopped; what came is in {}, and the same command goes on from there",
                path.display()
            )));
        }
    }
    file.sync_all().map_err(fail)?;
    Ok(at)
}

/// Why what came before is not the beginning of this log; `None` when it is, or there is nothing.
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

pub(super) fn tally(file: &mut File) -> std::io::Result<Tally> {
    file.seek(SeekFrom::Start(0))?;
    let mut reader = Reader::new();
    let mut piece = vec![0; 1 << 16];
    loop {
        let count = file.read(&mut piece)?;
        if count == 0 {
            reader.finish();
            return Ok(*reader.tally());
        }
        let mut rest = &piece[..count];
        while reader.next(&mut rest).is_some() {}
    }
}

/// Gives a whole log its name, unless somebody else took it meanwhile.
fn name_it(part: &Path, out: &Path) -> Result<(), Failure> {
    let linked = std::fs::hard_link(part, out);
    match linked {
        Ok(()) => std::fs::remove_file(part).map_err(Failure::file(part, "remove")),
        Err(cause) if cause.kind() == std::io::ErrorKind::AlreadyExists => {
            Err(Failure::Exists(out.to_owned()))
        }
        // A file system without hard links, such as a card's.
        Err(_) if !out.try_exists().unwrap_or(true) => {
            std::fs::rename(part, out).map_err(Failure::file(out, "write"))
        }
        Err(cause) => Err(Failure::file(out, "write")(cause)),
    }
}
