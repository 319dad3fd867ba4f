//! The engine beside what others measured: rows of `measured-experiments.toml` that it can work out, each with both ends
//! of every range that the source leaves open. None has all its inputs, so a row says size and sign, no more.

use super::joints::welded;
use coldsquare_engine::formulas::joint_shrinkage::{JointCoefficients, JointMetal};
use coldsquare_engine::formulas::shrinkage::ShrinkingMetal;
use coldsquare_engine::job::{self, model::Job};
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{planned_net_heat, predict};
use coldsquare_engine::shop::factor::Factors;
use coldsquare_tests::assert_blessed_section;
use serde_json::json;
use std::fmt::Write;

/// A row of the table of measurements.
struct Measured {
    low: f64,
    high: f64,
}

fn measured(id: &str) -> Measured {
    let rows: toml::Table = include_str!("measured-experiments.toml")
        .parse()
        .expect("a table");
    let rows = rows["measurement"].as_array().expect("rows");
    let row = rows
        .iter()
        .find(|row| row["id"].as_str() == Some(id))
        .expect("the row is there");
    let number = |name: &str| row["measured"][name].as_float().expect("a number");
    Measured {
        low: number("low"),
        high: number("high"),
    }
}

/// Least and greatest.
fn range(values: impl IntoIterator<Item = f64>) -> [f64; 2] {
    values
        .into_iter()
        .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], value| {
            [low.min(value), high.max(value)]
        })
}

/// How far a fillet weld with this leg turns a free wall of this thickness, rad.
fn turned_rad(leg_mm: f64, wall_mm: f64) -> f64 {
    let steel = JointMetal {
        metal: ShrinkingMetal::MILD_STEEL,
        yield_mpa: 235.0,
        shrinkage_ratio: 1.0,
    };
    steel.turning_rad(leg_mm / wall_mm, &JointCoefficients::FITTED)
}

/// A free tee, one fillet: the angle in degrees, for legs of 7.5 to 9 mm on plate of 8 to 15 mm.
fn tee_deg() -> [f64; 2] {
    range([(7.5, 15.0), (9.0, 8.0)].map(|(leg, plate)| turned_rad(leg, plate).to_degrees()))
}

/// A flat along the bottom of a tube of 1981 mm, on one line or two.
fn flat_along_a_tube(wall: f64, heat_j_per_mm: f64, lines: usize) -> Job {
    let mut text = format!(
        "material = \"steel\"\n[[member]]\nname = \"tube\"\nsection = \"SHS 50.8x50.8x{wall}\"\nfrom = [0, 0, 0]\n\
         to = [1981, 0, 0]\n[[member]]\nname = \"flat\"\nsection = \"FL 50.8x3.2\"\nfrom = [0, -27, 25.4]\n\
         to = [1981, -27, 25.4]\ndepth = \"z\"\n"
    );
    for (z, outward) in [(0.0, "[0, -1, -1]"), (25.4, "[0, 1, 1]")]
        .into_iter()
        .take(lines)
    {
        let _ = write!(
            text,
            "[[weld]]\nmembers = [\"tube\", \"flat\"]\nfrom = [0, -25.4, {z}]\nto = [1981, -25.4, {z}]\n\
             outward = {outward}\nleg = 3\n"
        );
    }
    let (low, high) = (0.999e-3 * heat_j_per_mm, 1.001e-3 * heat_j_per_mm);
    let _ = write!(
        text,
        "[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 190]\ntravel_speed = [4, 9]\nheat_input = [{low}, {high}]\n"
    );
    job::from_text("flat.toml", &text).expect("a good job")
}

/// How far its middle rises, mm, with what the engine states as uncertain (k = 2).
fn bow_mm() -> [f64; 2] {
    let bows = [(2.11, 150.0, 1), (1.9, 350.0, 2)].map(|(wall, heat, lines)| {
        let job = flat_along_a_tube(wall, heat, lines);
        let model = MovementModel::new(&job).expect("it stands");
        let order: Vec<usize> = (0..lines).collect();
        let predicted = predict(
            &job,
            &model,
            &order,
            &planned_net_heat(&job),
            &Factors::starting(),
        )
        .expect("in range");
        let bow = predicted
            .measures
            .iter()
            .find(|measure| measure.name == "bow of tube, upwards")
            .expect("a bow");
        [-2.0, 2.0].map(|k| bow.released_mm.value + k * bow.released_mm.standard)
    });
    [bows[0][0], bows[1][1]]
}

/// What a rib with one weld across the rail or two kinks it by, mrad.
fn rib_mrad() -> [f64; 2] {
    range([(60, 5.0, 150.0, 1.0), (40, 3.0, 350.0, 2.0)].map(|(side, wall, heat, welds)| {
        let row = json!({
            "kind": "across", "steel": "S235", "yield_mpa": 235.0, "side_mm": side, "wall_mm": wall,
            "heat_j_per_mm": heat, "weld_length_mm": f64::from(side), "offset_mm": 0.0, "speed_mm_s": 7.0,
        });
        let answer = welded::answer(&row, &JointCoefficients::FITTED, &Factors::starting());
        welds * answer[0]["kink_towards_bead_mrad"].as_f64().expect("a kink")
    }))
}

/// A square bar of 12.7 mm on a flat, first fillet with a leg of 3 to 6 mm: its lean, mrad.
fn bar_mrad() -> [f64; 2] {
    range([3.0, 6.0].map(|leg| 1e3 * turned_rad(leg, 12.7)))
}

#[test]
fn measured_experiments_stand_beside_the_engine_whatever_they_show() {
    let rows = [
        (
            "tee-one-fillet-manual",
            "tee, one fillet (Ferro and others 2021): angle, °",
            tee_deg(),
            2,
        ),
        (
            "flat-along-a-square-tube",
            "flat along a tube (a maker): bow, mm, ± included",
            bow_mm(),
            0,
        ),
        (
            "ribs-across-a-top-rail",
            "rib across a rail (a maker): kink, mrad",
            rib_mrad(),
            1,
        ),
        (
            "square-bar-on-flat",
            "square bar on a flat (a maker's rule): lean, mrad",
            bar_mrad(),
            0,
        ),
    ];
    let mut table =
        String::from("| what | measured | the engine, over what is not known |\n|---|--:|--:|\n");
    for (id, what, [low, high], decimals) in rows {
        let measured = measured(id);
        let _ = writeln!(
            table,
            "| {what} | {:.decimals$} to {:.decimals$} | {low:.decimals$} to {high:.decimals$} |",
            measured.low, measured.high
        );
        // Each goes the way that was measured, and is neither a tenth of it nor ten times as much.
        assert!(
            high > measured.low / 10.0 && low < 10.0 * measured.high,
            "{what}: {low} to {high}"
        );
    }
    assert_blessed_section("docs/measured-experiments.md", "beside the engine", &table);
}
