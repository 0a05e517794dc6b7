//! Rows of a table to measured points.

use super::columns::Columns;
use super::lines::{Cell, Line, table};
use super::model::{Booked, Point, SlopeGiven};
use super::taken::{Context, RowKind, Taken, kind_of_code};
use crate::fault::{Fault, Kind, Place, keep_first};
use crate::geom::{Vec3, vec3};
use crate::job::{HEIGHTS, STEEP_DEG, Side, TableForm, length_kind};
use crate::length::{Round, parse_cell, show, told_unrounded};

/// Steepest covering board, rise per unit: 45 degrees.
pub(super) const STEEP: f64 = 1.0;

/// The rows of a table in its order; every fault is added. Rows at fault, and
/// rows of a list that the job ignores, are left out.
pub(super) fn read_table(context: &Context<'_>, text: &str, faults: &mut Vec<Fault>) -> Vec<Taken> {
    let path = context.file.path.as_str();
    let Some((header, rows)) = table(text, path, "", faults) else {
        return Vec::new();
    };
    let columns = Columns::read(context.file, &header, faults);
    if columns.broken {
        return Vec::new();
    }
    let sided = context.file.side.is_some()
        || columns.index("side").is_some()
        || context.file.form == TableForm::List;
    if !sided && !context.job.mirrored {
        faults.push(Fault::new(
            Kind::Missing,
            Place::file(path).line(header.number).field("side"),
            "neither a column nor the job says which side this is",
            "add a column `side`, or side = \"port\" to this [[survey.file]]",
        ));
        return Vec::new();
    }
    let from = faults.len();
    let taken = (rows.iter())
        .filter_map(|line| {
            keep_first(faults, from);
            row(context, &columns, line, faults)
        })
        .collect();
    column_over(faults, from, rows.len());
    taken
}

/// Rows over the centreline are one fault where most of a side, two in five of
/// the table, are: a column is wrong, not a row.
fn column_over(faults: &mut Vec<Fault>, from: usize, rows: usize) {
    let over = |f: &Fault| f.kind == Kind::Conflict && f.place.field.as_deref() == Some("y");
    let count: usize = (faults[from..].iter().filter(|f| over(f)))
        .map(Fault::count)
        .sum();
    let Some(first) = faults[from..].iter().position(over).filter(|_| count > 2) else {
        return;
    };
    if 5 * count < 2 * rows {
        return;
    }
    let place = faults[from + first].place.clone();
    let earlier = faults.drain(from..).filter(|f| !over(f));
    let others: Vec<Fault> = earlier.collect();
    faults.push(Fault::new(
        Kind::Conflict,
        place,
        format!(
            "{count} of {rows} rows lie over the centreline from their side: is the sign of y turned, or are `y` and `z` exchanged?"
        ),
        "y is positive to port on both sides and z is the height: turn the sign, or exchange the names in the header",
    ));
    faults.extend(others);
}

fn row(
    context: &Context<'_>,
    columns: &Columns,
    line: &Line,
    faults: &mut Vec<Fault>,
) -> Option<Taken> {
    let before = faults.len();
    if line.cells.len() != columns.count {
        let column = line.cells.get(columns.count).map(|c| c.column);
        let mut place = Place::file(context.file.path.as_str()).line(line.number);
        place.column = column.or(line.cells.last().map(|c| c.column));
        faults.push(Fault::new(
            Kind::Syntax,
            place,
            format!(
                "the row has {} cells and the header {}",
                line.cells.len(),
                columns.count
            ),
            "give every column its cell, empty if it has no value",
        ));
        return None;
    }
    let mut row = Row {
        context,
        columns,
        line,
        side: None,
        faults,
    };
    let taken = row.taken();
    let clean = faults.len() == before;
    taken.filter(|_| clean)
}

struct Row<'a> {
    context: &'a Context<'a>,
    columns: &'a Columns,
    line: &'a Line,
    side: Option<Side>,
    faults: &'a mut Vec<Fault>,
}

impl Row<'_> {
    /// The cell of a column, if it is there and not empty.
    fn cell(&self, name: &'static str) -> Option<Cell> {
        let cell = self.line.cells.get(self.columns.index(name)?)?;
        (!cell.text.is_empty()).then(|| cell.clone())
    }

    fn fault(
        &mut self,
        kind: Kind,
        name: &'static str,
        what: impl Into<String>,
        mend: impl Into<String>,
    ) {
        let mut place = Place::file(self.context.file.path.as_str())
            .line(self.line.number)
            .field(name);
        place.column = self
            .columns
            .index(name)
            .and_then(|i| self.line.cells.get(i))
            .map(|c| c.column);
        place.station = Some(self.station());
        self.faults.push(Fault::new(kind, place, what, mend));
    }

    /// The row's place on the boat, as people say it.
    fn station(&self) -> String {
        let at = match self.context.file.form {
            TableForm::Offsets => "station",
            _ => "x",
        };
        let booked = self.cell(at).map_or("?".to_owned(), |c| c.text);
        let side = self.side.map(|s| format!("{}, ", s.name()));
        let side = side.unwrap_or_default();
        format!("{side}{at} {booked}")
    }

    fn length(&mut self, name: &'static str) -> Option<f64> {
        let cell = self.cell(name)?;
        match parse_cell(&cell.text, self.context.unit()) {
            Ok(mm) => Some(mm),
            Err(e) => {
                self.fault(length_kind(e.wrong), name, e.what, e.mend);
                None
            }
        }
    }

    fn length_needed(&mut self, name: &'static str) -> Option<f64> {
        if self.cell(name).is_none() {
            self.fault(
                Kind::Missing,
                name,
                format!("`{name}` is empty"),
                "every row needs it: measure it, or take the row out",
            );
        }
        self.length(name)
    }

    /// A length between bounds, mm.
    fn length_within(&mut self, name: &'static str, least: f64, most: f64) -> Option<f64> {
        let mm = self.length(name)?;
        if mm < least || mm > most {
            let told = |mm: f64, round| told_unrounded(mm, self.context.job.show, round);
            let what = format!("`{name}` is {}", told(mm, Round::Nearest));
            let (least, most) = (told(least, Round::Up), told(most, Round::Down));
            let mend = format!("it must be from {least} to {most}");
            self.fault(Kind::Range, name, what, mend);
            return None;
        }
        Some(mm)
    }

    /// A plain number between bounds.
    fn number(&mut self, name: &'static str, limit: f64, unit: &str) -> Option<f64> {
        let cell = self.cell(name)?;
        match cell.text.parse::<f64>() {
            Ok(v) if v.is_finite() && v.abs() <= limit => return Some(v),
            Ok(_) => {
                let what = format!("`{name}` is {}", cell.text);
                self.fault(
                    Kind::Range,
                    name,
                    what,
                    format!("it must be from -{limit} to {limit}{unit}"),
                );
            }
            Err(_) => {
                let what = format!("`{}` is not a number", cell.text);
                self.fault(Kind::Syntax, name, what, "write a plain decimal number");
            }
        }
        None
    }

    fn taken(&mut self) -> Option<Taken> {
        let list = self.context.file.form == TableForm::List;
        let kind = if list { self.kind()? } else { RowKind::Edge };
        if kind == RowKind::Ignored {
            return None;
        }
        self.side = self.read_side();
        let at = self.at();
        if let (Some(side), Some(at), false) = (self.side, at, list) {
            self.check_side(side, at);
        }
        let slope = self.slope(at.map(|p| p.x));
        let height = self.length_within("bulwark_height", HEIGHTS.0, HEIGHTS.1);
        let lean = self
            .number("lean_deg", STEEP_DEG, " degrees")
            .map(f64::to_radians);
        let tolerance = self.length_within("tolerance", 0.0, HEIGHTS.1);
        let knuckle = self.knuckle() || kind == RowKind::Knuckle;
        let name = match (self.cell("name"), self.context.file.form) {
            (Some(cell), _) => cell.text,
            (None, TableForm::Offsets) => self.cell("station").map(|c| c.text).unwrap_or_default(),
            (None, _) => {
                format!("x {}", self.cell("x").map(|c| c.text).unwrap_or_default())
            }
        };
        let stated = self.side.is_some();
        let point = Point {
            at: at?,
            side: if list {
                self.side.unwrap_or(Side::Port)
            } else {
                self.side?
            },
            file: self.context.file.path.clone(),
            line: self.line.number,
            name,
            height,
            lean,
            slope,
            tolerance,
            knuckle,
            booked: Booked::default(),
            pass: 0,
        };
        Some(Taken {
            point,
            kind,
            stated,
        })
    }

    /// What a list's row is, by its code.
    fn kind(&mut self) -> Option<RowKind> {
        let Some(code) = self.cell("code") else {
            self.fault(
                Kind::Missing,
                "code",
                "the row has no code",
                "say what was measured, such as edge",
            );
            return None;
        };
        let name = self.cell("name").map(|c| c.text);
        match kind_of_code(&code.text, name.as_deref(), self.context) {
            Ok(kind) => Some(kind),
            Err((what, mend)) => {
                self.fault(Kind::Unknown, "code", what, mend);
                None
            }
        }
    }

    fn read_side(&mut self) -> Option<Side> {
        let stated = self.context.file.side;
        let Some(cell) = self.cell("side") else {
            if self.context.file.form == TableForm::List {
                return stated;
            }
            // Either side of a mirrored survey gives the same boat.
            let assumed = self.context.job.mirrored.then_some(Side::Port);
            if stated.or(assumed).is_none() {
                self.fault(
                    Kind::Missing,
                    "side",
                    "the row has no side",
                    "write port or starboard",
                );
            }
            return stated.or(assumed);
        };
        let side = match cell.text.to_lowercase().as_str() {
            "port" | "p" => Side::Port,
            "starboard" | "s" => Side::Starboard,
            _ => {
                let what = format!("`{}` is not a side", cell.text);
                self.fault(Kind::Syntax, "side", what, "write port or starboard");
                return None;
            }
        };
        if stated.is_some_and(|s| s != side) {
            let what = format!(
                "the row says {} and the job says the file is the other side",
                cell.text
            );
            self.fault(
                Kind::Conflict,
                "side",
                what,
                "correct the row, or the side of this [[survey.file]]",
            );
            return None;
        }
        Some(side)
    }

    /// The measured place, mm.
    fn at(&mut self) -> Option<Vec3> {
        if self.context.file.form != TableForm::Offsets {
            let [x, y, z] = ["x", "y", "z"].map(|n| self.length_needed(n));
            return Some(vec3(x?, y?, z?));
        }
        let [x, half, z] = ["station", "half_breadth", "height"].map(|n| self.length_needed(n));
        let x = if self.context.job.stations_aft {
            -x?
        } else {
            x?
        };
        Some(vec3(x, self.side?.outboard(half?), z?))
    }

    /// A point must lie on the side it is booked on.
    fn check_side(&mut self, side: Side, at: Vec3) {
        if side.outboard(at.y) >= -self.context.near.reach {
            return;
        }
        let shown = show(at.y.abs(), self.context.job.show);
        match self.context.file.form {
            TableForm::Offsets => self.fault(
                Kind::Range,
                "half_breadth",
                format!("a half-breadth of -{shown}"),
                "a half-breadth is measured outboard from the centreline, on both sides",
            ),
            _ => self.fault(
                Kind::Conflict,
                "y",
                format!("the point lies {shown} over the centreline from its side"),
                "y is positive to port: correct y, or the side",
            ),
        }
    }

    /// The slope by whichever columns the row fills; at most one way. `x`: of the row.
    fn slope(&mut self, x: Option<f64>) -> Option<SlopeGiven> {
        let inboard: &[&'static str] = match self.context.file.form {
            TableForm::Offsets => &["inboard_half_breadth", "inboard_height"],
            _ => &["inboard_x", "inboard_y", "inboard_z"],
        };
        let has_inboard = inboard.iter().any(|n| self.cell(n).is_some());
        let mut ways: Vec<&'static str> = ["slope", "slope_athwart", "round_up"]
            .into_iter()
            .filter(|n| self.cell(n).is_some())
            .collect();
        if has_inboard {
            ways.push(inboard[0]);
        }
        if let [first, second, ..] = ways[..] {
            let what = format!("the row gives its slope twice, by `{first}` and by `{second}`");
            self.fault(
                Kind::Conflict,
                second,
                what,
                "fill one of them and leave the other empty",
            );
            return None;
        }
        match *ways.first()? {
            "slope" => self.number("slope", STEEP, "").map(SlopeGiven::Square),
            "slope_athwart" => self
                .number("slope_athwart", STEEP, "")
                .map(SlopeGiven::Athwart),
            "round_up" => self.round_up(),
            _ => self.inboard(inboard, x),
        }
    }

    fn round_up(&mut self) -> Option<SlopeGiven> {
        if self.context.job.round_up.is_none() {
            self.fault(
                Kind::Missing,
                "round_up",
                "the job does not say how the mould of this round-up is drawn",
                "add survey.round_up = { height = \"...\", construction = \"...\" } to the job",
            );
            return None;
        }
        self.length_within("round_up", 0.0, HEIGHTS.1)
            .map(SlopeGiven::RoundUp)
    }

    fn inboard(&mut self, names: &[&'static str], x: Option<f64>) -> Option<SlopeGiven> {
        for &name in names {
            if self.cell(name).is_none() {
                self.fault(
                    Kind::Missing,
                    name,
                    format!("the inboard point has no `{name}`"),
                    format!("fill {} together, or none of them", names.join(", ")),
                );
            }
        }
        let figures: Vec<Option<f64>> = names.iter().map(|&n| self.length(n)).collect();
        let point = match figures[..] {
            [half, height] => vec3(x?, self.side?.outboard(half?), height?),
            [x, y, z] => vec3(x?, y?, z?),
            _ => return None,
        };
        Some(SlopeGiven::Inboard(point))
    }

    fn knuckle(&mut self) -> bool {
        let Some(cell) = self.cell("knuckle") else {
            return false;
        };
        match cell.text.to_lowercase().as_str() {
            "yes" | "y" | "x" => true,
            "no" | "n" => false,
            _ => {
                let what = format!("`{}` does not say whether this is a knuckle", cell.text);
                self.fault(
                    Kind::Syntax,
                    "knuckle",
                    what,
                    "write yes, or leave the cell empty",
                );
                false
            }
        }
    }
}
