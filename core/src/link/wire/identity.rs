//! Who a logger is and what state it is in.

use super::payload::{Fault, require};
use crate::framing::codes;
use crate::link::message::{Capabilities, Identity, StoreState};
use crate::record::{WallClock, codes as log};
use heapless::String;

pub(super) type IdentityWire = (
    (String<24>, String<16>, String<24>, u8),
    (u8, u64, u64, f64),
    (u8, u64, u64, u64, u8, u8),
);

/// Stands for a room that the logger does not know.
const UNKNOWN_ROOM: u64 = u64::MAX;

codes!(store_code, store, StoreState { Working = 0, Full = 1, Faulty = 2 });

pub(super) fn write(identity: &Identity) -> IdentityWire {
    let clock = identity.clock;
    (
        (
            identity.device.clone(),
            identity.firmware.clone(),
            identity.board.clone(),
            identity.format,
        ),
        (
            clock.map_or(0, |clock| log::clock_code(clock.source)),
            clock.map_or(0, |clock| clock.unix_ms),
            identity.calibrated_unix_s,
            identity.sample_rate_hz,
        ),
        (
            store_code(identity.store),
            identity.log.0,
            identity.log.1,
            identity.room.unwrap_or(UNKNOWN_ROOM),
            write_capabilities(identity.can),
            identity.planned,
        ),
    )
}

pub(super) fn read(
    (
        (device, firmware, board, format),
        (source, unix_ms, calibrated_unix_s, sample_rate_hz),
        (store_code, first, end, room, can, planned),
    ): IdentityWire,
) -> Result<Identity, Fault> {
    require(first <= end)?;
    require(sample_rate_hz > 0.0 && sample_rate_hz <= 1e9)?;
    let clock = match source {
        0 => None,
        code => Some(WallClock {
            unix_ms,
            source: log::clock_source(code).ok_or(Fault::Value)?,
        }),
    };
    Ok(Identity {
        device,
        firmware,
        board,
        format,
        clock,
        calibrated_unix_s,
        sample_rate_hz,
        store: store(store_code).ok_or(Fault::Value)?,
        log: (first, end),
        room: (room != UNKNOWN_ROOM).then_some(room),
        can: read_capabilities(can),
        planned,
    })
}

/// The first is the lowest bit.
fn write_capabilities(can: Capabilities) -> u8 {
    let Capabilities {
        pull,
        plan,
        calibrate,
        set_clock,
        clear,
        process,
        check,
        confirm,
    } = can;
    let bits = [
        pull, plan, calibrate, set_clock, clear, process, check, confirm,
    ];
    bits.iter().rfold(0, |sum, bit| 2 * sum + u8::from(*bit))
}

const fn read_capabilities(can: u8) -> Capabilities {
    Capabilities {
        pull: can & 1 != 0,
        plan: can & 2 != 0,
        calibrate: can & 4 != 0,
        set_clock: can & 8 != 0,
        clear: can & 16 != 0,
        process: can & 32 != 0,
        check: can & 64 != 0,
        confirm: can & 128 != 0,
    }
}
