//! What is predicted of an object on legs is read by the same name at the same points.

use coldsquare_tests::command::coldsquare;
use serde_json::Value;

const STAND: &str = "\
name = \"Stand\"
[frame]
width = 500
height = 400
section = \"SHS 30x30x2\"
[frame.legs]
direction = \"down\"
height = 600
section = \"CHS 26.9x2\"
splay = 60
rails = [150]
rail_section = \"SHS 20x20x2\"
[procedure]
process = 135
volts = [17, 20]
amps = [95, 135]
travel_speed = [6, 9]
heat_input = [0.15, 0.35]
";

fn predicted(job: &str) -> Vec<Value> {
    let ran = coldsquare(["predict", job, "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let json: Value = serde_json::from_str(&ran.out).expect("JSON");
    json["measures"].as_array().expect("measures").clone()
}

#[test]
fn every_prediction_read_back_by_its_own_name_leaves_no_residual() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("stand.toml").display().to_string();
    std::fs::write(&job, STAND).expect("written");
    let measures = predicted(&job);
    let kinds: std::collections::BTreeSet<&str> =
        measures.iter().filter_map(|m| m["kind"].as_str()).collect();
    for kind in [
        "size",
        "diagonal",
        "racking",
        "twist",
        "bow",
        "lean",
        "corner",
        "standing",
        "plumb",
        "top_twist",
    ] {
        assert!(kinds.contains(kind), "{kind} in {kinds:?}");
    }
    let mut names: Vec<&str> = measures.iter().filter_map(|m| m["name"].as_str()).collect();
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count, "every measure has a name of its own");
    let number = |value: &Value| value.as_f64().expect("a number");
    let mut arguments = vec!["measure".to_owned(), job.clone(), "--json".to_owned()];
    for measure in &measures {
        let reading = number(&measure["before_mm"]) + number(&measure["change_mm"]["value"]);
        let name = measure["name"].as_str().expect("a name");
        arguments.extend(["--reading".to_owned(), format!("{name} = {reading:.4} mm")]);
    }
    let ran = coldsquare(arguments.iter().map(String::as_str));
    assert_eq!(ran.code, 0, "{}", ran.err);
    let taken: Value = serde_json::from_str(&ran.out).expect("JSON");
    let readings = taken[0]["reading"].as_array().expect("readings");
    assert_eq!(readings.len(), measures.len());
    for reading in readings {
        let residual = number(&reading["change_mm"]) - number(&reading["predicted_mm"]);
        assert!(residual.abs() < 2e-4, "{reading}");
    }
}

/// Where the ends of a member were and where they have gone, lowest first: from the shape that is drawn, which comes from
/// the whole frame solved again, not from the reduced model that gives the measures.
fn ends(shapes: &Value, name: &str) -> [([f64; 3], [f64; 3]); 2] {
    let lines = shapes["before"].as_array().expect("lines");
    let at = lines
        .iter()
        .position(|line| line["member"] == name)
        .expect("the member");
    let point = |value: &Value| [0, 1, 2].map(|k| value[k].as_f64().expect("a number"));
    let points = lines[at]["points_mm"].as_array().expect("points");
    let moved = shapes["released_mm"][at].as_array().expect("points");
    let mut ends = [0, points.len() - 1].map(|k| {
        let (before, moved) = (point(&points[k]), point(&moved[k]));
        (before, [0, 1, 2].map(|axis| before[axis] + moved[axis]))
    });
    ends.sort_by(|a, b| a.0[2].total_cmp(&b.0[2]));
    ends
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
}

#[test]
fn plumb_widths_diagonals_and_twist_are_those_of_the_shape_that_is_drawn() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("stand.toml").display().to_string();
    std::fs::write(&job, STAND).expect("written");
    let ran = coldsquare(["predict", &job, "--json"]);
    let json: Value = serde_json::from_str(&ran.out).expect("JSON");
    let (measures, shapes) = (
        json["measures"].as_array().expect("measures"),
        &json["shapes"],
    );
    let legs = [
        "back left leg",
        "front left leg",
        "front right leg",
        "back right leg",
    ];
    let mut checked = 0;
    for measure in measures {
        let name = measure["name"].as_str().expect("a name");
        let change = measure["change_mm"]["value"].as_f64().expect("a number");
        let found = if let Some(rest) = name.strip_prefix("plumb of ") {
            let (leg, direction) = rest.split_once(", top ").expect("a direction");
            let axis = usize::from(direction == "towards the back");
            let [foot, top] = ends(shapes, leg);
            (top.1[axis] - foot.1[axis]) - (top.0[axis] - foot.0[axis])
        } else if let Some((_, pair)) = name
            .split_once(" side, ")
            .filter(|_| name.starts_with("diagonal of"))
        {
            let (a, b) = pair.split_once(" to ").expect("two ends");
            let end = |text: &str| {
                let (leg, which) = text.rsplit_once(' ').expect("an end");
                ends(shapes, leg)[usize::from(which == "top")]
            };
            let (a, b) = (end(a), end(b));
            distance(a.1, b.1) - distance(a.0, b.0)
        } else if name.starts_with("twist of the top") {
            // The tops about their middle, less the feet about theirs.
            let turned = |which: usize| {
                let at = legs.map(|leg| ends(shapes, leg)[which]);
                let [x, y] = [0, 1].map(|k| at.iter().map(|end| end.0[k]).sum::<f64>() / 4.0);
                let around = at.map(|(before, after)| {
                    let (rx, ry) = (before[0] - x, before[1] - y);
                    (rx * (after[1] - before[1]) - ry * (after[0] - before[0])) / rx.hypot(ry)
                });
                around.iter().sum::<f64>() / 4.0
            };
            turned(1) - turned(0)
        } else {
            continue;
        };
        checked += 1;
        // The diagonal of outer corners runs at another angle than that of centre lines.
        assert!(
            (found - change).abs() < 0.08 + 0.1 * change.abs(),
            "{name}: {found} and {change}"
        );
    }
    assert_eq!(checked, 8 + 8 + 1);
}

#[test]
fn a_name_that_is_nearly_right_is_answered_with_the_right_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("stand.toml").display().to_string();
    std::fs::write(&job, STAND).expect("written");
    let ran = coldsquare([
        "measure",
        &job,
        "--reading",
        "height at front left legs = 600",
    ]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err.contains("did you mean 'height at front left leg'"),
        "{}",
        ran.err
    );
}

#[test]
fn heights_and_widths_before_welding_are_those_of_the_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("stand.toml").display().to_string();
    std::fs::write(&job, STAND).expect("written");
    let measures = predicted(&job);
    let before = |name: &str| {
        let found = measures.iter().find(|m| m["name"] == name);
        found.unwrap_or_else(|| panic!("no {name}"))["before_mm"]
            .as_f64()
            .expect("a number")
    };
    for leg in [
        "front left leg",
        "front right leg",
        "back right leg",
        "back left leg",
    ] {
        assert!(
            (before(&format!("height at {leg}")) - 600.0).abs() < 0.1,
            "{leg}"
        );
    }
    // The feet stand out by the splay and a little less, because a leaning leg is set inwards to stand on the frame.
    let lean = before("plumb of front left leg, top to the right");
    assert!((55.0..65.0).contains(&lean), "{lean}");
}
