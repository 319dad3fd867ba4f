//! What can be written as a reading, and which readings are implausible.

use super::check::implausible;
use super::length::length;
use super::model::{Between, LengthUnit, Reading, nominal_mm};
use super::read;
use super::written::Common;
use crate::file_error::Source;
use crate::job::from_text;
use crate::job::model::Job;
use crate::movement::measures::{Measure, MeasureKind};
use crate::movement::model::MovementModel;
use crate::movement::predict::Predicted;
use coldsquare_core::uncertainty::Uncertain;
use proptest::prelude::*;

const FRAME: &str = "\
[frame]
width = 1200
height = 900
section = \"SHS 40x40x3\"
[procedure]
process = 135
volts = [17, 20]
amps = [95, 135]
travel_speed = [6, 9]
heat_input = [0.15, 0.35]
";

fn frame() -> (Job, Vec<Measure>) {
    let job = from_text("frame.toml", FRAME).expect("a job");
    let engine = MovementModel::new(&job).expect("it can be worked out");
    (job.clone(), engine.measures().to_vec())
}

fn common<'a>(job: &'a Job, measures: &'a [Measure]) -> Common<'a> {
    Common {
        job,
        measures,
        unit: LengthUnit::Mm,
        plus_minus_mm: None,
        between: Between::Outside,
    }
}

/// A prediction of a bow, mm, with k = 2.
fn expecting(name: &str, mm: f64, plus_minus: f64) -> Vec<Predicted> {
    vec![Predicted {
        name: name.into(),
        kind: MeasureKind::Bow,
        member: Some(2),
        nominal_mm: 0.0,
        clamped_mm: Uncertain::exact(0.0),
        released_mm: Uncertain {
            value: mm,
            standard: plus_minus / 2.0,
        },
    }]
}

fn warned(predicted: &[Predicted], readings: &[Reading]) -> Vec<String> {
    let (job, measures) = frame();
    let found = implausible(&job, &measures, predicted, readings);
    found.into_iter().map(|one| one.what).collect()
}

#[test]
fn lengths_are_read_as_the_trade_writes_them() {
    for (text, value, unit) in [
        ("4", 4.0, LengthUnit::Mm),
        ("4 mm", 4.0, LengthUnit::Mm),
        ("3/32\"", 0.09375, LengthUnit::In),
        ("1' 2 1/2\"", 14.5, LengthUnit::In),
        ("-1' 2 1/2\"", -14.5, LengthUnit::In),
        ("3 ft 11 1/4 in", 47.25, LengthUnit::In),
        ("4'", 4.0, LengthUnit::Ft),
        ("47-1/4 in", 47.25, LengthUnit::In),
        ("-2.5", -2.5, LengthUnit::Mm),
        ("1.2 m", 1.2, LengthUnit::M),
        ("119.9 CM", 119.9, LengthUnit::Cm),
    ] {
        assert_eq!(length(text, LengthUnit::Mm), Ok((value, unit)), "{text}");
    }
    for text in ["", "mm", "about 4", "4,5", "1/0", "4 kg", "'", "NaN", "4''"] {
        assert!(length(text, LengthUnit::Mm).is_err(), "{text}");
    }
}

#[test]
fn a_bow_has_a_side_and_its_sign() {
    let (job, measures) = frame();
    let common = common(&job, &measures);
    for (text, of, mm) in [
        ("top rail up = 4", "bow of top rail, upwards", 4.0),
        ("Top Rail, down = 4 mm", "bow of top rail, upwards", -4.0),
        ("top rail in = 4", "bow of top rail, upwards", -4.0),
        ("bottom rail in = 4", "bow of bottom rail, upwards", 4.0),
        (
            "left upright out=1/8\"",
            "bow of left upright, to the right",
            -3.175,
        ),
        (
            "left upright back = 2",
            "bow of left upright, towards the front",
            -2.0,
        ),
        (
            "bow of right upright, to the right = -2",
            "bow of right upright, to the right",
            -2.0,
        ),
        ("top rail up = 3, 4, 2", "bow of top rail, upwards", 4.0),
        (
            "top rail up = 1/16, 1/8, 1/16 in",
            "bow of top rail, upwards",
            3.175,
        ),
    ] {
        let reading = common
            .bow(text)
            .unwrap_or_else(|what| panic!("{text}: {what}"));
        assert_eq!(reading.of, of, "{text}");
        assert!((reading.value_mm() - mm).abs() < 1e-9, "{text}");
    }
    for (text, says) in [
        (
            "top rail = 4",
            "say to which side top rail bows: up, down, front, back",
        ),
        ("top rail left = 4", "top rail cannot bow 'left'"),
        ("tip rail up = 4", "members are: bottom rail"),
        ("top rail up = 4,5", "write a decimal point"),
        ("top rail up 4", "equals sign"),
    ] {
        let refused = common.bow(text).expect_err(text);
        assert!(refused.contains(says), "{text}: {refused}");
    }
}

#[test]
fn distances_know_between_which_points_they_were_taken() {
    let (job, measures) = frame();
    let named = |name: &str| {
        measures
            .iter()
            .find(|m| m.name.starts_with(name))
            .expect(name)
    };
    let all = |name: &str| {
        [Between::Outside, Between::Inside, Between::Centres]
            .map(|between| nominal_mm(&job, &measures, named(name), between))
    };
    for (name, mm) in [
        ("width at the top", [1200.0, 1120.0, 1160.0]),
        ("height at the left", [900.0, 820.0, 860.0]),
        (
            "diagonal",
            [1500.0, 1120f64.hypot(820.0), 1160f64.hypot(860.0)],
        ),
    ] {
        for (found, mm) in all(name).into_iter().zip(mm) {
            assert!((found - mm).abs() < 1e-6, "{name}: {found} for {mm}");
        }
    }
}

#[test]
fn inches_typed_as_millimetres_are_noticed() {
    let (job, measures) = frame();
    let common = common(&job, &measures);
    let width = common.size("width", "47.2").expect("a number");
    assert!(warned(&[], &[width])[0].contains("in inches it would fit"));
    let bow = common.bow("top rail up = 0.125").expect("a number");
    let predicted = expecting("bow of top rail, upwards", 3.0, 1.0);
    assert!(warned(&predicted, &[bow])[0].contains("a fraction of an inch"));
    // Not a fraction, but far from what was predicted, and by just that factor.
    let bow = common.bow("top rail up = 1.2").expect("a number");
    let predicted = expecting("bow of top rail, upwards", 30.0, 3.0);
    assert!(warned(&predicted, std::slice::from_ref(&bow))[0].contains("in inches it would fit"));
    // A maker who names the unit knows it; a prediction may be wrong.
    let bow = common.bow("top rail up = 1.2 mm").expect("a number");
    assert_eq!(warned(&predicted, &[bow]), Vec::<String>::new());
    let inches = Common {
        unit: LengthUnit::In,
        ..common
    };
    let width = inches.size("width", "1199").expect("a number");
    assert!(warned(&[], &[width])[0].contains("in millimetres it would fit"));
}

#[test]
fn contradictions_and_impossible_readings_are_noticed() {
    let (job, measures) = frame();
    let common = common(&job, &measures);
    let width = common.size("width", "1199").expect("a number");
    let height = common.size("height", "899").expect("a number");
    let [rising, falling] = common.diagonals("1499, 1497.5").expect("two numbers");
    let good = [
        width.clone(),
        height.clone(),
        rising.clone(),
        falling.clone(),
    ];
    assert_eq!(warned(&[], &good), Vec::<String>::new());
    let [far, _] = common.diagonals("1490, 1497").expect("two numbers");
    let found = warned(&[], &[width.clone(), height, far, falling.clone()]);
    assert!(
        found[0].contains("lead to diagonals of about 1498.6 mm"),
        "{found:?}"
    );
    let racking = common.racking("-6").expect("a number");
    assert!(warned(&[], &[rising, falling, racking])[0].contains("differ by +1.5 mm"));
    let again = common.size("width", "1195").expect("a number");
    assert!(warned(&[], &[width, again])[0].contains("contradict"));
    for (text, says) in [
        ("top rail up = 3, 4, -3", "do not belong to one bow"),
        ("top rail up = 4, 1, 4", "do not belong to one bow"),
        ("top rail up = 80", "more than a twentieth"),
    ] {
        let reading = common.bow(text).expect("numbers");
        assert!(warned(&[], &[reading])[0].contains(says), "{text}");
    }
    for text in [
        "top rail up = 3, 4, 3",
        "top rail up = 2, 4, 2",
        "top rail up = 4, 4, 2",
    ] {
        let reading = common.bow(text).expect("numbers");
        assert_eq!(warned(&[], &[reading]), Vec::<String>::new(), "{text}");
    }
}

/// A file that an earlier version wrote is read, or says what its names are called now.
#[test]
fn old_names_are_read_or_answered() {
    let (job, measures) = frame();
    let read_one = |of: &str, more: &str| {
        let text = format!(
            "[[measurement]]\non = \"2026-05-05\"\nstate = \"unclamped\"\n[[measurement.reading]]\nof = \"{of}\"\n\
             values = [1.0]\nunit = \"mm\"\nplus_minus = 0.5\n{more}"
        );
        read(
            &Source::new("frame-measured.toml", text.as_str()),
            &job,
            &measures,
        )
    };
    let kept = read_one("bow of top rail, upwards", "doubts = [\"far off\"]\n").expect("read");
    assert_eq!(kept[0].readings[0].warnings, ["far off"]);
    let stile = read_one("bow of left stile, to the right", "").expect_err("an old name");
    assert!(
        stile
            .to_string()
            .contains("is now called 'bow of left upright, to the right'"),
        "{stile}"
    );
    let wind = read_one("wind (rock on a flat table)", "").expect_err("an old name");
    assert!(wind.to_string().contains("is now called 'twist"), "{wind}");
}

proptest! {
    #[test]
    fn any_text_is_answered(text in ".{0,30}") {
        let (job, measures) = frame();
        let common = common(&job, &measures);
        let _ = length(&text, LengthUnit::In);
        for place in ["", "top rail up = ", "top = "] {
            let text = format!("{place}{text}");
            let read = [common.bow(&text), common.size("width", &text), common.twist(&text), common.gap(&text)];
            for reading in read.into_iter().flatten() {
                prop_assert!(implausible(&job, &measures, &[], &[reading]).iter().all(|o| !o.what.is_empty()));
            }
        }
    }
}
