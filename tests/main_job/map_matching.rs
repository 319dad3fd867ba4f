//! Beads go to the welds that they made, whatever was left out, added, stopped or done again.

use coldsquare_core::units::Seconds;
use coldsquare_engine::matching::{
    Assignment, Basis, BeadTime, CERTAIN_FROM, ExpectedWeld, Hole, Marker, MarkerKind, MatchError,
    MatchInput, Matching, Role, Target, match_beads,
};
use proptest::prelude::*;

/// A build in the making: what was planned, what happened.
#[derive(Clone, Debug, Default)]
struct Build {
    welds: Vec<ExpectedWeld>,
    beads: Vec<BeadTime>,
    markers: Vec<Marker>,
    by_hand: Vec<Assignment>,
    holes: Vec<Hole>,
    now: f64,
}

impl Build {
    fn planned(arc_times: &[f64]) -> Self {
        let weld = |(index, &arc_time): (usize, &f64)| ExpectedWeld {
            number: index as u16 + 1,
            arc_time: Seconds(arc_time),
            runs: 1,
        };
        Self {
            welds: arc_times.iter().enumerate().map(weld).collect(),
            ..Self::default()
        }
    }

    /// The welder moves for a while, then burns.
    fn bead(&mut self, pause: f64, arc_time: f64) -> u32 {
        let start = self.now + pause;
        self.now = start + arc_time;
        let number = self.beads.len() as u32 + 1;
        self.beads.push(BeadTime {
            number,
            start: Seconds(start),
            end: Seconds(self.now),
            arc_time: Seconds(arc_time),
            may_be_missing: Seconds(0.0),
        });
        number
    }

    fn say(&mut self, kind: MarkerKind, weld: impl Into<Option<u16>>) {
        self.now += 1.0;
        self.markers.push(Marker {
            at: Seconds(self.now),
            kind,
            weld: weld.into(),
        });
    }

    fn matched(&self) -> Matching {
        self.try_match().expect("nothing by hand is wrong")
    }

    fn try_match(&self) -> Result<Matching, MatchError> {
        match_beads(&MatchInput {
            welds: &self.welds,
            beads: &self.beads,
            markers: &self.markers,
            holes: &self.holes,
            by_hand: &self.by_hand,
            tack_below: None,
        })
    }

    fn roles(&self) -> Vec<Role> {
        self.matched()
            .beads
            .iter()
            .map(|place| place.role)
            .collect()
    }
}

fn on(weld: u16) -> Role {
    Role::Weld { weld, run: 1 }
}

/// Arc times in seconds; neighbours differ by a factor of two or more, so each has its place.
fn distinct(least: usize) -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(0usize..3, least..25).prop_map(|steps| {
        let mut level = 0;
        let next = |step: usize| {
            level = (level + 1 + step % 2) % 3;
            [4.0, 9.0, 20.0][level]
        };
        steps.into_iter().map(next).collect()
    })
}

fn made_as_planned(arc_times: &[f64]) -> Build {
    let mut build = Build::planned(arc_times);
    for &arc_time in arc_times {
        build.bead(15.0, arc_time * 1.05);
    }
    build
}

proptest! {
    #[test]
    fn each_bead_goes_to_one_place_and_the_order_is_kept(
        planned in prop::collection::vec(2.0..30.0f64, 1..12),
        seen in prop::collection::vec((0.5..40.0f64, 0.2..40.0f64), 0..20),
    ) {
        let mut build = Build::planned(&planned);
        for (pause, arc_time) in seen {
            build.bead(pause, arc_time);
        }
        let places = build.matched().beads;
        prop_assert_eq!(places.len(), build.beads.len());
        let welds: Vec<u16> = places.iter().filter_map(|place| place.role.weld()).collect();
        prop_assert!(welds.is_sorted(), "no marker says otherwise, so order holds: {welds:?}");
        prop_assert!(places.iter().all(|place| (0.0..=1.0).contains(&place.confidence)));
    }

    #[test]
    fn a_build_as_planned_is_matched_one_to_one(planned in distinct(2)) {
        let build = made_as_planned(&planned);
        let expected: Vec<Role> = (1..=planned.len() as u16).map(on).collect();
        prop_assert_eq!(build.roles(), expected);
    }

    #[test]
    fn without_one_bead_its_weld_is_missing_and_the_others_stay(
        // Fewer welds say too little about the welder's arc times to tell a gap from a build not finished.
        planned in distinct(8),
        which in any::<prop::sample::Index>(),
    ) {
        let mut build = made_as_planned(&planned);
        let gone = which.index(planned.len());
        build.beads.remove(gone);
        let expected: Vec<Role> =
            (1..=planned.len() as u16).filter(|&weld| usize::from(weld) != gone + 1).map(on).collect();
        prop_assert_eq!(build.roles(), expected);
    }

    #[test]
    fn a_bead_stopped_and_started_again_is_one_weld(
        planned in distinct(2),
        which in any::<prop::sample::Index>(),
        share in 0.4..0.6f64,
    ) {
        let stopped = which.index(planned.len());
        let mut build = Build::planned(&planned);
        let mut expected = Vec::new();
        for (index, &arc_time) in planned.iter().enumerate() {
            if index == stopped {
                build.bead(15.0, arc_time * share);
                build.bead(2.5, arc_time * (1.0 - share));
                expected.push(on(index as u16 + 1));
            } else {
                build.bead(15.0, arc_time);
            }
            expected.push(on(index as u16 + 1));
        }
        prop_assert_eq!(build.roles(), expected);
    }

    #[test]
    fn a_bead_that_fits_nothing_is_extra_and_moves_no_other(
        planned in distinct(2),
        which in any::<prop::sample::Index>(),
    ) {
        let before = which.index(planned.len() + 1);
        let mut build = Build::planned(&planned);
        let mut expected = Vec::new();
        for (index, &arc_time) in planned.iter().enumerate() {
            if index == before {
                build.bead(15.0, 70.0);
                expected.push(Role::Extra);
            }
            build.bead(15.0, arc_time);
            expected.push(on(index as u16 + 1));
        }
        prop_assert_eq!(build.roles(), expected);
    }

    #[test]
    fn with_a_marker_before_each_weld_any_order_is_read(
        order in prop::collection::vec(5.0..6.0f64, 2..20)
            .prop_map(|times| times.len() as u16)
            .prop_flat_map(|count| Just((1..=count).collect::<Vec<u16>>()).prop_shuffle()),
        kind in prop::sample::select(vec![MarkerKind::Next, MarkerKind::Done]),
    ) {
        // All alike: only the markers tell them apart.
        let mut build = Build::planned(&vec![6.0; order.len()]);
        for &weld in &order {
            if kind == MarkerKind::Next { build.say(kind, weld); }
            build.bead(10.0, 6.0);
            if kind == MarkerKind::Done { build.say(kind, weld); }
        }
        let matching = build.matched();
        let welds: Vec<u16> = matching.beads.iter().filter_map(|place| place.role.weld()).collect();
        prop_assert_eq!(welds, order);
        prop_assert!(matching.beads.iter().all(|place| place.basis == Basis::Marker));
    }

    #[test]
    fn the_users_word_wins_and_leaves_the_weld_to_these_beads(
        planned in distinct(2),
        bead in any::<prop::sample::Index>(),
        weld in any::<prop::sample::Index>(),
    ) {
        let mut build = made_as_planned(&planned);
        let (bead, weld) = (bead.index(planned.len()), weld.index(planned.len()) as u16 + 1);
        build.by_hand.push(Assignment { bead: bead as u32 + 1, target: Target::Weld(weld) });
        let matching = build.matched();
        for (index, place) in matching.beads.iter().enumerate() {
            prop_assert_eq!(place.role.weld() == Some(weld), index == bead);
        }
        prop_assert_eq!(matching.beads[bead].basis, Basis::Hand);
        prop_assert!(matching.beads[bead].confidence >= 1.0);
    }
}

#[test]
fn tacks_are_no_welds_and_a_crater_dab_belongs_to_its_weld() {
    let mut build = Build::planned(&[8.0, 8.0]);
    build.bead(5.0, 0.6);
    build.bead(5.0, 0.7);
    build.bead(20.0, 8.0);
    build.bead(1.0, 0.4);
    build.bead(12.0, 8.3);
    assert_eq!(build.roles(), [Role::Tack, Role::Tack, on(1), on(1), on(2)]);
}

#[test]
fn a_short_weld_is_no_tack_where_the_job_has_short_welds() {
    // 12 mm at 6 mm/s: infill bars are welded in two seconds.
    let mut build = Build::planned(&[2.0, 2.0]);
    build.bead(5.0, 0.7);
    build.bead(5.0, 1.8);
    build.bead(5.0, 2.1);
    assert_eq!(build.roles(), [Role::Tack, on(1), on(2)]);
}

#[test]
fn done_again_replaces_what_was_there_before() {
    let mut build = Build::planned(&[6.0, 6.0, 6.0]);
    build.bead(10.0, 6.0);
    build.bead(10.0, 6.0);
    build.say(MarkerKind::Redo, 1);
    build.bead(10.0, 6.5);
    build.bead(10.0, 6.0);
    let replaced = Role::Replaced { weld: 1 };
    assert_eq!(build.roles(), [replaced, on(2), on(1), on(3)]);
    // Without a number it is the weld just made.
    build.markers[0].weld = None;
    let replaced = Role::Replaced { weld: 2 };
    assert_eq!(build.roles(), [on(1), replaced, on(2), on(3)]);
}

#[test]
fn a_weld_passed_over_and_made_at_the_end_is_found() {
    let mut build = Build::planned(&[6.0; 5]);
    build.bead(10.0, 6.0);
    build.say(MarkerKind::Skip, 2);
    for _ in 0..3 {
        build.bead(10.0, 6.0);
    }
    assert_eq!(build.roles(), [on(1), on(3), on(4), on(5)]);
    assert_eq!(build.matched().skipped, [2]);
    build.say(MarkerKind::Next, 2);
    build.bead(10.0, 6.0);
    assert_eq!(build.roles(), [on(1), on(3), on(4), on(5), on(2)]);
    assert!(build.matched().skipped.is_empty());
}

#[test]
fn one_marker_can_open_a_stretch_or_a_single_weld() {
    // "Five first, then on from there; then back to three."
    let mut build = Build::planned(&[6.0; 8]);
    for next in [None, None, Some(5), None, None, None, Some(3), None] {
        if let Some(weld) = next {
            build.say(MarkerKind::Next, weld);
        }
        build.bead(10.0, 6.0);
    }
    assert_eq!(build.roles(), [1, 2, 5, 6, 7, 8, 3, 4].map(on));
    // Four welds went by in order without a word about the one left out, which came last.
    let mut build = Build::planned(&[6.0, 6.0, 15.0, 6.0, 20.0]);
    for arc_time in [6.0, 6.0, 6.0, 20.0] {
        build.bead(10.0, arc_time);
    }
    build.say(MarkerKind::Next, 3);
    build.bead(10.0, 15.0);
    assert_eq!(build.roles(), [1, 2, 4, 5, 3].map(on));
}

#[test]
fn a_short_bead_after_a_marker_is_that_weld_made_short() {
    // Weld 3 was made half as long; the last weld would fit its time, but was never opened and not made.
    let planned = [5.0, 5.0, 5.0, 2.6, 2.6, 2.6, 2.6, 2.6];
    let mut build = Build::planned(&planned);
    for (index, &arc_time) in planned[..7].iter().enumerate() {
        build.say(MarkerKind::Next, index as u16 + 1);
        build.bead(10.0, if index == 2 { 2.7 } else { arc_time });
    }
    assert_eq!(build.roles(), [1, 2, 3, 4, 5, 6, 7].map(on));
}

#[test]
fn leafing_through_the_welds_opens_only_the_last() {
    let mut build = Build::planned(&[6.0; 4]);
    for weld in 1..=3 {
        build.say(MarkerKind::Next, weld);
    }
    build.bead(10.0, 6.0);
    assert_eq!(build.roles(), [on(3)]);
}

#[test]
fn errors_scrap_and_unknown_numbers_are_heeded() {
    let mut build = Build::planned(&[6.0; 2]);
    build.say(MarkerKind::Next, 2);
    build.say(MarkerKind::Undo, None);
    build.bead(10.0, 6.0);
    build.say(MarkerKind::Scrap, None);
    build.bead(10.0, 6.0);
    build.say(MarkerKind::Next, 77);
    build.bead(10.0, 6.0);
    assert_eq!(build.roles(), [Role::Scrap, on(1), on(2)]);
    assert_eq!(build.matched().unknown_in_markers, [77]);
}

#[test]
fn several_runs_are_told_apart_also_when_one_was_stopped() {
    let mut build = Build::planned(&[20.0, 20.0]);
    build.welds[0].runs = 2;
    for (pause, arc_time) in [(10.0, 10.2), (12.0, 4.9), (2.0, 5.2), (15.0, 20.0)] {
        build.bead(pause, arc_time);
    }
    let run = |run| Role::Weld { weld: 1, run };
    assert_eq!(build.roles(), [run(1), run(2), run(2), on(2)]);
}

#[test]
fn what_cannot_be_known_is_said_to_be_in_doubt() {
    // Five equal welds, four equal beads: any could be the one left out, the last a little likelier than the others.
    let mut build = Build::planned(&[6.0; 5]);
    for _ in 0..4 {
        build.bead(10.0, 6.0);
    }
    let places = build.matched().beads;
    assert_eq!(build.roles(), [1, 2, 3, 4].map(on));
    assert!(
        places
            .windows(2)
            .all(|pair| pair[1].confidence < pair[0].confidence)
    );
    assert!(
        places[1..]
            .iter()
            .all(|place| place.confidence < CERTAIN_FROM)
    );
    assert_eq!(places[3].or_else, Some(on(5)));
    // With all five nothing is in doubt.
    build.bead(10.0, 6.0);
    assert!(
        build
            .matched()
            .beads
            .iter()
            .all(|place| place.confidence > CERTAIN_FROM)
    );
}

#[test]
fn a_build_that_is_not_finished_is_read_from_its_beginning() {
    let mut build = Build::planned(&[6.0, 9.0, 6.0, 9.0, 6.0, 9.0, 6.0, 9.0]);
    for arc_time in [6.0, 9.0, 6.0] {
        build.bead(10.0, arc_time);
    }
    assert_eq!(build.roles(), [1, 2, 3].map(on));
}

#[test]
fn what_is_not_there_cannot_be_named() {
    let mut build = made_as_planned(&[5.0, 10.0]);
    let mut refused = |text: &str| {
        build.by_hand = text
            .split(' ')
            .map(|one| one.parse().expect("readable"))
            .collect();
        build.try_match().expect_err("must be refused").to_string()
    };
    assert!(refused("3=1").starts_with("there is no bead 3: the log has beads 1 to 2"));
    assert!(refused("1=9").starts_with("there is no weld 9: the job has welds 1 to 2"));
    assert!(refused("1=2 1=tack").starts_with("bead 1 is assigned twice"));
    for text in ["", "1", "=2", "1=", "1=-2", "x=1", "1=1=1", "1=70000"] {
        assert!(text.parse::<Assignment>().is_err(), "{text:?}");
    }
}

/// Small generator of random numbers with a seed: the builds are the same on every machine.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as f64 + 0.5) / (1u64 << 31) as f64
    }

    fn once_in(&mut self, times: f64) -> bool {
        self.next() < 1.0 / times
    }

    /// Normal law by the sum of twelve.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() - 6.0
    }
}

/// A build of 28 welds in six lengths with tacks first; one weld in 40 left out, one in 15 stopped and started again,
/// one in 40 done again, one extra bead in 40; arc times spread by 15 % about a mean of the welder's own.
fn shop_build(seed: u64, markers: bool) -> (Build, Vec<Role>) {
    let mut chance = Chance(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let lengths = [3.0, 5.0, 8.0, 6.5, 12.0, 4.0];
    let planned: Vec<f64> = (0..28)
        .map(|_| lengths[(chance.next() * 6.0) as usize])
        .collect();
    let mut build = Build::planned(&planned);
    let mut truth = Vec::new();
    for _ in 0..12 {
        let length = 0.4 + 0.5 * chance.next();
        build.bead(4.0 + 6.0 * chance.next(), length);
        truth.push(Role::Tack);
    }
    let own = (0.25 * chance.normal()).exp();
    for (index, &expected) in planned.iter().enumerate() {
        let weld = index as u16 + 1;
        if chance.once_in(40.0) {
            if markers {
                build.say(MarkerKind::Skip, weld);
            }
            continue;
        }
        if chance.once_in(40.0) {
            let pause = 8.0 + 20.0 * chance.next();
            build.bead(pause, 3.0 + 20.0 * chance.next());
            truth.push(Role::Extra);
            if markers {
                build.say(MarkerKind::Scrap, None);
                truth.pop();
                truth.push(Role::Scrap);
            }
        }
        if markers {
            build.say(MarkerKind::Next, weld);
        }
        let arc_time = expected * own * (0.15 * chance.normal()).exp();
        let pause = 8.0 + 25.0 * chance.next();
        if chance.once_in(15.0) && arc_time > 4.0 {
            let share = 0.35 + 0.3 * chance.next();
            build.bead(pause, arc_time * share);
            build.bead(2.0 + 4.0 * chance.next(), arc_time * (1.0 - share));
            truth.push(on(weld));
        } else {
            build.bead(pause, arc_time);
        }
        truth.push(on(weld));
        if markers && chance.once_in(40.0) {
            let redone = truth.iter_mut().filter(|role| **role == on(weld));
            redone.for_each(|role| *role = Role::Replaced { weld });
            build.say(MarkerKind::Redo, weld);
            build.bead(30.0, arc_time);
            truth.push(on(weld));
        }
    }
    (build, truth)
}

/// Beads placed rightly, and of those said to be certain; out of how many.
fn score(markers: bool) -> (f64, f64, f64) {
    let (mut right, mut all, mut certain_right, mut certain) = (0u32, 0u32, 0u32, 0u32);
    for seed in 0..500 {
        let (build, truth) = shop_build(seed, markers);
        for (place, truth) in build.matched().beads.iter().zip(truth) {
            all += 1;
            right += u32::from(place.role == truth);
            if place.confidence >= CERTAIN_FROM {
                certain += 1;
                certain_right += u32::from(place.role == truth);
            }
        }
    }
    let share = |part: u32, whole: u32| f64::from(part) / f64::from(whole);
    let score = (
        share(right, all),
        share(certain, all),
        share(certain_right, certain),
    );
    println!(
        "markers {markers}: right {:.4}, certain {:.4}, of those right {:.4}",
        score.0, score.1, score.2
    );
    score
}

#[test]
fn five_hundred_builds_without_markers() {
    let (right, certain, certain_right) = score(false);
    assert!(right > 0.93, "{right} of the beads placed rightly");
    assert!(certain > 0.80, "{certain} of the beads said to be certain");
    assert!(certain_right > 0.97, "{certain_right} of those rightly");
}

#[test]
fn five_hundred_builds_with_markers() {
    let (right, certain, certain_right) = score(true);
    assert!(right > 0.995, "{right} of the beads placed rightly");
    assert!(certain > 0.98, "{certain} of the beads said to be certain");
    assert!(certain_right > 0.995, "{certain_right} of those rightly");
}
