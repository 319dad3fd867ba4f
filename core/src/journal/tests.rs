use super::*;
use crate::framing::checksum;
use proptest::prelude::*;
use std::string::ToString;

fn header(used: u16) -> CellHeader {
    CellHeader {
        content: Content::Log,
        journal: 0xC01D_5A4E,
        number: 70_001,
        offset: 1 << 40,
        used,
        beads: 12,
        starts: 3,
    }
}

#[test]
fn a_cell_changed_in_any_bit_is_no_cell() {
    let mut cell = [0xA5; CELL];
    seal(&header(400), &mut cell);
    assert_eq!(open(&cell), Ok(header(400)));
    for bit in 0..CELL * 8 {
        let mut soiled = cell;
        soiled[bit / 8] ^= 1 << (bit % 8);
        assert!(open(&soiled).is_err(), "bit {bit}");
    }
}

#[test]
fn one_flipped_bit_is_set_right_and_two_are_not_guessed_at() {
    let mut cell = [0xA5; CELL];
    seal(&header(400), &mut cell);
    for bit in 0..CELL * 8 {
        let mut soiled = cell;
        soiled[bit / 8] ^= 1 << (bit % 8);
        assert_eq!(open_mending(&mut soiled), Ok(header(400)), "bit {bit}");
        assert_eq!(soiled, cell, "bit {bit}");
        let other = (bit * 31 + 7) % (CELL * 8);
        soiled[bit / 8] ^= 1 << (bit % 8);
        soiled[other / 8] ^= 1 << (other % 8);
        if other != bit {
            let before = soiled;
            assert_eq!(open_mending(&mut soiled), Err(CellError::Damaged));
            assert_eq!(soiled, before, "bits {bit} and {other}");
        }
    }
    assert_eq!(open_mending(&mut [0; CELL]), Err(CellError::Blank));
}

/// The checksum comes last, so a cell of which only a beginning was written is never taken for whole, whatever it lay on.
#[test]
fn a_cell_written_in_part_over_blank_or_an_older_one_is_no_cell() {
    let (mut new, mut old) = ([0; CELL], [0x11; CELL]);
    seal(&header(PAYLOAD as u16), &mut new);
    seal(
        &CellHeader {
            number: 3,
            ..header(PAYLOAD as u16)
        },
        &mut old,
    );
    for under in [[0; CELL], [0xFF; CELL], old] {
        for cut in 1..CELL {
            let mut torn = under;
            torn[..cut].copy_from_slice(&new[..cut]);
            let found = open(&torn);
            assert!(
                found.is_err() || torn == new || torn == under,
                "cut at {cut}"
            );
        }
    }
    assert_eq!(open(&[0; CELL]), Err(CellError::Blank));
    assert_eq!(open(&[0xFF; CELL]), Err(CellError::Blank));
}

/// Somebody else made the card.
#[test]
fn a_layout_larger_than_any_medium_is_refused() {
    for words in [
        [u32::MAX; 3],
        [u32::MAX, 1, 2],
        [1, u32::MAX, u32::MAX],
        [0; 3],
    ] {
        assert_eq!(
            Layout::of_cell(&layout_cell(words), u32::MAX),
            Err(LayoutError::DoesNotFit),
            "{words:?}"
        );
    }
}

/// 512 bytes less a header of 32 and a checksum of 4. A header that claims more would have a reader take the checksum for a
/// record.
#[test]
fn a_cell_holds_476_bytes_and_none_claims_more() {
    let mut cell = [0xA5; CELL];
    assert_eq!(payload_mut(&mut cell).len(), 476);
    seal(&header(u16::MAX), &mut cell);
    let full = open(&cell).expect("as it was sealed");
    assert_eq!((full.used, PAYLOAD), (476, 476));
    assert_eq!(payload(&full, &cell), [0xA5; 476]);
    let claims = |used: u16| {
        let mut cell = cell;
        cell[20..22].copy_from_slice(&used.to_le_bytes());
        let sum = checksum(&cell[..CELL - 4]).to_le_bytes();
        cell[CELL - 4..].copy_from_slice(&sum);
        open(&cell).map(|header| header.used)
    };
    assert_eq!(claims(476), Ok(476));
    assert_eq!(claims(477), Err(CellError::Damaged));
}

/// Set right is only what a journal may have written: everything it did not use is 00.
#[test]
fn a_cell_with_bytes_where_none_belong_is_not_set_right() {
    // After the payload, between the fields of the header, and in both places.
    for places in [&[450][..], &[22], &[23, 507]] {
        let mut cell = [0xA5; CELL];
        seal(&header(400), &mut cell);
        for place in places {
            cell[*place] = 1;
        }
        let sum = checksum(&cell[..CELL - 4]).to_le_bytes();
        cell[CELL - 4..].copy_from_slice(&sum);
        cell[100] ^= 4;
        let before = cell;
        assert_eq!(
            open_mending(&mut cell),
            Err(CellError::Damaged),
            "{places:?}"
        );
        assert_eq!(cell, before);
    }
}

fn layout_cell(words: [u32; 3]) -> CellBytes {
    let mut cell = [0; CELL];
    for (to, from) in payload_mut(&mut cell).chunks_exact_mut(4).zip(words) {
        to.copy_from_slice(&from.to_le_bytes());
    }
    let layout = CellHeader {
        content: Content::Layout,
        ..header(12)
    };
    seal(&layout, &mut cell);
    cell
}

#[test]
fn a_layout_needs_cells_in_a_segment_one_retained_segment_and_four_in_the_ring() {
    // Three segments before them.
    assert!(Layout::of_cell(&layout_cell([2, 1, 4]), 16).is_ok());
    for (words, cells) in [
        ([2, 1, 4], 15),
        ([2, 0, 4], 100),
        ([2, 1, 3], 100),
        ([0, 1, 4], 100),
        ([2, 0, 0], 100),
        ([0, 0, 4], 100),
    ] {
        let found = Layout::of_cell(&layout_cell(words), cells);
        assert_eq!(found, Err(LayoutError::DoesNotFit), "{words:?}");
    }
}

#[test]
fn eight_segments_are_the_least_and_the_ring_keeps_four_of_them() {
    let areas = |segments: u32, share| {
        Layout::divide(1, segments * 16, 16, share)
            .map(|layout| (layout.retained().cells / 16, layout.ring().cells / 16))
    };
    assert_eq!(areas(7, 128), Err(LayoutError::TooSmall { least: 128 }));
    for (segments, share, expected) in [
        (8, 0, (1, 4)),
        (8, 255, (1, 4)),
        (11, 255, (4, 4)),
        (103, 0, (1, 99)),
        (103, 64, (25, 75)),
        (103, 255, (96, 4)),
    ] {
        assert_eq!(areas(segments, share), Ok(expected), "{segments} {share}");
    }
    assert_eq!(
        Layout::divide(1, 100, 0, 64),
        Err(LayoutError::TooSmall { least: 8 })
    );
}

/// Settings are written in turn to places that do not wear out or get lost together.
#[test]
fn settings_lie_in_two_segments_at_the_front_and_in_the_middle_of_each() {
    let layout = Layout::divide(1, 4096, 64, 64).expect("it is large enough");
    assert_eq!(layout.settings(), [[64, 96], [128, 160]]);
}

#[test]
fn why_there_is_no_layout_is_said_in_words() {
    for (why, words) in [
        (
            LayoutError::TooSmall { least: 128 },
            "a journal needs at least 128 cells of 512 bytes",
        ),
        (
            LayoutError::NotPrepared,
            "its first cell is not a journal layout: it was not prepared, or its beginning is damaged",
        ),
        (
            LayoutError::Newer { found: 2 },
            "written in journal layout 2, this program reads 1; use a newer program",
        ),
        (
            LayoutError::DoesNotFit,
            "its layout has more cells than there are: it was cut short",
        ),
    ] {
        assert_eq!(why.to_string(), words);
    }
}

/// Only windows are dropped to make room, so nothing else may look like one.
#[test]
fn a_frame_tells_its_kind_where_no_zero_is_near() {
    assert_eq!(kind_of(&[0, 3, 1, 3, 9, 0]), Some(3));
    assert!(is_window(&[0, 11, 1, 3, 9]) && !is_window(&[0, 11, 1, 2, 9]));
    // After 02 the kind is zero: COBS keeps in its place how far it is to the next zero.
    for other in [
        &[0, 2, 1, 3, 9, 0][..],
        &[0, 1, 1, 3, 9, 0],
        &[0, 11, 2, 3],
        &[1, 11, 1, 3],
        &[0, 11, 1],
        &[],
    ] {
        assert_eq!(kind_of(other), None, "{other:?}");
    }
}

#[test]
fn a_retained_record_without_bytes_is_none() {
    let mut payload = [0; 100];
    let length = put_retained(0, 0, &[0, 1, 2, 0], &mut payload).expect("room");
    let found = |payload: &[u8]| {
        retained(0, payload)
            .map(|(offset, frame)| (offset, frame.len()))
            .collect::<std::vec::Vec<_>>()
    };
    assert_eq!(found(&payload), [(0, 4)]);
    assert_eq!(found(&payload[length..]), []);
}

proptest! {
    #[test]
    fn a_layout_is_read_as_it_was_written_and_its_areas_fill_what_there_is(
        cells in 0u32..5_000_000, segment in 1u32..128, share in any::<u8>(), journal in any::<u32>(),
    ) {
        match Layout::divide(journal, cells, segment, share) {
            Err(LayoutError::TooSmall { least }) => prop_assert!(cells < least),
            Err(other) => prop_assert!(false, "{other}"),
            Ok(layout) => {
                prop_assert!(layout.cells() <= cells && cells - layout.cells() < segment);
                prop_assert_eq!(layout.retained().first + layout.retained().cells, layout.ring().first);
                prop_assert_eq!(Layout::of_cell(&layout.to_cell(), cells), Ok(layout));
                prop_assert_eq!(
                    Layout::of_cell(&layout.to_cell(), layout.cells() - 1),
                    Err(LayoutError::DoesNotFit)
                );
            }
        }
    }

    #[test]
    fn no_bytes_make_it_stop(bytes in proptest::collection::vec(any::<u8>(), CELL), offset in any::<u64>()) {
        let cell: CellBytes = bytes.clone().try_into().expect("a cell's length");
        let _ = open(&cell);
        let _ = Layout::of_cell(&cell, u32::MAX);
        let _ = retained(offset, &bytes).count() + frames(&bytes).count();
    }
}
