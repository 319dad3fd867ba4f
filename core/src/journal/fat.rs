//! Finds the sectors of the journal's file on a card: in the root folder of a FAT32 file system, in one piece.
//!
//! A journal writes directly to sectors, past the file system, so it needs the cluster numbers that FAT libraries do not
//! expose. Field offsets: *Microsoft Extensible Firmware Initiative FAT32 File System Specification*, version 1.03
//! (2000), sections on the boot sector, the FAT and directory entries.

#[cfg(test)]
mod tests;

use super::cell::{CELL, CellBytes};

/// The journal's file on a card: 8 + 3 characters in the root folder, as a FAT directory has them.
pub const FILE_NAME: [u8; 11] = *b"COLDSQ  JNL";

/// The sector could not be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unreadable;

/// The most sectors of the root folder to search: 2048 names.
const MAX_FOLDER_SECTORS: u32 = 128;
/// Cluster numbers in a sector of the FAT.
const LINKS: u32 = (CELL / 4) as u32;
/// Cluster numbers from here on end a chain.
const END_OF_CHAIN: u32 = 0x0FFF_FFF8;

/// Sectors that follow one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SectorRange {
    /// The first one on the card.
    pub first: u32,
    /// How many.
    pub count: u32,
}

/// Why a file was not found. Its text says what to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotFound {
    /// The card cannot be read.
    Fault,
    /// No FAT32 file system of sectors of 512 bytes, in the first partition or without a table.
    NotFat32,
    /// The root folder does not have it.
    NoSuchFile,
    /// The file is in more than one piece.
    InPieces {
        /// Clusters in its first piece.
        first_piece: u32,
    },
    /// Its clusters do not cover its size.
    CutShort,
}

impl core::fmt::Display for NotFound {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Fault => f.write_str("the card cannot be read; clean its contacts or use another card"),
            Self::NotFat32 => f.write_str(
                "the card has no FAT32 file system; format it as FAT32 and copy the journal file onto it",
            ),
            Self::NoSuchFile => f.write_str(
                "the card's root folder has no file COLDSQ.JNL; make one with `coldsquare card new` and copy it there",
            ),
            Self::InPieces { first_piece } => write!(
                f,
                "COLDSQ.JNL is fragmented (its first piece has {first_piece} clusters); copy it onto a freshly formatted card"
            ),
            Self::CutShort => f.write_str(
                "COLDSQ.JNL has fewer clusters than its size needs; check the card's file system, then copy it again",
            ),
        }
    }
}

impl core::error::Error for NotFound {}

/// The volume, from its boot sector.
struct Volume {
    sectors_per_cluster: u32,
    /// The first sector of its first FAT, sectors of one, and how many there are.
    fat: u32,
    fat_sectors: u32,
    fats: u32,
    data: u32,
    root: u32,
    clusters: u32,
}

impl Volume {
    fn sector_of(&self, cluster: u32) -> Option<u32> {
        let at = cluster.checked_sub(2)?;
        if at >= self.clusters {
            return None;
        }
        at.checked_mul(self.sectors_per_cluster)?
            .checked_add(self.data)
    }
}

/// Finds a file by name on a card with a partition table, or with a file system and no table; `sectors` reads the sector
/// with a given number. Reads at most 2 sectors for the file system, 128 and as many links for the folder, and one for
/// every 128 clusters of the file; twice as many where the first FAT does not have it in one piece and the second does.
///
/// # Errors
/// [`NotFound`].
pub fn find(
    name: &[u8; 11],
    sectors: &mut impl FnMut(u32, &mut CellBytes) -> Result<(), Unreadable>,
) -> Result<SectorRange, NotFound> {
    let mut buffer = Buffer {
        bytes: [0; CELL],
        number: None,
    };
    let volume = volume(sectors, &mut buffer)?;
    let (cluster, size) = entry(sectors, &mut buffer, &volume, name)?;
    let first = volume.sector_of(cluster).ok_or(NotFound::CutShort)?;
    let count = size / CELL as u32;
    let clusters = count.div_ceil(volume.sectors_per_cluster);
    let mut in_piece = |fat| follows(sectors, &mut buffer, &volume, fat, (cluster, clusters));
    // A file system keeps its FAT twice, so that one bad sector of it does not decide.
    let found = in_piece(0);
    if found.is_err() && (1..volume.fats).all(|fat| in_piece(fat).is_err()) {
        found?;
    }
    Ok(SectorRange { first, count })
}

/// Whether as many clusters follow one another from the first on, as one of the FATs has them.
fn follows(
    sectors: &mut impl Read,
    buffer: &mut Buffer,
    volume: &Volume,
    fat: u32,
    (cluster, clusters): (u32, u32),
) -> Result<(), NotFound> {
    for index in 0..clusters {
        let here = cluster.saturating_add(index);
        let next = link(sectors, buffer, volume, (fat, here))?;
        let last = index + 1 == clusters;
        if !last && next >= END_OF_CHAIN {
            return Err(NotFound::CutShort);
        }
        if !last && next != here + 1 {
            return Err(NotFound::InPieces {
                first_piece: index + 1,
            });
        }
    }
    Ok(())
}

/// Reads the sector with this number.
trait Read: FnMut(u32, &mut CellBytes) -> Result<(), Unreadable> {}

impl<R: FnMut(u32, &mut CellBytes) -> Result<(), Unreadable>> Read for R {}

/// One sector and its number.
struct Buffer {
    bytes: CellBytes,
    number: Option<u32>,
}

impl Buffer {
    fn load(&mut self, sectors: &mut impl Read, sector: u32) -> Result<(), NotFound> {
        if self.number != Some(sector) {
            self.number = None;
            sectors(sector, &mut self.bytes).map_err(|Unreadable| NotFound::Fault)?;
            self.number = Some(sector);
        }
        Ok(())
    }

    fn field<const N: usize>(&self, at: usize) -> [u8; N] {
        let rest = self.bytes.get(at..).unwrap_or_default();
        rest.first_chunk().copied().unwrap_or([0; N])
    }

    fn byte(&self, at: usize) -> u32 {
        u8::from_le_bytes(self.field(at)).into()
    }

    fn half(&self, at: usize) -> u32 {
        u16::from_le_bytes(self.field(at)).into()
    }

    fn word(&self, at: usize) -> u32 {
        u32::from_le_bytes(self.field(at))
    }

    fn is_signed(&self) -> bool {
        self.half(510) == 0xAA55
    }

    /// A boot sector of FAT32 with sectors of 512 bytes: no root folder of fixed size, no 16-bit FAT, one or two FATs.
    fn is_fat32(&self) -> bool {
        self.is_signed()
            && self.half(11) == CELL as u32
            && self.byte(13).is_power_of_two()
            && matches!(self.byte(16), 1 | 2)
            && self.half(17) == 0
            && self.half(22) == 0
            && self.word(36) > 0
    }
}

fn volume(sectors: &mut impl Read, buffer: &mut Buffer) -> Result<Volume, NotFound> {
    buffer.load(sectors, 0)?;
    let mut start = 0;
    if !buffer.is_fat32() {
        // The first of four partitions: its type at 450, its first sector at 454.
        if !buffer.is_signed() || !matches!(buffer.byte(450), 0x0B | 0x0C) {
            return Err(NotFound::NotFat32);
        }
        start = buffer.word(454);
        buffer.load(sectors, start)?;
        if !buffer.is_fat32() {
            return Err(NotFound::NotFat32);
        }
    }
    let sectors_per_cluster = buffer.byte(13);
    let before_data = buffer
        .word(36)
        .checked_mul(buffer.byte(16))
        .and_then(|fats| fats.checked_add(buffer.half(14)))
        .ok_or(NotFound::NotFat32)?;
    let fat = start.checked_add(buffer.half(14));
    let data = start.checked_add(before_data);
    let inside = buffer.word(32).checked_sub(before_data);
    let (Some(fat), Some(data), Some(inside)) = (fat, data, inside) else {
        return Err(NotFound::NotFat32);
    };
    Ok(Volume {
        sectors_per_cluster,
        fat,
        fat_sectors: buffer.word(36),
        fats: buffer.byte(16),
        data,
        root: buffer.word(44),
        clusters: inside / sectors_per_cluster,
    })
}

/// The cluster that follows another, in one of the FATs.
fn link(
    sectors: &mut impl Read,
    buffer: &mut Buffer,
    volume: &Volume,
    (fat, cluster): (u32, u32),
) -> Result<u32, NotFound> {
    let fat = (volume.fat).saturating_add(fat.saturating_mul(volume.fat_sectors));
    let sector = fat.saturating_add(cluster / LINKS);
    buffer.load(sectors, sector)?;
    Ok(buffer.word((cluster % LINKS * 4) as usize) & 0x0FFF_FFFF)
}

/// First cluster and size in bytes of a file in the root folder.
fn entry(
    sectors: &mut impl Read,
    buffer: &mut Buffer,
    volume: &Volume,
    name: &[u8; 11],
) -> Result<(u32, u32), NotFound> {
    let mut cluster = volume.root;
    let mut searched = 0;
    loop {
        let first = volume.sector_of(cluster).ok_or(NotFound::NoSuchFile)?;
        for sector in first..first.saturating_add(volume.sectors_per_cluster) {
            buffer.load(sectors, sector)?;
            for at in (0..CELL).step_by(32) {
                let found = buffer.bytes.get(at..at + 11);
                if found.and_then(<[u8]>::first) == Some(&0) {
                    return Err(NotFound::NoSuchFile);
                }
                // A file, not a folder, a volume label or part of a long name.
                if found == Some(name) && buffer.byte(at + 11) & 0x18 == 0 {
                    let cluster = (buffer.half(at + 20) << 16) + buffer.half(at + 26);
                    return Ok((cluster, buffer.word(at + 28)));
                }
            }
            searched += 1;
            if searched >= MAX_FOLDER_SECTORS {
                return Err(NotFound::NoSuchFile);
            }
        }
        cluster = link(sectors, buffer, volume, (0, cluster))?;
    }
}
