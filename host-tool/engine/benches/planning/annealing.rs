//! Our search against simulated annealing (crate `argmin`): the same objective, start, changes, limit of flips and time.

use super::clock::Clock;
use super::{Random, gate};
use argmin::core::{CostFunction, Error, Executor};
use argmin::solver::simulatedannealing::{Anneal, SATempFunc, SimulatedAnnealing};
use coldsquare_core::sequence::{Item, Objective, Step};
use coldsquare_engine::plan::frame_model::starting_order;
use coldsquare_engine::plan::movement_objective::{MovementObjective, Solved};
use coldsquare_engine::plan::order::{Effort, by_one_costly_search};
use coldsquare_engine::plan::parallel::Serial;
use coldsquare_engine::plan::search::{NoObjective, cost};
use coldsquare_engine::plan::{Options, PlanningProblem, planned_heat};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use std::cell::RefCell;
use std::fmt::Write;

/// Times at which the best order so far is read, s of one core.
const SECONDS: [f64; 7] = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0];
/// How much worse the annealing accepts at first, as a share of the cost of the start. The better of both counts.
const HEATS: [f64; 2] = [0.01, 0.1];
/// The share of that at its end.
const COLD: f64 = 1e-3;

/// Movement of the best order so far after each of [`SECONDS`], mm.
pub fn table() -> String {
    let mut table = String::from("| welds | search |");
    for seconds in SECONDS {
        let _ = write!(table, " {seconds} s |");
    }
    table += "\n|--:|---|";
    table += &"--:|".repeat(SECONDS.len());
    table.push('\n');
    for welds in [20, 60, 200] {
        let job = gate(welds);
        let heat = planned_heat(&job);
        let problem = PlanningProblem::new(&job, &heat, &Options::default()).expect("an order");
        let solved = Solved::new(&job, &heat).expect("it stands");
        let objective = solved.objective(&problem);
        let begin = starting_order(&problem, &objective, &Serial, &mut |_| true).expect("an order");
        let mut row = |name: &str, best_mm: &[f64]| {
            let _ = write!(table, "| {welds} | {name} |");
            for mm in best_mm {
                let _ = write!(table, " {mm:.3} |");
            }
            table.push('\n');
        };
        row("ours", &ours(&problem, &objective, &begin));
        let annealed =
            HEATS.map(|heat| SECONDS.map(|s| annealed(&problem, &objective, &begin, heat, s)));
        let better: Vec<f64> = annealed[0]
            .iter()
            .zip(annealed[1])
            .map(|(one, other)| one.min(other))
            .collect();
        row("annealing", &better);
    }
    table
        + "\nMovement of the best order so far, mm. Ours runs once; the annealing runs anew for each time, so that it has cooled down\n\
           when the time is up, from two temperatures; the table has the better result.\n"
}

fn ours(
    problem: &PlanningProblem<'_>,
    objective: &MovementObjective<'_>,
    begin: &[Step],
) -> Vec<f64> {
    let clock = Clock::start();
    let mut best = Vec::new();
    let effort = Effort {
        trials: u64::MAX,
        seed: 1,
    };
    let (items, flips) = (&problem.items, problem.max_flips());
    let found = by_one_costly_search(objective, items, flips, effort, begin, &mut |progress| {
        while SECONDS
            .get(best.len())
            .is_some_and(|s| clock.seconds() >= *s)
        {
            best.push(objective.gauge().value(progress.best.peak));
        }
        best.len() < SECONDS.len()
    });
    let found = found.expect("an order");
    best.resize(SECONDS.len(), objective.gauge().value(found.cost.peak));
    best
}

/// The problem as the annealing sees it.
struct Frame<'a> {
    problem: &'a PlanningProblem<'a>,
    objective: &'a MovementObjective<'a>,
    clock: Clock,
    seconds: f64,
    random: RefCell<Random>,
    best_mm: RefCell<f64>,
}

impl CostFunction for &Frame<'_> {
    type Param = Vec<Step>;
    type Output = f64;

    fn cost(&self, order: &Vec<Step>) -> Result<f64, Error> {
        if self.clock.seconds() > self.seconds {
            return Err(Error::msg("the time is up"));
        }
        let mm = self.objective.moves_mm(order);
        let mut best = self.best_mm.borrow_mut();
        *best = best.min(mm);
        Ok(mm)
    }
}

impl Anneal for &Frame<'_> {
    type Param = Vec<Step>;
    type Output = Vec<Step>;
    type Float = f64;

    fn anneal(&self, order: &Vec<Step>, _: f64) -> Result<Vec<Step>, Error> {
        let random = &mut *self.random.borrow_mut();
        loop {
            let changed = changed(order, random, &self.problem.items, self.objective);
            let handling = cost(
                &NoObjective,
                &self.problem.items,
                self.problem.max_flips(),
                &changed,
            );
            if handling.is_some_and(|handling| handling.excess_flips == 0) && changed != *order {
                return Ok(changed);
            }
        }
    }
}

/// The changes that our search makes.
fn changed(
    order: &[Step],
    random: &mut Random,
    items: &[Item],
    objective: &MovementObjective<'_>,
) -> Vec<Step> {
    let (n, mut order) = (order.len(), order.to_vec());
    let within = (n >> random.below(6)).max(1);
    let a = random.below(n);
    let mut b = (a + 1 + random.below(within)).min(n - 1);
    let side = |step: &Step| items[usize::from(step.weld)].side;
    match random.below(4) {
        kind @ (0 | 1) => {
            let stretch = &mut order[a..=b];
            let most = [1, 1, 4, usize::MAX][random.below(4)];
            let moved = 1 + random.below((stretch.len() / 2).clamp(1, most));
            if kind == 0 {
                stretch.rotate_left(moved);
            } else {
                stretch.rotate_right(moved);
            }
        }
        2 => {
            b += order[b..]
                .iter()
                .position(|step| side(step) == side(&order[a]))
                .unwrap_or(0);
            order.swap(a, b);
        }
        _ if objective.is_directed(order[a].weld) && random.below(2) == 0 => {
            order[a].reversed = !order[a].reversed;
        }
        _ => order[a..=b].reverse(),
    }
    order
}

fn annealed(
    problem: &PlanningProblem<'_>,
    objective: &MovementObjective<'_>,
    begin: &[Step],
    heat: f64,
    seconds: f64,
) -> f64 {
    let clock = Clock::start();
    let start_mm = objective.moves_mm(begin);
    for _ in 0..5 {
        std::hint::black_box(objective.moves_mm(begin));
    }
    let trials = seconds / (clock.seconds() / 6.0);
    let frame = Frame {
        problem,
        objective,
        clock: Clock::start(),
        seconds,
        random: RefCell::new(Random(0x2545_F491_4F6C_DD1D)),
        best_mm: RefCell::new(start_mm),
    };
    let solver =
        SimulatedAnnealing::new_with_rng(heat * start_mm, Xoshiro256PlusPlus::seed_from_u64(1));
    let solver = solver
        .expect("a temperature")
        .with_temp_func(SATempFunc::Exponential(COLD.powf(1.0 / trials)));
    let begin = begin.to_vec();
    // It ends with an error: the time is up.
    let ended = Executor::new(&frame, solver)
        .configure(|state| state.param(begin).max_iters(u64::MAX))
        .run();
    drop(ended);
    *frame.best_mm.borrow()
}
