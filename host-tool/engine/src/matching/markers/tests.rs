//! Which markers count, and for what.

use super::*;
use crate::matching::model::ExpectedWeld;
use crate::matching::samples::{bead, input, marker, weld};
use MarkerKind::{Done, Next, Redo, Scrap, Skip, Undo};

/// Beads from 10 s to 20 s, from 40 s to 50 s and from 70 s to 80 s; welds 1, 2 and 3.
fn read(markers: &[Marker]) -> Markers {
    let welds: Vec<ExpectedWeld> = (1..=3).map(|number| weld(number, 10.0)).collect();
    let beads = [
        bead(1, 10.0, 10.0),
        bead(2, 40.0, 10.0),
        bead(3, 70.0, 10.0),
    ];
    Markers::new(&MatchInput {
        markers,
        ..input(&welds, &beads)
    })
}

fn counted(markers: &[Marker]) -> Vec<(MarkerKind, f64)> {
    let list = read(markers).list;
    list.iter().map(|one| (one.kind, one.at.0)).collect()
}

#[test]
fn the_middle_of_a_bead_is_between_its_start_and_its_end() {
    let mut stopped = bead(1, 10.0, 4.0);
    stopped.end.0 = 17.0;
    assert_eq!(middle(&stopped), 13.5);
}

#[test]
fn undo_takes_back_the_marker_before_it_and_no_other() {
    assert_eq!(
        counted(&[
            marker(Done, 21.0, 1),
            marker(Skip, 22.0, 2),
            marker(Undo, 23.0, None),
        ]),
        [(Done, 21.0)]
    );
    // Twice: the two before.
    assert_eq!(
        counted(&[
            marker(Done, 21.0, 1),
            marker(Skip, 22.0, 2),
            marker(Undo, 23.0, None),
            marker(Undo, 24.0, None),
            marker(Skip, 25.0, 3),
        ]),
        [(Skip, 25.0)]
    );
    assert_eq!(counted(&[marker(Undo, 1.0, None)]), []);
    // A bead is scrap no more.
    let read = read(&[marker(Scrap, 21.0, None), marker(Undo, 23.0, None)]);
    assert_eq!(read.scrapped(1), None);
}

#[test]
fn numbers_that_no_weld_has_are_named_once_and_in_order() {
    let read = read(&[
        marker(Done, 21.0, 9),
        marker(Done, 22.0, 3),
        marker(Skip, 23.0, 7),
        marker(Skip, 24.0, 9),
    ]);
    assert_eq!(read.unknown, [7, 9]);
    assert_eq!(read.list, [marker(Done, 22.0, 3)]);
}

#[test]
fn scrap_is_the_bead_just_made() {
    let scrapped = |at| {
        let read = read(&[marker(Scrap, at, None)]);
        let found = [1, 2, 3].map(|bead| read.scrapped(bead).is_some());
        assert_eq!(read.list.len(), 1);
        found
    };
    assert_eq!(scrapped(30.0), [true, false, false]);
    assert_eq!(scrapped(60.0), [false, true, false]);
    // While it burns, from its start on.
    assert_eq!(scrapped(40.0), [false, true, false]);
    assert_eq!(scrapped(39.9), [true, false, false]);
    // None was made yet.
    assert_eq!(scrapped(5.0), [false; 3]);

    let scrap = read(&[marker(Scrap, 60.0, None)]).scrapped(2);
    let scrap = scrap.expect("the second is scrap");
    assert_eq!((scrap.role, scrap.basis), (Role::Scrap, Basis::Marker));
    assert_eq!((scrap.confidence, scrap.or_else), (1.0, None));
}

#[test]
fn of_the_welds_leafed_through_only_the_last_is_opened() {
    assert_eq!(
        counted(&[
            marker(Next, 1.0, 1),
            marker(Next, 2.0, 2),
            marker(Next, 3.0, 3),
            marker(Redo, 30.0, 1),
            marker(Next, 31.0, 2),
        ]),
        [(Next, 3.0), (Next, 31.0)]
    );
    // No bead after it.
    assert_eq!(
        counted(&[marker(Next, 3.0, 1), marker(Next, 85.0, 2)]),
        [(Next, 3.0)]
    );
    assert_eq!(counted(&[marker(Redo, 85.0, None)]), []);
}

#[test]
fn markers_that_open_nothing_are_kept_and_do_not_part_those_that_do() {
    let all = [
        marker(Next, 1.0, 1),
        marker(Done, 21.0, 1),
        marker(Skip, 22.0, 2),
        marker(Scrap, 23.0, None),
        marker(Next, 30.0, 3),
        marker(Done, 90.0, 3),
    ];
    assert_eq!(read(&all).list, all);
    // Between the opening and its bead.
    let all = [
        marker(Next, 1.0, 1),
        marker(Skip, 2.0, 2),
        marker(Next, 30.0, 3),
    ];
    assert_eq!(read(&all).list, all);
}

/// The first bead has its middle at 15 s.
#[test]
fn a_marker_in_the_second_half_of_a_bead_is_for_the_next() {
    let second = marker(Next, 60.0, 3);
    let opened = |at| counted(&[marker(Next, at, 1), second]).len() == 2;
    // The bead at 40 s is left for a marker at 15.1 s.
    assert!(opened(14.9) && opened(15.0) && opened(15.1));
    // Another marker comes at 16 s: only the first half of the bead is left.
    let opened = |at| counted(&[marker(Next, at, 1), marker(Next, 16.0, 2)])[0].1 == at;
    assert!(opened(14.9) && opened(15.0) && !opened(15.1));
    // Another marker comes just in the middle: the bead is for that one.
    assert_eq!(
        counted(&[marker(Next, 5.0, 1), marker(Next, 15.0, 2)]),
        [(Next, 15.0)]
    );
}

#[test]
fn a_marker_is_found_by_its_kind_and_number() {
    let read = read(&[
        marker(Skip, 1.0, 2),
        marker(Done, 21.0, 1),
        marker(Skip, 22.0, 3),
    ]);
    assert_eq!(read.skipped().collect::<Vec<u16>>(), [2, 3]);
    assert_eq!(read.of(Done).count(), 1);
    assert_eq!(read.of(Next).count(), 0);
    assert!(read.has(Skip, 2) && read.has(Skip, 3) && read.has(Done, 1));
    assert!(!read.has(Skip, 1) && !read.has(Done, 2) && !read.has(Next, 1));
}
