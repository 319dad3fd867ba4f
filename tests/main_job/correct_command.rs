//! What now, in millimetres: the ways for what was measured or expected, and what is refused.

use coldsquare::notebook::add;
use coldsquare_engine::job::from_text;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{Prediction, planned_net_heat, predict};
use coldsquare_engine::shop::factor::Factors;
use coldsquare_engine::shop::factors::Knowledge;
use coldsquare_engine::shop::file::{Revision, added};
use coldsquare_tests::command::{Ran, coldsquare};
use coldsquare_tests::{assert_close, assert_golden};
use serde_json::Value;

/// A frame of tube with mitred corners, no bars: everything about it can be told from its four members.
fn frame(width: f64, height: f64, top: &str) -> String {
    format!(
        "name = \"Frame\"\n{top}\n[frame]\nwidth = {width}\nheight = {height}\nsection = \"SHS 40x40x3\"\n\
         [opening]\nwidth = 1216\nclearance = 6\n[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\n\
         travel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n"
    )
}

pub(super) struct Shop(tempfile::TempDir);

impl Shop {
    pub(super) fn new(top: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("gate.toml"), frame(1200.0, 900.0, top))
            .expect("written");
        Self(folder)
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }

    pub(super) fn run(&self, command: &str, more: &[&str]) -> Ran {
        let job = self.path("gate.toml");
        coldsquare([command, &job].into_iter().chain(more.iter().copied()))
    }

    pub(super) fn measure(&self, more: &[&str]) {
        let ran = self.run("measure", &[&["--on", "2026-05-04"], more].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
    }

    pub(super) fn json(&self, more: &[&str]) -> Value {
        let ran = self.run("correct", &[&["--json"], more].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
        serde_json::from_str(&ran.out).expect("JSON")
    }
}

/// The way of a kind for the worst fault.
fn way(correction: &Value, kind: &str) -> Value {
    let ways = correction["faults"][0]["options"].as_array().expect("ways");
    ways.iter()
        .find(|way| way["kind"] == kind)
        .unwrap_or_else(|| panic!("no {kind} in {ways:?}"))
        .clone()
}

pub(super) fn says(way: &Value) -> String {
    way["summary"].to_string()
}

#[test]
fn a_bowed_rail_is_bent_back_in_steps_and_the_page_shows_where() {
    let shop = Shop::new("");
    shop.measure(&["--bow", "top rail up = 2.5 mm", "--width", "top = 1199"]);
    let page = shop.path("fix.html");
    let ran = shop.run("correct", &["--page", &page, "--press-force", "30 kN"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_golden(
        "predict/correct.txt",
        ran.out.split("\nPage:").next().expect("text"),
    );
    let html = std::fs::read_to_string(&page).expect("a page");
    for wanted in [
        "Bend it back cold",
        "past straight",
        "viewBox",
        "temperature crayon",
        "stand aside",
    ] {
        assert!(html.contains(wanted), "{wanted}");
    }
    assert!(
        !html.contains(" src=") && !html.contains("url("),
        "nothing is fetched"
    );
    assert_eq!(
        shop.run("correct", &["--page", &page]).code,
        4,
        "a page is not overwritten"
    );
    let strong = ["--press-force", "30 kN"];
    let first = way(&shop.json(&strong), "press");
    assert_eq!(first["possible"], true);
    assert!(says(&first).contains("Press 1"));
    shop.measure(&[
        "--bow",
        "top rail up = 2.2 mm",
        "--after-correction",
        "1",
        "--plus-minus",
        "0.1",
    ]);
    assert!(says(&way(&shop.json(&strong), "press")).contains("Press 2"));
    shop.measure(&[
        "--bow",
        "top rail up = 0.2 mm",
        "--after-correction",
        "2",
        "--plus-minus",
        "0.1",
    ]);
    assert_eq!(
        shop.json(&[])["faults"].as_array().expect("a list").len(),
        0
    );
}

#[test]
fn what_cannot_be_done_soundly_is_shut_with_its_reason() {
    let bowed = |top: &str| {
        let shop = Shop::new(top);
        shop.measure(&["--bow", "top rail up = 4 mm"]);
        shop
    };
    let shop = bowed("");
    for (arguments, kind, reason) in [
        (&["--press-force", "1"][..], "press", "yours gives 1.0 kN"),
        (&["--coated"], "heat", "poisonous fumes"),
        (&["--near-combustibles"], "heat", "glass, wood"),
        (&["--structural"], "press", "licensed engineer"),
        (&["--structural"], "heat", "licensed engineer"),
        (&["--structural"], "opposite-weld", "licensed engineer"),
        (&[], "leave", "beyond the tolerance of 2.0 mm"),
    ] {
        let way = way(&shop.json(arguments), kind);
        assert!(
            way["possible"] == false && says(&way).contains(reason),
            "{arguments:?}: {way}"
        );
    }
    for (top, reason) in [
        ("structural = true", "Refused: structural"),
        ("material = \"304\"", "corrosion"),
        ("material = \"6061\"", "loses its strength"),
        (
            "[material]\nlike = \"steel\"\nyield_mpa = 700",
            "qualified procedure",
        ),
    ] {
        let way = way(&bowed(top).json(&[]), "heat");
        assert!(
            way["possible"] == false && says(&way).contains(reason),
            "{top}: {way}"
        );
    }
    let text = bowed("structural = true").run("correct", &[]).out;
    assert!(
        text.contains("The code that applies and a licensed engineer"),
        "{text}"
    );
    assert!(
        shop.run("correct", &["--tolerance", "wide"])
            .err
            .contains("--tolerance")
    );
    assert_eq!(
        shop.run("correct", &["--measured", &shop.path("none.toml")])
            .code,
        1
    );
}

#[test]
fn a_frame_too_wide_for_its_opening_is_not_left() {
    let shop = Shop::new("");
    // 1216 less twice 6: no more than 1204, and within the 3 mm of a frame this size.
    shop.measure(&["--width", "top = 1202.9", "--plus-minus", "0.05"]);
    assert_eq!(
        shop.json(&[])["faults"].as_array().expect("a list").len(),
        0
    );
    let shop = Shop::new("");
    shop.measure(&["--width", "top = 1204.5", "--plus-minus", "0.05"]);
    let leave = way(&shop.json(&["--tolerance", "5 mm"]), "leave");
    assert!(
        leave["possible"] == false && says(&leave).contains("less clearance"),
        "{leave}"
    );
}

fn predicted(width: f64, height: f64, order: &[usize]) -> Prediction {
    let job = from_text("frame.toml", &frame(width, height, "")).expect("a job");
    let engine = MovementModel::new(&job).expect("it can be worked out");
    predict(
        &job,
        &engine,
        order,
        &planned_net_heat(&job),
        &Factors::starting(),
    )
    .expect("a prediction")
}

fn size(prediction: &Prediction, name: &str) -> f64 {
    let found = prediction
        .measures
        .iter()
        .find(|m| m.name == name)
        .expect("a size");
    found.nominal_mm + found.released_mm.value
}

/// Allowance, pre-camber and order together bring every size to its target; as drawn, none is. The sizes with the
/// allowance are worked out once more from a frame drawn that much larger.
#[test]
fn allowance_pre_camber_and_order_together_bring_the_size_inside() {
    let shop = Shop::new("");
    let plan = shop.path("plan.json");
    let planned = shop.run("plan", &["--out", &plan, "--json"]);
    assert_eq!(planned.code, 0, "{}", planned.err);
    let json = shop.json(&["--order", &plan]);
    let sizes = json["sizes"].as_array().expect("sizes");
    assert_eq!(sizes.len(), 6);
    for size in sizes {
        let number = |value: &Value| value.as_f64().expect("a number");
        let asked = number(&size["target_mm"]);
        assert!(
            (number(&size["as_drawn_mm"][0]) - asked).abs() > 0.2,
            "{size}"
        );
        assert_close(number(&size["corrected_mm"][0]), asked, 0.1, 0.0);
    }
    let job = from_text("frame.toml", &frame(1200.0, 900.0, "")).expect("a job");
    let (order, _) =
        coldsquare_engine::order::given(&coldsquare::disk::Disk, &plan, &job).expect("an order");
    let as_drawn = predicted(1200.0, 900.0, &order);
    let add = |along: f64| {
        let along = |a: &&coldsquare_engine::movement::predict::Allowance| {
            let member = &job.members[a.member];
            ((member.to - member.from).length() - along).abs() < 1.0
        };
        let added: Vec<f64> = as_drawn
            .allowances
            .iter()
            .filter(along)
            .map(|a| a.add_mm.value)
            .collect();
        added.iter().sum::<f64>() / added.len() as f64
    };
    let mended = predicted(1200.0 + add(1160.0), 900.0 + add(860.0), &order);
    for (name, asked) in [
        ("width at the top", 1200.0),
        ("width at the bottom", 1200.0),
        ("height at the left", 900.0),
        ("height at the right", 900.0),
    ] {
        assert!((size(&as_drawn, name) - asked).abs() > 0.2, "{name}");
        assert_close(size(&mended, name), asked, 0.1, 0.0);
    }
}

/// The inch (25.4 mm) and the pound-force (4.4482 N) are exact by definition, so the two printings differ by rounding
/// only. JSON is metric whatever is printed.
#[test]
fn a_correction_reads_in_inches_as_well() {
    let shop = Shop::new("");
    shop.measure(&["--bow", "top rail up = 2.5 mm", "--width", "top = 1199"]);
    let page = shop.path("inches.html");
    let inches = shop
        .run(
            "correct",
            &["--units", "inch", "--page", &page, "--press-force", "30 kN"],
        )
        .out;
    let html = std::fs::read_to_string(&page).expect("a page");
    let press = way(&shop.json(&["--press-force", "30 kN"]), "press");
    let figure = |name: &str| press["figures"][name].as_f64().expect("a number");
    let wanted = [
        "0.098".to_string(),
        format!("{:.3} in at the middle", figure("travel_mm") / 25.4),
        format!("two blocks {:.1} in apart", figure("span_mm") / 25.4),
        format!("{:.0} lbf", 10.0 * (figure("force_n") / 44.482_216).round()),
        format!("{:.0} ksi", figure("yield_mpa") / 6.894_757),
        "1202 °F (650 °C)".to_string(),
    ];
    for wanted in &wanted {
        assert!(inches.contains(wanted), "{wanted} in {inches}");
        assert!(html.contains(wanted), "{wanted} on the page");
    }
    // The page's own name has letters of chance in it.
    let inches = inches.replace(&page, "PAGE");
    for printed in [&inches, &html] {
        for metric in [" mm ", " mm,", "kN", "MPa"] {
            assert!(!printed.contains(metric), "{metric} in {printed}");
        }
    }
    let json = |more: &[&str]| shop.json(more);
    assert_eq!(json(&["--units", "inch"]), json(&[]));

    // An inch job prints and reads inches without being told.
    let inch_job = Shop::new("units = \"inch\"");
    let text = frame(47.25, 35.5, "units = \"inch\"")
        .replace("SHS 40x40x3", "SHS 1.5x1.5x0.12")
        .replace("1216", "48")
        .replace("= 6\n", "= 0.25\n")
        .replace("[6, 9]", "[14, 21]")
        .replace("[0.15, 0.35]", "[4, 9]");
    std::fs::write(inch_job.path("gate.toml"), text).expect("written");
    inch_job.measure(&["--bow", "top rail up = 5/32"]);
    let told = inch_job.run("correct", &["--packing", "2", "--press-force", "6000"]);
    assert_eq!(told.code, 0, "{}", told.err);
    for wanted in [
        "All in inches",
        "packing 2.0 in long",
        "of the 6000 lbf you have",
    ] {
        assert!(told.out.contains(wanted), "{wanted} in {}", told.out);
    }
    let refused = inch_job.run("correct", &["--press-force", "much"]);
    assert!(
        refused.code == 1 && refused.err.contains("2000 lbf"),
        "{}",
        refused.err
    );
}

/// Heat against the law by hand (docs/theory.md): a place pulls with F = 200 N per J/mm, over its length, at e from the
/// axis; the middle of a bar moves by F·w·e·L/(4·E·I). SHS 40x40x3: I 9.32 cm⁴, A 4.21 cm² (EN 10219-2 tables).
#[test]
fn heat_in_lines_and_in_spots_follows_the_shrinkage_law() {
    let (rho_c, modulus, inertia, area, lever) = (5.0e-3, 210e3, 9.32e4, 421.0, 18.5);
    let (length, rise, yields) = (1160.0, 630.0, 235.0);
    // The corners hold some of it: a kink in the middle of one side of a closed frame of equal tubes, by Castigliano's
    // theorem with the moments in the two rails (M1 and M2; linear along the uprights) as unknowns.
    let upright = 860.0;
    let ratio = (upright / 3.0) / (length + 2.0 * upright / 3.0);
    let held = length + 2.0 * upright / 3.0 - ratio * upright / 3.0;
    let reach = 1.0 - length / (2.0 * held);
    let by_hand = |along: f64, across: f64| {
        let patch = across * 3.0;
        let law = 200.0 * rho_c * rise * patch;
        let gives = patch * (1.0 / area + lever * lever / inertia);
        let force = f64::min(law, yields * patch / (1.0 - gives));
        force * along * lever * length / (4.0 * modulus * inertia) * reach
    };
    let shop = Shop::new("");
    shop.measure(&["--bow", "top rail up = 0.25 mm", "--plus-minus", "0.05"]);
    let told = shop.json(&["--tolerance", "0.1 mm"]);
    for (kind, mean_across) in [
        ("heat", 40.0),
        ("heat-spots", 18.0 * std::f64::consts::FRAC_PI_4),
    ] {
        let way = way(&told, kind);
        assert_eq!(way["possible"], true, "{way}");
        let figure = |name: &str| way["figures"][name].as_f64().expect("a number");
        assert_close(
            figure("each_mm"),
            by_hand(figure("along_mm"), mean_across),
            0.0,
            0.02,
        );
        assert_close(figure("at_most_c"), 650.0, 0.0, 0.0);
        // About the middle, none at the ends, and together what is needed.
        let places: Vec<f64> = way["places"]
            .as_array()
            .expect("places")
            .iter()
            .map(|place| place["at_mm"].as_f64().expect("a number"))
            .collect();
        assert_eq!(places.len() as f64, figure("count"));
        assert_close(
            places.iter().sum::<f64>() / figure("count"),
            length / 2.0,
            1e-6,
            0.0,
        );
        let taken: f64 = places
            .iter()
            .map(|at| {
                let alone = at.min(length - at) / (length / 2.0);
                // What the corners hold is the same for a bend anywhere along the rail but for its share of the angle.
                figure("each_mm") * (alone - (1.0 - reach)) / reach
            })
            .sum();
        assert_close(taken, figure("together_mm"), 0.0, 0.03);
        assert!(
            (0.24..0.26 + figure("each_mm")).contains(&taken),
            "{kind}: {taken}"
        );
        for apart in places.windows(2) {
            assert!(
                apart[1] - apart[0] >= 2.0 * figure("along_mm") - 1e-9,
                "cold metal between"
            );
        }
        assert!(way["cautions"].to_string().contains("Hot work") && says(&way).contains("± 50 %"));
    }
    // A bow that spots have no room for.
    let shop = Shop::new("");
    shop.measure(&["--bow", "top rail up = 4 mm"]);
    let spots = way(&shop.json(&[]), "heat-spots");
    assert!(
        spots["possible"] == false && says(&spots).contains("all there is room for"),
        "{spots}"
    );
    for refused in ["--coated", "--near-combustibles", "--structural"] {
        let told = shop.json(&[refused]);
        let ways = told["faults"][0]["options"]
            .as_array()
            .expect("ways")
            .clone();
        let hot = ways.iter().filter(|way| {
            way["kind"]
                .as_str()
                .is_some_and(|kind| kind.starts_with("heat"))
        });
        assert!(
            hot.clone().count() == 1 && hot.clone().all(|way| way["possible"] == false),
            "{refused}"
        );
    }
}

/// A shop whose welds pull half as hard again: what is expected is worked out with that, what one bead
/// on the other side takes out is half as much again, and both say whose factor it is.
#[test]
fn a_shop_of_ones_own_is_used_and_named() {
    let shop = Shop::new("");
    let published = shop.json(&[]);
    shop.measure(&["--bow", "top rail up = 4 mm"]);
    let bead = |told: &Value| {
        let way = way(told, "opposite-weld");
        (
            way["figures"]["each_mm"].as_f64().expect("a number"),
            says(&way),
        )
    };
    let before = bead(&shop.json(&[]));
    assert!(before.1.contains("published factor"), "{}", before.1);

    let job = frame(1200.0, 900.0, "shop_factors = \"our-shop.toml\"");
    std::fs::write(shop.path("gate.toml"), &job).expect("written");
    let job = from_text("gate.toml", &job).expect("a job");
    let mut known = Knowledge::starting(job.classes());
    // Logarithms of what all welds of the shop share, of pull and of the yield that limits it.
    known.mean[..5].fill(1.5f64.ln());
    let file = shop.path("our-shop.toml");
    let revision = Revision::new("2026-05-01".into(), [1, 9], Vec::new(), &known);
    add(file.as_ref(), |before| added(before, &revision)).expect("kept");
    let after = bead(&shop.json(&[]));
    assert_close(after.0, 1.5 * before.0, 0.0, 1e-3);
    assert!(after.1.contains("our-shop.toml, revision 1"), "{}", after.1);

    let own = shop.json(&["--before"]);
    let note = |told: &Value| told["notes"].to_string();
    assert!(
        note(&published).contains("Published factors"),
        "{}",
        note(&published)
    );
    assert!(
        note(&own).contains("our-shop.toml, revision 1"),
        "{}",
        note(&own)
    );
    let wide = |told: &Value| {
        told["sizes"][0]["as_drawn_mm"][0]
            .as_f64()
            .expect("a number")
    };
    assert_close(
        1200.0 - wide(&own),
        1.5 * (1200.0 - wide(&published)),
        0.0,
        0.02,
    );
}

/// A gate whose nine bars tie its rails to each other in the plane of their bows.
fn gate() -> Shop {
    let shop = Shop::new("");
    let bars = "[frame.bars]\ncount = 9\nsection = \"SHS 20x20x2\"\n[procedure]";
    let job = frame(1200.0, 900.0, "").replace("[procedure]", bars);
    std::fs::write(shop.path("gate.toml"), job).expect("written");
    shop
}

#[test]
fn what_a_tied_rail_needs_is_told_and_a_press_that_reaches_nothing_is_not() {
    let kinds = |told: &Value, name: &str, possible: bool| -> Vec<String> {
        let faults = told["faults"].as_array().expect("faults");
        let fault = faults
            .iter()
            .find(|fault| fault["name"].as_str().is_some_and(|n| n.contains(name)));
        let options = fault.expect("a fault")["options"]
            .as_array()
            .expect("options");
        options
            .iter()
            .filter(|option| option["possible"] == possible)
            .map(|option| option["kind"].as_str().expect("a kind").to_string())
            .collect()
    };
    // Nobody measured the other rail, and it would move just as far.
    let shop = gate();
    shop.measure(&["--bow", "top rail up = 4 mm"]);
    let told = shop.json(&["--press-force", "40 kN"]);
    let press = way(&told, "press");
    assert!(press["possible"] == false, "{press}");
    for wanted in [
        "bow of bottom rail",
        "9 members tie it to bottom rail",
        "Measure it",
    ] {
        assert!(says(&press).contains(wanted), "{wanted} in {press}");
    }

    // The other rail is straight: what they differ by is in the lengths of the bars.
    let shop = gate();
    shop.measure(&["--bow", "top rail up = 6 mm", "--bow", "bottom rail up = 0"]);
    let told = shop.json(&["--press-force", "40 kN"]);
    for kind in ["press", "heat", "opposite-weld"] {
        let option = way(&told, kind);
        assert!(
            option["possible"] == false && says(&option).contains("reaches nothing"),
            "{option}"
        );
    }
    let cut = way(&told, "cut-loose");
    assert_eq!(cut["possible"], true, "{cut}");
    assert!(
        says(&cut).contains("18 welds") && says(&cut).contains("9 members"),
        "{cut}"
    );
    let figure = |option: &Value, name: &str| option["figures"][name].as_f64().expect("a number");
    let alone = figure(&cut, "force_n");

    // Both bow the same way: one press straightens both, against both, from a beam that blocks need no room for.
    let shop = gate();
    shop.measure(&[
        "--bow",
        "top rail up = 6 mm",
        "--bow",
        "bottom rail up = 6 mm",
    ]);
    let told = shop.json(&["--press-force", "40 kN"]);
    let press = way(&told, "press");
    assert_eq!(press["possible"], true, "{press}");
    assert!(
        says(&press).contains("bow of bottom rail") && says(&press).contains("-6."),
        "{press}"
    );
    assert!(
        press["steps"]
            .to_string()
            .contains("Lay a beam stiffer than"),
        "{press}"
    );
    assert!(figure(&press, "force_n") > 1.6 * alone, "{press} {alone}");
    assert!(!kinds(&told, "top rail", true).contains(&"cut-loose".to_string()));

    // Out of the plane the bars do not tie it: it is pressed on blocks, nearly as a bar on its own.
    let shop = gate();
    shop.measure(&["--bow", "top rail front = 6 mm"]);
    let told = shop.json(&["--press-force", "40 kN"]);
    let press = way(&told, "press");
    assert_eq!(press["possible"], true, "{press}");
    assert!(
        press["steps"].to_string().contains("on two blocks"),
        "{press}"
    );
    assert!(figure(&press, "force_n") < 1.3 * alone, "{press} {alone}");
}
