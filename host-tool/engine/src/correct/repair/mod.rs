//! The options for one fault, each with how much, where, effort and risk.
//!
//! One file for each kind of option. An option that is not possible is listed all the same, with the reason.

mod bowed;
mod case;
mod clamps;
mod cut_loose;
mod heat;
mod in_frame;
mod leave;
mod opposite;
mod pre_camber;
mod press;
mod whole;

pub(super) use case::{Case, MemberBow};
pub(super) use clamps::add_clamps;

use super::bar::bar;
use super::model::{RepairKind, RepairOption};
use super::{Change, Settings};
use crate::job::model::Job;
use crate::movement::measures::{Measure, MeasureKind};
use bowed::BowedMember;
use case::{not_possible, sort};
use coldsquare_core::uncertainty::Uncertain;
use in_frame::InFrame;

/// Every option for a change: possible ones first, those with the least effort and risk first.
pub(super) fn options(case: &Case<'_>) -> Vec<RepairOption> {
    let mut options = vec![leave::leave(case)];
    match case.change.measure.kind {
        MeasureKind::Bow => options.extend(for_bow(case)),
        MeasureKind::Size => options.push(whole::cut_length(case)),
        _ => options.push(whole::pull(case)),
    }
    sort(&mut options);
    options
}

fn for_bow(case: &Case<'_>) -> Vec<RepairOption> {
    let Some(index) = case.change.measure.member else {
        return Vec::new();
    };
    let Some(member) = case.job.members.get(index) else {
        return Vec::new();
    };
    let bow = case.change.change_mm.value;
    if case.structural() {
        let kinds = if case.measured {
            &[
                RepairKind::Press,
                RepairKind::Heat,
                RepairKind::OppositeWeld,
            ][..]
        } else {
            &[RepairKind::PreCamber][..]
        };
        let refused = |&kind: &RepairKind| not_possible(kind, STRUCTURAL);
        return kinds.iter().map(refused).collect();
    }
    let side = case.change.measure.terms[0].direction * if bow < 0.0 { -1.0 } else { 1.0 };
    let bar = match bar(member, side, &case.job.material) {
        Ok(bar) => bar,
        Err(error) => return vec![not_possible(RepairKind::Press, error.to_string())],
    };
    let bowed = BowedMember {
        case,
        bar,
        member: index,
        side,
        length_mm: (member.to - member.from).length(),
    };
    if case.measured {
        let frame = match InFrame::new(&bowed) {
            Ok(frame) => frame,
            Err(error) => return vec![not_possible(RepairKind::Press, error.to_string())],
        };
        let mut options = heat::heat(&bowed, &frame);
        options.push(press::press(&bowed, &frame));
        options.push(opposite::opposite(&bowed, &frame));
        options.extend(cut_loose::cut_loose(&bowed, &frame));
        options
    } else {
        vec![pre_camber::pre_camber(&bowed)]
    }
}

/// Whether a member can be bowed the other way before welding, against a predicted bow: it is not structural, the bow is
/// larger than its uncertainty, and bending does not strain the wall too far.
#[must_use]
pub fn can_be_pre_cambered(job: &Job, measure: &Measure, expected_mm: Uncertain) -> bool {
    let change = Change {
        measure,
        change_mm: expected_mm,
        history_mm: Vec::new(),
    };
    let case = Case {
        job,
        change: &change,
        measured: false,
        tolerance_mm: 0.0,
        bows: &[],
        settings: &Settings::default(),
    };
    let options = for_bow(&case);
    let mut options = options.iter();
    options.any(|option| option.kind == RepairKind::PreCamber && option.possible)
}

const STRUCTURAL: &str =
    "Refused: structural. The code that applies and a licensed engineer decide.";
