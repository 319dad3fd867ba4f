//! The layout against other people's ways to the same numbers: a Monte Carlo of rows of marks, tubes cut in space, and
//! lines measured in the print.

use crate::reference::ask;
use coldsquare_engine::layout::places::place;
use coldsquare_engine::layout::stack::{MarkStack, Tolerances, stacks};
use coldsquare_engine::layout::wrap::{Cut, POINTS, wrap};
use coldsquare_tests::assert_close;
use coldsquare_tests::command::coldsquare;
use serde_json::{Value, json};
use std::path::Path;
use std::process::Command;

fn numbers(value: &Value) -> Vec<f64> {
    let all = value.as_array().expect("a list");
    all.iter()
        .map(|one| one.as_f64().expect("a number"))
        .collect()
}

#[test]
fn tolerance_stacks_are_those_of_a_hundred_thousand_rows() {
    let rows = [
        (vec![-540.0, -180.0, 180.0, 540.0], Tolerances::default()),
        (
            vec![-600.0, -300.0, 0.0, 300.0, 600.0],
            Tolerances {
                mark_mm: 0.8,
                length_mm: 2.0,
                centre_mm: 0.3,
            },
        ),
    ];
    for (marks, tolerances) in rows {
        let theirs = ask(
            "layout_stack.py",
            &json!({
                "marks": marks, "mark": tolerances.mark_mm, "length": tolerances.length_mm,
                "centre": tolerances.centre_mm, "frames": 100_000,
            }),
        );
        let ours = stacks(&marks, &tolerances);
        let check = |key: &str, of: fn(&MarkStack) -> f64, relative: f64| {
            for (stack, found) in ours.iter().zip(numbers(&theirs[key])) {
                assert_close(found, of(stack), 0.0, relative);
            }
        };
        // The standard deviation of 100 000 is known to 0.22 % (1 in sqrt(2n)); four of them.
        check("from_end", |one| one.from_end.root_sum_square_mm, 0.009);
        check(
            "from_centre",
            |one| one.from_centre.root_sum_square_mm,
            0.009,
        );
        // Of 100 000 rows with every act at its limit, some have them all to one side.
        check("worst_from_end", |one| one.from_end.worst_mm, 1e-9);
        check("worst_from_centre", |one| one.from_centre.worst_mm, 1e-9);
    }
}

#[test]
fn a_cope_is_where_the_lines_of_the_tube_meet_the_other_tube() {
    let cases = [
        (21.3, 48.3, 90.0, 0.0),
        (33.7, 33.8, 90.0, 0.0),
        (33.7, 48.3, 60.0, 0.0),
        (26.9, 60.3, 45.0, 10.0),
        (21.3, 42.4, 75.0, -8.0),
    ];
    let ours: Vec<Vec<f64>> = cases
        .iter()
        .map(|&(branch, main, degrees, offset_mm)| {
            let cut = Cut::Cope {
                main_radius_mm: main / 2.0,
                degrees,
                offset_mm,
            };
            let wrap = wrap(branch / 2.0, cut).expect("it lands");
            wrap.curve.iter().map(|point| point[1]).collect()
        })
        .collect();
    let questions: Vec<Value> = cases
        .iter()
        .map(|(branch, main, degrees, offset)| {
            json!({ "radius": branch / 2.0, "main": main / 2.0, "degrees": degrees, "offset": offset, "points": POINTS })
        })
        .collect();
    let theirs = ask("cope.py", &Value::from(questions));
    for (case, (ours, theirs)) in cases
        .iter()
        .zip(ours.iter().zip(theirs.as_array().expect("a list")))
    {
        for (one, other) in ours.iter().zip(numbers(theirs)) {
            assert!((one - other).abs() < 1e-6, "{case:?}: {one} and {other}");
        }
    }
    assert!(
        wrap(
            30.0,
            Cut::Cope {
                main_radius_mm: 20.0,
                degrees: 90.0,
                offset_mm: 0.0
            }
        )
        .is_none(),
        "a wider branch has no saddle"
    );
}

#[test]
fn pieces_are_laid_where_no_other_order_leaves_less_taper() {
    let (lengths, places) = ([830.2, 829.9, 830.0, 830.4], [-540.0, -180.0, 180.0, 540.0]);
    let placing = place(&lengths, &places).expect("four pieces for four places");
    let taper = |order: &[usize]| {
        let moment: f64 = order
            .iter()
            .zip(places)
            .map(|(&piece, place)| lengths[piece] * place)
            .sum();
        let square: f64 = places.iter().map(|place| place * place).sum();
        (moment / square * 1080.0).abs()
    };
    let ours = taper(&placing.pieces);
    assert_close(ours, placing.taper_mm.abs(), 1e-9, 0.0);
    for a in 0..4 {
        for b in 0..4 {
            for c in 0..4 {
                let order = [a, b, c, 6_usize.wrapping_sub(a + b + c)];
                let mut sorted = order;
                sorted.sort_unstable();
                if sorted == [0, 1, 2, 3] {
                    // To the hundredth that counts as none.
                    assert!(taper(&order) > ours - 0.01, "{order:?}");
                    assert!(taper(&order) < placing.worst_mm + 1e-9, "{order:?}");
                }
            }
        }
    }
}

/// Lines of a page of a PDF, mm.
fn upright(page: &Value) -> Vec<[f64; 3]> {
    let lines = page["lines"].as_array().expect("lines").iter().map(numbers);
    let mut found: Vec<[f64; 3]> = lines
        .filter(|line| (line[0] - line[2]).abs() < 1e-6)
        .map(|line| [line[0], line[1].min(line[3]), line[1].max(line[3])])
        .collect();
    found.sort_by(|a, b| a[0].total_cmp(&b[0]));
    found
}

/// Prints a page of the tool to a PDF as a browser does, and reads its lines.
fn printed(folder: &Path, page: &str) -> Value {
    let pdf = folder.join("page.pdf");
    let browser = Command::new("chromium")
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--no-pdf-header-footer",
        ])
        .arg(format!(
            "--user-data-dir={}",
            folder.join("profile").display()
        ))
        .arg(format!("--print-to-pdf={}", pdf.display()))
        .arg(page)
        .output()
        .expect("chromium is needed to print (Debian: chromium)");
    assert!(pdf.exists(), "{}", String::from_utf8_lossy(&browser.stderr));
    ask("pdf_lines.py", &Value::from(pdf.display().to_string()))
}

#[test]
fn a_story_stick_is_true_to_a_tenth_over_its_length_on_a4_and_on_letter() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = coldsquare_tests::golden("../../docs/examples/alcove-rack.toml")
        .display()
        .to_string();
    for (paper, size) in [("a4", [297.0, 210.0]), ("letter", [279.4, 215.9])] {
        let html = folder
            .path()
            .join(format!("{paper}.html"))
            .display()
            .to_string();
        let ran = coldsquare(["layout", &job, "--page", &html, "--paper", paper]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let pages = printed(folder.path(), &html);
        let pages = pages.as_array().expect("pages");
        for page in pages {
            let found = numbers(&page["size"]);
            assert!(
                (found[0] - size[0]).abs() < 0.5 && (found[1] - size[1]).abs() < 0.5,
                "{paper}: {found:?}"
            );
        }
        // The check square of the first sheet.
        let square = upright(&pages[0]);
        assert_close(square[square.len() - 1][0] - square[0][0], 100.0, 0.02, 0.0);
        // Every tile has the whole strip, moved, and shows its part of it: the crosses say where the tiles meet.
        let tiles = tiles(&pages[1..]);
        let marks = [
            -906.5, -876.5, -555.0, -525.0, -195.0, -165.0, 165.0, 195.0, 525.0, 555.0, 876.5,
            906.5,
        ];
        let mut seen = Vec::new();
        let mut start = 0.0;
        for (k, tile) in tiles.iter().enumerate() {
            if k > 0 {
                // Laid cross on cross.
                let seam = *tiles[k - 1].crosses.last().expect("a cross at its right");
                start += seam - tile.crosses[0];
            }
            seen.extend(tile.marks.iter().map(|at| at + start));
        }
        seen.sort_by(f64::total_cmp);
        seen.dedup_by(|a, b| (*a - *b).abs() < 0.5);
        assert_eq!(seen.len(), marks.len(), "{paper}: {seen:?}");
        let first = seen[0];
        for (at, mark) in seen.iter().zip(marks) {
            assert_close(at - first, mark - marks[0], 0.1, 0.0);
        }
    }
}

struct TileAsPrinted {
    marks: Vec<f64>,
    crosses: Vec<f64>,
}

/// The tiles from left to right: on each sheet from the top down.
fn tiles(pages: &[Value]) -> Vec<TileAsPrinted> {
    let mut found = Vec::new();
    for page in pages {
        let lines = upright(page);
        // A strip is 34 mm high; its marks are 26 mm long and its crosses 6 mm.
        let long = |line: &[f64; 3], mm: f64| (line[2] - line[1] - mm).abs() < 0.02;
        let mut feet: Vec<f64> = lines
            .iter()
            .filter(|line| long(line, 34.0))
            .map(|line| line[1])
            .collect();
        feet.sort_by(|a, b| b.total_cmp(a));
        feet.dedup_by(|a, b| (*a - *b).abs() < 0.5);
        for foot in feet {
            let here = |line: &&[f64; 3]| line[1] > foot - 0.5 && line[2] < foot + 34.5;
            let at = |mm: f64| -> Vec<f64> {
                let mut all: Vec<f64> = lines
                    .iter()
                    .filter(here)
                    .filter(|line| long(line, mm))
                    .map(|line| line[0])
                    .collect();
                all.dedup_by(|a, b| (*a - *b).abs() < 0.01);
                all
            };
            found.push(TileAsPrinted {
                marks: at(26.0),
                crosses: at(6.0),
            });
        }
    }
    found
}
