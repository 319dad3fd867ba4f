//! Compares a downloaded log, as it is on the disk, with what the logger holds, and fetches again what differs.

use super::source::Source;
use coldsquare_core::link::{Checked, Stretch, checksum_of_bytes, checksum_of_log};
use coldsquare_engine::failure::Failure;
use std::fs::File;
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::Path;

/// How often a piece of a partial download is fetched again before its file counts as unreliable.
pub(super) const REPAIRS: u32 = 3;

/// How far a file was compared.
#[derive(Clone, Copy, Debug)]
pub(super) struct Verified {
    /// First byte of the log in the file.
    first: u64,
    /// The byte after the last that was compared.
    at: u64,
    /// What the logger said about everything up to there, summed up.
    sum: u32,
}

impl Verified {
    /// Nothing yet, of a file that begins with this byte of the log.
    pub(super) const fn nothing(first: u64) -> Self {
        Self {
            first,
            at: first,
            sum: 0,
        }
    }

    /// What the logger said about everything so far, summed up: it clears its memory for this.
    pub(super) const fn sum(&self) -> u32 {
        self.sum
    }

    /// Compares the rest of the file, up to this byte of the log. The file is read anew, from the disk. What differs is
    /// fetched again, at most this often: never in a file that is the user's.
    ///
    /// # Errors
    /// [`Failure`] when the file still differs after it was written again, or one of the two cannot be read.
    pub(super) fn go_on(
        &mut self,
        source: &mut dyn Source,
        path: &Path,
        end: u64,
        repairs: u32,
        progress: &mut dyn FnMut(u64) -> bool,
    ) -> Result<(), Failure> {
        let mut left = repairs;
        while self.at < end {
            let checked = source.check(self.at, end)?;
            if !makes_sense(&checked, self.at, end) {
                return Err(Failure::Input(format!(
                    "{}: the logger's answer about byte {} of its log makes no sense",
                    path.display(),
                    self.at
                )));
            }
            if self.sum_of_file(path, &checked.stretches)? != checked.sum {
                if left == 0 {
                    return Err(Failure::Input(format!(
                        "{}: its bytes {} to {} are not those of the logger",
                        path.display(),
                        self.at,
                        checked.until
                    )));
                }
                left -= 1;
                self.fetch_again(source, path, &checked.stretches)?;
                continue;
            }
            left = repairs;
            self.sum = checksum_of_log(self.sum, &checked);
            self.at = checked.until;
            if !progress(self.at - self.first) {
                return Err(stopped(path));
            }
        }
        Ok(())
    }

    fn place(&self, at: u64) -> SeekFrom {
        SeekFrom::Start(at.saturating_sub(self.first))
    }

    fn sum_of_file(&self, path: &Path, stretches: &[Stretch]) -> Result<u32, Failure> {
        let fail = |cause| Failure::file(path, "read")(cause);
        let mut file = File::open(path).map_err(fail)?;
        let mut sum = 0;
        for stretch in stretches {
            let mut bytes = vec![0; stretch.length.into()];
            file.seek(self.place(stretch.from)).map_err(fail)?;
            match file.read_exact(&mut bytes) {
                // It is shorter than what was downloaded: that differs.
                Err(cause) if cause.kind() == std::io::ErrorKind::UnexpectedEof => {}
                read => read.map_err(fail)?,
            }
            sum = checksum_of_bytes(sum, &bytes);
        }
        Ok(sum)
    }

    fn fetch_again(
        &self,
        source: &mut dyn Source,
        path: &Path,
        stretches: &[Stretch],
    ) -> Result<(), Failure> {
        let fail = |cause| Failure::file(path, "write")(cause);
        let mut file = File::options().write(true).open(path).map_err(fail)?;
        for stretch in stretches {
            let mut at = stretch.from;
            while at < stretch.end() {
                let (from, bytes) = source.read(at)?;
                if from != at || bytes.is_empty() {
                    break;
                }
                let wanted = (stretch.end() - at).min(bytes.len() as u64);
                file.seek(self.place(at)).map_err(fail)?;
                file.write_all(&bytes[..wanted as usize]).map_err(fail)?;
                at += wanted;
            }
        }
        file.sync_all().map_err(fail)
    }
}

/// What a user who stops is told.
pub(super) fn stopped(path: &Path) -> Failure {
    Failure::Input(format!(
        "stopped; the partial download is kept in {}; rerun the command to resume",
        path.display()
    ))
}

/// Whether an answer is about what was asked, and goes on from there.
fn makes_sense(checked: &Checked, at: u64, end: u64) -> bool {
    let mut before = at;
    checked.until > at
        && checked.until <= end
        && checked.stretches.iter().all(|stretch| {
            let follows = stretch.from >= before && stretch.end() <= checked.until;
            before = stretch.end();
            follows
        })
}
