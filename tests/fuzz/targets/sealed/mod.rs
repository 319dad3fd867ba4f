//! Arbitrary bytes, half of them as frames whose checksum holds: no fuzzer guesses CRC-32C, and what is behind it would
//! never be reached.

const CRC: crc::Crc<u32> = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI);

/// Cuts the input into pieces of the length that stands before each. An odd length: a whole frame of this version with
/// the rest of the piece as kind, tag and payload. An even one: the bytes as they are.
pub fn stream(mut input: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    while let Some((&length, rest)) = input.split_first() {
        let (piece, left) = rest.split_at(rest.len().min(usize::from(length)));
        input = left;
        if length % 2 == 0 {
            out.extend_from_slice(piece);
            continue;
        }
        let mut body = vec![0x81];
        body.extend_from_slice(piece);
        body.extend(CRC.checksum(&body).to_le_bytes());
        out.push(0);
        out.extend(cobs::encode_vec(&body));
        out.push(0);
    }
    out
}
