//! Reads the contents of a procedure besides the limits of its first run.

use super::model::{Polarity, RunSettings, Sheet};
use super::qualification::{MAX_TEST_THICKNESS_MM, Qualification, TestJoint};
use crate::limits::Limits;
use crate::reading::{QuantityKind, Span, Table};
use coldsquare_core::units::{
    Amperes, Celsius, JoulesPerMillimetre, Millimetres, MillimetresPerSecond, Volts,
};
use serde_spanned::Spanned;

/// Welding positions of ISO 6947.
const POSITIONS: [(&str, &str); 11] = [
    ("PA", "PA"),
    ("PB", "PB"),
    ("PC", "PC"),
    ("PD", "PD"),
    ("PE", "PE"),
    ("PF", "PF"),
    ("PG", "PG"),
    ("PH", "PH"),
    ("PJ", "PJ"),
    ("H-L045", "H-L045"),
    ("J-L045", "J-L045"),
];

const POLARITIES: [(&str, Polarity); 3] = [
    ("DC+", Polarity::Positive),
    ("DC-", Polarity::Negative),
    ("AC", Polarity::Alternating),
];

/// Places in the text of the values that are checked against each other.
#[derive(Default)]
pub(super) struct Places {
    pub thickness: Option<Span>,
    pub gas: Option<Span>,
    pub polarity: Option<Span>,
    pub preheat: Option<Span>,
    pub heat_input: Option<Span>,
    pub travel_speed: Option<Span>,
}

fn wire_speed(limits: Limits<f64>) -> Limits<MillimetresPerSecond> {
    limits.map(|m_min| MillimetresPerSecond::from_millimetres_per_minute(1000.0 * m_min))
}

/// Reads them from the table of the procedure.
pub(super) fn read(table: &mut Table<'_>, places: &mut Places) -> Sheet {
    let span_of = |table: &mut Table<'_>, key| table.value(key).map(Spanned::span);
    places.thickness = span_of(table, "thickness");
    places.gas = span_of(table, "gas");
    places.polarity = span_of(table, "polarity");
    places.preheat = span_of(table, "preheat");
    places.heat_input = span_of(table, "heat_input");
    places.travel_speed = span_of(table, "travel_speed");
    let text = |table: &mut Table<'_>, key| table.text(key).map(Spanned::into_inner);
    Sheet {
        file: None,
        material_group: material_group(table),
        thickness: table
            .limits("thickness", QuantityKind::Length)
            .map(Millimetres),
        joint: text(table, "joint"),
        preparation: text(table, "preparation"),
        position: table
            .choice("position", &POSITIONS)
            .map(Spanned::into_inner),
        consumable: text(table, "consumable"),
        wire: table
            .positive("wire", QuantityKind::Length)
            .map(|wire| Millimetres(wire.into_inner())),
        gas: text(table, "gas"),
        gas_flow_l_min: table.limits("gas_flow", QuantityKind::Flow),
        polarity: table
            .choice("polarity", &POLARITIES)
            .map(Spanned::into_inner),
        wire_speed: wire_speed(table.limits("wire_speed", QuantityKind::WireSpeed)),
        preheat: preheat(table),
        later_runs: Vec::new(),
        qualification: qualification(table),
    }
}

/// A group or subgroup of ISO/TR 15608: 1 to 11 steels, 21 to 26 aluminium, 31 to 38 copper, 41 to 48 nickel, 51 to 54
/// titanium, 61 and 62 zirconium, 71 and 72 cast iron (from memory).
fn material_group(table: &mut Table<'_>) -> Option<String> {
    let written = table.text("material_group")?;
    let group = written
        .get_ref()
        .split('.')
        .next()
        .and_then(|group| group.trim().parse::<u8>().ok());
    let known = matches!(
        group,
        Some(1..=11 | 21..=26 | 31..=38 | 41..=48 | 51..=54 | 61 | 62 | 71 | 72)
    );
    if !known {
        table.reader().error(
            &written.span(),
            format!("'{}' is not a group of parent metals", written.get_ref()),
            "write a group of ISO/TR 15608: \"1.1\" mild steel, \"8.1\" austenitic stainless, \"22\" or \"23\" aluminium alloys",
        );
    }
    known.then(|| written.into_inner())
}

fn preheat(table: &mut Table<'_>) -> Option<Celsius> {
    let value = table.value("preheat")?;
    table
        .reader()
        .quantity(value, QuantityKind::Temperature)
        .map(Celsius)
}

fn qualification(table: &mut Table<'_>) -> Option<Qualification> {
    let mut test = table.table("qualified")?;
    let reader = test.reader();
    let record = test.text("record").map(Spanned::into_inner);
    if record.is_none() && !test.has("record") {
        test.missing("record", "record = \"number of the test record\"");
    }
    let joint = test.choice(
        "joint",
        &[("butt", TestJoint::Butt), ("fillet", TestJoint::Fillet)],
    );
    let runs = test.choice("runs", &[("single", true), ("several", false)]);
    let thickness = test.required("thickness", QuantityKind::Length, "thickness = 3");
    let heat_input = test.positive("heat_input", QuantityKind::HeatInput);
    let yes = [("yes", true), ("no", false)];
    let impact = test.choice("impact", &yes).is_some_and(Spanned::into_inner);
    let hardness = test
        .choice("hardness", &yes)
        .is_some_and(Spanned::into_inner);
    if (impact || hardness) && heat_input.is_none() {
        test.missing(
            "heat_input",
            "heat_input = 0.25, as in the test: the range covered follows from it",
        );
    }
    test.finish();
    let thickness = thickness?;
    if *thickness.get_ref() > MAX_TEST_THICKNESS_MM {
        reader.error(
            &thickness.span(),
            "Coldsquare does not know the range covered by a test piece over 40 mm",
            "leave [qualified] out, and keep the test record with the procedure",
        );
        return None;
    }
    Some(Qualification {
        record: record?,
        joint: joint.map_or(TestJoint::Butt, Spanned::into_inner),
        thickness: Millimetres(thickness.into_inner()),
        single_run: runs.is_none_or(Spanned::into_inner),
        heat_input: heat_input.map(|heat| JoulesPerMillimetre(heat.into_inner())),
        impact,
        hardness,
    })
}

/// Reads the `[[run]]` tables; what one leaves out is as in the run before.
pub(super) fn later_runs(table: &mut Table<'_>, first: RunSettings) -> Vec<RunSettings> {
    let mut all: Vec<RunSettings> = Vec::new();
    for mut run in table.tables("run") {
        let reader = run.reader();
        let before = all.last().copied().unwrap_or(first);
        if !run.has("from") {
            run.missing(
                "from",
                "from = 2, the number of the first run with these limits",
            );
        }
        let from = run.whole("from", 2, 255);
        let given = |limits: Limits<f64>| (limits != Limits::OPEN).then_some(limits);
        let volts = given(run.limits("volts", QuantityKind::Voltage));
        let amps = given(run.limits("amps", QuantityKind::Current));
        let wire = given(run.limits("wire_speed", QuantityKind::WireSpeed));
        let speed = given(run.limits("travel_speed", QuantityKind::Speed));
        let heat = given(run.limits("heat_input", QuantityKind::HeatInput));
        run.finish();
        let Some(from) = from else { continue };
        let number = u8::try_from(*from.get_ref()).unwrap_or(u8::MAX);
        if number <= before.from_run {
            reader.error(
                &from.span(),
                format!("run {number} does not come after run {}", before.from_run),
                "write the [[run]] tables in the order of their runs, each number once",
            );
        }
        all.push(RunSettings {
            from_run: number,
            voltage: volts.map_or(before.voltage, |limits| limits.map(Volts)),
            current: amps.map_or(before.current, |limits| limits.map(Amperes)),
            wire_speed: wire.map_or(before.wire_speed, wire_speed),
            travel_speed: speed.map_or(before.travel_speed, |limits| {
                limits.map(MillimetresPerSecond)
            }),
            heat_input: heat.map_or(before.heat_input, |limits| limits.map(JoulesPerMillimetre)),
        });
    }
    all
}
