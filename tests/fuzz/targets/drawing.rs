//! A drawing or a table of nodes and members, read and made into a job file.
#![no_main]
use coldsquare_engine::job;
use coldsquare_engine::line_drawing::{Wanted, import, read};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    for name in ["frame.dxf", "frame.csv"] {
        let Ok(drawing) = read(name, bytes) else { continue };
        let wanted = Wanted { section: Some("SHS 20x20x2"), ..Wanted::default() };
        if let Ok(imported) = import(&drawing, &wanted) {
            let _ = job::from_text("frame.toml", &imported.job_file);
        }
    }
});
