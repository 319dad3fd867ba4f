//! A member as a bar that is bent to one of its sides.

use crate::formulas::bending::{Bar, BarMetal, Block, Profile, Wall};
use crate::job::model::{Member, Point};
use crate::material::Material;
use crate::section::{Section, Shape};
use coldsquare_core::formula::FormulaError;

/// Slope of the stress beyond yield over Young's modulus: the usual value of a bilinear model of steel, EN 1993-1-5:2006,
/// C.6 (from memory).
pub const HARDENING: f64 = 0.01;

/// The section as it bends in its depth or, with `in_width`, in its width. Root fillets of angles and channels are left
/// out; both are assumed to be guided in the plane of bending.
///
/// # Errors
/// [`FormulaError`] when a size is out of range.
pub fn profile(section: &Section, in_width: bool) -> Result<Profile, FormulaError> {
    let in_plane = |depth: f64, width: f64| {
        if in_width {
            (width, depth)
        } else {
            (depth, width)
        }
    };
    match *section.shape() {
        Shape::Box {
            depth_mm,
            width_mm,
            wall_mm,
            outer_radius_mm,
            inner_radius_mm,
        } => {
            let (depth, width) = in_plane(depth_mm, width_mm);
            Profile::tube(depth, width, wall_mm, [outer_radius_mm, inner_radius_mm])
        }
        Shape::Tube {
            diameter_mm,
            wall_mm,
        } => Profile::round_tube(diameter_mm, wall_mm),
        Shape::Round { diameter_mm } => Profile::round_bar(diameter_mm),
        Shape::Bar { depth_mm, width_mm } => {
            let (depth, width) = in_plane(depth_mm, width_mm);
            Profile::bar(depth, width)
        }
        Shape::Angle {
            depth_mm,
            width_mm,
            thickness_mm,
            ..
        } => {
            let (depth, width) = in_plane(depth_mm, width_mm);
            angle(depth, width, thickness_mm)
        }
        Shape::Channel {
            depth_mm,
            width_mm,
            web_mm,
            flange_mm,
            ..
        } if in_width => channel_in_width([depth_mm, width_mm], web_mm, flange_mm),
        Shape::Channel {
            depth_mm,
            width_mm,
            web_mm,
            flange_mm,
            ..
        } => channel_in_depth([depth_mm, width_mm], web_mm, flange_mm),
    }
}

fn angle(depth_mm: f64, width_mm: f64, thickness_mm: f64) -> Result<Profile, FormulaError> {
    let leg = metal(0.0, thickness_mm, width_mm);
    let upright = metal(thickness_mm, depth_mm, thickness_mm);
    Profile::of_blocks(&[leg, upright], Wall::Solid, thickness_mm)
}

fn channel_in_width(
    [depth_mm, width_mm]: [f64; 2],
    web_mm: f64,
    flange_mm: f64,
) -> Result<Profile, FormulaError> {
    let web = metal(0.0, web_mm, depth_mm);
    let flanges = metal(web_mm, width_mm, 2.0 * flange_mm);
    Profile::of_blocks(&[web, flanges], Wall::Solid, web_mm.min(flange_mm))
}

fn channel_in_depth(
    [depth_mm, width_mm]: [f64; 2],
    web_mm: f64,
    flange_mm: f64,
) -> Result<Profile, FormulaError> {
    let lower = metal(0.0, flange_mm, width_mm);
    let web = metal(flange_mm, depth_mm - flange_mm, web_mm);
    let upper = metal(depth_mm - flange_mm, depth_mm, width_mm);
    Profile::of_blocks(&[lower, web, upper], Wall::Solid, web_mm.min(flange_mm))
}

fn metal(low_mm: f64, high_mm: f64, width_mm: f64) -> Block {
    Block {
        low_mm,
        high_mm,
        width_mm,
        radius_mm: 0.0,
        hollow: false,
    }
}

/// A member bent towards a direction across it.
///
/// # Errors
/// [`FormulaError`] when a size or a number of the metal is out of range.
pub fn bar(member: &Member, towards: Point, material: &Material) -> Result<Bar, FormulaError> {
    let in_width = member.depth_axis.dot(towards).abs() < 0.5;
    let profile = profile(&member.section, in_width)?;
    Bar::new(
        profile,
        BarMetal {
            modulus_mpa: material.youngs_modulus_mpa,
            yield_mpa: material.yield_mpa,
            hardening: HARDENING,
        },
    )
}
