//! Bounds by area: what no nest of the same parts can do with less. They need
//! no search, so that what a search finds can be judged beside them.

use super::measure::whole;
use crate::job::Sheet;

/// Share of the parts' area that is left out: a nest may lack its gap and
/// margin by the slack of the check, which is far below this on any sheet.
const ROUNDED: f64 = 1e-5;

/// Area of a sheet inside its margins, mm2; clamps are not taken off, nor the
/// margin of a remnant: parts cannot cover more.
fn usable(sheet: &Sheet, edge_margin: f64) -> f64 {
    let inside = |side: f64| (side - 2.0 * edge_margin).max(0.0);
    sheet.shape.as_ref().map_or_else(
        || inside(sheet.length) * inside(sheet.width),
        crate::geom::Region::area,
    )
}

/// The least number of sheets that holds parts of this net area, mm2, by area
/// alone: the largest sheets first, as far as there are any.
#[must_use]
pub fn least_sheets(area: f64, sheets: &[Sheet], edge_margin: f64) -> usize {
    let count = shared_out(area, sheets, edge_margin, &|_| 1.0).ceil();
    whole(count)
}

/// The least sum of `weight` (mass, price) over sheets that hold parts of this
/// net area, mm2: sheets bought by the fraction, those of least weight an area
/// first (the relaxed knapsack: G. B. Dantzig 1957), or the least number of
/// whole ones of the least weight, whichever is more. Of one size alone it is
/// the weight of whole sheets.
#[must_use]
pub fn least_of(
    area: f64,
    sheets: &[Sheet],
    edge_margin: f64,
    weight: &dyn Fn(&Sheet) -> f64,
) -> f64 {
    let whole = least_sheets(area, sheets, edge_margin) as f64;
    let lightest = sheets.iter().map(weight).fold(f64::INFINITY, f64::min);
    let lightest = if lightest.is_finite() { lightest } else { 0.0 };
    shared_out(area, sheets, edge_margin, weight).max(whole * lightest)
}

/// Sum of the weights of fractions of sheets.
fn shared_out(
    area: f64,
    sheets: &[Sheet],
    edge_margin: f64,
    weight: &dyn Fn(&Sheet) -> f64,
) -> f64 {
    let mut kinds: Vec<(f64, f64, f64)> = sheets
        .iter()
        .map(|s| {
            let most = s.quantity.map_or(f64::INFINITY, |n| n as f64);
            (weight(s), usable(s, edge_margin), most)
        })
        .filter(|k| k.1 > 0.0)
        .collect();
    kinds.sort_by(|a, b| (a.0 / a.1).total_cmp(&(b.0 / b.1)));
    let mut need = area * (1.0 - ROUNDED);
    let mut sum = 0.0;
    for (weight, usable, most) in kinds {
        let taken = (need / usable).min(most);
        sum += taken * weight;
        need -= taken * usable;
        if need <= 0.0 {
            break;
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(length: f64, width: f64, quantity: Option<usize>) -> Sheet {
        Sheet {
            length,
            width,
            quantity,
            ..crate::sample::sheet()
        }
    }

    // By hand: 980 x 480 mm inside margins of 10 mm is 0.4704 m2.
    #[test]
    fn of_one_size_it_is_whole_sheets() {
        let one = [sheet(1000.0, 500.0, None)];
        for (area, count) in [(0.1, 1), (0.47, 1), (0.471, 2), (0.9408, 2), (0.9409, 3)] {
            assert_eq!(least_sheets(area * 1e6, &one, 10.0), count, "{area}");
            let mass = least_of(area * 1e6, &one, 10.0, &|_| 40.0);
            assert!((mass - 40.0 * count as f64).abs() < 1e-9);
        }
        assert_eq!(least_sheets(0.0, &one, 10.0), 0);
    }

    // By hand: one large sheet of 1 m2 at 30, small ones of 0.5 m2 at 20: 1.2 m2
    // take the large one and 0.4 of a small one, 38; two sheets at the least
    // cost 40.
    #[test]
    fn of_several_sizes_it_is_the_cheaper_by_area_first() {
        let two = [sheet(1000.0, 500.0, None), sheet(1000.0, 1000.0, Some(1))];
        let price = |s: &Sheet| if s.width > 600.0 { 30.0 } else { 20.0 };
        assert_eq!(least_sheets(1.2e6, &two, 0.0), 2);
        assert!((least_of(1.2e6, &two, 0.0, &price) - 40.0).abs() < 1e-9);
        // 2.2 m2: 30 and 2.4 x 20.
        assert_eq!(least_sheets(2.2e6, &two, 0.0), 4);
        let got = least_of(2.2e6, &two, 0.0, &price);
        assert!((got - 80.0).abs() < 1e-9, "{got}");
        // 1.9 m2: 30 and 1.8 x 20 = 66; three sheets at 20 are 60.
        let got = least_of(1.9e6, &two, 0.0, &price);
        assert!((got - 66.0).abs() < 1e-3, "{got}");
    }
}
