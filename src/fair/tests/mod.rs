//! Tests of the stage: closed forms and published figures, recovery from
//! rounding, slopes, invariance, faults.

mod alike;
mod ends;
mod exact;
mod expected;
mod faults;
mod invariance;
mod published;
mod recovery;
mod reference;
mod slopes;
mod tops;

use std::collections::BTreeMap;

use super::*;
use crate::geom::Vec3;
use crate::geom::{trig, vec3};
use crate::job::Job;
use crate::job::{
    Bulwark, ButtChoice, DxfUnits, DxfVersion, EndStyle, Fairing, HeightFrom, HeightTo, Joints,
    Output, Places, Plate, Prices, Remnants, Section, Side, Sides, Spacing, Stanchions, Stand,
    Stern, SurveyJob, SurveyedLine, TopSlope,
};
use crate::length::{Show, Unit};
use crate::sample::{self, Dice};
use crate::survey::Chain;
use crate::survey::End;
use crate::survey::Point;
use crate::survey::Survey;
use crate::tolerance::Tolerance;

/// A job with everything set plainly: no insets, height 800 mm, no lean.
fn job(base: f64, top: f64) -> Job {
    let plate = Plate {
        width: 180.0,
        thickness: 12.7,
        alloy: "5086-H116".to_owned(),
    };
    Job {
        file: "job.toml".to_owned(),
        places: Places::default(),
        name: "test".to_owned(),
        date: String::new(),
        note: String::new(),
        show: Show::Mm,
        survey: SurveyJob {
            files: Vec::new(),
            unit: Unit::Mm,
            show: Show::Mm,
            stations_aft: false,
            accuracy: base,
            estimate: None,
            line: SurveyedLine::OutsideOfPlanking,
            mirrored: false,
            stern: Stern::Round,
            stem: EndStyle::Square,
            round_up: None,
            slope: Some(0.0),
            datum: None,
            verdicts: Vec::new(),
        },
        fairing: free(base, top),
        check: crate::job::Check::default(),
        bulwark: Bulwark {
            height: 800.0,
            height_from: HeightFrom::CoveringBoard,
            height_to: HeightTo::TopPlate,
            lean: 0.0,
        },
        base: plate.clone(),
        bedding: 3.0,
        top: Plate {
            width: 130.0,
            ..plate
        },
        top_slope: TopSlope::Level,
        section: Section {
            planking: 0.0,
            planking_inset: 0.0,
            weld_setback: 0.0,
            inwale: 25.0,
            cap_width: 203.2,
            cap_thickness: 44.5,
            overhang_outboard: 20.0,
            overhang_inboard: 20.0,
        },
        stanchions: Stanchions {
            side: 101.6,
            wall: 6.35,
            alloy: "6061-T6".to_owned(),
            spacing: Spacing::Even(1000.0),
            end_clearance: 200.0,
            stand: Stand::Plumb,
        },
        base_fasteners: None,
        top_fasteners: None,
        joints: Joints {
            weld_gap: 2.0,
            shrinkage: 1.0,
            clear_of_stanchion: 100.0,
            stagger: 300.0,
            longest_piece: None,
            widest_piece: None,
            butts: ButtChoice::Few,
            base_butts: Vec::new(),
            top_butts: Vec::new(),
            lift_length: None,
            lift_mass: None,
            lift_gap: 3.0,
            closing_allowance: 50.0,
        },
        sheets: Vec::new(),
        cutting: sample::cutting(),
        remnants: Remnants {
            least: 500.0,
            narrowest: 150.0,
        },
        prices: Prices::default(),
        estimate: vec![],
        output: Output {
            dxf: DxfVersion::R2000,
            dxf_units: DxfUnits::Mm,
            layers: BTreeMap::new(),
            ordinate_spacing: 300.0,
            letter_height: 25.0,
        },
        tolerance: Tolerance::default(),
        ..sample::job()
    }
}

/// Both tolerances, mm, and free ends.
fn free(base: f64, top: f64) -> Fairing {
    Fairing {
        base,
        top,
        stem_angle: None,
        stern_angle: None,
        sides: Sides::Own,
    }
}

fn point(at: Vec3, line: usize) -> Point {
    Point {
        at,
        side: if at.y >= 0.0 {
            Side::Port
        } else {
            Side::Starboard
        },
        file: "survey.csv".to_owned(),
        line,
        name: format!("point {line}"),
        height: None,
        lean: None,
        slope: None,
        tolerance: None,
        knuckle: false,
        pass: 0,
        booked: crate::survey::Booked::default(),
    }
}

fn survey(places: impl IntoIterator<Item = Vec3>) -> Survey {
    let points = places.into_iter().zip(2..).map(|(p, l)| point(p, l));
    Survey {
        chains: vec![Chain {
            points: points.collect(),
            start: End::Square,
            end: End::Square,
        }],
        ..Survey::default()
    }
}

/// The only length of the only chain.
fn only(edge: &FairEdge) -> &FairLength {
    assert_eq!(edge.chains.len(), 1);
    assert_eq!(edge.chains[0].lengths.len(), 1);
    &edge.chains[0].lengths[0]
}

/// n + 1 places from a to b, both included.
fn steps(a: f64, b: f64, n: u32) -> impl Iterator<Item = f64> + Clone {
    (0..=n).map(move |k| a + (b - a) * f64::from(k) / f64::from(n))
}

/// Rounded to the nearest multiple of `step`.
fn rounded(v: f64, step: f64) -> f64 {
    (v / step).round() * step
}

/// A boat's edge from port bow round the stern to starboard bow, symmetric: an
/// ellipse of 16 m by 4.6 m cut off forward, with a parabolic sheer lowest aft of
/// its middle; points closer round the stern.
fn hull(n: u32) -> Vec<Vec3> {
    let end = 0.25 * std::f64::consts::PI;
    steps(end, 2.0 * std::f64::consts::PI - end, n)
        .map(|a| {
            let (x, y) = (8000.0 * trig::cos(a), 2300.0 * trig::sin(a));
            let f = (x + 1500.0) / 8000.0;
            vec3(x, y, 1200.0 + 500.0 * f * f)
        })
        .collect()
}
