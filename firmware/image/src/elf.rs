//! The segments of a program: an ELF file of 32 bits, little-endian (Tool Interface Standard, Executable and Linking
//! Format, 1.2, book I).

/// A piece of the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Segment<'a> {
    /// Its address in flash.
    pub stored_at: u32,
    /// Its address when the program runs: the same, or in memory.
    pub runs_at: u32,
    /// Its bytes in flash.
    pub bytes: &'a [u8],
    /// Its size when the program runs; larger than in flash for zeroed data.
    pub room: u32,
}

/// Why a file is not a program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ElfError {
    /// It is not a 32-bit little-endian ELF file.
    Header,
    /// It ends too early.
    Short,
}

impl std::fmt::Display for ElfError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Header => "this is not a 32-bit little-endian ELF file",
            Self::Short => "this ELF file is cut short",
        })
    }
}

impl std::error::Error for ElfError {}

const BEGINS: &[u8] = b"\x7fELF\x01\x01";
const PROGRAM_HEADERS_AT: usize = 28;
const PROGRAM_HEADER_SIZE: usize = 42;
const PROGRAM_HEADERS: usize = 44;
/// Type of a segment to load.
const LOADED: u32 = 1;

/// The segments to load that are not empty, in file order.
///
/// # Errors
/// [`ElfError`].
pub fn segments(file: &[u8]) -> Result<Vec<Segment<'_>>, ElfError> {
    if !file.starts_with(BEGINS) {
        return Err(ElfError::Header);
    }
    let bytes = |at: usize, length: usize| {
        let rest = file.get(at..).ok_or(ElfError::Short)?;
        rest.get(..length).ok_or(ElfError::Short)
    };
    let word = |at| {
        Ok(bytes(at, 4)?
            .iter()
            .rev()
            .fold(0, |all, &byte| all << 8 | u32::from(byte)))
    };
    let half = |at| {
        Ok(bytes(at, 2)?
            .iter()
            .rev()
            .fold(0, |all, &byte| all << 8 | usize::from(byte)))
    };
    let (first, size) = (
        word(PROGRAM_HEADERS_AT)? as usize,
        half(PROGRAM_HEADER_SIZE)?,
    );
    let mut found = Vec::new();
    for number in 0..half(PROGRAM_HEADERS)? {
        let at = first.saturating_add(number * size);
        let (kind, offset, room) = (word(at)?, word(at + 4)?, word(at + 20)?);
        if kind == LOADED && room > 0 {
            found.push(Segment {
                stored_at: word(at + 12)?,
                runs_at: word(at + 8)?,
                bytes: bytes(offset as usize, word(at + 16)? as usize)?,
                room,
            });
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file of a header, two program headers and `content`.
    fn file(content: &[u8]) -> Vec<u8> {
        let mut file = BEGINS.to_vec();
        file.resize(52, 0);
        file[28] = 52;
        file[42] = 32;
        file[44] = 2;
        for (runs_at, stored_at, length, room) in [
            (0x2000_0000, 0x100, content.len(), 64),
            (0x2000_0040, 0, 0, 0),
        ] {
            for word in [1, 116, runs_at, stored_at, length as u32, room, 0, 0_u32] {
                file.extend(word.to_le_bytes());
            }
        }
        file.extend(content);
        file
    }

    #[test]
    fn size_in_flash_and_size_at_run_time_are_distinguished() {
        let file = file(b"four");
        let segment = Segment {
            stored_at: 0x100,
            runs_at: 0x2000_0000,
            bytes: b"four",
            room: 64,
        };
        assert_eq!(segments(&file), Ok(vec![segment]));
    }

    #[test]
    fn a_truncated_file_or_another_format_is_refused() {
        let whole = file(b"four");
        for length in 0..whole.len() {
            assert!(segments(&whole[..length]).is_err(), "{length}");
        }
        assert_eq!(segments(b"\x7fELF\x02\x01"), Err(ElfError::Header));
    }
}
