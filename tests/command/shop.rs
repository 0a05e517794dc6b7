//! A job in a temporary folder, built by the command, and its output read
//! back from the DXF files.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use assert_cmd::Command;
use planksheer::geom::{Outline, Segment, Vec2, Vertex, vec2};
use serde_json::Value;

use crate::broken::Files;

/// The command, ready for arguments.
pub(crate) fn command() -> Command {
    Command::new(assert_cmd::cargo::cargo_bin!("planksheer"))
}

/// A job's folder.
pub(crate) struct Shop {
    top: Arc<tempfile::TempDir>,
}

/// A finished output.
pub(crate) struct Built {
    dir: PathBuf,
    /// Keeps a temporary folder from being removed while this is in use.
    kept: Option<Arc<tempfile::TempDir>>,
    /// `summary.json`.
    pub(crate) summary: Value,
}

impl Shop {
    /// A folder with these files.
    pub(crate) fn new(files: &[(&str, &str)]) -> Self {
        let top = tempfile::tempdir().expect("a temporary folder");
        for (name, text) in files {
            fs::write(top.path().join(name), text).expect("written");
        }
        Self { top: Arc::new(top) }
    }

    /// A folder with the files of a case, or of a folder of the fixtures.
    pub(crate) fn of(files: &Files) -> Self {
        let files: Vec<_> = files.iter().map(|(n, t)| (&n[..], &t[..])).collect();
        Self::new(&files)
    }

    pub(crate) fn path(&self) -> &Path {
        self.top.path()
    }

    /// Builds `job.toml` into `out` with further arguments.
    pub(crate) fn build(&self, more: &[&str]) -> Built {
        let out = self.path().join("out");
        command()
            .arg("build")
            .arg(self.path().join("job.toml"))
            .arg("--out")
            .arg(&out)
            .arg("--quick")
            .args(more)
            .assert()
            .success();
        let mut built = Built::read(&out);
        built.kept = Some(Arc::clone(&self.top));
        built
    }
}

impl Built {
    /// Reads an output folder.
    pub(crate) fn read(dir: &Path) -> Self {
        let text = fs::read_to_string(dir.join("summary.json")).expect("a summary");
        Self {
            dir: dir.to_path_buf(),
            kept: None,
            summary: serde_json::from_str(&text).expect("JSON"),
        }
    }

    /// A part's entry in the summary.
    pub(crate) fn entry(&self, name: &str) -> &Value {
        self.summary["parts"]
            .as_array()
            .expect("parts")
            .iter()
            .find(|p| p["name"] == name)
            .unwrap_or_else(|| panic!("no part {name}"))
    }

    /// A number of a part's entry.
    pub(crate) fn number(&self, name: &str, key: &str) -> f64 {
        self.entry(name)[key]
            .as_f64()
            .unwrap_or_else(|| panic!("{name} has no {key}"))
    }

    /// Names of the parts of a kind.
    pub(crate) fn names(&self, kind: &str) -> Vec<String> {
        self.summary["parts"]
            .as_array()
            .expect("parts")
            .iter()
            .filter(|p| p["kind"] == kind)
            .map(|p| p["name"].as_str().expect("a name").to_owned())
            .collect()
    }

    /// Text of a file of the output.
    pub(crate) fn text(&self, name: &str) -> String {
        let top = self.kept.as_ref().map(|t| t.path());
        fs::read_to_string(self.dir.join(name)).unwrap_or_else(|e| panic!("{name} of {top:?}: {e}"))
    }

    /// The one outer profile of a part, from its DXF file.
    pub(crate) fn profile(&self, name: &str) -> Outline {
        self.outline(&format!("parts/{name}.dxf"))
    }

    /// The one outer profile of a file of the output.
    pub(crate) fn outline(&self, file: &str) -> Outline {
        let drawing = dxf::Drawing::load_file(self.dir.join(file)).expect("a DXF file");
        let mut found = Vec::new();
        for e in drawing.entities() {
            if e.common.layer != "CUT" {
                continue;
            }
            if let dxf::entities::EntityType::LwPolyline(p) = &e.specific {
                assert!(p.is_closed(), "profiles are closed");
                found.push(Outline {
                    vertices: p
                        .vertices
                        .iter()
                        .map(|v| Vertex {
                            at: vec2(v.x, v.y),
                            bulge: v.bulge,
                        })
                        .collect(),
                });
            }
        }
        assert_eq!(found.len(), 1, "one outer profile a part");
        found.remove(0)
    }

    /// All files of the output, by name, in order.
    pub(crate) fn files(&self) -> Vec<(String, Vec<u8>)> {
        let mut out = Vec::new();
        collect(&self.dir, &self.dir, &mut out);
        out.sort();
        out
    }
}

fn collect(top: &Path, at: &Path, out: &mut Vec<(String, Vec<u8>)>) {
    for entry in fs::read_dir(at).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            collect(top, &path, out);
        } else {
            let name = path.strip_prefix(top).expect("below the top");
            out.push((name.display().to_string(), fs::read(&path).expect("a file")));
        }
    }
}

/// An edge of a profile between two sharp corners.
#[derive(Debug, Clone)]
pub(crate) struct Edge {
    /// Points along it, a millimetre of chord error at most 1e-5 mm.
    pub(crate) points: Vec<Vec2>,
    /// Its exact length, mm.
    pub(crate) length: f64,
}

/// The four edges of a strip: the two long ones, longest first, then the ends.
pub(crate) fn edges(profile: &Outline) -> Vec<Edge> {
    let n = profile.vertices.len();
    let segments: Vec<Segment> = profile.segments().collect();
    let direction = |k: usize, at: f64| segments[k % n].direction(at);
    let corners: Vec<usize> = (0..n)
        .filter(|&i| {
            let (before, after) = (direction(i + n - 1, 1.0), direction(i, 0.0));
            before.cross(after).abs() > 0.2 || before.dot(after) < 0.0
        })
        .collect();
    assert_eq!(corners.len(), 4, "a strip has four corners");
    let mut out = Vec::new();
    for (k, &from) in corners.iter().enumerate() {
        let to = corners[(k + 1) % 4] + if k == 3 { n } else { 0 };
        let mut edge = Edge {
            points: vec![segments[from % n].a],
            length: 0.0,
        };
        for i in from..to {
            let segment = segments[i % n];
            edge.length += segment.length();
            let places = if segment.circle.is_some() { 64 } else { 1 };
            edge.points.extend(segment.steps(places).skip(1));
            edge.points.push(segment.b);
        }
        out.push(edge);
    }
    out.sort_by(|a, b| b.length.total_cmp(&a.length));
    out
}

/// Centre and radius of the circle nearest to points (algebraic least
/// squares; Kasa 1976).
pub(crate) fn circle_through(points: &[Vec2]) -> (Vec2, f64) {
    let n = points.len() as f64;
    let mean = points.iter().fold(vec2(0.0, 0.0), |s, &p| s + p) * (1.0 / n);
    let (mut suu, mut suv, mut svv, mut su, mut sv) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for &p in points {
        let q = p - mean;
        let r = q.dot(q);
        suu += q.x * q.x;
        suv += q.x * q.y;
        svv += q.y * q.y;
        su += q.x * r;
        sv += q.y * r;
    }
    let det = suu * svv - suv * suv;
    let c = vec2(
        (su * svv - sv * suv) / (2.0 * det),
        (sv * suu - su * suv) / (2.0 * det),
    );
    let radius = (c.dot(c) + (suu + svv) / n).sqrt();
    (c + mean, radius)
}
