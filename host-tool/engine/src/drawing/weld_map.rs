//! The weld map as a drawing that stands alone: every weld numbered, its verdict shown by shape and colour.

use super::figure::{Figures, Mark};
use super::palette;
use super::scene::Scene;
use super::sheet::Sheet;
use super::svg::{Svg, number};
use crate::job::model::Job;
use crate::map::model::WeldMap;
use crate::sanitise;
use crate::verdict::Verdict;

/// The order in which verdicts are listed: worst first.
pub(crate) const WORST_FIRST: [Verdict; 5] = [
    Verdict::OutOfLimits,
    Verdict::Marginal,
    Verdict::WithinLimits,
    Verdict::NotMeasured,
    Verdict::NoLimit,
];

/// The marks of a weld map, one a weld of the job.
#[must_use]
pub fn marks(map: &WeldMap) -> Vec<Mark> {
    map.welds
        .iter()
        .map(|weld| Mark {
            label: weld.number.to_string(),
            class: palette::class(weld.verdict),
            title: format!(
                "Weld {}, {}: {}",
                weld.number,
                sanitise::plain(&weld.name),
                weld.describe_verdict()
            ),
            arrow: false,
        })
        .collect()
}

/// How many welds have a verdict.
#[must_use]
pub(crate) fn count(map: &WeldMap, verdict: Verdict) -> usize {
    map.welds
        .iter()
        .filter(|weld| weld.verdict == verdict)
        .count()
}

/// The weld map as an SVG file: title, the views that show every weld, and what the marks mean.
#[must_use]
pub fn weld_map_svg(job: &Job, map: &WeldMap) -> String {
    let scene = Scene::of(job);
    let marks = marks(map);
    let title = format!("Weld map: {}", sanitise::short(&map.title, 60));
    let figures = Figures::new(&scene, &marks);
    let mut sheet = Sheet::new(&title);
    for (caption, view, numbered) in figures.views() {
        sheet.line(caption);
        sheet.figure(&figures, &view, &numbered);
    }
    sheet.foot(|svg, at| legend(svg, map, at));
    sheet.finish()
}

fn legend(svg: &mut Svg, map: &WeldMap, [mut x, y]: [f64; 2]) -> f64 {
    for verdict in WORST_FIRST {
        let count = count(map, verdict);
        if count == 0 {
            continue;
        }
        let class = palette::class(verdict);
        let place = format!("translate({} {})", number(x + 18.0), number(y));
        svg.open("g", &[("class", &format!("mark {class}"))]);
        svg.leaf(
            "path",
            &[("d", palette::outline(class)), ("transform", &place)],
        );
        svg.close();
        let words = format!("{} {}", count, verdict.name());
        let (at, base) = (number(x + 46.0), number(y + 5.0));
        svg.text(
            "text",
            &[("class", "small"), ("x", &at), ("y", &base)],
            &words,
        );
        x += 70.0 + 9.0 * words.chars().count() as f64;
    }
    40.0
}
