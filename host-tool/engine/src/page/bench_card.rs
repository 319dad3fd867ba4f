//! The bench card: the list of steps on the screen, and on paper sheets with big numbers and boxes to tick.
//!
//! The sheets are laid out here and not by the browser: a sheet is one page of A4 as well as of Letter, every sheet has
//! its head, and a turn of the frame never parts from the step after it.

use super::html::{escape, mark};
use super::step_words::{Told, face_name};
use crate::plan::model::{Face, Plan, Step, Work};
use crate::plan::saved;
use crate::plan::travel::faces_up;
use crate::units::Units;
use crate::sanitise;
use std::fmt::Write;

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

/// What fits on a sheet below its head on A4 and on Letter, mm.
const SHEET_MM: f64 = 230.0;
/// What a line about clamps or pre-sets takes of the first sheet, mm.
const BEYOND_MM: f64 = 14.0;
/// Longest such line, characters.
const LONGEST_BEYOND: usize = 150;
/// Longest name on paper, characters.
const LONGEST_NAME: usize = 60;

/// A way to fill a sheet, roomy ones first. Heights in mm.
struct Layout {
    class: &'static str,
    columns: usize,
    weld: f64,
    tack: f64,
    turn: f64,
    /// Characters in a line of text, and its height.
    line: (usize, f64),
    /// Whether there is room for why a step comes now.
    why: bool,
}

const LAYOUTS: [Layout; 3] = [
    Layout {
        class: "one",
        columns: 1,
        weld: 13.0,
        tack: 11.0,
        turn: 13.0,
        line: (72, 5.2),
        why: true,
    },
    Layout {
        class: "two",
        columns: 2,
        weld: 10.6,
        tack: 7.4,
        turn: 10.6,
        line: (30, 4.6),
        why: false,
    },
    Layout {
        class: "three",
        columns: 3,
        weld: 8.2,
        tack: 4.8,
        turn: 8.0,
        line: (22, 3.7),
        why: false,
    },
];

/// A step as the card shows it.
struct Item<'a> {
    step: &'a Step,
    up: Face,
    told: Told,
}

impl Item<'_> {
    /// What to do where, and what must not be broken over two lines, piece by piece.
    fn text(&self) -> (String, impl Iterator<Item = &str>) {
        let name = sanitise::short(&self.told.name, LONGEST_NAME);
        let what = match self.step.work {
            Work::TurnOver { .. } => format!("turn over: {name}"),
            Work::Tack { .. } => format!("tack {name}"),
            Work::ClampOff { clamp, .. } => format!("clamp {clamp} off: {name}"),
            Work::Weld { .. } => name,
        };
        (
            what,
            self.told.brief.split_inclusive(", ").map(str::trim_end),
        )
    }

    fn height(&self, layout: &Layout) -> f64 {
        let least = match self.step.work {
            Work::Weld { .. } => layout.weld,
            Work::Tack { .. } => layout.tack,
            Work::TurnOver { .. } | Work::ClampOff { .. } => layout.turn,
        };
        // Without the big number there is room for a few more.
        let room = match self.step.work {
            Work::Tack { .. } => layout.line.0 + 6,
            _ => layout.line.0,
        };
        let (what, brief) = self.text();
        let mut lines = lines(what.split(' ').chain(brief), room);
        if layout.why {
            lines += self.step.why.chars().count().div_ceil(layout.line.0);
        }
        least.max(lines as f64 * layout.line.1 + 1.0)
    }
}

/// Lines that words take, none of which is broken; 1 or more.
fn lines<'a>(words: impl Iterator<Item = &'a str>, room: usize) -> usize {
    let (mut lines, mut used) = (1, 0);
    for length in words.map(|word| word.chars().count()) {
        if used > 0 && used + 1 + length > room {
            (lines, used) = (lines + 1, 0);
        }
        used += length + usize::from(used > 0);
    }
    lines
}

/// Sheets of columns of steps.
type Sheets<'s, 'a> = Vec<Vec<&'s [Item<'a>]>>;

fn sheets<'s, 'a>(items: &'s [Item<'a>], layout: &Layout, sheet_mm: f64) -> Sheets<'s, 'a> {
    let mut columns: Vec<&[Item<'_>]> = Vec::new();
    let (mut from, mut filled) = (0, 0.0);
    for (k, item) in items.iter().enumerate() {
        let mut wanted = item.height(layout);
        if matches!(item.step.work, Work::TurnOver { .. }) {
            wanted += items.get(k + 1).map_or(0.0, |next| next.height(layout));
        }
        if filled + wanted > sheet_mm && k > from {
            columns.push(&items[from..k]);
            (from, filled) = (k, 0.0);
        }
        filled += item.height(layout);
    }
    columns.push(&items[from..]);
    columns
        .chunks(layout.columns)
        .map(<[&[Item<'_>]]>::to_vec)
        .collect()
}

/// The roomiest layout that takes one sheet; several sheets only where none does.
fn laid_out<'s, 'a>(items: &'s [Item<'a>], sheet_mm: f64) -> (&'static Layout, Sheets<'s, 'a>) {
    let [roomy, middle, tight] = &LAYOUTS;
    for layout in [roomy, middle] {
        let sheets = sheets(items, layout, sheet_mm);
        if sheets.len() == 1 {
            return (layout, sheets);
        }
    }
    (tight, sheets(items, tight, sheet_mm))
}

/// Both forms: the list that the script steps through, and the sheets for paper.
pub(super) fn card(out: &mut String, units: Units, plan: &Plan) {
    let items: Vec<Item<'_>> = plan
        .steps
        .iter()
        .zip(faces_up(plan))
        .map(|(step, up)| Item {
            step,
            up,
            told: Told::of(step, up),
        })
        .collect();
    list(out, &items);
    paper(out, units, plan, &items);
}

fn list(out: &mut String, items: &[Item<'_>]) {
    put!(
        out,
        "<section class=\"panel card screen\" aria-labelledby=\"card-title\"><div class=\"card-head\"><h2 id=\"card-title\">Bench card</h2>\
         <button type=\"button\" id=\"print-card\" hidden>print the card</button></div>\n\
         <div class=\"scroll\" role=\"group\" aria-labelledby=\"card-title\" tabindex=\"0\"><table id=\"steps\"><thead><tr>\
         <th scope=\"col\">Done</th><th scope=\"col\" class=\"num\">Step</th><th scope=\"col\">Weld</th><th scope=\"col\">Where</th>\
         <th scope=\"col\">How</th><th scope=\"col\" class=\"wide\">Why now</th></tr></thead><tbody>"
    );
    for Item { step, told, .. } in items {
        let (kind, what) = match &step.work {
            Work::Weld { .. } => ("weld", mark("later", &told.sign)),
            Work::Tack { .. } => ("tack", "<span class=\"what\">tack</span>".into()),
            Work::TurnOver { .. } => ("turn", "<span class=\"what\">turn</span>".into()),
            Work::ClampOff { .. } => ("off", "<span class=\"what\">clamp</span>".into()),
        };
        put!(
            out,
            "<tr class=\"{kind}\" data-step=\"{place}\"><td><span class=\"box\" aria-hidden=\"true\"></span></td>\
             <th scope=\"row\" class=\"num\"><button type=\"button\" aria-label=\"Step {place}: {}\">{place}</button></th><td>{what}</td>\
             <td><bdi>{}</bdi></td><td>{}</td><td class=\"wide\">{}</td></tr>",
            escape(&told.title),
            escape(&sanitise::plain(&told.name)),
            escape(&told.how),
            escape(&step.why),
            place = step.number
        );
    }
    put!(out, "</tbody></table></div></section>");
}

fn paper(out: &mut String, units: Units, plan: &Plan, items: &[Item<'_>]) {
    let best = plan
        .beyond_order
        .as_ref()
        .and_then(|found| found.gains.first());
    let room = if best.is_some() {
        SHEET_MM - BEYOND_MM
    } else {
        SHEET_MM
    };
    let (layout, sheets) = laid_out(items, room);
    let count = sheets.len();
    for (k, columns) in sheets.iter().enumerate() {
        let sheet = match count {
            1 => String::new(),
            _ => format!("Sheet {} of {count}. ", k + 1),
        };
        let up = match columns.first().and_then(|column| column.first()) {
            Some(item) if !matches!(item.step.work, Work::TurnOver { .. }) => {
                format!("Begins with the {} up.", face_name(item.up))
            }
            _ => String::new(),
        };
        put!(
            out,
            "<section class=\"sheet {}\"><h2>Bench card: <bdi>{}</bdi></h2><p>{sheet}{up} Tick each step when it is done; \
             arrows are the way of the torch.</p>",
            layout.class,
            escape(&sanitise::short(&plan.title, LONGEST_NAME))
        );
        if let (0, Some(gain)) = (k, best) {
            put!(
                out,
                "<p>Beside the order: <bdi>{}</bdi> ({}).</p>",
                escape(&sanitise::short(&gain.advice, LONGEST_BEYOND)),
                escape(&saved(gain, units))
            );
        }
        put!(out, "<div class=\"columns\">");
        for column in columns {
            put!(out, "<ol>");
            for item in *column {
                entry(out, layout, item);
            }
            put!(out, "</ol>");
        }
        for _ in columns.len()..layout.columns {
            put!(out, "<div class=\"empty\"></div>");
        }
        put!(out, "</div></section>");
    }
}

fn entry(out: &mut String, layout: &Layout, item: &Item<'_>) {
    let (kind, sign) = match item.step.work {
        Work::Weld { .. } => ("weld", format!("<b>{}</b>", escape(&item.told.sign))),
        Work::Tack { .. } => ("tack", String::new()),
        Work::TurnOver { .. } => ("turn", "<b>↻</b>".into()),
        Work::ClampOff { .. } => ("off", format!("<b>{}</b>", escape(&item.told.sign))),
    };
    let (what, brief) = item.text();
    let why = match layout.why {
        true => format!("<br><i>{}</i>", escape(&item.step.why)),
        false => String::new(),
    };
    let brief: String = brief
        .map(|piece| format!(" <span class=\"whole\">{}</span>", escape(piece)))
        .collect();
    put!(
        out,
        "<li class=\"{kind}\"><span class=\"box\"></span><span class=\"place\">{}</span>{sign}<span class=\"text\"><bdi>{}</bdi>\
         {brief}{why}</span></li>",
        item.step.number,
        escape(&what)
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan_of(name: &str, rows: u32) -> Plan {
        let text = format!(
            "name = \"{name}\"\nmaterial = \"steel\"\n[frame]\nwidth = 1200\nheight = 900\nsection = \"SHS 40x40x3\"\n\
             corners = \"mitred\"\n[frame.bars]\ncount = {rows}\nsection = \"SHS 20x20x2\"\nwelded = [\"front\", \"back\"]\n\
             [procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n"
        );
        let job = crate::job::from_text("panel.toml", &text).expect("a good job");
        let options = crate::plan::Options {
            effort: crate::plan::order::Effort {
                trials: 200,
                seed: 1,
            },
            ..Default::default()
        };
        crate::plan::plan(&job, &options, &mut |_| true).expect("a plan")
    }

    fn items(plan: &Plan) -> Vec<Item<'_>> {
        plan.steps
            .iter()
            .map(|step| Item {
                step,
                up: Face::Front,
                told: Told::of(step, Face::Front),
            })
            .collect()
    }

    #[test]
    fn forty_steps_fit_on_one_sheet_and_a_hundred_do() {
        for bars in [1, 3, 9] {
            let plan = plan_of("Panel", bars);
            let items = items(&plan);
            let (layout, sheets) = laid_out(&items, SHEET_MM);
            let steps = plan.steps.len();
            assert_eq!(sheets.len(), 1, "{steps} steps in layout {}", layout.class);
            assert!(
                steps > 40 || layout.columns < 3,
                "{steps} steps are packed tight"
            );
        }
    }

    #[test]
    fn a_wait_goes_to_the_next_line_where_it_does_not_fit() {
        let words = |text: &'static str| text.split('|');
        assert_eq!(
            lines(
                words("top left corner,|outside|to back 5 s,|wait 30 s first"),
                22
            ),
            3
        );
        assert_eq!(lines(words("bar 8 top,|front|→ 3 s"), 22), 1);
        assert_eq!(lines(words(""), 22), 1);
    }

    #[test]
    fn every_step_stands_on_the_card_once_in_its_order_and_no_column_is_too_long() {
        let plan = plan_of("Panel", 40);
        let items = items(&plan);
        let (layout, sheets) = laid_out(&items, SHEET_MM);
        assert!(sheets.len() > 1);
        let places: Vec<usize> = sheets
            .iter()
            .flatten()
            .flat_map(|column| column.iter().map(|item| item.step.number))
            .collect();
        assert_eq!(places, (1..=plan.steps.len()).collect::<Vec<_>>());
        for column in sheets.iter().flatten() {
            let height: f64 = column.iter().map(|item| item.height(layout)).sum();
            assert!(height <= SHEET_MM, "{height} mm");
            let last = &column.last().expect("no empty column").step.work;
            assert!(
                !matches!(last, Work::TurnOver { .. }),
                "a turn stands alone at the foot"
            );
        }
    }
}
