//! The segments of a program: an ELF file of 32 bits, little-endian (Tool Interface Standard, Executable and Linking
//! Format, 1.2, book I).

/// A piece of the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Segment<'a> {
    /// Where it lies in flash.
    pub lies_at: u32,
    /// Where it is when the program runs: there, or in memory.
    pub runs_at: u32,
    /// What lies in flash.
    pub bytes: &'a [u8],
    /// Bytes that it takes when the program runs; more than lie in flash for what begins as zero.
    pub room: u32,
}

/// Why a file is no program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoProgram {
    /// It does not begin as an ELF file of 32 bits, little-endian, does.
    Header,
    /// It ends before something that it says it has.
    Short,
}

impl std::fmt::Display for NoProgram {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Header => "this is no ELF file of 32 bits, little-endian",
            Self::Short => "this ELF file is cut short",
        })
    }
}

impl std::error::Error for NoProgram {}

const BEGINS: &[u8] = b"\x7fELF\x01\x01";
const PROGRAM_HEADERS_AT: usize = 28;
const PROGRAM_HEADER_SIZE: usize = 42;
const PROGRAM_HEADERS: usize = 44;
/// Kind of a segment that is loaded.
const LOADED: u32 = 1;

/// The segments that are loaded and take any room, as they stand in the file.
///
/// # Errors
/// [`NoProgram`].
pub fn segments(file: &[u8]) -> Result<Vec<Segment<'_>>, NoProgram> {
    if !file.starts_with(BEGINS) {
        return Err(NoProgram::Header);
    }
    let bytes = |at: usize, length: usize| {
        let rest = file.get(at..).ok_or(NoProgram::Short)?;
        rest.get(..length).ok_or(NoProgram::Short)
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
                lies_at: word(at + 12)?,
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
        for (runs_at, lies_at, length, room) in [
            (0x2000_0000, 0x100, content.len(), 64),
            (0x2000_0040, 0, 0, 0),
        ] {
            for word in [1, 116, runs_at, lies_at, length as u32, room, 0, 0_u32] {
                file.extend(word.to_le_bytes());
            }
        }
        file.extend(content);
        file
    }

    #[test]
    fn what_lies_in_flash_and_what_it_takes_when_it_runs_are_told_apart() {
        let file = file(b"four");
        let segment = Segment {
            lies_at: 0x100,
            runs_at: 0x2000_0000,
            bytes: b"four",
            room: 64,
        };
        assert_eq!(segments(&file), Ok(vec![segment]));
    }

    #[test]
    fn whatever_is_cut_off_or_no_program_is_refused() {
        let whole = file(b"four");
        for length in 0..whole.len() {
            assert!(segments(&whole[..length]).is_err(), "{length}");
        }
        assert_eq!(segments(b"\x7fELF\x02\x01"), Err(NoProgram::Header));
    }
}
