//! Stanchions, joints, lists of things, sheets, cutting, prices and output.

use super::parse::{NONE_OR_MORE, THICK, WIDE, default_layers};
use super::table::{Table, above_zero_to, between};
use super::*;
use crate::fault::Kind;
use crate::length::{INCH, Show};

/// Longest piece, run or spacing that is believed, mm.
pub(super) const LONG: f64 = 100_000.0;

pub(super) fn stanchions(t: &Table<'_, '_>) -> Stanchions {
    let limit = t.length("spacing", between(100.0, LONG));
    let at = t.positions("at");
    if t.gives("spacing") && t.gives("at") {
        t.fault(
            Kind::Conflict,
            "at",
            "stanchions have both `spacing` and `at`",
            "give `spacing` for an even division, or `at` for a list of places",
        );
    } else if t.gives("at") && at.is_empty() && !t.reader.faulty().contains(&t.field("at")) {
        t.fault(
            Kind::Missing,
            "at",
            "`at` lists no place",
            "list the places, or give `spacing`",
        );
    }
    let stanchions = Stanchions {
        side: t.length_or("side", between(10.0, 500.0), 4.0 * INCH),
        wall: t.length_or("wall", above_zero_to(THICK), INCH / 4.0),
        alloy: t.alloy("alloy").unwrap_or_else(|| "6061-T6".to_owned()),
        spacing: if t.gives("at") {
            Spacing::At(at)
        } else {
            Spacing::Even(limit.unwrap_or(30.0 * INCH))
        },
        end_clearance: t.length_or("end_clearance", between(0.0, 5000.0), 6.0 * INCH),
        stand: t
            .choice(
                "stand",
                &[
                    ("plumb", Stand::Plumb),
                    ("square-to-sheer", Stand::SquareToSheer),
                ],
            )
            .unwrap_or(Stand::Plumb),
    };
    t.finish();
    stanchions
}

/// Weld gap and shrinkage are shop settings. 2 mm of gap and 1 mm of
/// shrinkage follow the figure that method statements quote for a butt in
/// 10 to 12 mm steel plate (Blodgett, 0.1 Aw/t); aluminium runs more.
pub(super) fn joints(t: &Table<'_, '_>) -> Joints {
    let joints = Joints {
        weld_gap: t.length_or("weld_gap", between(0.0, 20.0), 2.0),
        shrinkage: t.length_or("shrinkage", between(0.0, 20.0), 1.0),
        clear_of_stanchion: t.length_or("clear_of_stanchion", between(0.0, WIDE), 2.0 * INCH),
        stagger: t.length_or("stagger", between(0.0, 5000.0), 12.0 * INCH),
        longest_piece: t.length("longest_piece", between(300.0, LONG)),
        widest_piece: t.length("widest_piece", between(20.0, WIDE)),
        butts: t
            .choice(
                "butts",
                &[("few", ButtChoice::Few), ("nested", ButtChoice::Nested)],
            )
            .unwrap_or(ButtChoice::Few),
        base_butts: t.positions("base_butts"),
        top_butts: t.positions("top_butts"),
        lift_length: t.length("lift_length", between(500.0, LONG)),
        lift_mass: t.number("lift_mass_kg", between(5.0, 50_000.0), "kg"),
        lift_gap: t.length_or("lift_gap", between(0.0, 50.0), 3.0),
        closing_allowance: t.length_or("closing_allowance", between(0.0, 500.0), 50.0),
    };
    t.finish();
    joints
}

pub(super) fn doublers(tables: &[Table<'_, '_>], base: &Plate) -> Vec<Doubler> {
    let read = |t: &Table<'_, '_>| {
        let doubler = Doubler {
            name: t.text_needed("name"),
            at: t.position("at"),
            length: t.length_needed("length", between(20.0, 10_000.0)),
            width: t.length_needed("width", between(20.0, WIDE)),
            thickness: t.length_or("thickness", above_zero_to(THICK), base.thickness),
            alloy: t.alloy("alloy").unwrap_or_else(|| base.alloy.clone()),
        };
        t.finish();
        doubler
    };
    once_each(tables, tables.iter().map(read).collect(), |d| &d.name)
}

pub(super) fn keep_clear(tables: &[Table<'_, '_>]) -> Vec<KeepClear> {
    let read = |t: &Table<'_, '_>| {
        let clear = KeepClear {
            name: t.text_needed("name"),
            at: t.position("at"),
            length: t.length_needed("length", above_zero_to(10_000.0)),
        };
        t.finish();
        clear
    };
    once_each(tables, tables.iter().map(read).collect(), |k| &k.name)
}

pub(super) fn stretches(tables: &[Table<'_, '_>], what: &str) -> Vec<Stretch> {
    let read = |(i, t): (usize, &Table<'_, '_>)| {
        let stretch = Stretch {
            name: t
                .text("name")
                .unwrap_or_else(|| format!("{what} {}", i + 1)),
            from: t.position("from"),
            to: t.position("to"),
        };
        if stretch.from == stretch.to && !t.reader.faulty().iter().any(|f| f.starts_with(&t.name)) {
            t.fault(
                Kind::Conflict,
                "to",
                format!("{what} `{}` begins and ends at one place", stretch.name),
                "give two places",
            );
        }
        t.finish();
        stretch
    };
    once_each(tables, tables.iter().enumerate().map(read).collect(), |s| {
        &s.name
    })
}

/// Reports names that stand twice in a list.
pub(super) fn once_each<T>(
    tables: &[Table<'_, '_>],
    list: Vec<T>,
    name: impl Fn(&T) -> &String,
) -> Vec<T> {
    for (i, item) in list.iter().enumerate() {
        let earlier = list.iter().take(i).any(|other| name(other) == name(item));
        if let (true, Some(t), false) = (earlier, tables.get(i), name(item).is_empty()) {
            t.fault(
                Kind::Conflict,
                "name",
                format!("the name `{}` is used twice", name(item)),
                "give each its own name",
            );
        }
    }
    list
}

/// Prices; `elsewhere`: a sheet or a choice of stock has one too.
pub(super) fn prices(t: &Table<'_, '_>, sheets: &[Sheet], elsewhere: bool) -> Prices {
    let per_kg = by_alloy(t, sheets);
    let scrap = t.number("scrap_per_kg", NONE_OR_MORE, "");
    let weld = weld(&t.table("weld"));
    let cutting = t.number("cutting_per_hour", NONE_OR_MORE, "");
    let priced =
        per_kg.is_some() || scrap.is_some() || weld.is_some() || cutting.is_some() || elsewhere;
    let currency = t.text("currency").unwrap_or_default();
    if priced && currency.is_empty() {
        t.missing(
            "currency",
            "prices need their currency: add currency = \"USD\" or another",
        );
    }
    t.finish();
    Prices {
        currency,
        per_kg: per_kg.unwrap_or_default(),
        scrap_per_kg: scrap.unwrap_or(0.0),
        weld,
        cutting_per_hour: cutting,
    }
}

/// A price for each alloy named, from the table `per_kg` under `above`; `None`
/// where there is no such table. `sheets` are those that could be priced.
pub(super) fn by_alloy(
    above: &Table<'_, '_>,
    sheets: &[Sheet],
) -> Option<std::collections::BTreeMap<String, f64>> {
    let t = above.prices("per_kg", sheets.iter().map(|s| s.alloy.as_str()));
    if !t.present() {
        return None;
    }
    let mut prices = std::collections::BTreeMap::new();
    for name in t.names() {
        match stock::alloy(&name) {
            Ok(a) => {
                if let Some(price) = t.number_named(&name, NONE_OR_MORE) {
                    prices.insert(a.name.to_owned(), price);
                }
            }
            Err(e) => t.fault(Kind::Unknown, &name, e.what, e.mend),
        }
    }
    Some(prices)
}

/// What a weld costs: each of its figures is the shop's own.
fn weld(t: &Table<'_, '_>) -> Option<WeldPrice> {
    if !t.present() {
        return None;
    }
    let figure = |key: &'static str, unit: &str| {
        if !t.gives(key) {
            t.missing(
                key,
                "a weld is priced by all five figures, none of which is built in; 0 leaves one out",
            );
        }
        t.number(key, NONE_OR_MORE, unit).unwrap_or_default()
    };
    let price = WeldPrice {
        filler_per_kg: figure("filler_per_kg", ""),
        filler_kg_per_m: figure("filler_kg_per_m", "kg/m"),
        labour_per_hour: figure("labour_per_hour", ""),
        minutes_per_m: figure("minutes_per_m", "min/m"),
        prep_minutes_per_butt: figure("prep_minutes_per_butt", "min"),
    };
    t.finish();
    Some(price)
}

/// Output settings, and the outline tolerance in mm.
pub(super) fn output(t: &Table<'_, '_>, show: Show) -> (Output, f64) {
    let apart = match show {
        Show::Mm => 250.0,
        Show::FeetInches => 12.0 * INCH,
    };
    let outline = t.length_or(
        "outline_tolerance",
        between(0.001, 1.0),
        Tolerance::default().outline_mm,
    );
    let output = Output {
        dxf: t
            .choice(
                "dxf",
                &[("R2000", DxfVersion::R2000), ("R12", DxfVersion::R12)],
            )
            .unwrap_or(DxfVersion::R2000),
        dxf_units: t
            .choice("dxf_units", &[("mm", DxfUnits::Mm), ("in", DxfUnits::In)])
            .unwrap_or(DxfUnits::Mm),
        ordinate_spacing: t.length_or("ordinate_spacing", between(10.0, 5000.0), apart),
        letter_height: t.length_or("letter_height", between(3.0, 200.0), 25.0),
        layers: layers(&t.table("layers")),
    };
    t.finish();
    (output, outline)
}

fn layers(t: &Table<'_, '_>) -> std::collections::BTreeMap<String, LayerStyle> {
    let mut layers = default_layers();
    let mut used: Vec<String> = Vec::new();
    for plain in LAYER_NAMES {
        let one = t.table(plain);
        let name = one.text("name").unwrap_or_else(|| plain.to_owned());
        // Release 12 allows 31 of these characters.
        let sound = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
        if name.is_empty() || name.len() > 31 || !name.chars().all(sound) {
            one.fault(
                Kind::Range,
                "name",
                format!("`{name}` is not a layer name"),
                "use 1 to 31 letters, digits, - and _",
            );
        } else if used.iter().any(|u| u.eq_ignore_ascii_case(&name)) {
            one.fault(
                Kind::Conflict,
                "name",
                format!("two layers are named `{name}`"),
                "give each layer its own name",
            );
        }
        used.push(name.clone());
        let colour = one.number("colour", between(1.0, 255.0), "");
        let whole = (1..=255u8).find(|&c| colour.is_none_or(|v| f64::from(c) >= v));
        if let (Some(c), Some(v)) = (whole, colour)
            && f64::from(c) > v
        {
            one.fault(
                Kind::Range,
                "colour",
                format!("colour {v} is not whole"),
                "write a whole number from 1 to 255",
            );
        }
        one.finish();
        let colour = colour.and(whole).unwrap_or(7);
        layers.insert(plain.to_owned(), LayerStyle { name, colour });
    }
    t.finish();
    layers
}
