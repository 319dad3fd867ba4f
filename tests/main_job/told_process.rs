//! A logger finds the arcs of the process that it was told: small TIG currents too.

use super::link::{framed, records};
use coldsquare_core::link::{Receiver, Refusal, Reply, Request};
use coldsquare_core::process::Process;
use coldsquare_core::record::{Header, Record};
use coldsquare_firmware::sim::{
    Build, ComputerEnd, Connected, SimulatedBead, Transfer, cable, log_build,
};
use coldsquare_tests::command::coldsquare;

const TIG: Request = Request::Process(Some(Process::Tig));

/// Thin tube by TIG, 12 A, in front of a logger that looks for arcs as MIG and MAG have them.
fn thin_tube() -> Build {
    let bead = SimulatedBead {
        pause_s: 5.0,
        ..SimulatedBead::new(Transfer::TigDirect, 10.0, 12.0, 4.0)
    };
    Build::new("thin tube", Process::MagSolid, 2000.0, vec![bead; 3])
}

/// Answers that came by now.
fn answers(cable: &ComputerEnd) -> Vec<Reply> {
    let mut receiver = Receiver::new();
    let bytes = cable.receive(usize::MAX);
    let replies = bytes.into_iter().filter_map(|byte| receiver.take(byte));
    replies.filter_map(|(_, reply)| reply.ok()).collect()
}

fn beads(log: &[u8]) -> usize {
    let is_bead = |record: &&Record| matches!(record, Record::Bead(_));
    records(log).iter().filter(is_bead).count()
}

fn last_header(log: &[u8]) -> Header {
    let mut headers = records(log)
        .into_iter()
        .rev()
        .filter_map(|record| match record {
            Record::Header(header) => Some(header),
            _ => None,
        });
    headers.next().expect("a header")
}

#[test]
fn small_tig_currents_are_found_once_the_logger_was_told() {
    let untold = log_build(&thin_tube(), 1).expect("usable").0;
    assert_eq!(beads(&untold), 0);

    let (end, cable) = cable(1000);
    let mut logger = Connected::start(&thin_tube(), 1, end).expect("usable");
    logger.turns(1000);
    cable.send(&framed(1, &Request::Process(None)));
    // Asked twice, as after a lost answer: once is enough for the log.
    cable.send(&framed(2, &TIG));
    cable.send(&framed(3, &TIG));
    logger.turns(3000);
    assert_eq!(
        answers(&cable),
        [
            Reply::Process(Some(Process::MagSolid)),
            Reply::Process(Some(Process::Tig)),
            Reply::Process(Some(Process::Tig)),
        ]
    );
    logger.weld_all();
    let told = logger.finish();
    assert_eq!(beads(&told), 3);
    let header = last_header(&told);
    assert_eq!(header.process, Some(Process::Tig));
    // 5 A, within a count.
    let striking = f64::from(header.arc.striking) * header.calibration.current.gain_per_count.abs();
    assert!((4.9..5.1).contains(&striking), "{striking}");
    let headers = |log: &[u8]| {
        let is_header = |record: &&Record| matches!(record, Record::Header(_));
        records(log).iter().filter(is_header).count()
    };
    assert_eq!(headers(&told), headers(&untold) + 1);
}

#[test]
fn a_clamp_too_coarse_for_small_currents_is_told_and_nothing_changes() {
    let mut build = thin_tube();
    // A clamp for a crane's motor: 5 A and 3 A are the same count.
    build.converter.calibration.current.gain_per_count = 8.0;
    let (end, cable) = cable(1000);
    let mut logger = Connected::start(&build, 1, end).expect("20 A and 10 A are not");
    cable.send(&framed(1, &TIG));
    logger.turns(1000);
    assert_eq!(answers(&cable), [Reply::Refused(Refusal::TooCoarse)]);
    logger.weld_all();
    assert_eq!(logger.finish(), log_build(&build, 1).expect("usable").0);
}

#[test]
fn no_bead_ends_by_other_rules_than_it_began() {
    let bead = SimulatedBead::new(Transfer::Pulsed { pulses_hz: 100.0 }, 24.0, 150.0, 4.0);
    let build = Build::new("thick tube", Process::MagSolid, 2000.0, vec![bead; 2]);
    let (end, cable) = cable(1000);
    let mut logger = Connected::start(&build, 1, end).expect("usable");
    // The first bead burns from 2 s to 6 s.
    logger.turns(8000);
    cable.send(&framed(1, &TIG));
    logger.turns(200);
    assert_eq!(answers(&cable), [Reply::Refused(Refusal::ArcBurns)]);
    logger.weld_all();
    assert_eq!(logger.finish(), log_build(&build, 1).expect("usable").0);
}

#[test]
fn a_process_is_told_by_its_name_and_a_plan_for_another_one_is_noticed() {
    let told = coldsquare(["send", "sim:", "--process", "tig"]);
    assert_eq!(
        (told.code, told.out.as_str(), told.err.as_str()),
        (
            0,
            "Process set to TIG (141); the logger keeps it when switched off.\n",
            ""
        )
    );
    let json = coldsquare(["send", "sim:", "--process", "141", "--json"]);
    assert_eq!(json.out, "{\"process\":141}\n");
    assert_eq!(coldsquare(["send", "sim:", "--process", "glue"]).code, 2);

    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("gate.toml");
    std::fs::write(&job, coldsquare_engine::example::GARDEN_GATE).expect("written");
    let job = job.to_str().expect("text");
    let welds = coldsquare_engine::job::load(&coldsquare::disk::Disk, job.as_ref())
        .expect("a job")
        .welds
        .len();
    let plan: Vec<String> = (1..=welds.min(64)).map(|weld| weld.to_string()).collect();
    let plan = plan.join(",");
    let send = |process: &str| {
        coldsquare([
            "send",
            "sim:",
            "--process",
            process,
            "--plan",
            &plan,
            "--job",
            job,
        ])
    };
    assert_eq!(send("mag").err, "");
    assert_eq!(
        send("tig").err,
        "The logger is set to TIG (141), but this job is welded by MAG, solid wire (135). Set the process, or beads may \
         be missed or invented: `coldsquare send sim: --process 135`\n"
    );
}
