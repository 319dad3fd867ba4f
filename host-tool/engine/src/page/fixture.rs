//! The page of a fixture: the table in plan, with lists to set it up by and boxes to tick.

use super::html::{self, Page, panel, scroll};
use crate::drawing::{draw_fixture, fixture_height, svg::Svg};
use crate::fixture::model::{Block, Fixture, SetUpSize, Spacer, SpacerKind};
use crate::fixture::text::{
    block_name, gap_names, grid_sentence, loosen, loosening, packing_sentence, spacer_notes,
};
use crate::format::{Precision, count};
use crate::job::model::Job;
use crate::sanitise;
use crate::units::Units;
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use maud::{Markup, PreEscaped, html};

/// A fixture as one HTML file.
#[must_use]
pub fn fixture_html(job: &Job, fixture: &Fixture, order: &str) -> String {
    let title = format!("Fixture: {}", sanitise::short(&fixture.title, 80));
    html::page(&Page {
        title: &title,
        body: html! {
            header {
                p.kind { "Fixture, welded in " (order) }
                (html::heading(&fixture.title))
            }
            main #main { (main(job.units, fixture)) }
        },
        data: String::new(),
        scripts: Vec::new(),
    })
}

fn main(units: Units, fixture: &Fixture) -> Markup {
    html! {
        (panel("plan", "panel", "On the table", plan(units, fixture)))
        (panel("blocks", "panel", "Blocks", blocks(units, fixture)))
        (panel("let-go", "panel keep", "Let go", html::list(loosening(fixture, units))))
        @if !fixture.spacers.is_empty() { (panel("spacers", "panel keep", "Spacers", spacers(units, fixture))) }
        (panel("set-up", "panel keep", "Sizes as set up", set_up(units, fixture)))
        @if !fixture.clamps.is_empty() { (panel("clamps", "panel keep", "Clamps", clamps(units, fixture))) }
        @if !fixture.lifts.is_empty() { (panel("lifts", "panel keep", "Hold down", lifts(units, fixture))) }
        @if !fixture.packing.is_empty() {
            (panel("packing", "panel keep", "Packing",
                html::list(fixture.packing.iter().map(|one| packing_sentence(one, units)))))
        }
        (panel("notes", "panel notes", "Cautions and notes", html::list(&fixture.notes)))
    }
}

fn plan(units: Units, fixture: &Fixture) -> Markup {
    let mut svg = Svg::default();
    draw_fixture(&mut svg, fixture);
    let view = format!("0 0 900 {:.0}", fixture_height(fixture));
    html! {
        p.how { (grid_sentence(&fixture.grid, units)) }
        svg.figure.plan viewBox=(view) role="img" aria-label="The frame on the table, with numbered blocks" {
            (PreEscaped(svg.finish()))
        }
        p.how {
            "Seen from above, front up. Filled: stops. Pointed: blocks that push. Dashed: comes loose before all is cold. "
            "Between bars: spacers. The cross is the middle of the frame, over a hole."
        }
    }
}

fn change(units: Units, value: f64, plus_minus: f64) -> String {
    units.change(Uncertain {
        value,
        standard: plus_minus / COVERAGE_FACTOR,
    })
}

fn force(units: Units, force: Option<[f64; 2]>) -> String {
    force.map_or("-".into(), |[value, plus_minus]| {
        units.uncertain_force(Uncertain {
            value,
            standard: plus_minus / COVERAGE_FACTOR,
        })
    })
}

fn head(columns: &[&str]) -> Markup {
    html! {
        thead { tr {
            @for (k, column) in columns.iter().enumerate() { th.num[k > 1] scope="col" { (column) } }
        } }
    }
}

fn tick() -> Markup {
    html! { td { span.box aria-hidden="true" {} } }
}

fn blocks(units: Units, fixture: &Fixture) -> Markup {
    let drawn = |mm: f64| units.length(mm, Precision::Drawn);
    let row = |block: &Block| {
        let [column, row] = fixture.grid.counted(block.hole);
        html! {
            tr {
                (tick())
                th scope="row" { b { (block.number) } " " bdi { (block_name(block)) } }
                td.num { (column) }
                td.num { (row) }
                td.num { b { (units.signed_length(block.offset_mm, Precision::Drawn)) } }
                td.num { (drawn(block.touches[0])) }
                td.num { (drawn(block.touches[1])) }
                td.num { (units.signed_length(block.pre_set_mm, Precision::Calculated)) }
                td.num { (change(units, block.into_mm, block.plus_minus_mm)) }
                td { (block.loosen.map_or("stays".into(), loosen)) }
            }
        }
    };
    let columns = [
        "Set",
        "Block",
        "Column",
        "Row",
        "Offset",
        "Touches: right",
        "up",
        "Pre-set",
        "Moves into it",
        "Loosen",
    ];
    scroll(
        "blocks",
        html! { table { (head(&columns)) tbody { @for block in &fixture.blocks { (row(block)) } } } },
    )
}

fn spacers(units: Units, fixture: &Fixture) -> Markup {
    let row = |spacer: &Spacer| {
        let kind = match spacer.kind {
            SpacerKind::Plain => "plain".to_owned(),
            SpacerKind::Wedges => format!(
                "wedges, drive {}",
                units.length_with_unit(spacer.drive_mm, Precision::Mark)
            ),
        };
        html! {
            tr {
                (tick())
                th scope="row" { (count(spacer.count, "spacer")) ": " bdi { (gap_names(spacer)) } }
                td.num { (units.length(spacer.cold_gap_mm, Precision::Drawn)) }
                td.num { (change(units, spacer.closing_mm, spacer.plus_minus_mm)) }
                td.num { (units.length(spacer.undersize_mm, Precision::Calculated)) }
                td.num { b { (units.length(spacer.width_mm, Precision::Drawn)) } }
                td { (kind) }
            }
        }
    };
    let columns = [
        "Out",
        "Spacers",
        "Gap cold",
        "Closes",
        "Undersize",
        "Width",
        "Kind",
    ];
    html! {
        (scroll("spacers", html! {
            table { (head(&columns)) tbody { @for spacer in &fixture.spacers { (row(spacer)) } } }
        }))
        @for note in spacer_notes(fixture) {
            @if note.starts_with("Caution") { p.flag { (note) } } @else { p.how { (note) } }
        }
    }
}

fn set_up(units: Units, fixture: &Fixture) -> Markup {
    let columns = ["Size", "Read", "Cold", "Set up"];
    let row = |size: &SetUpSize| {
        let set_up = units.length(size.set_up_mm, Precision::Calculated);
        let uncertainty = units.length(size.plus_minus_mm, Precision::Calculated);
        html! {
            tr {
                th scope="row" { bdi { (size.name) } }
                td.write {}
                td.num { (units.length(size.cold_mm, Precision::Drawn)) }
                td.num { b { (set_up) } " ± " (uncertainty) }
            }
        }
    };
    scroll(
        "set-up",
        html! { table { (head(&columns)) tbody { @for size in &fixture.set_up { (row(size)) } } } },
    )
}

fn clamps(units: Units, fixture: &Fixture) -> Markup {
    let rows = fixture.clamps.iter().map(|clamp| {
        let [column, row] = fixture.grid.counted(clamp.hole);
        (
            format!("C{} on {}", clamp.number, sanitise::plain(&clamp.member)),
            format!(
                "column {column}, row {row}; {}",
                force(units, Some(clamp.force_n))
            ),
        )
    });
    html::facts(&rows.collect::<Vec<_>>())
}

fn lifts(units: Units, fixture: &Fixture) -> Markup {
    let rows = fixture.lifts.iter().map(|lift| {
        (
            sanitise::plain(&lift.what),
            format!(
                "lifts {} after weld {}; a clamp takes {}",
                units.length_with_unit(lift.lift_mm, Precision::Drawn),
                lift.after_weld,
                force(units, lift.force_n)
            ),
        )
    });
    html::facts(&rows.collect::<Vec<_>>())
}
