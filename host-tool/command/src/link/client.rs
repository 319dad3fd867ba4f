//! Requests and responses, with repeats.

use super::port::Port;
use coldsquare_core::link::{
    Chunk, Garbled, Identity, Live, MAX_FRAME, Receiver, Refusal, Reply, Request, VERSION, encode,
};
use coldsquare_core::process::Process;
use coldsquare_core::trouble::Trouble;
use coldsquare_engine::failure::Failure;
use std::collections::VecDeque;
use std::time::{Duration, Instant};

/// Time limit for a response.
const PATIENCE: Duration = Duration::from_millis(400);
/// Time limit for a response of which bytes keep coming.
const MOST_PATIENCE: Duration = Duration::from_secs(2);
/// Time limit for one read of the port.
const LISTEN: Duration = Duration::from_millis(20);
/// How often a request is sent before giving up.
const TRIES: u32 = 8;
/// What a user is told whose logger asks for consent at its buttons.
pub const CONSENT: &str =
    "When the logger's light flickers, hold both its buttons for two seconds to agree.";
/// How often a logger is asked whether somebody agreed, and the time in between: a minute in all.
const CONSENT_TRIES: u32 = 120;
const CONSENT_REST: Duration = Duration::from_millis(500);
/// Bytes without a valid response before giving up: a port at the wrong speed never falls silent.
const MOST_NOISE: usize = 1 << 15;

/// Why there is no usable response.
#[derive(Debug)]
pub enum LinkError {
    /// The port failed.
    Port(std::io::Error),
    /// No response.
    Silence {
        /// Bytes received, but no valid frame.
        noise: bool,
    },
    /// The logger uses another version of the protocol.
    OtherVersion(u8),
    /// The logger refused.
    Refused(Refusal),
    /// The response does not match the request.
    Strange,
}

impl std::fmt::Display for LinkError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Port(cause) => write!(out, "the port failed: {cause}"),
            Self::Silence { noise: false } => out.write_str(
                "no answer; check that this is a logger, that it is switched on, and that no other program uses the port",
            ),
            Self::Silence { noise: true } => out.write_str(
                "received data, but no valid answer: this is another device, or the speed is wrong",
            ),
            Self::OtherVersion(found) => write!(
                out,
                "the logger uses version {} of the link and this program version {}; update the older one",
                found & 0x7F,
                VERSION & 0x7F
            ),
            Self::Refused(refusal) => write!(out, "{refusal}"),
            Self::Strange => out.write_str("the logger's answer does not match the request"),
        }
    }
}

impl std::error::Error for LinkError {}

impl LinkError {
    /// The failure a command reports: a failed port like a failed file, everything else as bad input.
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
    received: VecDeque<u8>,
    tag: u8,
    other_version: Option<u8>,
}

impl<'a> Client<'a> {
    /// A client on an open port.
    #[must_use]
    pub fn new(port: Box<dyn Port + 'a>) -> Self {
        Self {
            port,
            receiver: Receiver::new(),
            received: VecDeque::new(),
            tag: 0,
            other_version: None,
        }
    }

    /// Lets time pass.
    pub fn rest(&mut self, time: Duration) {
        self.port.rest(time);
    }

    /// Sends a request until there is a response.
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

    /// Reads the logger's identity.
    ///
    /// # Errors
    /// [`LinkError`].
    pub fn identify(&mut self) -> Result<Identity, LinkError> {
        match self.ask(&Request::Identify)? {
            Reply::Identity(identity) => Ok(identity),
            _ => Err(LinkError::Strange),
        }
    }

    /// Reads the live values.
    ///
    /// # Errors
    /// [`LinkError`].
    pub fn live(&mut self) -> Result<Live, LinkError> {
        match self.ask(&Request::Live)? {
            Reply::Live(live) => Ok(live),
            _ => Err(LinkError::Strange),
        }
    }

    /// Reads the process the logger is set to, or sets it.
    ///
    /// # Errors
    /// [`LinkError`].
    pub fn process(&mut self, told: Option<Process>) -> Result<Option<Process>, LinkError> {
        match self.ask(&Request::Process(told))? {
            Reply::Process(process) => Ok(process),
            _ => Err(LinkError::Strange),
        }
    }

    /// Asks what is wrong with the logger's store.
    ///
    /// # Errors
    /// [`LinkError`]; older loggers refuse.
    pub fn trouble(&mut self) -> Result<Option<Trouble>, LinkError> {
        match self.ask(&Request::Trouble)? {
            Reply::Trouble(trouble) => Ok(trouble),
            _ => Err(LinkError::Strange),
        }
    }

    /// Sends a request that the logger answers with done or refused. If somebody at the logger must agree, waits for
    /// that: see [`CONSENT`] for what to tell the user.
    ///
    /// # Errors
    /// [`LinkError`].
    pub fn tell(&mut self, request: &Request) -> Result<(), LinkError> {
        for _ in 1..CONSENT_TRIES {
            match self.ask(request) {
                Err(LinkError::Refused(Refusal::Confirm)) => self.rest(CONSENT_REST),
                Err(error) => return Err(error),
                Ok(Reply::Done) => return Ok(()),
                Ok(_) => return Err(LinkError::Strange),
            }
        }
        Err(LinkError::Refused(Refusal::Confirm))
    }

    /// Reads the log from this byte on: all chunks received without a gap, at least one. An empty chunk is the end of
    /// the log.
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
                        // A chunk was lost: keep what came before it and request the rest again.
                        if usize::from(chunk.index) != found.len() {
                            break;
                        }
                        let ended = chunk.bytes.is_empty();
                        found.push(chunk);
                        if ended {
                            return Ok(found);
                        }
                    }
                    // What came before it counts; the next request begins there.
                    Some(Reply::Refused(_)) if !found.is_empty() => return Ok(found),
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
                noise: self.receiver.counts().garbled > 0,
            },
        }
    }

    fn put(&mut self, request: &Request) -> Result<(), LinkError> {
        self.tag = self.tag.wrapping_add(1);
        let mut frame = [0; MAX_FRAME];
        let length = encode(self.tag, request, &mut frame).unwrap_or(0);
        self.port.send(&frame[..length]).map_err(LinkError::Port)
    }

    /// The next response to the last request; `None` if none comes.
    fn next_reply(&mut self) -> Result<Option<Reply>, LinkError> {
        let (mut waited, mut noise) = (Duration::ZERO, 0);
        let began = Instant::now();
        let mut piece = [0; 1024];
        loop {
            while let Some(byte) = self.received.pop_front() {
                match self.receiver.take(byte) {
                    Some((tag, Ok(reply))) if tag == self.tag => return Ok(Some(reply)),
                    Some((_, Err(Garbled::OtherVersion(found)))) => {
                        self.other_version = Some(found)
                    }
                    _ => {}
                }
            }
            if waited >= PATIENCE || noise >= MOST_NOISE || began.elapsed() >= MOST_PATIENCE {
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
            self.received.extend(&piece[..count]);
        }
    }
}
