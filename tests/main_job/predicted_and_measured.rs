//! Map and record show what was predicted, what was measured and what is left, for each quantity that was measured.

use super::map::{SMALL_FRAME, small_log};
use coldsquare_tests::command::{Ran, coldsquare};
use coldsquare_tests::{assert_close, assert_golden};
use serde_json::Value;

struct Shop(tempfile::TempDir);

impl Shop {
    fn new(job: &str) -> Self {
        let shop = Self(tempfile::tempdir().expect("a folder"));
        std::fs::write(shop.path("gate.toml"), job).expect("written");
        std::fs::write(shop.path("weld.log"), small_log()).expect("written");
        shop
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }

    fn measure(&self, more: &[&str]) {
        let job = self.path("gate.toml");
        let on = ["--on", "2026-05-05"];
        let words = ["measure", &job].into_iter().chain(more.iter().copied());
        let ran = coldsquare(words.chain(on));
        assert_eq!(ran.code, 0, "{}", ran.err);
    }

    fn on_this_log(&self, more: &[&str]) {
        let log = self.path("weld.log");
        self.measure(&[more, &["--log", &log]].concat());
    }

    fn map(&self) -> Ran {
        let paths = ["gate.toml", "weld.log", "", "map.json"].map(|name| self.path(name));
        let [job, log, out, _] = paths.each_ref().map(String::as_str);
        let ran = coldsquare(["map", job, log, "--out", out, "--html", "--json", "--force"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        ran
    }

    fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    fn json(&self, name: &str) -> Value {
        serde_json::from_str(&self.text(name)).expect("JSON")
    }

    fn rows(&self) -> Vec<Value> {
        self.map();
        let rows = self.json("weld-map.json")["measured"]["rows"].clone();
        rows.as_array().expect("rows").clone()
    }
}

/// What the terminal shows of it.
fn part(out: &str) -> String {
    let from = out.find("Change measured").expect("it is there");
    let until = out[from..].find("\nArc time").expect("something follows");
    out[from..from + until].to_owned()
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

const SIX: &[&str] = &[
    "--width",
    "top=599.7",
    "--width",
    "bottom=593",
    "--height",
    "left=399.7",
    "--racking",
    "0.5",
    "--bow",
    "top rail up=0.2 mm",
    "--gap",
    "top left corner=0.3",
];

/// The same frame, job and procedure in US units.
fn in_inches() -> String {
    SMALL_FRAME
        .replace("units = \"mm\"", "units = \"inch\"")
        .replace("40x40x3", "40x40x3 mm")
        .replace("width = 600", "width = \"600 mm\"")
        .replace("height = 400", "height = \"400 mm\"")
        .replace("travel_speed = [6, 9]", "travel_speed = [14.2, 21.3]")
        .replace("heat_input = [0.15, 0.35]", "heat_input = [3.8, 8.9]")
}

#[test]
fn the_residual_is_measured_less_what_this_log_lets_predict_and_its_doubt_holds_both() {
    let shop = Shop::new(SMALL_FRAME);
    shop.on_this_log(SIX);
    let (job, log) = (shop.path("gate.toml"), shop.path("weld.log"));
    let predicted: Value =
        serde_json::from_str(&coldsquare(["predict", &job, "--log", &log, "--json"]).out)
            .expect("JSON");
    let rows = shop.rows();
    assert_eq!(rows.len(), 6, "one a reading");
    let mut verdicts = Vec::new();
    for row in &rows {
        let of = |m: &&Value| m["name"] == row["of"];
        let Some(expected) = predicted["measures"]
            .as_array()
            .expect("list")
            .iter()
            .find(of)
        else {
            assert_eq!(row["of"], "gap at top left corner");
            assert!(row["residual_mm"].is_null() && row["agrees"].is_null());
            continue;
        };
        let expected = &expected["change_mm"];
        // Predictions are printed to a thousandth.
        assert_close(
            number(&row["predicted_mm"]["value"]),
            number(&expected["value"]),
            6e-4,
            0.0,
        );
        let (measured, predicted) = (&row["measured_mm"], &row["predicted_mm"]);
        let left = number(&measured["value"]) - number(&predicted["value"]);
        let doubt = number(&measured["expanded"]).hypot(number(&predicted["expanded"]));
        assert_close(number(&row["residual_mm"]["value"]), left, 1e-9, 0.0);
        assert_close(number(&row["residual_mm"]["expanded"]), doubt, 1e-9, 0.0);
        assert_eq!(row["agrees"], left.abs() <= doubt, "{row}");
        verdicts.push(left.abs() <= doubt);
    }
    assert!(
        verdicts.contains(&true) && verdicts.contains(&false),
        "the width at the bottom is far off"
    );
    // Tape ± 1 mm on 600 mm: 599.7 is a change of -0.3 ± 1.
    let top = rows.iter().find(|row| row["of"] == "width at the top");
    let measured = &top.expect("it was measured")["measured_mm"];
    assert_close(number(&measured["value"]), -0.3, 1e-9, 0.0);
    assert_close(number(&measured["expanded"]), 1.0, 1e-9, 0.0);
}

#[test]
fn terminal_page_and_record_show_it_in_the_units_of_the_job() {
    let shop = Shop::new(SMALL_FRAME);
    shop.on_this_log(SIX);
    assert_golden("map/measured.txt", &part(&shop.map().out));
    let inches = Shop::new(&in_inches());
    inches.on_this_log(&["--width", "top=23 19/32", "--bow", "top rail up=1/64 in"]);
    assert_golden("map/measured-inch.txt", &part(&inches.map().out));
    let (job, log, out) = (shop.path("gate.toml"), shop.path("weld.log"), shop.path(""));
    let ran = coldsquare(["record", &job, &log, "--out", &out]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for page in ["weld-map.html", "weld-record.html"] {
        let page = shop.text(page);
        let table = page.split("<table id=\"moved\">").nth(1).expect("a table");
        let table = table.split("</table>").next().expect("an end");
        for wanted in [
            "bow of top rail, upwards",
            "2026-05-05, with clamps off",
            "-7.00 ± 1.00",
            "agrees",
            "differs",
        ] {
            assert!(table.contains(wanted), "{wanted}");
        }
        assert_eq!(table.matches("<tr class").count(), 6);
        assert!(page.contains("the published factors"));
    }
    let record = shop.json("weld-record.json");
    assert_eq!(
        record["map"]["measured"],
        shop.json("weld-map.json")["measured"]
    );
}

#[test]
fn a_frame_without_measurements_has_no_such_part() {
    let shop = Shop::new(SMALL_FRAME);
    assert!(!shop.map().out.contains("Change measured"));
    assert!(shop.json("weld-map.json")["measured"].is_null());
    assert!(
        !shop
            .text("weld-map.html")
            .contains("Predicted and measured")
    );
}

#[test]
fn a_new_reading_answers_an_old_one_and_a_corrected_frame_is_not_judged() {
    let shop = Shop::new(SMALL_FRAME);
    shop.on_this_log(&["--width", "top=595"]);
    shop.on_this_log(&["--width", "top=599.7"]);
    shop.on_this_log(&["--width", "top=599.9", "--after-correction", "1"]);
    shop.on_this_log(&["--width", "top=600", "--clamped"]);
    let rows = shop.rows();
    let seen: Vec<_> = rows
        .iter()
        .map(|row| {
            (
                row["state"].as_str().expect("text"),
                row["agrees"].as_bool(),
            )
        })
        .collect();
    assert_eq!(
        seen,
        [
            ("with clamps off", Some(true)),
            ("after correction 1", None),
            ("with clamps on", Some(true))
        ]
    );
    assert_close(number(&rows[0]["measured_mm"]["value"]), -0.3, 1e-9, 0.0);
}

#[test]
fn readings_of_another_build_are_not_this_ones_and_it_is_said() {
    let shop = Shop::new(SMALL_FRAME);
    shop.measure(&["--width", "top=599.7"]);
    let out = shop.map().out;
    assert!(
        out.contains("taken as of this build") && out.contains("width at the top"),
        "{out}"
    );
    std::fs::write(shop.path("other.log"), b"another").expect("written");
    let other = shop.path("other.log");
    shop.measure(&["--width", "top=598", "--log", &other]);
    let out = shop.map().out;
    assert!(
        out.contains("noted with other logs") && !out.contains("width at the top"),
        "{out}"
    );
    shop.on_this_log(&["--width", "top=599.5"]);
    let out = shop.map().out;
    assert!(
        out.contains("without a log are left out") && out.contains("-0.50 ± 1.00"),
        "{out}"
    );
}
