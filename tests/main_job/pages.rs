//! Drawings and pages: what people see, and what must never become markup.

use coldsquare::demo;
use coldsquare_core::units::{Amperes, Joules, Seconds, Volts, Watts};
use coldsquare_engine::drawing::figure::Figures;
use coldsquare_engine::drawing::scene::Scene;
use coldsquare_engine::drawing::view::{self, View};
use coldsquare_engine::drawing::{self, label};
use coldsquare_engine::job::{self, model::Job};
use coldsquare_engine::log;
use coldsquare_engine::map::model::{MappedBead, Role, Spread, TracePoint, WeldMap};
use coldsquare_engine::map::{self, Settings};
use coldsquare_engine::page;
use coldsquare_engine::plan::{self, Options, order::Effort};
use coldsquare_engine::recording::RecordingOptions;
use coldsquare_tests::assert_golden;
use std::io::Cursor;
use std::path::Path;

fn frame(width: u32, bars: u32) -> Job {
    let text = format!(
        "name = \"Panel\"\nmaterial = \"steel\"\n[frame]\nwidth = {width}\nheight = 900\nsection = \"SHS 40x40x3\"\n\
         corners = \"mitred\"\n[frame.bars]\ncount = {bars}\nsection = \"SHS 20x20x2\"\nwelded = [\"front\", \"back\"]\n\
         [procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n"
    );
    job::from_text("panel.toml", &text).expect("a good job")
}

/// The gate of the demo as its maker welds it.
fn gate() -> (Job, WeldMap) {
    let job =
        job::from_text("gate.toml", coldsquare_engine::example::GARDEN_GATE).expect("a good job");
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let (bytes, _) =
        coldsquare_firmware::sim::log_build(&demo::build(&job, &order), 1).expect("a build");
    let mut map = mapped(&job, &bytes);
    map.source.software = "test".into();
    (job, map)
}

fn mapped(job: &Job, log: &[u8]) -> WeldMap {
    let options = RecordingOptions::default();
    let log =
        log::read_from(Path::new("build.log"), log, Cursor::new([]), &options).expect("a good log");
    map::build(job, &log, &Settings::default()).expect("a map")
}

/// A map in which every weld has a bead with a trace of as many points as a map keeps.
fn full(job: &Job) -> WeldMap {
    let mut map = mapped(job, b"0,0,0\n0.1,20,100\n0.2,20,100\n0.3,0,0\n");
    map.beads = (0..map.welds.len())
        .map(|k| bead(k, &Settings::default()))
        .collect();
    for (k, weld) in map.welds.iter_mut().enumerate() {
        weld.beads = vec![k as u32 + 1];
    }
    map
}

fn bead(k: usize, settings: &Settings) -> MappedBead {
    let start = 20.0 * k as f64;
    let points = settings.trace_points;
    let step = 10.0 / points as f64;
    let noise =
        |point: usize, range: f64| range * ((point * 7919 + k * 104_729) % 997) as f64 / 997.0;
    let trace = (0..points).map(|p| TracePoint {
        from: Seconds(start + step * p as f64),
        until: Seconds(start + step * (p + 1) as f64),
        arc_on: true,
        voltage: Spread {
            lowest: Volts(noise(p, 4.0)),
            mean: Volts(18.0 + noise(p, 1.0)),
            highest: Volts(24.0 + noise(p, 3.0)),
        },
        current: Spread {
            lowest: Amperes(70.0 + noise(p, 9.0)),
            mean: Amperes(115.0 + noise(p, 9.0)),
            highest: Amperes(190.0 + noise(p, 30.0)),
        },
        power: Spread {
            lowest: Watts(1900.0 + noise(p, 90.0)),
            mean: Watts(2000.0 + noise(p, 90.0)),
            highest: Watts(2100.0 + noise(p, 90.0)),
        },
        running_energy: Joules(2000.0 * step * (p + 1) as f64),
    });
    MappedBead {
        number: k as u32 + 1,
        role: Role::Weld {
            weld: k as u16 + 1,
            run: 1,
        },
        basis: map::model::Basis::Alignment,
        confidence: 1.0,
        or_else: None,
        start: Seconds(start),
        end: Seconds(start + 10.0),
        arc_time: Seconds(10.0),
        voltage: None,
        current: None,
        power: None,
        energy: None,
        restarts: 0,
        flags: Vec::new(),
        trace: trace.collect(),
    }
}

fn planned(job: &Job) -> plan::model::Plan {
    let effort = Effort {
        trials: 2_000,
        seed: 1,
    };
    plan::plan(
        job,
        &Options {
            effort,
            ..Options::default()
        },
        &mut |_| true,
    )
    .expect("a plan")
}

#[test]
fn the_map_of_the_gate_is_drawn_as_blessed() {
    let (job, map) = gate();
    assert_golden(
        "pages/garden-gate-map.svg",
        &drawing::weld_map_svg(&job, &map),
    );
}

#[test]
fn the_map_of_the_gate_in_characters_is_as_blessed() {
    let (job, map) = gate();
    assert_golden(
        "pages/garden-gate-map.txt",
        &drawing::weld_map_in_characters(&job, &map, 80),
    );
}

#[test]
fn the_drawing_in_characters_is_no_wider_than_the_terminal_and_has_every_number_once_or_says_so() {
    for (width, bars, columns) in [
        (600, 1, 40),
        (1200, 11, 80),
        (1200, 11, 140),
        (6000, 121, 80),
    ] {
        let job = frame(width, bars);
        let map = full(&job);
        let text = drawing::weld_map_in_characters(&job, &map, columns);
        let widest = text.lines().take_while(|line| !line.starts_with("[4]"));
        let widest = widest.map(|line| line.chars().count()).max();
        assert!(widest <= Some(columns), "{widest:?} in {columns} columns");
        let (drawn, said) = text
            .split_once("[4] out of limits")
            .expect("what the shapes mean");
        let mut numbers: Vec<u16> = drawn
            .split(|c: char| !c.is_ascii_digit())
            .filter_map(|number| number.parse().ok())
            .collect();
        numbers.sort_unstable();
        let shown = numbers.len();
        numbers.dedup();
        assert_eq!(numbers.len(), shown, "a number stands twice");
        let left_out = job.welds.len() - shown;
        assert_eq!(
            said.contains(&format!("No room for {left_out} numbers")),
            left_out > 0
        );
        assert!(bars > 1 || left_out == 0);
    }
}

#[test]
fn the_drawing_of_the_order_shows_every_weld_once_with_its_way_and_its_order_in_words() {
    let job = frame(900, 3);
    let plan = planned(&job);
    let svg = drawing::order_svg(&job, &plan);
    for weld in &job.welds {
        let mark = format!("data-weld=\"{}\"", weld.number);
        assert_eq!(svg.matches(&mark).count(), 1, "weld {}", weld.number);
    }
    assert_eq!(svg.matches("class=\"direction\"").count(), job.welds.len());
    let words: Vec<u16> = svg
        .lines()
        .filter_map(|line| line.trim().strip_prefix("<text class=\"small\""))
        .filter_map(|line| line.split_once('>')?.1.strip_suffix("</text>"))
        .filter(|line| line.chars().all(|c| c.is_ascii_digit() || ", ".contains(c)))
        .flat_map(|line| {
            line.split(", ")
                .map(|number| number.parse().expect("a number"))
        })
        .collect();
    assert_eq!(words, plan.order());
}

#[test]
fn members_end_where_they_meet_so_that_a_plane_parts_every_two() {
    let (job, _) = gate();
    let scene = Scene::of(&job);
    let count = scene.solids.len();
    assert_eq!(count, job.members.len(), "a tube is one solid");
    assert_eq!(view::between(&scene.solids).len(), count * (count - 1) / 2);
}

#[test]
fn front_welds_are_seen_from_the_front_and_back_welds_from_the_back() {
    let small = job::from_text("small-frame.toml", super::map::SMALL_FRAME).expect("a good job");
    let jobs = [
        small,
        gate().0,
        frame(600, 1),
        frame(600, 4),
        frame(733, 2),
        frame(1200, 11),
    ];
    for job in jobs {
        let scene = Scene::of(&job);
        for (k, weld) in job.welds.iter().enumerate() {
            let sides = [
                view::sees(&scene, k, &View::FRONT),
                view::sees(&scene, k, &View::BACK),
            ];
            if weld.outward.z > 0.5 {
                assert_eq!(sides, [true, false], "weld {}, {}", weld.number, weld.name);
            } else if weld.outward.z < -0.5 {
                assert_eq!(sides, [false, true], "weld {}, {}", weld.number, weld.name);
            }
        }
    }
}

#[test]
fn the_views_are_right_handed_and_a_deep_frame_is_shown_from_the_corner_too() {
    for view in [View::FRONT, View::BACK, View::CORNER] {
        let across = view.right.cross(view.up) - view.toward;
        assert!(across.length() < 1e-4, "{view:?}");
        assert!((view.toward.length() - 1.0).abs() < 1e-4);
    }
    let trolley = include_str!("../golden/job/trolley.toml");
    let trolley = job::from_text("trolley.toml", trolley).expect("a good job");
    for (job, deep) in [(trolley, true), (gate().0, false)] {
        let captions = Figures::new(&Scene::of(&job), &[])
            .views()
            .iter()
            .any(|(caption, ..)| *caption == "from the corner");
        assert_eq!(captions, deep, "{}", job.name);
    }
}

#[test]
fn every_weld_is_numbered_once_and_no_two_numbers_overlap() {
    for (width, bars) in [(600, 1), (1200, 11), (6000, 121)] {
        let job = frame(width, bars);
        let map = mapped(&job, b"0,0,0\n0.1,20,100\n0.2,20,100\n0.3,0,0\n");
        let (scene, marks) = (Scene::of(&job), drawing::marks(&map));
        let figures = Figures::new(&scene, &marks);
        let mut numbered = Vec::new();
        for (caption, view, welds) in figures.views() {
            let placed = figures.placed(&view, &welds);
            for (k, a) in placed.iter().enumerate() {
                for b in &placed[k + 1..] {
                    let overlap = label::overlap(a.at, a.half, b.at, b.half, 0.0);
                    assert!(
                        !overlap,
                        "{caption}: welds {} and {} of {}",
                        a.weld + 1,
                        b.weld + 1,
                        job.welds.len()
                    );
                }
            }
            numbered.extend(placed.iter().map(|placed| placed.weld));
        }
        numbered.sort_unstable();
        assert_eq!(numbered, (0..job.welds.len()).collect::<Vec<_>>());
    }
}

/// ISO 2553:2019, system A: z for the leg, s for the depth, process by number (ISO 4063). AWS A2.4:2020: no letter for the
/// leg, groove weld size in parentheses, process by letters. Both clauses from memory.
#[test]
fn a_weld_is_called_out_in_the_language_of_its_job() {
    let metric = page::weld_map_html(&frame(600, 1), &full(&frame(600, 1)));
    for wanted in [
        r#"{"system":"ISO 2553","size":"z2","kind":"fillet","length":"20","tail":"135"}"#,
        r#"{"system":"ISO 2553","size":"s3","kind":"butt","length":"56.6","tail":"135"}"#,
    ] {
        assert!(metric.contains(wanted), "{wanted}");
    }
    let inch = include_str!("../golden/job/new-inch.toml");
    let inch = job::from_text("new-inch.toml", inch).expect("a good job");
    let page = page::weld_map_html(&inch, &full(&inch));
    let butt =
        r#"{"system":"AWS A2.4","size":"(0.12)","kind":"butt","length":"1.5","tail":"GMAW"}"#;
    assert!(page.contains(butt), "{butt}");
    assert!(!page.contains(r#""system":"ISO 2553""#));
}

/// Bytes: the page of 200 welds with traces is to stay below a megabyte; 500 may take twice that.
#[test]
fn pages_stay_small() {
    for (width, bars, most) in [
        (600, 1, 300_000),
        (1200, 11, 800_000),
        (3000, 46, 1_000_000),
        (6000, 121, 1_900_000),
    ] {
        let job = frame(width, bars);
        let page = page::weld_map_html(&job, &full(&job));
        println!("{} welds: {} kB", job.welds.len(), page.len() / 1000);
        assert!(
            page.len() < most,
            "{} welds take {} bytes",
            job.welds.len(),
            page.len()
        );
    }
}

/// With the movement of every step, thinned so that nobody sees it.
#[test]
fn the_page_of_the_plan_stays_small_too() {
    let job = frame(3000, 46);
    let plan = planned(&job);
    let movement = page::movement_of(&job, &plan).expect("it stands");
    let page = page::plan_html(&job, &plan, Some(&movement));
    println!("{} welds: {} kB", job.welds.len(), page.len() / 1000);
    assert!(page.len() < 1_000_000, "{} bytes", page.len());
}

#[test]
fn names_are_text_and_never_markup() {
    let names = [
        "</script><script>alert(1)</script>".to_string(),
        "\"><img src=x onerror=alert(1)> <!-- ".to_string(),
        "\u{202E}gnp.exe \u{2066}سلام".to_string(),
        "🔥 & 'gate' ".to_string() + &"x".repeat(200),
    ];
    for name in names {
        let mut job = frame(600, 1);
        job.name.clone_from(&name);
        job.procedures[0].name.clone_from(&name);
        for weld in &mut job.welds {
            weld.name.clone_from(&name);
        }
        for joint in &mut job.joints {
            joint.name.clone_from(&name);
        }
        let mut map = full(&job);
        map.source.log.clone_from(&name);
        map.source.device = Some(name.clone());
        let pages = [
            page::weld_map_html(&job, &map),
            page::plan_html(&job, &planned(&job), None),
            drawing::weld_map_svg(&job, &map),
        ];
        for (k, page) in pages.iter().enumerate() {
            let scripts = if k == 2 { 0 } else { 2 };
            assert_eq!(
                page.matches("<script").count(),
                scripts,
                "page {k} of {name:?}"
            );
            assert_eq!(
                page.matches("</script").count(),
                scripts,
                "page {k} of {name:?}"
            );
            assert!(
                !page.contains("<img") && !page.contains("<!--"),
                "page {k} of {name:?}"
            );
            assert!(
                !page.contains(['\u{202E}', '\u{2066}']),
                "page {k} turns the direction of writing"
            );
            assert!(!page.contains('\u{0}'));
        }
    }
}

#[test]
fn a_page_asks_for_nothing_and_runs_only_what_it_names() {
    let job = frame(600, 1);
    for page in [
        page::weld_map_html(&job, &full(&job)),
        page::plan_html(&job, &planned(&job), None),
    ] {
        assert!(page.contains("default-src 'none'"));
        assert!(!page.contains("unsafe-inline"));
        for asks in ["http:", "src=", "href=\"h", "url(", "@import", "import("] {
            let page = page.replace("http://www.w3.org/2000/svg", "");
            assert!(!page.contains(asks), "{asks}");
        }
        assert!(
            !page.contains(" style=\"") && !page.contains(" onclick"),
            "the policy would refuse it"
        );
    }
}

#[test]
fn one_weld_is_not_told_as_many() {
    let text = include_str!("../golden/plan/one-weld.toml");
    let job = job::from_text("one-weld.toml", text).expect("a good job");
    let page = page::plan_html(&job, &planned(&job), None);
    assert!(page.contains("<b>1</b> weld, "), "{page}");
}
