//! The cuts of a sheet in the order in which they are made.

use super::model::{Drawing, Layer, Shape};
use super::part::put_profile;
use crate::cut::{Cut, CutPath, Plan};
use crate::geom::Vertex;
use crate::nest::NestedSheet;
use crate::part::Part;

/// Crosses at the centres of holes to drill, then the cuts in their order, each
/// lead-in, path, lead-out: the leads on a layer of their own, or joined to the
/// path.
pub(super) fn put_cuts(
    drawing: &mut Drawing,
    plan: &Plan,
    nested: &NestedSheet,
    parts: &[&Part],
    joined: bool,
) {
    for drill in &plan.drills {
        for stroke in drill.cross() {
            drawing.put(Layer::Mark, Shape::Stroke(stroke.to_vec()));
        }
    }
    for step in &plan.steps {
        if plan.plain {
            let placed = nested.placed[step.placed];
            put_profile(drawing, parts[placed.part], placed.placement, step.hole);
            continue;
        }
        let layer = match step.hole {
            Some(_) => Layer::Hole,
            None => Layer::Cut,
        };
        for cut in &step.cuts {
            if joined && cut.lead_in.len() + cut.lead_out.len() > 0 {
                drawing.put(layer, Shape::Line(in_one(cut)));
                continue;
            }
            let path = match &cut.path {
                CutPath::Closed(path) => Shape::Profile(path.clone()),
                CutPath::Open(path) => Shape::Line(path.clone()),
            };
            let lead = |line: &Vec<Vertex>| (Layer::Lead, Shape::Line(line.clone()));
            let has = |line: &&Vec<Vertex>| line.len() > 1;
            let lead_in = Some(&cut.lead_in).filter(has).map(lead);
            let lead_out = Some(&cut.lead_out).filter(has).map(lead);
            for (layer, shape) in lead_in.into_iter().chain([(layer, path)]).chain(lead_out) {
                drawing.put(layer, shape);
            }
        }
    }
}

/// A cut from its pierce to its end as one line.
fn in_one(cut: &Cut) -> Vec<Vertex> {
    let mut path = match &cut.path {
        CutPath::Open(path) => path.clone(),
        CutPath::Closed(profile) => {
            let back = profile
                .vertices
                .first()
                .map(|v| Vertex { bulge: 0.0, ..*v });
            profile.vertices.iter().copied().chain(back).collect()
        }
    };
    // A lead and the path share the place where they meet: the piece that
    // leaves it says how it bends.
    let mut line = cut.lead_in.clone();
    for next in [&mut path, &mut cut.lead_out.clone()] {
        if !next.is_empty() {
            line.pop();
            line.append(next);
        }
    }
    line
}
