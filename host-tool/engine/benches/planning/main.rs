//! How good the advised orders are: on ten frames beside what shops do without thinking and beside chance, on frames of
//! eight welds beside the best of all orders, and beside simulated annealing in the same time.
//!
//! `cargo bench -p coldsquare --bench planning` prints the tables; with `-- write` it puts them into
//! docs/guide/planning.md, between the remarks that mark their places. The name of a table (`-- ten`, `-- time`,
//! `-- eight`, `-- annealing`) makes only that one. All of them take some twenty minutes on two cores. Times are of one core.

use clock::all_threads_s;
use coldsquare_core::sequence::{Assess, Step, cost};
use coldsquare_engine::job::from_text;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::movement::cost::Cost as Weights;
use coldsquare_engine::plan::judge::{Judge, Solved};
use coldsquare_engine::plan::structure::{least_moving, on_structure};
use coldsquare_engine::plan::{Options, Workpiece, planned_heat};
use std::fmt::Write;

mod annealing;
mod clock;
#[path = "../../../../tests/frames/mod.rs"]
mod frames;

/// Orders by chance that are tried on each frame.
const RANDOM: usize = 10_000;
const GUIDE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/planning-search.md");

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
    let is_asked_for = |mark: &str| {
        words
            .iter()
            .any(|word| mark.split(' ').next() == Some(word))
    };
    let any = tables.iter().any(|(mark, _)| is_asked_for(mark));
    for (mark, table) in tables {
        if any && !is_asked_for(mark) {
            continue;
        }
        let table = table();
        println!("{table}");
        if words.iter().any(|word| word == "write") {
            put(mark, &table);
        }
    }
}

/// Puts a table between its two remarks in the guide.
fn put(mark: &str, table: &str) {
    let guide = std::fs::read_to_string(GUIDE).expect("the guide can be read");
    let begin = format!("<!-- {mark}: made by benches/planning -->\n");
    let Some((before, rest)) = guide.split_once(&begin) else {
        eprintln!("The guide has no place for this table; give it one:\n{begin}<!-- end -->");
        return;
    };
    let (_, after) = rest.split_once("<!-- end -->").expect("the end of it");
    let guide = format!("{before}{begin}\n{table}\n<!-- end -->{after}");
    std::fs::write(GUIDE, guide).expect("the guide can be written");
}

/// Numbers by chance, the same every time (xorshift; G. Marsaglia, *Journal of Statistical Software* 8 (2003) 14).
struct Chance(u64);

impl Chance {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 33) as usize % bound
    }

    /// All items in any order and any direction, with as many turns as it takes.
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

/// Worst bow that each order leaves on each frame, when straight members are all that is asked for.
fn ten_frames() -> String {
    let only_bows = Weights {
        bow: 1.0,
        size: 0.0,
        squareness: 0.0,
        wind: 0.0,
        parallel: 0.0,
        on_the_way: 0.0,
    };
    let mut table = String::from(
        "| frame | welds | advised (turns) | turned at will | as drawn | end to end | side by side | centre out | alternate sides | best of 10,000 by chance |\n\
         |---|--:|--:|--:|--:|--:|--:|--:|--:|--:|\n",
    );
    let (mut won, mut as_good, mut gains) = (0, 0, Vec::new());
    for (name, text) in frames::FRAMES {
        let job = from_text(name, text).expect("a job");
        let heat = planned_heat(&job);
        let work = Workpiece::new(&job, &heat, &Options::default()).expect("an order");
        let solved = Solved::with_cost(&job, &heat, only_bows).expect("it stands");
        let judge = solved.judge(&work);
        let found = on_structure(&work, &judge, &mut |_| true).expect("an order");
        let ours = judge.worst_bow_mm(&found.order);
        let free = Options {
            most_turns: Some(job.welds.len() as u16),
            turn_worth: 0.0,
            ..Options::default()
        };
        let at_will = Workpiece::new(&job, &heat, &free).expect("an order");
        let at_will = on_structure(&at_will, &judge, &mut |_| true).expect("an order");
        let at_will = judge.worst_bow_mm(&at_will.order);
        let habits = work.habitual_orders().expect("an order");
        let habits: Vec<f64> = habits
            .iter()
            .map(|(_, order)| judge.worst_bow_mm(order))
            .collect();
        let mut chance = Chance(0x2545_F491_4F6C_DD1D);
        let by_chance = (0..RANDOM)
            .map(|_| judge.worst_bow_mm(&chance.order(work.items.len())))
            .fold(f64::INFINITY, f64::min);
        let best = habits.iter().copied().fold(by_chance, f64::min);
        won += usize::from(ours <= best);
        as_good += usize::from(ours <= best * 1.02);
        gains.push(1.0 - ours / habits.iter().copied().fold(f64::INFINITY, f64::min));
        let _ = write!(
            table,
            "| {name} | {} | **{ours:.3}** ({}) | {at_will:.3} |",
            job.welds.len(),
            found.cost.turns
        );
        for mm in habits.iter().chain([&by_chance]) {
            let _ = write!(table, " {mm:.3} |");
        }
        table.push('\n');
    }
    gains.sort_by(f64::total_cmp);
    let _ = writeln!(
        table,
        "\nWorst bow, mm, cold and released. The advised order is at least as good as all others on {won} of the ten, within 2 % of the best of them on {as_good}, and leaves {:.0} % \
         less bow than the best habit on the middle frame ({:.0} to {:.0} %). The habits and chance may turn the frame over as \
         often as they like; the advised order at most three times, and only where a turn saves 5 %.",
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

/// How long the usual effort takes, and what it makes of the order by heat moments.
fn time() -> String {
    let mut table = String::from(
        "| welds | orders tried | of one core | movement by heat moments | best habit (turns) | advised (turns) |\n|--:|--:|--:|--:|--:|--:|\n",
    );
    for welds in [20, 60, 100, 200] {
        let job = gate(welds);
        let heat = planned_heat(&job);
        let before = all_threads_s().unwrap_or(0.0);
        let work = Workpiece::new(&job, &heat, &Options::default()).expect("an order");
        let solved = Solved::new(&job, &heat).expect("it stands");
        let judge = solved.judge(&work);
        let mut tried = 0;
        let found = on_structure(&work, &judge, &mut |progress| {
            tried = progress.trials;
            true
        });
        let (found, took) = (
            found.expect("an order"),
            all_threads_s().unwrap_or(0.0) - before,
        );
        let worth = |order: &[Step]| {
            let cost = cost(&judge, &work.items, u16::MAX, order).expect("an order");
            (judge.gauge().value(cost.peak), cost.turns)
        };
        let by_moments = coldsquare_engine::plan::structure::by_moments(&work, &mut |_| true);
        let (by_moments, _) = worth(&by_moments.expect("an order").order);
        let habits = work.habitual_orders().expect("an order");
        let habits = habits.iter().map(|(_, order)| worth(order));
        let (habit, turned) = habits.min_by(|a, b| a.0.total_cmp(&b.0)).expect("a habit");
        let (advised, turns) = worth(&found.order);
        let trials = match found.method {
            coldsquare_engine::plan::model::Method::Search { trials } => trials,
            coldsquare_engine::plan::model::Method::Exact => tried,
        };
        let _ = writeln!(
            table,
            "| {welds} | {trials} | {took:.1} s | {by_moments:.3} mm | {habit:.3} mm ({turned}) | {advised:.3} mm ({turns}) |"
        );
    }
    table
}

/// Two rungs between two stiles, each welded front and back: eight welds.
fn rungs(places: [usize; 2], width: usize, section: &str, stile: &str) -> Job {
    let mut text = format!(
        "material = \"steel\"\n[frame]\nwidth = {width}\nheight = 1200\nsection = \"{stile}\"\ncorners = \"open\"\n"
    );
    for (k, y) in places.iter().enumerate() {
        let _ = write!(
            text,
            "[[member]]\nname = \"rung {k}\"\nsection = \"{section}\"\nfrom = \"left stile at {y}\"\n\
             to = \"right stile at {y}\"\nwelded = [\"front\", \"back\"]\n"
        );
    }
    text +=
        "[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\n";
    from_text("rungs", &text).expect("a job")
}

/// The least peak that any order of what is left can have.
fn least_peak<'a>(
    judge: &Judge<'a>,
    state: &<Judge<'a> as Assess>::State,
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
        judge.lay(&mut next, Step::forward(weld));
        let peak = peak.max(judge.magnitude(&next));
        if peak < *best {
            least_peak(judge, &next, left & !(1 << weld), peak, best);
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
            for stile in ["SHS 30x30x2", "RHS 50x30x2", "SHS 40x40x3", "SHS 25x25x2"] {
                let job = rungs(places, width, section, stile);
                let heat = planned_heat(&job);
                let free = Options {
                    most_turns: Some(7),
                    turn_worth: 0.0,
                    ..Options::default()
                };
                let work = Workpiece::new(&job, &heat, &free).expect("an order");
                let solved = Solved::new(&job, &heat).expect("it stands");
                let judge = solved.judge(&work);
                let search = least_moving(&work, &judge, &mut |_| true).expect("an order");
                let found = on_structure(&work, &judge, &mut |_| true).expect("an order");
                let mut best = search.cost.peak.min(found.cost.peak) + 1;
                least_peak(&judge, &judge.start(), 0xFF, 0, &mut best);
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
        row("then less turning and walking", &mut advised)
    )
}
