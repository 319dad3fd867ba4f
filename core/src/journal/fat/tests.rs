//! Cards as file systems make them, and as they must not be taken for one.

use super::*;
use std::collections::BTreeMap;
use std::string::ToString;
use std::vec::Vec;

const START: u32 = 2048;
const RESERVED: u32 = 32;
const FAT_SECTORS: u32 = 1024;
/// 2^17 cluster numbers, so that the upper half of one is needed.
const CLUSTERS: u32 = FAT_SECTORS * LINKS - 2;

/// A card of which only the sectors that were written are kept; the others are zeros.
struct Card {
    sectors: BTreeMap<u32, CellBytes>,
    per_cluster: u32,
    /// The sector of the file system's beginning.
    start: u32,
}

impl Card {
    /// With or without a partition table, and an empty root folder in cluster 2.
    fn new(per_cluster: u32, start: u32) -> Self {
        let mut card = Self {
            sectors: BTreeMap::new(),
            per_cluster,
            start,
        };
        if start > 0 {
            card.put(0, 450, &[0x0C]);
            card.put(0, 454, &start.to_le_bytes());
            card.put(0, 510, &[0x55, 0xAA]);
        }
        let sectors = RESERVED + 2 * FAT_SECTORS + CLUSTERS * per_cluster;
        card.put(start, 11, &512_u16.to_le_bytes());
        card.put(start, 13, &[per_cluster as u8]);
        card.put(start, 14, &(RESERVED as u16).to_le_bytes());
        card.put(start, 16, &[2]);
        card.put(start, 32, &sectors.to_le_bytes());
        card.put(start, 36, &FAT_SECTORS.to_le_bytes());
        card.put(start, 44, &2_u32.to_le_bytes());
        card.put(start, 510, &[0x55, 0xAA]);
        card.chain(2, &[]);
        card
    }

    fn put(&mut self, sector: u32, at: usize, bytes: &[u8]) {
        let sector = self.sectors.entry(sector).or_insert([0; CELL]);
        sector[at..at + bytes.len()].copy_from_slice(bytes);
    }

    fn sector_of(&self, cluster: u32) -> u32 {
        self.start + RESERVED + 2 * FAT_SECTORS + (cluster - 2) * self.per_cluster
    }

    /// Links clusters one after the other, in both FATs.
    fn chain(&mut self, first: u32, rest: &[u32]) {
        let mut here = first;
        for next in rest.iter().copied().chain([0x0FFF_FFFF]) {
            for fat in [0, FAT_SECTORS] {
                let sector = self.start + RESERVED + fat + here / LINKS;
                self.put(sector, (here % LINKS * 4) as usize, &next.to_le_bytes());
            }
            here = next;
        }
    }

    /// An entry of the root folder, with its place there.
    fn list(&mut self, place: u32, name: &[u8; 11], attributes: u8, cluster: u32, size: u32) {
        let [c0, c1, c2, c3] = cluster.to_le_bytes();
        let mut entry = [0; 32];
        entry[..11].copy_from_slice(name);
        entry[11] = attributes;
        entry[20..22].copy_from_slice(&[c2, c3]);
        entry[26..28].copy_from_slice(&[c0, c1]);
        entry[28..].copy_from_slice(&size.to_le_bytes());
        let sector = self.sector_of(2) + place / 16;
        self.put(sector, (place % 16 * 32) as usize, &entry);
    }

    /// With the journal's file of four clusters from here on.
    fn with_file(mut self, cluster: u32) -> Self {
        self.list(0, &FILE_NAME, 0x20, cluster, 4 * 512 * self.per_cluster);
        self.chain(cluster, &[cluster + 1, cluster + 2, cluster + 3]);
        self
    }

    fn find(&self) -> Result<SectorRange, NotFound> {
        find(&FILE_NAME, &mut |number, bytes: &mut CellBytes| {
            *bytes = self.sectors.get(&number).copied().unwrap_or([0; CELL]);
            Ok(())
        })
    }

    fn range(&self, cluster: u32, clusters: u32) -> Result<SectorRange, NotFound> {
        Ok(SectorRange {
            first: self.sector_of(cluster),
            count: clusters * self.per_cluster,
        })
    }
}

#[test]
fn the_file_is_found_with_and_without_a_table_wherever_it_lies() {
    for start in [0, START] {
        for per_cluster in [1, 2, 64] {
            // The last cluster has the number of clusters plus one.
            for cluster in [3, 200, 0x1_0003, CLUSTERS - 2] {
                let card = Card::new(per_cluster, start).with_file(cluster);
                let expected = card.range(cluster, 4);
                assert_eq!(card.find(), expected, "{start} {per_cluster} {cluster}");
            }
        }
    }
}

#[test]
fn a_file_past_the_end_of_the_file_system_is_none() {
    let mut card = Card::new(2, 0);
    card.list(0, &FILE_NAME, 0x20, CLUSTERS + 2, 0);
    assert_eq!(card.find(), Err(NotFound::CutShort));
    card.list(0, &FILE_NAME, 0x20, CLUSTERS + 1, 0);
    assert!(card.find().is_ok());
}

#[test]
fn a_boot_sector_that_differs_in_one_field_is_not_taken_for_fat32() {
    let differing: [(usize, &[u8]); 8] = [
        (510, &[0]),
        // Bytes of a sector, sectors of a cluster, FATs.
        (11, &1024_u16.to_le_bytes()),
        (13, &[3]),
        (16, &[3]),
        (16, &[0]),
        // A root folder of fixed size, a FAT of 16 bits, none of 32.
        (17, &[1]),
        (22, &[1]),
        (36, &[0; 4]),
    ];
    for start in [0, START] {
        for (at, bytes) in differing {
            let mut card = Card::new(2, start).with_file(3);
            card.put(start, at, bytes);
            assert_eq!(card.find(), Err(NotFound::NotFat32), "{start}, byte {at}");
        }
    }
}

#[test]
fn a_table_counts_if_it_is_signed_and_its_first_partition_is_fat32() {
    for (at, byte, is_table) in [
        (450, 0x0B, true),
        (450, 0x07, false),
        (510, 0, false),
        (511, 0, false),
    ] {
        let mut card = Card::new(2, START).with_file(3);
        card.put(0, at, &[byte]);
        let expected = if is_table {
            card.range(3, 4)
        } else {
            Err(NotFound::NotFat32)
        };
        assert_eq!(card.find(), expected, "byte {at}");
    }
}

#[test]
fn a_file_in_pieces_or_cut_short_is_refused_and_one_good_fat_is_enough() {
    let pieces = |rest: &[u32]| {
        let mut card = Card::new(2, 0).with_file(10);
        card.chain(10, rest);
        card
    };
    assert_eq!(
        pieces(&[20, 21, 22]).find(),
        Err(NotFound::InPieces { first_piece: 1 })
    );
    assert_eq!(
        pieces(&[11, 12, 22]).find(),
        Err(NotFound::InPieces { first_piece: 3 })
    );
    assert_eq!(pieces(&[11, 12]).find(), Err(NotFound::CutShort));
    // What follows the last cluster that the size needs does not matter.
    let longer = pieces(&[11, 12, 13, 30]);
    assert_eq!(longer.find(), longer.range(10, 4));
    let mut one_fat_damaged = pieces(&[11, 12, 13]);
    one_fat_damaged.put(RESERVED, 40, &[0; 16]);
    assert_eq!(one_fat_damaged.find(), one_fat_damaged.range(10, 4));
}

#[test]
fn only_a_file_of_that_very_name_is_the_journal() {
    let mut card = Card::new(1, 0).with_file(9);
    let count = card.find().map(|range| range.count);
    assert_eq!(count, Ok(4));
    // A file, a folder, a volume label and part of a long name before it.
    for (place, name, attributes) in [
        (0, b"COLDSQ  TXT", 0x20),
        (1, &FILE_NAME, 0x10),
        (2, &FILE_NAME, 0x08),
        (3, &FILE_NAME, 0x0F),
    ] {
        card.list(place, name, attributes, 50, 512);
        assert_eq!(card.find(), Err(NotFound::NoSuchFile), "place {place}");
    }
    // Read-only, hidden, a system file.
    card.list(4, &FILE_NAME, 0x27, 9, 4 * 512);
    assert_eq!(card.find(), card.range(9, 4));
}

#[test]
fn the_first_2048_names_of_the_folder_are_searched_and_no_more() {
    let full = |names: u32| {
        let mut card = Card::new(1, 0);
        let rest = (3..140).collect::<Vec<_>>();
        card.chain(2, &rest);
        for place in 0..names - 1 {
            card.list(place, b"OTHER   TXT", 0x20, 300, 512);
        }
        card.list(names - 1, &FILE_NAME, 0x20, 300, 512);
        card.chain(300, &[]);
        card
    };
    for names in [1, 16, 17, 2048] {
        let card = full(names);
        assert_eq!(card.find(), card.range(300, 1), "{names}");
    }
    assert_eq!(full(2049).find(), Err(NotFound::NoSuchFile));
    assert_eq!(Card::new(1, 0).find(), Err(NotFound::NoSuchFile));
}

#[test]
fn why_a_card_does_not_do_is_said_with_what_to_do() {
    for (why, words) in [
        (
            NotFound::Fault,
            "the card cannot be read; clean its contacts or use another card",
        ),
        (
            NotFound::NotFat32,
            "the card has no FAT32 file system; format it as FAT32 and copy the journal file onto it",
        ),
        (
            NotFound::NoSuchFile,
            "the card's root folder has no file COLDSQ.JNL; make one with `coldsquare card new` and copy it there",
        ),
        (
            NotFound::InPieces { first_piece: 7 },
            "COLDSQ.JNL is fragmented (its first piece has 7 clusters); copy it onto a freshly formatted card",
        ),
        (
            NotFound::CutShort,
            "COLDSQ.JNL has fewer clusters than its size needs; check the card's file system, then copy it again",
        ),
    ] {
        assert_eq!(why.to_string(), words);
    }
}
