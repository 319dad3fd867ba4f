//! How far the gap between two bars closes, beside simulated welds of the same joints.
//!
//! The simulations weld one bar onto a rail. Two such joints side by side bring the bars nearer by what the rail gets
//! shorter, half of it at each joint, and by the kink of the rail, half of it under each bar: over the rail's middle line
//! closing(y) = shortening + kink · y. The leans of two bars welded alike cancel.

use coldsquare_engine::fixture::fixture;
use coldsquare_engine::job::from_text;
use serde_json::Value;

/// Distance between the bars' middles, mm.
const APART_MM: f64 = 200.0;

/// Welds of the simulated order on both bars, as a job.
fn comb(row: &Value, sides: &[&str]) -> String {
    let number = |name: &str| row[name].as_f64().expect("a number");
    let (side, wall) = (number("rail_side_mm"), number("rail_wall_mm"));
    let (along, bar_wall) = (number("bar_along_mm"), number("bar_wall_mm"));
    let like = if row["steel"] == "1.4301" {
        "304"
    } else {
        "steel"
    };
    let yields = number("yield_mpa");
    let mut text = format!(
        "[material]\nlike = \"{like}\"\nyield_mpa = {yields}\n[[member]]\nname = \"rail\"\nsection = \"SHS {side}x{side}x{wall}\"\nfrom = [0, 0, 0]\nto = [800, 0, 0]\n"
    );
    for (name, x) in [("left bar", 300.0), ("right bar", 300.0 + APART_MM)] {
        text += &format!(
            "[[member]]\nname = \"{name}\"\nsection = \"SHS {along}x{along}x{bar_wall}\"\nfrom = [{x}, {}, 0]\nto = [{x}, 340, 0]\n",
            side / 2.0
        );
    }
    let half = side / 2.0;
    for x in [300.0, 300.0 + APART_MM] {
        let bar = if x < 400.0 { "left bar" } else { "right bar" };
        for word in sides {
            let sign = if *word == "right" || *word == "front" {
                1.0
            } else {
                -1.0
            };
            let (reach, outward) = (along / 2.0, sign);
            let (from, to, out) = match *word {
                "right" | "left" => (
                    [x + sign * reach, half, -sign * reach],
                    [x + sign * reach, half, sign * reach],
                    [outward, 0.0, 0.0],
                ),
                _ => (
                    [x - sign * reach, half, sign * reach],
                    [x + sign * reach, half, sign * reach],
                    [0.0, 0.0, outward],
                ),
            };
            text += &format!(
                "[[weld]]\nmembers = [\"rail\", \"{bar}\"]\nfrom = {from:?}\nto = {to:?}\noutward = {out:?}\nleg = {}\n",
                number("leg_mm")
            );
        }
    }
    let heat = number("heat_j_per_mm") / 1000.0;
    text + &format!(
        "[procedure]\nprocess = 135\nvolts = [10, 30]\namps = [50, 200]\ntravel_speed = [{0}, {0}]\nheat_input = [{heat}, {heat}]\n",
        number("speed_mm_s")
    )
}

#[test]
fn the_gap_between_two_bars_closes_as_simulated_welds_close_it() {
    let table = include_str!("../virtual-experiments/results/fit.jsonl");
    let rows = table
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).expect("a row"));
    let mut compared = 0;
    for row in rows.filter(|row| row["kind"] == "tee" && row["bar_section"] == "tube") {
        let order = row["order"].as_str().expect("an order").to_owned();
        let sides: Vec<&str> = order.split(' ').collect();
        let last = row["results"]
            .as_array()
            .and_then(|all| all.last())
            .expect("a result");
        if sides.len() < 2 || row["weld_length_mm"].as_f64().unwrap_or(0.0) > 0.0 {
            continue;
        }
        let name = row["name"].as_str().expect("a name");
        let job = from_text("comb.toml", &comb(&row, &sides))
            .unwrap_or_else(|error| panic!("{name}: {error}"));
        let order: Vec<usize> = (0..job.welds.len()).collect();
        let fixture = fixture(&job, &order).unwrap_or_else(|error| panic!("{name}: {error}"));
        let spacer = &fixture.spacers[0];
        let number = |of: &str| last[of].as_f64().expect("a number");
        // The farther of the two spacers is pinched most: 60 mm from the free ends of the bars.
        let y = 340.0 - 60.0;
        let simulated =
            number("rail_shortening_mm") + 1e-3 * number("rail_kink_towards_bar_mrad") * y;
        println!(
            "{name:48} simulated {simulated:6.3}  engine {:6.3} ± {:.3}",
            spacer.closing_mm, spacer.plus_minus_mm
        );
        // As good as the kinks and shortenings that it is made of, and a spacer with all of the uncertainty comes out.
        let apart = (spacer.closing_mm - simulated).abs();
        assert!(
            apart < 0.3 * simulated + 0.02,
            "{name}: {simulated} {spacer:?}"
        );
        assert!(
            simulated < spacer.closing_mm + spacer.plus_minus_mm,
            "{name}: {simulated} {spacer:?}"
        );
        compared += 1;
    }
    assert!(compared >= 8, "{compared}");
}
