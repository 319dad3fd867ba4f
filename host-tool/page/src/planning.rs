//! Plans, and the rest of a build planned anew.

use crate::frame::sound;
use crate::json::{Refused, as_json};
use crate::progress;
use crate::request::Planning;
use coldsquare_engine::page::{movement_of, plan_part};
use coldsquare_engine::plan::Options;
use coldsquare_engine::plan::frame_model::plan_on_frame_model;
use coldsquare_engine::plan::further_measures::further_measures;
use coldsquare_engine::plan::order::Effort;
use coldsquare_engine::plan::parallel::Serial;
use coldsquare_engine::plan::rest::with_done;
use serde_json::{Value, json};

/// Orders tried for an effort of 1, as for the command.
const TRIALS_PER_EFFORT: u64 = 20_000;

/// The plan as data and as a part of the page.
pub(crate) fn plan(planning: &Planning) -> Result<Value, Refused> {
    let job = with_done(&sound(&planning.text)?, &planning.done);
    let options = Options {
        effort: Effort {
            trials: planning.effort.clamp(1, 1000) * TRIALS_PER_EFFORT,
            seed: planning.seed,
        },
        ..Options::default()
    };
    let mut plan = plan_on_frame_model(&job, &options, &Serial, &mut |progress| {
        progress::report(progress.trials)
    })
    .map_err(|error| error.to_string())?;
    if planning.further && !plan.stopped_early {
        plan.further_measures = further_measures(&job, &plan);
    }
    let movement = movement_of(&job, &plan);
    Ok(json!({
        "part": as_json(&plan_part(&job, &plan, movement.as_deref()))?,
        "plan": as_json(&plan)?,
        "order": plan.order(),
    }))
}
