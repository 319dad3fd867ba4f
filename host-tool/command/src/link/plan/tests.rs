//! What a logger is told of a plan: which weld may come when, from which side, and what each does to the frame.

use super::*;
use coldsquare_engine::{example::GARDEN_GATE, job};

/// The garden gate, with welds that must wait for others.
fn gate(more: &str) -> Job {
    job::from_text("gate.toml", &format!("{GARDEN_GATE}\n{more}")).expect("sound")
}

fn numbers(job: &Job) -> Vec<u16> {
    job.welds.iter().map(|weld| weld.number).collect()
}

fn list(numbers: &[u16]) -> String {
    let words: Vec<_> = numbers.iter().map(u16::to_string).collect();
    words.join(",")
}

#[test]
fn each_weld_says_which_of_its_portion_come_before_it() {
    let job = gate("[change.5]\nafter = [3, 1]\n");
    let parts = portions(&job, &list(&numbers(&job)), Celsius(20.0)).expect("a plan");
    let welds = &parts[0].welds;
    for weld in welds {
        let bits: u64 = welds
            .iter()
            .filter(|other| weld.number == 5 && [1, 3].contains(&other.number))
            .fold(0, |bits, other| bits | 1 << other.index);
        assert_eq!(weld.before, bits, "weld {}", weld.number);
    }
    assert!(welds.iter().any(|weld| weld.before != 0));
}

#[test]
fn an_order_that_breaks_the_jobs_own_rule_is_refused() {
    let job = gate("[change.5]\nafter = [3]\n");
    let mut order = numbers(&job);
    order.swap(2, 4);
    let why = portions(&job, &list(&order), Celsius(20.0)).expect_err("3 comes after 5");
    assert!(why.to_string().contains("weld 5 after weld 3"), "{why}");
}

#[test]
fn the_next_portion_goes_on_with_what_the_welds_before_did() {
    let wide = GARDEN_GATE.replace("count = 9", "count = 19");
    let job = job::from_text("gate.toml", &wide).expect("sound");
    let parts = portions(&job, &list(&numbers(&job)), Celsius(20.0)).expect("a plan");
    assert!(parts.len() > 1, "19 bars are more than one portion");
    let mut before = [0_i32; COMPONENTS];
    for part in &parts {
        assert_eq!(part.head.before, before);
        assert_eq!(part.head.start, Celsius(20.0));
        assert!(part.welds.len() <= MAX_PLANNED);
        for (index, weld) in part.welds.iter().enumerate() {
            assert_eq!(usize::from(weld.index), index);
            for (sum, moment) in before.iter_mut().zip(weld.moment) {
                *sum += moment;
            }
        }
    }
    let told: usize = parts.iter().map(|part| part.welds.len()).sum();
    assert_eq!(
        told,
        PlanningProblem::new(&job, &vec![1.0; job.welds.len()], &Options::default())
            .expect("sound")
            .items
            .len()
    );
}

/// The energy of the arc is the procedure's heat over its efficiency, for the length of the weld.
#[test]
fn each_weld_has_its_place_and_the_energy_that_its_procedure_plans() {
    let job = gate("");
    let parts = portions(&job, &list(&numbers(&job)), Celsius(20.0)).expect("a plan");
    let told: Vec<_> = parts.iter().flat_map(|part| &part.welds).collect();
    assert!(told.iter().any(|weld| weld.at_mm != told[0].at_mm));
    for weld in told {
        let of = job
            .welds
            .iter()
            .find(|of| of.number == weld.number)
            .expect("one of the job's");
        let procedure = &job.procedures[of.procedure];
        let heat = procedure.planned_heat_input.0 * f64::from(of.runs) * weld.length.0;
        let efficiency = procedure.process.thermal_efficiency();
        assert!(
            (weld.energy.0 * efficiency - heat).abs() < 1e-6 * heat,
            "weld {}",
            weld.number
        );
        assert_eq!(usize::from(weld.joint), of.joint);
        assert!(weld.length.0 > 1.0);
    }
}

/// A plan's own JSON says part by part; its order is kept, where a list of welds keeps the parts of a weld together.
#[test]
fn a_plans_own_steps_are_followed_part_by_part() {
    let job = gate("");
    let problem = PlanningProblem::new(&job, &vec![1.0; job.welds.len()], &Options::default())
        .expect("sound");
    let pieces: Vec<usize> = (0..problem.parts.len()).rev().collect();
    let step = |piece: &usize| {
        let of = &problem.parts[*piece];
        let number = job.welds[of.weld].number;
        let alone = problem
            .parts
            .iter()
            .filter(|other| other.weld == of.weld)
            .count()
            == 1;
        let part = if alone {
            "null".to_owned()
        } else {
            format!("{{ \"number\": {} }}", of.number.0 + 1)
        };
        format!("{{ \"what\": {{ \"kind\": \"weld\", \"weld\": {number}, \"part\": {part} }} }}")
    };
    let steps = |pieces: &[usize]| {
        let lines: Vec<_> = pieces.iter().map(step).collect();
        format!(
            "{{ \"steps\": [{{ \"what\": {{ \"kind\": \"flip\" }} }}, {}] }}",
            lines.join(", ")
        )
    };
    assert_eq!(
        super::steps(&job, &problem, &steps(&pieces)),
        Some(pieces.clone())
    );
    // Not every piece, and one of them twice.
    assert_eq!(super::steps(&job, &problem, &steps(&pieces[1..])), None);
    let mut twice = pieces.clone();
    twice[0] = twice[1];
    assert_eq!(super::steps(&job, &problem, &steps(&twice)), None);
}
