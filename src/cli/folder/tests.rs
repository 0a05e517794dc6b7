use std::thread;

use super::remains::TOLD;
use super::*;

/// What another does to a place.
type Change = fn(&Path);

fn files(text: &str) -> Files {
    let of = |(name, text): (&str, &str)| (name.to_owned(), text.as_bytes().to_vec());
    Files::from(
        [
            ("summary.json", text),
            ("parts/a.dxf", "x"),
            ("parts/b/c.svg", "y"),
        ]
        .map(of),
    )
}

fn open(dir: &Path, replace: bool) -> Result<Out, Fault> {
    Out::open(dir, "build", &[], replace)
}

fn write(dir: &Path, text: &str) {
    open(dir, false)
        .expect("a place")
        .write(&files(text))
        .expect("written");
}

/// All that lies in a folder, by name; folders are empty.
fn held(dir: &Path) -> Files {
    let mut out = Files::new();
    let mut left = vec![dir.to_path_buf()];
    while let Some(at) = left.pop() {
        for entry in fs::read_dir(at).expect("listed") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                left.push(path);
            } else {
                let name = path.strip_prefix(dir).expect("below").display().to_string();
                out.insert(name, fs::read(path).expect("bytes"));
            }
        }
    }
    out
}

/// The place holds these files with their manifest, and nothing else is there
/// or beside it but what is named.
fn stands(dir: &Path, text: &str, beside: &[&str]) {
    let mut found = held(dir);
    let manifest = found.remove(manifest::NAME).expect("a manifest");
    assert_eq!(
        manifest,
        Manifest::of("build", &files(text)).text().into_bytes()
    );
    assert_eq!(found, files(text));
    let above = fs::read_dir(dir.parent().expect("a parent")).expect("listed");
    let mut names: Vec<_> = above.map(|e| e.expect("an entry").file_name()).collect();
    names.retain(|n| Some(n.as_os_str()) != dir.file_name());
    names.sort();
    assert_eq!(names, beside);
}

fn top() -> (tempfile::TempDir, PathBuf) {
    let top = tempfile::tempdir().expect("a temporary folder");
    let dir = fs::canonicalize(top.path()).expect("there").join("out");
    (top, dir)
}

/// The example of FIPS 180-2, appendix B.1.
#[test]
fn a_manifest_is_a_list_of_published_checksums() {
    let files = Files::from([("abc.txt".to_owned(), b"abc".to_vec())]);
    let text = Manifest::of("fair", &files).text();
    let line = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  abc.txt";
    assert_eq!(text.lines().nth(1), Some(line));
    assert!(
        text.starts_with("# planksheer fair, manifest version 1;"),
        "{text}"
    );
    let top = tempfile::tempdir().expect("a temporary folder");
    let path = top.path().join(manifest::NAME);
    assert_eq!(Manifest::read(&path).expect("read"), None);
    // What leads out of the folder names nothing of it.
    let out = format!(
        "{text}{}\n{}\n",
        line.replace("abc.txt", "../a"),
        line.replace("abc.txt", "/a")
    );
    fs::write(&path, out).expect("written");
    let read = Manifest::read(&path).expect("read").expect("a manifest");
    assert_eq!(read, Manifest::of("fair", &files));
}

#[test]
fn a_new_output_replaces_the_old_one_in_whole() {
    let (_top, dir) = top();
    let mut more = files("1");
    more.insert("parts/stale.dxf".to_owned(), b"old".to_vec());
    more.insert("gone/stale.dxf".to_owned(), b"old".to_vec());
    open(&dir, false)
        .expect("a place")
        .write(&more)
        .expect("written");
    // What a person removed is not missed.
    fs::remove_file(dir.join("parts/a.dxf")).expect("removed");
    write(&dir, "2");
    stands(&dir, "2", &[]);
}

#[test]
fn files_of_a_person_are_refused_by_name_and_moved_aside_if_asked() {
    let (_top, dir) = top();
    write(&dir, "1");
    fs::write(dir.join("parts/mine.dxf"), "precious").expect("written");
    fs::write(dir.join("parts/b/c.svg"), "edited").expect("written");
    fs::create_dir(dir.join("notes")).expect("made");
    for k in 0..TOLD {
        fs::write(dir.join(format!("note{k}.txt")), "precious").expect("written");
    }
    let before = held(&dir);
    let told = open(&dir, false).expect_err("refused").to_string();
    for word in [
        "note0.txt",
        "2 more",
        "changed since: parts/b/c.svg",
        "--replace",
        "another folder",
    ] {
        assert!(told.contains(word), "no {word}: {told}");
    }
    assert_eq!(held(&dir), before);
    let out = open(&dir, true).expect("a place");
    assert_eq!(held(&dir), before, "nothing moves before the work is done");
    out.write(&files("2")).expect("written");
    stands(&dir, "2", &["out-kept-1"]);
    let kept = held(&dir.with_file_name("out-kept-1"));
    assert_eq!(kept.len(), 2 + TOLD);
    assert_eq!(kept["parts/mine.dxf"], b"precious");
    assert_eq!(kept["parts/b/c.svg"], b"edited");
    assert!(dir.with_file_name("out-kept-1").join("notes").is_dir());
}

#[cfg(unix)]
#[test]
fn what_a_link_in_an_output_leads_to_is_never_removed() {
    let (top, dir) = top();
    write(&dir, "1");
    // The same bytes elsewhere, in the place of a folder of ours.
    let other = top.path().join("other");
    fs::rename(dir.join("parts"), &other).expect("moved");
    std::os::unix::fs::symlink(&other, dir.join("parts")).expect("linked");
    assert!(
        open(&dir, false)
            .expect_err("refused")
            .what
            .contains("parts")
    );
    open(&dir, true)
        .expect("a place")
        .write(&files("2"))
        .expect("written");
    stands(&dir, "2", &["other", "out-kept-1"]);
    assert_eq!(held(&other).len(), 2);
}

#[test]
fn a_folder_of_something_else_is_refused_with_replace_as_well() {
    let (top, dir) = top();
    fs::write(top.path().join("thesis.txt"), "precious").expect("written");
    let refused = |dir: &Path, word: &str| {
        let told = open(dir, true).expect_err("refused").to_string();
        assert!(told.contains(word), "{told}");
    };
    refused(top.path(), "not an earlier output");
    fs::remove_file(top.path().join("thesis.txt")).expect("removed");
    Out::open(&dir, "fair", &[], false)
        .expect("a place")
        .write(&files("1"))
        .expect("written");
    refused(&dir, "planksheer fair");
    // One of before there was a manifest.
    fs::remove_file(dir.join(manifest::NAME)).expect("removed");
    refused(&dir, "holds no manifest.sha256");
    refused(&dir.join("summary.json"), "not a directory");
}

#[test]
fn a_folder_that_holds_an_input_is_refused() {
    let (top, dir) = top();
    write(&dir, "1");
    let input = |path: PathBuf| Out::open(&dir, "build", &[path], true).map(drop);
    let told = input(dir.join("parts/a.dxf")).expect_err("refused").what;
    assert!(told.contains("a.dxf"), "{told}");
    input(top.path().join("job.toml")).expect("elsewhere");
}

#[cfg(unix)]
#[test]
fn what_a_link_leads_to_is_replaced() {
    let (top, dir) = top();
    write(&dir, "1");
    let link = top.path().join("link");
    std::os::unix::fs::symlink(&dir, &link).expect("linked");
    write(&link, "2");
    assert!(link.is_symlink());
    stands(&dir, "2", &["link"]);
    fs::remove_dir_all(&dir).expect("removed");
    assert!(
        open(&link, false)
            .expect_err("refused")
            .what
            .contains("leads nowhere")
    );
}

#[test]
fn missing_folders_above_are_made_and_taken_away_with_a_failed_run() {
    let (top, dir) = top();
    let deep = dir.join("no/such");
    drop(open(&deep, false).expect("a place"));
    assert!(!dir.exists());
    write(&deep, "1");
    stands(&deep, "1", &[]);
    drop(top);
}

#[test]
fn a_place_that_changed_during_the_work_is_kept_and_the_output_left_beside() {
    let (_top, dir) = top();
    let changes: [(&str, Change); 3] = [
        ("precious.txt", |dir| {
            fs::create_dir(dir).expect("made");
            fs::write(dir.join("precious.txt"), "precious").expect("written");
        }),
        ("not a directory", |dir| {
            fs::write(dir, "precious").expect("written")
        }),
        ("mine.txt", |dir| {
            write(dir, "1");
            fs::write(dir.join("mine.txt"), "precious").expect("written");
        }),
    ];
    for (k, (word, change)) in changes.into_iter().enumerate() {
        let out = open(&dir, false).expect("a place");
        change(&dir);
        let before = dir.is_dir().then(|| held(&dir));
        let told = out.write(&files("2")).expect_err("refused").to_string();
        let left = dir.with_file_name(format!("out-new-{}", k + 1));
        assert!(told.contains(left.to_str().expect("text")), "{told}");
        assert!(
            told.contains(word) || k == 0 && told.contains("not an earlier"),
            "{told}"
        );
        assert_eq!(held(&left).len(), 4);
        match before {
            Some(before) => {
                assert_eq!(held(&dir), before);
                fs::remove_dir_all(&dir).expect("removed");
            }
            None => fs::remove_file(&dir).expect("removed"),
        }
    }
    // What was left is an output like any other.
    let left = dir.with_file_name("out-new-2");
    write(&left, "3");
    stands(&left, "3", &["out-new-1", "out-new-3"]);
}

/// A stand-in for a file system that cannot exchange two folders.
fn no_exchange(_: &Path, _: &Path) -> io::Result<()> {
    Err(ErrorKind::InvalidInput.into())
}

#[test]
fn without_an_exchange_the_new_output_comes_in_by_two_renames() {
    let (_top, dir) = top();
    for text in ["1", "2"] {
        let mut out = open(&dir, false).expect("a place");
        out.exchange = no_exchange;
        out.write(&files(text)).expect("written");
        stands(&dir, text, &[]);
    }
    fs::write(dir.join("mine.txt"), "precious").expect("written");
    let mut out = open(&dir, true).expect("a place");
    out.exchange = no_exchange;
    out.write(&files("3")).expect("written");
    stands(&dir, "3", &["out-kept-1"]);
}

/// A finished folder where a run has it before it comes into its place.
fn finished(yard: &Yard, text: &str) -> PathBuf {
    fs::write(yard.lock(), "").expect("written");
    let at = yard.staging().expect("made");
    staging::fill(&at, &files(text), &Manifest::of("build", &files(text))).expect("filled");
    at
}

#[test]
fn a_run_killed_between_two_renames_is_put_right() {
    let (_top, dir) = top();
    let yard = Yard::beside(&dir);
    for both in [true, false] {
        write(&dir, "1");
        fs::rename(&dir, yard.old().expect("made")).expect("moved");
        let text = if both {
            finished(&yard, "2");
            "2"
        } else {
            "1"
        };
        drop(open(&dir, false).expect("a place"));
        stands(&dir, text, &[]);
    }
}

#[test]
fn leftovers_of_killed_runs_go_and_what_looks_like_one_stays() {
    let (_top, dir) = top();
    write(&dir, "1");
    let yard = Yard::beside(&dir);
    finished(&yard, "2");
    // Half written: a file short, one torn.
    let torn = finished(&yard, "3");
    fs::rename(torn.join(manifest::NAME), torn.join("manifest.planned")).expect("renamed");
    fs::remove_file(torn.join("parts/b/c.svg")).expect("removed");
    fs::write(torn.join("parts/a.dxf"), "").expect("written");
    // Killed before its mark was written.
    let bare = dir.with_file_name(".out.staging-bare");
    fs::create_dir(&bare).expect("made");
    fs::write(bare.join("manifest.planned"), "").expect("written");
    // Another's, and one with a file of a person's.
    let other = dir.with_file_name(".out.staging-other");
    fs::create_dir(&other).expect("made");
    fs::write(other.join("precious.txt"), "precious").expect("written");
    fs::write(finished(&yard, "4").join("mine.txt"), "precious").expect("written");
    drop(open(&dir, false).expect("a place"));
    stands(&dir, "1", &[".out.staging-other", "out-kept-1"]);
    assert_eq!(held(&other).len(), 1);
    assert_eq!(
        held(&dir.with_file_name("out-kept-1")),
        Files::from([("mine.txt".to_owned(), b"precious".to_vec())])
    );
}

#[test]
fn a_folder_filled_in_place_in_part_is_completed() {
    let (_top, dir) = top();
    for moved in 0..=3 {
        write(&dir, "1");
        let at = finished(&Yard::within(&dir), "2");
        for name in files("2").keys().take(moved) {
            fs::rename(at.join(name), dir.join(name)).expect("moved");
        }
        drop(open(&dir, false).expect("a place"));
        stands(&dir, "2", &[]);
    }
    // Not where a person has been in it since.
    let at = finished(&Yard::within(&dir), "3");
    fs::rename(at.join("summary.json"), dir.join("summary.json")).expect("moved");
    fs::write(dir.join("parts/a.dxf"), "edited").expect("written");
    let told = open(&dir, false).expect_err("refused").what;
    assert!(
        told.contains("parts/a.dxf") && !told.contains("summary.json"),
        "{told}"
    );
    assert!(at.exists());
    open(&dir, true)
        .expect("a place")
        .write(&files("4"))
        .expect("written");
    stands(&dir, "4", &["out-kept-1"]);
    assert_eq!(
        held(&dir.with_file_name("out-kept-1"))["parts/a.dxf"],
        b"edited"
    );
}

#[test]
fn a_staging_folder_that_another_changes_is_an_error() {
    let (_top, dir) = top();
    fs::create_dir(&dir).expect("made");
    fs::write(dir.join("other.txt"), "precious").expect("written");
    let plan = Manifest::of("build", &files("1"));
    let e = staging::fill(&dir, &files("1"), &plan).expect_err("refused");
    assert!(e.to_string().contains("1 are not of this run"), "{e}");
    // Only what was written is removed; the mark stays for the next run.
    let left = held(&dir);
    assert_eq!(
        left.keys().collect::<Vec<_>>(),
        ["manifest.planned", "other.txt"]
    );
    // A folder that has vanished is not made again.
    let none = dir.with_file_name("none");
    assert!(staging::fill(&none, &files("1"), &plan).is_err());
    assert!(!none.exists());
}

#[cfg(unix)]
#[test]
fn the_folder_keeps_its_mode_and_group_bit() {
    use std::os::unix::fs::PermissionsExt;
    let (_top, dir) = top();
    write(&dir, "1");
    fs::set_permissions(&dir, fs::Permissions::from_mode(0o2750)).expect("set");
    write(&dir, "2");
    let mode = |path: &Path| fs::metadata(path).expect("there").permissions().mode() & 0o7777;
    assert_eq!(mode(&dir), 0o2750);
    assert_eq!(mode(&dir.join("parts")) & 0o2000, 0o2000);
}

#[test]
fn a_lock_is_waited_for_and_a_dead_owner_frees_it() {
    let (top, dir) = top();
    let path = Yard::beside(&dir).lock();
    // As a killed run leaves it: the file without an owner.
    fs::write(&path, "").expect("written");
    let first = Lock::take(&path).expect("free");
    let (told, heard) = std::sync::mpsc::channel();
    let second = thread::spawn({
        let path = path.clone();
        move || {
            let lock = Lock::take(&path).expect("free in the end");
            told.send(()).expect("heard");
            drop(lock);
        }
    });
    assert!(
        heard
            .recv_timeout(std::time::Duration::from_millis(100))
            .is_err()
    );
    drop(first);
    heard.recv().expect("the second has it");
    second.join().expect("ended");
    assert_eq!(fs::read_dir(top.path()).expect("listed").count(), 0);
    // A file of somebody's is no lock, nor is a link.
    fs::write(&path, "precious").expect("written");
    assert!(Lock::take(&path).is_err());
    let link = dir.with_file_name("link");
    for to in ["elsewhere", "out"] {
        std::os::unix::fs::symlink(top.path().join(to), &link).expect("linked");
        assert!(Lock::take(&link).is_err());
        fs::remove_file(&link).expect("removed");
    }
    assert!(!top.path().join("elsewhere").exists());
    assert_eq!(fs::read_to_string(&path).expect("there"), "precious");
}

#[test]
fn many_runs_into_one_place_leave_one_whole_output() {
    let (_top, dir) = top();
    thread::scope(|s| {
        for k in 0..6 {
            let dir = &dir;
            s.spawn(move || {
                for _ in 0..3 {
                    write(dir, &k.to_string());
                }
            });
        }
    });
    let text = fs::read_to_string(dir.join("summary.json")).expect("there");
    stands(&dir, &text, &[]);
}
