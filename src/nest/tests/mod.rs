//! Whole nests: every rule holds, on made and on random jobs.

mod odd;

use proptest::prelude::*;

use super::*;
use crate::fault::Fault;
use crate::fault::Kind;
use crate::geom::Outline;
use crate::geom::Placement;
use crate::geom::{Vertex, trig, vec2};
use crate::job::Effort;
use crate::job::Rotation;
use crate::job::Sheet;
use crate::length::Show;
use std::sync::atomic::AtomicBool;

pub(super) fn sheet(length: f64, width: f64, quantity: Option<usize>, price: Option<f64>) -> Sheet {
    Sheet {
        name: format!("{length} x {width}"),
        length,
        width,
        thickness: 12.7,
        alloy: "5086-H116".to_owned(),
        quantity,
        price,
        shape: None,
        clamps: Vec::new(),
        remnant: None,
    }
}

pub(super) fn job(
    outlines: Vec<Outline>,
    sheets: Vec<Sheet>,
    gap: f64,
    edge_margin: f64,
) -> NestJob {
    NestJob {
        parts: outlines
            .into_iter()
            .enumerate()
            .map(|(i, outline)| NestPart {
                name: format!("P{i}"),
                outline,
                holes: Vec::new(),
            })
            .collect(),
        sheets,
        gap,
        edge_margin,
        rotation: Rotation::Free,
        effort: Effort::Quick,
        seed: 1,
        price_per_area: None,
        scrap_per_area: 0.0,
        slack: 0.001,
        show: Show::Mm,
    }
}

/// Packs within so many units of work.
pub(super) fn within(job: &NestJob, work: u64) -> Result<Nest, Fault> {
    packer::pack(job, &|_, _| {}, &|_| work, &AtomicBool::new(false))
}

/// Nests with the least of work: tests need sound nests, not tight ones.
fn nested(job: &NestJob) -> Nest {
    let nest = within(job, 200_000).expect("a job that fits");
    check(job, &nest).expect("a sound nest");
    nest
}

pub(super) fn rectangle(w: f64, h: f64) -> Outline {
    Outline::polygon(&[vec2(0.0, 0.0), vec2(w, 0.0), vec2(w, h), vec2(0.0, h)])
}

/// A sector of a ring, `half` its half angle, bulging up.
pub(super) fn sector(inner: f64, outer: f64, half: f64) -> Outline {
    let p = |r: f64, a: f64| vec2(r * trig::sin(a), r * trig::cos(a));
    let bulge = trig::tan(half / 2.0);
    let v = |at, bulge| Vertex { at, bulge };
    Outline {
        vertices: vec![
            v(p(inner, -half), -bulge),
            v(p(inner, half), 0.0),
            v(p(outer, half), bulge),
            v(p(outer, -half), 0.0),
        ],
    }
}

#[test]
fn rectangles_that_fit_exactly_fill_the_sheet() {
    // Six by four of 100 x 60 with 6 mm between and 10 mm around.
    let parts = vec![rectangle(100.0, 60.0); 24];
    let (l, w) = (6.0 * 106.0 - 6.0 + 20.0, 4.0 * 66.0 - 6.0 + 20.0);
    let job = job(parts, vec![sheet(l, w, None, None)], 6.0, 10.0);
    assert_eq!(nested(&job).sheets.len(), 1);
}

#[test]
fn a_strip_as_long_as_the_sheet_fits_and_a_longer_one_does_not() {
    let at = |length: f64| {
        let stock = vec![sheet(3658.0, 1524.0, Some(2), None)];
        job(
            vec![rectangle(length, 180.0), rectangle(200.0, 1504.0)],
            stock,
            6.0,
            10.0,
        )
    };
    assert_eq!(nested(&at(3432.0)).sheets.len(), 1);
    // The diagonal of 3638 x 1504 holds a 180 mm strip of some 3,790 mm.
    nested(&at(3700.0));
    let fault = nest(&at(3900.0), &|_, _| {}).expect_err("too long");
    assert_eq!(fault.kind, Kind::Stock);
    for text in ["P0", "3900 mm x 180 mm", "3658 mm x 1524 mm"] {
        assert!(fault.what.contains(text), "{fault}");
    }
}

#[test]
fn a_limited_turn_can_make_a_part_too_large() {
    let stock = vec![sheet(3658.0, 1524.0, None, None)];
    let mut job = job(vec![rectangle(180.0, 2000.0)], stock, 6.0, 10.0);
    nested(&job);
    job.rotation = Rotation::Within(0.1);
    assert_eq!(
        nest(&job, &|_, _| {}).expect_err("too wide").kind,
        Kind::Stock
    );
    job.rotation = Rotation::Steps(std::f64::consts::PI);
    assert_eq!(
        nest(&job, &|_, _| {}).expect_err("too wide").kind,
        Kind::Stock
    );
    job.rotation = Rotation::Steps(std::f64::consts::FRAC_PI_2);
    nested(&job);
}

#[test]
fn sheets_are_used_no_more_often_than_they_are_to_be_had() {
    // Three sheets' worth of squares, one to a small sheet: two small ones and a large.
    let parts = vec![rectangle(80.0, 80.0); 6];
    let stock = |large| {
        vec![
            sheet(100.0, 100.0, Some(2), None),
            sheet(186.0, 186.0, large, None),
        ]
    };
    let good = job(parts.clone(), stock(Some(1)), 6.0, 10.0);
    let nest_of = nested(&good);
    assert_eq!(nest_of.sheets.iter().filter(|s| s.stock == 0).count(), 2);
    assert_eq!(nest_of.sheets.len(), 3);
    let short = job(parts, stock(Some(0)), 6.0, 10.0);
    let fault = within(&short, 200_000).expect_err("four too many");
    assert!(
        fault.kind == Kind::Stock && fault.what.contains("4 of 6"),
        "{fault}"
    );
}

#[test]
fn the_cheapest_sheets_are_bought() {
    // Four squares: one large sheet, or four small; the price decides, and
    // without prices the area.
    let parts = vec![rectangle(80.0, 80.0); 4];
    let stock = |small, large| {
        vec![
            sheet(100.0, 100.0, None, small),
            sheet(190.0, 190.0, None, large),
        ]
    };
    let used = |small, large| {
        let nest = nested(&job(parts.clone(), stock(small, large), 6.0, 10.0));
        nest.sheets.iter().map(|s| s.stock).collect::<Vec<_>>()
    };
    assert_eq!(used(Some(10.0), Some(39.0)), [1]);
    assert_eq!(used(Some(10.0), Some(41.0)), [0; 4]);
    assert_eq!(used(None, None), [1]);
    // Five squares: a large one and a small one is the least area.
    let nest = nested(&job(
        vec![rectangle(80.0, 80.0); 5],
        stock(None, None),
        6.0,
        10.0,
    ));
    let mut mixed: Vec<usize> = nest.sheets.iter().map(|s| s.stock).collect();
    mixed.sort_unstable();
    assert_eq!(mixed, [0, 1]);
}

#[test]
fn curved_strips_are_stacked_in_each_other() {
    // Ten sectors of 180 mm width, radius 5 m, 2.6 m long: the rise of 168 mm
    // is lost once, not ten times: 7 of 186 + 168 fit in 1504.
    let parts = vec![sector(5000.0, 5180.0, 0.26); 7];
    let job = job(parts, vec![sheet(3658.0, 1524.0, None, None)], 6.0, 10.0);
    assert_eq!(nested(&job).sheets.len(), 1);
}

#[test]
fn the_number_of_threads_does_not_change_the_nest() {
    let mut parts = vec![sector(1500.0, 1600.0, 0.3); 4];
    parts.extend(vec![rectangle(300.0, 90.0); 5]);
    let job = job(parts, vec![sheet(1100.0, 600.0, None, None)], 6.0, 10.0);
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("threads");
        pool.install(|| nested(&job))
    };
    assert_eq!(on(1), on(2));
}

/// Strips, doublers and gussets on several sheets: strips are shared out, and
/// doublers put beside them.
fn tiers() -> NestJob {
    let mut parts: Vec<_> = (0..17)
        .map(|k| sector(1500.0, 1600.0 + f64::from(k % 3), 0.3))
        .collect();
    parts.extend(vec![rectangle(250.0, 150.0); 8]);
    parts.extend(vec![rectangle(80.0, 60.0); 10]);
    job(parts, vec![sheet(1100.0, 600.0, None, None)], 6.0, 10.0)
}

#[test]
fn strips_that_are_shared_out_come_the_same_on_any_number_of_threads() {
    let job = tiers();
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("threads");
        pool.install(|| within(&job, 60_000_000)).expect("fits")
    };
    let nest = on(2);
    check(&job, &nest).expect("a sound nest");
    assert_eq!(on(1), nest);
}

#[test]
fn progress_goes_from_nought_to_one_and_tells_the_final_yield() {
    let job = job(
        vec![rectangle(80.0, 80.0); 5],
        vec![sheet(100.0, 100.0, None, None)],
        6.0,
        10.0,
    );
    let told = std::sync::Mutex::new(Vec::new());
    packer::pack(
        &job,
        &|f, y| told.lock().expect("lock").push((f, y)),
        &|_| 100_000,
        &AtomicBool::new(false),
    )
    .expect("fits");
    let told = told.into_inner().expect("lock");
    assert!(
        told.iter()
            .all(|t| (0.0..=1.0).contains(&t.0) && (0.0..=1.0).contains(&t.1))
    );
    assert!(told.windows(2).all(|w| w[0].0 <= w[1].0));
    let last = told.last().expect("news");
    assert!((last.1 - 0.64).abs() < 1e-9);
}

#[test]
fn numbers_that_cannot_be_are_refused() {
    let good = || {
        job(
            vec![rectangle(80.0, 80.0)],
            vec![sheet(100.0, 100.0, None, None)],
            6.0,
            10.0,
        )
    };
    let spoil: [fn(&mut NestJob); 7] = [
        |j| j.gap = -1.0,
        |j| j.edge_margin = f64::NAN,
        |j| j.sheets[0].length = 0.0,
        |j| j.sheets[0].width = f64::INFINITY,
        |j| j.parts[0].outline = j.parts[0].outline.reversed(),
        |j| j.parts[0].outline.vertices[0].at.x = f64::NAN,
        |j| j.rotation = Rotation::Steps(-0.1),
    ];
    for s in spoil {
        let mut bad = good();
        s(&mut bad);
        assert_eq!(
            nest(&bad, &|_, _| {}).expect_err("spoilt").kind,
            Kind::Range
        );
    }
    let mut none = good();
    none.sheets.clear();
    assert_eq!(
        nest(&none, &|_, _| {}).expect_err("no sheet").kind,
        Kind::Stock
    );
    none.parts.clear();
    assert_eq!(nest(&none, &|_, _| {}), Ok(Nest::default()));
}

#[test]
fn figures_of_a_sheet_by_hand() {
    let job = job(
        vec![rectangle(100.0, 60.0), rectangle(40.0, 30.0)],
        vec![sheet(900.0, 300.0, None, None)],
        6.0,
        10.0,
    );
    let at = |part, x, y| Placed {
        part,
        placement: Placement {
            turn: 0.0,
            shift: vec2(x, y),
        },
    };
    let sheet = NestedSheet::new(0, vec![at(0, 10.0, 10.0), at(1, 200.0, 10.0)]);
    assert!((net_area(&job, &sheet) - 7200.0).abs() < 1e-9);
    assert!((used_length(&job, &sheet) - 250.0).abs() < 1e-9);
    // Right of the second part: 246 to 900, 300 wide, is 196,200 mm2; above
    // the first, 900 x 224, is 201,600. Cells of 1 mm: three short at most.
    let best = largest_offcut(&job, &sheet).expect("room");
    assert!((best.size.x - 900.0).abs() <= 3.0, "{best:?}");
    assert!(best.size.y <= 224.0 && best.size.y >= 221.0, "{best:?}");
    assert!((best.corner.y + best.size.y - 300.0).abs() < 1e-9);
}

pub(super) fn any_outline() -> impl Strategy<Value = Outline> {
    let size = || 20.0..180.0f64;
    prop_oneof![
        (size(), size()).prop_map(|(w, h)| rectangle(w, h)),
        (size(), size(), 0.2..0.8f64, 0.2..0.8f64).prop_map(|(w, h, f, g)| Outline::polygon(&[
            vec2(0.0, 0.0),
            vec2(w, 0.0),
            vec2(w, g * h),
            vec2(f * w, g * h),
            vec2(f * w, h),
            vec2(0.0, h),
        ])),
        (size(), size(), -0.5..1.5f64).prop_map(|(w, h, f)| Outline::polygon(&[
            vec2(0.0, 0.0),
            vec2(w, 0.0),
            vec2(f * w, h)
        ])),
        (30.0..200.0f64, 10.0..60.0f64, 0.2..1.3f64).prop_map(|(r, w, half)| sector(
            r,
            r + w,
            half
        )),
    ]
}

pub(super) fn any_rotation() -> impl Strategy<Value = Rotation> {
    prop_oneof![
        Just(Rotation::Free),
        (1..9u8).prop_map(|n| Rotation::Steps(std::f64::consts::TAU / f64::from(n))),
        (0.0..1.0f64).prop_map(Rotation::Within),
    ]
}

/// Eight squares of 100 mm in a strip 400 mm wide: two columns of four, no
/// shorter and, by the cuts taken off at the last, no longer.
#[test]
fn a_strip_is_as_short_as_its_squares_allow() {
    let squares = vec![rectangle(100.0, 100.0); 8];
    let mut job = job(squares, vec![sheet(2000.0, 400.0, None, None)], 0.0, 0.0);
    job.rotation = Rotation::Steps(std::f64::consts::FRAC_PI_2);
    let placed = strip(&job, &mut |work| work as f64 / 3.0e5)
        .expect("a sound job")
        .expect("room enough");
    let nest = Nest {
        sheets: vec![NestedSheet::new(0, placed)],
    };
    check(&job, &nest).expect("a sound strip");
    let length = used_length(&job, &nest.sheets[0]);
    assert!((199.999..=200.1).contains(&length), "{length} mm");
}

/// More work gives a strip that is no longer, and the same work the same one.
#[test]
fn a_strip_gets_shorter_with_work_and_is_repeatable() {
    let outlines = (0..14)
        .map(|k| {
            let k = f64::from(k);
            sector(150.0 + 9.0 * k, 200.0 + 11.0 * k, 0.3 + 0.05 * k)
        })
        .collect();
    let job = job(outlines, vec![sheet(4000.0, 500.0, None, None)], 6.0, 0.0);
    let laid = |most: f64| {
        let placed = strip(&job, &mut |work| work as f64 / most)
            .expect("a sound job")
            .expect("room enough");
        let sheet = NestedSheet::new(0, placed);
        check(
            &job,
            &Nest {
                sheets: vec![sheet.clone()],
            },
        )
        .expect("a sound strip");
        (used_length(&job, &sheet), sheet)
    };
    let (few, many) = (laid(2.0e6), laid(2.0e7));
    assert!(many.0 < 0.995 * few.0, "{} and {} mm", few.0, many.0);
    assert_eq!(few.1, laid(2.0e6).1);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    /// As below, with the work that clearing overlaps takes.
    #[test]
    fn cleared_nests_are_sound(
        outlines in prop::collection::vec(any_outline(), 6..16),
        gap in prop_oneof![Just(0.0), 0.0..15.0f64],
        rotation in any_rotation(),
        seed in 1..1000usize,
    ) {
        let mut job = job(outlines, vec![sheet(700.0, 520.0, None, None)], gap, 5.0);
        job.rotation = rotation;
        job.seed = seed;
        let nest = within(&job, 6_000_000).expect("a job that fits");
        let report = check(&job, &nest);
        prop_assert!(report.is_ok(), "{:?}", report);
        prop_assert_eq!(report.map(|r| r.parts), Ok(job.parts.len()));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn random_jobs_give_sound_nests(
        outlines in prop::collection::vec(any_outline(), 1..12),
        gap in prop_oneof![Just(0.0), 0.0..15.0f64],
        margin in 0.0..20.0f64,
        rotation in any_rotation(),
    ) {
        let mut job = job(outlines, vec![sheet(700.0, 520.0, None, None)], gap, margin);
        job.rotation = rotation;
        let nest = nested(&job);
        let mut parts: Vec<usize> = nest.sheets.iter().flat_map(|s| &s.placed).map(|p| p.part).collect();
        parts.sort_unstable();
        prop_assert_eq!(parts, (0..job.parts.len()).collect::<Vec<_>>());
        let area: f64 = job.parts.iter().map(NestPart::net_area).sum();
        prop_assert!(least_sheets(area, &job.sheets, margin) <= nest.sheets.len());
        for s in &nest.sheets {
            if let Some(cut) = largest_offcut(&job, s) {
                // The offcut, cut out as a part, keeps the gap from all others.
                let mut with = job.clone();
                with.parts.push(NestPart {
                    name: "offcut".to_owned(),
                    outline: rectangle(cut.size.x, cut.size.y),
                    holes: Vec::new(),
                });
                with.edge_margin = 0.0;
                with.rotation = Rotation::Free;
                with.parts.retain({
                    let here: Vec<String> = s.placed.iter().map(|p| job.parts[p.part].name.clone()).collect();
                    move |p| p.name == "offcut" || here.contains(&p.name)
                });
                let mut sheet = s.clone();
                for p in &mut sheet.placed {
                    let name = &job.parts[p.part].name;
                    p.part = with.parts.iter().position(|q| &q.name == name).expect("kept");
                }
                let placement = Placement { turn: 0.0, shift: cut.corner };
                sheet.placed.push(Placed { part: with.parts.len() - 1, placement });
                let both = check(&with, &Nest { sheets: vec![sheet] });
                prop_assert!(both.is_ok(), "{:?}", both);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Of mixed sheets, some few to be had, at made-up prices: no nest is below
    /// the bounds by area, of sheets, price and area bought.
    #[test]
    fn no_nest_is_below_its_bounds(
        outlines in prop::collection::vec(any_outline(), 1..14),
        sizes in prop::collection::vec((300.0..900.0f64, 250.0..600.0f64, 1.0..50.0f64), 0..3),
        margin in 0.0..20.0f64,
    ) {
        let mut sheets = vec![sheet(700.0, 520.0, None, Some(20.0))];
        for (k, (length, width, price)) in sizes.into_iter().enumerate() {
            let few = (k == 0).then_some(1);
            sheets.push(sheet(length, width, few, Some(price)));
        }
        let job = job(outlines, sheets, 0.0, margin);
        let nest = nested(&job);
        let area: f64 = job.parts.iter().map(NestPart::net_area).sum();
        let sum = |weight: &dyn Fn(&Sheet) -> f64| -> f64 {
            nest.sheets.iter().map(|s| weight(&job.sheets[s.stock])).sum()
        };
        prop_assert!(least_sheets(area, &job.sheets, margin) <= nest.sheets.len());
        let weights: [&dyn Fn(&Sheet) -> f64; 2] = [&|s| s.price.unwrap_or(0.0), &Sheet::area];
        for weight in weights {
            let least = least_of(area, &job.sheets, margin, weight);
            prop_assert!(least <= sum(weight) * (1.0 + 1e-9), "{least} {}", sum(weight));
        }
    }
}
