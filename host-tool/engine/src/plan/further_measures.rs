//! What clamps and pre-sets would gain beyond the order, ranked by the millimetres they save.
//!
//! The order is laid again and again on one engine that has every clamp that could help; a clamp that is off for all
//! welds is no clamp. A pre-set moves where the frame starts by what it is expected to move, and nothing else.

use super::model::{FurtherMeasures, Gain, GainKind, Plan};
use crate::correct;
use crate::job::model::{Clamp, Job, Point};
use crate::movement::answers::{Measure, MeasureKind, corners, towards};
use crate::movement::cost::Cost;
use crate::movement::engine::{Engine, Shrinkage};
use crate::movement::error::MovementError;
use crate::movement::frame::FrameModel;
use crate::movement::holding::{Releases, Use};
use crate::movement::part::Part;
use crate::movement::predict::{factors_for, planned_net_heat};
use crate::units::Units;
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use coldsquare_core::units::Millimetres;

/// What saves less is not worth a line, mm: a straightedge and feeler gauges do not show it.
const WORTH_MM: f64 = 0.05;
/// Most lines.
const MOST: usize = 6;
/// Most members that one line bows or clamps.
const MOST_MEMBERS: usize = 4;
/// A line takes no more members than give this share of what it could save.
const ENOUGH: f64 = 0.8;
/// A place that has a clamp so near has one, mm.
const NEAR_MM: f64 = 60.0;

/// Tries clamps and pre-sets with the order of a plan and the planned heat; nothing where the plan was made without the
/// structure, because that could not be worked out.
#[must_use]
pub fn further_measures(job: &Job, plan: &Plan) -> Option<FurtherMeasures> {
    let mut order: Vec<usize> = Vec::new();
    // A weld in pieces takes its place with its first piece.
    for number in plan.order() {
        let weld = usize::from(number).saturating_sub(1);
        if !order.contains(&weld) {
            order.push(weld);
        }
    }
    let on_structure = plan.gauge.unit == "mm";
    on_structure.then(|| try_all(job, &order, &Cost::of_goal(&job.goal)).ok())?
}

/// Tries clamps and pre-sets with the welds in `order` (by index) and their planned heat.
///
/// # Errors
/// [`MovementError`] where the movement cannot be worked out.
pub fn try_all(job: &Job, order: &[usize], cost: &Cost) -> Result<FurtherMeasures, MovementError> {
    let trial = Trial::new(job, order, cost)?;
    let mut gains = trial.pre_sets();
    gains.extend(trial.more_clamps());
    gains.extend(trial.clamps_otherwise());
    gains.retain(|gain| gain.saves_mm >= WORTH_MM);
    gains.sort_by(|a, b| b.saves_mm.total_cmp(&a.saves_mm));
    gains.truncate(MOST);
    Ok(FurtherMeasures {
        left_mm: trial.cost(&trial.as_told),
        gains,
    })
}

/// A place where a clamp could help.
struct Spot {
    words: String,
    /// Its number among the clamps of the engine.
    clamp: usize,
}

/// An order on an engine that has every clamp.
struct Trial<'a> {
    job: &'a Job,
    order: &'a [usize],
    weights: &'a Cost,
    parts: Vec<Part>,
    /// The job with the clamps that could help.
    clamped: Job,
    engine: Engine,
    /// With the factors as they are, and with each doubt of them moved.
    shrinkages: Vec<Shrinkage>,
    /// Middles of the members that bow most, worst first; then the free corners.
    middles: Vec<Spot>,
    corners: Vec<Spot>,
    /// Each measure with the clamps as the job has them, mm, and its doubt (k = 2).
    as_told: Vec<f64>,
    doubts_mm: Vec<f64>,
}

impl<'a> Trial<'a> {
    fn new(job: &'a Job, order: &'a [usize], weights: &'a Cost) -> Result<Self, MovementError> {
        let heat: Vec<f64> = planned_net_heat(job).iter().map(|h| h.value).collect();
        let (factors, _) = factors_for(job);
        let plain = Engine::new(job)?;
        let shrinkage = plain.shrinkage_each(&heat, &factors.each)?;
        let as_told = plain.lay(order, &shrinkage).released_mm;

        let mut clamped = job.clone();
        let mut add = |words: String, member: usize, at: Point| {
            let near = |clamp: &Clamp| (clamp.at - at).length() < NEAR_MM;
            if clamped.clamps.iter().any(near) {
                return None;
            }
            clamped.clamps.push(Clamp::firm(member, at));
            Some(Spot {
                words,
                clamp: clamped.clamps.len() - 1,
            })
        };
        let mut middles = Vec::new();
        for member in bowed_members(plain.measures(), &as_told) {
            let held = &job.members[member];
            let words = format!("the middle of {}", held.name);
            middles.extend(add(words, member, (held.from + held.to) * 0.5));
        }
        let model = plain.model();
        let free = free_corners(model).into_iter().filter_map(|(name, node)| {
            let member = model.member_of(node);
            add(name.into(), member, model.nodes[node])
        });
        let corners: Vec<Spot> = free.collect();

        let engine = Engine::new(&clamped)?;
        let mut shrinkages = vec![shrinkage];
        for moved in &factors.moved {
            shrinkages.push(engine.shrinkage_each(&heat, moved)?);
        }
        let mut variances = vec![0.0; as_told.len()];
        let mut vary = |shrinkage: &Shrinkage| {
            let varied = plain.lay(order, shrinkage).released_mm;
            for (sum, (varied, told)) in variances.iter_mut().zip(varied.iter().zip(&as_told)) {
                *sum += (varied - told) * (varied - told);
            }
        };
        shrinkages[1..].iter().for_each(&mut vary);
        for weld in 0..heat.len() {
            let mut varied = heat.clone();
            varied[weld] *= 1.0 + factors.each[weld].weld_to_weld;
            vary(&plain.shrinkage_each(&varied, &factors.each)?);
        }
        Ok(Self {
            job,
            order,
            parts: order.iter().map(|&weld| engine.whole(weld)).collect(),
            weights,
            clamped,
            engine,
            shrinkages,
            middles,
            corners,
            doubts_mm: variances
                .iter()
                .map(|variance| COVERAGE_FACTOR * variance.sqrt())
                .collect(),
            as_told,
        })
    }

    fn cost(&self, measures_mm: &[f64]) -> f64 {
        self.weights.of_shape(self.measures(), measures_mm)
    }

    fn measures(&self) -> &[Measure] {
        self.engine.measures()
    }

    /// What is saved where these measures start from minus what they are expected to move: the doubt stays.
    fn pre_set(&self, kind: GainKind, measures: &[usize], advice: String) -> Gain {
        let mut left = self.as_told.clone();
        measures.iter().for_each(|&measure| left[measure] = 0.0);
        // Weighed as what is saved is.
        let mut doubt = vec![0.0; left.len()];
        let doubts = measures
            .iter()
            .map(|&measure| (measure, self.doubts_mm[measure]));
        doubts.for_each(|(measure, mm)| doubt[measure] = mm);
        Gain {
            kind,
            advice,
            saves_mm: self.cost(&self.as_told) - self.cost(&left),
            plus_minus_mm: self.cost(&doubt),
        }
    }

    fn pre_sets(&self) -> Vec<Gain> {
        // What is expected to be smaller than its own doubt would be a guess.
        let is_sure =
            |&measure: &usize| self.as_told[measure].abs() > self.doubts_mm[measure].max(WORTH_MM);
        let of_kind = |kind: MeasureKind| -> Vec<usize> {
            let mut found: Vec<usize> = (0..self.measures().len())
                .filter(|&measure| self.measures()[measure].kind == kind)
                .filter(is_sure)
                .collect();
            let size = |measure: &usize| self.as_told[*measure].abs();
            found.sort_by(|a, b| size(b).total_cmp(&size(a)));
            found
        };
        let mut gains = Vec::new();
        // `correct` says which can be bent, and that a structural one is not for this tool to bend.
        let bows: Vec<usize> = of_kind(MeasureKind::Bow)
            .into_iter()
            .filter(|&bow| {
                let expected = Uncertain {
                    value: self.as_told[bow],
                    standard: self.doubts_mm[bow] / COVERAGE_FACTOR,
                };
                correct::can_be_pre_set(self.job, &self.measures()[bow], expected)
            })
            .take(MOST_MEMBERS)
            .collect();
        let groups = (1..=bows.len()).map(|count| {
            let each: Vec<String> = bows[..count]
                .iter()
                .map(|&bow| self.bow_words(bow))
                .collect();
            let advice = format!("bow {} before it is welded", listed(&each));
            self.pre_set(GainKind::PreSet, &bows[..count], advice)
        });
        gains.extend(enough(groups.collect()));
        for measure in of_kind(MeasureKind::Racking) {
            let longer = if self.as_told[measure] < 0.0 {
                "bottom left to top right"
            } else {
                "bottom right to top left"
            };
            let advice = format!(
                "tack it out of square: the diagonal from {longer} longer by {}",
                self.length(self.as_told[measure])
            );
            gains.push(self.pre_set(GainKind::PreSet, &[measure], advice));
        }
        for measure in of_kind(MeasureKind::Wind) {
            let low = if self.as_told[measure] < 0.0 {
                "top right"
            } else {
                "bottom right"
            };
            let advice = format!(
                "shim the {low} corner up by {} while you tack",
                self.length(self.as_told[measure])
            );
            gains.push(self.pre_set(GainKind::PreSet, &[measure], advice));
        }
        let sizes = of_kind(MeasureKind::Size);
        if !sizes.is_empty() {
            let advice = "cut to the list of `coldsquare predict`, which has the allowance".into();
            gains.push(self.pre_set(GainKind::CutLength, &sizes, advice));
        }
        gains
    }

    /// "top rail 0.8 mm upwards": against the way it is expected to go.
    fn bow_words(&self, bow: usize) -> String {
        let (measure, mm) = (&self.measures()[bow], self.as_told[bow]);
        let name = measure
            .member
            .map_or("it", |member| &self.job.members[member].name);
        let against = measure.terms[0].direction * -mm.signum();
        format!("{name} {} {}", self.length(mm), towards(against))
    }

    fn length(&self, mm: f64) -> String {
        match self.job.units {
            Units::Metric => format!("{:.1} mm", mm.abs()),
            Units::UsCustomary => format!("{:.3} in", Millimetres(mm.abs()).inches()),
        }
    }

    /// What is saved by using the clamps otherwise: the difference, and what the doubts of the factors do to it.
    fn clamped(&self, uses: &[Use<'_>], advice: String) -> Gain {
        let releases = |uses: &[Use<'_>]| Releases::used(&self.clamped, uses);
        let (told, otherwise) = (releases(&self.uses()), releases(uses));
        let cost = |shrinkage: &Shrinkage, releases: &Releases| {
            let outcome = self.engine.lay_released(&self.parts, shrinkage, releases);
            self.cost(&outcome.released_mm)
        };
        let mut saves = self
            .shrinkages
            .iter()
            .map(|shrinkage| cost(shrinkage, &told) - cost(shrinkage, &otherwise));
        let saves_mm = saves.next().unwrap_or(0.0);
        let variance: f64 = saves.map(|varied| (varied - saves_mm).powi(2)).sum();
        Gain {
            kind: GainKind::Clamps,
            advice,
            saves_mm,
            plus_minus_mm: COVERAGE_FACTOR * variance.sqrt(),
        }
    }

    /// The clamps of the job as it tells, those that could help off.
    fn uses(&self) -> Vec<Use<'a>> {
        let mut uses = vec![Use::AsTold; self.clamped.clamps.len()];
        uses[self.job.clamps.len()..].fill(Use::Never);
        uses
    }

    fn with(&self, spots: &[&Spot]) -> Gain {
        let mut uses = self.uses();
        spots
            .iter()
            .for_each(|spot| uses[spot.clamp] = Use::UntilCold);
        let words: Vec<String> = spots.iter().map(|spot| spot.words.clone()).collect();
        let advice = format!("clamp {} to the table until all is cold", listed(&words));
        self.clamped(&uses, advice)
    }

    fn more_clamps(&self) -> Vec<Gain> {
        let middles: Vec<&Spot> = self.middles.iter().collect();
        let corners: Vec<&Spot> = self.corners.iter().collect();
        let groups = (1..=middles.len()).map(|count| self.with(&middles[..count]));
        let mut gains: Vec<Gain> = enough(groups.collect()).into_iter().collect();
        if !corners.is_empty() {
            gains.push(self.with(&corners));
            let alone = gains.iter().map(|gain| gain.saves_mm).fold(0.0, f64::max);
            let both = self.with(&[corners, middles].concat());
            if both.saves_mm > alone + WORTH_MM {
                gains.push(both);
            }
        }
        gains
    }

    /// The clamps that the job has: each left out, kept on until all is cold, all taken off half-way.
    fn clamps_otherwise(&self) -> Vec<Gain> {
        let mut gains = Vec::new();
        let one = |clamp: usize, its: Use<'static>| {
            let mut uses = self.uses();
            uses[clamp] = its;
            uses
        };
        for (k, clamp) in self.job.clamps.iter().enumerate() {
            let name = format!("clamp {} on {}", k + 1, self.job.members[clamp.member].name);
            let without = one(k, Use::Never);
            gains.push(self.clamped(&without, format!("leave out {name}")));
            if !clamp.release_after.is_empty() && clamp.release_before.is_empty() {
                let kept = one(k, Use::UntilCold);
                gains.push(self.clamped(&kept, format!("keep {name} on until all is cold")));
            }
        }
        let half = self.order.len().div_ceil(2);
        if let (false, Some(&last)) = (self.job.clamps.is_empty(), self.order[..half].last()) {
            let mut uses = self.uses();
            uses[..self.job.clamps.len()].fill(Use::After(&self.order[..half]));
            let number = self.job.welds[last].number;
            gains.push(self.clamped(&uses, format!("take all clamps off after weld {number}")));
        }
        gains
    }
}

/// Members by how far they bow, worst first.
fn bowed_members(measures: &[Measure], values_mm: &[f64]) -> Vec<usize> {
    let mut bows: Vec<(usize, f64)> = measures
        .iter()
        .zip(values_mm)
        .filter(|(measure, mm)| measure.kind == MeasureKind::Bow && mm.abs() >= WORTH_MM)
        .filter_map(|(measure, mm)| Some((measure.member?, mm.abs())))
        .collect();
    bows.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut members: Vec<usize> = Vec::new();
    for (member, _) in bows {
        if !members.contains(&member) && members.len() < MOST_MEMBERS {
            members.push(member);
        }
    }
    members
}

/// The corners of a flat frame, each with a node.
fn free_corners(model: &FrameModel) -> Vec<(&'static str, usize)> {
    const NAMES: [&str; 4] = [
        "the bottom left corner",
        "the bottom right corner",
        "the top right corner",
        "the top left corner",
    ];
    let nodes = corners(model).into_iter().flatten();
    NAMES
        .into_iter()
        .zip(nodes)
        .filter_map(|(name, nodes)| Some((name, *nodes.first()?)))
        .collect()
}

/// Of groups that grow by one member the first that gives most of what any of them gives.
fn enough(groups: Vec<Gain>) -> Option<Gain> {
    let most = groups.iter().map(|gain| gain.saves_mm).fold(0.0, f64::max);
    groups
        .into_iter()
        .find(|gain| gain.saves_mm >= ENOUGH * most)
}

fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::from_text;
    use crate::job::model::Structural;

    const GATE: &str = crate::example::GARDEN_GATE;

    fn gate(more: &str) -> Job {
        from_text("gate.toml", &format!("{GATE}{more}")).unwrap_or_else(|wrong| panic!("{wrong}"))
    }

    /// An order that bows: all welds of the front, then all of the back.
    fn one_face_first(job: &Job) -> Vec<usize> {
        let (front, back): (Vec<usize>, Vec<usize>) =
            (0..job.welds.len()).partition(|&weld| job.welds[weld].outward.z > 0.0);
        [front, back].concat()
    }

    fn laid(job: &Job, order: &[usize]) -> f64 {
        let engine = Engine::new(job).expect("it stands");
        let heat: Vec<f64> = planned_net_heat(job).iter().map(|h| h.value).collect();
        let shrinkage = engine
            .shrinkage_each(&heat, &factors_for(job).0.each)
            .expect("in range");
        let outcome = engine.lay(order, &shrinkage);
        Cost::default().of_shape(engine.measures(), &outcome.released_mm)
    }

    #[test]
    fn a_clamp_saves_what_the_frame_with_it_moves_less_than_without() {
        let job = gate("\n[[clamp]]\nat = \"bottom rail at 300\"\nrelease_after = [9]\n");
        let order = one_face_first(&job);
        let cost = Cost::default();
        let trial = Trial::new(&job, &order, &cost).expect("it stands");
        let before = laid(&job, &order);
        assert!((trial.cost(&trial.as_told) - before).abs() < 1e-9);
        assert_eq!(trial.corners.len(), 4);
        let with = |spots: &[&Spot]| {
            let mut job = job.clone();
            for spot in spots {
                job.clamps.push(trial.clamped.clamps[spot.clamp].clone());
            }
            before - laid(&job, &order)
        };
        let corners: Vec<&Spot> = trial.corners.iter().collect();
        for spots in [vec![&trial.middles[0]], corners] {
            let gain = trial.with(&spots);
            assert!((gain.saves_mm - with(&spots)).abs() < 1e-9, "{gain:?}");
        }
        let without = Job {
            clamps: Vec::new(),
            ..job.clone()
        };
        let mut kept = job.clone();
        kept.clamps[0].release_after.clear();
        for (advice, other) in [("leave out clamp 1", without), ("keep clamp 1", kept)] {
            let gains = trial.clamps_otherwise();
            let gain = gains.iter().find(|gain| gain.advice.starts_with(advice));
            let saves = gain.expect("tried").saves_mm;
            assert!(
                (saves - (before - laid(&other, &order))).abs() < 1e-9,
                "{advice}"
            );
        }
    }

    #[test]
    fn what_saves_most_comes_first_and_nothing_that_would_not_be_noticed() {
        let job = gate("");
        let found = try_all(&job, &one_face_first(&job), &Cost::default()).expect("it stands");
        assert!(!found.gains.is_empty(), "an order that bows can be helped");
        assert!(found.gains.is_sorted_by(|a, b| a.saves_mm >= b.saves_mm));
        for gain in &found.gains {
            assert!(gain.saves_mm >= WORTH_MM && gain.saves_mm <= found.left_mm + 1e-9);
            assert!(
                gain.plus_minus_mm > 0.0,
                "all of it is worked out: {gain:?}"
            );
        }
    }

    #[test]
    fn members_that_mirror_each_other_are_pre_set_and_clamped_together() {
        let job = gate("");
        let cost = Cost::default();
        let order = one_face_first(&job);
        let trial = Trial::new(&job, &order, &cost).expect("it stands");
        let found: Vec<Gain> = [trial.pre_sets(), trial.more_clamps()].concat();
        for gain in found.iter().filter(|gain| gain.saves_mm >= WORTH_MM) {
            assert_eq!(
                gain.advice.contains("top rail"),
                gain.advice.contains("bottom rail"),
                "{gain:?}"
            );
        }
    }

    #[test]
    fn a_doubt_is_weighed_as_what_is_saved() {
        let job = gate("");
        let order = one_face_first(&job);
        let cost = Cost {
            size: 0.2,
            parallel: 0.0,
            ..Cost::default()
        };
        let trial = Trial::new(&job, &order, &cost).expect("it stands");
        let found = trial.pre_sets();
        let cut = found.iter().find(|gain| gain.kind == GainKind::CutLength);
        let cut = cut.expect("sizes change by more than their doubts");
        let sizes = trial.measures().iter().zip(&trial.doubts_mm);
        let sizes = sizes.filter(|(measure, _)| measure.kind == MeasureKind::Size);
        let most = sizes.map(|(_, mm)| *mm).fold(0.0, f64::max);
        assert!(cut.plus_minus_mm > 0.0 && cut.plus_minus_mm <= 0.2 * most + 1e-12);
    }

    #[test]
    fn nobody_is_told_to_bend_a_structural_frame() {
        let job = gate("");
        // With one face only there is a bow that is more than its doubt.
        let mut order = one_face_first(&job);
        order.truncate(order.len() / 2);
        let bends = |job: &Job| {
            let found = try_all(job, &order, &Cost::default()).expect("it stands");
            found
                .gains
                .iter()
                .any(|gain| gain.advice.starts_with("bow "))
        };
        assert!(bends(&job));
        let structural = Job {
            structural: Structural::Everything,
            ..job
        };
        assert!(!bends(&structural));
    }
}
