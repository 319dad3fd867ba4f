//! Which way a section is turned decides which way it bows, and what a gusset does.

use crate::job::model::Job;
use crate::movement::model::MovementModel;
use crate::movement::predict::{planned_net_heat, predict_for};

const PROCEDURE: &str = "\
[procedure]
process = 135
volts = [17, 20]
amps = [95, 135]
travel_speed = [6, 9]
heat_input = [0.15, 0.35]
";

fn job(text: &str) -> Job {
    crate::job::from_text("job.toml", &format!("{text}{PROCEDURE}"))
        .unwrap_or_else(|errors| panic!("{errors}"))
}

fn predicted(job: &Job, name: &str) -> f64 {
    let model = MovementModel::new(job).expect("a model");
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let prediction =
        predict_for(job, &model, &order, &planned_net_heat(job)).expect("a prediction");
    let found = prediction.measures.iter().find(|m| m.name == name);
    found
        .unwrap_or_else(|| panic!("no {name}"))
        .released_mm
        .value
}

/// A rail of angle with a strip welded to its level leg, under it or on it.
fn rail(second_leg: &str, side: f64) -> Job {
    // The centroid of L 50x50x5 is 14.0 mm from its heel; the strip lies against the outside of the level leg.
    let level = |z: f64| side * z;
    let strip = level(-(14.0 + 2.0));
    let face = level(-14.0);
    job(&format!(
        "[[member]]\nname = \"rail\"\nsection = \"L 50x50x5\"\nfrom = [0, 0, 0]\nto = [1500, 0, 0]\n\
         legs_point = [\"up\", \"{second_leg}\"]\n\
         [[member]]\nname = \"strip\"\nsection = \"FL 30x4\"\ndepth = \"y\"\nfrom = [300, 10, {strip}]\nto = [1200, 10, {strip}]\n\
         [[weld]]\nmembers = [\"rail\", \"strip\"]\nfrom = [300, 25, {face}]\nto = [1200, 25, {face}]\nleg = 3\n\
         outward = [0, 1, {}]\n",
        -side
    ))
}

#[test]
fn an_angle_bows_the_other_way_when_its_leg_points_the_other_way() {
    // Seen from the front: the level leg points up the page, the other towards you or away.
    let name = "bow of rail, towards the front";
    let forward = predicted(&rail("front", 1.0), name);
    let backward = predicted(&rail("back", -1.0), name);
    assert!(forward.abs() > 0.3, "{forward}");
    assert!(
        (forward + backward).abs() < 0.02 * forward.abs(),
        "{forward} and {backward}"
    );
}

#[test]
fn a_gusset_makes_a_corner_stiffer_against_the_welds_that_follow() {
    let ring = "[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 30x30x2\"\n";
    let gussets = "[frame.gussets]\nsize = 80\nthickness = 4\n";
    let [plain, stiff] = [ring.to_owned(), format!("{ring}{gussets}")].map(|text| job(&text));
    // Both can be predicted, and the gussets change the answer: they are not left out.
    let name = "width at mid-height";
    let [plain, stiff] = [predicted(&plain, name), predicted(&stiff, name)];
    assert!((plain - stiff).abs() > 0.01, "{plain} and {stiff}");
}
