//! An order that is known from the start, laid at once: the fast way, with the answers worked out backwards.
//!
//! Only the joints that are still to be welded, and what holds the frame to the table, are carried along: the
//! compliance among them, and how each later pull of a strip moves them. When a joint has got its last weld its rows
//! are left behind as they are. They say how it moves under whatever happens later to the joints after it, so its final
//! movement, and with it every force in the frame, follows by going through the welds backwards once. The measures are
//! what these forces do to the frame of the first moment.

use super::deposit::Joining;
use super::engine::{Engine, Outcome, Shrinkage};
use super::matrix6::{self, Matrix6};
use super::update::{Update, dot, take_off};

/// Changes of stiffness are kept back until there are so many, and then go into each row together, which is kinder to
/// the processor's memory than to run through all rows after each weld.
const BATCH: usize = 4;

/// A build in a given order.
pub(super) struct Walk<'a> {
    engine: &'a Engine,
    order: &'a [usize],
    shrinkage: &'a Shrinkage,
    /// Coordinates of the engine, those needed longest first: clamps, rests, then joints.
    coordinates: Vec<usize>,
    /// Where the coordinates of each pair begin in this order.
    place: Vec<usize>,
    /// How many coordinates hold the frame to the table: they come first.
    held: usize,
    /// Compliance, lower triangle by rows of `coordinates.len()`.
    compliance: Vec<f64>,
    /// Movement of each coordinate under the strips of each piece of weld, by rows of `pieces`.
    strips: Vec<f64>,
    pieces: usize,
    /// How many coordinates a later weld or the release still needs.
    live: usize,
    /// For each piece of weld, in order, its pair and how many coordinates are still needed once it is laid.
    plan: Vec<(usize, usize)>,
    /// What each piece laid so far did.
    laid: Vec<Joining>,
    moved: Vec<f64>,
    melted: Vec<bool>,
    /// Changes of stiffness that the rows do not hold yet: the first `pending` of these.
    updates: [Update; BATCH],
    pending: usize,
    /// Working space: how the strips of a weld move each coordinate.
    pulled: Vec<f64>,
    gaps_mm: Vec<f64>,
    /// What the release put on each coordinate that holds the frame.
    let_go: Vec<f64>,
}

impl<'a> Walk<'a> {
    pub(super) fn new(engine: &'a Engine, order: &'a [usize], shrinkage: &'a Shrinkage) -> Self {
        let layout = engine.layout;
        let deposits = || order.iter().flat_map(|&weld| &engine.deposits[weld]);
        let pair_of = |seam: usize| engine.model.seams[seam].pair;
        // Without clamps nothing comes off in the end.
        let mut coordinates: Vec<usize> = if engine.held.clamps.is_empty() {
            Vec::new()
        } else {
            (layout.clamp(0, 0)..layout.measure(0)).collect()
        };
        let held = coordinates.len();
        let mut last = vec![0; engine.model.pairs.len()];
        for (at, deposit) in deposits().enumerate() {
            last[pair_of(deposit.seam)] = at + 1;
        }
        let mut pairs: Vec<usize> = (0..last.len()).filter(|&pair| last[pair] > 0).collect();
        pairs.sort_by_key(|&pair| std::cmp::Reverse(last[pair]));
        let mut place = vec![usize::MAX; last.len()];
        for &pair in &pairs {
            place[pair] = coordinates.len();
            coordinates.extend((0..6).map(|k| layout.pair(pair, k)));
        }
        let mut live = coordinates.len();
        let plan: Vec<(usize, usize)> = deposits()
            .enumerate()
            .map(|(at, deposit)| {
                let pair = pair_of(deposit.seam);
                if last[pair] == at + 1 {
                    live -= 6;
                }
                (pair, live)
            })
            .collect();
        let (size, pieces) = (coordinates.len(), plan.len());
        let pulls: Vec<(usize, [f64; 2])> = deposits()
            .map(|d| (layout.strip(d.seam, 0), shrinkage.seams[d.seam].strips_n))
            .collect();
        let mut compliance = vec![0.0; size * size];
        let mut strips = vec![0.0; size * pieces];
        for (i, &coordinate) in coordinates.iter().enumerate() {
            let first = engine.condensed.row(coordinate);
            let row = &mut compliance[i * size..=i * size + i];
            for (entry, &column) in row.iter_mut().zip(&coordinates) {
                *entry = first[column];
            }
            let row = &mut strips[i * pieces..(i + 1) * pieces];
            for (entry, &(strip, force)) in row.iter_mut().zip(&pulls) {
                *entry = force[0] * first[strip] + force[1] * first[strip + 1];
            }
        }
        Self {
            engine,
            order,
            shrinkage,
            place,
            held,
            compliance,
            strips,
            pieces,
            live: size,
            plan,
            laid: Vec::with_capacity(pieces),
            moved: vec![0.0; size],
            melted: vec![false; engine.tacks.len()],
            updates: std::array::from_fn(|_| Update::new(size, pieces)),
            pending: 0,
            pulled: vec![0.0; size],
            gaps_mm: vec![0.0; engine.welds()],
            let_go: vec![0.0; held],
            coordinates,
        }
    }

    /// Lays the whole order and lets the clamps off; `steps` asks for the measures after each weld.
    pub(super) fn outcome(mut self, steps: bool) -> Outcome {
        let mut steps_mm = Vec::new();
        for &weld in self.order {
            self.lay(weld);
            if steps {
                steps_mm.push(self.measures_mm());
            }
        }
        let clamped_mm = self.measures_mm();
        let clamp_forces_n = self.release();
        let released_mm = if self.let_go.iter().all(|&force| force == 0.0) {
            clamped_mm.clone()
        } else {
            self.measures_mm()
        };
        Outcome {
            released_mm,
            clamped_mm,
            clamp_forces_n,
            gaps_mm: self.gaps_mm,
            steps_mm,
        }
    }

    /// Lays the next weld of the order.
    pub(super) fn lay(&mut self, weld: usize) {
        let engine = self.engine;
        let mut gap: f64 = 0.0;
        for (k, deposit) in engine.deposits[weld].iter().enumerate() {
            let (pair, live_after) = self.plan[self.laid.len()];
            let at = self.place[pair];
            let before = std::array::from_fn(|k| self.moved[at + k]);
            if k == 0 {
                gap = engine.deposits[weld]
                    .iter()
                    .map(|piece| self.opening(piece))
                    .max_by(|a, b| a.abs().total_cmp(&b.abs()))
                    .unwrap_or(0.0);
            }
            let mut joining = deposit.join(before, &engine.tacks, &mut self.melted);
            let (own, inner) = self.stiffen(at, &joining.change);
            let shrinks = &self.shrinkage.seams[deposit.seam];
            let compliance = minus(&own, &matrix6::times(&matrix6::times(&own, &inner), &own));
            deposit.cool(shrinks, &compliance, &mut joining);
            self.push(&own, &inner, &joining.force);
            self.laid.push(joining);
            if live_after < self.live {
                self.bring_up_to_date(live_after..self.live);
                self.live = live_after;
            }
            if self.pending == BATCH {
                self.bring_up_to_date(0..self.live);
                self.pending = 0;
            }
        }
        self.gaps_mm[weld] = gap;
    }

    fn opening(&self, piece: &super::deposit::Deposit) -> f64 {
        let at = self.place[self.engine.model.seams[piece.seam].pair];
        piece
            .across
            .read(&std::array::from_fn(|k| self.moved[at + k]))
    }

    /// Changes the stiffness of the pair that stands at `at`. Returns its own compliance before, S, and
    /// M = K (1 + S K)⁻¹ by which G becomes G − C M Cᵀ (see [`super::condensed`]).
    fn stiffen(&mut self, at: usize, change: &Matrix6) -> (Matrix6, Matrix6) {
        self.gather(at);
        let live = self.live;
        let update = &mut self.updates[self.pending];
        self.pending += 1;
        let own: Matrix6 =
            std::array::from_fn(|i| std::array::from_fn(|j| update.columns[j][at + i]));
        let inner = matrix6::times(
            change,
            &matrix6::inverse(&matrix6::plus_one(&matrix6::times(&own, change))),
        );
        for (k, weights) in update.weights.iter_mut().enumerate() {
            let weights = &mut weights[..live];
            weights.fill(0.0);
            take_off(weights, &inner.map(|row| -row[k]), &update.columns, 0);
        }
        (own, inner)
    }

    /// Copies the six columns of a pair and its rows of strips, as far as they are still needed, with all changes that
    /// are pending.
    fn gather(&mut self, at: usize) {
        let (size, live, pieces) = (self.coordinates.len(), self.live, self.pieces);
        let (before, rest) = self.updates.split_at_mut(self.pending);
        let [update, ..] = rest else { return };
        for (k, column) in update.columns.iter_mut().enumerate() {
            let row = (at + k) * size;
            column[..=at + k].copy_from_slice(&self.compliance[row..=row + at + k]);
        }
        for i in at + 1..live {
            let row = &self.compliance[i * size + at..=i * size + i];
            for (column, entry) in update.columns.iter_mut().zip(row) {
                column[i] = *entry;
            }
        }
        let next = self.laid.len();
        for (k, strips) in update.strips.iter_mut().enumerate() {
            let row = (at + k) * pieces;
            strips[next..].copy_from_slice(&self.strips[row + next..row + pieces]);
        }
        for earlier in before {
            for k in 0..6 {
                let own = std::array::from_fn(|a| earlier.columns[a][at + k]);
                take_off(&mut update.columns[k][..live], &own, &earlier.weights, 0);
                let own = std::array::from_fn(|a| earlier.weights[a][at + k]);
                take_off(&mut update.strips[k][next..], &own, &earlier.strips, next);
            }
        }
    }

    /// Puts all pending changes into some rows.
    fn bring_up_to_date(&mut self, rows: std::ops::Range<usize>) {
        let (size, pieces, next) = (self.coordinates.len(), self.pieces, self.laid.len());
        for i in rows {
            let row = &mut self.compliance[i * size..=i * size + i];
            let strips = &mut self.strips[i * pieces + next..(i + 1) * pieces];
            for update in &self.updates[..self.pending] {
                let weights = std::array::from_fn(|k| update.weights[k][i]);
                take_off(row, &weights, &update.columns, 0);
                take_off(strips, &weights, &update.strips, next);
            }
        }
    }

    /// Pushes on the pair that was stiffened last, and lets the strips of the weld pull. The pair's columns as they are
    /// now are C (1 − M S).
    fn push(&mut self, own: &Matrix6, inner: &Matrix6, force: &[f64; 6]) {
        let (live, piece) = (self.live, self.laid.len());
        let stiffer = matrix6::times(inner, own);
        // Taken off with the other sign: pushed.
        let pushed: [f64; 6] = std::array::from_fn(|i| dot(&stiffer[i], force) - force[i]);
        let pulled = &mut self.pulled[..live];
        for (i, pulled) in pulled.iter_mut().enumerate() {
            *pulled = self.strips[i * self.pieces + piece];
        }
        let updates = &self.updates[..self.pending];
        for update in updates {
            let strips = std::array::from_fn(|k| update.strips[k][piece]);
            take_off(pulled, &strips, &update.weights, 0);
        }
        if let Some(last) = updates.last() {
            take_off(pulled, &pushed, &last.columns, 0);
        }
        for (moved, pulled) in self.moved.iter_mut().zip(pulled) {
            *moved += *pulled;
        }
    }

    /// Takes the clamps off and returns the forces they held.
    pub(super) fn release(&mut self) -> Vec<[f64; 3]> {
        self.bring_up_to_date(0..self.held);
        self.pending = 0;
        let held = &self.engine.held;
        let clamps = held.clamps.len();
        let forces: Vec<f64> = held
            .clamps
            .iter()
            .zip(&self.moved)
            .map(|(tie, moved)| -tie.stiffness * moved)
            .collect();
        let rested: Vec<f64> = self.moved[clamps..self.held].to_vec();
        if clamps > 0 && !held.lies_on_rests {
            for (k, tie) in held.rests.iter().enumerate() {
                self.add_spring(clamps + k, tie.stiffness);
            }
        }
        for (c, tie) in held.clamps.iter().enumerate() {
            let force = tie.stiffness * self.moved[c];
            self.add_spring(c, -tie.stiffness);
            for i in 0..self.held {
                self.moved[i] += force * self.entry(i, c);
            }
        }
        for (c, tie) in held.clamps.iter().enumerate() {
            self.let_go[c] = tie.stiffness * self.moved[c];
        }
        if clamps > 0 && !held.lies_on_rests {
            for (k, tie) in held.rests.iter().enumerate() {
                self.let_go[clamps + k] = -tie.stiffness * (self.moved[clamps + k] - rested[k]);
            }
        }
        forces.chunks_exact(3).map(|f| [f[0], f[1], f[2]]).collect()
    }

    fn entry(&self, i: usize, j: usize) -> f64 {
        self.compliance[i.max(j) * self.coordinates.len() + i.min(j)]
    }

    /// A spring on one of the coordinates that hold the frame, without force as things stand (Sherman and Morrison).
    fn add_spring(&mut self, at: usize, stiffness: f64) {
        let column: Vec<f64> = (0..self.held).map(|i| self.entry(i, at)).collect();
        let pivot = 1.0 / stiffness + column[at];
        for i in 0..self.held {
            let row = i * self.coordinates.len();
            for j in 0..=i {
                self.compliance[row + j] -= column[i] * column[j] / pivot;
            }
        }
    }

    /// What welds, tacks that melted, strips and the release push on the frame of the first moment, by coordinate of
    /// the engine.
    pub(super) fn pushes(&self) -> Vec<f64> {
        let size = self.coordinates.len();
        // What has been put on each coordinate since the moment that is being looked at.
        let mut since = vec![0.0; size];
        since[..self.held].copy_from_slice(&self.let_go);
        let mut ends = self.moved.clone();
        for (piece, joining) in self.laid.iter().enumerate().rev() {
            let (pair, live_after) = self.plan[piece];
            let at = self.place[pair];
            if at >= live_after {
                // The last weld of this pair: its rows were left as they were then.
                for (i, end) in ends.iter_mut().enumerate().skip(at).take(6) {
                    let later = &self.strips[i * self.pieces..][piece + 1..self.laid.len()];
                    let after = &self.compliance[i * size..i * size + at];
                    *end += later.iter().sum::<f64>() + dot(after, &since[..at]);
                }
            }
            let at_zero = joining.at_zero();
            for (k, row) in joining.change.iter().enumerate() {
                since[at + k] += at_zero[k] - dot(row, &ends[at..at + 6]);
            }
        }
        self.spread(&since)
    }

    fn spread(&self, on_live: &[f64]) -> Vec<f64> {
        let layout = self.engine.layout;
        let mut pushes = vec![0.0; layout.size()];
        for (&coordinate, &push) in self.coordinates.iter().zip(on_live) {
            pushes[coordinate] = push;
        }
        let deposits = self
            .order
            .iter()
            .flat_map(|&weld| &self.engine.deposits[weld]);
        for deposit in deposits.take(self.laid.len()) {
            for (k, &force) in self.shrinkage.seams[deposit.seam]
                .strips_n
                .iter()
                .enumerate()
            {
                pushes[layout.strip(deposit.seam, k)] += force;
            }
        }
        pushes
    }

    fn measures_mm(&self) -> Vec<f64> {
        let layout = self.engine.layout;
        let pushes = self.pushes();
        (0..self.engine.measures.len())
            .map(|m| {
                let row = self.engine.condensed.row(layout.measure(m));
                dot(&row[..layout.measure(0)], &pushes)
            })
            .collect()
    }
}

fn minus(a: &Matrix6, b: &Matrix6) -> Matrix6 {
    std::array::from_fn(|i| std::array::from_fn(|j| a[i][j] - b[i][j]))
}
