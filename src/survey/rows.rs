//! Rows of a table to measured points.

use super::columns::Columns;
use super::lines::{Cell, Line, table};
use super::model::{Booked, Point, SlopeGiven};
use super::taken::{Context, RowKind, Taken, kind_of_code};
use crate::fault::{Fault, Kind, Place, keep_first};
use crate::geom::{Vec3, vec3};
use crate::job::{HEIGHTS, STEEP_DEG, Side, TableForm};
use crate::length::{Round, parse_cell, show, told_unrounded};

/// Steepest covering board, rise per unit: 45 degrees.
pub(super) const STEEP: f64 = 1.0;

/// How to mend a point over the centreline from its side.
pub(super) const OVER_CENTRE: &str = "y is positive to port: correct y, or the side";

/// How to mend a half-breadth below nought.
pub(super) const OUTBOARD: &str =
    "a half-breadth is measured outboard from the centreline, on both sides";

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
        let place = Place::file(path).line(header.number).field("side");
        let what = "neither a column nor the job says which side this is";
        let mend = "add a column `side`, or side = \"port\" to this [[survey.file]]";
        faults.push(Fault::new(Kind::Missing, place, what, mend));
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
    let what = format!(
        "{count} of {rows} rows lie over the centreline from their side: is the sign of y turned, or are `y` and `z` exchanged?"
    );
    let mend = "y is positive to port on both sides and z is the height: turn the sign, or exchange the names in the header";
    let others = faults.split_off(from).into_iter().filter(|f| !over(f));
    faults.push(Fault::new(Kind::Conflict, place, what, mend));
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
        let mut place = Place::file(&context.file.path).line(line.number);
        let cell = line.cells.get(columns.count).or(line.cells.last());
        place.column = cell.map(|c| c.column);
        let (here, above) = (line.cells.len(), columns.count);
        let what = format!("the row has {here} cells and the header {above}");
        let mend = "give every column its cell, empty if it has no value";
        faults.push(Fault::new(Kind::Syntax, place, what, mend));
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
        let mut place = Place::file(&self.context.file.path)
            .line(self.line.number)
            .field(name);
        let cell = self
            .columns
            .index(name)
            .and_then(|i| self.line.cells.get(i));
        place.column = cell.map(|c| c.column);
        place.station = Some(self.station());
        self.faults.push(Fault::new(kind, place, what, mend));
    }

    /// A fault of what must be there.
    fn missing(&mut self, name: &'static str, what: &str, mend: &str) {
        self.fault(Kind::Missing, name, what, mend);
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
                self.fault(e.kind, name, e.what, e.mend);
                None
            }
        }
    }

    fn length_needed(&mut self, name: &'static str) -> Option<f64> {
        if self.cell(name).is_none() {
            let mend = "every row needs it: measure it, or take the row out";
            self.missing(name, &format!("`{name}` is empty"), mend);
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
                let mend = format!("it must be from -{limit} to {limit}{unit}");
                self.fault(Kind::Range, name, what, mend);
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
        let lean = self.number("lean_deg", STEEP_DEG, " degrees");
        let tolerance = self.length_within("tolerance", 0.0, HEIGHTS.1);
        let knuckle = self.knuckle() || kind == RowKind::Knuckle;
        let text = |column| self.cell(column).map(|c| c.text);
        let name = text("name").unwrap_or_else(|| match self.context.file.form {
            TableForm::Offsets => text("station").unwrap_or_default(),
            _ => format!("x {}", text("x").unwrap_or_default()),
        });
        let stated = self.side.is_some();
        let point = Point {
            at: at?,
            side: self.side.or(list.then_some(Side::Port))?,
            file: self.context.file.path.clone(),
            line: self.line.number,
            name,
            height,
            lean: lean.map(f64::to_radians),
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
            let mend = "say what was measured, such as edge";
            self.missing("code", "the row has no code", mend);
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
                self.missing("side", "the row has no side", "write port or starboard");
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
            let said = &cell.text;
            let what = format!("the row says {said} and the job says the file is the other side");
            let mend = "correct the row, or the side of this [[survey.file]]";
            self.fault(Kind::Conflict, "side", what, mend);
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
        let forward = if self.context.job.stations_aft {
            -x?
        } else {
            x?
        };
        Some(vec3(forward, self.side?.outboard(half?), z?))
    }

    /// A point must lie on the side it is booked on.
    fn check_side(&mut self, side: Side, at: Vec3) {
        if side.outboard(at.y) >= -self.context.near.reach {
            return;
        }
        let shown = show(at.y.abs(), self.context.job.show);
        if self.context.file.form == TableForm::Offsets {
            let what = format!("a half-breadth of -{shown}");
            self.fault(Kind::Range, "half_breadth", what, OUTBOARD);
        } else {
            let what = format!("the point lies {shown} over the centreline from its side");
            self.fault(Kind::Conflict, "y", what, OVER_CENTRE);
        }
    }

    /// The slope by whichever columns the row fills; at most one way. `x`: of the row.
    fn slope(&mut self, x: Option<f64>) -> Option<SlopeGiven> {
        let inboard: &[&'static str] = match self.context.file.form {
            TableForm::Offsets => &["inboard_half_breadth", "inboard_height"],
            _ => &["inboard_x", "inboard_y", "inboard_z"],
        };
        let given = |n: &&'static str| self.cell(n).is_some();
        let ways = ["slope", "slope_athwart", "round_up"]
            .into_iter()
            .filter(given);
        let by_point = inboard.iter().any(given).then_some(inboard[0]);
        let ways: Vec<&'static str> = ways.chain(by_point).collect();
        if let [first, second, ..] = ways[..] {
            let what = format!("the row gives its slope twice, by `{first}` and by `{second}`");
            let mend = "fill one of them and leave the other empty";
            self.fault(Kind::Conflict, second, what, mend);
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
            let what = "the job does not say how the mould of this round-up is drawn";
            let mend =
                "add survey.round_up = { height = \"...\", construction = \"...\" } to the job";
            self.missing("round_up", what, mend);
            return None;
        }
        let mm = self.length_within("round_up", 0.0, HEIGHTS.1);
        mm.map(SlopeGiven::RoundUp)
    }

    fn inboard(&mut self, names: &[&'static str], x: Option<f64>) -> Option<SlopeGiven> {
        for &name in names {
            if self.cell(name).is_none() {
                let what = format!("the inboard point has no `{name}`");
                let mend = format!("fill {} together, or none of them", names.join(", "));
                self.missing(name, &what, &mend);
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
                let mend = "write yes, or leave the cell empty";
                self.fault(Kind::Syntax, "knuckle", what, mend);
                false
            }
        }
    }
}
