//! The weld map as comma-separated values: one table of welds, one of beads. Column names carry the unit.
//!
//! Text that a spreadsheet would read as a formula gets an apostrophe in front, which spreadsheets do not show.

use super::model::{MappedBead, MappedWeld, Role, WeldMap};
use crate::format;
use crate::limits::Limits;
use crate::sanitise;
use crate::units::Units;
use crate::verdict::{Estimate, Judged};

/// A row of column names, then one row for each weld.
#[must_use]
pub fn welds(map: &WeldMap, units: Units) -> String {
    let mut table = Table::default();
    for weld in &map.welds {
        weld_row(&mut table, weld, units);
        table.end_row();
    }
    if map.welds.is_empty() {
        return String::new();
    }
    table.finish()
}

/// A row of column names, then one row for each bead.
#[must_use]
pub fn beads(map: &WeldMap) -> String {
    let mut table = Table::default();
    for bead in &map.beads {
        bead_row(&mut table, bead);
        table.end_row();
    }
    table.finish()
}

fn weld_row(table: &mut Table, weld: &MappedWeld, units: Units) {
    let (heat, heat_in) = format::heat(units);
    let (speed, speed_in) = format::speed(units);
    let (length, length_in) = format::length(units);
    table.number("weld", Some(f64::from(weld.number)), 0);
    table.text("name", &weld.name);
    table.text("procedure", &weld.procedure);
    table.number(
        "process_iso_4063",
        Some(f64::from(weld.process.number())),
        0,
    );
    table.text("verdict", weld.verdict.name());
    table.text(
        "decided_by",
        weld.decided_by
            .map_or("", |decision| decision.quantity.name()),
    );
    table.judged("heat_input", heat.name, &weld.heat_input, heat_in);
    table.estimate("arc_energy", heat.name, weld.arc_energy, heat_in);
    table.judged("voltage", "v", &weld.voltage, |volts| volts.0);
    table.judged("current", "a", &weld.current, |amperes| amperes.0);
    table.judged("travel_speed", speed.name, &weld.travel_speed, speed_in);
    table.estimate("power", "w", weld.power, |watts| watts.0);
    table.estimate("energy", "j", weld.energy, |joules| joules.0);
    table.estimate("length", length.name, Some(weld.length), length_in);
    table.number("arc_time_s", weld.start.map(|_| weld.arc_time.0), 3);
    table.number("planned_arc_time_s", Some(weld.planned_arc_time.0), 3);
    table.number("start_s", weld.start.map(|start| start.0), 3);
    table.number("end_s", weld.end.map(|end| end.0), 3);
    table.number("runs", Some(weld.runs.len() as f64), 0);
    table.number("planned_runs", Some(f64::from(weld.planned_runs)), 0);
    table.number("restarts", Some(f64::from(weld.restarts)), 0);
    table.text("beads", &list(&weld.beads));
    table.text("replaced_beads", &list(&weld.replaced_beads));
    table.number("planned_place", Some(weld.planned_place as f64), 0);
    table.number("done_place", weld.done_place.map(|place| place as f64), 0);
    table.number("confidence", weld.confidence, 3);
    table.text("whole", if weld.whole { "yes" } else { "no" });
    let flags: Vec<String> = weld.flags.iter().map(ToString::to_string).collect();
    table.text("look_here", &flags.join("; "));
    let inspection = weld.inspection.as_ref();
    table.text(
        "inspection",
        &inspection.map_or(String::new(), ToString::to_string),
    );
}

fn bead_row(table: &mut Table, bead: &MappedBead) {
    table.number("bead", Some(f64::from(bead.number)), 0);
    table.text("role", &bead.role.describe());
    table.number("weld", bead.role.weld().map(f64::from), 0);
    table.number("confidence", Some(bead.confidence), 3);
    table.text(
        "or_else",
        &bead.or_else.map(Role::describe).unwrap_or_default(),
    );
    table.number("start_s", Some(bead.start.0), 3);
    table.number("end_s", Some(bead.end.0), 3);
    table.number("arc_time_s", Some(bead.arc_time.0), 3);
    table.estimate("voltage", "v", bead.voltage, |volts| volts.0);
    table.estimate("current", "a", bead.current, |amperes| amperes.0);
    table.estimate("power", "w", bead.power, |watts| watts.0);
    table.estimate("energy", "j", bead.energy, |joules| joules.0);
    table.number("restarts", Some(f64::from(bead.restarts)), 0);
    let flags: Vec<String> = bead.flags.iter().map(ToString::to_string).collect();
    table.text("look_here", &flags.join("; "));
}

fn list<T: ToString>(numbers: &[T]) -> String {
    let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
    numbers.join(" ")
}

/// Rows being written; the first row gives the column names.
#[derive(Default)]
struct Table {
    columns: Vec<String>,
    rows: Vec<Vec<String>>,
    row: Vec<String>,
}

impl Table {
    fn cell(&mut self, column: String, cell: String) {
        if self.rows.is_empty() {
            self.columns.push(column);
        }
        self.row.push(cell);
    }

    fn text(&mut self, column: &str, text: &str) {
        self.cell(column.into(), no_formula(text));
    }

    fn number(&mut self, column: &str, number: Option<f64>, decimals: usize) {
        let cell = number.filter(|number| number.is_finite());
        self.cell(
            column.into(),
            cell.map_or(String::new(), |number| format!("{number:.decimals$}")),
        );
    }

    fn estimate<T: Copy>(
        &mut self,
        name: &str,
        unit: &str,
        estimate: Option<Estimate<T>>,
        number: impl Fn(T) -> f64,
    ) {
        self.number(
            &format!("{name}_{unit}"),
            estimate.map(|one| number(one.value)),
            4,
        );
        let expanded = estimate.map(|one| number(one.expanded));
        self.number(&format!("{name}_expanded_{unit}"), expanded, 4);
    }

    fn judged<T: Copy>(
        &mut self,
        name: &str,
        unit: &str,
        judged: &Judged<T>,
        number: impl Fn(T) -> f64,
    ) {
        self.estimate(name, unit, judged.estimate, &number);
        let Limits { low, high } = judged.limits;
        self.number(&format!("{name}_low_{unit}"), low.map(&number), 4);
        self.number(&format!("{name}_high_{unit}"), high.map(&number), 4);
        self.text(&format!("{name}_verdict"), judged.verdict.name());
    }

    fn end_row(&mut self) {
        self.rows.push(std::mem::take(&mut self.row));
    }

    fn finish(self) -> String {
        let mut writer = csv::Writer::from_writer(Vec::new());
        for row in std::iter::once(self.columns).chain(self.rows) {
            // Cannot fail: every row has as many cells as the first, and writing to memory cannot fail.
            let _ = writer.write_record(row);
        }
        String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
    }
}

/// Text that a spreadsheet reads as text, on one line.
fn no_formula(text: &str) -> String {
    let text = sanitise::plain(text);
    let first = text.trim_start().chars().next();
    if matches!(
        first,
        Some('=' | '+' | '-' | '@' | '|' | '＝' | '＋' | '－' | '＠')
    ) {
        format!("'{text}")
    } else {
        text
    }
}
