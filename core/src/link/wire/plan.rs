//! The header and the welds of a plan.

use super::payload::{Fault, put, require};
use crate::framing::codes;
use crate::link::plan::{COMPONENTS, MAX_PLANNED, PlanHeader, PlannedWeld};
use crate::sequence::Side;
use crate::units::{Celsius, Joules, Millimetres};
use heapless::String;

/// Index, number, joint, side, before, position, moment; energy, efficiency, length, interpass (0 for none), wall, girth,
/// walls.
pub(super) type WeldWire = (
    (u8, u16, u8, u8, u64, [i32; 3], [i32; COMPONENTS]),
    (f32, f32, f32, f32, f32, f32, u8),
);
pub(super) type HeaderWire = (String<48>, u8, u8, [i32; COMPONENTS], f32);

/// The most bytes of a weld: three for a `u16`, ten for a `u64`, five for each of ten `i32`, four for each of six
/// `f32`, and four single bytes.
pub(in crate::link) const MAX_WELD: usize = 3 + 10 + 10 * 5 + 6 * 4 + 4;

codes!(side_code, side, Side { Either = 0, Front = 1, Back = 2 });

/// Writes a weld of a plan; gives its length.
pub(in crate::link) fn write_weld(weld: &PlannedWeld, buffer: &mut [u8]) -> Option<usize> {
    let wire: WeldWire = (
        (
            weld.index,
            weld.number,
            weld.joint,
            side_code(weld.side),
            weld.before,
            weld.at_mm,
            weld.moment,
        ),
        (
            weld.energy.0 as f32,
            weld.efficiency,
            weld.length.0 as f32,
            weld.interpass.map_or(0.0, |limit| limit.0 as f32),
            weld.wall.0 as f32,
            weld.girth.0 as f32,
            weld.walls,
        ),
    );
    put(&wire, buffer)
}

pub(super) fn read_weld(
    (
        (index, number, joint, side_code, before, at_mm, moment),
        (energy, efficiency, length, interpass, wall, girth, walls),
    ): WeldWire,
) -> Result<PlannedWeld, Fault> {
    require(usize::from(index) < MAX_PLANNED && number > 0)?;
    require(before >> index == 0)?;
    require(at_mm.iter().all(|mm| mm.unsigned_abs() <= 100_000))?;
    require(moment.iter().all(|part| part.unsigned_abs() <= 1 << 20))?;
    require(energy > 0.0 && energy < 1e9 && efficiency > 0.0 && efficiency <= 1.0)?;
    require(length > 0.0 && length < 1e5 && (0.0..=1000.0).contains(&interpass))?;
    require((0.5..=20.0).contains(&wall) && (10.0..=2000.0).contains(&girth))?;
    require((1..=4).contains(&walls))?;
    Ok(PlannedWeld {
        index,
        number,
        joint,
        side: side(side_code).ok_or(Fault::Value)?,
        before,
        at_mm,
        moment,
        energy: Joules(energy.into()),
        efficiency,
        length: Millimetres(length.into()),
        interpass: (interpass > 0.0).then_some(Celsius(interpass.into())),
        wall: Millimetres(wall.into()),
        girth: Millimetres(girth.into()),
        walls,
    })
}

pub(super) fn write_header(header: &PlanHeader) -> HeaderWire {
    (
        header.title.clone(),
        header.welds,
        header.max_flips,
        header.before,
        header.start.0 as f32,
    )
}

pub(super) fn read_header(
    (title, welds, max_flips, before, start): HeaderWire,
) -> Result<PlanHeader, Fault> {
    require(welds > 0 && (-20.0..=300.0).contains(&start))?;
    require(before.iter().all(|part| part.unsigned_abs() <= 1 << 28))?;
    Ok(PlanHeader {
        title,
        welds,
        max_flips,
        before,
        start: Celsius(start.into()),
    })
}
