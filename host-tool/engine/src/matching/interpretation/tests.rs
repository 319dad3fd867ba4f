//! The order that the welder meant, from markers and the planned order.

use super::*;
use crate::matching::model::{Assignment, BeadTime, ExpectedWeld, Target};
use crate::matching::samples::{bead, input, marker, weld};
use Item::{Bead, Redo, Visit};

const NEXT: MarkerKind = MarkerKind::Next;
const DONE: MarkerKind = MarkerKind::Done;
const SKIP: MarkerKind = MarkerKind::Skip;
const REDO: MarkerKind = MarkerKind::Redo;

/// The ways to read these markers. Welds are 1 to 4, planned in that order; beads have their middles at 15 s, 35 s, 55 s
/// and 75 s. A weld made by hand has the last bead.
fn read_with(markers: &[Marker], by_hand: Option<u16>) -> Vec<Interpretation> {
    let welds: Vec<ExpectedWeld> = (1..=4).map(|number| weld(number, 10.0)).collect();
    let beads: Vec<BeadTime> = (0..4)
        .map(|k| bead(k + 1, 10.0 + 20.0 * f64::from(k), 10.0))
        .collect();
    let by_hand: Vec<Assignment> = by_hand
        .map(|weld| Assignment {
            bead: 4,
            target: Target::Weld(weld),
        })
        .into_iter()
        .collect();
    let input = MatchInput {
        markers,
        by_hand: &by_hand,
        ..input(&welds, &beads)
    };
    let matches = crate::matching::by_hand::by_hand(&input).expect("it is there");
    let open = Unassigned::new(&input, &matches);
    Markers::new(&input).interpretations(&input, &open)
}

fn read(markers: &[Marker]) -> Vec<Interpretation> {
    read_with(markers, None)
}

/// The only way.
fn only(markers: &[Marker]) -> Interpretation {
    let ways = read(markers);
    assert_eq!(ways.len(), 1);
    ways.into_iter().next().expect("one")
}

/// As planned from each marker on, and each weld on its own.
fn both(markers: &[Marker]) -> [Interpretation; 2] {
    read(markers).try_into().expect("two ways")
}

/// Numbers of welds in order.
fn order(way: &Interpretation) -> Vec<usize> {
    way.slots.iter().map(|slot| slot.weld + 1).collect()
}

fn markers_before(way: &Interpretation) -> Vec<usize> {
    way.slots.iter().map(|slot| slot.markers_before).collect()
}

const BEADS: [Item; 4] = [Bead(0), Bead(1), Bead(2), Bead(3)];

#[test]
fn without_markers_the_order_is_the_planned_one() {
    let way = only(&[]);
    assert_eq!(order(&way), [1, 2, 3, 4]);
    assert_eq!(way.items, BEADS);
    assert_eq!(markers_before(&way), [0; 4]);
    assert_eq!(way.markers_before, [0; 4]);
    assert_eq!(way.after_marker, [false; 4]);
    assert!(way.named.is_empty());
    for slot in &way.slots {
        assert_eq!((slot.left_out, slot.made), (LEFT_OUT, MADE));
    }
}

#[test]
fn a_marker_opens_a_stretch_of_the_order_or_a_single_weld() {
    let [planned, visits] = both(&[marker(NEXT, 5.0, 3), marker(NEXT, 40.0, 1)]);
    // From 3 on to the end, then from 1 on.
    assert_eq!(order(&planned), [3, 4, 1, 2]);
    assert_eq!(markers_before(&planned), [1, 1, 2, 2]);
    assert_eq!(planned.items, BEADS);
    assert_eq!(planned.markers_before, [1, 1, 2, 2]);
    assert_eq!(planned.after_marker, [true, false, true, false]);
    // 3 alone and 1 alone; the others follow the order.
    assert_eq!(order(&visits), [2, 4]);
    assert_eq!(
        visits.items,
        [Visit(2), Bead(0), Bead(1), Visit(0), Bead(2), Bead(3)]
    );
    assert_eq!(markers_before(&visits), [0, 0]);
    assert_eq!(visits.markers_before, [0; 6]);
    assert_eq!(
        visits.after_marker,
        [true, false, false, true, false, false]
    );
    for way in [planned, visits] {
        assert_eq!(way.named, [0, 2]);
    }
}

#[test]
fn what_no_marker_opens_goes_on_from_the_beginning() {
    let [planned, visits] = both(&[marker(NEXT, 20.0, 3)]);
    assert_eq!(order(&planned), [1, 2, 3, 4]);
    assert_eq!(markers_before(&planned), [0, 0, 1, 1]);
    assert_eq!(planned.markers_before, [0, 1, 1, 1]);
    assert_eq!(order(&visits), [1, 2, 4]);
}

#[test]
fn where_a_stretch_is_a_single_weld_there_is_one_way_to_read_it() {
    let way = only(&[marker(NEXT, 60.0, 4)]);
    assert_eq!(order(&way), [1, 2, 3, 4]);
    assert_eq!(markers_before(&way), [0, 0, 0, 1]);
}

#[test]
fn a_weld_is_opened_and_finished() {
    let [planned, _] = both(&[marker(NEXT, 20.0, 2), marker(DONE, 45.0, 2)]);
    assert_eq!(order(&planned), [1, 2, 3, 4]);
    // The second weld comes after its opening and before its finishing.
    assert_eq!(markers_before(&planned), [0, 1, 2, 2]);
    assert_eq!(planned.markers_before, [0, 1, 2, 2]);
    assert_eq!(planned.named, [1]);
}

#[test]
fn a_stretch_without_an_opening_has_the_time_of_its_finishing() {
    // 3 is opened first, and 2 finished later: 1 and 2 are made after 3 and 4.
    let [planned, _] = both(&[marker(NEXT, 5.0, 3), marker(DONE, 65.0, 2)]);
    assert_eq!(order(&planned), [3, 4, 1, 2]);
    assert_eq!(markers_before(&planned), [1; 4]);
    assert_eq!(planned.markers_before, [1, 1, 1, 2]);
    // 3 was finished before 1: 2 belongs to the stretch that ends with 3, and 4 goes on from it.
    let way = read(&[marker(DONE, 25.0, 3), marker(DONE, 65.0, 1)]).remove(0);
    assert_eq!(order(&way), [2, 3, 4, 1]);
    assert_eq!(markers_before(&way), [0, 0, 1, 1]);
    // What follows a finished weld goes on from it.
    let way = read(&[marker(DONE, 45.0, 2)]).remove(0);
    assert_eq!(order(&way), [1, 2, 3, 4]);
    assert_eq!(markers_before(&way), [0, 0, 1, 1]);
}

#[test]
fn a_weld_opened_for_the_second_time_is_visited_again() {
    let [planned, visits] = both(&[
        marker(NEXT, 5.0, 1),
        marker(NEXT, 25.0, 3),
        marker(NEXT, 45.0, 1),
    ]);
    assert_eq!(order(&planned), [1, 2, 3, 4]);
    assert_eq!(
        planned.items,
        [Bead(0), Bead(1), Visit(0), Bead(2), Bead(3)]
    );
    // The first openings only.
    assert_eq!(markers_before(&planned), [1, 1, 2, 2]);
    assert_eq!(planned.markers_before, [1, 2, 2, 2, 2]);
    assert_eq!(order(&visits), [2, 4]);
    assert_eq!(
        visits.items,
        [
            Visit(0),
            Bead(0),
            Visit(2),
            Bead(1),
            Visit(0),
            Bead(2),
            Bead(3)
        ]
    );
}

#[test]
fn a_weld_passed_over_and_made_later_leaves_its_stretch() {
    let way = only(&[marker(SKIP, 20.0, 2), marker(NEXT, 65.0, 2)]);
    assert_eq!(order(&way), [1, 3, 4, 2]);
    assert_eq!(markers_before(&way), [0, 0, 0, 1]);
    assert_eq!(way.slots[3].left_out, OPENED_AND_LEFT_OUT);
    // Finished without being opened.
    let way = only(&[marker(SKIP, 20.0, 2), marker(DONE, 80.0, 2)]);
    assert_eq!(order(&way), [1, 3, 4, 2]);
    // Not made: it keeps its place.
    let way = only(&[marker(SKIP, 20.0, 2)]);
    assert_eq!(order(&way), [1, 2, 3, 4]);
    assert_eq!(markers_before(&way), [0; 4]);
}

/// A weld passed over between an opened stretch and the rest of it.
#[test]
fn a_stretch_goes_on_without_the_weld_passed_over() {
    let [planned, _] = both(&[
        marker(NEXT, 5.0, 2),
        marker(SKIP, 25.0, 3),
        marker(NEXT, 45.0, 3),
        marker(NEXT, 65.0, 1),
    ]);
    assert_eq!(order(&planned), [2, 4, 3, 1]);
    assert_eq!(markers_before(&planned), [1, 1, 2, 3]);
}

#[test]
fn what_markers_say_of_a_weld_sets_how_likely_it_is_made() {
    let way = read(&[
        marker(NEXT, 5.0, 1),
        marker(DONE, 45.0, 2),
        marker(SKIP, 50.0, 3),
    ])
    .remove(0);
    let costs = |weld: usize| {
        let slot = way.slots.iter().find(|slot| slot.weld + 1 == weld);
        slot.map(|slot| (slot.left_out, slot.made))
    };
    assert_eq!(costs(1), Some((OPENED_AND_LEFT_OUT, MADE)));
    assert_eq!(costs(2), Some((OPENED_AND_LEFT_OUT, MADE)));
    assert_eq!(costs(3), Some((SKIPPED_AND_LEFT_OUT, SKIPPED_AND_MADE)));
    assert_eq!(costs(4), Some((LEFT_OUT, MADE)));
    // Passing a weld over says nothing of what its bead is.
    assert_eq!(way.named, [0, 1]);
}

#[test]
fn a_weld_is_done_again_with_its_number_or_without() {
    let way = only(&[marker(REDO, 25.0, 2), marker(REDO, 45.0, None)]);
    assert_eq!(
        way.items,
        [
            Bead(0),
            Redo(Some(1)),
            Bead(1),
            Redo(None),
            Bead(2),
            Bead(3)
        ]
    );
    assert_eq!(way.after_marker, [false, true, false, true, false, false]);
    assert_eq!(way.named, [1]);
    assert_eq!(order(&way), [1, 2, 3, 4]);
}

/// The second bead has its middle at 35 s.
#[test]
fn a_marker_in_the_middle_of_a_bead_comes_before_it() {
    let way = |at| read(&[marker(DONE, at, 1)]).remove(0);
    assert_eq!(way(35.0).after_marker, [false, true, false, false]);
    assert_eq!(way(35.0).markers_before, [0, 1, 1, 1]);
    assert_eq!(way(35.1).after_marker, [false, false, true, false]);
    assert_eq!(way(35.1).markers_before, [0, 0, 1, 1]);
}

#[test]
fn a_weld_with_beads_by_hand_and_its_beads_are_out_of_it() {
    let markers = [marker(NEXT, 5.0, 3), marker(REDO, 25.0, 3)];
    let ways = read_with(&markers, Some(3));
    assert_eq!(ways.len(), 1);
    assert_eq!(order(&ways[0]), [1, 2, 4]);
    assert_eq!(ways[0].items, BEADS[..3]);
    assert_eq!(markers_before(&ways[0]), [0; 3]);
}
