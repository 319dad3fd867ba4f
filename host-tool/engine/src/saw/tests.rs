use super::*;
use crate::job::from_text;

fn list(text: &str) -> SawList {
    let job = from_text("job", text).expect("a whole job");
    SawList::new(&job, &Settings::of(&job))
}

const PROCEDURE: &str =
    "[procedure]\nprocess = 135\nvolts = [18, 20]\namps = [100, 125]\ntravel_speed = [8, 10]\n";

fn frame(size: &str) -> String {
    format!("[frame]\n{size}\n{PROCEDURE}")
}

#[test]
fn a_mitred_frame_is_cut_nose_to_tail_and_saves_the_overhangs() {
    let list = list(&frame(
        "width = 1200\nheight = 900\nsection = \"SHS 40x40x3\"",
    ));
    let [rails, uprights] = list.kinds.as_slice() else {
        panic!("two kinds: {:?}", list.kinds);
    };
    assert_eq!((rails.members.len(), uprights.members.len()), (2, 2));
    assert_eq!(rails.sides, Sides::OneSide);
    for (kind, long) in [(rails, 1200.0), (uprights, 900.0)] {
        assert!((kind.long_mm - long).abs() < 1e-9 && (kind.short_mm - (long - 80.0)).abs() < 1e-9);
        for end in kind.ends {
            assert!((end.mitre_degrees - 45.0).abs() < 1e-9 && end.bevel_degrees == 0.0);
        }
    }
    // 2 x 1200 + 2 x 900 long, three overhangs of 40 saved, and four cuts of 3 mm at 45 degrees.
    let used = list.bars[0].length_mm - list.bars[0].left_mm;
    let expected = 4200.0 - 3.0 * 40.0 + 4.0 * 3.0 * 2.0_f64.sqrt();
    assert!((used - expected).abs() < 1e-6, "{used} {expected}");
}

#[test]
fn a_flat_section_says_on_which_face_it_lies() {
    // The mitre runs over the face that is seen from the front, and the piece lies on that face.
    let lies_on = ["depth", "width"].map(|front| {
        let text = format!(
            "width = 1200\nheight = 900\nsection = \"RHS 50x30x3\"\nfront_face = \"{front}\""
        );
        let list = list(&frame(&text));
        let lying = list.kinds[0].lies_on_mm.expect("two faces to choose from");
        let overhangs = list.kinds[0].long_mm - list.kinds[0].short_mm;
        assert!((overhangs - 2.0 * lying).abs() < 1e-6);
        lying
    });
    assert!(
        lies_on == [30.0, 50.0] || lies_on == [50.0, 30.0],
        "{lies_on:?}"
    );
}

#[test]
fn splayed_feet_are_cut_level_and_parallel_to_the_top() {
    let text = "[frame]\nwidth = 320\nheight = 320\nsection = \"SHS 25x25x2\"\n[frame.legs]\ndirection = \"down\"\nheight = 480\nsection = \"CHS 21.3x2\"\nsplay = 45\n";
    let list = list(&format!("{text}{PROCEDURE}"));
    let legs = list.kinds.last().expect("legs");
    assert_eq!((legs.members.len(), legs.sides), (4, Sides::OppositeSides));
    let lean = (45.0 * 2.0_f64.sqrt() / (480.0 - 25.0)).atan().to_degrees();
    for end in legs.ends {
        assert!((end.mitre_degrees - lean).abs() < 0.05, "{end:?}, {lean}");
    }
}

#[test]
fn offcuts_are_used_first_and_what_is_longer_than_a_bar_is_told() {
    let job = from_text(
        "job",
        &frame("width = 1200\nheight = 900\nsection = \"SHS 40x40x3\""),
    )
    .expect("whole");
    let section = job.members[0].section.clone();
    let settings = Settings {
        offcuts: vec![(section.clone(), 910.0), (section, 905.0)],
        ..Settings::of(&job)
    };
    let from_rack = SawList::new(&job, &settings);
    assert_eq!(from_rack.bars.iter().filter(|bar| bar.is_offcut).count(), 2);
    let short = Settings {
        stock_mm: 1000.0,
        ..Settings::of(&job)
    };
    assert_eq!(SawList::new(&job, &short).too_long, [0, 0]);
}

#[test]
fn fractions_read_as_on_a_tape_and_rounding_is_at_most_half_a_part() {
    let sixteenths = Fraction::of(16).expect("sixteenths");
    assert_eq!(sixteenths.text(1200.0), "47 1/4 in");
    assert_eq!(sixteenths.text(25.4 * 0.75), "3/4 in");
    assert_eq!(sixteenths.text(25.4 * 12.0), "12 in");
    assert_eq!(Fraction::of(10), None);
    for k in 0..4000 {
        let mm = f64::from(k) * 0.317;
        let rounded = sixteenths.round(mm);
        assert!(rounded.added_mm.abs() <= 25.4 / 32.0 + 1e-9);
        assert!((rounded.mm - mm - rounded.added_mm).abs() < 1e-9);
    }
}

proptest::proptest! {
    /// Every piece is on one bar, and no bar gives more than it has.
    #[test]
    fn every_piece_is_cut_once_and_no_bar_is_used_up_twice(
        width in 100.0..5900.0_f64, height in 100.0..5900.0_f64, kerf in 0.5..6.0_f64, mitred: bool,
    ) {
        let corners = if mitred { "mitred" } else { "rails through" };
        let text = frame(&format!("width = {width}\nheight = {height}\nsection = \"SHS 40x40x3\"\ncorners = \"{corners}\""));
        let job = from_text("job", &text).expect("a whole job");
        let list = SawList::new(&job, &Settings { kerf_mm: kerf, ..Settings::of(&job) });
        let cut: usize = list.bars.iter().map(|bar| bar.cuts.len()).sum();
        proptest::prop_assert_eq!(cut + list.too_long.len(), job.members.len());
        for bar in &list.bars {
            let on_line: f64 = bar.cuts.iter().map(|cut| list.kinds[cut.kind].centre_mm).sum();
            proptest::prop_assert!(bar.left_mm >= 0.0 && on_line <= bar.length_mm - bar.left_mm + 1e-6);
        }
    }
}
