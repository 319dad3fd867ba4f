//! What keeps a logger from storing: the same words on its panel, over the link and in its log.
//!
//! To add one: a variant with its code here, its words below, what finds it in the firmware, and its row in
//! `docs/link.md`.

use crate::framing::codes;

/// What is wrong with the store of a logger.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Trouble {
    /// Nothing in the slot answers.
    NoCard,
    /// The card answers, but too much of what it holds cannot be read.
    Unreadable,
    /// The card has no journal file, or something else by that name.
    NotPrepared,
    /// The card ends before its journal file does.
    TooSmall,
    /// The card has less room than it says, and what is written past its end goes over what is stored.
    Wraps,
    /// The card can be read and takes no writes.
    Locked,
    /// Another card than that of the log, or one that was written elsewhere since.
    OtherCard,
    /// The card takes long to write. It stores all the same.
    Slow,
    /// There is no room.
    Full,
    /// Some records could not be stored, for none of these reasons.
    Refuses,
}

codes!(code, read, Trouble {
    NoCard = 1, Unreadable = 2, NotPrepared = 3, TooSmall = 4, Wraps = 5, Locked = 6, OtherCard = 7, Slow = 8, Full = 9,
    Refuses = 10,
});

/// What a note in the log begins with that tells of trouble with the store.
pub const NOTE: &str = "card: ";

impl Trouble {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::NoCard,
        Self::Unreadable,
        Self::NotPrepared,
        Self::TooSmall,
        Self::Wraps,
        Self::Locked,
        Self::OtherCard,
        Self::Slow,
        Self::Full,
        Self::Refuses,
    ];

    /// Its number on the wire; 0 is for none.
    #[must_use]
    pub const fn code(self) -> u8 {
        code(self)
    }

    /// The one with this number.
    #[must_use]
    pub const fn of_code(code: u8) -> Option<Self> {
        read(code)
    }

    /// Whether records are stored all the same.
    #[must_use]
    pub const fn stores(self) -> bool {
        matches!(self, Self::Slow)
    }

    /// For a display: at most 16 characters.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::NoCard => "NO CARD",
            Self::Unreadable => "CARD UNREADABLE",
            Self::NotPrepared => "CARD HAS NO FILE",
            Self::TooSmall => "CARD TOO SMALL",
            Self::Wraps => "CARD IS FAKE",
            Self::Locked => "CARD LOCKED",
            Self::OtherCard => "OTHER CARD",
            Self::Slow => "CARD SLOW",
            Self::Full => "MEMORY FULL",
            Self::Refuses => "MEMORY FAULT",
        }
    }

    /// For a note in the log, after [`NOTE`]: at most 16 characters, and never another one from version to version.
    #[must_use]
    pub const fn in_note(self) -> &'static str {
        match self {
            Self::NoCard => "out",
            Self::Unreadable => "unreadable",
            Self::NotPrepared => "not prepared",
            Self::TooSmall => "too small",
            Self::Wraps => "wraps",
            Self::Locked => "locked",
            Self::OtherCard => "another",
            Self::Slow => "slow",
            Self::Full => "full",
            Self::Refuses => "refused",
        }
    }

    /// What a note in the log tells: the trouble, and the beads that were not stored. `None` for a note of a person.
    #[must_use]
    pub fn of_note(note: &str) -> Option<(Self, u32)> {
        let told = note.strip_prefix(NOTE)?;
        let (word, beads) = match told.split_once(", ") {
            Some((word, rest)) => (word, rest.strip_suffix(" beads not stored")?.parse().ok()?),
            None => (told, 0),
        };
        let trouble = Self::ALL
            .into_iter()
            .find(|trouble| trouble.in_note() == word)?;
        Some((trouble, beads))
    }

    /// Writes the note that [`Trouble::of_note`] reads, at most 48 characters.
    ///
    /// # Errors
    /// When there is less room.
    pub fn write_note(self, beads: u32, out: &mut impl core::fmt::Write) -> core::fmt::Result {
        write!(out, "{NOTE}{}", self.in_note())?;
        match beads {
            0 => Ok(()),
            beads => write!(out, ", {beads} beads not stored"),
        }
    }
}

impl core::fmt::Display for Trouble {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::NoCard => "there is no card in the slot",
            Self::Unreadable => "the card cannot be read; clean its contacts or use another one",
            Self::NotPrepared => {
                "the card has no file COLDSQ.JNL that can be used; make one with `coldsquare card new`"
            }
            Self::TooSmall => "the card is smaller than its file COLDSQ.JNL; use another card",
            Self::Wraps => "the card has less room than it says; download its log and throw the card away",
            Self::Locked => "the card takes no writes: it is locked, or worn out",
            Self::OtherCard => "this is another card, or it was written elsewhere meanwhile",
            Self::Slow => "the card takes long to write; readings may be lost meanwhile",
            Self::Full => "it is full; download the log and clear it",
            Self::Refuses => "some records could not be written",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use heapless::String;

    #[test]
    fn every_trouble_fits_the_display_the_wire_and_a_note() {
        for trouble in Trouble::ALL {
            assert!(trouble.word().len() <= 16);
            assert_eq!(Trouble::of_code(trouble.code()), Some(trouble));
            for beads in [0, 1, 7, 999_999] {
                let mut note: String<48> = String::new();
                trouble.write_note(beads, &mut note).expect("it fits");
                assert_eq!(Trouble::of_note(&note), Some((trouble, beads)));
            }
        }
        assert_eq!(Trouble::of_code(0), None);
    }

    /// What stands on the panel of a logger, and in the notes of logs, which later versions must read.
    #[test]
    fn each_trouble_has_its_words_on_the_panel_and_in_a_note() {
        let words = [
            ("NO CARD", "out"),
            ("CARD UNREADABLE", "unreadable"),
            ("CARD HAS NO FILE", "not prepared"),
            ("CARD TOO SMALL", "too small"),
            ("CARD IS FAKE", "wraps"),
            ("CARD LOCKED", "locked"),
            ("OTHER CARD", "another"),
            ("CARD SLOW", "slow"),
            ("MEMORY FULL", "full"),
            ("MEMORY FAULT", "refused"),
        ];
        assert_eq!(Trouble::ALL.map(|it| (it.word(), it.in_note())), words);
        let storing = Trouble::ALL.map(Trouble::stores);
        assert_eq!(storing, Trouble::ALL.map(|it| it == Trouble::Slow));
        assert_eq!(
            Trouble::ALL.map(Trouble::code),
            [1, 2, 3, 4, 5, 6, 7, 8, 9, 10]
        );
    }

    #[test]
    fn what_a_person_writes_tells_of_no_trouble() {
        for note in [
            "card",
            "card: mine",
            "left side",
            "card: out, many beads not stored",
        ] {
            assert_eq!(Trouble::of_note(note), None, "{note}");
        }
    }
}
