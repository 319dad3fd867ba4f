//! Asks, waits, and asks again.

use super::port::Port;
use coldsquare_core::link::{
    Chunk, Garbled, Identity, Live, MAX_FRAME, Receiver, Refusal, Reply, Request, VERSION, encode,
};
use coldsquare_core::process::Process;
use coldsquare_engine::failure::Failure;
use std::collections::VecDeque;
use std::time::Duration;

/// How long an answer may take.
const PATIENCE: Duration = Duration::from_millis(400);
/// How long a port is listened to at a time.
const LISTEN: Duration = Duration::from_millis(20);
/// How often a question is asked before giving up.
const TRIES: u32 = 8;
/// Bytes without an answer among them that are taken for noise: a port at the wrong speed never falls silent.
const MOST_NOISE: usize = 1 << 15;

/// Why there is no answer that could be used.
#[derive(Debug)]
pub enum LinkError {
    /// The port failed.
    Port(std::io::Error),
    /// Nobody answers.
    Silence {
        /// Something came, but nothing that could be understood.
        noise: bool,
    },
    /// Whoever answers speaks another version.
    OtherVersion(u8),
    /// The logger refused.
    Refused(Refusal),
    /// It answered something else than it was asked.
    Strange,
}

impl std::fmt::Display for LinkError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Port(cause) => write!(out, "the port failed: {cause}"),
            Self::Silence { noise: false } => out.write_str(
                "no answer; is it a logger of this kind, is it switched on, does nobody else use the port?",
            ),
            Self::Silence { noise: true } => out.write_str(
                "something comes in but it cannot be understood: another device, or the wrong speed",
            ),
            Self::OtherVersion(found) => write!(
                out,
                "the logger speaks version {} of the link and this program version {}; use versions that belong together",
                found & 0x7F,
                VERSION & 0x7F
            ),
            Self::Refused(refusal) => write!(out, "{refusal}"),
            Self::Strange => out.write_str("the logger answered something else than it was asked"),
        }
    }
}

impl std::error::Error for LinkError {}

impl LinkError {
    /// As a command reports it: a port that fails as a file does, all else as bad input.
    pub fn at(self, name: &str) -> Failure {
        match self {
            Self::Port(cause) => Failure::File {
                path: name.into(),
                action: "use",
                cause,
            },
            error => Failure::Input(format!("{name}: {error}")),
        }
    }
}

/// One end of a conversation with a logger.
pub struct Client<'a> {
    port: Box<dyn Port + 'a>,
    receiver: Receiver<Reply>,
    came: VecDeque<u8>,
    tag: u8,
    other_version: Option<u8>,
}

impl<'a> Client<'a> {
    /// Over a port that is open.
    #[must_use]
    pub fn new(port: Box<dyn Port + 'a>) -> Self {
        Self {
            port,
            receiver: Receiver::new(),
            came: VecDeque::new(),
            tag: 0,
            other_version: None,
        }
    }

    /// Lets time pass.
    pub fn rest(&mut self, time: Duration) {
        self.port.rest(time);
    }

    /// Asks until there is an answer.
    ///
    /// # Errors
    /// [`LinkError`], also when the answer is a refusal.
    pub fn ask(&mut self, request: &Request) -> Result<Reply, LinkError> {
        for _ in 0..TRIES {
            self.put(request)?;
            match self.next_reply()? {
                Some(Reply::Refused(refusal)) => return Err(LinkError::Refused(refusal)),
                Some(reply) => return Ok(reply),
                None => {}
            }
        }
        Err(self.silence())
    }

    /// Asks who it is.
    ///
    /// # Errors
    /// [`LinkError`].
    pub fn identify(&mut self) -> Result<Identity, LinkError> {
        match self.ask(&Request::Identify)? {
            Reply::Identity(identity) => Ok(identity),
            _ => Err(LinkError::Strange),
        }
    }

    /// Asks what it measures.
    ///
    /// # Errors
    /// [`LinkError`].
    pub fn live(&mut self) -> Result<Live, LinkError> {
        match self.ask(&Request::Live)? {
            Reply::Live(live) => Ok(live),
            _ => Err(LinkError::Strange),
        }
    }

    /// Asks by which process it takes the welding to be, or tells it.
    ///
    /// # Errors
    /// [`LinkError`].
    pub fn process(&mut self, told: Option<Process>) -> Result<Option<Process>, LinkError> {
        match self.ask(&Request::Process(told))? {
            Reply::Process(process) => Ok(process),
            _ => Err(LinkError::Strange),
        }
    }

    /// Asks for something to be done.
    ///
    /// # Errors
    /// [`LinkError`].
    pub fn tell(&mut self, request: &Request) -> Result<(), LinkError> {
        match self.ask(request)? {
            Reply::Done => Ok(()),
            _ => Err(LinkError::Strange),
        }
    }

    /// Some of the log from a byte on: as many chunks in a row as came without a gap, at least one. An empty one is the
    /// end of the log.
    ///
    /// # Errors
    /// [`LinkError`].
    pub fn pull(&mut self, from: u64, chunks: u8) -> Result<Vec<Chunk>, LinkError> {
        let mut found: Vec<Chunk> = Vec::new();
        for _ in 0..TRIES {
            self.put(&Request::Pull { from, chunks })?;
            while found.len() < usize::from(chunks) {
                match self.next_reply()? {
                    Some(Reply::Chunk(chunk)) => {
                        // One before it was lost on the way: what came is kept, and the rest asked for again.
                        if usize::from(chunk.index) != found.len() {
                            break;
                        }
                        let ended = chunk.bytes.is_empty();
                        found.push(chunk);
                        if ended {
                            return Ok(found);
                        }
                    }
                    Some(Reply::Refused(refusal)) => return Err(LinkError::Refused(refusal)),
                    Some(_) => return Err(LinkError::Strange),
                    None => break,
                }
            }
            if !found.is_empty() {
                return Ok(found);
            }
        }
        Err(self.silence())
    }

    fn silence(&self) -> LinkError {
        match self.other_version {
            Some(found) => LinkError::OtherVersion(found),
            None => LinkError::Silence {
                noise: self.receiver.tally().garbled > 0,
            },
        }
    }

    fn put(&mut self, request: &Request) -> Result<(), LinkError> {
        self.tag = self.tag.wrapping_add(1);
        let mut frame = [0; MAX_FRAME];
        let length = encode(self.tag, request, &mut frame).unwrap_or(0);
        self.port.send(&frame[..length]).map_err(LinkError::Port)
    }

    /// The next answer to the last question; `None` when it does not come.
    fn next_reply(&mut self) -> Result<Option<Reply>, LinkError> {
        let (mut waited, mut noise) = (Duration::ZERO, 0);
        let mut piece = [0; 1024];
        loop {
            while let Some(byte) = self.came.pop_front() {
                match self.receiver.take(byte) {
                    Some((tag, Ok(reply))) if tag == self.tag => return Ok(Some(reply)),
                    Some((_, Err(Garbled::OtherVersion(found)))) => {
                        self.other_version = Some(found)
                    }
                    _ => {}
                }
            }
            if waited >= PATIENCE || noise >= MOST_NOISE {
                return Ok(None);
            }
            let count = self
                .port
                .receive(&mut piece, LISTEN)
                .map_err(LinkError::Port)?;
            if count == 0 {
                waited += LISTEN;
            }
            noise += count;
            self.came.extend(&piece[..count]);
        }
    }
}
