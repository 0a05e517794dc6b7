//! A small made-up job, part and nest, by hand, for tests.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use crate::geom::trig::{cos, sin, tan};
use crate::geom::{Outline, Placement, Vec2, Vertex, vec2};
use crate::job::*;
use crate::layout::{Face, MemberKind};
use crate::length::{Show, Unit};
use crate::nest::{Nest, NestJob, NestPart, NestedSheet, Placed};
use crate::part::{BendLine, Hole, Label, Mark, MarkKind, Ordinate, Part, PartFrame};
use crate::tolerance::Tolerance;

/// Radii of the ring sector, mm, and its angle, rad: area
/// (R^2 - r^2) angle / 2, perimeter (R + r) angle + 2 (R - r).
pub(crate) const RING: (f64, f64, f64) = (2000.0, 1820.0, PI / 6.0);

fn surveyed() -> SurveyJob {
    SurveyJob {
        files: vec![],
        unit: Unit::Mm,
        show: Show::Mm,
        stations_aft: false,
        accuracy: 1.6,
        estimate: None,
        line: SurveyedLine::CoveringBoardEdge,
        mirrored: true,
        stern: Stern::Open,
        stem: EndStyle::Square,
        round_up: None,
        slope: None,
        datum: None,
        verdicts: Vec::new(),
    }
}

/// A job with one size of sheet.
pub(crate) fn job() -> Job {
    let plate = |width| Plate {
        width,
        thickness: 12.7,
        alloy: "5086-H116".into(),
    };
    Job {
        file: "job.toml".into(),
        places: Places::default(),
        name: "Sample boat".into(),
        date: "2026-02-03".into(),
        note: "An invented hull.".into(),
        show: Show::Mm,
        survey: surveyed(),
        fairing: Fairing {
            base: 1.6,
            top: 12.0,
            stem_angle: None,
            stern_angle: None,
            sides: Sides::Own,
        },
        check: Check::default(),
        bulwark: Bulwark {
            height: 700.0,
            height_from: HeightFrom::CoveringBoard,
            height_to: HeightTo::TopPlate,
            lean: 0.0,
        },
        base: plate(180.0),
        bedding: 2.0,
        top: plate(130.0),
        top_slope: TopSlope::Level,
        section: Section {
            planking: 38.0,
            planking_inset: 0.0,
            weld_setback: 3.0,
            inwale: 0.0,
            cap_width: 203.0,
            cap_thickness: 44.0,
            overhang_outboard: 12.0,
            overhang_inboard: 12.0,
        },
        cap: Cap {
            longest_piece: None,
            widest_piece: None,
            scarf: 8.0,
        },
        stanchions: Stanchions {
            side: 101.6,
            wall: 6.35,
            alloy: "6061-T6".into(),
            spacing: Spacing::Even(900.0),
            end_clearance: 150.0,
            stand: Stand::Plumb,
        },
        base_fasteners: None,
        top_fasteners: None,
        joints: Joints {
            weld_gap: 3.0,
            shrinkage: 1.0,
            clear_of_stanchion: 100.0,
            stagger: 300.0,
            longest_piece: None,
            widest_piece: None,
            butts: ButtChoice::Few,
            base_butts: vec![],
            top_butts: vec![],
            lift_length: None,
            lift_mass: None,
            lift_gap: 3.0,
            closing_allowance: 50.0,
        },
        doublers: vec![],
        keep_clear: vec![],
        runs: vec![],
        gaps: vec![],
        sheets: vec![sheet()],
        cutting: cutting(),
        remnants: Remnants {
            least: 200.0,
            narrowest: 60.0,
        },
        prices: Prices {
            currency: "USD".into(),
            per_kg: BTreeMap::from([("5086-H116".into(), 9.0)]),
            scrap_per_kg: 1.5,
            weld: None,
            cutting_per_hour: None,
        },
        estimate: vec![],
        output: output(DxfVersion::R2000, DxfUnits::Mm),
        paper: Paper::usual(Show::Mm),
        floor_paper: Paper::floor(Show::Mm),
        floor_sections: Vec::new(),
        tolerance: Tolerance::default(),
    }
}

/// Cutting settings of the sample job: net size, no leads.
pub(crate) fn cutting() -> Cutting {
    Cutting {
        process: "plasma".into(),
        kerf: 2.0,
        gap: 8.0,
        edge_margin: 10.0,
        rotation: Rotation::Free,
        effort: Effort::Quick,
        seed: 1,
        paths: Paths::Net,
        leads: None,
        small_holes: SmallHoles::Cut,
        smallest_hole: None,
        speed: None,
        pierce_s: None,
        travel: None,
        marking: None,
        drill_s: 45.0,
        tabs: None,
    }
}

/// Output settings with plain layers.
pub(crate) fn output(dxf: DxfVersion, dxf_units: DxfUnits) -> Output {
    Output {
        dxf,
        dxf_units,
        layers: BTreeMap::new(),
        ordinate_spacing: 250.0,
        letter_height: 25.0,
    }
}

/// A sheet of 2 m by 1 m.
pub(crate) fn sheet() -> Sheet {
    Sheet {
        name: "2 x 1 m".into(),
        length: 2000.0,
        width: 1000.0,
        thickness: 12.7,
        alloy: "5086-H116".into(),
        quantity: None,
        price: None,
        shape: None,
        clamps: Vec::new(),
        remnant: None,
    }
}

/// A ring sector lying with its chord along x: two arcs, two straight ends,
/// two holes of 12 mm, two marks, a label.
pub(crate) fn ring_sector(name: &str) -> Part {
    let (outer, inner, angle) = RING;
    let half = angle / 2.0;
    // Centre under the middle of the chord; the inner corners on y = 0.
    let centre = vec2(outer * sin(half), -inner * cos(half));
    let at = |r: f64, a: f64| centre + vec2(r * sin(a), r * cos(a));
    let bulge = tan(angle / 4.0);
    let corner = |at: Vec2, bulge: f64| Vertex { at, bulge };
    let hole = |a: f64| Hole {
        centre: at((outer + inner) / 2.0, a),
        diameter: 12.0,
    };
    let bend = |k: f64| {
        let a = half - angle * k;
        BendLine {
            along: outer * angle * k,
            places: [0.0, 0.25, 0.5, 0.75, 1.0].map(|w| at(outer + (inner - outer) * w, a)),
            curvature: 2e-5,
            twist: 1e-5,
            turn: 2.5e-9,
            stretch: 4e-8,
            shift: vec2(1e-5, 2e-5),
        }
    };
    Part {
        name: name.into(),
        kind: MemberKind::BasePlate,
        alloy: "5086-H116".into(),
        thickness: 12.7,
        face: Face::Upper,
        place: "port, sta 1000 mm to 2000 mm".into(),
        outline: Outline {
            vertices: vec![
                corner(at(inner, -half), -bulge),
                corner(at(inner, half), 0.0),
                corner(at(outer, half), bulge),
                corner(at(outer, -half), 0.0),
            ],
        },
        holes: vec![hole(-0.1), hole(0.15)],
        marks: vec![Mark {
            kind: MarkKind::Station,
            along: vec2(1.0, 0.0),
            strokes: vec![
                vec![at(inner + 5.0, 0.0), at(outer - 5.0, 0.0)],
                vec![at(1900.0, 0.05), at(1930.0, 0.05), at(1930.0, 0.07)],
            ],
        }],
        labels: vec![Label {
            at: at(1880.0, -0.05),
            height: 20.0,
            angle: 0.0,
            lines: vec![name.into(), "base plate".into()],
        }],
        caption: None,
        ordinates: vec![
            Ordinate {
                x: 0.0,
                lower: 0.0,
                upper: 10.0,
                corners: [true; 2],
            },
            Ordinate {
                x: 250.0,
                lower: 12.5,
                upper: 190.25,
                corners: [false; 2],
            },
        ],
        bends: (0..=22).map(|k| bend(f64::from(k) / 22.0)).collect(),
        stretch: -1.2e-5,
        stretch_at: vec2(500.0, 90.0),
        stress_mpa: 0.85,
        net_edge_length: outer * angle,
        allowance: 0.0,
        frame: PartFrame {
            mirrored: false,
            placement: Placement::IDENTITY,
        },
        left_out: vec![],
    }
}

/// Two ring sectors on one sheet.
pub(crate) struct Nested {
    /// The job.
    pub(crate) job: Job,
    /// Its parts.
    pub(crate) parts: Vec<Part>,
    /// What was nested.
    pub(crate) nest_job: NestJob,
    /// How it came out.
    pub(crate) nest: Nest,
}

/// Two ring sectors, B1 as it lies and B2 turned half round above it.
pub(crate) fn nested() -> Nested {
    let job = job();
    let parts = vec![ring_sector("B1"), ring_sector("B2")];
    let (lo, hi) = parts[0].outline.bounds();
    let place = |turn: f64, shift: Vec2| Placement { turn, shift };
    let nest_job = NestJob {
        parts: parts
            .iter()
            .map(|p| NestPart {
                name: p.name.clone(),
                outline: p.outline.clone(),
                holes: Vec::new(),
            })
            .collect(),
        sheets: job.sheets.clone(),
        gap: job.cutting.gap,
        edge_margin: job.cutting.edge_margin,
        rotation: job.cutting.rotation,
        effort: job.cutting.effort,
        seed: 1,
        price_per_area: None,
        scrap_per_area: 0.0,
        slack: 0.001,
        show: Show::Mm,
    };
    let placed = vec![
        Placed {
            part: 0,
            placement: place(0.0, vec2(10.0, 10.0) - lo),
        },
        Placed {
            part: 1,
            placement: place(PI, vec2(10.0, 300.0) + hi),
        },
    ];
    Nested {
        job,
        parts,
        nest_job,
        nest: Nest {
            sheets: vec![NestedSheet::new(0, placed)],
        },
    }
}

impl Nested {
    /// The drawing of a sheet.
    pub(crate) fn sheet_drawing(&self, index: usize) -> crate::drawing::Drawing {
        let nested = &self.nest.sheets[index];
        let parts: Vec<&Part> = self.parts.iter().collect();
        crate::drawing::sheet_drawing(&crate::drawing::SheetView {
            job: &self.job,
            name: "sheet-1",
            number: (index + 1, self.nest.sheets.len()),
            stock: &self.nest_job.sheets[nested.stock],
            nested,
            parts: &parts,
            masses_kg: &[6.0, 6.0],
            cut: None,
        })
    }
}

/// A small generator of even numbers in 0..1 (SplitMix64, Steele, Lea & Flood 2014).
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        (z >> 11) as f64 / (1_u64 << 53) as f64
    }
    pub(crate) fn within(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * self.next()
    }
    /// Even within plus and minus `a`.
    pub(crate) fn even(&mut self, a: f64) -> f64 {
        a * (2.0 * self.next() - 1.0)
    }
}
