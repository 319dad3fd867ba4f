use super::*;
use proptest::prelude::*;

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
        let mut cell = [0; CELL];
        for (to, from) in payload_mut(&mut cell).chunks_exact_mut(4).zip(words) {
            to.copy_from_slice(&from.to_le_bytes());
        }
        let layout = CellHeader {
            content: Content::Layout,
            ..header(12)
        };
        seal(&layout, &mut cell);
        assert_eq!(
            Layout::of_cell(&cell, u32::MAX),
            Err(LayoutError::DoesNotFit),
            "{words:?}"
        );
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
