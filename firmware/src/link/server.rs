//! The logger's side of the link, a bounded turn at a time.

use super::Link;
use crate::console::log;
use coldsquare_core::link::{Garbled, MAX_FRAME, Receiver, Refusal, Reply, Request, encode};

/// Most bytes taken in one turn.
pub const MAX_IN: usize = 32;
/// Most bytes given in one turn.
pub const MAX_OUT: usize = 64;

/// What the server wants of the logger in this turn.
#[allow(clippy::large_enum_variant)] // Handed over once; see `Request`.
#[derive(Clone, Debug, PartialEq)]
pub enum Wanted {
    /// An answer to this question.
    Answer {
        /// Goes back with the answer.
        tag: u8,
        /// The question.
        request: Request,
    },
    /// The next piece of the log, from this byte on.
    Chunk {
        /// Goes back with the chunk.
        tag: u8,
        /// Which chunk of the question it is, from 0.
        index: u8,
        /// The byte.
        from: u64,
    },
}

/// A pull that is going on.
#[derive(Clone, Copy, Debug)]
struct Pulling {
    tag: u8,
    from: u64,
    /// Chunks given, and asked for.
    index: u8,
    chunks: u8,
}

/// Questions in, answers out.
#[derive(Debug)]
pub struct Server {
    receiver: Receiver<Request>,
    out: [u8; MAX_FRAME],
    /// Bytes of `out` that are to go, and that are gone.
    length: usize,
    sent: usize,
    pulling: Option<Pulling>,
}

impl Default for Server {
    fn default() -> Self {
        Self::new()
    }
}

impl Server {
    /// A server that was asked nothing yet.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            receiver: Receiver::new(),
            out: [0; MAX_FRAME],
            length: 0,
            sent: 0,
            pulling: None,
        }
    }

    /// One turn: gives what waits, or else takes what came. Whatever it wants is to be answered before the next turn,
    /// by [`Server::reply`].
    pub fn turn(&mut self, link: &mut impl Link) -> Option<Wanted> {
        if self.sent < self.length {
            self.give(link);
            return None;
        }
        match link.receive() {
            Some(byte) => self.take(byte, link),
            None => self.next_chunk(),
        }
    }

    /// Takes this byte and those behind it.
    #[inline(never)] // Most turns find no byte, and must not make room for a question.
    fn take(&mut self, mut byte: u8, link: &mut impl Link) -> Option<Wanted> {
        for more in (0..MAX_IN).rev() {
            match self.receiver.take(byte) {
                None => {}
                Some((tag, Ok(Request::Pull { from, chunks }))) => {
                    self.pulling = Some(Pulling {
                        tag,
                        from,
                        index: 0,
                        chunks,
                    });
                    return None;
                }
                Some((tag, Ok(request))) => {
                    self.pulling = None;
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
                // Noise, and what is meant for somebody else.
                Some((_, Err(_why))) => {
                    log!("link: not understood, {}", _why);
                    return None;
                }
            }
            if more > 0 {
                let Some(next) = link.receive() else {
                    return self.next_chunk();
                };
                byte = next;
            }
        }
        None
    }

    /// Makes an answer ready to go.
    pub fn reply(&mut self, tag: u8, reply: &Reply) {
        if let Some(pulling) = &mut self.pulling {
            match reply {
                Reply::Chunk(chunk)
                    if !chunk.bytes.is_empty() && pulling.index + 1 < pulling.chunks =>
                {
                    pulling.from = chunk.from.saturating_add(chunk.bytes.len() as u64);
                    pulling.index += 1;
                }
                _ => self.pulling = None,
            }
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

    fn next_chunk(&self) -> Option<Wanted> {
        self.pulling.map(|pulling| Wanted::Chunk {
            tag: pulling.tag,
            index: pulling.index,
            from: pulling.from,
        })
    }
}
