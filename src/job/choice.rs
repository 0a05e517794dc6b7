//! Choices of stock to be estimated against each other.

use super::model::Job;
use super::prices::Choice;
use super::sheet::Sheet;
use crate::length::show;
use crate::stock::same_thickness;

/// Sides closer than this are the same size, mm: rounding of feet to
/// millimetres stays below it.
const SAME_SIDE: f64 = 0.5;

fn same_size(a: &Sheet, b: &Sheet) -> bool {
    (a.length - b.length).abs() < SAME_SIDE && (a.width - b.width).abs() < SAME_SIDE
}

fn same_plate(a: &Sheet, b: &Sheet) -> bool {
    a.alloy == b.alloy && same_thickness(a.thickness, b.thickness)
}

impl Job {
    /// Name and date, as reports are headed.
    #[must_use]
    pub fn heading(&self) -> String {
        if self.date.is_empty() {
            self.name.clone()
        } else {
            format!("{}, {}", self.name, self.date)
        }
    }

    /// Alloys and thicknesses, mm, of the plate parts, each with the key that
    /// asks for it; the same may stand twice.
    pub(super) fn plates(&self) -> Vec<(String, &str, f64)> {
        let plates = [("base", &self.base), ("top", &self.top)].into_iter();
        let plates = plates.map(|(name, p)| (name.to_owned(), &p.alloy, p.thickness));
        let doublers = (self.doublers.iter().zip(1..))
            .map(|(d, n)| (format!("doubler[{n}]"), &d.alloy, d.thickness));
        (plates.chain(doublers))
            .map(|(table, alloy, t)| (format!("{table}.thickness"), alloy.as_str(), t))
            .collect()
    }

    /// True where some plate part is made of this sheet's alloy and thickness.
    pub(crate) fn uses(&self, sheet: &Sheet) -> bool {
        self.plates()
            .iter()
            .any(|(_, a, t)| *a == sheet.alloy && same_thickness(*t, sheet.thickness))
    }

    /// The choices to estimate: the job's own, or where it has none, each size
    /// on offer alone and then all together. A size is bought in every
    /// thickness and alloy that has it; of the others all on offer are used.
    /// Remnants of the same plate go with every size: they are there already.
    #[must_use]
    pub fn choices(&self) -> Vec<Choice> {
        if !self.estimate.is_empty() {
            return self.estimate.clone();
        }
        let used = |s: &&Sheet| s.remnant.is_none() && self.uses(s);
        let sizes: Vec<&Sheet> = self.sheets.iter().filter(used).collect();
        let several = sizes.iter().any(|s| !same_plate(s, sizes[0]));
        let together = |a: &Sheet, b: &Sheet| {
            a.name == b.name || several && !same_plate(a, b) && same_size(a, b)
        };
        let mut kept: Vec<Vec<Sheet>> = Vec::new();
        let mut out: Vec<Choice> = Vec::new();
        for size in &sizes {
            let own = |s: &Sheet| sizes.iter().any(|o| o.name == s.name) && together(size, s);
            let with = |s: &&Sheet| {
                own(s) || s.remnant.is_some() && sizes.iter().any(|o| own(o) && same_plate(o, s))
            };
            let names = self.sheets.iter().filter(with).map(|s| s.name.clone());
            let mut choice = Choice {
                sheets: names.collect(),
                ..Choice::default()
            };
            let sheets = self.with_choice(&choice).sheets;
            if !kept.contains(&sheets) {
                choice.name = self.name_of(&sizes, &sheets, several);
                kept.push(sheets);
                out.push(choice);
            }
        }
        if !kept.contains(&self.sheets) {
            out.push(Choice {
                name: "all on offer".to_owned(),
                ..Choice::default()
            });
        }
        out
    }

    /// Name of a choice that uses these sheets of those that could be: of one
    /// plate the sheet's; of several, for each thickness which sheets.
    fn name_of(&self, sizes: &[&Sheet], uses: &[Sheet], several: bool) -> String {
        let of_plate = |plate: &Sheet, all: &mut dyn Iterator<Item = &Sheet>| -> Vec<String> {
            let bought = all.filter(|s| s.remnant.is_none() && same_plate(s, plate));
            bought.map(|s| s.name.clone()).collect()
        };
        let mut told = Vec::new();
        for (i, plate) in sizes.iter().enumerate() {
            if sizes[..i].iter().any(|s| same_plate(s, plate)) {
                continue;
            }
            let names = of_plate(plate, &mut uses.iter());
            let offered = of_plate(plate, &mut sizes.iter().copied());
            let which = if names.len() > 1 && names.len() == offered.len() {
                "any".to_owned()
            } else {
                names.join(" or ")
            };
            if !several {
                return which;
            }
            let thick = show(plate.thickness, self.show);
            let alloy = if sizes.iter().any(|s| s.alloy != sizes[0].alloy) {
                format!(" {}", plate.alloy)
            } else {
                String::new()
            };
            told.push(format!("{which} in {thick}{alloy}"));
        }
        told.join(", ")
    }

    /// The job with one choice of stock in place of its own. A price that the
    /// choice gives by mass stands in place of the sheets' own prices, a
    /// remnant's aside: that is not the supplier's to sell.
    #[must_use]
    pub fn with_choice(&self, choice: &Choice) -> Self {
        let mut job = self.clone();
        if let Some(alloy) = &choice.alloy {
            job.base.alloy.clone_from(alloy);
            job.top.alloy.clone_from(alloy);
            for d in &mut job.doublers {
                d.alloy.clone_from(alloy);
            }
        }
        let named = |s: &Sheet| choice.sheets.contains(&s.name);
        let one_named = |s: &Sheet| self.sheets.iter().any(|o| named(o) && same_plate(o, s));
        job.sheets.retain(|s| named(s) || !one_named(s));
        for s in job.sheets.iter_mut().filter(|s| s.remnant.is_none()) {
            if choice.per_kg.contains_key(&s.alloy) {
                s.price = None;
            }
            s.price = choice.per_sheet.get(&s.name).copied().or(s.price);
        }
        for (alloy, price) in &choice.per_kg {
            job.prices.per_kg.insert(alloy.clone(), *price);
        }
        if let Some(price) = choice.scrap_per_kg {
            job.prices.scrap_per_kg = price;
        }
        job.prices.cutting_per_hour = choice.cutting_per_hour.or(job.prices.cutting_per_hour);
        job.joints.longest_piece = choice.longest_piece.or(job.joints.longest_piece);
        if let Some(cutting) = &choice.cutting {
            job.cutting.clone_from(cutting);
        }
        job.estimate.clear();
        job
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    fn sheet(name: &str, alloy: &str, price: Option<f64>) -> Sheet {
        Sheet {
            name: name.into(),
            alloy: alloy.into(),
            price,
            ..crate::sample::sheet()
        }
    }

    fn names(job: &Job) -> Vec<&str> {
        job.sheets.iter().map(|s| s.name.as_str()).collect()
    }

    fn job() -> Job {
        let mut job = crate::sample::job();
        let thin = Sheet {
            thickness: 6.0,
            ..sheet("thin", "5086-H116", None)
        };
        job.sheets = vec![
            sheet("a", "5086-H116", Some(500.0)),
            sheet("b", "5086-H116", None),
            sheet("c", "5083-H116", None),
            thin,
        ];
        job
    }

    #[test]
    fn a_choice_names_sheets_of_one_plate_and_leaves_the_others() {
        let choice = Choice {
            sheets: vec!["b".into()],
            ..Choice::default()
        };
        assert_eq!(names(&job().with_choice(&choice)), ["b", "c", "thin"]);
        assert_eq!(
            names(&job().with_choice(&Choice::default())),
            ["a", "b", "c", "thin"]
        );
    }

    #[test]
    fn without_choices_each_size_in_use_is_one_and_all_are_one() {
        let got: Vec<String> = job().choices().into_iter().map(|c| c.name).collect();
        assert_eq!(got, ["a", "b", "all on offer"]);
        let mut one = job();
        one.sheets.truncate(1);
        assert_eq!(one.choices().len(), 1);
    }

    #[test]
    fn of_two_thicknesses_a_choice_is_a_size_and_its_name_tells_both() {
        let mut job = job();
        job.top.thickness = 6.0;
        let sized = |name: &str, length: f64, thickness: f64| Sheet {
            length,
            thickness,
            ..sheet(name, "5086-H116", None)
        };
        job.sheets = vec![
            sized("long", 6000.0, 12.7),
            sized("short", 3000.0, 12.7),
            sized("long thin", 6000.0, 6.0),
            sized("half thin", 1500.0, 6.0),
        ];
        let told = |job: &Job| -> Vec<(String, Vec<String>)> {
            let names = |c: &Choice| {
                let with = job.with_choice(c);
                with.sheets.iter().map(|s| s.name.clone()).collect()
            };
            job.choices()
                .iter()
                .map(|c| (c.name.clone(), names(c)))
                .collect()
        };
        let want: [(&str, &[&str]); 4] = [
            ("long in 12.7 mm, long thin in 6 mm", &["long", "long thin"]),
            (
                "short in 12.7 mm, any in 6 mm",
                &["short", "long thin", "half thin"],
            ),
            (
                "any in 12.7 mm, half thin in 6 mm",
                &["long", "short", "half thin"],
            ),
            ("all on offer", &["long", "short", "long thin", "half thin"]),
        ];
        let got = told(&job);
        assert_eq!(got.len(), want.len(), "{got:?}");
        for ((name, sheets), (wanted, of)) in got.iter().zip(want) {
            assert_eq!((name.as_str(), sheets.join(" ")), (wanted, of.join(" ")));
        }
        // One sheet a thickness: there is one choice, and it tells both.
        job.sheets.truncate(3);
        job.sheets.remove(1);
        assert_eq!(told(&job)[0].0, "long in 12.7 mm, long thin in 6 mm");
        assert_eq!(told(&job).len(), 1);
    }

    #[test]
    fn a_supplier_s_prices_stand_in_place_of_the_sheets_own() {
        let mut choice = Choice {
            per_kg: BTreeMap::from([("5086-H116".to_owned(), 7.0)]),
            per_sheet: BTreeMap::from([("b".to_owned(), 300.0)]),
            scrap_per_kg: Some(0.5),
            ..Choice::default()
        };
        let got = job().with_choice(&choice);
        assert_eq!(
            (got.sheets[0].price, got.sheets[1].price),
            (None, Some(300.0))
        );
        assert_eq!(got.prices.per_kg.get("5086-H116"), Some(&7.0));
        assert!((got.prices.scrap_per_kg - 0.5).abs() < 1e-12);
        choice = Choice {
            alloy: Some("5083-H116".into()),
            ..Choice::default()
        };
        let got = job().with_choice(&choice);
        assert_eq!(
            (got.base.alloy.as_str(), got.top.alloy.as_str()),
            ("5083-H116", "5083-H116")
        );
        assert_eq!(got.sheets[0].price, Some(500.0));
    }
}
