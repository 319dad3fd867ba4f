//! The invented shop of the demo: how its frames really move, and what it reads off them.
//!
//! Its metal shrinks by factors of its own, its welds scatter, and its feeler gauge reads to a twentieth of a
//! millimetre. The demo shows that the tool finds this out from what the shop measures: the second gate is predicted
//! closer than the first. Everything here is invented, and the demo says so.

use coldsquare_core::uncertainty::Uncertain;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::learn::build::{Build, Read};
use coldsquare_engine::movement::error::MovementError;
use coldsquare_engine::movement::predict::{Predicted, Prediction};
use coldsquare_engine::shop::factors::times;

/// How much more this shop's welds shrink than published, in the order of the kinds of shrinkage.
const OWN_FACTORS: [f64; 5] = [1.3, 1.4, 1.8, 1.3, 1.0];
/// What feeler gauges between the frame and a stop block read to, mm.
const FEELER_MM: f64 = 0.05;
/// How far they can be off, mm, k = 2.
pub const FEELER_UNCERTAINTY_MM: f64 = 0.1;

/// What the shop reads, with the option of `measure` and the place on the frame.
const READ: [(&str, &str, &str); 6] = [
    ("width at the bottom", "--width", "bottom"),
    ("width at mid-height", "--width", "middle"),
    ("width at the top", "--width", "top"),
    ("height at the left", "--height", "left"),
    ("height at mid-width", "--height", "middle"),
    ("height at the right", "--height", "right"),
];

/// One reading of a frame.
#[derive(Clone, Debug)]
pub struct ShopReading {
    /// The name of the measure.
    pub name: String,
    /// The size before welding, mm.
    nominal_mm: f64,
    /// What the gauge shows of the change, mm.
    pub change_mm: f64,
    option: &'static str,
    place: &'static str,
}

impl ShopReading {
    /// The option of `measure` with its value, as typed.
    #[must_use]
    pub fn typed(&self) -> String {
        let shown = self.nominal_mm + self.change_mm;
        format!("{} \"{} = {shown:.2} mm\"", self.option, self.place)
    }
}

/// What the shop reads off a frame welded in this order with this net heat, J/mm. `frame` tells its frames apart.
///
/// # Errors
/// [`MovementError`] when the movement of the job cannot be worked out.
pub fn readings(
    job: &Job,
    planned: &Prediction,
    order: Vec<usize>,
    heat: Vec<Uncertain>,
    frame: usize,
) -> Result<Vec<ShopReading>, MovementError> {
    let mut build = Build::new("the shop's", job, order, heat)?;
    let measures = build.engine.measures();
    let wanted = |name: &str| measures.iter().position(|measure| measure.name == name);
    let found: Vec<_> = READ
        .into_iter()
        .filter_map(|read| Some((read, wanted(read.0)?)))
        .collect();
    build.readings = found
        .iter()
        .map(|&(_, measure)| Read {
            measure,
            clamped: false,
            change_mm: Uncertain::default(),
        })
        .collect();
    let heat: Vec<f64> = build
        .heat
        .iter()
        .enumerate()
        .map(|(weld, heat)| heat.value * scatter(weld, frame))
        .collect();
    let each = vec![times(OWN_FACTORS); heat.len()];
    let moved = build.would_read(&heat, &each)?;
    let reading = |((name, option, place), moved): ((&str, _, _), f64)| ShopReading {
        name: name.to_owned(),
        nominal_mm: predicted(planned, name).map_or(0.0, |measure| measure.nominal_mm),
        change_mm: (moved / FEELER_MM).round() * FEELER_MM,
        option,
        place,
    };
    Ok(found
        .into_iter()
        .map(|(read, _)| read)
        .zip(moved)
        .map(reading)
        .collect())
}

/// A measure of a prediction by its name.
#[must_use]
pub fn predicted<'a>(prediction: &'a Prediction, name: &str) -> Option<&'a Predicted> {
    prediction
        .measures
        .iter()
        .find(|measure| measure.name == name)
}

/// No two welds are alike: by how much one of them shrinks more than its heat says, the same in each run.
fn scatter(weld: usize, frame: usize) -> f64 {
    1.0 + 0.12 * (((weld * 7 + frame * 5) % 11) as f64 / 5.0 - 1.0)
}
