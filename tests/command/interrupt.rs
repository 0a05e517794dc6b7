//! A build that the person interrupts keeps the best nest found.

use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use super::cutting::{edge, job};
use super::shop::{Built, Shop};

/// A build whose nest takes half a minute and more.
pub(crate) fn start(shop: &Shop) -> Child {
    Command::new(assert_cmd::cargo::cargo_bin!("planksheer"))
        .arg("build")
        .arg(shop.path().join("job.toml"))
        .args(["--effort", "long", "--out"])
        .arg(shop.path().join("out"))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the command starts")
}

pub(crate) fn interrupt(child: &Child) {
    let sent = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .expect("kill is there");
    assert!(sent.success());
}

#[test]
fn an_interrupt_keeps_the_best_nest_found() {
    let job = job("4 m", "2 m", "");
    let shop = Shop::new(&[("job.toml", &job), ("edge.csv", &edge(true))]);
    // An interrupt before the command has begun to listen ends it: the next
    // try waits longer.
    let built = (0..6).find_map(|k| {
        let mut child = start(&shop);
        sleep(Duration::from_millis(400 << k));
        interrupt(&child);
        let status = child.wait().expect("it ends");
        status
            .success()
            .then(|| Built::read(&shop.path().join("out")))
    });
    let built = built.expect("a build that was interrupted and ended well");
    let warnings = built.summary["warnings"].to_string();
    assert!(warnings.contains("stopped before"), "{warnings}");
    let parts = built.summary["parts"].as_array().expect("parts");
    assert!(parts.iter().all(|p| p["sheet"].is_string()));
}
