//! What a figure measures, and with it how a person reads it and how a
//! spreadsheet does.

use crate::length::{self, FOOT, INCH, Show, number, trimmed};

/// Kilograms in a pound, exactly (the international pound of 1959).
pub const KG_PER_LB: f64 = 0.453_592_37;

/// What a figure measures; its unit inside stands beside each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Words.
    Text,
    /// How many.
    Count,
    /// A length, mm. People read sixteenths of an inch.
    Length,
    /// A length that a person sets out with a tape, mm: where it is shown in
    /// feet and inches a spreadsheet has both, the figure and the words.
    Tape,
    /// A thickness, gap or move, mm: finer than sixteenths.
    Fine,
    /// A length summed up, of cuts and welds, mm.
    Long,
    /// An area, mm2.
    Area,
    /// A mass, kg.
    Mass,
    /// A sum of money, in the job's currency.
    Money,
    /// A part of a whole, 0 to 1.
    Share,
    /// An angle, rad. A hundredth of a degree is 0.02 mm on a 4 in tube.
    Angle,
    /// A time, s.
    Time,
    /// A speed of a machine, mm/min.
    Speed,
    /// A figure that is told in one unit whatever the job shows, with as many
    /// decimals: for machines.
    Plain(&'static str, usize),
    /// The same with thirteen digits: for programs that go on from it.
    Exact(&'static str),
}

/// A unit, what it is of the figure's own, and the decimals for people and for
/// files.
type Scale = (&'static str, f64, usize, usize);

impl Quantity {
    fn scale(self, shown: Show) -> Scale {
        let by = |metric: Scale, trade: Scale| match shown {
            Show::Mm => metric,
            Show::FeetInches => trade,
        };
        match self {
            Self::Text | Self::Count => ("", 1.0, 0, 0),
            Self::Length | Self::Tape => by(("mm", 1.0, 1, 1), ("in", INCH, 3, 3)),
            Self::Fine => by(("mm", 1.0, 2, 2), ("in", INCH, 3, 4)),
            Self::Long => by(("m", 1000.0, 1, 3), ("ft", FOOT, 1, 3)),
            Self::Area => by(("m2", 1e6, 3, 4), ("ft2", FOOT * FOOT, 3, 4)),
            Self::Mass => by(("kg", 1.0, 1, 2), ("lb", KG_PER_LB, 1, 2)),
            Self::Money => ("", 1.0, 2, 2),
            Self::Share => ("percent", 0.01, 1, 2),
            Self::Angle => ("deg", 1.0_f64.to_radians(), 2, 2),
            Self::Time => ("min", 60.0, 1, 2),
            Self::Speed => by(("mm/min", 1.0, 2, 2), ("in/min", INCH, 1, 1)),
            Self::Plain(unit, places) => (unit, 1.0, places, places),
            Self::Exact(unit) => (unit, 1.0, 0, 0),
        }
    }

    /// The unit over a column for people; empty where each cell says its own.
    #[must_use]
    pub fn head(self, shown: Show) -> &'static str {
        match self {
            Self::Length | Self::Tape | Self::Fine | Self::Time | Self::Speed => "",
            Self::Share => "%",
            _ => self.scale(shown).0,
        }
    }

    /// The figure as it stands under [`Self::head`].
    #[must_use]
    pub fn read(self, value: f64, shown: Show) -> String {
        let (unit, per, places, _) = self.scale(shown);
        match self {
            Self::Length | Self::Tape => length::show(value, shown),
            Self::Fine => {
                let figure = number(value / per, places);
                // Millimetres to a tenth where that is all of it.
                let short = figure.strip_suffix('0').filter(|_| shown == Show::Mm);
                format!("{} {unit}", short.unwrap_or(&figure))
            }
            Self::Time => minutes(value),
            Self::Exact(_) => digits(value),
            Self::Speed => format!("{} {unit}", trimmed(value / per, places)),
            _ => number(value / per, places),
        }
    }

    /// The figure with its unit, for running text.
    #[must_use]
    pub fn told(self, value: f64, shown: Show) -> String {
        match (self.read(value, shown), self.head(shown)) {
            (figure, "") => figure,
            (figure, unit) => format!("{figure} {unit}"),
        }
    }

    /// The figure of one unit that is shown, so that a price per kg becomes one
    /// per lb.
    #[must_use]
    pub fn unit(self, shown: Show) -> f64 {
        self.scale(shown).1
    }

    /// The unit that ends a spreadsheet's heading; empty where there is none.
    #[must_use]
    pub fn suffix(self, shown: Show) -> &'static str {
        self.scale(shown).0
    }

    /// The figure in that unit, a plain number.
    #[must_use]
    pub fn figure(self, value: f64, shown: Show) -> String {
        let (_, per, _, places) = self.scale(shown);
        match self {
            Self::Exact(_) => digits(value),
            _ => number(value / per, places),
        }
    }
}

/// Thirteen significant digits, without an exponent where it reads well.
fn digits(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let size = value.abs();
    if (1e-4..1e9).contains(&size) {
        let mut decimals = 12;
        let mut bound = 10.0;
        while size >= bound && decimals > 0 {
            bound *= 10.0;
            decimals -= 1;
        }
        let mut small = 1.0;
        while size < small {
            small /= 10.0;
            decimals += 1;
        }
        format!("{value:.decimals$}")
    } else {
        format!("{value:.12e}")
    }
}

/// Hours and minutes.
fn minutes(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round();
    if minutes < 60.0 {
        return format!("{} min", number(seconds / 60.0, 1));
    }
    let hours = (minutes / 60.0).floor();
    format!(
        "{} h {} min",
        number(hours, 0),
        number(minutes - 60.0 * hours, 0)
    )
}

/// A mass, kg, with its unit: `12.3 kg` or `27.1 lb`.
#[must_use]
pub fn mass(kg: f64, shown: Show) -> String {
    Quantity::Mass.told(kg, shown)
}

/// A thickness, diameter, kerf or gap, mm: `12.7 mm`, `6.35 mm`; a fraction of an
/// inch where it is one, else thousandths, `1/2 in`, `0.055 in`.
#[must_use]
pub fn thickness(mm: f64, shown: Show) -> String {
    match shown {
        Show::FeetInches if length::is_fraction(mm) => length::show(mm, shown),
        _ => Quantity::Fine.told(mm, shown),
    }
}

/// A limit or a length that the job gives, mm, never rounded to what it is not:
/// a fraction of an inch where it is one, else thousandths (`10 in`, `1/16 in`,
/// `0.394 in`); millimetres to a thousandth.
#[must_use]
pub fn given(mm: f64, shown: Show) -> String {
    match shown {
        Show::Mm => format!("{} mm", trimmed(mm, 3)),
        Show::FeetInches if length::is_fraction(mm) => length::show(mm, shown),
        Show::FeetInches => format!("{} in", trimmed(mm / INCH, 3)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_the_international_ones() {
        let told = |q: Quantity, v: f64| [Show::Mm, Show::FeetInches].map(|s| q.told(v, s));
        assert_eq!(
            told(Quantity::Mass, KG_PER_LB * 10.0),
            ["4.5 kg", "10.0 lb"]
        );
        assert_eq!(told(Quantity::Area, 92_903.04), ["0.093 m2", "1.000 ft2"]);
        assert_eq!(told(Quantity::Fine, 12.7), ["12.7 mm", "0.500 in"]);
        assert_eq!(told(Quantity::Fine, 6.35), ["6.35 mm", "0.250 in"]);
        assert_eq!(told(Quantity::Fine, 10.0), ["10.0 mm", "0.394 in"]);
        assert_eq!(told(Quantity::Long, 3048.0), ["3.0 m", "10.0 ft"]);
        assert_eq!(told(Quantity::Share, 0.182), ["18.2 %", "18.2 %"]);
        assert_eq!(
            told(Quantity::Speed, 1430.0),
            ["1430 mm/min", "56.3 in/min"]
        );
        assert_eq!(
            told(Quantity::Speed, 2108.2),
            ["2108.2 mm/min", "83 in/min"]
        );
        assert_eq!(told(Quantity::Time, 222.0), ["3.7 min", "3.7 min"]);
        assert_eq!(told(Quantity::Time, 5_400.0), ["1 h 30 min", "1 h 30 min"]);
    }

    #[test]
    fn a_spreadsheet_has_plain_numbers_and_the_unit_beside() {
        for (q, value, metric, trade) in [
            (Quantity::Length, 254.0, "mm 254.0", "in 10.000"),
            (Quantity::Tape, -900.0, "mm -900.0", "in -35.433"),
            (Quantity::Fine, 0.31, "mm 0.31", "in 0.0122"),
            (Quantity::Mass, 4.36, "kg 4.36", "lb 9.61"),
            (Quantity::Share, 0.75, "percent 75.00", "percent 75.00"),
            (Quantity::Angle, 0.07, "deg 4.01", "deg 4.01"),
            (Quantity::Plain("mm", 4), 25.4, "mm 25.4000", "mm 25.4000"),
        ] {
            for (shown, want) in [(Show::Mm, metric), (Show::FeetInches, trade)] {
                let got = format!("{} {}", q.suffix(shown), q.figure(value, shown));
                assert_eq!(got, want, "{q:?}");
            }
        }
    }

    #[test]
    fn thirteen_digits_whatever_the_size() {
        assert_eq!(digits(12_345.678_901_234_5), "12345.67890123");
        assert_eq!(digits(-0.001_234_567_890_123), "-0.001234567890123");
        assert_eq!(digits(0.0), "0");
        assert_eq!(digits(1.0), "1.000000000000");
        assert_eq!(digits(3.25e-7), "3.250000000000e-7");
    }

    /// 10 in is never 9 13/16, nor 1/32 in a sixteenth.
    #[test]
    fn what_the_job_gives_is_told_as_it_is() {
        for (mm, metric, trade) in [
            (254.0, "254 mm", "10 in"),
            (250.0, "250 mm", "9.843 in"),
            (3.175, "3.175 mm", "1/8 in"),
            (INCH / 32.0, "0.794 mm", "1/32 in"),
            (1.6, "1.6 mm", "0.063 in"),
            (0.0, "0 mm", "0 in"),
        ] {
            assert_eq!(given(mm, Show::Mm), metric);
            assert_eq!(given(mm, Show::FeetInches), trade);
        }
    }

    #[test]
    fn a_thickness_is_a_fraction_of_an_inch_where_it_is_one() {
        let inch = |mm: f64| thickness(mm, Show::FeetInches);
        assert_eq!([12.7, 10.0].map(inch), ["1/2 in", "0.394 in"]);
        assert_eq!(thickness(12.0, Show::Mm), "12.0 mm");
    }
}
