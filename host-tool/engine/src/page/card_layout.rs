//! How the steps of a plan fill the sheets of the bench card.
//!
//! The program lays the sheets out, not the browser: a sheet fits A4 as well as Letter, every sheet has its head, and a
//! flip of the frame stays with the step after it.

use super::step_text::StepText;
use crate::plan::model::{Step, StepKind};
use crate::plan::travel::Up;
use crate::sanitise;

/// What fits on a sheet below its head on A4 and on Letter, mm.
pub(super) const SHEET_MM: f64 = 230.0;
/// Longest name on paper, characters.
pub(super) const MAX_NAME: usize = 60;

/// How a sheet is filled. Heights in mm.
pub(super) struct Layout {
    pub class: &'static str,
    pub columns: usize,
    weld: f64,
    tack: f64,
    flip: f64,
    /// Characters in a line of text, and its height.
    line: (usize, f64),
    /// Whether there is room for the reason of a step.
    pub why: bool,
}

/// Roomy ones first.
const LAYOUTS: [Layout; 3] = [
    Layout {
        class: "one",
        columns: 1,
        weld: 13.0,
        tack: 11.0,
        flip: 13.0,
        line: (72, 5.2),
        why: true,
    },
    Layout {
        class: "two",
        columns: 2,
        weld: 10.6,
        tack: 7.4,
        flip: 10.6,
        line: (30, 4.6),
        why: false,
    },
    Layout {
        class: "three",
        columns: 3,
        weld: 8.2,
        tack: 4.8,
        flip: 8.0,
        line: (22, 3.7),
        why: false,
    },
];

/// A step as the card shows it.
pub(super) struct Item<'a> {
    pub step: &'a Step,
    pub up: Up,
    pub text: StepText,
}

impl Item<'_> {
    /// What to do where, and the phrases that are not to be broken over two lines.
    pub(super) fn lines(&self) -> (String, impl Iterator<Item = &str>) {
        let name = sanitise::short(&self.text.name, MAX_NAME);
        let what = match self.step.what {
            StepKind::Flip { .. } => format!("flip: {name}"),
            StepKind::Tack { .. } => format!("tack {name}"),
            StepKind::ReleaseClamp { clamp, .. } => format!("release clamp {clamp}: {name}"),
            StepKind::Weld { .. } => name,
        };
        (
            what,
            self.text.brief.split_inclusive(", ").map(str::trim_end),
        )
    }

    fn height(&self, layout: &Layout) -> f64 {
        let minimum = match self.step.what {
            StepKind::Weld { .. } => layout.weld,
            StepKind::Tack { .. } => layout.tack,
            StepKind::Flip { .. } | StepKind::ReleaseClamp { .. } => layout.flip,
        };
        // Without the big number a line has room for a few more.
        let room = match self.step.what {
            StepKind::Tack { .. } => layout.line.0 + 6,
            _ => layout.line.0,
        };
        let (what, brief) = self.lines();
        let mut lines = line_count(what.split(' ').chain(brief), room);
        if layout.why {
            lines += self.step.why.chars().count().div_ceil(layout.line.0);
        }
        minimum.max(lines as f64 * layout.line.1 + 1.0)
    }
}

/// Lines that unbroken words take; 1 or more.
fn line_count<'a>(words: impl Iterator<Item = &'a str>, room: usize) -> usize {
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
pub(super) type Sheets<'s, 'a> = Vec<Vec<&'s [Item<'a>]>>;

fn sheets<'s, 'a>(items: &'s [Item<'a>], layout: &Layout, sheet_mm: f64) -> Sheets<'s, 'a> {
    let mut columns: Vec<&[Item<'_>]> = Vec::new();
    let (mut from, mut filled) = (0, 0.0);
    for (k, item) in items.iter().enumerate() {
        let mut wanted = item.height(layout);
        if matches!(item.step.what, StepKind::Flip { .. }) {
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

/// The roomiest layout that fits on one sheet; several sheets only if none does.
pub(super) fn laid_out<'s, 'a>(
    items: &'s [Item<'a>],
    sheet_mm: f64,
) -> (&'static Layout, Sheets<'s, 'a>) {
    let [roomy, middle, tight] = &LAYOUTS;
    for layout in [roomy, middle] {
        let sheets = sheets(items, layout, sheet_mm);
        if sheets.len() == 1 {
            return (layout, sheets);
        }
    }
    (tight, sheets(items, tight, sheet_mm))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::model::SeenFrom;
    use crate::plan::model::Face;

    const FRONT_UP: Up = Up {
        face: Face::Front,
        seen_from: SeenFrom::Front,
    };
    use crate::plan::model::Plan;

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
                up: FRONT_UP,
                text: StepText::of(step, FRONT_UP),
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
            line_count(
                words("top left corner,|outside|to back 5 s,|wait 30 s first"),
                22
            ),
            3
        );
        assert_eq!(line_count(words("bar 8 top,|front|→ 3 s"), 22), 1);
        assert_eq!(line_count(words(""), 22), 1);
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
            let last = &column.last().expect("no empty column").step.what;
            assert!(
                !matches!(last, StepKind::Flip { .. }),
                "a flip is alone at the foot"
            );
        }
    }
}
