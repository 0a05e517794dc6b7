//! Fixed points, and directions at the ends.

use super::*;
use crate::geom::Vec3;
use crate::geom::bspline::Spline;

/// A curve that no low polynomial meets, with errors.
fn rough(n: u32) -> Vec<Vec3> {
    let mut dice = Dice(3);
    hull(n)
        .into_iter()
        .map(|p| p + vec3(0.0, dice.within(-1.5, 1.5), dice.within(-1.5, 1.5)))
        .collect()
}

#[test]
fn a_point_of_tolerance_0_is_passed_through() {
    let places = rough(40);
    for fixed in [0, 7, 20, 40] {
        let mut points = survey(places.clone());
        points.chains[0].points[fixed].tolerance = Some(0.0);
        let edge = fair(&points, &job(1.6, 6.0)).expect("fair");
        let fit = &edge.chains[0].points[fixed];
        let off = fit.base_out.abs().max(fit.base_up.abs());
        assert!(off < 0.01, "point {fixed} is off by {off} mm");
        let others = edge.chains[0].points.iter().filter(|f| f.index != fixed);
        assert!(others.fold(0.0, |m: f64, f| m.max(f.base_out.abs())) > 0.1);
    }
}

/// Angle of the base and top lines to the centreline at port's fore end, rad.
fn at_stem(edge: &FairEdge) -> [f64; 2] {
    let l = only(edge);
    let angle = |c: &Spline<3>| {
        let t = frame(c, c.basis.range().0).tangent;
        trig::atan2(t.y, -t.x)
    };
    [angle(&l.base), angle(&l.top)]
}

#[test]
fn both_lines_meet_the_stem_at_the_angle_given() {
    let free = at_stem(&fair(&survey(rough(40)), &job(1.6, 6.0)).expect("fair"));
    for degrees in [-4.0_f64, 0.0, 3.0] {
        let mut job = job(1.6, 6.0);
        job.fairing.stem_angle = Some(free[0] + degrees.to_radians());
        let edge = fair(&survey(rough(40)), &job).expect("fair");
        let want = free[0] + degrees.to_radians();
        for got in at_stem(&edge) {
            assert!((got - want).abs() < 1e-6, "{degrees}: {got} {want}");
        }
        // Starboard's fore end is the chain's last.
        let l = only(&edge);
        let t = frame(&l.base, l.range().1).tangent;
        let starboard = trig::atan2(t.y, t.x);
        assert!((starboard - want).abs() < 1e-6, "{starboard} {want}");
    }
}

#[test]
fn a_curve_that_meets_its_angle_already_stays() {
    // The ellipse of `hull` has this angle at both its ends.
    let angle = trig::atan(2300.0 / 8000.0);
    let free = fair(&survey(hull(60)), &job(1.6, 6.0)).expect("fair");
    let mut held = job(1.6, 6.0);
    held.fairing.stem_angle = Some(angle);
    let held = fair(&survey(hull(60)), &held).expect("fair");
    let mut most = 0.0_f64;
    let (a, b) = (only(&free), only(&held));
    for q in steps(0.0, 1.0, 50) {
        // Square to the line: along it, both run at a speed of nearly 1.
        let at = |l: &FairLength| frame(&l.base, l.range().0 + (l.range().1 - l.range().0) * q);
        let (f, g) = (at(a), at(b));
        let off = (g.at.plan() - f.at.plan()).dot(f.tangent.left()).abs();
        let along = (g.at.plan() - f.at.plan()).dot(f.tangent);
        let up = (g.at.z - f.at.z - f.grade * along).abs();
        most = most.max(off).max(up);
    }
    println!("moved by {most:.4} mm");
    assert!(most < 0.02, "{most} mm");
}

#[test]
fn an_angle_holds_with_tolerance_0_and_the_points_stay() {
    let mut job = job(0.0, 6.0);
    let places = hull(40);
    let own = at_stem(&fair(&survey(places.clone()), &job).expect("fair"))[0];
    job.fairing.stem_angle = Some(own + 0.02);
    let edge = fair(&survey(places), &job).expect("fair");
    let got = at_stem(&edge)[0];
    assert!((got - own - 0.02).abs() < 1e-6, "{got} {own}");
    for fit in &edge.chains[0].points {
        let off = fit.base_out.abs().max(fit.base_up.abs());
        assert!(off < 0.01, "{}: {off} mm", fit.name);
    }
}

#[test]
fn three_points_cannot_meet_an_angle() {
    let mut job = job(1.6, 6.0);
    job.fairing.stem_angle = Some(0.3);
    let places = [0.0, 1.0, 2.0].map(|k| vec3(-1000.0 * k, 500.0 + 300.0 * k, 900.0));
    let f = fair(&survey(places), &job).expect_err("too few");
    assert!(f.0[0].mend.contains("stem_angle_deg"), "{f}");
}
