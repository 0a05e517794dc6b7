//! Paths against closed forms, leads, order and tabs on made-up sheets.

use std::f64::consts::PI;

use geo::Area;
use geo::buffer::{Buffer, BufferStyle, LineJoin};
use proptest::prelude::*;

use super::walk::{Walk, points};
use super::*;
use crate::geom::{Outline, Placement, Vec2, Vertex, trig, vec2};
use crate::job::{LeadForm, Leads, Sheet, Tabs};
use crate::nest::{NestedSheet, Placed};
use crate::part::{Hole, Part};
use crate::sample;

const KERF: f64 = 3.0;

pub(super) fn rectangle(length: f64, width: f64) -> Outline {
    Outline::polygon(&[
        vec2(0.0, 0.0),
        vec2(length, 0.0),
        vec2(length, width),
        vec2(0.0, width),
    ])
}

/// A quarter ring of radii `r` and `outer` about the origin.
fn quarter_ring(r: f64, outer: f64) -> Outline {
    let b = trig::tan(PI / 8.0);
    let v = |x: f64, y: f64, bulge: f64| Vertex {
        at: vec2(x, y),
        bulge,
    };
    Outline {
        vertices: vec![
            v(r, 0.0, 0.0),
            v(outer, 0.0, b),
            v(0.0, outer, 0.0),
            v(0.0, r, -b),
        ],
    }
}

fn path(net: &Outline, kerf: f64) -> (Outline, bool) {
    match compensated(net, kerf) {
        Compensated::Path { path, left } => (path, left.is_some()),
        Compensated::None => panic!("no path"),
    }
}

// Steiner's formula for the parallel of a convex profile: A + P d + pi d^2,
// P + 2 pi d; of a circle, pi (r + d)^2; of a quarter ring, whose inner arc
// gets shorter outward: its area grows by P d + 4 quarter discs at its four
// square corners less the ring's own turn, pi d^2 in all.
#[test]
fn paths_have_the_area_and_length_of_exact_parallels() {
    let d = KERF / 2.0;
    for net in [
        rectangle(400.0, 150.0),
        Outline::circle(vec2(20.0, 30.0), 60.0),
        quarter_ring(1800.0, 2000.0),
    ] {
        let (way, left) = path(&net, KERF);
        let area = net.area() + net.perimeter() * d + PI * d * d;
        assert!((way.area() - area).abs() < 1e-3, "{} {area}", way.area());
        let length = net.perimeter() + 2.0 * PI * d;
        assert!((way.perimeter() - length).abs() < 1e-3);
        assert!(!left);
    }
    // A hole goes inward: pi (r - d)^2, still clockwise.
    let hole = Outline::circle(vec2(5.0, 5.0), 10.0).reversed();
    let (way, _) = path(&hole, KERF);
    assert!((way.area() + PI * 8.5 * 8.5).abs() < 1e-6);
    assert!(matches!(
        compensated(&Outline::circle(vec2(0.0, 0.0), 1.4).reversed(), KERF),
        Compensated::None
    ));
}

#[test]
fn arcs_stay_arcs_about_their_centre_and_the_path_keeps_its_distance() {
    let (way, _) = path(&quarter_ring(1800.0, 2000.0), KERF);
    assert!(way.vertices.len() <= 12);
    let mut radii: Vec<f64> = way
        .segments()
        .filter_map(|s| s.circle)
        .filter(|c| c.radius > 10.0)
        .inspect(|c| assert!(c.centre.length() < 1e-3, "{:?}", c.centre))
        .map(|c| c.radius)
        .collect();
    radii.sort_by(f64::total_cmp);
    assert!(
        radii
            .iter()
            .all(|r| (r - 1798.5).abs() < 1e-4 || (r - 2001.5).abs() < 1e-4)
    );
    assert!(radii.len() >= 2);
    let net = Walk::new(&quarter_ring(1800.0, 2000.0));
    for v in points(&closed(&way), 5.0) {
        let far = net.distance(v, 100.0);
        assert!((far - 1.5).abs() < 1e-5, "{far}");
    }
}

/// A profile as an open line that ends where it began.
fn closed(profile: &Outline) -> Vec<Vertex> {
    let mut line = profile.vertices.clone();
    line.extend(line.first().copied());
    line
}

#[test]
fn a_notch_narrower_than_the_cut_is_told() {
    let notch = |width: f64| {
        Outline::polygon(&[
            vec2(0.0, 0.0),
            vec2(200.0, 0.0),
            vec2(200.0, 100.0),
            vec2(100.0 + width, 100.0),
            vec2(100.0 + width, 60.0),
            vec2(100.0, 60.0),
            vec2(100.0, 100.0),
            vec2(0.0, 100.0),
        ])
    };
    assert!(path(&notch(2.0), KERF).1);
    assert!(!path(&notch(5.0), KERF).1);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    // The other library flattens arcs and joins: the same area within what
    // chords of 0.01 mm and inscribed joins take off.
    #[test]
    fn paths_agree_with_another_library(
        length in 200.0..3000.0f64,
        bulges in prop::collection::vec(-0.3..0.3f64, 4),
        kerf in 0.2..6.0f64,
    ) {
        let corners = [(0.0, 0.0), (length, 0.0), (length, 150.0), (0.0, 180.0)];
        let net = Outline {
            vertices: corners
                .iter()
                .zip(&bulges)
                .map(|(&(x, y), &b)| Vertex { at: vec2(x, y), bulge: b * 100.0 / length.max(200.0) })
                .collect(),
        };
        let Compensated::Path { path, .. } = compensated(&net, kerf) else {
            return Err(TestCaseError::fail("no path"));
        };
        let ring: Vec<(f64, f64)> = net.flatten(0.01).iter().map(|p| (p.x, p.y)).collect();
        let style = BufferStyle::new(kerf / 2.0).line_join(LineJoin::Round(0.05));
        let other = geo::Polygon::new(ring.into(), Vec::new())
            .buffer_with_style(style)
            .unsigned_area();
        prop_assert!((path.area() - other).abs() < 0.02 * net.perimeter(), "{} {other}", path.area());
    }
}

/// Parts at places of a sheet of 2 x 1 m.
pub(super) struct Shop {
    pub(super) parts: Vec<Part>,
    pub(super) nested: NestedSheet,
    stock: Sheet,
    pub(super) rules: Rules,
}

impl Shop {
    pub(super) fn new(parts: Vec<(Outline, Vec<Hole>, Vec2)>) -> Self {
        let mut shop = Self {
            parts: Vec::new(),
            nested: NestedSheet::new(0, Vec::new()),
            stock: sample::sheet(),
            rules: Rules {
                leads: Some(Leads {
                    joined: false,
                    form: LeadForm::Arc,
                    length: 8.0,
                    off_corner: 10.0,
                    clearance: 1.0,
                }),
                compensated: true,
                kerf: KERF,
                ..Rules::of(&sample::job().cutting, 12.7)
            },
        };
        for (i, (outline, holes, shift)) in parts.into_iter().enumerate() {
            shop.parts.push(Part {
                outline,
                holes,
                ..sample::ring_sector(&format!("P{}", i + 1))
            });
            shop.nested.placed.push(Placed {
                part: i,
                placement: Placement { turn: 0.0, shift },
            });
        }
        shop
    }

    pub(super) fn plan(&self) -> Plan {
        self.tried().unwrap()
    }

    pub(super) fn tried(&self) -> Result<Plan, crate::fault::Fault> {
        let parts: Vec<&Part> = self.parts.iter().collect();
        plan(&Input {
            name: "sheet-1",
            stock: &self.stock,
            nested: &self.nested,
            parts: &parts,
            masses_kg: &vec![1.0; parts.len()],
            gap: 8.0,
            rules: &self.rules,
        })
    }

    /// Net walks: of outer profiles and holes, by placed part.
    pub(super) fn nets(&self) -> Vec<(usize, Option<usize>, Walk)> {
        let mut out = Vec::new();
        for (i, p) in self.nested.placed.iter().enumerate() {
            let part = &self.parts[p.part];
            out.push((i, None, Walk::new(&part.outline.placed(p.placement))));
            for (h, hole) in part.holes.iter().enumerate() {
                let circle = Outline::circle(hole.centre, hole.diameter / 2.0);
                out.push((i, Some(h), Walk::new(&circle.placed(p.placement))));
            }
        }
        out
    }
}

/// A grid of rectangles of 180 x 80 mm, each with a hole of 30 mm.
fn grid(columns: u32, rows: u32) -> Shop {
    let hole = Hole {
        centre: vec2(90.0, 40.0),
        diameter: 30.0,
    };
    let at = |c: u32, r: u32| {
        let shift = vec2(12.0 + 188.0 * f64::from(c), 12.0 + 88.0 * f64::from(r));
        (rectangle(180.0, 80.0), vec![hole], shift)
    };
    Shop::new(
        (0..rows)
            .flat_map(|r| (0..columns).map(move |c| (c, r)))
            .map(|(c, r)| at(c, r))
            .collect(),
    )
}

#[test]
fn leads_lie_in_the_waste_clear_of_all_and_off_corners() {
    for form in [LeadForm::Arc, LeadForm::Straight] {
        let mut shop = grid(5, 4);
        if let Some(leads) = &mut shop.rules.leads {
            leads.form = form;
        }
        let plan = shop.plan();
        assert_eq!(plan.figures.pierces, 40);
        assert!(plan.warnings.iter().all(|w| !w.contains("on the line")));
        let nets = shop.nets();
        for step in &plan.steps {
            let [cut] = &step.cuts[..] else {
                panic!("held")
            };
            let CutPath::Closed(way) = &cut.path else {
                panic!("open")
            };
            // The lead meets the path, and the waste lies on its left.
            assert!(cut.lead_in[1].at.distance(way.vertices[0].at) < 1e-9);
            assert!(way.area().signum() * if step.hole.is_some() { 1.0 } else { -1.0 } > 0.0);
            for p in points(&cut.lead_in, 0.2)
                .into_iter()
                .chain(points(&cut.lead_out, 0.2))
            {
                for (placed, hole, net) in &nets {
                    let own = *placed == step.placed && *hole == step.hole;
                    // Half the kerf, and the clearance to others.
                    let need = if own { 1.5 - 1e-4 } else { 2.5 };
                    let far = net.distance(p, 50.0);
                    assert!(far >= need, "{far} {own}");
                }
                assert!(p.x >= 2.5 && p.y >= 2.5, "off the sheet");
            }
            let start = way.vertices[0].at;
            if step.hole.is_none() {
                let shift = shop.nested.placed[step.placed].placement.shift;
                for corner in rectangle(180.0, 80.0).vertices {
                    assert!(start.distance(corner.at + shift) >= 10.0);
                }
            }
        }
    }
}

/// Holes of any size against leads of any length: none goes into the part.
#[test]
fn no_lead_of_a_hole_goes_into_the_part() {
    let diameters = [4.0, 9.0, 14.0, 40.0];
    for form in [LeadForm::Arc, LeadForm::Straight] {
        for (compensated, kerf) in [(false, 4.0), (false, 0.2), (true, 0.2), (true, 2.0)] {
            for length in [4.0, 8.0, 14.0, 26.0, 30.0] {
                let holes = (0..4_u8).map(|i| Hole {
                    centre: vec2(60.0 + 100.0 * f64::from(i), 60.0),
                    diameter: diameters[usize::from(i)],
                });
                let part = (rectangle(460.0, 120.0), holes.collect(), vec2(30.0, 30.0));
                let mut shop = Shop::new(vec![part]);
                (shop.rules.compensated, shop.rules.kerf) = (compensated, kerf);
                if let Some(leads) = &mut shop.rules.leads {
                    (leads.form, leads.length) = (form, length);
                }
                for step in &shop.plan().steps {
                    let (cut, Some(h)) = (&step.cuts[0], step.hole) else {
                        continue;
                    };
                    let hole = shop.parts[0].holes[h];
                    let centre = hole.centre + vec2(30.0, 30.0);
                    for lead in [&cut.lead_in, &cut.lead_out] {
                        for p in points(lead, 0.1) {
                            let out = p.distance(centre) - 0.5 * hole.diameter;
                            assert!(out < 0.021, "{form:?} {length} {kerf} {hole:?}: {out}");
                        }
                    }
                }
            }
        }
    }
}

#[test]
fn where_there_is_no_room_the_pierce_is_on_the_line_and_told() {
    // Two rectangles a kerf apart on a sheet that they fill.
    let mut shop = Shop::new(vec![
        (rectangle(180.0, 80.0), vec![], vec2(3.5, 3.5)),
        (rectangle(180.0, 80.0), vec![], vec2(186.5, 3.5)),
    ]);
    (shop.stock.length, shop.stock.width) = (370.0, 87.0);
    let plan = shop.plan();
    assert_eq!(plan.figures.pierces, 2);
    assert!(
        plan.warnings
            .iter()
            .any(|w| w.contains("on the line: P1, P2"))
    );
    assert!(plan.steps.iter().all(|s| s.cuts[0].lead_in.is_empty()));
}

#[test]
fn holes_come_before_their_profile_and_parts_in_holes_before_both() {
    let big = Hole {
        centre: vec2(250.0, 250.0),
        diameter: 300.0,
    };
    let small = |x: f64| Hole {
        centre: vec2(x, 40.0),
        diameter: 25.0,
    };
    let shop = Shop::new(vec![
        (
            rectangle(500.0, 500.0),
            vec![big, small(60.0), small(300.0)],
            vec2(20.0, 20.0),
        ),
        (
            rectangle(150.0, 100.0),
            vec![small(75.0)],
            vec2(200.0, 220.0),
        ),
    ]);
    let plan = shop.plan();
    let place = |placed: usize, hole: Option<usize>| {
        plan.steps
            .iter()
            .position(|s| (s.placed, s.hole) == (placed, hole))
            .unwrap()
    };
    assert_eq!(plan.steps.len(), 6);
    assert!(place(1, Some(0)) < place(1, None));
    for h in 0..3 {
        assert!(place(1, None) < place(0, Some(h)));
        assert!(place(0, Some(h)) < place(0, None));
    }
}

#[test]
fn the_order_skips_neighbours_and_saves_travel() {
    let shop = grid(9, 8);
    let plan = shop.plan();
    let order: Vec<usize> = plan
        .steps
        .iter()
        .filter(|s| s.hole.is_none())
        .map(|s| s.placed)
        .collect();
    let mut all = order.clone();
    all.sort_unstable();
    assert_eq!(all, (0..72).collect::<Vec<_>>());
    let beside = order
        .windows(2)
        .filter(|w| {
            let at = |i: usize| (w[i] % 9, w[i] / 9);
            let ((a, b), (c, d)) = (at(0), at(1));
            a.abs_diff(c) + b.abs_diff(d) == 1
        })
        .count();
    assert!(beside <= 3, "{beside} of 71 follow a neighbour");
    // In the listed order 63 of 71 follow a neighbour. Skipping them costs
    // less than the rule allows: 400 mm for each.
    let f = plan.figures;
    assert!(f.travel < f.travel_as_listed + 400.0 * 60.0);
    assert_eq!(plan, shop.plan());
    // Parts scattered far apart have no neighbours: the tour is only shorter.
    let far = Shop::new(
        (0..12u32)
            .map(|i| {
                let (x, y) = (i * 7 % 12 % 4, i * 5 % 12 / 4);
                let shift = vec2(40.0 + 450.0 * f64::from(x), 40.0 + 300.0 * f64::from(y));
                (rectangle(180.0, 80.0), vec![], shift)
            })
            .collect(),
    );
    let f = far.plan().figures;
    assert!(
        f.travel < 0.8 * f.travel_as_listed,
        "{} {}",
        f.travel,
        f.travel_as_listed
    );
}

#[test]
fn tabs_leave_their_width_of_metal_on_straight_edges() {
    let mut shop = grid(2, 1);
    let tabs = Tabs {
        below_kg: Some(2.0),
        below: None,
        count: 3,
        width: 4.0,
    };
    shop.rules.tabs = Some(tabs);
    let plan = shop.plan();
    assert_eq!(plan.figures.tabs, 6);
    for step in plan.steps.iter().filter(|s| s.hole.is_none()) {
        assert_eq!(step.cuts.len(), 3);
        for (k, cut) in step.cuts.iter().enumerate() {
            let CutPath::Open(line) = &cut.path else {
                panic!("whole")
            };
            let next = &step.cuts[(k + 1) % 3];
            let CutPath::Open(other) = &next.path else {
                panic!("whole")
            };
            // From where one cut ends to where the next begins: the tab, and
            // half a kerf of each cut's round end.
            let gap = line.last().unwrap().at.distance(other[0].at);
            assert!((gap - 4.0 - KERF).abs() < 1e-9, "{gap}");
        }
        let cut: f64 = step
            .cuts
            .iter()
            .map(|c| {
                let CutPath::Open(line) = &c.path else {
                    panic!("whole")
                };
                walk::open_length(line)
            })
            .sum();
        let round = 2.0 * (180.0 + 80.0) + 2.0 * PI * 1.5;
        assert!((cut - (round - 3.0 * 7.0)).abs() < 1e-6, "{cut}");
    }
    // Heavier parts are not held; a disc has no straight edge.
    shop.rules.tabs = Some(Tabs {
        below_kg: Some(0.5),
        ..tabs
    });
    assert_eq!(shop.plan().figures.tabs, 0);
    let mut disc = Shop::new(vec![(
        Outline::circle(vec2(60.0, 60.0), 50.0),
        vec![],
        vec2(20.0, 20.0),
    )]);
    disc.rules.tabs = Some(tabs);
    let plan = disc.plan();
    assert!(plan.figures.tabs == 0 && plan.warnings[0].contains("straight edge"));
}

#[test]
fn small_holes_are_drilled_or_refused_where_the_cut_does_not_fit() {
    let hole = |diameter: f64| Hole {
        centre: vec2(90.0, 40.0),
        diameter,
    };
    let mut shop = Shop::new(vec![(
        rectangle(180.0, 80.0),
        vec![hole(14.0)],
        vec2(20.0, 20.0),
    )]);
    // Plasma in 12.7 mm plate: 1.5 t is 19.05 mm.
    assert!((shop.rules.smallest_hole - 19.05).abs() < 1e-9);
    let plan = shop.plan();
    assert_eq!((plan.figures.small_holes, plan.figures.drilled), (1, 0));
    shop.rules.drill = true;
    let plan = shop.plan();
    assert_eq!((plan.steps.len(), plan.figures.drilled), (1, 1));
    assert!(plan.drills[0].centre.distance(vec2(110.0, 60.0)) < 1e-9);
    shop.rules.drill = false;
    shop.parts[0].holes = vec![hole(2.5)];
    let fault = shop.tried().unwrap_err();
    assert!(fault.what.contains("P1 hole 1") && fault.mend.contains("drill"));
    // At net size nothing is moved, and nothing refused.
    shop.rules.compensated = false;
    shop.rules.leads = None;
    assert!(shop.plan().plain);
}

// Closed form: one square of 100 mm cut net without leads.
#[test]
fn time_is_cut_and_pierces_and_travel() {
    let mut shop = Shop::new(vec![(rectangle(100.0, 100.0), vec![], vec2(30.0, 40.0))]);
    shop.rules = Rules {
        leads: None,
        compensated: false,
        speed: Some(1200.0),
        pierce_s: Some(2.0),
        travel: Some(6000.0),
        ..shop.rules
    };
    let f = shop.plan().figures;
    let travel = 50.0; // to the corner at 30, 40
    assert!((f.cut_length - 400.0).abs() < 1e-9 && (f.travel - travel).abs() < 1e-9);
    assert!((f.time_s.unwrap() - (20.0 + 2.0 + 0.5)).abs() < 1e-9);
    shop.rules.speed = None;
    assert_eq!(shop.plan().figures.time_s, None);
}

#[test]
fn a_profile_walked_and_begun_elsewhere_is_the_same_profile() {
    let net = quarter_ring(300.0, 500.0);
    let walk = Walk::new(&net);
    assert!((walk.length - net.perimeter()).abs() < 1e-9);
    assert_eq!(walk.corners(0.0).len(), 4);
    for k in 0..40 {
        let s = walk.length * f64::from(k) / 40.0;
        let begun = walk.begun(s);
        assert!((begun.area() - net.area()).abs() < 1e-6);
        assert!((begun.perimeter() - net.perimeter()).abs() < 1e-9);
        assert!(begun.vertices[0].at.distance(walk.at(s)) < 1e-9);
        let part = walk.stretch(s, 333.0);
        assert!((walk::open_length(&part) - 333.0).abs() < 1e-9);
        assert!(part.last().unwrap().at.distance(walk.at(s + 333.0)) < 1e-6);
    }
}
