//! Version 0x81 on the wire. Frozen: a field added, removed, reordered or retyped here is another version.
//!
//! Payloads are postcard 1.x, as in the log: the tuples are their fields in order.

mod calibration;
mod checked;
mod clear;
mod identity;
mod live;
mod payload;
mod plan;
#[cfg(test)]
mod tests;

use super::message::{Chunk, Refusal, Reply, Request};
use crate::framing::codes;
use crate::process::Process;
use crate::trouble::Trouble;
use heapless::Vec;
pub(super) use payload::Fault;
use payload::{put, require, take};
pub(super) use plan::{MAX_WELD, write_weld};

/// The kind of a message, second byte of every frame: requests below 0x40, replies from there.
mod kind {
    pub const IDENTIFY: u8 = 0x01;
    pub const LIVE: u8 = 0x02;
    pub const PULL: u8 = 0x03;
    pub const PLAN_BEGINS: u8 = 0x04;
    pub const PLAN_WELD: u8 = 0x05;
    pub const PLAN_ENDS: u8 = 0x06;
    pub const CALIBRATE: u8 = 0x07;
    pub const SET_CLOCK: u8 = 0x08;
    pub const CLEAR: u8 = 0x09;
    pub const PROCESS: u8 = 0x0A;
    pub const CHECK: u8 = 0x0B;
    pub const TROUBLE: u8 = 0x0C;
    pub const IDENTITY: u8 = 0x41;
    pub const MEASURED: u8 = 0x42;
    pub const CHUNK: u8 = 0x43;
    pub const DONE: u8 = 0x44;
    pub const REFUSED: u8 = 0x45;
    pub const WELDED_BY: u8 = 0x46;
    pub const CHECKED: u8 = 0x47;
    pub const IN_TROUBLE: u8 = 0x48;
}

/// Writes the payload of a request; gives its kind and length.
pub(super) fn write_request(request: &Request, buffer: &mut [u8]) -> Option<(u8, usize)> {
    Some(match request {
        Request::Identify => (kind::IDENTIFY, 0),
        Request::Live => (kind::LIVE, 0),
        Request::Trouble => (kind::TROUBLE, 0),
        Request::Pull { from, chunks } => (kind::PULL, put(&(from, chunks), buffer)?),
        Request::Check { from, until } => (kind::CHECK, put(&(from, until), buffer)?),
        Request::PlanBegins(header) => {
            (kind::PLAN_BEGINS, put(&plan::write_header(header), buffer)?)
        }
        Request::PlanWeld(weld) => (kind::PLAN_WELD, plan::write_weld(weld, buffer)?),
        Request::PlanEnds { checksum } => (kind::PLAN_ENDS, put(checksum, buffer)?),
        Request::Calibrate {
            calibration,
            calibrated_unix_s,
        } => {
            let wire = (calibration::write(calibration), calibrated_unix_s);
            (kind::CALIBRATE, put(&wire, buffer)?)
        }
        Request::SetClock { unix_ms } => (kind::SET_CLOCK, put(unix_ms, buffer)?),
        Request::Process(process) => (kind::PROCESS, put(&write_process(*process), buffer)?),
        Request::Clear { end, consent } => {
            (kind::CLEAR, put(&clear::write(*end, consent), buffer)?)
        }
    })
}

/// Reads the payload of a request, all of it.
pub(super) fn read_request(kind: u8, payload: &[u8]) -> Result<Request, Fault> {
    Ok(match kind {
        kind::IDENTIFY => {
            let () = take(payload)?;
            Request::Identify
        }
        kind::LIVE => {
            let () = take(payload)?;
            Request::Live
        }
        kind::TROUBLE => {
            let () = take(payload)?;
            Request::Trouble
        }
        kind::PULL => {
            let (from, chunks) = take(payload)?;
            require(chunks > 0)?;
            Request::Pull { from, chunks }
        }
        kind::CHECK => {
            let (from, until) = take(payload)?;
            require(from <= until)?;
            Request::Check { from, until }
        }
        kind::PLAN_BEGINS => Request::PlanBegins(plan::read_header(take(payload)?)?),
        kind::PLAN_WELD => Request::PlanWeld(plan::read_weld(take(payload)?)?),
        kind::PLAN_ENDS => Request::PlanEnds {
            checksum: take(payload)?,
        },
        kind::CALIBRATE => {
            let (wire, calibrated_unix_s) = take(payload)?;
            Request::Calibrate {
                calibration: calibration::read(wire)?,
                calibrated_unix_s,
            }
        }
        kind::SET_CLOCK => Request::SetClock {
            unix_ms: take(payload)?,
        },
        kind::CLEAR => clear::read(take(payload)?)?,
        kind::PROCESS => Request::Process(read_process(take(payload)?)?),
        _ => return Err(Fault::UnknownKind),
    })
}

/// Writes the payload of a reply; gives its kind and length.
pub(super) fn write_reply(reply: &Reply, buffer: &mut [u8]) -> Option<(u8, usize)> {
    Some(match reply {
        Reply::Identity(identity) => (kind::IDENTITY, put(&identity::write(identity), buffer)?),
        Reply::Live(live) => (kind::MEASURED, put(&live::write(live), buffer)?),
        Reply::Chunk(chunk) => (kind::CHUNK, write_chunk(chunk, buffer)?),
        Reply::Checked(checked) => (kind::CHECKED, put(&checked::write(checked), buffer)?),
        Reply::Process(process) => (kind::WELDED_BY, put(&write_process(*process), buffer)?),
        Reply::Trouble(trouble) => {
            let code = trouble.map_or(0, Trouble::code);
            (kind::IN_TROUBLE, put(&code, buffer)?)
        }
        Reply::Done => (kind::DONE, 0),
        Reply::Refused(refusal) => (kind::REFUSED, put(&refusal_code(*refusal), buffer)?),
    })
}

/// Reads the payload of a reply, all of it.
pub(super) fn read_reply(kind: u8, payload: &[u8]) -> Result<Reply, Fault> {
    Ok(match kind {
        kind::IDENTITY => Reply::Identity(identity::read(take(payload)?)?),
        kind::MEASURED => Reply::Live(live::read(take(payload)?)?),
        kind::CHUNK => Reply::Chunk(read_chunk(payload)?),
        kind::CHECKED => Reply::Checked(checked::read(take(payload)?)?),
        kind::DONE => {
            let () = take(payload)?;
            Reply::Done
        }
        kind::REFUSED => Reply::Refused(refusal(take(payload)?).ok_or(Fault::Value)?),
        kind::WELDED_BY => Reply::Process(read_process(take(payload)?)?),
        kind::IN_TROUBLE => Reply::Trouble(match take(payload)? {
            0 => None,
            code => Some(Trouble::of_code(code).ok_or(Fault::Value)?),
        }),
        _ => return Err(Fault::UnknownKind),
    })
}

codes!(refusal_code, refusal, Refusal {
    ArcBurns = 1, CannotDo = 2, StoreFault = 3, PastTheEnd = 4, Value = 5, TooManyWelds = 6, PlanOrder = 7,
    PlanChecksum = 8, SampleRate = 9, NotPulled = 10, TooCoarse = 11, Confirm = 12,
});

/// A process by its number in ISO 4063; 0 for none.
fn write_process(process: Option<Process>) -> u16 {
    process.map_or(0, Process::number)
}

fn read_process(code: u16) -> Result<Option<Process>, Fault> {
    match code {
        0 => Ok(None),
        code => Process::from_number(code).map(Some).ok_or(Fault::Value),
    }
}

/// A chunk is its index, one byte, its offset in the log, eight bytes little-endian, and the bytes to the end of the payload.
fn write_chunk(chunk: &Chunk, buffer: &mut [u8]) -> Option<usize> {
    let (index, rest) = buffer.split_first_mut()?;
    *index = chunk.index;
    let (offset, bytes) = rest.split_first_chunk_mut::<8>()?;
    *offset = chunk.from.to_le_bytes();
    bytes
        .get_mut(..chunk.bytes.len())?
        .copy_from_slice(&chunk.bytes);
    Some(9 + chunk.bytes.len())
}

fn read_chunk(payload: &[u8]) -> Result<Chunk, Fault> {
    let (&index, rest) = payload.split_first().ok_or(Fault::Malformed)?;
    let (offset, bytes) = rest.split_first_chunk::<8>().ok_or(Fault::Malformed)?;
    Ok(Chunk {
        index,
        from: u64::from_le_bytes(*offset),
        bytes: Vec::from_slice(bytes).map_err(|_| Fault::Malformed)?,
    })
}
