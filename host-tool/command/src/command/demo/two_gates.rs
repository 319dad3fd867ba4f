//! The demo's gate is welded twice: what the shop measures on the first teaches it how the second will move.

use super::folder::{Folder, JOB, PLAN, SHOP, Step, step};
use crate::command::Io;
use crate::demo::shop::{FEELER_UNCERTAINTY_MM, ShopReading, predicted, readings};
use crate::demo::{build, clean_build};
use crate::disk::Disk;
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use coldsquare_engine::example::GARDEN_GATE;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::map::Settings;
use coldsquare_engine::movement::error::MovementError;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{
    Prediction, measured_net_heat, order_done, predict_for,
};
use coldsquare_engine::order;
use coldsquare_firmware::sim::log_build_sealed;
use std::borrow::Cow;
use std::fmt::Write;

/// Between the gates: what the first has taught, and what that says of the second.
pub(super) const LEARNING: [Step; 2] = [
    step(
        "what the first gate teaches, kept in our-shop.toml",
        "learn garden-gate.toml --order plan.json --on 2026-05-04 --keep",
        Some("learned.txt"),
    ),
    step(
        "how the second gate will move, with the shop's own factors",
        "predict garden-gate.toml --order plan.json",
        Some("predicted-2.txt"),
    ),
];

/// The logs of the two gates, and what `measure` prints of them.
const LOGS: [&str; 2] = ["weld.log", "weld-2.log"];
const PRINTED: [&str; 2] = ["measured.txt", "measured-2.txt"];
const COMPARED: &str = "two-gates.txt";

/// The garden gate of a shop that keeps factors of its own.
pub(super) fn job_text() -> String {
    GARDEN_GATE.replacen(
        "[frame]",
        &format!("shop_factors = \"{SHOP}\"\n\n[frame]"),
        1,
    )
}

/// A gate as predicted with the heat of its log, and as it was read.
struct Gate {
    planned: Prediction,
    read: Vec<ShopReading>,
}

/// The gates welded so far.
pub(super) struct TwoGates {
    engine: MovementModel,
    gates: Vec<Gate>,
}

impl TwoGates {
    pub(super) fn new(folder: &Folder<'_>) -> Result<Self, Failure> {
        let job = coldsquare_engine::job::load(&Disk, &folder.at(JOB))?;
        Ok(Self {
            engine: MovementModel::new(&job).map_err(failure)?,
            gates: Vec::new(),
        })
    }

    /// The invented maker welds the next gate as planned, on a simulated logger, and measures it with `measure`.
    pub(super) fn weld_and_measure(
        &mut self,
        folder: &Folder<'_>,
        seed: u64,
        io: &mut Io<'_>,
    ) -> Result<(), Failure> {
        let frame = self.gates.len();
        let log = LOGS[frame];
        // Anew for each gate: the job names factors that are learned in between.
        let job = coldsquare_engine::job::load(&Disk, &folder.at(JOB))?;
        let (planned, _) = order::given(&Disk, &folder.at(PLAN).display().to_string(), &job)?;
        let build = if frame == 0 {
            build(&job, &planned)
        } else {
            clean_build(&job, &planned)
        };
        let (bytes, _) = log_build_sealed(&build, seed)
            .map_err(|error| Failure::Input(format!("the simulated logger: {error}")))?;
        folder.write(log, &bytes)?;
        let what = [
            "the gate is welded, with mishaps,",
            "a second gate is welded, without mishaps,",
        ];
        writeln!(io.out, "  {log:<15} {} on a simulated logger", what[frame])?;

        let logged = coldsquare_engine::log::read(&Disk, &folder.at(log), &Default::default())?;
        let settings = Settings {
            order: planned.iter().map(|&weld| job.welds[weld].number).collect(),
            ..Settings::default()
        };
        let map = coldsquare_engine::map::build(&job, &logged, &settings)
            .map_err(|error| Failure::Input(format!("{log}: {error}")))?;
        let (heat, _) = measured_net_heat(&job, &map);
        let welded = order_done(&map);
        let prediction = predict_for(&job, &self.engine, &welded, &heat).map_err(failure)?;
        let read = readings(&job, &prediction, welded, heat, frame).map_err(failure)?;
        let typed: String = read
            .iter()
            .fold(String::new(), |typed, one| typed + " " + &one.typed());
        let name = ["", " --build second"][frame];
        folder.run(
            &Step {
                what: "clamps off: what feeler gauges between the gate and stop blocks show",
                command: Cow::Owned(format!(
                    "measure garden-gate.toml{typed} --plus-minus \"{FEELER_UNCERTAINTY_MM} mm\" --on 2026-05-04{name} --log {log}"
                )),
                printed: Some(PRINTED[frame]),
            },
            io,
        )?;
        self.gates.push(Gate {
            planned: prediction,
            read,
        });
        Ok(())
    }

    /// Sets both gates side by side: as predicted and as measured.
    pub(super) fn compare(&self, folder: &Folder<'_>, io: &mut Io<'_>) -> Result<(), Failure> {
        let [first, second] = &self.gates[..] else {
            return Ok(());
        };
        let mut text = String::from(
            "Two gates of an invented shop whose welds shrink more than published. Simulated, not measured.\n\
             Predicted with the heat of each gate's log. All in mm; ± is k = 2, about 95 %.\n\n\
             \x20                                       first gate               second gate\n\
             \x20                                    predicted  measured      predicted  measured\n",
        );
        for (one, other) in first.read.iter().zip(&second.read) {
            let _ = write!(text, "{:<34}", one.name);
            for (gate, read) in [(first, one), (second, other)] {
                let said = predicted_change(gate, &read.name);
                let (value, plus_minus) = (said.value, COVERAGE_FACTOR * said.standard);
                let _ = write!(
                    text,
                    "  {value:+.2} ± {plus_minus:.2}  {:+.2}  ",
                    read.change_mm
                );
            }
            text = text.trim_end().to_owned() + "\n";
        }
        let _ = write!(
            text,
            "\nMean difference: {:.2} mm with published factors, {:.2} mm with what the first gate taught.\n",
            mean_miss_mm(first),
            mean_miss_mm(second)
        );
        folder.write(COMPARED, text.as_bytes())?;
        writeln!(
            io.out,
            "  {COMPARED:<15} both gates, predicted and measured\n\n{text}"
        )?;
        Ok(())
    }
}

fn predicted_change(gate: &Gate, name: &str) -> Uncertain {
    predicted(&gate.planned, name).map_or(Uncertain::default(), |measure| measure.released_mm)
}

/// How far a prediction was off, on the average over what was read, mm.
fn mean_miss_mm(gate: &Gate) -> f64 {
    let missed =
        |read: &ShopReading| (predicted_change(gate, &read.name).value - read.change_mm).abs();
    gate.read.iter().map(missed).sum::<f64>() / gate.read.len().max(1) as f64
}

fn failure(error: MovementError) -> Failure {
    Failure::Input(error.to_string())
}
