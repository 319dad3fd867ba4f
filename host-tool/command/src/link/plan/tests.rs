//! What a logger is told of a plan: which weld may come when, from which side, and what each does to the frame.

use super::*;
use crate::link::Port;
use coldsquare_core::link::{MAX_FRAME, Receiver, Reply, encode};
use coldsquare_engine::job::model::Point;
use coldsquare_engine::{example::GARDEN_GATE, job};
use std::collections::VecDeque;
use std::time::Duration;

/// The garden gate, with welds that must wait for others.
fn gate(more: &str) -> Job {
    job::from_text("gate.toml", &format!("{GARDEN_GATE}\n{more}")).expect("sound")
}

/// With 19 bars, which is more than one portion, and welds that must wait for others.
fn wide_gate(more: &str) -> Job {
    let wide = GARDEN_GATE.replace("count = 9", "count = 19");
    job::from_text("gate.toml", &format!("{wide}\n{more}")).expect("sound")
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

/// Welds 65 to 92 are the second portion, 66 and 68 its second and fourth; weld 3 was made long before.
#[test]
fn a_later_portion_counts_from_its_own_first_weld() {
    let job = wide_gate("[change.70]\nafter = [68, 66, 3]\n");
    let parts = portions(&job, &list(&numbers(&job)), Celsius(20.0)).expect("a plan");
    let waits: Vec<_> = parts
        .iter()
        .flat_map(|part| &part.welds)
        .filter(|weld| weld.before != 0)
        .map(|weld| (weld.number, weld.index, weld.before))
        .collect();
    assert_eq!(waits, [(70, 5, 0b1010)]);
}

/// A portion's front is the face that is up as it begins: that of the last weld before it.
#[test]
fn the_next_portion_begins_with_the_face_up_that_the_last_weld_left_up() {
    let job = wide_gate("");
    let towards = |number: u16| {
        let mut welds = job.welds.iter();
        let weld = welds.find(|weld| weld.number == number);
        weld.expect("one of the job's").outward.z.round()
    };
    let of = |z: f64| {
        let towards_it = numbers(&job).into_iter().filter(|n| towards(*n) == z);
        towards_it.collect::<Vec<_>>()
    };
    let (front, back, either) = (of(1.0), of(-1.0), of(0.0));
    // The frame is flipped once before the 65th weld, or twice.
    let once = [&front[..], &back, &either].concat();
    let twice = [&front[..9], &back[..30], &front[9..], &back[30..], &either].concat();
    for (order, up) in [(once, -1.0), (twice, 1.0)] {
        assert_eq!([63, 64].map(|at| towards(order[at])), [up, up]);
        let parts = portions(&job, &list(&order), Celsius(20.0)).expect("a plan");
        for weld in &parts[1].welds {
            let side = match towards(weld.number) * up {
                1.0 => Side::Front,
                -1.0 => Side::Back,
                _ => Side::Either,
            };
            assert_eq!(weld.side, side, "weld {}", weld.number);
        }
    }
}

#[test]
fn a_weld_of_two_runs_pulls_twice_as_hard_as_its_mirror_image_of_one() {
    let moments = |job: &Job| {
        let parts = portions(job, &list(&numbers(job)), Celsius(20.0)).expect("a plan");
        let welds = parts.into_iter().flat_map(|part| part.welds);
        welds.map(|weld| weld.moment).collect::<Vec<_>>()
    };
    let gate = |runs| moments(&gate(&format!("[change.1]\nruns = {runs}\n")));
    let is_alike = |one: &[i32; COMPONENTS], other: &[i32; COMPONENTS], times: i32| {
        let pairs = one.iter().zip(other);
        pairs
            .into_iter()
            .all(|(one, other)| (one.abs() * times - other.abs()).abs() <= 2)
    };
    let (even, uneven) = (gate(1), gate(2));
    let mirrored: Vec<_> = (1..even.len())
        .filter(|other| is_alike(&even[*other], &even[0], 1))
        .collect();
    assert!(!mirrored.is_empty());
    for other in mirrored {
        assert!(is_alike(&uneven[other], &uneven[0], 2), "{uneven:?}");
    }
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
    let job = wide_gate("");
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
    let job = gate("[change.5]\nruns = 3\n");
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
    let mut job = gate("");
    // Too long to be welded in one go.
    job.welds[3].to = job.welds[3].from + Point::new(500.0, 0.0, 0.0);
    let problem = PlanningProblem::new(&job, &vec![1.0; job.welds.len()], &Options::default())
        .expect("sound");
    assert_eq!(
        problem.parts.len(),
        job.welds.len() + 2,
        "500 mm are three parts"
    );
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

/// A logger that agrees to everything and remembers it.
struct Agrees {
    asked: Receiver<Request>,
    requests: Vec<Request>,
    answer: VecDeque<u8>,
}

impl Port for Agrees {
    fn send(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        for byte in bytes {
            let Some((tag, Ok(request))) = self.asked.take(*byte) else {
                continue;
            };
            self.requests.push(request);
            let mut frame = [0; MAX_FRAME];
            let length = encode(tag, &Reply::Done, &mut frame).expect("it fits");
            self.answer.extend(&frame[..length]);
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> std::io::Result<usize> {
        let count = into.len().min(self.answer.len());
        for (to, from) in into.iter_mut().zip(self.answer.drain(..count)) {
            *to = from;
        }
        Ok(count)
    }
}

#[test]
fn a_logger_gets_every_weld_once_and_the_user_sees_how_many_it_has() {
    let job = gate("");
    let parts = portions(&job, &list(&numbers(&job)), Celsius(20.0)).expect("a plan");
    let mut logger = Agrees {
        asked: Receiver::new(),
        requests: Vec::new(),
        answer: VecDeque::new(),
    };
    let mut seen = Vec::new();
    let mut client = Client::new(Box::new(&mut logger));
    send(&mut client, &parts[0], &mut |sent| seen.push(sent)).expect("it agrees");
    drop(client);
    let welds = &parts[0].welds;
    assert_eq!(seen, (1..=welds.len()).collect::<Vec<_>>());
    let begins = Request::PlanBegins(parts[0].head.clone());
    let checksum = welds.iter().fold(0, checksum_of_plan);
    let ends = Request::PlanEnds { checksum };
    let [first, between @ .., last] = &logger.requests[..] else {
        panic!("it begins and ends")
    };
    assert_eq!((first, last), (&begins, &ends));
    let told = between.iter().map(|request| match request {
        Request::PlanWeld(weld) => weld.number,
        _ => 0,
    });
    assert!(told.eq(numbers(&job)));
}
