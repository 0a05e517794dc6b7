//! Everything but nesting, on the demo hull, files written, the nest made once,
//! outside the clock; the same with ten times the survey points; and the nest.
//!
//!     cargo bench --bench build

use std::fmt::Write as _;
use std::fs;
use std::hint::black_box;
use std::path::Path;
use std::sync::atomic::AtomicBool;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use planksheer::cli::folder;
use planksheer::job::{self, Effort, Job, SurveyFile};
use planksheer::nest::{self, NestJob};
use planksheer::pipeline::{self, PatternsAsked, Print, Shaped, Shows};

type Tables = Vec<(SurveyFile, String)>;

fn demo() -> (Job, Tables) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-hull");
    let text = fs::read_to_string(folder.join("job.toml")).expect("the demo job");
    let job = job::parse(&text, "job.toml", &folder.display().to_string()).expect("a sound job");
    let tables = job
        .survey
        .files
        .iter()
        .map(|f| (f.clone(), fs::read_to_string(&f.path).expect("a survey")))
        .collect();
    (job, tables)
}

/// The demo's edge measured at ten times as many points: its own faired line,
/// booked to a tenth of a millimetre.
fn ten_times(shaped: &Shaped, files: &Tables) -> Tables {
    let chain = &shaped.edge.chains[0];
    let length = &chain.lengths[0];
    let (a, b) = length.base.basis.range();
    let count = 10 * chain.points.len();
    let head = "x,y,z,slope\n";
    let mut sides = [head.to_owned(), head.to_owned()];
    for k in 0..count {
        let t = a + (b - a) * k as f64 / (count - 1) as f64;
        let [x, y, z] = length.base.at(t);
        let slope = length.slope.at(t)[0];
        let side = &mut sides[usize::from(y < 0.0)];
        writeln!(side, "{x:.1},{y:.1},{z:.1},{slope:.5}").expect("text");
    }
    files.iter().map(|f| f.0.clone()).zip(sides).collect()
}

fn run(job: &Job, tables: &Tables, groups: &[pipeline::Group], into: &Path) -> usize {
    let shaped = pipeline::shape(job, tables).expect("it builds");
    let output = pipeline::files(job, &shaped, groups).expect("it writes");
    let out = folder::Out::open(into, "build", &[], false).expect("a place");
    out.write(&output.files).expect("written");
    output.files.len()
}

fn benches(c: &mut Criterion) {
    let (job, tables) = demo();
    let shaped = pipeline::shape(&job, &tables).expect("it builds");
    let groups = pipeline::nest(
        &job,
        &shaped,
        Effort::Quick,
        &|_, _| (),
        &AtomicBool::new(false),
    )
    .expect("it nests");
    let into = tempfile::tempdir().expect("a temporary folder");
    c.bench_function("demo hull, all but nesting, files written", |b| {
        let into = into.path().join("out");
        b.iter_batched(
            || fs::remove_dir_all(&into),
            |_| black_box(run(&job, &tables, &groups, &into)),
            BatchSize::PerIteration,
        );
    });
    c.bench_function("demo hull, survey to flat parts", |b| {
        b.iter(|| {
            black_box(
                pipeline::shape(&job, &tables)
                    .expect("it builds")
                    .parts
                    .len(),
            )
        });
    });
    c.bench_function(
        "demo hull, patterns of all parts on A4, files written",
        |b| {
            let into = into.path().join("patterns");
            let print = Print {
                paper: job.paper.clone(),
                scale: (1.0, 1.0),
            };
            let asked = PatternsAsked {
                parts: Vec::new(),
                kinds: Vec::new(),
                one_file: false,
                share: false,
                shows: Shows::Part,
                print,
            };
            b.iter_batched(
                || fs::remove_dir_all(&into),
                |_| {
                    let faired = pipeline::faired(&job, &tables).expect("it fairs");
                    let stop = AtomicBool::new(false);
                    let made = pipeline::patterns(&job, faired, &asked, &stop).expect("it prints");
                    let out = folder::Out::open(&into, "pattern", &[], false).expect("a place");
                    out.write(&made.files).expect("written");
                    black_box(made.pages.len())
                },
                BatchSize::PerIteration,
            );
        },
    );
    for (name, effort) in [("quick", Effort::Quick), ("normal", Effort::Normal)] {
        let mut own: Vec<NestJob> = groups.iter().map(|g| g.job.clone()).collect();
        own.iter_mut().for_each(|j| j.effort = effort);
        c.bench_function(
            &format!("demo hull, the job's own nest, {name} effort"),
            |b| {
                b.iter(|| {
                    let nests = own.iter().map(|j| nest::nest(j, &|_, _| ()));
                    black_box(
                        nests
                            .map(|n| n.expect("it nests").sheets.len())
                            .sum::<usize>(),
                    )
                });
            },
        );
    }
    let dense = ten_times(&shaped, &tables);
    c.bench_function(
        "demo hull, survey to flat parts, ten times the points",
        |b| {
            b.iter(|| {
                black_box(
                    pipeline::shape(&job, &dense)
                        .expect("it builds")
                        .parts
                        .len(),
                )
            });
        },
    );
}

criterion_group! {
    name = build;
    config = Criterion::default().sample_size(10);
    targets = benches
}
criterion_main!(build);
