//! The main job end to end, and the checks against published evidence: one binary, one link.

/// Checks against published values, one file a subject.
mod evidence {
    mod beam_solver;
    mod beam_solver_frames;
    mod bending;
    mod consumables;
    mod cooling;
    mod distortion;
    mod duty_cycle;
    mod heat_input;
    mod interpass;
    mod joints;
    mod layout;
    mod learn;
    mod measured_experiments;
    mod opening;
    mod preheat;
    mod pressed_frame;
    mod published_shrinkage;
    mod sampling;
    mod sections;
    mod shrinkage_rules;
    mod spacers;
    mod starting_points;
    mod straightening;
    mod uncertainty;
}

/// Other people's solvers, run live.
mod reference;

/// Laws that hold whatever the input is.
mod laws {
    mod arc;
    mod energy;
    mod measured_file;
    mod opening_file;
    mod sequence;
    mod sequence_judge;
    mod sequence_replan;
}

/// The main job, from volts and amps to map and order.
mod main_job {
    mod big_logs;
    mod build_record;
    mod calibrate_command;
    mod card;
    mod card_pulled_out;
    mod card_shop;
    mod card_trouble;
    mod check_page;
    mod clear_store;
    mod correct_command;
    mod correct_structural;
    mod cost;
    mod each_cell;
    mod examples;
    mod faults;
    mod fixture_command;
    mod hostile_names;
    #[cfg(unix)]
    mod inputs_kept;
    mod inspection;
    mod job_file;
    mod kept_columns;
    mod learn_command;
    mod line_drawings;
    mod link;
    mod link_commands;
    mod link_undisturbed;
    mod log_holes;
    mod logger_notices;
    mod map;
    mod map_command;
    mod map_matching;
    mod map_verdict;
    mod measure_command;
    mod metal_questions;
    mod one_measure;
    mod opening;
    mod page_colours;
    mod pages;
    mod plan_command;
    mod predict;
    mod predicted_and_measured;
    mod procedure_files;
    mod recalibrate;
    #[cfg(feature = "formats")]
    mod recording_formats;
    mod recordings;
    mod saw_command;
    mod seal;
    mod sealed_journal;
    #[cfg(unix)]
    mod serial_line;
    mod simulated_builds;
    mod standing_object;
    mod strange_loggers;
    mod tape_to_wall;
    mod told_process;
}

/// Bytes of released log formats: what was written once is read for ever.
mod logs {
    mod documented;
    mod golden;
}

/// What a log loses when power fails or a byte goes bad.
mod power {
    mod damage;
}
