//! Sets of parts to nest, from JSON. Two forms: a job (`min_separation`,
//! `edge_margin`, `stock` of `id`, `w`, `h`, `qty`; `items` of `id`, `poly`,
//! `demand`) and a strip set (`strip_height`; `items` of `id`, `outline`,
//! `quantity`, `angles_deg`), which gets one sheet of that height, twice as
//! long as its area needs.

use std::error::Error;

use planksheer::geom::{Outline, vec2};
use planksheer::job::{Effort, Rotation, Sheet};
use planksheer::length::Show;
use planksheer::nest::{NestJob, NestPart};
use serde_json::Value;

pub(crate) type Outcome<T> = Result<T, Box<dyn Error>>;

fn number(v: &Value, key: &str) -> Outcome<f64> {
    v[key]
        .as_f64()
        .ok_or_else(|| format!("no number {key}").into())
}

fn count(v: &Value, key: &str) -> Outcome<usize> {
    Ok(usize::try_from(
        v[key].as_u64().ok_or(format!("no count {key}"))?,
    )?)
}

fn profile(points: &Value) -> Outcome<Outline> {
    let list = points.as_array().ok_or("no list of points")?;
    let mut out = Vec::new();
    for p in list {
        let (x, y) = (p[0].as_f64().ok_or("no x")?, p[1].as_f64().ok_or("no y")?);
        out.push(vec2(x, y));
    }
    let outline = Outline::polygon(&out);
    Ok(if outline.area() < 0.0 {
        outline.reversed()
    } else {
        outline
    })
}

/// Reads a job or a strip set.
pub(crate) fn read(text: &str, effort: Effort) -> Outcome<NestJob> {
    let v: Value = serde_json::from_str(text)?;
    let items = v["items"].as_array().ok_or("no items")?;
    let strip = v["strip_height"].as_f64();
    let (shape, quantity) = if strip.is_some() {
        ("outline", "quantity")
    } else {
        ("poly", "demand")
    };
    let mut parts = Vec::new();
    for item in items {
        let outline = profile(&item[shape])?;
        for k in 0..count(item, quantity)? {
            parts.push(NestPart {
                name: format!("{}-{}", item["id"].as_str().unwrap_or("part"), k + 1),
                outline: outline.clone(),
                holes: Vec::new(),
            });
        }
    }
    let sheet = |name: &str, length: f64, width: f64, quantity: Option<usize>| Sheet {
        name: name.to_owned(),
        length,
        width,
        thickness: 12.7,
        alloy: "5086-H116".to_owned(),
        quantity,
        shape: None,
        clamps: Vec::new(),
        remnant: None,
        price: None,
    };
    let mut sheets = Vec::new();
    let (mut gap, mut edge_margin, mut rotation) = (0.0, 0.0, Rotation::Free);
    if let Some(height) = strip {
        let area: f64 = parts.iter().map(|p| p.outline.area()).sum();
        sheets.push(sheet("strip", 2.0 * area / height, height, None));
        let angles = items[0]["angles_deg"].as_array().ok_or("no angles")?.len();
        rotation = Rotation::Steps(std::f64::consts::TAU / angles.max(1) as f64);
    } else {
        gap = number(&v, "min_separation")?;
        edge_margin = number(&v, "edge_margin")?;
        for s in v["stock"].as_array().ok_or("no stock")? {
            let id = s["id"].as_str().unwrap_or("sheet");
            sheets.push(sheet(
                id,
                number(s, "w")?,
                number(s, "h")?,
                Some(count(s, "qty")?),
            ));
        }
    }
    Ok(NestJob {
        parts,
        sheets,
        gap,
        edge_margin,
        rotation,
        effort,
        seed: 1,
        slack: 0.001,
        show: Show::Mm,
        price_per_area: None,
        scrap_per_area: 0.0,
    })
}
