//! Text in UTF-16, as some Windows programs export it, turned into UTF-8 as it is read.

use std::io::Read;

/// The order of the two bytes of a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Order {
    /// Low byte first.
    Little,
    /// High byte first.
    Big,
}

/// Bytes that are looked at in a file without a byte order mark.
const LOOKED_AT: usize = 4096;

/// The order of a file that begins like this; `None` if it is no UTF-16.
///
/// Without a byte order mark: text of numbers is nearly all ASCII, so nearly every second byte is zero, and no other is.
pub(super) fn order(head: &[u8]) -> Option<Order> {
    match head {
        [0xFF, 0xFE, ..] => return Some(Order::Little),
        [0xFE, 0xFF, ..] => return Some(Order::Big),
        _ => {}
    }
    let looked_at = &head[..head.len().min(LOOKED_AT) & !1];
    let zeros = |from: usize| {
        looked_at[from..]
            .iter()
            .step_by(2)
            .filter(|&&byte| byte == 0)
    };
    if looked_at.len() < 8 {
        return None;
    }
    let (first, second) = (zeros(0).count(), zeros(1).count());
    let nearly_all = looked_at.len() / 2 * 9 / 10;
    match (first, second) {
        (0, second) if second >= nearly_all => Some(Order::Little),
        (first, 0) if first >= nearly_all => Some(Order::Big),
        _ => None,
    }
}

/// Reads UTF-16 and gives UTF-8. What is no character becomes U+FFFD; the byte order mark stays, as one of UTF-8.
pub(super) struct Utf8<R> {
    bytes: R,
    order: Order,
    /// Bytes that were read and not yet turned: half a unit, or half a pair of units.
    waiting: Vec<u8>,
    text: String,
    given: usize,
    done: bool,
}

/// Bytes read at a time.
const PIECE: usize = 1 << 16;

impl<R: Read> Utf8<R> {
    pub(super) fn new(bytes: R, order: Order) -> Self {
        Self {
            bytes,
            order,
            waiting: Vec::new(),
            text: String::new(),
            given: 0,
            done: false,
        }
    }

    /// Turns the next piece.
    fn turn(&mut self) -> std::io::Result<()> {
        self.text.clear();
        self.given = 0;
        let read = self
            .bytes
            .by_ref()
            .take(PIECE as u64)
            .read_to_end(&mut self.waiting)?;
        self.done = read == 0;
        let units: Vec<u16> = self
            .waiting
            .chunks_exact(2)
            .map(|pair| match self.order {
                Order::Little => u16::from_le_bytes([pair[0], pair[1]]),
                Order::Big => u16::from_be_bytes([pair[0], pair[1]]),
            })
            .collect();
        // The first half of a pair waits for the second, unless there is none.
        let is_half = units
            .last()
            .is_some_and(|unit| (0xD800..0xDC00).contains(unit));
        let whole = units.len() - usize::from(is_half && !self.done);
        let characters = char::decode_utf16(units[..whole].iter().copied());
        self.text
            .extend(characters.map(|one| one.unwrap_or(char::REPLACEMENT_CHARACTER)));
        self.waiting.drain(..2 * whole);
        Ok(())
    }
}

impl<R: Read> Read for Utf8<R> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        while self.given == self.text.len() {
            if self.done {
                return Ok(0);
            }
            self.turn()?;
        }
        let left = &self.text.as_bytes()[self.given..];
        let length = left.len().min(into.len());
        into[..length].copy_from_slice(&left[..length]);
        self.given += length;
        Ok(length)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn written(text: &str, order: Order) -> Vec<u8> {
        let units = text.encode_utf16();
        match order {
            Order::Little => units.flat_map(u16::to_le_bytes).collect(),
            Order::Big => units.flat_map(u16::to_be_bytes).collect(),
        }
    }

    proptest! {
        #[test]
        fn every_text_is_the_same_in_both_orders(text: String, big: bool) {
            let order = if big { Order::Big } else { Order::Little };
            let mut read = String::new();
            Utf8::new(written(&text, order).as_slice(), order).read_to_string(&mut read)?;
            prop_assert_eq!(read, text);
        }

        #[test]
        fn no_bytes_make_it_fail(bytes: Vec<u8>, big: bool) {
            let order = if big { Order::Big } else { Order::Little };
            let mut read = String::new();
            prop_assert!(Utf8::new(bytes.as_slice(), order).read_to_string(&mut read).is_ok());
        }
    }

    #[test]
    fn it_is_known_with_and_without_its_mark() {
        let rows = "Zeit;Spannung;Strom\n0,001;24,5;120\n";
        for wanted in [Order::Little, Order::Big] {
            assert_eq!(order(&written(rows, wanted)), Some(wanted));
            assert_eq!(
                order(&written(&format!("\u{FEFF}{rows}"), wanted)),
                Some(wanted)
            );
        }
        assert_eq!(order(rows.as_bytes()), None);
        assert_eq!(order(&[0; 64]), None);
    }

    /// Headings in Greek have no byte that is zero: only the mark tells.
    #[test]
    fn the_mark_alone_tells_where_letters_are_none_of_ascii() {
        let text = "\u{FEFF}χρόνοςτάσηρεύμα";
        assert_eq!(order(&written(text, Order::Little)), Some(Order::Little));
        assert_eq!(order(&written(text, Order::Big)), Some(Order::Big));
        assert_eq!(order(&[0xFF, 0xFE]), Some(Order::Little));
        assert_eq!(order(&[0xFE, 0xFF]), Some(Order::Big));
        assert_eq!(order(&written(&text[3..], Order::Little)), None);
        assert_eq!(order(&[0xFF, 0xFF]), None);
        assert_eq!(order(&[0xFE, 0xFE]), None);
    }

    /// Nine of ten characters at least, four at least, in the first 4096 bytes.
    #[test]
    fn without_a_mark_nearly_all_characters_are_of_ascii() {
        for wanted in [Order::Little, Order::Big] {
            let order_of = |text: &str| order(&written(text, wanted));
            assert_eq!(order_of("0,1\n"), Some(wanted));
            assert_eq!(order_of("0,1"), None, "three are too few");
            assert_eq!(order_of("voltage, Ω"), Some(wanted), "nine of ten");
            assert_eq!(order_of("voltage,χΩ"), None, "eight of ten");
            // A byte is left over where a head is cut within a character.
            let mut cut = written("0,12\n", wanted);
            cut.pop();
            assert_eq!(order(&cut), Some(wanted));
            cut.truncate(7);
            assert_eq!(order(&cut), None);
            // A zero on the other side makes it something else.
            assert_eq!(order_of("0,1,2,3,4,5,6,7,8,9,Ā\n"), None);
            // Further on it is not looked at.
            let long = "7".repeat(LOOKED_AT / 2);
            assert_eq!(order_of(&(long.clone() + "Ā")), Some(wanted));
            assert_eq!(order_of(&(long[1..].to_owned() + "Ā")), None);
        }
    }

    /// A character of two units whose first is the last that is read at a time.
    #[test]
    fn a_character_on_the_border_of_two_pieces_stays_whole() {
        for before in PIECE / 2 - 2..=PIECE / 2 {
            let text = "7".repeat(before) + "😀;24,5\n";
            for order in [Order::Little, Order::Big] {
                let mut read = String::new();
                let bytes = written(&text, order);
                Utf8::new(bytes.as_slice(), order)
                    .read_to_string(&mut read)
                    .expect("memory does not fail");
                assert!(read == text, "{before} {order:?}");
            }
        }
    }

    #[test]
    fn half_a_character_at_the_end_is_marked_as_none() {
        let mut bytes = written("24😀", Order::Little);
        bytes.truncate(6);
        let mut read = String::new();
        Utf8::new(bytes.as_slice(), Order::Little)
            .read_to_string(&mut read)
            .expect("memory does not fail");
        assert_eq!(read, "24\u{FFFD}");
    }
}
