//! A request answered: what is asked goes to its module, what went wrong becomes a sentence.

use crate::json::{Refused, written};
use crate::request::Request;
use crate::{begin, build, frame, link, planning};
use coldsquare_engine::job;
use serde_json::json;
use serde_json::value::RawValue;

/// Answers a request in JSON with JSON: `{"ok": …}` or `{"error": "a sentence"}`.
#[must_use]
pub fn to(request: &[u8]) -> String {
    let answer = match serde_json::from_slice(request) {
        Ok(request) => answer(request),
        Err(error) => Err(format!("the page asked for something unknown: {error}")),
    };
    match answer {
        Ok(ok) => format!(r#"{{"ok":{}}}"#, ok.get()),
        Err(error) => json!({ "error": error }).to_string(),
    }
}

fn answer(request: Request) -> Result<Box<RawValue>, Refused> {
    match request {
        Request::Style => written(&coldsquare_engine::page::style()),
        Request::StartingPoints { units } => written(&job::start::offered(begin::units(&units))),
        Request::Begin(begun) => written(&begin::begin(&begun)?),
        Request::Look(look) => written(&frame::look(&look)),
        Request::Edit { text, edit } => {
            let text = job::edit::edited(&text, &edit).map_err(|error| error.to_string())?;
            written(&json!({ "text": text }))
        }
        Request::Plan(planning) => written(&planning::plan(&planning)?),
        Request::Map(built) => written(&build::map(&built)?),
        Request::Record(built) => written(&build::record(&built)?),
        Request::Measure(measured) => written(&build::measure(&measured)?),
        Request::Correct(straighten) => written(&build::correct(&straighten)?),
        Request::Link(message) => written(&link::answer(&message)?),
    }
}

#[cfg(test)]
mod tests {
    use super::to;
    use serde_json::{Value, json};

    fn ask(request: &Value) -> Result<Value, String> {
        let mut answer: Value =
            serde_json::from_str(&to(request.to_string().as_bytes())).expect("JSON");
        match answer["error"].as_str() {
            Some(error) => Err(error.to_owned()),
            None => Ok(answer["ok"].take()),
        }
    }

    fn gate() -> &'static str {
        coldsquare_engine::example::GARDEN_GATE
    }

    #[test]
    fn a_look_at_a_job_gives_its_answer_its_form_and_its_numbers() {
        let view = ask(&json!({ "ask": "look", "text": gate() })).expect("an answer");
        assert_eq!(view["errors"], json!([]));
        assert_eq!(view["job"]["welds"].as_array().map(Vec::len), Some(52));
        assert!(view["answer"]["advice"][0].is_string());
        assert!(view["prediction"]["measures"][0]["change_mm"]["value"].is_number());
        assert_eq!(view["form"][1]["title"], "Frame");
    }

    #[test]
    fn every_shape_that_is_offered_begins_a_job_without_errors_with_the_sizes_it_names() {
        for units in ["mm", "inch"] {
            let points = ask(&json!({ "ask": "starting_points", "units": units })).expect("shapes");
            let points = points.as_array().expect("shapes").clone();
            assert_eq!(points.len(), 9);
            for point in points {
                let sizes = point["sizes"].as_array().expect("sizes").iter();
                let sizes: serde_json::Map<String, Value> = sizes
                    .map(|size| {
                        (
                            size["key"].as_str().expect("a key").into(),
                            size["usual"].clone(),
                        )
                    })
                    .collect();
                let begun = ask(
                    &json!({ "ask": "begin", "shape": point["shape"], "title": point["name"],
                    "units": units, "sizes": sizes }),
                )
                .expect("a job");
                let view =
                    ask(&json!({ "ask": "look", "text": begun["text"], "parts": ["frame"] }));
                assert_eq!(
                    view.expect("a look")["errors"],
                    json!([]),
                    "{}",
                    point["shape"]
                );
                // What is usual need not be typed.
                let usual = ask(
                    &json!({ "ask": "begin", "shape": point["shape"], "title": point["name"],
                    "units": units }),
                );
                assert_eq!(
                    usual.expect("a job")["text"],
                    begun["text"],
                    "{}",
                    point["shape"]
                );
            }
        }
    }

    #[test]
    fn the_parts_of_a_look_are_those_of_the_whole() {
        let whole = ask(&json!({ "ask": "look", "text": gate() })).expect("an answer");
        let part = |part: &str| {
            ask(&json!({ "ask": "look", "text": gate(), "parts": [part] })).expect("an answer")
        };
        assert_eq!(part("frame")["frame"], whole["frame"]);
        assert!(part("frame")["moved"].is_null());
        assert_eq!(part("movement")["moved"], whole["moved"]);
        let worst = &whole["answer"]["worst"];
        let name = worst["name"].as_str().expect("a name");
        assert_eq!(part("movement")["values"][name], worst["value_text"]);
    }

    #[test]
    fn shop_factors_that_the_job_names_are_asked_for() {
        let text = format!("shop_factors = \"our-shop.toml\"\n{}", gate());
        let view = ask(&json!({ "ask": "look", "text": text })).expect("an answer");
        let note = view["notes"][0].as_str().expect("a note");
        assert!(note.contains("our-shop.toml: open that file too"), "{note}");
    }

    #[test]
    fn a_job_with_errors_still_has_a_form_to_mend_it_with() {
        let text = gate()
            .replace("width = 1000", "width = -3")
            .replace("width = 1200", "width = -3");
        let view = ask(&json!({ "ask": "look", "text": text })).expect("an answer");
        assert!(
            view["errors"][0]["line"]
                .as_u64()
                .is_some_and(|line| line > 1)
        );
        assert!(
            view["form"]
                .as_array()
                .is_some_and(|groups| groups.len() > 2)
        );
    }

    #[test]
    fn an_order_that_no_longer_fits_the_frame_is_left_for_file_order() {
        let view =
            ask(&json!({ "ask": "look", "text": gate(), "order": [2, 1] })).expect("an answer");
        assert_eq!(view["order"][0], 1);
    }

    #[test]
    fn what_cannot_be_asked_is_refused_in_a_sentence() {
        let error = ask(&json!({ "ask": "tea" })).expect_err("nobody serves it");
        assert!(
            error.starts_with("the page asked for something unknown"),
            "{error}"
        );
        let correct =
            json!({ "ask": "correct", "text": gate(), "measured": "", "press_force": "much" });
        assert!(ask(&correct).expect_err("no force").contains("10 kN"));
    }

    #[test]
    fn a_reading_is_noted_and_one_of_another_frame_is_refused() {
        let name = "width at the top";
        let measure = |value: &str| {
            let readings = [[name, value]];
            ask(
                &json!({ "ask": "measure", "text": gate(), "measured": "", "readings": readings, "on": "2026-11-25" }),
            )
        };
        let view = ask(&json!({ "ask": "look", "text": gate() })).expect("an answer");
        let drawn = view["prediction"]["measures"].as_array().expect("measures");
        let drawn = drawn.iter().find(|one| one["name"] == name).expect(name)["before_mm"]
            .as_f64()
            .expect("a size");
        let noted = measure(&format!("{} mm", drawn - 0.5)).expect("plausible");
        assert!(
            noted["measured"]
                .as_str()
                .is_some_and(|text| text.contains("[[measurement]]")),
            "{noted}"
        );
        let wrong = measure("12 mm").expect("an answer");
        assert_eq!(wrong["wrong"][0]["of"], name);
    }

    #[test]
    fn a_request_on_the_cable_is_the_one_that_the_protocol_shows() {
        ask(&json!({ "ask": "link", "message": "open" })).expect("a cable");
        let sent = ask(&json!({ "ask": "link", "message": "identify" })).expect("bytes");
        // docs/link.md, worked bytes: identify, tag 1.
        assert_eq!(sent["send"], "AAiBAQEzXcuvAA==");
    }
}
