//! The logger's end of the link, one bounded turn at a time.

use super::Link;
use crate::console::log;
use coldsquare_core::link::{Garbled, MAX_FRAME, Receiver, Refusal, Reply, Request, encode};

/// The most bytes taken in one turn.
pub const MAX_IN: usize = 32;
/// The most bytes given in one turn.
pub const MAX_OUT: usize = 64;

/// What the logger must do in this turn.
#[allow(clippy::large_enum_variant)] // Passed on once; see `Request`.
#[derive(Clone, Debug, PartialEq)]
pub enum Wanted {
    /// Answer this request.
    Answer {
        /// Goes back with the reply.
        tag: u8,
        /// The request.
        request: Request,
    },
    /// Send the next piece of the log.
    Chunk {
        /// Goes back with the chunk.
        tag: u8,
        /// Number of the chunk within the request, from 0.
        index: u8,
        /// Its first byte.
        from: u64,
    },
    /// Sum up some more of the log; the reply may take many turns.
    Check {
        /// Goes back with the reply.
        tag: u8,
        /// The first byte of the request.
        from: u64,
        /// The byte before which it ends.
        until: u64,
    },
}

/// A request that takes more than one turn.
#[derive(Clone, Copy, Debug)]
enum Progress {
    Pull(Pulling),
    /// A check: tag, first byte and end.
    Check(u8, u64, u64),
}

/// A pull in progress.
#[derive(Clone, Copy, Debug)]
struct Pulling {
    tag: u8,
    from: u64,
    /// Chunks sent, and requested.
    index: u8,
    chunks: u8,
}

/// Requests in, replies out.
#[derive(Debug)]
pub struct Server {
    receiver: Receiver<Request>,
    out: [u8; MAX_FRAME],
    /// Bytes of `out` to send, and sent.
    length: usize,
    sent: usize,
    progress: Option<Progress>,
}

impl Default for Server {
    fn default() -> Self {
        Self::new()
    }
}

impl Server {
    /// A server without requests.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            receiver: Receiver::new(),
            out: [0; MAX_FRAME],
            length: 0,
            sent: 0,
            progress: None,
        }
    }

    /// One turn: sends what waits, or else takes what was received. Answer what it returns with [`Server::reply`] before the
    /// next turn.
    pub fn turn(&mut self, link: &mut impl Link) -> Option<Wanted> {
        if self.sent < self.length {
            self.give(link);
            return None;
        }
        match link.receive() {
            Some(byte) => self.take(byte, link),
            None => self.in_progress(),
        }
    }

    /// Takes this byte and those after it.
    #[inline(never)] // Most turns find no byte and must not reserve the stack for a request.
    fn take(&mut self, mut byte: u8, link: &mut impl Link) -> Option<Wanted> {
        for more in (0..MAX_IN).rev() {
            match self.receiver.take(byte) {
                None => {}
                Some((tag, Ok(Request::Pull { from, chunks }))) => {
                    self.progress = Some(Progress::Pull(Pulling {
                        tag,
                        from,
                        index: 0,
                        chunks,
                    }));
                    return None;
                }
                Some((tag, Ok(Request::Check { from, until }))) => {
                    self.progress = Some(Progress::Check(tag, from, until));
                    return None;
                }
                Some((tag, Ok(request))) => {
                    self.progress = None;
                    return Some(Wanted::Answer { tag, request });
                }
                Some((tag, Err(Garbled::Value))) => {
                    self.reply(tag, &Reply::Refused(Refusal::Value));
                    return None;
                }
                Some((tag, Err(Garbled::UnknownKind))) => {
                    self.reply(tag, &Reply::Refused(Refusal::CannotDo));
                    return None;
                }
                // Noise, and messages for another receiver.
                Some((_, Err(_why))) => {
                    log!("link: not understood, {}", _why);
                    return None;
                }
            }
            if more > 0 {
                let Some(next) = link.receive() else {
                    return self.in_progress();
                };
                byte = next;
            }
        }
        None
    }

    /// Prepares a reply for sending.
    pub fn reply(&mut self, tag: u8, reply: &Reply) {
        match (&mut self.progress, reply) {
            (Some(Progress::Pull(pulling)), Reply::Chunk(chunk))
                if !chunk.bytes.is_empty() && pulling.index + 1 < pulling.chunks =>
            {
                pulling.from = chunk.from.saturating_add(chunk.bytes.len() as u64);
                pulling.index += 1;
            }
            _ => self.progress = None,
        }
        if let Reply::Refused(_why) = reply {
            log!("link: refused, {}", _why);
        }
        self.sent = 0;
        self.length = encode(tag, reply, &mut self.out).unwrap_or(0);
    }

    fn give(&mut self, link: &mut impl Link) {
        let end = self.length.min(self.sent + MAX_OUT);
        if let Some(waiting) = self.out.get(self.sent..end) {
            let taken = link.send(waiting).min(waiting.len());
            self.sent += taken;
        }
    }

    /// What the request under way wants next.
    fn in_progress(&self) -> Option<Wanted> {
        self.progress.map(|progress| match progress {
            Progress::Check(tag, from, until) => Wanted::Check { tag, from, until },
            Progress::Pull(pulling) => Wanted::Chunk {
                tag: pulling.tag,
                index: pulling.index,
                from: pulling.from,
            },
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use coldsquare_core::link::Chunk;

    /// A computer that asks for this, and takes everything.
    struct Asks(std::collections::VecDeque<u8>);

    impl Link for Asks {
        fn receive(&mut self) -> Option<u8> {
            self.0.pop_front()
        }

        fn send(&mut self, bytes: &[u8]) -> usize {
            bytes.len()
        }
    }

    /// The chunks of a pull, each with its first byte, of a log that ends there.
    fn pulled(chunks: u8, end: u64) -> Vec<(u8, u64)> {
        let mut frame = [0; MAX_FRAME];
        let request = Request::Pull { from: 5, chunks };
        let length = encode(9, &request, &mut frame).expect("it fits");
        let mut link = Asks(frame[..length].iter().copied().collect());
        let (mut server, mut given) = (Server::new(), Vec::new());
        for _ in 0..1000 {
            let Some(wanted) = server.turn(&mut link) else {
                continue;
            };
            let Wanted::Chunk {
                tag: 9,
                index,
                from,
            } = wanted
            else {
                panic!("{wanted:?}")
            };
            given.push((index, from));
            let bytes = [7, 7].get(..end.saturating_sub(from).min(2) as usize);
            let bytes = bytes.unwrap_or_default().try_into().expect("short");
            server.reply(9, &Reply::Chunk(Chunk { index, from, bytes }));
        }
        given
    }

    #[test]
    fn a_pull_gives_as_many_chunks_as_were_asked_for_and_ends_with_the_log() {
        assert_eq!(pulled(1, 100), [(0, 5)]);
        assert_eq!(pulled(3, 100), [(0, 5), (1, 7), (2, 9)]);
        // The last one has no bytes.
        assert_eq!(pulled(200, 8), [(0, 5), (1, 7), (2, 8)]);
        assert_eq!(pulled(255, 1000).len(), 255);
    }
}
