//! What people are told is in the job's units: reads the texts of every stage
//! and fails on a figure that is written out in millimetres.

use std::fs;
use std::path::{Path, PathBuf};

/// Stages that tell lengths by `length` and `quantity` alone.
const STAGES: [&str; 10] = [
    "cut", "develop", "fair", "job", "layout", "nest", "part", "pipeline", "report", "tacked",
];

fn sources(under: &Path, out: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(under).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// A figure in braces with millimetres after it. What stands in place of a key's default
/// is told on the reference page, which is no job's.
fn bare(line: &str) -> bool {
    let told = line.trim_start().starts_with("//") || line.contains("Told(||");
    !told && (line.contains("} mm") || line.contains("}mm"))
}

#[test]
fn no_stage_writes_out_millimetres() {
    assert!(bare("format!(\"{x:.1} mm\")") && !bare("/// `{x} mm`"));
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    for stage in STAGES {
        sources(&src.join(stage), &mut files);
    }
    files.retain(|f| !f.to_string_lossy().contains("tests"));
    assert!(files.len() > 100, "{}", files.len());
    for file in files {
        let text = fs::read_to_string(&file).expect("text");
        for (number, line) in text.lines().enumerate() {
            assert!(!bare(line), "{}:{}: {line}", file.display(), number + 1);
        }
    }
}
