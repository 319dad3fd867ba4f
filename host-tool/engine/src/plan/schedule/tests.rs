//! What a schedule promises.

use super::*;
use crate::job::from_text;
use crate::plan::parts::planned_parts;
use proptest::prelude::*;

const COLD: Celsius = Celsius(20.0);

/// A mitred frame, 16 welds, four a corner; `rest` is added to the file.
fn frame(interpass: &str, rest: &str) -> Job {
    let text = format!(
        "material = \"steel\"\n[frame]\nwidth = 2000\nheight = 1500\nsection = \"SHS 40x40x2\"\ncorners = \"mitred\"\n\
         [procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\n\
         heat_input = [0.15, 0.35]\n{interpass}\n{rest}"
    );
    from_text("frame", &text).expect("the frame has no errors")
}

fn welds(order: &[usize]) -> impl Iterator<Item = BenchStep> {
    order.iter().map(|&part| BenchStep::Weld { part })
}

fn timed(job: &Job, start: Celsius, order: &[usize]) -> Times {
    let parts = planned_parts(job);
    Schedule::new(job, &parts, start).times(welds(order))
}

fn waited(timed: &Times) -> f64 {
    timed.time.joints_cooling.0 + timed.time.machine_resting.0
}

/// Indices of the welds of a joint.
fn of_joint(job: &Job, joint: usize) -> Vec<usize> {
    (0..job.welds.len())
        .filter(|weld| job.welds[*weld].joint == joint)
        .collect()
}

/// Corner after corner, each weld in the next one.
fn round_the_corners(job: &Job) -> Vec<usize> {
    let corners: Vec<Vec<usize>> = (0..4).map(|joint| of_joint(job, joint)).collect();
    (0..4)
        .flat_map(|k| corners.iter().map(move |corner| corner[k]))
        .collect()
}

fn corner_by_corner(job: &Job) -> Vec<usize> {
    (0..4).flat_map(|joint| of_joint(job, joint)).collect()
}

#[test]
fn the_same_joint_twice_in_a_row_must_wait_and_a_cold_one_need_not() {
    let job = frame("interpass = 100", "");
    let (here, there) = (of_joint(&job, 0), of_joint(&job, 2));
    let twice = timed(&job, COLD, &[here[0], here[1]]);
    assert_eq!(twice.waits[0], None, "nothing is hot yet");
    let wait = twice.waits[1].expect("the joint is hot");
    assert_eq!(
        wait.what,
        WaitFor::Joint {
            limit: Celsius(100.0)
        }
    );
    let in_turn = timed(&job, COLD, &[here[0], there[0]]);
    assert_eq!(in_turn.waits, [None, None]);
}

// The core's formula alone, for one weld on the joint. Its own tests, in interpass.rs, hold it to the thin plate of EN
// 1011-2 and to an energy balance.
#[test]
fn the_joint_is_at_its_limit_when_the_wait_is_over() {
    let job = frame("interpass = 100", "");
    let here = of_joint(&job, 0);
    let timed = timed(&job, COLD, &[here[0], here[1]]);
    let first = &job.welds[here[0]];
    let arc = first.planned_arc_time(&job.procedures[0]);
    let pulse = HeatPulse {
        heat_input: job.procedures[0].planned_heat_input,
        length: first.length(),
        ended: Seconds(BETWEEN_ARCS_S + arc.0),
    };
    let waited = timed.waits[1].expect("the joint is hot").seconds.0;
    let walked = timed.time.walking.0;
    let arc_again = Seconds(pulse.ended.0 + walked + BETWEEN_ARCS_S + waited);
    let tube = tube(&job, first, COLD);
    let reached = tube.temperature(&[pulse], arc_again).expect("in range").0;
    assert!((98.0..=100.0).contains(&reached), "{reached} °C");
}

#[test]
fn going_round_the_corners_needs_less_waiting_than_finishing_each() {
    let job = frame("interpass = 100", "");
    let each = waited(&timed(&job, COLD, &corner_by_corner(&job)));
    let round = waited(&timed(&job, COLD, &round_the_corners(&job)));
    assert!(round < 0.5 * each, "{round} s against {each} s");
}

#[test]
fn a_hotter_shop_and_a_lower_limit_make_waits_longer() {
    let order = corner_by_corner(&frame("interpass = 100", ""));
    let waited = |limit: &str, start: f64| {
        let job = frame(&format!("interpass = {limit}"), "");
        waited(&timed(&job, Celsius(start), &order))
    };
    let at: Vec<f64> = [-10.0, 20.0, 35.0, 60.0]
        .map(|start| waited("100", start))
        .into();
    assert!(at.is_sorted_by(|a, b| a < b), "{at:?}");
    assert!(waited("80", 20.0) > waited("100", 20.0));
    assert!(waited("100", 20.0) > waited("200", 20.0));
}

#[test]
fn heat_of_a_neighbour_on_the_same_tube_makes_a_wait_longer() {
    // Bars 60 mm apart: the heat of one reaches the next within minutes.
    let text = "material = \"steel\"\n[frame]\nwidth = 800\nheight = 400\nsection = \"SHS 40x40x2\"\n\
                [frame.bars]\ncount = 11\nsection = \"SHS 20x20x2\"\nwelded = [\"front\"]\n\
                [procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\n\
                heat_input = [0.15, 0.35]\ninterpass = 30\n";
    let job = from_text("bars", text).expect("a good job");
    let bars: Vec<usize> = (0..job.welds.len())
        .filter(|k| job.welds[*k].name.contains("bar") && job.welds[*k].from.y < 200.0)
        .collect();
    let middle = bars[bars.len() / 2];
    let mut others: Vec<usize> = bars.iter().copied().filter(|k| *k != middle).collect();
    let joint = job.welds[middle].joint;
    others.retain(|k| job.welds[*k].joint != joint);
    // The weld itself, then the others, then the weld again: only what they leave in the joint counts.
    let parts = planned_parts(&job);
    let schedule = Schedule::new(&job, &parts, COLD);
    let last = others.iter().copied().chain([middle]).collect::<Vec<_>>();
    let near = schedule.times(welds(&last));
    let far: Vec<usize> = (0..job.welds.len())
        .filter(|k| job.welds[*k].from.y > 200.0 && job.welds[*k].name.contains("bar"))
        .take(others.len())
        .chain([middle])
        .collect();
    let far = schedule.times(welds(&far));
    let wait = |timed: &Times| {
        timed
            .waits
            .last()
            .copied()
            .flatten()
            .map_or(0.0, |wait| wait.seconds.0)
    };
    assert_eq!(wait(&far), 0.0, "the other rail warms nothing here");
    assert!(wait(&near) > 0.0, "its neighbours have warmed the joint");
}

/// A machine with a duty cycle of `duty` percent at 115 A, the middle of the procedure's amps.
fn machine(duty: u32) -> String {
    format!("[machine]\nrated_current = 115\nrated_duty_cycle = {duty}\n")
}

/// The arc time of the whole frame is about 70 s, so a small machine must rest.
const SMALL: u32 = 5;

// EN IEC 60974-1: duty counts over ten minutes. Here the windows move over the plan from arc to arc, without the
// slices of ten seconds that the schedule counts in.
#[test]
fn no_ten_minutes_exceed_the_rated_duty_cycle() {
    for duty in [SMALL, 10, 20] {
        let job = frame("", &machine(duty));
        let order = round_the_corners(&job);
        let timed = timed(&job, COLD, &order);
        assert!(duty != SMALL || timed.time.machine_resting.0 > 0.0);
        let arcs: Vec<(f64, f64)> = order
            .iter()
            .enumerate()
            .map(|(k, &weld)| {
                let end = timed.begins.get(k + 1).unwrap_or(&timed.time.total).0;
                let arc = job.welds[weld].planned_arc_time(&job.procedures[0]).0;
                (end - arc, end)
            })
            .collect();
        for &(_, end) in &arcs {
            let lit: f64 = arcs
                .iter()
                .map(|(from, to)| (to.min(end) - from.max(end - 600.0)).max(0.0))
                .sum();
            let share = lit / 600.0;
            assert!(
                share <= f64::from(duty) / 100.0 + 1e-6,
                "{share} of {duty} %"
            );
        }
    }
}

#[test]
fn a_higher_duty_cycle_is_never_slower_and_one_of_100_percent_never_rests() {
    let order: Vec<usize> = (0..16).collect();
    let total = |duty| timed(&frame("", &machine(duty)), COLD, &order).time;
    let times: Vec<f64> = [4, 6, 9, 15, 35, 60, 100]
        .map(|duty| total(duty).total.0)
        .into();
    assert!(times.is_sorted_by(|a, b| a >= b), "{times:?}");
    assert!(times[0] > times[6]);
    assert_eq!(total(100).machine_resting, Seconds(0.0));
}

#[test]
fn a_weld_that_exceeds_the_duty_cycle_alone_is_named() {
    let timed = timed(&frame("", &machine(1)), COLD, &[0, 1]);
    assert_eq!(timed.remarks.len(), 1);
    assert!(
        timed.remarks[0].starts_with("Weld 1 alone exceeds the duty cycle of the machine"),
        "{:?}",
        timed.remarks
    );
}

#[test]
fn a_limit_below_the_temperature_of_the_frame_is_reported() {
    let timed = timed(&frame("interpass = 30", ""), Celsius(35.0), &[0]);
    assert_eq!(timed.waits, [None]);
    assert!(timed.remarks[0].contains("weld 1"), "{:?}", timed.remarks);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_parts_sum_to_the_total_whatever_the_order(
        order in Just((0..16_usize).collect::<Vec<_>>()).prop_shuffle(), duty in 5..40_u32, flips in 0..4_usize,
    ) {
        let job = frame("interpass = 80", &machine(duty));
        let parts = planned_parts(&job);
        let tacks = std::iter::repeat_n(BenchStep::Tack { at: Point::new(0.0, 500.0, 0.0), tacks: 2 }, 3);
        let bench_steps = tacks.chain(std::iter::repeat_n(BenchStep::Flip, flips)).chain(welds(&order));
        let timed = Schedule::new(&job, &parts, COLD).times(bench_steps);
        let Time { arc, between_arcs, walking, flipping, joints_cooling, machine_resting, total } = timed.time;
        let sum = [arc, between_arcs, walking, flipping, joints_cooling, machine_resting];
        let sum: f64 = sum.iter().map(|part| part.0).sum();
        prop_assert!((sum - total.0).abs() < 1e-6, "{sum} of {total:?}");
        let waits: f64 = timed.waits.iter().flatten().map(|wait| wait.seconds.0).sum();
        prop_assert!((waits - joints_cooling.0 - machine_resting.0).abs() < 1e-6);
        prop_assert!(timed.begins.is_sorted());
        let arcs: f64 = job.welds.iter().map(|weld| weld.planned_arc_time(&job.procedures[0]).0).sum();
        prop_assert!((arc.0 - arcs - 6.0 * TACK_S).abs() < 1e-6);
    }
}
