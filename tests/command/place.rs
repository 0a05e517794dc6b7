//! The place of an output, and the streams a command writes to.

use std::fs;
use std::os::unix::fs::MetadataExt;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::thread::sleep;
use std::time::Duration;

use super::cutting::{edge, job};
use super::interrupt::{interrupt, start};
use super::shop::{Shop, command};

fn shop(noted: bool) -> Shop {
    Shop::new(&[
        ("job.toml", &job("4 m", "2 m", "")),
        ("edge.csv", &edge(noted)),
    ])
}

fn planksheer() -> Command {
    Command::new(assert_cmd::cargo::cargo_bin!("planksheer"))
}

/// Runs a verb into `out` and expects an exit status; what it said.
fn said(shop: &Shop, verb: &[&str], status: i32) -> String {
    let done = command()
        .current_dir(shop.path())
        .arg(verb[0])
        .args(["job.toml", "--out", "out"])
        .args(&verb[1..])
        .assert()
        .code(status);
    String::from_utf8(done.get_output().stderr.clone()).expect("text")
}

#[test]
fn every_verb_names_a_persons_files_and_moves_them_aside_if_asked() {
    let verbs: [(&str, &[&str], &str); 3] = [
        ("build", &["--quick"], "yield.txt"),
        ("fair", &[], "fairness.txt"),
        ("estimate", &["--no-variations"], "estimate.txt"),
    ];
    for (verb, more, file) in verbs {
        let shop = shop(false);
        let run = |extra: &[&str], status| said(&shop, &[&[verb], more, extra].concat(), status);
        run(&[], 0);
        let out = shop.path().join("out");
        let first = fs::read_to_string(out.join("manifest.sha256")).expect("a manifest");
        assert!(
            first.starts_with(&format!("# planksheer {verb}, manifest")),
            "{first}"
        );
        fs::write(out.join("my-costs.csv"), "precious").expect("written");
        fs::write(out.join(file), "edited").expect("written");
        let told = run(&[], 1);
        for word in ["my-costs.csv", file, "--replace", "mend:"] {
            assert!(told.contains(word), "no {word}: {told}");
        }
        assert_eq!(fs::read_to_string(out.join(file)).expect("there"), "edited");
        let told = run(&["--replace"], 0);
        assert!(told.contains("out-kept-1"), "{told}");
        let kept = shop.path().join("out-kept-1");
        assert_eq!(fs::read_to_string(kept.join(file)).expect("kept"), "edited");
        assert!(kept.join("my-costs.csv").exists() && !kept.join("manifest.sha256").exists());
        let second = fs::read_to_string(out.join("manifest.sha256")).expect("a manifest");
        assert_eq!(first, second);
        // Another command's output is not this one's to replace.
        let other = if verb == "fair" { "build" } else { "fair" };
        assert!(said(&shop, &[other, "--replace"], 1).contains(&format!("planksheer {verb}")));
    }
}

#[test]
fn what_came_into_the_place_during_a_long_nest_stays_and_the_output_is_left_beside() {
    let shop = shop(true);
    let (out, left) = (shop.path().join("out"), shop.path().join("out-new-1"));
    let built = (0..6).any(|k| {
        let mut child = start(&shop);
        sleep(Duration::from_millis(400 << k));
        fs::create_dir_all(&out).expect("made");
        fs::write(out.join("precious.txt"), "precious").expect("written");
        interrupt(&child);
        let done = child.wait().expect("it ends");
        // An interrupt before the command has begun to listen ends it.
        let built = done.code() == Some(1) && left.exists();
        assert_eq!(fs::read_dir(&out).expect("listed").count(), 1);
        if !built {
            fs::remove_dir_all(&out).expect("removed");
        }
        built
    });
    assert!(built, "a build that found its place taken");
    assert!(left.join("manifest.sha256").exists() && left.join("summary.json").exists());
}

#[cfg(target_os = "linux")]
#[test]
fn streams_that_are_closed_or_full_make_no_panic() {
    let shop = shop(false);
    let verbs: [&[&str]; 9] = [
        &["start", "new"],
        &["build", "job.toml", "--out", "out", "--quick"],
        &["fair", "job.toml"],
        &["estimate", "job.toml", "--no-variations"],
        &["completions", "bash"],
        &["manual"],
        &["--help"],
        &["--version"],
        &["build", "none.toml", "--out", "out"],
    ];
    let run = |verb: &[&str], out: Stdio, err: Stdio| -> Output {
        let _ = fs::remove_dir_all(shop.path().join("new"));
        planksheer()
            .current_dir(shop.path())
            .args(verb)
            .stdout(out)
            .stderr(err)
            .output()
            .expect("it ends")
    };
    let full = || {
        Stdio::from(
            fs::File::options()
                .write(true)
                .open("/dev/full")
                .expect("there"),
        )
    };
    let closed = || {
        let (reader, writer) = std::io::pipe().expect("a pipe");
        drop(reader);
        Stdio::from(writer)
    };
    for verb in verbs {
        let fails = verb.contains(&"none.toml");
        // A reader that went away is content, one without room is told.
        let done = run(verb, closed(), Stdio::piped());
        let said = String::from_utf8(done.stderr).expect("text");
        assert_eq!(
            done.status.code(),
            Some(i32::from(fails)),
            "{verb:?}: {said}"
        );
        assert!(fails || said.is_empty(), "{verb:?}: {said}");
        let done = run(verb, full(), Stdio::piped());
        let said = String::from_utf8(done.stderr).expect("text");
        assert_eq!(done.status.code(), Some(1), "{verb:?}: {said}");
        assert!(
            said.contains("standard output") || fails,
            "{verb:?}: {said}"
        );
        // What was made stands all the same, and is told where.
        let made = match verb[0] {
            "start" => "the starter job in new is whole; ",
            "build" if !fails => "the output in out is whole; ",
            _ => "",
        };
        assert!(said.contains(made), "{verb:?}: {said}");
        // Nobody to tell.
        for err in [full(), closed()] {
            let done = run(verb, Stdio::null(), err);
            assert_eq!(done.status.code(), Some(i32::from(fails)), "{verb:?}");
        }
    }
    assert_eq!(run(&["plane"], full(), full()).status.code(), Some(2));
}

/// Missing folders above a place, and a place that the shell stands in.
#[test]
fn the_folders_above_a_place_are_made() {
    let shop = shop(false);
    let out = Path::new("deep/er/out");
    command()
        .current_dir(shop.path())
        .args(["fair", "job.toml", "--out"])
        .arg(out)
        .assert()
        .success();
    assert!(shop.path().join(out).join("manifest.sha256").exists());
    // Below the folder the command is run from nothing is moved.
    let at = shop.path().join(out);
    let before = fs::metadata(&at).expect("there");
    command()
        .current_dir(&at)
        .args(["fair", "../../../job.toml", "--out", "."])
        .assert()
        .success();
    let after = fs::metadata(&at).expect("there");
    assert_eq!(before.ino(), after.ino());
}
