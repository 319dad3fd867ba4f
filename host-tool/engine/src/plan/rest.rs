//! Planning the rest of a build that has begun otherwise than planned.

use crate::job::model::Job;

/// The job with the welds in `done` (numbers, in the order welded) finished before any other: a plan of it begins with
/// them and plans the rest anew. Numbers that the job does not have, and repeats, are left out.
#[must_use]
pub fn with_done(job: &Job, done: &[u16]) -> Job {
    let mut job = job.clone();
    let mut order: Vec<u16> = Vec::new();
    for number in done {
        let known = (1..=job.welds.len()).contains(&usize::from(*number));
        if known && !order.contains(number) {
            order.push(*number);
        }
    }
    // What is done no longer waits for anything but the weld done before it.
    for (place, number) in order.iter().enumerate() {
        let before = place.checked_sub(1).map(|place| order[place]);
        job.welds[usize::from(*number) - 1].after = before.into_iter().collect();
    }
    let Some(&last) = order.last() else {
        return job;
    };
    for weld in &mut job.welds {
        if !order.contains(&weld.number) && !weld.after.contains(&last) {
            weld.after.push(last);
        }
    }
    // A clamp that should have been on or off for a weld that is done can no longer be.
    for clamp in &mut job.clamps {
        clamp
            .release_before
            .retain(|number| !order.contains(number));
        clamp.release_after.retain(|number| !order.contains(number));
    }
    job
}

#[cfg(test)]
mod tests {
    use super::with_done;
    use crate::plan::order::Effort;
    use crate::plan::{Options, plan};

    #[test]
    fn a_new_plan_begins_with_the_welds_that_are_done_in_the_order_they_were_done() {
        let job = crate::job::from_text("gate.toml", crate::example::GARDEN_GATE).expect("a job");
        let done = [30, 7, 7, 41, 999];
        let options = Options {
            effort: Effort {
                trials: 2000,
                seed: 1,
            },
            ..Options::default()
        };
        let plan = plan(&with_done(&job, &done), &options, &mut |_| true).expect("a plan");
        let order = plan.order();
        assert_eq!(order[..3], [30, 7, 41]);
        assert_eq!(order.len(), job.welds.len());
    }
}
