//! The exact order against an independent judge: a general constraint solver with the same problem.
//!
//! L. Perron and F. Didier, *CP-SAT* (OR-Tools 9.15, Google, 2025). It scores the largest component
//! instead of the length of the moment, which keeps its problem linear; the subset search takes any score.

use crate::reference::ask;
use coldsquare_core::sequence::{Item, Objective, Step};
use coldsquare_engine::plan::search::{DependsOnSetAlone, exact};
use serde_json::json;

/// Moments, and pairs of which the first comes before the second.
type Case = (Vec<[i32; 2]>, Vec<[u16; 2]>);

/// The largest component of the summed moments.
struct LargestComponent(Vec<[i32; 2]>);

impl Objective for LargestComponent {
    type State = [i64; 2];

    fn start(&self) -> Self::State {
        [0; 2]
    }

    fn apply(&self, state: &mut Self::State, step: Step) {
        for (sum, part) in state.iter_mut().zip(self.0[usize::from(step.weld)]) {
            *sum += i64::from(part);
        }
    }

    fn score(&self, state: &Self::State) -> u64 {
        state
            .iter()
            .map(|part| part.unsigned_abs())
            .max()
            .unwrap_or(0)
    }
}

impl DependsOnSetAlone for LargestComponent {}

/// Moments that fill a square evenly, without a generator: multiples of irrational numbers.
fn moments(case: usize, welds: usize) -> Vec<[i32; 2]> {
    let part = |k: usize, step: f64| {
        let turn = (k as f64 + 1.0 + 17.0 * case as f64) * step;
        ((turn.fract() - 0.5) * 400.0).round() as i32
    };
    (0..welds)
        .map(|k| [part(k, 2.0_f64.sqrt()), part(k, 5.0_f64.sqrt())])
        .collect()
}

#[test]
fn a_general_solver_finds_the_same_least_peak() {
    let cases: Vec<Case> = (0..6)
        .map(|case| {
            let before = [vec![], vec![[0, 3], [5, 1]], vec![[7, 0], [6, 2], [2, 4]]];
            (moments(case, 8 + case % 3), before[case % 3].clone())
        })
        .collect();
    let question: Vec<_> = cases
        .iter()
        .map(|(moments, before)| json!({ "moments": moments, "before": before }))
        .collect();
    let answer = ask("order_cpsat.py", &json!({ "cases": question }));
    let peaks = answer["peaks"].as_array().expect("one peak a case");
    assert_eq!(peaks.len(), cases.len());
    for (k, ((moments, before), peak)) in cases.into_iter().zip(peaks).enumerate() {
        let mut items = vec![Item::default(); moments.len()];
        for [first, then] in before {
            items[usize::from(then)].before.insert(first);
        }
        let objective = LargestComponent(moments);
        let (_, found) = exact::solve(&objective, &items, 0).expect("an order");
        assert_eq!(Some(found.peak), peak.as_u64(), "case {k}");
    }
}
