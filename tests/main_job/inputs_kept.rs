//! What a command reads it never writes over, forced or not, and whatever name the file is given by.

use coldsquare_tests::command::coldsquare;
use std::path::Path;

const JOB: &str = "name = \"Frame\"\nprocedure = \"mag.toml\"\nshop_factors = \"shop.toml\"\n[frame]\nwidth = 800\n\
    height = 600\nsection = \"SHS 40x40x3\"\n[opening]\nreadings = \"gap.opening.toml\"\nclearance = 2\n";
const PROCEDURE: &str = "[procedure]\nname = \"mag\"\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\n\
    travel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n";
const READINGS: &str = "[front]\nwidths = [[50, 806], [550, 806]]\nheights = [[50, 607], [750, 607]]\n\
    left_wall = [[50, 550, \"0.5 right\"]]\nfloor = [[50, 750, \"0.5 up\"]]\n";

fn put(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).expect("written");
    path.display().to_string()
}

#[test]
fn no_file_that_a_job_brings_along_is_written_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let job = put(at, "frame.toml", JOB);
    let procedure = put(
        at,
        "mag.toml",
        PROCEDURE.replacen("[procedure]\n", "", 1).as_str(),
    );
    let shop = at.join("shop.toml").display().to_string();
    let readings = put(at, "gap.opening.toml", READINGS);
    let noted = coldsquare(["traveller", &job, "--spent", "weld = 30 min"]);
    assert_eq!(noted.code, 0, "{}", noted.err);
    let before: Vec<Vec<u8>> = [&job, &procedure, &shop, &readings]
        .map(|path| std::fs::read(path).expect("a file"))
        .to_vec();
    for input in [&job, &procedure, &shop, &readings] {
        // A link to the input is the input; its ending lets every command write to it.
        for ending in ["svg", "html", "dxf", "json"] {
            let link = at.join(format!("link.{ending}"));
            let _ = std::fs::remove_file(&link);
            std::os::unix::fs::symlink(input, &link).expect("a link");
            let out = link.display().to_string();
            let commands: &[&[&str]] = match ending {
                "svg" => &[
                    &["check", &job],
                    &["fixture", &job],
                    &["plan", &job, "--seconds", "1"],
                    &["fit", &job],
                ],
                "html" => &[
                    &["check", &job],
                    &["saw", &job],
                    &["fixture", &job],
                    &["traveller", &job],
                ],
                "dxf" => &[&["export", &job]],
                _ => &[&["plan", &job, "--seconds", "1", "--json"]],
            };
            for words in commands {
                let words = words.iter().copied().chain(["--out", &out, "--force"]);
                let ran = coldsquare(words.collect::<Vec<_>>());
                assert_ne!(ran.code, 0, "{ending} {input}: {}", ran.out);
            }
        }
    }
    let after: Vec<Vec<u8>> = [&job, &procedure, &shop, &readings]
        .map(|path| std::fs::read(path).expect("a file"))
        .to_vec();
    assert_eq!(before, after);
}
