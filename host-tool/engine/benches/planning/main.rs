//! How good the advised orders are: on ten frames against trade orders and random orders, on frames of eight welds
//! against the best of all orders, and against simulated annealing in the same time.
//!
//! `cargo bench -p coldsquare-engine --bench planning` prints the tables; `-- write` puts them into
//! docs/planning-search.md, between the comments that mark their places. The name of a table (`-- ten`, `-- time`,
//! `-- eight`, `-- annealing`) makes only that one. All of them take about twenty minutes on two cores. Times are of one
//! core.

use clock::all_threads_s;
use coldsquare_core::sequence::{Objective, Step};
use coldsquare_engine::job::from_text;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::movement::cost::MovementWeights;
use coldsquare_engine::plan::frame_model::{by_balance, least_moving, on_frame_model};
use coldsquare_engine::plan::model::Method;
use coldsquare_engine::plan::movement_objective::{MovementObjective, Solved};
use coldsquare_engine::plan::parallel::Serial;
use coldsquare_engine::plan::search::cost;
use coldsquare_engine::plan::{Options, PlanningProblem, planned_heat};
use std::fmt::Write;

mod annealing;
mod clock;
#[path = "../../../../tests/frames/mod.rs"]
mod frames;

/// Random orders that are tried on each frame.
const RANDOM: usize = 10_000;
const DOCUMENT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/planning-search.md");

/// Makes a table.
type Table = fn() -> String;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let tables: [(&str, Table); 4] = [
        ("ten frames", ten_frames),
        ("time", time),
        ("eight welds", eight_welds),
        ("annealing", annealing::table),
    ];
    let is_wanted = |mark: &str| {
        words
            .iter()
            .any(|word| mark.split(' ').next() == Some(word))
    };
    let any = tables.iter().any(|(mark, _)| is_wanted(mark));
    for (mark, table) in tables {
        if any && !is_wanted(mark) {
            continue;
        }
        let table = table();
        println!("{table}");
        if words.iter().any(|word| word == "write") {
            put(mark, &table);
        }
    }
}

/// Puts a table between its two comments in the document.
fn put(mark: &str, table: &str) {
    let document = std::fs::read_to_string(DOCUMENT).expect("the document can be read");
    let begin = format!("<!-- {mark}: made by benches/planning -->\n");
    let Some((before, rest)) = document.split_once(&begin) else {
        eprintln!("{DOCUMENT} has no place for this table; give it one:\n{begin}<!-- end -->");
        return;
    };
    let (_, after) = rest.split_once("<!-- end -->").expect("the end of it");
    let document = format!("{before}{begin}\n{table}\n<!-- end -->{after}");
    std::fs::write(DOCUMENT, document).expect("the document can be written");
}

/// Random numbers, the same every time (xorshift; G. Marsaglia, *Journal of Statistical Software* 8 (2003) 14).
struct Random(u64);

impl Random {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 33) as usize % bound
    }

    /// All items in any order and any direction, with as many flips as it takes.
    fn order(&mut self, items: usize) -> Vec<Step> {
        let mut order: Vec<Step> = (0..items as u16).map(Step::forward).collect();
        for k in (1..items).rev() {
            order.swap(k, self.below(k + 1));
        }
        for step in &mut order {
            step.reversed = self.below(2) == 1;
        }
        order
    }
}

/// The worst bow that each order leaves on each frame, when straight members are all that counts.
fn ten_frames() -> String {
    let only_bows = MovementWeights {
        bow: 1.0,
        size: 0.0,
        squareness: 0.0,
        twist: 0.0,
        lean: 0.0,
        parallel: 0.0,
        during_welding: 0.0,
    };
    let mut table = String::from(
        "| frame | welds | advised (flips) | flipped at will | file order | end to end | row by row | centre out | alternate sides | best of 10,000 random |\n\
         |---|--:|--:|--:|--:|--:|--:|--:|--:|--:|\n",
    );
    let (mut won, mut as_good, mut gains) = (0, 0, Vec::new());
    for (name, text) in frames::FRAMES {
        let job = from_text(name, text).expect("a job");
        let heat = planned_heat(&job);
        let problem = PlanningProblem::new(&job, &heat, &Options::default()).expect("an order");
        let solved = Solved::with_weights(&job, &heat, only_bows).expect("it stands");
        let objective = solved.objective(&problem);
        let found = on_frame_model(&problem, &objective, &Serial, &mut |_| true).expect("an order");
        let ours = objective.worst_bow_mm(&found.order);
        let free = Options {
            max_flips: Some(job.welds.len() as u16),
            flip_worth: 0.0,
            ..Options::default()
        };
        let at_will = PlanningProblem::new(&job, &heat, &free).expect("an order");
        let at_will =
            on_frame_model(&at_will, &objective, &Serial, &mut |_| true).expect("an order");
        let at_will = objective.worst_bow_mm(&at_will.order);
        let trade_orders = problem.trade_orders().expect("an order");
        let trade_orders: Vec<f64> = trade_orders
            .iter()
            .map(|(_, order)| objective.worst_bow_mm(order))
            .collect();
        let mut random = Random(0x2545_F491_4F6C_DD1D);
        let by_chance = (0..RANDOM)
            .map(|_| objective.worst_bow_mm(&random.order(problem.items.len())))
            .fold(f64::INFINITY, f64::min);
        let best = trade_orders.iter().copied().fold(by_chance, f64::min);
        won += usize::from(ours <= best);
        as_good += usize::from(ours <= best * 1.02);
        gains.push(1.0 - ours / trade_orders.iter().copied().fold(f64::INFINITY, f64::min));
        let _ = write!(
            table,
            "| {name} | {} | **{ours:.3}** ({}) | {at_will:.3} |",
            job.welds.len(),
            found.cost.flips
        );
        for mm in trade_orders.iter().chain([&by_chance]) {
            let _ = write!(table, " {mm:.3} |");
        }
        table.push('\n');
    }
    gains.sort_by(f64::total_cmp);
    let _ = writeln!(
        table,
        "\nWorst bow, mm, cold and released. The advised order is at least as good as all others on {won} of the ten, within 2 % of the\n\
         best of them on {as_good}, and leaves {:.0} % less bow than the best trade order on the middle frame ({:.0} to {:.0} %). The trade\n\
         orders and the random ones may flip the frame as often as they like; the advised order at most three times, and only\n\
         where a flip saves 5 %.",
        100.0 * (gains[4] + gains[5]) / 2.0,
        100.0 * gains[0],
        100.0 * gains[9]
    );
    table
}

/// A long gate of this many welds.
fn gate(welds: usize) -> Job {
    let bars = (welds - 16) / 4;
    let text = format!(
        "material = \"steel\"\n[frame]\nwidth = {}\nheight = 900\nsection = \"SHS 40x40x3\"\n[frame.bars]\ncount = {bars}\n\
         section = \"SHS 20x20x2\"\n[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\n",
        400 + 60 * bars
    );
    from_text("gate", &text).expect("a job")
}

/// How long the usual effort takes, and how far it improves on the order by shrinkage balance.
fn time() -> String {
    let mut table = String::from(
        "| welds | orders tried | of one core | movement by shrinkage balance | best trade order (flips) | advised (flips) |\n|--:|--:|--:|--:|--:|--:|\n",
    );
    for welds in [20, 60, 100, 200] {
        let job = gate(welds);
        let heat = planned_heat(&job);
        let before = all_threads_s().unwrap_or(0.0);
        let problem = PlanningProblem::new(&job, &heat, &Options::default()).expect("an order");
        let solved = Solved::new(&job, &heat).expect("it stands");
        let objective = solved.objective(&problem);
        let mut tried = 0;
        let found = on_frame_model(&problem, &objective, &Serial, &mut |progress| {
            tried = progress.trials;
            true
        });
        let (found, took) = (
            found.expect("an order"),
            all_threads_s().unwrap_or(0.0) - before,
        );
        let worth = |order: &[Step]| {
            let cost = cost(&objective, &problem.items, u16::MAX, order).expect("an order");
            (objective.gauge().value(cost.peak), cost.flips)
        };
        let by_balance = by_balance(&problem, &mut |_| true);
        let (by_balance, _) = worth(&by_balance.expect("an order").order);
        let trade_orders = problem.trade_orders().expect("an order");
        let trade_orders = trade_orders.iter().map(|(_, order)| worth(order));
        let (trade_order, flipped) = trade_orders
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .expect("a trade order");
        let (advised, flips) = worth(&found.order);
        let trials = match found.method {
            Method::Search { trials } => trials,
            Method::Exact => tried,
        };
        let _ = writeln!(
            table,
            "| {welds} | {trials} | {took:.1} s | {by_balance:.3} mm | {trade_order:.3} mm ({flipped}) | {advised:.3} mm ({flips}) |"
        );
    }
    table
}

/// Two rungs between two uprights, each welded front and back: eight welds.
fn rungs(places: [usize; 2], width: usize, section: &str, upright: &str) -> Job {
    let mut text = format!(
        "material = \"steel\"\n[frame]\nwidth = {width}\nheight = 1200\nsection = \"{upright}\"\ncorners = \"open\"\n"
    );
    for (k, y) in places.iter().enumerate() {
        let _ = write!(
            text,
            "[[member]]\nname = \"rung {k}\"\nsection = \"{section}\"\nfrom = \"left upright at {y}\"\n\
             to = \"right upright at {y}\"\nwelded = [\"front\", \"back\"]\n"
        );
    }
    text +=
        "[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\n";
    from_text("rungs", &text).expect("a job")
}

/// The smallest peak that any order of the welds left can have.
fn least_peak<'a>(
    objective: &MovementObjective<'a>,
    state: &<MovementObjective<'a> as Objective>::State,
    left: u8,
    peak: u64,
    best: &mut u64,
) {
    if left == 0 {
        *best = (*best).min(peak);
        return;
    }
    for weld in (0..8).filter(|k| left >> k & 1 == 1) {
        let mut next = state.clone();
        objective.apply(&mut next, Step::forward(weld));
        let peak = peak.max(objective.score(&next));
        if peak < *best {
            least_peak(objective, &next, left & !(1 << weld), peak, best);
        }
    }
}

/// How far the advised order is from the best of all 40,320, on frames of eight welds.
fn eight_welds() -> String {
    let (mut searched, mut advised) = (Vec::new(), Vec::new());
    for places in [[150, 1050], [300, 900], [200, 500], [100, 160], [550, 1100]] {
        for (width, section) in [
            (350, "SHS 25x25x2"),
            (600, "SHS 20x20x2"),
            (450, "SHS 20x20x2"),
            (900, "SHS 25x25x2"),
            (250, "SHS 20x20x2"),
        ] {
            for upright in ["SHS 30x30x2", "RHS 50x30x2", "SHS 40x40x3", "SHS 25x25x2"] {
                let job = rungs(places, width, section, upright);
                let heat = planned_heat(&job);
                let free = Options {
                    max_flips: Some(7),
                    flip_worth: 0.0,
                    ..Options::default()
                };
                let problem = PlanningProblem::new(&job, &heat, &free).expect("an order");
                let solved = Solved::new(&job, &heat).expect("it stands");
                let objective = solved.objective(&problem);
                let search =
                    least_moving(&problem, &objective, &Serial, &mut |_| true).expect("an order");
                let found =
                    on_frame_model(&problem, &objective, &Serial, &mut |_| true).expect("an order");
                let mut best = search.cost.peak.min(found.cost.peak) + 1;
                least_peak(&objective, &objective.start(), 0xFF, 0, &mut best);
                let gap = |peak: u64| 100.0 * ((peak as f64 / best as f64).sqrt() - 1.0);
                searched.push(gap(search.cost.peak));
                advised.push(gap(found.cost.peak));
            }
        }
    }
    let row = |name: &str, gaps: &mut Vec<f64>| {
        gaps.sort_by(f64::total_cmp);
        let at = |share: f64| gaps[((gaps.len() - 1) as f64 * share).round() as usize];
        let within = |most: f64| gaps.iter().filter(|gap| **gap <= most).count();
        format!(
            "| {name} | {} | {} | {} | {:.2} % | {:.2} % | {:.2} % |\n",
            within(0.01),
            within(1.0),
            within(2.0),
            at(0.5),
            at(0.9),
            at(1.0)
        )
    };
    format!(
        "| of {} frames | the best of all 40,320 orders | within 1 % | within 2 % | middle gap | 90 % are within | worst gap |\n\
         |---|--:|--:|--:|--:|--:|--:|\n{}{}",
        searched.len(),
        row("least movement found", &mut searched),
        row("then fewer flips and less walking", &mut advised)
    )
}
