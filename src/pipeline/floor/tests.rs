//! Floor sheets of a round stern, of the demo and of a transom in feet and
//! inches: every name is there and legible, nothing lies on another or off
//! the page, and lengths are to scale.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use kurbo::{Affine, Rect};

use super::super::tests::straight_side;
use super::super::{Group, Shaped, nest, shape};
use super::*;
use crate::drawing::Shape;
use crate::drawing::floor::{FloorSheet, Stand, Stroke};
use crate::geom::{Outline, Vec2, vec2};
use crate::job::{Effort, parse};
use crate::layout::{MemberKind, SectionCut};
use crate::length::fine;
use crate::page::{Ink, Packet, Page};

/// Least height of capitals, mm.
const LEAST: f64 = 2.5;

/// A job below the top folder with what came of it.
struct Made {
    job: Job,
    shaped: Shaped,
}

impl Made {
    fn of(folder: &str, change: impl Fn(String) -> String) -> Self {
        let top = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        let read = |name: &str| std::fs::read_to_string(top.join(name)).expect("a file");
        let text = change(read("job.toml"));
        let job = parse(&text, "job.toml", "").unwrap_or_else(|f| panic!("{f}"));
        let tables: Vec<_> = (job.survey.files.iter())
            .map(|f| (f.clone(), read(&f.path)))
            .collect();
        let shaped = shape(&job, &tables).unwrap_or_else(|f| panic!("{f}"));
        Self { job, shaped }
    }

    fn all() -> Vec<Self> {
        let folders = ["fixtures/good", "demo-hull", "fixtures/transom"];
        folders.map(|f| Self::of(f, |t| t)).into()
    }

    fn title(&self) -> Title<'_> {
        Title {
            job: &self.job,
            doubts: doubted_notice(&self.shaped.survey, &self.shaped.edge.doubts),
        }
    }

    fn cuts(&self) -> Vec<SectionCut> {
        sections(&self.shaped.edge, &self.job, &self.shaped.layout).expect("sections")
    }

    /// The drawings, without nested sheets.
    fn sheets(&self) -> Vec<FloorSheet> {
        let along = along(&self.shaped.edge, &self.job).expect("chains");
        let boat = Boat {
            job: &self.job,
            edge: &self.shaped.edge,
            layout: &self.shaped.layout,
            along: &along,
            sections: &self.cuts(),
            nests: &[],
        };
        floor_sheets(&boat, self.title().room())
    }

    fn pages(&self) -> FloorPages {
        floor_pages(&self.job, &self.shaped, &[]).expect("pages")
    }

    fn parts(&self) -> impl Iterator<Item = &str> {
        self.shaped.parts.iter().map(|p| p.part.name.as_str())
    }
}

/// Words of a page.
fn words(page: &Page) -> impl Iterator<Item = (&str, Rect, f64)> {
    page.ink().filter_map(|ink| match ink {
        Ink::Words { text, height, .. } => Some((text.as_str(), ink.bounds(), *height)),
        _ => None,
    })
}

/// What is wrong with pages: words on words, too small, ink off the page.
fn wrong(packet: &Packet) -> Vec<String> {
    let mut out = Vec::new();
    for page in &packet.pages {
        let all: Vec<_> = words(page).collect();
        for (k, (text, r, height)) in all.iter().enumerate() {
            if *height < LEAST {
                out.push(format!("{}: `{text}` is {height} high", page.label));
            }
            for (other, o, _) in &all[..k] {
                if r.x0 < o.x1 && o.x0 < r.x1 && r.y0 < o.y1 && o.y0 < r.y1 {
                    out.push(format!("{}: `{text}` lies on `{other}`", page.label));
                }
            }
        }
        let outside = |r: Rect| page.printable.union(r) != page.printable;
        for ink in page.ink().filter(|i| outside(i.bounds())) {
            out.push(format!("{}: off the page: {ink:?}", page.label));
        }
    }
    out
}

fn times(pages: &[&Page], name: &str) -> usize {
    let all = pages.iter().flat_map(|p| words(p));
    all.filter(|(text, ..)| *text == name).count()
}

#[test]
fn every_name_is_there_once_and_nothing_lies_on_another_or_off_the_page() {
    for made in Made::all() {
        let FloorPages { packet, left_out } = made.pages();
        assert_eq!(left_out, [], "{}", made.job.name);
        assert_eq!(wrong(&packet), Vec::<String>::new(), "{}", made.job.name);
        let of = |name: &str| -> Vec<&Page> {
            let all = packet.pages.iter();
            all.filter(|p| p.label.starts_with(name)).collect()
        };
        let (boat, strips, list) = (of("boat"), of("strips"), of("stanchions"));
        for name in made.parts() {
            assert_eq!(times(&boat, name), 1, "{name} on the boat");
            assert_eq!(times(&strips, name), 1, "{name} on the strips");
        }
        for s in &made.shaped.layout.stanchions {
            assert!(times(&boat, &s.name) >= 1, "{} on the boat", s.name);
            assert_eq!(times(&strips, &s.name), 1, "{} on the strips", s.name);
            assert_eq!(times(&list, &s.name), 1, "{} in the table", s.name);
        }
        for form in ["butt", "lift", "mitre"] {
            use crate::layout::JointForm::{Butt, Lift, Mitre};
            let kind = [("butt", Butt), ("lift", Lift), ("mitre", Mitre)];
            let kind = kind.into_iter().find(|k| k.0 == form).expect("a form").1;
            let joints = &made.shaped.layout.joints;
            let count = joints.iter().filter(|j| j.form == kind).count();
            assert_eq!(times(&strips, form), count, "{form}");
        }
    }
}

#[test]
fn what_is_wrong_with_a_page_is_found() {
    let made = Made::of("fixtures/good", |t| t);
    let spoilt = |change: &dyn Fn(&mut Page)| {
        let mut packet = made.pages().packet;
        change(&mut packet.pages[0]);
        wrong(&packet)
    };
    assert!(spoilt(&|_| ()).is_empty());
    let off = spoilt(&|p| p.map(Affine::translate((3.0, 0.0))));
    assert!(off.iter().any(|w| w.contains("off the page")), "{off:?}");
    // Letters keep their size where their places come nearer to each other.
    let near = spoilt(&|p| p.map(Affine::scale_about(0.7, p.printable.center())));
    assert!(near.iter().any(|w| w.contains("lies on")), "{near:?}");
    let small = spoilt(&|p| {
        for ink in p.blocks.iter_mut().flat_map(|b| &mut b.ink) {
            if let Ink::Words { height, .. } = ink {
                *height *= 0.9;
            }
        }
    });
    assert!(small.iter().any(|w| w.contains("high")), "{small:?}");
}

/// Lengths of level edges of plates on the strips, mm of paper.
fn level_edges(sheets: &[FloorSheet]) -> Vec<f64> {
    let lines = sheets.iter().filter(|s| s.name.starts_with("strips"));
    let of = |(stroke, shape): &(Stroke, Shape)| match shape {
        Shape::Stroke(p) if *stroke == Stroke::Edge => {
            let (a, b) = (p.first()?, p.last()?);
            ((a.y - b.y).abs() < 1e-9).then_some((b.x - a.x).abs())
        }
        _ => None,
    };
    lines.flat_map(|s| &s.lines).filter_map(of).collect()
}

#[test]
fn plates_rolled_out_are_as_long_as_their_edges_to_scale() {
    for made in Made::all() {
        let sheets = made.sheets();
        let strips = sheets
            .iter()
            .find(|s| s.name == "strips 1")
            .expect("a sheet");
        let scale = strips.scale.expect("a scale");
        let edges = level_edges(&sheets);
        let plates = || {
            made.shaped
                .parts
                .iter()
                .filter(|p| p.part.kind != MemberKind::Doubler)
        };
        let whole = |scale: f64| {
            let long = |p: &crate::part::Part| (p.net_edge_length + p.allowance) * scale;
            plates()
                .filter(|p| edges.iter().any(|e| (e - long(&p.part)).abs() < 1e-3))
                .count()
        };
        // Those over the ends of rows are in two.
        let all = plates().count();
        assert!(whole(scale) * 2 >= all, "{} of {all}", whole(scale));
        assert!(whole(scale * 1.001) < all / 4);
    }
}

#[test]
fn the_plan_is_to_scale_and_a_straight_side_is_a_rectangle() {
    let (job, shaped) = straight_side();
    let made = Made { job, shaped };
    let sheets = made.sheets();
    let boat = &sheets[0];
    let scale = boat.scale.expect("a scale");
    let sizes: Vec<Vec2> = (boat.lines.iter())
        .filter_map(|(stroke, shape)| match shape {
            Shape::Profile(o) if *stroke == Stroke::Edge => Some(o.bounds()),
            _ => None,
        })
        .map(|(lo, hi)| hi - lo)
        .collect();
    let bases = || {
        made.shaped
            .parts
            .iter()
            .filter(|p| p.part.kind == MemberKind::BasePlate)
    };
    assert_eq!(sizes.len(), bases().count());
    for base in bases() {
        let want = vec2(base.part.net_edge_length, 180.0) * scale;
        let found = sizes.iter().any(|s| s.distance(want) < 1e-6);
        assert!(found, "{want:?} is not in {sizes:?}");
    }
}

/// A straight level side without lean, bedding or planking: 180 x 12.7 on the
/// board, 130 x 12.7 below 800, the tube of 101.6 between, all square.
#[test]
fn a_section_of_a_straight_side_is_made_of_rectangles() {
    let (job, shaped) = straight_side();
    let made = Made { job, shaped };
    let cuts = made.cuts();
    // Slope and lean are the same everywhere: the first and the last stanchion.
    assert_eq!(cuts.len(), 2, "{cuts:?}");
    for cut in &cuts {
        let is = |corners: [Vec2; 4], lo: Vec2, hi: Vec2| {
            let want = [lo, vec2(hi.x, lo.y), hi, vec2(lo.x, hi.y)];
            for (a, b) in corners.into_iter().zip(want) {
                assert!(a.distance(b) < 1e-6, "{corners:?} {want:?}");
            }
        };
        is(cut.base, vec2(0.0, 0.0), vec2(180.0, 12.7));
        is(cut.top, vec2(0.0, 787.3), vec2(130.0, 800.0));
        is(cut.tube, vec2(0.0, 12.7), vec2(101.6, 787.3));
        assert!(cut.met.is_empty() && cut.lean.abs() < 1e-9 && cut.slope.abs() < 1e-9);
    }
}

#[test]
fn a_section_is_shown_where_the_job_asks() {
    let asks = |name: &str| {
        let (mut job, shaped) = straight_side();
        job.floor_sections = vec![name.to_owned()];
        sections(&shaped.edge, &job, &shaped.layout)
    };
    let cuts = asks("3p").expect("sections");
    let why: Vec<_> = cuts
        .iter()
        .map(|c| (c.stanchion.name.as_str(), c.why.last()))
        .collect();
    assert_eq!(cuts.len(), 3);
    assert_eq!(why[2], ("3P", Some(&"as the job asks")));
    // One that is there already has one reason more.
    let cuts = asks("1P").expect("sections");
    assert_eq!(
        (cuts.len(), cuts[0].why.last()),
        (2, Some(&"as the job asks"))
    );
    let fault = asks("33P").expect_err("no such stanchion").to_string();
    assert!(fault.contains("there is no stanchion `33P`") && fault.contains("did you mean"));
}

/// What lies in the planking at a stanchion is what the layout warns of.
#[test]
fn corners_in_the_planking_are_those_that_are_warned_of() {
    let made = Made::of("fixtures/transom", |t| t);
    let cuts = made.cuts();
    let first = cuts
        .iter()
        .find(|c| c.stanchion.name == "1P")
        .expect("the foremost");
    let (what, _, depth) = (first.met.iter())
        .find(|m| m.0.contains("head"))
        .expect("its head meets the planking");
    let told = format!("{what} lies up to {}", fine(*depth, made.job.show));
    let warnings = &made.shaped.layout.warnings;
    assert!(
        warnings.iter().any(|w| w.contains(&told)),
        "{told}: {warnings:?}"
    );
    // With room behind it nothing is marked.
    let roomy = |t: String| {
        t.replace("weld_setback = \"1/16 in\"", "weld_setback = \"1/4 in\"")
            .replace("cap_width = \"8 in\"", "cap_width = \"9 in\"")
    };
    let free = Made::of("fixtures/transom", roomy);
    assert!(free.cuts().iter().all(|c| c.met.is_empty()));
}

#[test]
fn every_size_and_angle_of_a_section_is_told() {
    let made = Made::of("fixtures/transom", |t| t);
    let sheets = made.sheets();
    let said: Vec<&str> = (sheets.iter())
        .filter(|s| s.name.starts_with("sections"))
        .flat_map(|s| s.tags.iter().map(|t| t.text.as_str()))
        .collect();
    for want in [
        "inset 3/8 in",
        "planking 1 in",
        "set-back 1/16 in",
        "base plate 7 in wide",
        "base plate 3/8 in thick",
        "bedding 1/8 in",
        "top plate 5 in",
        "inwale 3/4 in",
        "cap 8 in wide",
        "cap 1 1/2 in thick",
        "tube 3 in square,",
        "2 ft high as faired",
    ] {
        assert!(said.contains(&want), "{want} is not in {said:?}");
    }
    let angle = crate::quantity::Quantity::Angle;
    for cut in made.cuts() {
        let st = &cut.stanchion;
        for rad in [
            cut.slope,
            cut.lean,
            st.lean,
            st.foot_cut.rise_inboard,
            st.head_cut.rise_inboard,
        ] {
            let told = angle.told(rad.abs(), made.job.show);
            assert!(said.iter().any(|s| s.contains(&told)), "{told}");
        }
    }
}

/// Sheets of a nest as `files` draws them.
fn nested(made: &Made) -> Vec<Group> {
    let groups = nest(
        &made.job,
        &made.shaped,
        Effort::Quick,
        &|_, _| (),
        &AtomicBool::new(false),
    );
    groups.unwrap_or_else(|f| panic!("{f}"))
}

#[test]
fn a_nested_sheet_names_its_parts_in_order_and_what_to_check_first() {
    let made = Made::of("fixtures/transom", |t| t);
    let groups = nested(&made);
    let output = super::super::files(&made.job, &made.shaped, &groups).expect("files");
    let pdf = output.files.get("floor-sheets.pdf").expect("floor sheets");
    assert!(pdf.starts_with(b"%PDF-"));
    let group = &groups[0];
    let parts: Vec<&crate::part::Part> = (group.parts.iter())
        .map(|&i| &made.shaped.parts[i].part)
        .collect();
    let masses = vec![1.0; parts.len()];
    let nested = &group.nest.sheets[0];
    let view = SheetView {
        job: &made.job,
        name: "sheet-1",
        number: (1, 1),
        stock: &made.job.sheets[0],
        nested,
        parts: &parts,
        masses_kg: &masses,
        cut: None,
    };
    let pages = floor_pages(&made.job, &made.shaped, &[view]).expect("pages");
    assert_eq!(wrong(&pages.packet), Vec::<String>::new());
    let page = pages.packet.pages.last().expect("the sheet");
    assert_eq!(page.label, "sheet-1");
    let said: Vec<&str> = words(page).map(|w| w.0).collect();
    let names: Vec<&str> = (nested.placed.iter())
        .map(|p| parts[p.part].name.as_str())
        .collect();
    for name in &names {
        assert_eq!(said.iter().filter(|s| *s == name).count(), 1, "{name}");
    }
    let listed = |(k, name): (usize, &&str)| format!("{} {name}", k + 1);
    let order: Vec<String> = names.iter().enumerate().map(listed).collect();
    let order = format!("Order of the parts: {}", order.join(",  "));
    let joined = said.join(" ");
    let plain = |t: &str| t.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(plain(&joined).contains(&plain(&order)), "{order}: {joined}");
    let first = format!("Check the first part, {},", names[0]);
    assert!(joined.contains(&first), "{joined}");
    // Each name lies on its part.
    let sheets = floor_sheets(
        &Boat {
            job: &made.job,
            edge: &made.shaped.edge,
            layout: &made.shaped.layout,
            along: &along(&made.shaped.edge, &made.job).expect("chains"),
            sections: &[],
            nests: &[FloorNest {
                view,
                check: String::new(),
            }],
        },
        made.title().room(),
    );
    let sheet = sheets.last().expect("the sheet");
    let outlines: Vec<&Outline> = (sheet.lines.iter())
        .filter_map(|(stroke, shape)| match shape {
            Shape::Profile(o) if *stroke == Stroke::Edge => Some(o),
            _ => None,
        })
        .collect();
    for (name, outline) in names.iter().zip(outlines) {
        let on = |t: &&crate::drawing::floor::Tag| t.stand == Stand::Over && t.text == *name;
        let tag = sheet.tags.iter().find(on).expect("a name");
        let (lo, hi) = outline.bounds();
        assert!(tag.at.x > lo.x && tag.at.x < hi.x && tag.at.y > lo.y && tag.at.y < hi.y);
    }
}
