//! The page's end of the cable to a logger: requests as bytes, replies from bytes, the log put together.
//!
//! Time is the page's: it sends, waits, and asks again when nothing comes.

use crate::json::Refused;
use crate::memory;
use crate::request::Link;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use coldsquare_core::link::{
    Advice, Chunk, Identity, Live, MAX_FRAME, Receiver, Reply, Request, encode,
};
use serde_json::{Value, json};
use std::cell::RefCell;

/// Chunks asked for at once.
const CHUNKS: u8 = 64;

/// One end of a conversation.
struct Cable {
    receiver: Receiver<Reply>,
    tag: u8,
    /// Offset of the first byte of the log in `log`; unknown before the first chunk.
    first: Option<u64>,
    /// Where the log ended when the logger was asked who it is.
    end: u64,
    log: Vec<u8>,
    /// Chunks that came since the last request.
    chunks: u8,
    sample_rate_hz: f64,
}

impl Cable {
    fn new() -> Self {
        Self {
            receiver: Receiver::new(),
            tag: 0,
            first: None,
            end: 0,
            log: Vec::new(),
            chunks: 0,
            sample_rate_hz: 1.0,
        }
    }

    /// A request as bytes for the port.
    fn ask(&mut self, request: &Request) -> Value {
        self.tag = self.tag.wrapping_add(1);
        self.chunks = 0;
        let mut frame = [0; MAX_FRAME];
        let length = encode(self.tag, request, &mut frame).unwrap_or(0);
        json!({ "send": STANDARD.encode(&frame[..length]) })
    }

    fn next_byte(&self) -> u64 {
        self.first.unwrap_or(0) + self.log.len() as u64
    }

    /// The replies in the bytes that came, to the last request.
    fn came(&mut self, bytes: &[u8]) -> Vec<Value> {
        let mut replies = Vec::new();
        for byte in bytes {
            if let Some((tag, Ok(reply))) = self.receiver.take(*byte)
                && tag == self.tag
            {
                replies.push(self.reply(reply));
            }
        }
        replies
    }

    fn reply(&mut self, reply: Reply) -> Value {
        match reply {
            Reply::Identity(identity) => {
                self.sample_rate_hz = identity.sample_rate_hz;
                self.end = identity.log.1;
                identity_json(&identity)
            }
            Reply::Live(live) => live_json(&live, self.sample_rate_hz),
            Reply::Chunk(chunk) => self.chunk(&chunk),
            Reply::Process(process) => {
                json!({ "is": "process", "process": process.map(|process| process.name()) })
            }
            Reply::Trouble(trouble) => {
                json!({
                    "is": "memory",
                    "trouble": trouble.map(|trouble| trouble.to_string()),
                    "stores": trouble.is_none_or(|trouble| trouble.stores()),
                })
            }
            Reply::Checked(_) | Reply::Done => json!({ "is": "done" }),
            Reply::Refused(refusal) => json!({ "is": "refused", "why": refusal.to_string() }),
        }
    }

    /// Adds a chunk to the log; one that was lost is asked for again.
    fn chunk(&mut self, chunk: &Chunk) -> Value {
        let follows = chunk.index == self.chunks;
        self.chunks = chunk.index.wrapping_add(1);
        let ended = chunk.bytes.is_empty();
        if ended && chunk.from < self.end {
            return json!({ "is": "refused", "why": "the logger sent nothing, although its log goes on; download it again" });
        }
        let first = *self.first.get_or_insert(chunk.from);
        if follows && !ended && chunk.from >= self.next_byte() {
            // What was dropped to make room is zeros, which mean nothing between records.
            let room = usize::try_from(chunk.from - first).unwrap_or(usize::MAX);
            if room <= MAX_LOG {
                self.log.resize(room, 0);
                self.log.extend_from_slice(&chunk.bytes);
            }
        }
        let whole = !follows || chunk.index + 1 >= CHUNKS;
        json!({ "is": "chunk", "bytes": self.log.len(), "ended": ended && follows, "ask_again": whole || ended })
    }
}

/// Longest log that is put together here, bytes.
const MAX_LOG: usize = 1 << 29;

thread_local! {
    static CABLE: RefCell<Cable> = RefCell::new(Cable::new());
}

/// Answers what the page asks of the link.
pub(crate) fn answer(message: &Link) -> Result<Value, Refused> {
    CABLE.with_borrow_mut(|cable| {
        Ok(match message {
            Link::Open => {
                *cable = Cable::new();
                json!({})
            }
            Link::Identify => cable.ask(&Request::Identify),
            Link::Live => cable.ask(&Request::Live),
            Link::Memory => cable.ask(&Request::Trouble),
            Link::Pull => {
                let from = cable.next_byte();
                cable.ask(&Request::Pull {
                    from,
                    chunks: CHUNKS,
                })
            }
            Link::Came { bytes } => {
                let bytes = STANDARD.decode(bytes).map_err(|error| error.to_string())?;
                json!({ "replies": cable.came(&bytes) })
            }
            Link::Keep { name } => {
                memory::put(name, cable.log.clone());
                json!({ "bytes": cable.log.len() })
            }
        })
    })
}

fn identity_json(identity: &Identity) -> Value {
    json!({
        "is": "identity",
        "device": identity.device.as_str(),
        "firmware": identity.firmware.as_str(),
        "board": identity.board.as_str(),
        "log_bytes": identity.log.1 - identity.log.0.min(identity.log.1),
        "planned": identity.planned,
    })
}

fn live_json(live: &Live, sample_rate_hz: f64) -> Value {
    let (advice, wait) = match live.advice {
        Advice::NoPlan => ("no plan in the logger", None),
        Advice::Go => ("weld", None),
        Advice::Wait(seconds) => ("wait", Some(seconds)),
        Advice::Flip => ("flip the frame, then weld", None),
        Advice::Replanning => ("replanning; you may weld on", None),
        Advice::Finished => ("all welds are done", None),
    };
    json!({
        "is": "live",
        "seconds": live.position as f64 / sample_rate_hz,
        "arc": live.arc_on,
        "volts": live.voltage.0,
        "amps": live.current.0,
        "kilowatts": live.power.0 / 1000.0,
        "beads": live.beads,
        "bead_kilojoules": live.bead_energy.0 / 1000.0,
        "weld": live.weld,
        "next": live.next,
        "advice": advice,
        "wait_seconds": wait,
        "left": live.left,
        "lost": live.lost,
    })
}
