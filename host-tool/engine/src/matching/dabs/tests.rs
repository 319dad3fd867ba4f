//! A short bead belongs to the weld that it comes right after or right before.

use super::*;
use crate::matching::samples::bead;

fn found(role: Role, basis: Basis) -> BeadMatch {
    BeadMatch {
        role,
        basis,
        confidence: 0.95,
        or_else: None,
    }
}

fn on(weld: u16) -> BeadMatch {
    found(Role::Weld { weld, run: 1 }, Basis::Alignment)
}

fn tack() -> BeadMatch {
    found(Role::Tack, Basis::Alignment)
}

/// Beads of one second, each after such a pause, joined.
fn joined<const N: usize>(beads: [(f64, BeadMatch); N]) -> [BeadMatch; N] {
    let mut now = 0.0;
    let times = beads.map(|(pause, _)| {
        let bead = bead(1, now + pause, 1.0);
        now = bead.end.0;
        bead
    });
    let mut matches = beads.map(|(_, found)| found);
    join(&times, &mut matches);
    matches
}

#[test]
fn a_dab_that_fills_the_crater_belongs_to_the_weld_before() {
    assert_eq!(joined([(9.0, on(1)), (1.5, tack())]), [on(1), on(1)]);
    // The welder had time to move.
    assert_eq!(joined([(9.0, on(1)), (1.625, tack())]), [on(1), tack()]);
}

#[test]
fn a_start_that_did_not_catch_belongs_to_the_weld_after() {
    assert_eq!(joined([(9.0, tack()), (1.5, on(1))]), [on(1), on(1)]);
    assert_eq!(joined([(9.0, tack()), (1.625, on(1))]), [tack(), on(1)]);
    // The first of all has none before, the last none after.
    assert_eq!(joined([(1.0, tack())]), [tack()]);
}

#[test]
fn between_two_welds_it_fills_the_crater_of_the_first() {
    assert_eq!(
        joined([(9.0, on(1)), (1.0, tack()), (1.0, on(2))]),
        [on(1), on(1), on(2)]
    );
    assert_eq!(
        joined([(9.0, on(1)), (2.0, tack()), (1.0, on(2))]),
        [on(1), on(2), on(2)]
    );
}

#[test]
fn two_dabs_in_a_row_belong_to_the_same_weld() {
    assert_eq!(
        joined([(9.0, on(1)), (1.0, tack()), (1.0, tack())]),
        [on(1); 3]
    );
}

#[test]
fn a_dab_on_a_weld_that_was_done_again_was_replaced_with_it() {
    let replaced = found(Role::Replaced { weld: 1 }, Basis::Marker);
    assert_eq!(joined([(9.0, replaced), (1.0, tack())]), [replaced; 2]);
}

#[test]
fn only_a_weld_takes_a_short_bead() {
    for role in [Role::Tack, Role::Scrap, Role::Extra] {
        let beside = found(role, Basis::Alignment);
        assert_eq!(joined([(9.0, beside), (1.0, tack())]), [beside, tack()]);
    }
}

#[test]
fn a_bead_that_is_no_tack_stays_what_it_is() {
    for role in [Role::Weld { weld: 2, run: 1 }, Role::Extra] {
        let own = found(role, Basis::Alignment);
        assert_eq!(joined([(9.0, on(1)), (1.0, own)]), [on(1), own]);
    }
}

#[test]
fn what_the_user_said_stays() {
    // That it is a tack.
    let by_hand = found(Role::Tack, Basis::Hand);
    assert_eq!(joined([(9.0, on(1)), (1.0, by_hand)]), [on(1), by_hand]);
    // And which beads a weld has.
    let weld = found(Role::Weld { weld: 1, run: 1 }, Basis::Hand);
    assert_eq!(joined([(9.0, weld), (1.0, tack())]), [weld, tack()]);
}
