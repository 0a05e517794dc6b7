//! The whole boat to scale: the base plates in plan, and both sides in
//! profile, all with the bow to the right.

use super::super::model::bounds;
use super::input::{Boat, short};
use super::model::{FloorSheet, LEAST_LETTER, NAME, Stand, Stroke, largest};
use crate::geom::{Vec2, Vec3, vec2};
use crate::job::Side;
use crate::layout::{EdgeMarkKind, Feature, Joint, JointForm, Member, MemberKind};

/// Room for words about a view, mm of paper: above and below, and at both ends.
const AIR: (f64, f64) = (8.0, 6.0);
/// Chords of a plate's edge, mm of boat: a hundredth of a millimetre on paper
/// off a radius of a metre at 1:20.
const CHORD: f64 = 60.0;
/// Room that a stanchion's number asks for along the edge, mm of paper.
const NUMBER_ROOM: f64 = 6.0;
/// Length of a tick, mm of paper.
const TICK: f64 = 1.6;

/// One view: how places in space lie on it, and where it is on paper.
struct View<'a> {
    flat: &'a dyn Fn(Vec3) -> Vec2,
    lo: Vec2,
    at: Vec2,
    scale: f64,
}

impl View<'_> {
    fn place(&self, p: Vec3) -> Vec2 {
        self.at + ((self.flat)(p) - self.lo) * self.scale
    }
}

/// Draws the boat in a room of this size, mm of paper.
pub(super) fn boat_sheet(boat: &Boat<'_>, room: Vec2) -> FloorSheet {
    let plan = |p: Vec3| vec2(p.x, p.y);
    let profile = |p: Vec3| vec2(p.x, p.z);
    let sides = [Side::Port, Side::Starboard];
    let all: Vec<Vec3> = boat.members().flat_map(edges).collect();
    let (lo, hi) = bounds(all.iter().map(|&p| plan(p)));
    let mut views: Vec<(Option<Side>, Vec2, Vec2)> = vec![(None, lo, hi)];
    for side in sides {
        let (a, b) = bounds(all.iter().filter(|p| on(p, side)).map(|&p| profile(p)));
        if b.x > a.x {
            let at = if side == Side::Port { 0 } else { views.len() };
            views.insert(at, (Some(side), vec2(lo.x, a.y), vec2(hi.x, b.y)));
        }
    }
    let tall = |s: f64| -> f64 {
        let each = views.iter().map(|v| (v.2.y - v.1.y) * s + 2.0 * AIR.0);
        each.sum()
    };
    let scale = largest(boat.job.show, |s| {
        (hi.x - lo.x) * s + 2.0 * AIR.1 <= room.x && tall(s) <= room.y
    });
    let mut sheet = FloorSheet {
        name: "boat".to_owned(),
        heading: "The boat: plan of the base plates, and both sides in profile".to_owned(),
        scale: Some(scale),
        shows: "Plan of the base plates and doublers with their names, stanchions with \
                their numbers, butts, lift joints, gates and stations; and both sides \
                in profile with the top plates' names. The bow is to the right."
            .to_owned(),
        ..FloorSheet::default()
    };
    let left = (room.x - (hi.x - lo.x) * scale) / 2.0;
    let spare = (room.y - tall(scale)) / views.len() as f64;
    let mut upper = room.y;
    for (side, lo, hi) in &views {
        let height = (hi.y - lo.y) * scale;
        upper -= AIR.0 + spare / 2.0;
        let view = View {
            flat: if side.is_some() { &profile } else { &plan },
            lo: *lo,
            at: vec2(left, upper - height),
            scale,
        };
        match side {
            Some(side) => profile_view(&mut sheet, boat, &view, *side),
            None => plan_view(&mut sheet, boat, &view),
        }
        upper -= height + AIR.0 + spare / 2.0;
    }
    sheet
}

/// True of a place on that side of the boat.
fn on(p: &Vec3, side: Side) -> bool {
    (p.y >= 0.0) == (side == Side::Port)
}

/// Places round a member's middle surface.
fn edges(member: &Member) -> Vec<Vec3> {
    around(member, 0.0)
}

/// Places round a member, `above` its middle, first along its outboard edge.
fn around(member: &Member, above: f64) -> Vec<Vec3> {
    let mut out = edge(member, 0.0, above);
    let mut back = edge(member, 1.0, above);
    back.reverse();
    out.append(&mut back);
    out
}

/// Places along an edge of a member.
fn edge(member: &Member, w: f64, above: f64) -> Vec<Vec3> {
    let (a, b) = (member.strip.cuts[0].at(w), member.strip.cuts[1].at(w));
    let n = ((b - a) / CHORD).ceil().max(1.0);
    let mut out = Vec::new();
    let mut k = 0.0;
    while k <= n {
        let t = a + (b - a) * k / n;
        out.push(member.strip.guide.face(t, w, above).point);
        k += 1.0;
    }
    out
}

fn plan_view(sheet: &mut FloorSheet, boat: &Boat<'_>, view: &View<'_>) {
    let place = |p: Vec3| view.place(p);
    for m in boat.members().filter(|m| m.kind != MemberKind::TopPlate) {
        let stroke = match m.kind {
            MemberKind::Doubler => Stroke::Thin,
            _ => Stroke::Edge,
        };
        let corners: Vec<Vec2> = edges(m).into_iter().map(place).collect();
        sheet.shape(stroke, &corners);
    }
    for m in boat.members().filter(|m| m.kind == MemberKind::BasePlate) {
        for feature in &m.features {
            if let Feature::Footprint { corners, .. } = feature {
                let at = |&(t, w): &(f64, f64)| place(m.strip.guide.jet(t, w).point);
                let corners: Vec<Vec2> = corners.iter().map(at).collect();
                sheet.shape(Stroke::Solid, &corners);
            }
        }
    }
    // A mitre is drawn by the ends of its plates.
    let across = |j: &&Joint| j.form != JointForm::Mitre;
    for joint in boat.joints_of(MemberKind::BasePlate).filter(across) {
        let (out, inn) = boat.across(joint, 0.0, 1.0);
        let (out, inn) = (place(out), place(inn));
        let over = (out - inn).unit() * TICK;
        sheet.line(Stroke::Thin, out + over, inn - over);
        if joint.form == JointForm::Lift {
            let stand = Stand::By(-over.unit());
            sheet.tag("lift", LEAST_LETTER, inn - over, stand);
        }
    }
    // Inboard of each plate its name, outboard the stanchions' numbers.
    for m in boat.members().filter(|m| m.kind != MemberKind::TopPlate) {
        let t = 0.5 * (m.strip.cuts[0].at(0.5) + m.strip.cuts[1].at(0.5));
        let jet = m.strip.guide.jet(t, 1.0);
        let inboard = m.strip.guide.tangent(t).left();
        let height = match m.kind {
            MemberKind::Doubler => LEAST_LETTER,
            _ => NAME,
        };
        let at = place(jet.point);
        sheet.tag(m.name.clone(), height, at, Stand::By(inboard));
    }
    // Where they stand too close for their numbers, the rolled-out plates have
    // them all.
    let edge: f64 = boat
        .layout
        .runs
        .iter()
        .filter(|r| r.kind == MemberKind::BasePlate)
        .map(|r| r.edge_length_mm)
        .sum();
    let roomy = edge * view.scale >= NUMBER_ROOM * boat.layout.stanchions.len() as f64;
    for s in boat.stanchions() {
        let outboard = -boat.inboard(s.chain, s.t);
        let stand = if roomy {
            Stand::By(outboard)
        } else {
            Stand::MayBy(outboard)
        };
        let at = place(s.foot) + outboard * 0.5;
        sheet.tag(s.name.clone(), LEAST_LETTER, at, stand);
    }
    marks(sheet, boat, view, None);
    middle(sheet, boat, view);
}

/// The centreline and which way is forward.
fn middle(sheet: &mut FloorSheet, boat: &Boat<'_>, view: &View<'_>) {
    let all: Vec<Vec3> = boat.members().flat_map(edges).collect();
    let (lo, hi) = bounds(all.iter().map(|p| p.plan()));
    if lo.y > 0.0 || hi.y < 0.0 {
        return;
    }
    let at = |x: f64| view.place(Vec3 { x, y: 0.0, z: 0.0 });
    let (a, b) = (at(lo.x), at(hi.x));
    sheet.line(Stroke::Centre, a - vec2(4.0, 0.0), b + vec2(6.0, 0.0));
    let words = at(0.5 * (lo.x + hi.x));
    let tip = words + vec2(22.0, 4.0);
    sheet.line(Stroke::Thin, tip - vec2(18.0, 0.0), tip);
    let barb = [vec2(-3.0, 0.9), vec2(0.0, 0.0), vec2(-3.0, -0.9)];
    sheet.shape(Stroke::Solid, &barb.map(|p| tip + p));
    sheet.tag(
        "FORWARD",
        LEAST_LETTER,
        tip + vec2(1.5, 0.0),
        Stand::By(vec2(1.0, 0.0)),
    );
    for (words, y) in [
        ("PORT", 11.0),
        ("STARBOARD", -6.0),
        (
            "Black squares: stanchions. Ticks outboard: stations; dashes: kept clear, as freeing ports.",
            -12.0,
        ),
        (
            "A line across: butt; marked lift: a lift joint, not welded.",
            -17.0,
        ),
        (
            "A line beside it: what a closing piece is left long.",
            -22.0,
        ),
    ] {
        let place = at(0.5 * (lo.x + hi.x)) + vec2(0.0, y);
        sheet.tag(words, LEAST_LETTER, place, Stand::On);
    }
}

/// Stations as ticks and gates by their names, of one side or of both.
fn marks(sheet: &mut FloorSheet, boat: &Boat<'_>, view: &View<'_>, side: Option<Side>) {
    for (chain, mark) in boat.marks() {
        if side.is_some_and(|s| s != mark.side) {
            continue;
        }
        let middle = 0.5 * (mark.from + mark.to);
        let at = view.place(boat.edge_point(chain, middle));
        let way = match side {
            Some(_) => vec2(0.0, -1.0),
            None => -boat.inboard(chain, middle),
        };
        match mark.kind {
            EdgeMarkKind::Station => {
                sheet.line(Stroke::Thin, at, at + way * TICK);
                if side.is_some() {
                    let tag = Stand::MayBy(way);
                    sheet.tag(short(&mark.name), LEAST_LETTER, at + way * TICK, tag);
                }
            }
            EdgeMarkKind::Gate => {
                let way = if side.is_some() { vec2(0.0, 1.0) } else { -way };
                sheet.tag(short(&mark.name), LEAST_LETTER, at, Stand::By(way));
            }
            EdgeMarkKind::KeptClear if side.is_some() => {
                let ends = [mark.from, mark.to].map(|t| view.place(boat.edge_point(chain, t)));
                let up = vec2(0.0, 0.35 * boat.job.bulwark.height * view.scale);
                let corners = [ends[0], ends[1], ends[1] + up, ends[0] + up];
                let raised = corners.map(|p| p + vec2(0.0, 1.0));
                let closed = [raised[0], raised[1], raised[2], raised[3], raised[0]];
                sheet.stroke(Stroke::Dashed, closed.to_vec());
                let name = short(&mark.name);
                let over = at + up + vec2(0.0, 1.0);
                sheet.tag(name, LEAST_LETTER, over, Stand::By(vec2(0.0, 1.0)));
            }
            EdgeMarkKind::KeptClear => {
                let off = |k: i32| {
                    let t = mark.from + (mark.to - mark.from) * f64::from(k) / 8.0;
                    let way = -boat.inboard(chain, t);
                    (view.place(boat.edge_point(chain, t)), way)
                };
                let [first, last] = [off(0).0, off(8).0];
                let beside = (0..=8).map(off).map(|(p, way)| p + way * TICK);
                let run = [first].into_iter().chain(beside).chain([last]).collect();
                sheet.stroke(Stroke::Dashed, run);
            }
        }
    }
}

fn profile_view(sheet: &mut FloorSheet, boat: &Boat<'_>, view: &View<'_>, side: Side) {
    let place = |p: Vec3| view.place(p);
    // Of a plate that goes round the stern what lies on this side.
    let here = |p: &Vec3| on(p, side);
    for m in boat.members().filter(|m| m.kind != MemberKind::Doubler) {
        let half = m.thickness / 2.0;
        let along = |above: f64| edge(m, 0.0, above).into_iter().filter(here).map(place);
        let corners: Vec<Vec2> = along(half).chain(along(-half).rev()).collect();
        if corners.len() > 2 {
            sheet.shape(Stroke::Solid, &corners);
        }
    }
    for s in boat.stanchions().filter(|s| s.side == Some(side)) {
        let along = boat.inboard(s.chain, s.t).left().at_height(0.0);
        let half = along * (boat.job.stanchions.side / 2.0);
        for h in [half, -half] {
            sheet.line(Stroke::Thin, place(s.foot + h), place(s.head + h));
        }
        let middle = [half, -half].map(|h| place((s.foot + s.head) * 0.5 + h));
        let middle = vec2(middle[0].x.max(middle[1].x), middle[0].y);
        sheet.tag(
            s.name.clone(),
            LEAST_LETTER,
            middle,
            Stand::MayBy(vec2(1.0, 0.0)),
        );
    }
    for kind in [MemberKind::BasePlate, MemberKind::TopPlate] {
        for joint in boat.joints_of(kind) {
            let at = boat.across(joint, 0.0, 0.0).0;
            if joint.form == JointForm::Mitre || !on(&at, side) {
                continue;
            }
            let at = place(at);
            sheet.line(Stroke::Thin, at - vec2(0.0, TICK), at + vec2(0.0, TICK));
            if joint.form == JointForm::Lift {
                let way = if kind == MemberKind::TopPlate {
                    1.0
                } else {
                    -1.0
                };
                let tip = at + vec2(0.0, TICK * way);
                sheet.tag("lift", LEAST_LETTER, tip, Stand::By(vec2(0.0, way)));
            }
        }
    }
    for m in boat
        .members()
        .filter(|m| m.side == side && m.kind == MemberKind::TopPlate)
    {
        let t = 0.5 * (m.strip.cuts[0].at(0.0) + m.strip.cuts[1].at(0.0));
        let at = place(m.strip.guide.face(t, 0.0, m.thickness / 2.0).point);
        sheet.tag(m.name.clone(), NAME, at, Stand::By(vec2(0.0, 1.0)));
    }
    marks(sheet, boat, view, Some(side));
    let words = match side {
        Side::Port => "PORT, SEEN FROM INBOARD",
        Side::Starboard => "STARBOARD, SEEN FROM OUTBOARD",
    };
    sheet.tag(words, LEAST_LETTER, vec2(0.0, view.at.y - 6.0), Stand::At);
}
