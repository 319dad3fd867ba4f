//! The likeliest way to lay beads against welds, and how likely each bead's place is.
//!
//! A way is a path through a grid: a node stands for "the first n items have happened and the first p welds of the
//! order are settled". From each node lead the steps that the trade knows; [`Grid::steps`] is their only list. Welds
//! are left out right before the next one that is made, so that each way is one path and no chance is counted twice.
//! The cheapest path is found by dynamic programming; adding the chances of all paths, forward and backward, gives
//! the chance of each single placement.

use super::likelihood::{
    EXTRA, MADE, MARKER_WRONG, OPENED_AND_LEFT_OUT, Pace, RUN_LEFT_OUT, STOPPED, UNFINISHED,
    median, pause,
};
use super::reading::{Item, Reading};
use super::{Basis, CERTAIN_FROM, MatchError, Place, Question, Role};
use std::ops::Range;

/// Most nodes of a grid: 8 million take about 250 MB.
const MOST_NODES: usize = 8_000_000;
/// More beads than its runs that one weld may have.
const MOST_STOPS: usize = 5;
/// Being further than this past markers costs no more.
const MOST_MARKERS_WRONG: usize = 2;

/// Where a path is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Node {
    /// Items that have happened.
    items: usize,
    /// Welds that are settled.
    welds: usize,
    /// The last step left a weld out.
    gap: bool,
}

/// A step of a path.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Move {
    /// The next weld has no bead.
    #[default]
    LeaveOut,
    /// The next bead fits no weld.
    Extra,
    /// The next beads, this many, make the next weld.
    Weld(u8),
    /// The next item is a visit, and the beads after it, this many, belong to it.
    Visit(u8),
    /// The log ends before the build does: no weld from this one on has a bead.
    Stop(usize),
}

/// A step with what it costs and means.
#[derive(Clone, Debug)]
struct Step {
    taken: Move,
    cost: f64,
    to: Node,
    /// Index of the weld that gets the beads.
    weld: Option<usize>,
    /// The items that it uses up and that are beads.
    beads: Range<usize>,
}

/// The likeliest path.
#[derive(Clone, Debug)]
pub struct Path {
    /// Cost of the whole path, nats.
    pub cost: f64,
    /// Arc times over those expected.
    pub pace: f64,
    pace_used: Pace,
    taken: Vec<Taken>,
    /// For each item, the chance of each weld (by index), and last that of no weld; empty until weighed.
    chances: Vec<Vec<f32>>,
}

#[derive(Clone, Debug)]
struct Taken {
    weld: Option<usize>,
    redo: bool,
    beads: Range<usize>,
}

/// Finds the likeliest path: first with any pace, then with the welder's own.
///
/// # Errors
/// [`MatchError::TooMuch`].
pub fn align(question: &Question<'_>, reading: &Reading) -> Result<Path, MatchError> {
    let grid = Grid::new(question, reading, Pace::unknown())?;
    let first = grid.cheapest();
    let ratios = first.taken.iter().filter_map(|taken| {
        let weld = &question.welds[taken.weld?];
        let runs = usize::from(weld.runs.max(1));
        let share = taken.beads.len().min(runs) as f64 / runs as f64;
        (share > 0.0).then(|| grid.arc_time(&taken.beads) / (weld.arc_time.0 * share))
    });
    let pace = Pace::from_ratios(ratios);
    Ok(Grid { pace, ..grid }.cheapest())
}

/// Writes the places of a path's beads.
pub fn settle(
    question: &Question<'_>,
    reading: &Reading,
    path: &Path,
    places: &mut [Option<Place>],
) {
    for taken in &path.taken {
        for item in taken.beads.clone() {
            let Item::Bead(bead) = reading.items[item] else {
                continue;
            };
            let role = taken.weld.map_or(Role::Extra, |weld| Role::Weld {
                weld: question.welds[weld].number,
                run: 1,
            });
            let by_marker = taken.weld.is_some_and(|weld| reading.named.contains(&weld));
            let (confidence, or_else) = path.confidence(question, item, taken.weld);
            places[bead] = Some(Place {
                role,
                basis: if by_marker {
                    Basis::Marker
                } else {
                    Basis::Alignment
                },
                confidence,
                or_else,
            });
        }
    }
    for redo in path
        .taken
        .iter()
        .filter(|taken| taken.redo && !taken.beads.is_empty())
    {
        replace_earlier(reading, path, redo, places);
    }
}

/// Beads of the same weld before a redo no longer count.
fn replace_earlier(reading: &Reading, path: &Path, redo: &Taken, places: &mut [Option<Place>]) {
    let same = |taken: &&Taken| taken.weld == redo.weld && taken.beads.end <= redo.beads.start;
    for item in path
        .taken
        .iter()
        .filter(same)
        .flat_map(|taken| taken.beads.clone())
    {
        let Item::Bead(bead) = reading.items[item] else {
            continue;
        };
        if let Some(place) = &mut places[bead]
            && let Role::Weld { weld, .. } = place.role
        {
            place.role = Role::Replaced { weld };
        }
    }
}

impl Path {
    /// Works out the chance of every placement.
    pub fn weigh(&mut self, question: &Question<'_>, reading: &Reading) {
        if let Ok(grid) = Grid::new(question, reading, self.pace_used) {
            self.chances = grid.chances(question.welds.len());
        }
    }

    fn confidence(
        &self,
        question: &Question<'_>,
        item: usize,
        weld: Option<usize>,
    ) -> (f64, Option<Role>) {
        let Some(chances) = self.chances.get(item) else {
            return (0.0, None);
        };
        let none = question.welds.len();
        let taken = weld.unwrap_or(none);
        let confidence = f64::from(chances[taken]).clamp(0.0, 1.0);
        let other = (0..=none)
            .filter(|&other| other != taken && chances[other] > 0.0)
            .max_by(|&a, &b| chances[a].total_cmp(&chances[b]))
            .filter(|_| confidence < CERTAIN_FROM);
        let role = other.map(|other| match question.welds.get(other) {
            Some(weld) => Role::Weld {
                weld: weld.number,
                run: 1,
            },
            None => Role::Extra,
        });
        (confidence, role)
    }
}

struct Grid<'a> {
    question: &'a Question<'a>,
    reading: &'a Reading,
    pace: Pace,
    /// Arc time of the items before each, summed.
    arc_time: Vec<f64>,
    /// How many beads follow each other from each item on.
    in_a_row: Vec<usize>,
    /// Logarithm of the expected arc time of each weld, by index.
    expected: Vec<f64>,
    /// Logarithm of the arc time of the beads from each item on, by how many.
    seen: Vec<Vec<f64>>,
    /// Cost of pauses inside a weld, and of markers, at the items before each, summed.
    pauses: Vec<f64>,
    markers: Vec<f64>,
}

impl<'a> Grid<'a> {
    fn new(
        question: &'a Question<'a>,
        reading: &'a Reading,
        pace: Pace,
    ) -> Result<Self, MatchError> {
        let items = &reading.items;
        let nodes = (items.len() + 1).saturating_mul(2 * (question.welds.len() + 1));
        if nodes > MOST_NODES {
            return Err(MatchError::TooMuch {
                beads: items.len(),
                welds: question.welds.len(),
            });
        }
        let mut grid = Self {
            question,
            reading,
            pace,
            arc_time: vec![0.0],
            in_a_row: vec![0; items.len() + 1],
            expected: question
                .welds
                .iter()
                .map(|weld| weld.arc_time.0.ln())
                .collect(),
            seen: Vec::new(),
            pauses: vec![0.0],
            markers: vec![0.0],
        };
        for item in items {
            let own = match *item {
                Item::Bead(bead) => question.beads[bead].arc_time.0,
                _ => 0.0,
            };
            let before = grid.arc_time.last().copied().unwrap_or_default();
            grid.arc_time.push(before + own);
        }
        for (index, item) in items.iter().enumerate().rev() {
            if matches!(item, Item::Bead(_)) {
                grid.in_a_row[index] = grid.in_a_row[index + 1] + 1;
            }
        }
        grid.sum_up();
        Ok(grid)
    }

    /// What every node would otherwise work out again.
    fn sum_up(&mut self) {
        let items = self.reading.items.len();
        let between: Vec<Option<f64>> = (0..items).map(|item| self.pause_before(item)).collect();
        let mut pauses: Vec<f64> = between.iter().copied().flatten().collect();
        let usual = median(&mut pauses);
        let (mut pauses, mut markers) = (0.0, 0.0);
        for (between, broken) in between.iter().zip(&self.reading.broken) {
            pauses += between.map_or(0.0, |length| pause(length, usual));
            markers += if *broken { MARKER_WRONG } else { 0.0 };
            self.pauses.push(pauses);
            self.markers.push(markers);
        }
        let runs = self.question.welds.iter().map(|weld| weld.runs).max();
        let most = usize::from(runs.unwrap_or(1).max(1)) + MOST_STOPS;
        let seen = |n: usize| {
            let counts = 0..=self.in_a_row[n].min(most);
            counts
                .map(|count| self.arc_time(&(n..n + count)).ln())
                .collect()
        };
        self.seen = (0..items).map(seen).collect();
    }

    /// Everything has happened and is settled; the second after a weld left out.
    fn ends(&self) -> [Node; 2] {
        [false, true].map(|gap| Node {
            items: self.reading.items.len(),
            welds: self.reading.slots.len(),
            gap,
        })
    }

    fn index(&self, node: Node) -> usize {
        (node.items * (self.reading.slots.len() + 1) + node.welds) * 2 + usize::from(node.gap)
    }

    /// All nodes, each before those that its steps lead to.
    fn nodes(&self) -> impl DoubleEndedIterator<Item = Node> + use<> {
        let (items, slots) = (self.reading.items.len(), self.reading.slots.len());
        (0..=items).flat_map(move |items| {
            (0..=slots).flat_map(move |welds| [false, true].map(|gap| Node { items, welds, gap }))
        })
    }

    fn arc_time(&self, beads: &Range<usize>) -> f64 {
        self.arc_time[beads.end] - self.arc_time[beads.start]
    }

    /// Time between two beads that follow each other in the items.
    fn pause_before(&self, item: usize) -> Option<f64> {
        let before = item.checked_sub(1)?;
        let (Item::Bead(before), Item::Bead(after)) =
            (self.reading.items[before], self.reading.items[item])
        else {
            return None;
        };
        let beads = self.question.beads;
        Some((beads[after].start.0 - beads[before].end.0).max(0.0))
    }

    /// All steps from a node.
    fn steps(&self, node: Node, mut visit: impl FnMut(Step)) {
        let Reading { slots, items, .. } = self.reading;
        let (n, p) = (node.items, node.welds);
        if let Some(slot) = slots.get(p) {
            visit(Step {
                taken: Move::LeaveOut,
                cost: slot.left_out,
                to: Node {
                    items: n,
                    welds: p + 1,
                    gap: true,
                },
                weld: None,
                beads: n..n,
            });
            for count in 1..=self.most_beads(n, slot.weld) {
                let beads = n..n + count;
                let marker = self.marker_cost(&beads, slot.stretch);
                visit(Step {
                    taken: Move::Weld(count as u8),
                    cost: slot.made + self.weld_cost(&beads, slot.weld) + marker,
                    to: Node {
                        items: n + count,
                        welds: p + 1,
                        gap: false,
                    },
                    weld: Some(slot.weld),
                    beads,
                });
            }
        }
        if node.gap {
            return;
        }
        match items.get(n) {
            Some(Item::Bead(_)) => visit(Step {
                taken: Move::Extra,
                cost: EXTRA,
                to: Node {
                    items: n + 1,
                    ..node
                },
                weld: None,
                beads: n..n + 1,
            }),
            Some(&Item::Visit(weld)) => self.visit_steps(node, Some(weld), visit),
            Some(&Item::Redo(weld)) => {
                let before = p.checked_sub(1).map(|p| slots[p].weld);
                self.visit_steps(node, weld.or(before), visit);
            }
            None if p < slots.len() => visit(Step {
                taken: Move::Stop(p),
                cost: UNFINISHED,
                to: self.ends()[0],
                weld: None,
                beads: n..n,
            }),
            None => {}
        }
    }

    fn visit_steps(&self, node: Node, weld: Option<usize>, mut visit: impl FnMut(Step)) {
        let first = node.items + 1;
        let most = weld.map_or(0, |weld| self.most_beads(first, weld));
        for count in 0..=most {
            let beads = first..first + count;
            let cost = match weld {
                Some(weld) if count > 0 => MADE + self.weld_cost(&beads, weld),
                // A bead follows, and the marker is wrong about it too.
                _ if self.in_a_row[first] > 0 => OPENED_AND_LEFT_OUT + MARKER_WRONG,
                _ => OPENED_AND_LEFT_OUT,
            };
            visit(Step {
                taken: Move::Visit(count as u8),
                cost,
                to: Node {
                    items: beads.end,
                    ..node
                },
                weld: weld.filter(|_| count > 0),
                beads,
            });
        }
    }

    fn most_beads(&self, n: usize, weld: usize) -> usize {
        let runs = usize::from(self.question.welds[weld].runs.max(1));
        self.in_a_row[n].min(runs + MOST_STOPS)
    }

    /// Cost of these beads being this weld.
    fn weld_cost(&self, beads: &Range<usize>, weld: usize) -> f64 {
        let runs = usize::from(self.question.welds[weld].runs.max(1));
        let count = beads.len();
        let mut expected = self.expected[weld];
        if count < runs {
            expected += (count as f64 / runs as f64).ln();
        }
        let mut cost = self.pace.cost(self.seen[beads.start][count], expected);
        cost += STOPPED * count.saturating_sub(runs) as f64;
        cost += RUN_LEFT_OUT * runs.saturating_sub(count) as f64;
        cost += self.markers[beads.end] - self.markers[beads.start + 1];
        if runs == 1 {
            cost += self.pauses[beads.end] - self.pauses[beads.start + 1];
        }
        cost
    }

    /// Cost of beads lying on another side of markers than the weld's place in the order.
    fn marker_cost(&self, beads: &Range<usize>, stretch: usize) -> f64 {
        let away = |item: usize| self.reading.stretch[item].abs_diff(stretch);
        let most = beads.clone().map(away).max().unwrap_or_default();
        MARKER_WRONG * most.min(MOST_MARKERS_WRONG) as f64
    }

    fn cheapest(&self) -> Path {
        let mut cost = vec![f64::INFINITY; self.index(self.ends()[1]) + 1];
        let mut by = vec![(Move::LeaveOut, false); cost.len()];
        cost[0] = 0.0;
        for node in self.nodes() {
            let here = cost[self.index(node)];
            self.steps(node, |step| {
                let to = self.index(step.to);
                if here + step.cost < cost[to] {
                    cost[to] = here + step.cost;
                    by[to] = (step.taken, node.gap);
                }
            });
        }
        let [made, left_out] = self.ends();
        let cheaper = cost[self.index(left_out)] < cost[self.index(made)];
        let end = if cheaper { left_out } else { made };
        Path {
            cost: cost[self.index(end)],
            pace: self.pace.factor(),
            pace_used: self.pace,
            taken: self.trace_back(end, &by),
            chances: Vec::new(),
        }
    }

    /// The steps with beads of the path that ends here, in order; `by` holds for each node the step that led to it
    /// and whether that came from a gap.
    fn trace_back(&self, end: Node, by: &[(Move, bool)]) -> Vec<Taken> {
        let mut taken = Vec::new();
        let mut node = end;
        while node != Node::default() {
            let (used, gap) = by[self.index(node)];
            let (items, welds) = match used {
                Move::LeaveOut => (0, node.welds - 1),
                Move::Extra => (1, node.welds),
                Move::Weld(count) => (usize::from(count), node.welds - 1),
                Move::Visit(count) => (usize::from(count) + 1, node.welds),
                Move::Stop(from) => (0, from),
            };
            node = Node {
                items: node.items - items,
                welds,
                gap,
            };
            let redo = matches!(used, Move::Visit(_))
                && matches!(self.reading.items[node.items], Item::Redo(_));
            self.steps(node, |step| {
                if step.taken == used && !step.beads.is_empty() {
                    taken.push(Taken {
                        weld: step.weld,
                        redo,
                        beads: step.beads,
                    });
                }
            });
        }
        taken.reverse();
        taken
    }

    /// For each item, the chance of each weld, and last that of none: forward and backward sums over all paths.
    fn chances(&self, welds: usize) -> Vec<Vec<f32>> {
        let ends = self.ends().map(|node| self.index(node));
        let mut ahead = vec![f64::NEG_INFINITY; ends[1] + 1];
        for end in ends {
            ahead[end] = 0.0;
        }
        for node in self.nodes().rev() {
            let mut sum = ahead[self.index(node)];
            self.steps(node, |step| {
                sum = add_logs(sum, ahead[self.index(step.to)] - step.cost);
            });
            ahead[self.index(node)] = sum;
        }
        let mut chances = vec![vec![0.0; welds + 1]; self.reading.items.len()];
        let mut behind = vec![f64::NEG_INFINITY; ahead.len()];
        behind[0] = 0.0;
        for node in self.nodes() {
            let here = behind[self.index(node)];
            self.steps(node, |step| {
                let to = self.index(step.to);
                behind[to] = add_logs(behind[to], here - step.cost);
                let chance = (here - step.cost + ahead[to] - ahead[0]).exp() as f32;
                for item in step.beads {
                    chances[item][step.weld.unwrap_or(welds)] += chance;
                }
            });
        }
        chances
    }
}

/// Paths less likely than this beside others (e^-40) do not change a sum.
const NEGLIGIBLE: f64 = 40.0;

/// ln(eᵃ + eᵇ).
fn add_logs(a: f64, b: f64) -> f64 {
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    if high - low > NEGLIGIBLE || low == f64::NEG_INFINITY {
        high
    } else {
        high + (low - high).exp().ln_1p()
    }
}
