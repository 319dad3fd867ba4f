//! Where a program panicked, in four words that a board keeps where a restart leaves them alone.

use core::fmt::Write;
use core::panic::PanicInfo;
use heapless::String;

/// Says that the words after it hold a place.
const MARK: u32 = 0xC01D_DEAD;
/// Bytes of a file's name that there is room for.
const NAME: usize = 8;

/// The words to keep for this panic.
#[must_use]
pub fn words(info: &PanicInfo<'_>) -> [u32; 4] {
    info.location().map_or(words_of("", 0), |place| {
        words_of(place.file(), place.line())
    })
}

fn words_of(file: &str, line: u32) -> [u32; 4] {
    let name = file.rsplit('/').next().unwrap_or(file).as_bytes();
    let mut kept = [b' '; NAME];
    for (to, from) in kept.iter_mut().zip(name) {
        *to = *from;
    }
    let [a, b, c, d, e, f, g, h] = kept;
    let [first, second] = [[a, b, c, d], [e, f, g, h]].map(u32::from_le_bytes);
    [MARK, line, first, second]
}

/// What a start says about the panic before it; `None` if these words hold none.
#[must_use]
pub fn panicked(kept: [u32; 4]) -> Option<String<48>> {
    let [MARK, line, first, second] = kept else {
        return None;
    };
    let mut why = String::new();
    let _ = why.push_str("restarted: panic at ");
    for byte in first.to_le_bytes().into_iter().chain(second.to_le_bytes()) {
        let shown = if byte.is_ascii_graphic() {
            byte.into()
        } else {
            ' '
        };
        let _ = why.push(shown);
    }
    let _ = write!(why, " line {line}");
    Some(why)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_start_says_in_which_file_and_line_the_panic_before_it_was() {
        let said = |file, line| panicked(words_of(file, line)).unwrap();
        assert_eq!(
            said("firmware/src/queue.rs", 52),
            "restarted: panic at queue.rs line 52"
        );
        assert_eq!(
            said("journal/write_buffer.rs", 1234),
            "restarted: panic at write_bu line 1234"
        );
        assert_eq!(said("a.rs", 7), "restarted: panic at a.rs     line 7");
    }

    #[test]
    fn memory_as_it_is_after_power_on_is_no_panic() {
        assert_eq!(panicked([0; 4]), None);
        assert_eq!(panicked([u32::MAX; 4]), None);
    }
}
