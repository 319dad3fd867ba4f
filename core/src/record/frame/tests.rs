//! Which bytes are no record, and what is said of them.

use super::*;
use crate::record::{Event, EventKind};
use std::string::ToString;
use std::vec::Vec;

/// A frame around these bytes with a right checksum, without its boundaries.
fn framed(covered: &[u8]) -> Vec<u8> {
    let mut body = [covered, &[0; SUFFIX]].concat();
    let mut buffer = [0; 2 * MAX_FRAME];
    let length = framing::seal(&mut body, covered.len(), &mut buffer).expect("room");
    buffer[1..length - 1].to_vec()
}

/// Version, kind and sequence number, and the payload of an event at position 7 that the supply is failing.
const EVENT: [u8; 9] = [1, 5, 2, 0, 0, 0, 7, 9, 0];

#[test]
fn each_frame_that_is_no_record_is_told_apart() {
    let event = Record::Event(Event {
        position: 7,
        kind: EventKind::PowerFailing,
        value: 0,
    });
    assert_eq!(decode(&framed(&EVENT)), Ok((2, event)));
    let changed = |at: usize, byte: u8| {
        let mut bytes = EVENT;
        bytes[at] = byte;
        decode(&framed(&bytes))
    };
    let kind = 5;
    assert_eq!(changed(0, 0), Err(DecodeError::UnknownVersion { found: 0 }));
    assert_eq!(changed(0, 2), Err(DecodeError::NewerVersion { found: 2 }));
    assert_eq!(
        changed(0, 255),
        Err(DecodeError::NewerVersion { found: 255 })
    );
    for other in [0, 6, 255] {
        assert_eq!(
            changed(1, other),
            Err(DecodeError::UnknownKind { kind: other })
        );
    }
    let what = "kind of event";
    assert_eq!(changed(7, 99), Err(DecodeError::Value { kind, what }));
    let longer = [&EVENT[..], &[0; 3]].concat();
    assert_eq!(
        decode(&framed(&longer)),
        Err(DecodeError::LeftOver { kind, bytes: 3 })
    );
    assert_eq!(
        decode(&framed(&EVENT[..8])),
        Err(DecodeError::Malformed { kind })
    );
    for length in 0..6 {
        assert_eq!(
            decode(&framed(&EVENT[..length])),
            Err(DecodeError::TooShort)
        );
    }
    let mut soiled = framed(&EVENT);
    soiled[2] ^= 8;
    assert_eq!(decode(&soiled), Err(DecodeError::Checksum));
    assert_eq!(decode(&[1; 3]), Err(DecodeError::TooShort));
    assert_eq!(decode(&[200, 1, 1]), Err(DecodeError::Framing));
}

#[test]
fn no_more_bytes_are_taken_for_a_record_than_the_longest_has() {
    for (length, is_too_long) in [
        (MAX_FRAME - 3, false),
        (MAX_FRAME - 2, false),
        (MAX_FRAME - 1, true),
        (MAX_FRAME, true),
        (MAX_FRAME + 1, true),
        (3 * MAX_FRAME, true),
    ] {
        let bytes = std::vec![1; length];
        let found = decode(&bytes);
        assert!(found.is_err());
        assert_eq!(found == Err(DecodeError::TooLong), is_too_long, "{length}");
    }
}

#[test]
fn what_is_wrong_with_a_frame_is_said_in_words() {
    for (error, words) in [
        (DecodeError::TooShort, "too short for a record"),
        (DecodeError::TooLong, "too long for a record"),
        (DecodeError::Framing, "framing is damaged"),
        (DecodeError::Checksum, "checksum does not match"),
        (
            DecodeError::NewerVersion { found: 2 },
            "written in log format 2, this program reads up to 1; use a newer program",
        ),
        (
            DecodeError::UnknownVersion { found: 0 },
            "there is no log format 0",
        ),
        (
            DecodeError::UnknownKind { kind: 9 },
            "there is no record of kind 9",
        ),
        (
            DecodeError::Malformed { kind: 2 },
            "record of kind 2 cannot be read",
        ),
        (
            DecodeError::LeftOver { kind: 3, bytes: 4 },
            "record of kind 3 has 4 bytes too many",
        ),
        (
            DecodeError::Value {
                kind: 2,
                what: "arc time",
            },
            "record of kind 2 has an impossible value: arc time",
        ),
    ] {
        assert_eq!(error.to_string(), words);
    }
    for (error, words) in [
        (
            EncodeError::NoRoom,
            "the buffer is too small; 271 bytes hold any record",
        ),
        (
            EncodeError::Value("arc time"),
            "arc time has a value that a log cannot hold",
        ),
    ] {
        assert_eq!(error.to_string(), words);
    }
}
